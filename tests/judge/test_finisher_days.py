"""Days on which an experienced finisher would agree: common practice, no source. See tests/reference/test_days.toml."""

from advisor.catalog.coatings import coating_ids
from advisor.judge.finding import Level
from advisor.readings.quality import MINUTE, QualityControl
from advisor.readings.reading import Reading, Series
from advisor.sources.conditions import conditions_as_of
from tests.support import NOON, SHOP, every, milliseconds, reference_toml, typed, verdict_for

DAYS = reference_toml("test_days.toml")["day"]


@every("day", DAYS, ids=lambda day: day["number"])
def test_the_day_comes_out_as_a_finisher_would_say(day):
    known = typed(day["air"], day["rh"], day.get("surface"), sprayed=day.get("sprayed"))
    verdict = verdict_for(day["coating"], known)
    assert verdict.state == day["state"]
    assert verdict.cannot_tell == day.get("cannot_tell", False)
    against = {
        finding.rule
        for finding in verdict.findings
        if (finding.level is not Level.OK and finding.deciding) or finding.level is Level.STOP
    }
    assert set(day.get("because", [])) <= against
    changed = {finding.rule for finding in verdict.findings if finding.level is not Level.OK}
    assert not changed & set(day.get("not_because", []))


def test_day_12_a_humidity_of_99_9_for_three_hours_is_the_sensor():
    control = QualityControl(SHOP.accuracy)
    readings = []
    for minute in range(180, -1, -1):
        at = milliseconds(NOON) - minute * MINUTE
        for quantity, value in (("air_temperature", 21.0 + minute % 3 / 10), ("relative_humidity", 0.999)):
            readings.append(control.mark(Reading(Series("shelf", "shop", quantity), value, at, ""), at))
    for coating in coating_ids():
        verdict = verdict_for(coating, conditions_as_of(readings, NOON, "shop", SHOP))
        assert (verdict.state, verdict.cannot_tell, verdict.exit_code) == ("wait", True, 3)
        assert verdict.findings[0].reason == "pinned"


@every("coating", coating_ids())
@every("air, humidity, state", [(22.0, 0.45, "go"), (18.0, 0.96, "wait"), (2.0, 0.60, "wait")])
def test_every_coating_in_plainly_good_and_plainly_bad_air(coating, air, humidity, state):
    verdict = verdict_for(coating, typed(air, humidity))
    assert verdict.state == state
    assert not verdict.cannot_tell

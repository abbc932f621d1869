"""What the cure clock says: eight lines of 80 columns at most, whatever happened."""

import textwrap
from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.catalog.coatings import coating_ids, load_coating
from advisor.jobs.cure import BRIDGED, GAP, NO_CREDIT, cure
from advisor.say.craft.cure_words import cure_record, told
from advisor.series.trace import NOTHING
from advisor.shop.shop import US, Shop
from tests.jobs.cure_cases import HOUR, SHOP, SPRAYED, log, state


def test_one_pack_water_borne_says_weeks_and_shrinking():
    said = " ".join(told(state("waterborne-clear-1k", 5, (0, 14), (5, 14)), SHOP))
    assert "weeks" in said
    assert "shrinks back" in said


@given(
    st.sampled_from(coating_ids()),
    st.lists(st.tuples(st.floats(0.1, 90), st.floats(-20, 45)), min_size=1, max_size=6),
    st.floats(0, 1.5),
    st.one_of(st.none(), st.integers(1, 20)),
    st.sampled_from(["metric", US]),
    st.sampled_from(["Europe/London", None]),
    st.sampled_from(["", "A recorded file? Judge it with --at last."]),
)
@settings(deadline=None)
def test_the_answer_fits_eight_lines_and_its_record_says_the_same(name, pairs, share, coats, units, zone, hint):
    shop = Shop(zone=zone, units=units)
    points = [(0.0, 20.0)]
    for step, celsius in pairs:
        points.append((points[-1][0] + step, celsius))
    record = log(*points, every=3.0 if len(pairs) % 2 else 0.25)
    now = SPRAYED + points[-1][0] * share * HOUR
    record = replace(record, faults=(((SPRAYED + HOUR).timestamp(), "unreadable-line", None),))
    found = cure(load_coating(name), record, SPRAYED, now, shop, coats)
    lines = [line for text in told(found, shop, hint) for line in textwrap.wrap(text, 80, subsequent_indent="  ")]
    assert len(lines) <= 8, "\n".join(lines)
    told_flags = " ".join(told(found, shop, hint))
    for flag in found.flags:
        assert flag.kind in (BRIDGED, NO_CREDIT) or flag.kind == GAP or "°" in told_flags
    written = cure_record(found, shop, now, "shop", coats)
    assert [each["stage"] for each in written["stages"]] == [stage.stage for stage in found.stages]
    assert all(each["words"] for each in written["flags"])


def test_without_any_reading_it_says_it_cannot_tell():
    found = cure(load_coating("shellac"), NOTHING, SPRAYED, SPRAYED + 2 * HOUR, SHOP)
    assert "Cannot tell" in " ".join(told(found, SHOP))


def test_a_bridged_gap_is_said_beside_the_hours():
    record = log((0, 20), (1, 20), every=1.0)
    found = cure(load_coating("shellac"), record, SPRAYED, SPRAYED + HOUR, SHOP)
    assert "(gaps of 60 min bridged)" in told(found, SHOP)[0]

"""The table of mechanisms: every defect has some, and each says what to change and how to repair."""

from advisor.catalog.mechanisms import AIR, OTHER, defects, mechanisms
from tests.support import every


@every("defect", defects())
def test_every_defect_has_a_mechanism_and_one_that_is_not_the_airs(defect):
    can = [mechanism for mechanism in mechanisms().values() if defect in mechanism.defects]
    assert can
    assert any(mechanism.kind == OTHER for mechanism in can)


def test_fisheyes_are_never_the_airs():
    assert not [each.id for each in mechanisms().values() if "fisheyes" in each.defects and each.kind == AIR]


@every("mechanism", mechanisms().values(), ids=lambda mechanism: mechanism.id)
def test_each_says_what_to_change_and_how_to_repair(mechanism):
    assert mechanism.label
    assert mechanism.change
    assert mechanism.repair
    assert bool(mechanism.probes) == (mechanism.kind != OTHER)
    assert set(mechanism.defects) == {name for probe in mechanism.probes for name in probe.defects} or not (
        mechanism.probes
    )

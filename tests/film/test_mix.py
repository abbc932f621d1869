"""What may go into the pot: a coating's own thinners and retarder, within its limits, and nothing that reacts."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.catalog.coatings import coating_ids, load_coating
from advisor.catalog.solvents import solvents
from advisor.errors import AdvisorError, CatalogError, OutOfRange, UsageError
from advisor.film.mix import fastest, mix_of, mix_of_solvents, most_retarder, usual
from advisor.judge.film_rules import slower_mixes
from tests.support import every

LACQUER = load_coating("nitrocellulose-lacquer")


@pytest.mark.parametrize("coating_id", coating_ids())
def test_every_family_can_be_mixed_as_its_sheet_has_it(coating_id):
    coating = load_coating(coating_id)
    for speed in coating.thinner_speeds:
        mix = mix_of(coating, speed)
        assert sum(part for _, part in mix.fractions) == pytest.approx(1.0)
        assert dict(mix.fractions) == pytest.approx(dict(coating.blends[speed].mass_fractions))


def test_an_unknown_thinner_is_the_fastest_for_blush_and_the_usual_for_drying():
    assert (fastest(LACQUER), usual(LACQUER)) == ("hot", "medium")
    acrylic = load_coating("acrylic-lacquer")
    assert (fastest(acrylic), usual(acrylic)) == ("medium", "medium")


@pytest.mark.parametrize("coating_id", coating_ids())
def test_a_thinner_that_is_not_the_coatings_own_is_refused(coating_id):
    coating = load_coating(coating_id)
    for speed in {"hot", "medium", "slow", "turpentine"} - set(coating.thinner_speeds):
        with pytest.raises(UsageError, match="its own thinners only"):
            mix_of(coating, speed)


@pytest.mark.parametrize(
    ("coating_id", "most"),
    [("nitrocellulose-lacquer", 0.15), ("acrylic-lacquer", 0.10), ("precatalysed-lacquer", 0.05), ("shellac", 0.10)],
)
def test_retarder_at_just_under_and_just_over_its_limit(coating_id, most):
    coating = load_coating(coating_id)
    assert most_retarder(coating) == pytest.approx(most)
    for share in (0.0, most - 0.001, most):
        mix = mix_of(coating, usual(coating), share)
        assert sum(part for _, part in mix.fractions) == pytest.approx(1.0)
    for share in (most + 0.001, -0.001, float("nan")):
        with pytest.raises(UsageError, match="retarder"):
            mix_of(coating, usual(coating), share)


@pytest.mark.parametrize("coating_id", [i for i in coating_ids() if "2k" in i or i in ("oil-varnish",)])
def test_a_two_pack_and_a_varnish_take_no_retarder(coating_id):
    """Alcohols and glycol ethers react with the isocyanate (common practice; the sheet and safety sheet decide)."""
    with pytest.raises(UsageError, match="none"):
        mix_of(load_coating(coating_id), "medium", 0.01)


@pytest.mark.parametrize("coating_id", coating_ids())
def test_no_solvent_two_pack_holds_a_solvent_that_reacts(coating_id):
    coating = load_coating(coating_id)
    if coating.isocyanate and coating.carrier != "water":
        for speed in coating.thinner_speeds:
            for name, _ in mix_of(coating, speed).fractions:
                assert not solvents()[name].hydroxyl, name


@given(st.sampled_from(coating_ids()), st.floats(0.0, 1.0))
def test_slower_mixes_never_pass_a_gate(coating_id, part):
    coating = load_coating(coating_id)
    mix = mix_of(coating, fastest(coating), round(part * most_retarder(coating), 4))
    for slower in slower_mixes(coating, mix):
        assert slower == mix_of(coating, slower.thinner, slower.retarder)
        assert slower.retarder >= mix.retarder
        assert coating.thinner_speeds.index(slower.thinner) >= coating.thinner_speeds.index(mix.thinner)


def test_solvents_are_named_as_people_name_them():
    mix = mix_of_solvents("n-butyl acetate:0.7, toluene:0.3")
    assert dict(mix.fractions) == {"n-butyl-acetate": pytest.approx(0.7), "toluene": pytest.approx(0.3)}
    assert (mix.resin, mix.dispersion) == ("nitrocellulose", False)


@every(
    "text, error",
    [
        ("", UsageError), ("toluene", UsageError), ("toluene:", UsageError), (":1", UsageError),
        ("toluene:0", UsageError), ("toluene:-1", UsageError), ("toluene:nan", UsageError), ("toluene:inf", UsageError),
        ("toluene:0.5", UsageError), ("toluene:0.7,toluene:0.3", UsageError), ("toluene:x", UsageError),
        ("unobtainium:1", CatalogError), ("water:1", OutOfRange), ("toluene:1," * 20, UsageError),
        ("a" * 1000 + ":1", UsageError),
    ],
)  # fmt: skip
def test_a_blend_that_is_none_is_refused(text, error):
    with pytest.raises(error):
        mix_of_solvents(text)


@given(st.text(max_size=60))
def test_no_text_at_all_breaks_the_parser(text):
    try:
        mix = mix_of_solvents(text)
    except AdvisorError as refused:
        assert str(refused)
    else:
        assert sum(part for _, part in mix.fractions) == pytest.approx(1.0)

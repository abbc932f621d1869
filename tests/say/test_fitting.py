"""What is said fits into the lines of a screen: what can best be missed goes first, a caution never."""

from hypothesis import given
from hypothesis import strategies as st

from advisor.say.fitting import STAYS, fitted, height, paragraph

LONG = "word " * 30


def test_the_highest_rank_goes_first_through_its_shorter_wordings():
    parts = [paragraph("state"), paragraph(LONG, 2, "short"), paragraph(LONG, 5), paragraph("caution")]
    assert fitted(parts, 8) == ["state", LONG, LONG, "caution"]
    assert fitted(parts, 5) == ["state", LONG, "caution"]
    assert fitted(parts, 3) == ["state", "short", "caution"]
    assert fitted(parts, 2) == ["state", "caution"]


@given(st.lists(st.tuples(st.sampled_from(["", "a word", LONG]), st.integers(0, 4)), max_size=12), st.integers(1, 12))
def test_what_stays_is_never_left_out_and_the_rest_fits(parts, lines):
    kept = fitted([paragraph(text, rank) for text, rank in parts], lines)
    staying = [text for text, rank in parts if rank == STAYS and text]
    assert [text for text in kept if text in staying][: len(staying)].count("") == 0
    for text in set(staying):
        assert kept.count(text) >= staying.count(text)
    assert height(kept) <= max(lines, height(staying))

"""Exposures as a table for a spreadsheet: every number as measured, and no cell that works anything out."""

import csv
import io

import pytest

from advisor.review.page.record import COLUMNS, exposures_csv, safe
from tests.review.page.pages import damp, named


def rows(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text)))


# CWE-1236, improper neutralization of formula elements in a CSV file: a cell that begins with one of these is a formula
@pytest.mark.parametrize("sign", ["=", "+", "-", "@", "\t", "\r"])
def test_what_a_spreadsheet_would_work_out_gets_an_apostrophe(sign):
    name = f'{sign}HYPERLINK("http://x","y")'
    assert safe(name) == f"'{name}"
    text = exposures_csv([named(name)])
    assert f"\"'{sign}HYPERLINK(" in text
    assert {row["coat"] for row in rows(text)} == {f"'{name}"}


@pytest.mark.parametrize("name", ["chair, coat 2", "a=b", "1-2", "", '"quoted"', "'apostrophe"])
def test_another_name_is_left_as_it_is(name):
    assert safe(name) == name
    assert rows(exposures_csv([named(name)]))[0]["coat"] == name


def test_every_exposure_is_a_row_with_its_number():
    read = rows(exposures_csv([damp()]))
    assert [row["exposure"] for row in read] == list(damp().exposed.by_name)
    assert tuple(read[0]) == COLUMNS
    for row in read:
        measured = damp().exposed.by_name[row["exposure"]].measured
        assert (row["measured"] == "") == (measured is None)
        if measured is not None:
            assert float(row["measured"]) == pytest.approx(measured, rel=1e-5)


def test_a_negative_number_stays_a_number():
    text = exposures_csv([damp()])
    row = next(line for line in text.splitlines() if '"film_over_dew"' in line)
    assert row.split(",")[4].startswith("-")

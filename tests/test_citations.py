"""Citations that nobody could confirm say so where they stand."""

import re

from advisor.catalog.limits import quality_limits
from tests.support import ROOT, every, reference_rows

_PAGE = re.compile(r"\bpp?\. ?\d+")
_TEXTS = [
    path
    for folder in ("advisor", "docs", "tests", "sensor_fixtures", "configs", "benchmarks")
    for path in sorted((ROOT / folder).rglob("*"))
    if path.suffix in (".py", ".csv", ".md", ".toml") and path.name != "test_citations.py"
]


@every("path", _TEXTS)
def test_a_page_of_a_document_is_marked_as_from_memory(path):
    bare = [line for line in path.read_text("utf-8").splitlines() if _PAGE.search(line) and "from memory" not in line]
    assert not bare


def test_the_two_circulated_dew_point_charts_are_from_memory():
    charts = [row["source"] for row in reference_rows("dew_point_charts.csv") if "Chart" in row["source"]]
    assert len(set(charts)) == 2
    assert all("from memory" in source for source in charts)


def test_that_a_humidity_may_be_read_up_to_105_percent_is_from_memory():
    assert quality_limits()["relative_humidity", "range_high"].tag == "from memory"

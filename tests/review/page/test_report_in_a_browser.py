"""A report in a real browser, without a network: on a phone, on a screen and on paper nothing is blank or cut off."""

import re
import subprocess
from html import escape
from pathlib import Path

import pytest
from matplotlib.image import imread

from advisor.review.page.report import report
from tests.review.page.pages import SHOP_IN_LONDON, named, page
from tests.support import program

PAGES = ("damp", "faulty", "dusty")
SIZES = ((390, 844), (1280, 900))
_FRAME = """<!DOCTYPE html><html><body style="margin:0"><iframe id="f" style="border:0"
width="{width}" height="{height}" srcdoc="{inside}"></iframe><p id="m"></p><script>
document.getElementById("f").onload = function () {{
  const page = this.contentDocument, root = page.documentElement;
  const out = [...page.querySelectorAll("main *")].filter(
    (each) => !each.closest("svg") && each.getBoundingClientRect().right > root.clientWidth + 0.5);
  const shown = [...page.querySelectorAll("svg")].map((each) => Math.round(each.getBoundingClientRect().width));
  document.getElementById("m").textContent =
    `scroll=${{root.scrollWidth}} client=${{root.clientWidth}} out=${{out.length}} pictures=${{shown.join(",")}}`;
}};
</script></body></html>
"""


def chromium(folder: Path, *words: str) -> str:
    flags = ("--headless", "--no-sandbox", "--disable-gpu", "--disable-background-networking", "--hide-scrollbars")
    done = subprocess.run(
        [program("chromium", "chromium"), *flags, f"--user-data-dir={folder / 'profile'}", *words],
        capture_output=True, text=True, check=True, timeout=240,
    )  # fmt: skip
    return done.stdout


def written(folder: Path, text: str) -> str:
    path = folder / "report.html"
    path.write_text(text, encoding="utf-8")
    return path.as_uri()


@pytest.mark.slow
@pytest.mark.parametrize(("width", "height"), SIZES)
def test_a_screen_is_not_blank(tmp_path, width, height):
    shot = tmp_path / "shot.png"
    chromium(tmp_path, f"--window-size={width},{height}", f"--screenshot={shot}", written(tmp_path, page("damp")))
    dark = imread(shot)[:, :, :3].mean(axis=2) < 0.5
    assert shot.stat().st_size > 10_000
    assert 0.005 < dark.mean() < 0.5
    assert dark[: height // 2].any()
    assert dark[height // 2 :].any()


@pytest.mark.slow
def test_it_prints(tmp_path):
    paper = tmp_path / "report.pdf"
    chromium(tmp_path, "--no-pdf-header-footer", f"--print-to-pdf={paper}", written(tmp_path, page("damp")))
    content = paper.read_bytes()
    assert content.startswith(b"%PDF")
    assert len(content) > 50_000
    assert 2 <= len(re.findall(rb"/Type\s*/Page\b", content)) <= 5


def measured(folder: Path, text: str, width: int, height: int) -> dict[str, str]:
    frame = folder / "frame.html"
    frame.write_text(_FRAME.format(width=width, height=height, inside=escape(text)), encoding="utf-8")
    dom = chromium(folder, "--virtual-time-budget=20000", "--window-size=1400,900", "--dump-dom", frame.as_uri())
    said = re.search(r"(scroll=\d+) (client=\d+) (out=\d+) (pictures=[\d,]+)", dom.rsplit("</iframe>", 1)[1])
    return dict(pair.split("=") for pair in said.groups())


@pytest.mark.slow
@pytest.mark.parametrize("which", PAGES)
@pytest.mark.parametrize(("width", "height"), [(320, 640), *SIZES])
def test_nothing_runs_out_of_the_page(tmp_path, which, width, height):
    found = measured(tmp_path, page(which), width, height)
    assert found["scroll"] == found["client"]
    assert found["out"] == "0"
    wide, narrow = map(int, found["pictures"].split(","))
    assert (wide > 0) is (width > 640)  # one of the two pictures, as wide as the text
    assert (narrow > 0) is (width <= 640)
    assert max(wide, narrow) > 0.85 * min(width, 736)


@pytest.mark.slow
def test_a_name_without_a_space_runs_out_of_no_phone(tmp_path):
    found = measured(tmp_path, report(named("x" * 300), (), "y" * 300, SHOP_IN_LONDON), 390, 844)
    assert found["scroll"] == found["client"]

"""The report in a browser: alone, silent, accessible, on a screen, on a telephone and on paper."""

import shutil
import subprocess

import pytest

from farrowtide.cautions import CAUTION

PHONE, DESKTOP = 390, 1280  # CSS pixels
SMALLEST_TEXT = 9  # CSS pixels of the smallest lettering of a picture; 7.5 pt as drawn
PICTURE_PT, LETTERING_PT = 511.2, 7.5
MOST_BYTES = 2_000_000  # so that it can be mailed
EVERY_TABLE_OPEN = "document.querySelectorAll('details').forEach(folded => folded.open = true)"


def words(text):
    return " ".join(text.split())


def printed(page, tmp_path, paper, pages):
    """The text of some pages ("1-1") of the report as it is printed."""
    if shutil.which("pdftotext") is None:
        pytest.skip("no pdftotext: apt-get install poppler-utils")
    file = tmp_path / f"{paper}.pdf"
    page.pdf(path=file, format=paper)
    first, last = pages.split("-")
    done = subprocess.run(
        ["pdftotext", "-f", first, "-l", last, file, "-"], capture_output=True, text=True, check=True, timeout=60
    )
    return words(done.stdout)


@pytest.mark.parametrize("width", [PHONE, DESKTOP])
def test_nothing_is_fetched_and_nothing_is_said(opened, width):
    watched = opened(width)
    watched.page.evaluate(EVERY_TABLE_OPEN)
    watched.page.wait_for_load_state("networkidle")
    assert watched.requests == []
    assert watched.said == []


def test_the_browser_would_tell(opened):
    """The test before this one can fail."""
    watched = opened(DESKTOP)
    watched.page.evaluate("console.log('told'); fetch('http://farm.example/').catch(() => 0)")
    watched.page.wait_for_timeout(200)
    assert "told" in watched.said
    assert watched.requests == ["http://farm.example/"]


def test_no_barrier_of_weight(opened):
    """On a telephone, where tables and pictures scroll; the page has the same contents everywhere."""
    axe = pytest.importorskip("axe_playwright_python.sync_playwright", reason="pip install farrowtide[browser]")
    page = opened(PHONE).page
    page.evaluate(EVERY_TABLE_OPEN)
    found = axe.Axe().run(page, options={"resultTypes": ["violations"]}).response  # of others, one each: quicker
    assert found["passes"]
    assert [
        (barrier["id"], barrier["nodes"][0]["html"])
        for barrier in found["violations"]
        if barrier["impact"] in ("serious", "critical")
    ] == []


def test_a_telephone_scrolls_tables_and_pictures_but_not_the_page(opened):
    page = opened(PHONE).page
    page.evaluate(EVERY_TABLE_OPEN)
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE
    narrow = page.evaluate("[...document.querySelectorAll('figure img')].map(picture => picture.clientWidth)")
    assert narrow
    assert min(narrow) * LETTERING_PT / PICTURE_PT >= SMALLEST_TEXT
    wider_than_their_cells = page.evaluate(
        "[...document.querySelectorAll('thead th')].filter(cell => cell.scrollWidth > cell.clientWidth + 1)"
        ".map(cell => cell.textContent)"
    )
    assert wider_than_their_cells == []


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_first_printed_page_is_the_summary_and_nothing_else(opened, compared, tmp_path, paper):
    page = opened(DESKTOP).page
    first = printed(page, tmp_path, paper, "1-1")
    for case in compared.cases:
        assert words(compared.verdict(case)["Best"]) in first
        assert words(compared.verdict(case)["Costs"]) in first
    assert first.endswith(words(CAUTION))
    assert words(page.locator("section.summary").inner_text())[-80:] in first


def test_what_is_folded_on_a_screen_is_printed(opened, tmp_path):
    page = opened(DESKTOP).page
    assert not page.get_by_text("Weight of piglets weaned per litter").first.is_visible()
    assert "Weight of piglets weaned per litter" in printed(page, tmp_path, "A4", "1-99")
    page.emulate_media(media="print")
    split = page.evaluate(
        "[...document.querySelectorAll('tr')].filter(row => getComputedStyle(row).breakInside !== 'avoid').length"
    )
    assert split == 0


def test_names_that_look_like_markup_are_shown_as_they_are(opened):
    page = opened(DESKTOP).page
    assert "<script>console.log('ran')</script>" in page.locator("h1").inner_text()
    assert page.locator("script").count() == 0


def test_the_page_can_be_mailed(report):
    assert report.stat().st_size < MOST_BYTES

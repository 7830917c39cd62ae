"""The documentation as `./quickstart docs` builds it, opened from its folder: complete without a network, and searchable."""

from pathlib import Path

import pytest

SITE = Path(__file__).parents[2] / "build/site"
# A page of each kind: by hand, a lesson, written from the code, measured, a file shown.
PAGES = (
    "index.html",
    "tutorial/first_room.html",
    "reference/keys.html",
    "reference/python_functions.html",
    "reference/cpp_kernel.html",
    "evidence/model.html",
    "source/libsim/model/farrowing_room.cpp.html",
)

OF_SPHINX = {"definition-list"}  # it writes long signatures as descriptions without terms

pytestmark = pytest.mark.skipif(not (SITE / "index.html").exists(), reason="no site: ./quickstart docs")


@pytest.fixture
def site(browser):
    """Opens a page of the site; what is asked for beyond the folder and what is said on the console is kept."""
    opened = []

    def at(path, width):
        page = browser.new_page(viewport={"width": width, "height": 900}, offline=True)
        opened.append(page)
        page.beyond, page.said = [], []
        page.on("request", lambda request: page.beyond.append(request.url) if not within(request.url) else None)
        page.on("console", lambda message: page.said.append(message.text))
        page.on("pageerror", lambda error: page.said.append(str(error)))
        page.goto((SITE / path).as_uri())
        return page

    yield at
    for page in opened:
        page.close()


def within(url):
    return url.startswith((SITE.as_uri(), "data:", "about:"))


@pytest.mark.parametrize("path", PAGES)
def test_a_page_needs_no_network_and_fits_a_telephone(site, path):
    page = site(path, 390)
    assert page.locator("h1").first.is_visible()
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    assert (page.beyond, page.said) == ([], [])


@pytest.mark.parametrize("path", PAGES)
def test_no_barrier_of_weight(site, path):
    axe = pytest.importorskip("axe_playwright_python.sync_playwright", reason="pip install farrowtide[browser]")
    found = axe.Axe().run(site(path, 1280), options={"resultTypes": ["violations"]}).response
    assert found["passes"]
    assert [
        (barrier["id"], barrier["nodes"][0]["html"])
        for barrier in found["violations"]
        if barrier["impact"] in ("serious", "critical") and barrier["id"] not in OF_SPHINX
    ] == []


@pytest.mark.parametrize(
    ("word", "found"),
    [
        ("switching value", "explanation/glossary.html"),
        ("drinker_blockages", "reference/keys.html"),
        ("write_report", "reference/python_classes.html"),
        ("FramePool", "reference/cpp_kernel.html"),
    ],
)
def test_a_search_from_the_folder_finds_a_word(site, word, found):
    page = site("index.html", 1280)
    page.get_by_placeholder("Search").fill(word)
    page.keyboard.press("Enter")
    page.locator(f"#search-results a[href*='{found}']").first.wait_for(timeout=10_000)
    assert (page.beyond, page.said) == ([], [])


def test_a_wide_table_is_scrolled_by_keys(site):
    page = site("reference/keys.html", 390)
    table = page.locator(".table-wrapper").first
    assert table.get_attribute("tabindex") == "0"
    table.focus()
    page.keyboard.press("ArrowRight")
    page.wait_for_function("document.querySelector('.table-wrapper').scrollLeft > 0")


def test_keys_alone_reach_the_text_of_a_page(site):
    page = site("evidence/model.html", 1280)
    page.keyboard.press("Tab")
    first = page.evaluate("document.activeElement.textContent")
    page.keyboard.press("Enter")
    assert first.strip() == "Skip to content"
    assert page.url.endswith("#furo-main-content")

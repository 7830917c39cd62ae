"""A browser, and one small report that all tests look at. Skipped where Chromium or its driver is missing."""

import shutil
from pathlib import Path

import pytest

import farrowtide

ROOT = Path(__file__).parents[2]
TITLE = "Hand feeds <script>console.log('ran')</script> \"&amp;\" more"
CHROMIUM = shutil.which("chromium")


@pytest.fixture(scope="session")
def compared():
    scenario = farrowtide.load(ROOT / "scenarios/feeding/meals_a_day.yaml")
    return farrowtide.compare(scenario.override({"room.crates": 4, "title": TITLE}), replications=40, seed=2)


@pytest.fixture(scope="session")
def report(compared, tmp_path_factory):
    return compared.write_report(tmp_path_factory.mktemp("report"))


@pytest.fixture(scope="session")
def browser():
    playwright = pytest.importorskip("playwright.sync_api", reason="no Playwright: pip install farrowtide[browser]")
    if CHROMIUM is None:
        pytest.skip("no Chromium: apt-get install chromium")
    with playwright.sync_playwright() as driver:
        chromium = driver.chromium.launch(executable_path=CHROMIUM)
        yield chromium
        chromium.close()


class Opened:
    """A page, what it asked for beyond itself, and what it said on the console."""

    def __init__(self, page):
        self.page, self.requests, self.said = page, [], []
        page.route("**/*", self._answer)
        page.on("console", lambda message: self.said.append(message.text))
        page.on("pageerror", lambda error: self.said.append(str(error)))

    def _answer(self, route):
        if self.page.url == "about:blank" and route.request.is_navigation_request():
            route.continue_()
            return
        self.requests.append(route.request.url)
        route.abort()


@pytest.fixture
def open_file(browser):
    """Opens a file in a window of a width, without a network."""
    pages = []

    def at(file, width, **options):
        page = browser.new_page(viewport={"width": width, "height": 900}, offline=True, **options)
        pages.append(page)
        watched = Opened(page)
        page.goto(file.as_uri())
        return watched

    yield at
    for page in pages:
        page.close()


@pytest.fixture
def opened(open_file, report):
    """Opens the report in a window of a width."""
    return lambda width: open_file(report, width)

import signal
from pathlib import Path

import pytest

import farrowtide

ROOT = Path(__file__).parents[2]

# What a shell starts in the background is deaf to Ctrl-C, and so are its children; the tests of Ctrl-C need ears.
signal.signal(signal.SIGINT, signal.default_int_handler)


@pytest.fixture(scope="session")
def meals_file() -> Path:
    return ROOT / "scenarios/feeding/meals_a_day.yaml"


@pytest.fixture(scope="session")
def three_sows() -> farrowtide.Scenario:
    return farrowtide.load(ROOT / "scenarios/teaching/three_sows.yaml")


@pytest.fixture(scope="session")
def small_room(meals_file) -> farrowtide.Scenario:
    return farrowtide.load(meals_file).override({"room.crates": 6})


@pytest.fixture(scope="session")
def comparison(small_room) -> farrowtide.Comparison:
    return farrowtide.compare(small_room, replications=40, seed=3)


@pytest.fixture
def without_drawing(monkeypatch):
    """Reports with one empty picture in the place of each: drawing takes most of the time of tests that are about other things."""
    from matplotlib.figure import Figure

    from farrowtide.report import page
    from farrowtide.report.pictures.picture import Picture

    def empty(*_arguments):
        return Picture(Figure(figsize=(1, 1)), "A picture", "not drawn in this test", "not drawn in this test")

    for name in ("headline_differences", "intake", "farrowings", "tornado"):
        monkeypatch.setattr(page, name, empty)
    for name in ("work", "utilisation"):
        monkeypatch.setattr(page.work, name, empty)

"""The scenarios that come with the package are found from any folder, in the repository and where a wheel put them."""

from pathlib import Path

import pytest

import farrowtide
from farrowtide.scenarios import shipped

SCENARIOS = Path(__file__).parents[2] / "scenarios"


@pytest.fixture
def installed(tmp_path, monkeypatch):
    """A package as a wheel installs it, with two scenarios."""
    package = tmp_path / "site-packages/farrowtide"
    for name in ("teaching/own.yaml", "feeding/other.yaml"):
        file = package / "shipped/scenarios" / name
        file.parent.mkdir(parents=True)
        file.write_text("title: a room\n", encoding="utf-8")
    monkeypatch.setattr(shipped, "_PACKAGE", package)
    return package


def test_every_scenario_is_an_example_but_those_that_are_wrong_on_purpose():
    there = {file.relative_to(SCENARIOS).as_posix() for file in SCENARIOS.rglob("*.yaml")}
    assert set(shipped.example_names()) == {name for name in there if not name.startswith("invalid/")}
    assert len(shipped.example_names()) > 20


def test_an_example_is_found_from_any_folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert farrowtide.example("teaching/three_sows.yaml") == SCENARIOS / "teaching/three_sows.yaml"
    assert farrowtide.load(farrowtide.example("teaching/three_sows.yaml")).title


def test_an_installed_package_has_scenarios_of_its_own(installed):
    assert shipped.example_names() == ["feeding/other.yaml", "teaching/own.yaml"]
    assert farrowtide.example("teaching/own.yaml") == installed / "shipped/scenarios/teaching/own.yaml"


@pytest.mark.parametrize("name", ["teaching/three_sow.yaml", "../README.md", "invalid/tab.yaml", "", "/etc/passwd"])
def test_what_is_no_example_is_an_error_of_the_user_with_all_names(name):
    with pytest.raises(
        farrowtide.UserError, match=f"no example is called '{name}'.*'water/slow_drinkers.yaml'"
    ) as error:
        farrowtide.example(name)
    assert ("Did you mean 'teaching/three_sows.yaml'?" in str(error.value)) == name.startswith("teaching")

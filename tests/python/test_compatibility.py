"""What .site/pages/compatibility.md promises about files and names of earlier versions.

After a new minor version its scenarios are copied to tests/golden/scenarios/VERSION and its interface is written with
FARROWTIDE_RENEW_GOLDEN=1; what earlier versions left there is never changed.
"""

import json
import os
import shutil
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from click.testing import CliRunner
from interface import interface

import farrowtide
from farrowtide import _core
from farrowtide.commands.main import main
from farrowtide.results import checking
from farrowtide.results.from_study import comparison_of
from farrowtide.results.reproduce import reproduce

GOLDEN = Path(__file__).parents[1] / "golden"
SCENARIOS = sorted((GOLDEN / "scenarios").glob("*/*.yaml"))
STUDIES = sorted((GOLDEN / "studies").iterdir())
MINOR = ".".join(_core.engine_version.split(".")[:2])
PRESENT = GOLDEN / "interface" / f"{MINOR}.json"
INTERFACES = sorted({*PRESENT.parent.glob("*.json"), PRESENT})


@pytest.mark.parametrize("file", SCENARIOS, ids=lambda file: f"{file.parent.name}-{file.stem}")
def test_a_scenario_of_an_earlier_version_runs_a_room_of_each_alternative(file, tmp_path):
    text = file.read_text()
    copy = tmp_path / file.name
    copy.write_text(text.replace("  groups: 52\n", "  groups: 1\n"))  # a year takes a minute
    found = checking.check(str(copy))
    assert found.ok, [*found.mistakes, *found.failed]
    assert farrowtide.load(copy).alternatives == farrowtide.load(file).alternatives


def test_the_present_version_is_frozen():
    if os.environ.get("FARROWTIDE_RENEW_GOLDEN"):
        PRESENT.write_text(json.dumps(interface(), indent=0) + "\n")
    assert MINOR in {file.parent.name for file in SCENARIOS}
    assert PRESENT.is_file(), "write it with FARROWTIDE_RENEW_GOLDEN=1"
    assert STUDIES


@pytest.mark.parametrize("file", INTERFACES, ids=lambda file: file.stem)
def test_no_name_of_an_earlier_version_is_gone(file):
    now = interface()
    for kind, names in json.loads(file.read_text()).items():
        assert len(names) > 20, kind
        gone = sorted(set(names) - set(now[kind]))
        assert not gone, f"{kind} of version {file.stem} that this one lacks; keep an alias, or see compatibility.md"


@pytest.mark.parametrize("folder", STUDIES, ids=lambda folder: folder.name)
def test_a_study_of_an_earlier_version_is_read_or_refused_by_name(folder, tmp_path):
    study = shutil.copytree(folder / "study", tmp_path / "study")
    held = json.loads((study / "manifest.json").read_text())["results_version"]
    if held != _core.results_version:
        with pytest.raises(farrowtide.UserError, match=f"results version {held}, and this is {_core.results_version}"):
            comparison_of(study)
        return
    found = comparison_of(study).differences
    written = pd.read_csv(folder / "out/differences.csv")
    assert list(found["output"]) == list(written["output"])
    for column in ("mean_alternative", "mean_reference", "difference"):
        np.testing.assert_allclose(found[column], written[column], rtol=1e-6, atol=1e-12)


@pytest.fixture
def with_other_results(monkeypatch):
    """As if this were a version that gives other numbers."""
    other = _core.results_version + 1
    monkeypatch.setattr(_core, "results_version", other)
    return other


@pytest.mark.parametrize("folder", STUDIES, ids=lambda folder: folder.name)
def test_a_version_that_gives_other_numbers_neither_reports_a_study_nor_goes_on(folder, with_other_results, tmp_path):
    study = shutil.copytree(folder / "study", tmp_path / "study")
    held = json.loads((study / "manifest.json").read_text())["results_version"]
    with pytest.raises(farrowtide.UserError, match=f"results version {held}, and this is {with_other_results}"):
        comparison_of(study)
    options = ["-n", "4", "--seed", "7", "--study", str(study), "--resume", "--quiet"]
    done = CliRunner().invoke(main, ["compare", str(folder / "three_sows.yaml"), *options])
    assert done.exit_code == 2
    assert "holds another study, which differs in: results_version" in done.stderr
    for file in (folder / "study").rglob("*.*"):
        assert (study / file.relative_to(folder / "study")).read_bytes() == file.read_bytes()


@pytest.mark.parametrize("folder", STUDIES, ids=lambda folder: folder.name)
def test_provenance_of_an_earlier_version_is_read_and_its_version_named(folder, with_other_results):
    held = json.loads((folder / "out/provenance.json").read_text())["results_version"]
    found = reproduce(folder / "out")
    assert set(found.files) >= {"differences.csv", "outputs.csv"}
    assert any(
        f"results version {held}" in line.replace("results_version", "results version") for line in found.changed
    )

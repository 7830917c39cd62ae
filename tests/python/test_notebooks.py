"""Notebooks find the repository from its root and from their own folder, and the exercise is the reader's to solve."""

import re
from pathlib import Path

import pytest

import farrowtide

NOTEBOOKS = Path(__file__).parents[2] / "notebooks"
FIRST = NOTEBOOKS / "first_room.py"


def cells(notebook):
    """The code of the cells, without those of Markdown."""
    parts = re.split(r"^# %%", notebook.read_text(encoding="utf-8"), flags=re.MULTILINE)[1:]
    return [part.partition("\n")[2] for part in parts if not part.startswith(" [markdown]")]


@pytest.mark.parametrize("notebook", sorted(NOTEBOOKS.glob("*.py")), ids=lambda file: file.stem)
@pytest.mark.parametrize("folder", [NOTEBOOKS.parent, NOTEBOOKS])
def test_the_scenario_of_a_notebook_is_found(notebook, folder, monkeypatch):
    monkeypatch.chdir(folder)
    start = notebook.read_text(encoding="utf-8")
    lines = [line for line in start.splitlines() if line.startswith(("repository = ", "scenario = "))]
    known = {"Path": Path, "farrowtide": farrowtide}
    exec("\n".join(lines), known)
    assert len(lines) == 2
    assert known["scenario"].title


@pytest.fixture(scope="module")
def exercise():
    """Runs the last cell with these answers in place of None."""
    scenario = farrowtide.load(NOTEBOOKS.parent / "scenarios/teaching/three_sows.yaml")
    known = {"farrowtide": farrowtide, "scenario": scenario}
    known["comparison"] = farrowtide.compare(scenario, replications=200, seed=7, outputs=["weight_loss_kg"])

    def run(shape, answer):
        code = cells(FIRST)[-1]
        for name, value in (("shape", shape), ("changes_by_more_than_1_kg", answer)):
            assert f"\n{name} = None\n" in f"\n{code}"
            code = code.replace(f"{name} = None\n", f"{name} = {value}\n")
        exec(code, dict(known))

    return run


def test_the_exercise_arrives_unsolved_and_runs(exercise, capsys):
    exercise(None, None)
    assert capsys.readouterr().out == ""


def test_the_right_answers_pass_and_others_do_not(exercise, capsys):
    exercise(1.8, False)
    assert "Both are right." in capsys.readouterr().out
    with pytest.raises(AssertionError, match="compare the change"):
        exercise(1.8, True)
    with pytest.raises(AssertionError, match="not the end of the range"):
        exercise(1.5, False)

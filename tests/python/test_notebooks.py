"""Lessons find their scenarios from any folder, say what they are, and lead somewhere; the exercise is the reader's to solve."""

import re
from pathlib import Path

import pytest

import farrowtide

NOTEBOOKS = Path(__file__).parents[2] / "notebooks"
LESSONS = sorted(NOTEBOOKS.glob("*.py"))
FIRST = NOTEBOOKS / "first_room.py"
every_lesson = pytest.mark.parametrize("lesson", LESSONS, ids=lambda file: file.stem)


def parts(notebook):
    """The cells, each with its first line."""
    return re.split(r"^# %%", notebook.read_text(encoding="utf-8"), flags=re.MULTILINE)[1:]


def cells(notebook):
    """The code of the cells, without those of Markdown."""
    return [part.partition("\n")[2] for part in parts(notebook) if not part.startswith(" [markdown]")]


def prose(notebook):
    """The text of the cells of Markdown, in one line each."""
    told = [part.replace("\n# ", " ") for part in parts(notebook) if part.startswith(" [markdown]")]
    return "\n".join(told)


@every_lesson
def test_a_lesson_names_scenarios_that_are_shipped_and_no_place_in_the_repository(lesson, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    code = "\n".join(cells(lesson))
    for name in re.findall(r"""example\(["']([^"']+)""", code):
        assert farrowtide.load(farrowtide.example(name)).title
    if lesson.stem != "another_ward":  # which compiles against the sources, where they are at hand
        assert not re.search(r"\.cwd\(|__file__|repository", code)


@every_lesson
def test_a_lesson_says_how_long_it_takes_and_asks_before_it_shows(lesson):
    text = prose(lesson)
    assert re.search(r"It takes .{5,40} to read and .{5,40} to run", text)
    assert re.search(r"\bpredict", text, re.IGNORECASE)


@every_lesson
def test_links_of_a_lesson_lead_somewhere(lesson):
    links = re.findall(r"\]\(([^)#\s]+)", prose(lesson))
    assert [link for link in links if not link.startswith("https:") and not (NOTEBOOKS / link).exists()] == []


@every_lesson
def test_the_index_lists_a_lesson_with_the_time_that_it_names(lesson):
    index = (NOTEBOOKS / "README.md").read_text(encoding="utf-8")
    rows = [line for line in index.splitlines() if f"({lesson.name})" in line and line.startswith("|")]
    assert len(rows) == 1
    said = re.search(r"It takes (?:about )?(.+?) to read", prose(lesson)).group(1)
    minutes = {"ten minutes": 10, "a quarter of an hour": 15, "half an hour": 30}
    assert f"| {minutes[said]} min |" in rows[0]


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

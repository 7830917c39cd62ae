"""Homework arrives unsolved and is judged by what the model gives: right answers pass, and hints hold no answer."""

import json
import re
from pathlib import Path

import click.testing
import jupytext
import nbformat
import numpy as np
import pytest

import farrowtide
from farrowtide.commands.exit_codes import EXIT_DIFFERS, EXIT_MISTAKE
from farrowtide.commands.main import main
from farrowtide.teaching.assignments import ASSIGNMENTS

ROOT = Path(__file__).parents[2]
HOMEWORK = ROOT / "notebooks/homework"
NOTE = ROOT / ".site/pages/teachers_note.md"


def clock_min(line):
    day, hour, minute = map(int, re.match(r"day (\d+) (\d+):(\d+)", line).groups())
    return 1440 * day + 60 * hour + minute


def by_hand(trace):
    """The first homework from its printed trace, as a student solves it."""
    starts = {clock_min(line): int(re.search(r"sow (\d):", line)[1]) for line in trace if "begins to farrow" in line}
    births = [clock_min(line) for line in trace if "sow 2: piglet" in line and "born" in line]
    farrowed_on = [clock_min(line) // 1440 for line in trace if "sow 1: piglet" in line and "born" in line][-1]
    meals = [line for line in trace if line.startswith(f"day {farrowed_on + 5} ") and "sow 1: eats" in line]
    return starts[min(starts)], births[-1] - births[0], sum(float(re.search(r"eats ([\d.]+) kg", m)[1]) for m in meals)


def row(compared, output, alternative):
    return compared.differences.set_index(["output", "alternative"]).loc[(output, alternative)]


def solve_first_room(known):
    first, farrowing_min, eaten_kg = by_hand(known["trace"])
    days, sows = known["days"], known["room"].sows
    feed = days.loc[5]
    left = days.loc[4, "in_trough_at_midnight_kg"] + feed.offered_kg - feed.eaten_kg - feed.wasted_kg - feed.removed_kg
    weaned = sows["total_born"].sum() - sows["stillborn"].sum() - sows["died_before_weaning"].sum()
    return first, farrowing_min, round(eaten_kg, 2), round(left, 3), int(weaned)


def solve_feeding(known):
    intake = row(known["january"], "feed_intake_kg_per_day", "full access")
    labour = row(known["january"], "labour_min_per_litter", "full access")
    loss = row(known["january"], "weight_loss_kg", "full access")
    matters = [
        "higher" in row(known[case], "feed_intake_kg_per_day", "3 hand feeds").verdict
        for case in ("january", "small_trough")
    ]
    width = loss.ci_high - loss.ci_low
    return round(intake.difference, 2), *matters, round(-labour.difference, 1), round(width, 2), 40 * 2**2


def solve_fostering(known):
    litters = list(zip(known["room"].sows["born_alive"], known["room"].sows["functional_teats"], strict=True))
    surplus = sum(max(0, born - teats) for born, teats in litters)
    free = sum(max(0, teats - born) for born, teats in litters)
    placed = min(surplus, free, int(0.15 * sum(born for born, _ in litters)))
    at_5, at_15, unlimited = (
        row(known["compared"], "preweaning_mortality_percent", name).difference
        for name in ("at most 5 %", "at most 15 %", "no limit")
    )
    lost = -row(known["compared"], "litter_integrity_percent", "no limit").difference
    return surplus, free, placed, bool(at_15 != unlimited), round(100 * at_5 / unlimited), round(lost, 2)


def solve_peeking(known):
    other, same = known["other_sows"], known["same_sows"]
    alarms = [known["p_values"](rooms) < 0.05 for rooms in range(5, 41, 5)]
    times = round(np.var(other, ddof=1) / np.var(same, ddof=1))
    once, ever = 100 * np.mean(alarms[-1]), 100 * np.mean(np.any(alarms, axis=0))
    return int(sum(other > 0)), int(sum(same > 0)), times, float(round(once, 1)), float(round(ever, 1))


SOLVE = {
    "first_room_by_hand": solve_first_room,
    "feeding_frequency": solve_feeding,
    "fostering_limits": solve_fostering,
    "one_replication_and_peeking": solve_peeking,
}


def answered(assignment, values):
    """The text of a homework with these answers in place of None."""
    text = (HOMEWORK / f"{assignment}.py").read_text(encoding="utf-8")
    for name, value in values.items():
        assert text.count(f"\n{name} = None\n") == 1
        text = text.replace(f"\n{name} = None\n", f"\n{name} = {value}\n")
    return text


def check(file, *options):
    return click.testing.CliRunner().invoke(main, ["check-homework", str(file), *options])


@pytest.fixture
def judge(tmp_path):
    """What is said of a homework with these answers, by the name of each question, and the exit code."""

    def said_of(assignment, values):
        file = tmp_path / f"{assignment}.py"
        file.write_text(answered(assignment, values), encoding="utf-8")
        done = check(file, "--json")
        return {judged["name"]: judged for judged in json.loads(done.stdout)["questions"]}, done.exit_code

    return said_of


def test_every_homework_has_an_assignment_and_asks_its_questions():
    assert {file.stem for file in HOMEWORK.glob("*.py")} == set(ASSIGNMENTS) == set(SOLVE)
    for name, assignment in ASSIGNMENTS.items():
        asked = re.findall(r"^(\w+) = None$", (HOMEWORK / f"{name}.py").read_text(encoding="utf-8"), re.MULTILINE)
        assert asked == [question.name for question in assignment.questions]


@pytest.mark.parametrize("assignment", ASSIGNMENTS)
def test_it_arrives_unsolved(assignment):
    done = check(HOMEWORK / f"{assignment}.py")
    assert done.exit_code == EXIT_DIFFERS
    assert done.stdout.count(": not answered. Asked: ") == len(ASSIGNMENTS[assignment].questions)
    assert f"0 of {len(ASSIGNMENTS[assignment].questions)} right" in done.stdout


@pytest.mark.parametrize("assignment", ASSIGNMENTS)
def test_answers_worked_out_from_its_own_cells_are_right(assignment, judge):
    known = {"__name__": "homework"}
    exec((HOMEWORK / f"{assignment}.py").read_text(encoding="utf-8"), known)
    names = [question.name for question in ASSIGNMENTS[assignment].questions]
    said, code = judge(assignment, dict(zip(names, SOLVE[assignment](known), strict=True)))
    assert {judged["status"] for judged in said.values()} == {"right"}
    assert code == 0


@pytest.mark.parametrize("assignment", ASSIGNMENTS)
def test_wrong_answers_get_a_hint_and_no_answer(assignment, judge):
    expected = {name: one.value for name, one in ASSIGNMENTS[assignment].expected().items()}
    wrong = {name: not value if isinstance(value, bool) else value + 1000 for name, value in expected.items()}
    said, code = judge(assignment, wrong)
    assert code == EXIT_DIFFERS
    hints = {question.name: question.hint for question in ASSIGNMENTS[assignment].questions}
    assert {name: (one["status"], one["hint"]) for name, one in said.items()} == {
        name: ("not yet", hint) for name, hint in hints.items()
    }
    for name, value in expected.items():
        assert isinstance(value, bool) or f"{value:g}" not in re.findall(r"[\d.]*\d", hints[name])


@pytest.mark.parametrize("assignment", ASSIGNMENTS)
def test_a_usual_mistake_gets_the_hint_that_helps(assignment, judge):
    for name, expected in ASSIGNMENTS[assignment].expected().items():
        for hint, slip in expected.slips.items():
            said, _ = judge(assignment, {name: slip})
            assert (said[name]["status"], said[name]["hint"]) == ("not yet", hint)


@pytest.mark.parametrize(
    ("given", "status", "hint"),
    [
        ("1 + 1", "not answered", "Write the value itself"),
        ("room.sows", "not answered", "Write the value itself"),
        ("'2'", "not yet", "without quotation marks"),
        ("1,5", "not yet", "with a decimal point"),
        ("True", "not yet", "A number is asked"),
        ("1e999", "not yet", "Look for"),
        ("9" * 400, "not yet", "A number is asked"),
        ("None", "not answered", "Asked: "),
    ],
)
def test_what_is_no_number_is_told_from_a_wrong_one(given, status, hint, judge):
    said, code = judge("first_room_by_hand", {"first_to_farrow": given})
    assert said["first_to_farrow"]["status"] == status
    assert hint in said["first_to_farrow"]["hint"]
    assert code == EXIT_DIFFERS


def test_an_integer_that_is_too_long_for_a_decimal_number_is_a_wrong_answer(judge):
    said, code = judge("first_room_by_hand", {"eaten_kg_of_sow_1_on_day_5": "9" * 400})
    assert (said["eaten_kg_of_sow_1_on_day_5"]["status"], code) == ("not yet", EXIT_DIFFERS)
    assert "A number is asked" in said["eaten_kg_of_sow_1_on_day_5"]["hint"]


def test_a_number_is_no_answer_to_yes_or_no():
    from farrowtide.teaching.homework import _compared
    from farrowtide.teaching.question import Expected, Question

    question = Question("q", "", "wrong")
    assert _compared(1, question, Expected(True)).status == "not yet"
    assert _compared(True, question, Expected(True)).status == "right"
    assert _compared(True, question, Expected(1)).status == "not yet"


def test_json_has_stable_keys():
    said = json.loads(check(HOMEWORK / "first_room_by_hand.py", "--json").stdout)
    assert list(said) == ["file", "assignment", "right", "questions"]
    assert (said["assignment"], said["right"]) == ("first_room_by_hand", False)
    assert [list(judged) for judged in said["questions"]] == [["name", "status", "hint"]] * 5


def test_a_notebook_and_a_json_object_are_judged_alike(tmp_path):
    right = {name: one.value for name, one in ASSIGNMENTS["first_room_by_hand"].expected().items()}
    notebook = tmp_path / "mine.ipynb"
    cells = jupytext.reads(answered("first_room_by_hand", right), fmt="py:percent")
    cells.cells.append(nbformat.v4.new_code_cell("%matplotlib inline\n!ls"))
    jupytext.write(cells, notebook)
    values = tmp_path / "mine.json"
    values.write_text(json.dumps({"assignment": "first_room_by_hand", **right}), encoding="utf-8")
    assert (check(notebook).exit_code, check(values).exit_code) == (0, 0)
    values.write_text(json.dumps({"assignment": "first_room_by_hand", **right, "first_to_farrow": 7}), encoding="utf-8")
    assert check(values).exit_code == EXIT_DIFFERS


@pytest.mark.parametrize(
    "cell",
    [
        "%matplotlib inline\n!ls",
        "?sows",
        "sows.head?",
        "files = !ls",
        "if True:\n    %time 1",
        "%%bash\necho 'no Python' | (",
        "%%html\n<p>no Python</p>",
        "%%timeit\nfirst_to_farrow = (",
    ],
)
def test_commands_of_jupyter_in_a_notebook_are_passed_over(cell, tmp_path):
    file = tmp_path / "mine.ipynb"
    answers = nbformat.v4.new_code_cell("assignment = 'first_room_by_hand'\nfirst_to_farrow = None")
    nbformat.write(nbformat.v4.new_notebook(cells=[answers, nbformat.v4.new_code_cell(cell)]), file)
    assert check(file).exit_code == EXIT_DIFFERS


@pytest.mark.parametrize(
    ("name", "code"),
    [
        ("mine.py", "rest = (7\n     % 4)\n"),
        ("mine.ipynb", "rest = (7\n     % 4)\n"),
        ("mine.ipynb", "%%time\n"),
        ("mine.ipynb", "%%capture out\n!ls\n"),
    ],
)
def test_python_is_read_whatever_its_lines_begin_with(name, code, tmp_path):
    from farrowtide.teaching.answers import read_answers

    file, code = tmp_path / name, f"{code}answer = 3  # sure?\n"
    if file.suffix == ".ipynb":
        nbformat.write(nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell(code)]), file)
    else:
        file.write_text(code, encoding="utf-8")
    assert read_answers(file).value("answer") == 3


def test_a_damaged_homework_is_not_taken_for_a_file_of_farrowtide(tmp_path):
    for name, content in (("mine.ipynb", "{"), ("other.ipynb", '{"cells": 3}'), ("mine.json", "{")):
        (tmp_path / name).write_text(content, encoding="utf-8")
        said = check(tmp_path / name).stderr
        assert "`farrowtide lessons`" in said
        assert "by hand" not in said


def test_the_last_assignment_counts(tmp_path):
    file = tmp_path / "mine.py"
    file.write_text(answered("first_room_by_hand", {"weaned_in_the_room": "None\nweaned_in_the_room: int = 3"}))
    assert "weaned_in_the_room: not yet" in check(file).stdout


def test_nothing_in_a_homework_is_run(tmp_path):
    trap, file = tmp_path / "sprung", tmp_path / "mine.py"
    touch = f"__import__('pathlib').Path({str(trap)!r}).touch()"
    file.write_text(f"{answered('first_room_by_hand', {'first_to_farrow': touch})}\n{touch}\nassert False\n")
    done = check(file)
    assert done.exit_code == EXIT_DIFFERS
    assert "first_to_farrow: not answered. Write the value itself" in done.stdout
    assert not trap.exists()


@pytest.mark.parametrize(
    ("name", "content", "problem"),
    [
        ("lesson.py", b"x = 1\n", "is no homework: it assigns none of 'first_room_by_hand'"),
        ("other.py", b"assignment = 'first_rom_by_hand'\n", "Did you mean 'first_room_by_hand'?"),
        ("number.py", b"assignment = 7\n", "is no homework"),
        ("computed.py", b"assignment = ''.join(['a'])\n", "is no homework"),
        ("empty.py", b"", "is no homework"),
        ("binary.py", bytes(range(256)), "is not UTF-8 text, so this is no homework"),
        ("nul.py", b"assignment = 'a\0b'\n", "this is not Python"),
        ("broken.py", b"# %%\nx = 1\n\n# %%\ny = (2\n", r"broken.py:5:5: this is not Python"),
        ("deep.py", b"x = " + b"(" * 5000 + b")" * 5000, "this is not Python"),
        ("list.json", b"[1]", "is not a JSON object"),
        ("broken.json", b"{", "is not JSON"),
        ("text.ipynb", b"no notebook", "is not JSON"),
        ("other.ipynb", b'{"cells": 3}', "cells: "),
        ("broken.ipynb", b'{"cells": [{"cell_type": "code", "source": ["a = 1\\n", "b = )"]}]}', "cell 1:2:5: this is"),
    ],
)
def test_what_is_no_homework_is_an_error_of_the_user(name, content, problem, tmp_path):
    file = tmp_path / name
    file.write_bytes(content)
    done = check(file)
    assert done.exit_code == EXIT_MISTAKE
    assert problem in done.stderr
    assert "Traceback" not in done.stderr


def test_a_missing_file_is_an_error_of_the_user(tmp_path):
    assert check(tmp_path / "none.py").exit_code == EXIT_MISTAKE
    with pytest.raises(farrowtide.UserError, match="Can't read the file"):
        farrowtide.check_homework(tmp_path / "none.py")


@pytest.mark.parametrize("assignment", ASSIGNMENTS)
def test_the_teachers_note_holds_what_is_expected(assignment):
    told = dict(re.findall(r"^\| `(\w+)` \| ([^|]+?) \|", NOTE.read_text(encoding="utf-8"), re.MULTILINE))
    expected = farrowtide.check_homework(HOMEWORK / f"{assignment}.py").expected
    questions = ASSIGNMENTS[assignment].questions
    assert list(expected) == [question.name for question in questions]
    for question in questions:
        value = told[question.name]
        if isinstance(expected[question.name], bool):
            assert value == str(expected[question.name])
        else:
            assert abs(float(value) - expected[question.name]) <= question.within

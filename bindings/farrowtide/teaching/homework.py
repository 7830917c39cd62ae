"""Homework is judged: each answer against what the model gives today. No hint holds an answer."""

from __future__ import annotations

import os
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

from farrowtide.errors import UserError, quoted, unknown_name
from farrowtide.teaching.answers import Answers, NoValueError, read_answers
from farrowtide.teaching.assignments import ASSIGNMENTS, Assignment
from farrowtide.teaching.question import Expected, Question, Value

RIGHT, NOT_YET, NOT_ANSWERED = "right", "not yet", "not answered"
_HOLDER = "assignment"  # the name to which a file assigns which homework it is
_COMPUTED = "Write the value itself, such as 12.5: nothing in your file is run."
_NO_NUMBER = "A number is asked, with a decimal point, and without quotation marks or a unit."
_NO_YES_OR_NO = "True or False is asked, without quotation marks."


@dataclass(frozen=True)
class Judged:
    """One answer: its name in the file, what became of it, and a hint unless it is right."""

    name: str
    status: str
    hint: str


@dataclass(frozen=True)
class Homework:
    """A student's homework, judged."""

    file: Path
    assignment: str
    questions: tuple[Judged, ...]

    @property
    def right(self) -> bool:
        """Whether every answer is right."""
        return all(judged.status == RIGHT for judged in self.questions)

    @cached_property
    def expected(self) -> dict[str, Value]:
        """For the teacher: the answer to each question, as the model gives it."""
        return {name: expected.value for name, expected in ASSIGNMENTS[self.assignment].expected().items()}

    def in_plain_values(self) -> dict[str, Any]:
        """As JSON holds it, without what is expected."""
        return {
            "file": str(self.file),
            "assignment": self.assignment,
            "right": self.right,
            "questions": [vars(judged) for judged in self.questions],
        }


def check_homework(file: str | os.PathLike[str]) -> Homework:
    """Judges the homework in a file: a percent file (.py), a notebook (.ipynb), or a JSON object of answers (.json).

    Nothing in the file is run: the answers are read as values. Raises UserError where it is no homework.
    """
    path = Path(file)
    answers = read_answers(path)
    name = _assignment_in(answers, path)
    return Homework(path, name, tuple(_judge(answers, ASSIGNMENTS[name])))


def _assignment_in(answers: Answers, path: Path) -> str:
    try:
        name = answers.value(_HOLDER)
    except NoValueError:
        name = None
    if not isinstance(name, str):
        raise UserError(
            f"{path}: is no homework: it assigns none of {quoted(ASSIGNMENTS)} to `{_HOLDER}`, as the files do that "
            "`farrowtide lessons` writes"
        )
    if name not in ASSIGNMENTS:
        raise UserError(f"{path}: {unknown_name('assignment', name, ASSIGNMENTS)}")
    return name


def _judge(answers: Answers, assignment: Assignment) -> list[Judged]:
    """Simulates only where there is an answer to judge."""
    judged = [_unanswered(answers, question) for question in assignment.questions]
    if all(judged):
        return [one for one in judged if one]
    expected = assignment.expected()
    return [
        unanswered or _compared(answers.value(question.name), question, expected[question.name])
        for unanswered, question in zip(judged, assignment.questions, strict=True)
    ]


def _unanswered(answers: Answers, question: Question) -> Judged | None:
    try:
        given = answers.value(question.name)
    except NoValueError:
        return Judged(question.name, NOT_ANSWERED, _COMPUTED)
    return Judged(question.name, NOT_ANSWERED, f"Asked: {question.asks}.") if given is None else None


def _compared(given: object, question: Question, expected: Expected) -> Judged:
    of_truth = isinstance(expected.value, bool)
    if of_truth != isinstance(given, bool) or not isinstance(given, (int, float)):
        return Judged(question.name, NOT_YET, _NO_YES_OR_NO if of_truth else _NO_NUMBER)
    try:
        number = float(given)
    except OverflowError:  # an integer of hundreds of digits
        return Judged(question.name, NOT_YET, _NO_NUMBER)
    if abs(number - expected.value) <= question.within:
        return Judged(question.name, RIGHT, "")
    for hint, slip in expected.slips.items():
        if abs(number - slip) <= question.within:
            return Judged(question.name, NOT_YET, hint)
    return Judged(question.name, NOT_YET, question.hint)

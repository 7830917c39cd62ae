"""The assignments: the questions of each homework, and their answers as the model gives them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache

from farrowtide.teaching.assignments import (
    feeding_frequency,
    first_room_by_hand,
    fostering_limits,
    one_replication_and_peeking,
)
from farrowtide.teaching.question import Expected, Question


@dataclass(frozen=True)
class Assignment:
    """The questions of a homework, and what simulates their answers."""

    questions: tuple[Question, ...]
    expected: Callable[[], dict[str, Expected]]


ASSIGNMENTS = {
    module.__name__.rpartition(".")[2]: Assignment(module.QUESTIONS, cache(module.expected))
    for module in (first_room_by_hand, feeding_frequency, fostering_limits, one_replication_and_peeking)
}

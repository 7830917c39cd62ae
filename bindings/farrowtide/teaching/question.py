"""A question of homework, and the answer to it."""

from __future__ import annotations

from dataclasses import dataclass, field

Value = int | float | bool


@dataclass(frozen=True)
class Question:
    """What is asked under this name in the file, and what helps who did not find it.

    `within`: how far a number may be from the expected one; 0: not at all.
    """

    name: str
    asks: str
    hint: str
    within: float = 0


@dataclass(frozen=True)
class Expected:
    """The answer as the model gives it, and usual wrong ones, each under the hint that helps with it."""

    value: Value
    slips: dict[str, Value] = field(default_factory=dict)

"""The facts of the same sow under two policies, one beside the other."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from farrowtide.analysis.story.facts import Fact


@dataclass(frozen=True)
class Pair:
    """The same thing under both policies; None where nothing of the kind happened."""

    own: Fact | None
    other: Fact | None

    @property
    def time_h(self) -> float:
        """When it happened, or where only one has it, when it happened there."""
        return (self.own or self._other).time_h

    @property
    def _other(self) -> Fact:
        if self.other is None:
            raise AssertionError("a pair without facts")
        return self.other


def paired(own: Iterable[Fact], other: Iterable[Fact]) -> list[Pair]:
    """Facts with the same key as pairs, in order of time."""
    left, right = _by_key(own), _by_key(other)
    pairs = [Pair(left.get(key), right.get(key)) for key in {**left, **right}]
    return sorted(pairs, key=lambda pair: pair.time_h)


def _by_key(facts: Iterable[Fact]) -> dict[tuple[Any, ...], Fact]:
    """Facts by key; what happens again has the number of its occurrence with it."""
    found: dict[tuple[Any, ...], Fact] = {}
    for fact in facts:
        occurrence = 0
        while (*fact.key, occurrence) in found:
            occurrence += 1
        found[(*fact.key, occurrence)] = fact
    return found

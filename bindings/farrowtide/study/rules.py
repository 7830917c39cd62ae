"""Rules that decide after each round which arms of a study go on: all of them, or all until they are precise enough."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Protocol

import pyarrow as pa

from farrowtide.errors import UserError
from farrowtide.outputs.catalogue import catalogue
from farrowtide.outputs.output import tiny_differences
from farrowtide.statistics.paired import PairedMoments
from farrowtide.study import stopping
from farrowtide.study.blocks import Arm, outputs_of
from farrowtide.study.plan import Plan


class Rule(Protocol):
    """Sees the tables of every round, in order."""

    eliminates: bool  # arms may end before others, so that a round cannot be run before the last one has been seen
    counts_rounds: bool  # decisions depend on the size of the rounds

    def see(self, tables: Sequence[pa.Table]) -> None:
        """Takes in the tables of a round, one per arm that went on."""

    def going_on(self) -> Sequence[Arm]:
        """The arms of the next round; none where the study is over."""

    def expected_rooms(self) -> int:
        """Rooms in all, as far as is known."""

    def status(self) -> str:
        """What is known so far, to show beside the progress bar."""


class AllRooms:
    """Every arm runs all replications that are wanted."""

    eliminates = False
    counts_rounds = False

    def __init__(self, plan: Plan) -> None:
        self._plan = plan

    def see(self, tables: Sequence[pa.Table]) -> None:
        pass

    def going_on(self) -> Sequence[Arm]:
        return self._plan.arms

    def expected_rooms(self) -> int:
        return self._plan.wanted * len(self._plan.arms)

    def status(self) -> str:
        return ""


class UntilPrecise:
    """All arms go on until the paired differences are as precise as the plan asks for."""

    eliminates = False
    counts_rounds = True

    def __init__(self, plan: Plan) -> None:
        self._plan = plan
        targets = [catalogue(plan.scenario.prices)[name] for name in plan.precision]
        least = max(stopping.LEAST, *(output.floor.rooms for output in targets))
        self._precision = stopping.Precision(plan.precision, least=least)
        tiny = tiny_differences(targets, plan.litters_per_replication)
        self._paired = PairedMoments(plan.cases, plan.names, plan.reference, list(plan.precision), tiny)
        self.reached: stopping.Reached | None = None

    def see(self, tables: Sequence[pa.Table]) -> None:
        self._paired.add(outputs_of(tables))
        self.reached = self._precision.after(self._paired)
        fewest = self._paired.moments.n.min(axis=(0, 1))
        without = [name for name, count in zip(self._paired.outputs, fewest, strict=True) if count < 2]
        if without and self.reached.replications >= stopping.LEAST:
            raise UserError(f"{without[0]}: too few rooms have a value to reach a precision in it")

    def going_on(self) -> Sequence[Arm]:
        return [] if self.reached and self.reached.ends else self._plan.arms

    def expected_rooms(self) -> int:
        expected = (self.reached and self.reached.expected_end) or self._plan.wanted
        return min(expected, self._plan.wanted) * len(self._plan.arms)

    def status(self) -> str:
        """The precision so far and the target."""
        if self.reached is None:
            return ""
        outputs = catalogue(self._plan.scenario.prices)
        widths = self.reached.half_widths
        return ", ".join(
            f"{outputs[name].label.lower()} "
            + (
                f"not known yet, {target:g} asked"
                if math.isnan(widths[name])
                else f"\N{PLUS-MINUS SIGN}{widths[name]:.2g} of {target:g}"
            )
            for name, target in self._plan.precision.items()
        )

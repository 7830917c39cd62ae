"""A plan carried out, round by round, until all is run or precise enough."""

from __future__ import annotations

import math
import os
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Executor
from contextlib import closing, nullcontext

import pyarrow as pa

from farrowtide.errors import UserError
from farrowtide.outputs.catalogue import catalogue
from farrowtide.statistics.paired import PairedMoments
from farrowtide.study import execution, stopping
from farrowtide.study.blocks import REPLICATES, outputs_of
from farrowtide.study.folder import StudyFolder
from farrowtide.study.plan import Plan

Progress = Callable[[int, int, str], None]  # rooms done, rooms expected, what more there is to say


class Watch:
    """Looks at the paired differences after each round, and stops the study when they are precise enough."""

    def __init__(self, plan: Plan) -> None:
        self._plan = plan
        self._rule = stopping.Precision(plan.precision)
        self._paired = PairedMoments(plan.cases, plan.names, plan.reference, list(plan.precision))
        self.reached: stopping.Reached | None = None

    def after(self, tables: Sequence[pa.Table]) -> bool:
        """Whether to stop after this round."""
        self._paired.add(outputs_of(tables))
        self.reached = self._rule.after(self._paired)
        unknown = [name for name, half_width in self.reached.half_widths.items() if math.isnan(half_width)]
        if unknown and self.reached.replications >= stopping.LEAST:
            raise UserError(f"{unknown[0]}: hardly any room has a value, so that no precision can be asked of it")
        return self.reached.stop

    def expected(self) -> int:
        """Replications in all, by the spread so far."""
        known = self.reached and self.reached.expected_end
        return min(known or self._plan.wanted, self._plan.wanted)

    def said(self) -> str:
        """The precision so far, and the one asked for."""
        if self.reached is None:
            return ""
        known = catalogue()
        return ", ".join(
            f"{known[name].label.lower()} \N{PLUS-MINUS SIGN}{self.reached.half_widths[name]:.2g} of {asked:g}"
            for name, asked in self._plan.precision.items()
        )


class Course:
    """A plan being carried out. What carries it out, and the folder that keeps it, change no number.

    `threads` of the engine where there is no `executor` (0: all the machine has). Raises UserError where `folder` holds
    something else than this study, or this study without `resume`.
    """

    def __init__(
        self,
        plan: Plan,
        *,
        threads: int = 0,
        executor: Executor | None = None,
        folder: str | os.PathLike[str] | None = None,
        resume: bool = False,
    ) -> None:
        self._plan = plan
        self._threads = threads
        self._executor = executor
        self.folder = None if folder is None else StudyFolder(folder, plan.identity(), resume=resume)
        self._watch = Watch(plan) if plan.precision else None

    @property
    def reached(self) -> stopping.Reached | None:
        """The precision so far, where one is asked for."""
        return self._watch and self._watch.reached

    def rounds(self, *, progress: Progress | None = None, replicates: int | None = None) -> Iterator[list[pa.Table]]:
        """The tables of each round, a table for each room of the plan, until all are run or precise enough.

        `replicates` of a round; None: as suits what carries it out.
        """
        done, kept = 0, 0

        def tell(more: int) -> None:
            nonlocal done
            done += more
            if progress is not None:
                expected, said = self._expected()
                progress(done, max(done, expected * len(self._plan.rooms)), said)

        blocks = (block for round_ in self._plan.rounds(replicates or self._replicates()) for block in round_)
        running = execution.tables_of(
            blocks, executor=self._executor, threads=self._threads, folder=self.folder, tell=tell
        )
        here: list[pa.Table] = []
        with self.folder.open() if self.folder else nullcontext(), closing(running):
            for _, table in running:
                here.append(table)
                if len(here) < len(self._plan.rooms):
                    continue
                kept += table.num_rows
                yield here
                if self._watch and self._watch.after(here):
                    break
                here = []
            if self.folder:
                self.folder.take_back_from(kept)

    def _expected(self) -> tuple[int, str]:
        return (self._watch.expected(), self._watch.said()) if self._watch else (self._plan.wanted, "")

    def _replicates(self) -> int:
        """Where neither a file nor the rule that stops sees the rounds, enough for all threads of the engine."""
        if self._watch or self._executor or self.folder:
            return REPLICATES
        return max(REPLICATES, 4 * (self._threads or os.cpu_count() or 1))

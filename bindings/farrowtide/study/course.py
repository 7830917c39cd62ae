"""Carries out a plan, round by round, until its rule says that the study is over."""

from __future__ import annotations

import os
from collections.abc import Callable, Generator, Iterable
from concurrent.futures import Executor
from contextlib import closing, nullcontext
from itertools import chain, islice, tee
from typing import TypeVar

import pyarrow as pa

from farrowtide.engine.result import Interrupted
from farrowtide.errors import InternalError, PlausibilityWarning, emit
from farrowtide.limits import require_whole
from farrowtide.study import execution, stopping
from farrowtide.study.blocks import REPLICATES, Block
from farrowtide.study.folder import StudyFolder
from farrowtide.study.plan import Plan
from farrowtide.study.rules import AllRooms, Rule, UntilPrecise
from farrowtide.study.watch import Watch

Progress = Callable[[int, int, str], None]  # rooms done, rooms expected, what is known so far
RoomCount = Callable[[int, int], None]  # rooms done, rooms expected
Round = list[pa.Table]  # one table per arm
Rounds = Generator[Round, None, None]
Outcome = TypeVar("Outcome")


class Course:
    """A plan being carried out, the same for every verb. Neither what runs it nor its folder changes a number.

    `threads` of the engine where there is no `executor` (0: all that the machine has). `rule`: which arms go on after
    each round; None: all, until they are precise enough where the plan asks for a precision. `watch`: what is said of
    its rooms; None: all that there is to say. `asked`: a text that the folder keeps, of the question that the study is
    to answer. If not `simulates`, every room must be in the `folder` already. Raises UserError where
    `folder` holds anything but this study, or this study without `resume`.
    """

    def __init__(
        self,
        plan: Plan,
        *,
        threads: int = 0,
        executor: Executor | None = None,
        folder: str | os.PathLike[str] | None = None,
        resume: bool = False,
        rule: Rule | None = None,
        watch: Watch | None = None,
        asked: str | None = None,
        simulates: bool = True,
    ) -> None:
        require_whole("threads", threads, 0)
        if not simulates and folder is None:
            raise ValueError("rooms that are not simulated must come from a folder")
        self._plan = plan
        self._threads = threads
        self._executor = executor
        self.watch = watch or Watch(plan)
        self._rule = rule or (UntilPrecise(plan) if plan.precision else AllRooms(plan))
        self.folder = None if folder is None else StudyFolder(folder, plan, resume=resume, asked=asked)
        self._simulates = simulates

    @property
    def reached(self) -> stopping.Reached | None:
        """The precision so far, where the plan asks for one."""
        return self._rule.reached if isinstance(self._rule, UntilPrecise) else None

    def carry_out(
        self,
        take: Callable[[Round], None],
        result: Callable[[bool], Outcome],
        *,
        progress: Progress | None = None,
        replicates: int | None = None,
    ) -> Outcome:
        """Hands every round to `take` and returns `result(False)`.

        On Ctrl-C it raises Interrupted, whose `finished` is `result(True)`, or None where no round is complete.
        `replicates`: the size of a round; None: as suits what runs it. Issues warnings about the scenarios before, and
        about the results after it. Raises InternalError where every room broke off.
        """
        emit(self._plan.warnings)
        complete = False
        try:
            for tables in self._rounds(progress, replicates or self._replicates()):
                self.watch.add(tables)
                take(tables)
                complete = True
        except KeyboardInterrupt:
            folder = self.folder.path if self.folder else None
            raise Interrupted(result(True) if complete else None, folder) from None
        if self.watch.nothing_left:
            raise InternalError(f"every room broke off: {self.watch.set_aside()[0]['fault']}")
        finished = result(False)
        emit(self.watch.warnings(), finished=finished)
        return finished

    def warnings(self) -> list[PlausibilityWarning]:
        """About the scenarios and about the results so far."""
        return [*self._plan.warnings, *self.watch.warnings()]

    def _rounds(self, progress: Progress | None, replicates: int) -> Rounds:
        rooms = replications = 0

        def report(more: int) -> None:
            nonlocal rooms
            rooms += more
            if progress is not None:
                progress(rooms, max(rooms, self._rule.expected_rooms()), self._rule.status())

        with self.folder.open() if self.folder else nullcontext(), closing(self._run(replicates, report)) as rounds:
            for tables in rounds:
                replications += tables[0].num_rows
                self._rule.see(tables)
                yield tables
                if not self._rule.going_on():
                    break
            if self.folder:
                self.folder.remove_from(replications)

    def _run(self, replicates: int, report: execution.Report) -> Rounds:
        rounds = self._plan.rounds(replicates)
        if not self._rule.eliminates:
            yield from self._in_turn(rounds, report)
            return
        for blocks in rounds:
            arms = self._rule.going_on()
            yield from self._in_turn([[block for block in blocks if block.arm in arms]], report)

    def _in_turn(self, rounds: Iterable[list[Block]], report: execution.Report) -> Rounds:
        """The tables of each round, in order; workers may be ahead."""
        to_run, to_hand_on = tee(rounds)
        to_run_in_turn = chain.from_iterable(to_run)
        if self.folder and not self._simulates:
            tables = execution.finished_in(self.folder, to_run_in_turn, report)
        else:
            tables = execution.tables_of(
                to_run_in_turn,
                executor=self._executor,
                threads=self._threads,
                folder=self.folder,
                report=report,
            )
        with closing(tables):
            for blocks in to_hand_on:
                yield list(islice(tables, len(blocks)))

    def _replicates(self) -> int:
        """Enough for all threads of the engine, where nothing depends on the size of the rounds."""
        if self._rule.counts_rounds or self._executor or self.folder:
            return REPLICATES
        return max(REPLICATES, 4 * (self._threads or os.cpu_count() or 1))


def counting_rooms(progress: RoomCount | None) -> Progress | None:
    """The progress of a course for a caller that only wants to know the number of rooms."""
    if progress is None:
        return None

    def report(done: int, expected: int, _: str) -> None:
        progress(done, expected)

    return report

"""Runs blocks on the engine's own threads or on any `concurrent.futures` executor, and hands them on in order."""

from __future__ import annotations

import os
from collections import deque
from collections.abc import Callable, Generator, Iterable
from concurrent.futures import FIRST_COMPLETED, BrokenExecutor, Executor, Future, ThreadPoolExecutor, wait
from dataclasses import dataclass
from itertools import islice

import pyarrow as pa

from farrowtide.errors import UserError
from farrowtide.study.blocks import Block, rooms_of, simulate, table_of
from farrowtide.study.folder import StudyFolder

Report = Callable[[int], None]  # replicates done since the last call
Tables = Generator[pa.Table, None, None]


class UnfinishedError(UserError):
    """A block that is to be in a folder is not."""


def tables_of(
    blocks: Iterable[Block],
    *,
    executor: Executor | None,
    threads: int,
    folder: StudyFolder | None,
    report: Report,
) -> Tables:
    """The table of each block, in the order of the blocks, whatever order they are done in.

    Without an executor, one block after the other runs on `threads` threads of the engine (0: all that the machine
    has), and each is measured while the next one runs. Blocks that are finished in the folder are read; the others are
    written to it as they are done. Close the generator to stop.
    """
    if executor is None:
        return _one_after_the_other(blocks, threads, folder, report)
    return _on(executor, blocks, folder, report)


def finished_in(folder: StudyFolder, blocks: Iterable[Block], report: Report) -> Tables:
    """The table of each block, in order, from the folder alone. Raises UnfinishedError at the first that is not there."""
    for block in blocks:
        table = folder.read(block)
        if table is None:
            raise UnfinishedError(
                f"{folder.path}: the study is unfinished: replicates {block.first} to {block.first + block.count - 1} of "
                f"'{block.arm.alternative}' in '{block.arm.case}' are missing or damaged"
            )
        report(block.count)
        yield table


def _one_after_the_other(blocks: Iterable[Block], threads: int, folder: StudyFolder | None, report: Report) -> Tables:
    """Simulates a block while the one before it is measured. What was simulated before a stop is still handed on."""
    before: _Entry | None = None
    stopped_by: BaseException | None = None
    with ThreadPoolExecutor(1) as measuring:
        for block in blocks:
            try:
                entry = _begun(block, measuring, threads, folder, report)
            except (KeyboardInterrupt, Exception) as error:
                stopped_by = error
                break
            if before is not None:
                yield _finished(before, folder)
            before = entry
        if before is not None:
            yield _finished(before, folder)
        if stopped_by is not None:
            raise stopped_by


def _begun(block: Block, measuring: Executor, threads: int, folder: StudyFolder | None, report: Report) -> _Entry:
    """A block that was read from the folder, or is simulated and being measured."""
    table = folder.read(block) if folder else None
    if table is not None:
        report(block.count)
        return _Entry(block, None, table)
    rooms = rooms_of(block, threads=threads, progress=_since_last(report))
    return _Entry(block, measuring.submit(table_of, rooms, block), None)


def _finished(entry: _Entry, folder: StudyFolder | None) -> pa.Table:
    """The table of an entry; it is written to the folder unless it was read there."""
    if entry.table is None:
        assert entry.future is not None
        entry.table = entry.future.result()
        if folder:
            folder.write(entry.block, entry.table)
    return entry.table


def _since_last(report: Report) -> Report:
    """Takes the number done so far, as the engine counts, and reports by how much it has grown."""
    reported = 0

    def more(done: int) -> None:
        nonlocal reported
        report(done - reported)
        reported = done

    return more


@dataclass
class _Entry:
    """A block in line; its table once it is done."""

    block: Block
    future: Future[pa.Table] | None
    table: pa.Table | None


def _on(executor: Executor, blocks: Iterable[Block], folder: StudyFolder | None, report: Report) -> Tables:
    """Keeps every worker busy with a few blocks ahead; those that are not done are lost when it is stopped."""
    ahead = 2 * (getattr(executor, "_max_workers", None) or os.cpu_count() or 1)
    waiting = iter(blocks)
    line: deque[_Entry] = deque()
    try:
        while True:
            for block in islice(waiting, ahead - len(line)):
                table = folder.read(block) if folder else None
                line.append(_Entry(block, executor.submit(simulate, block) if table is None else None, table))
                report(0 if table is None else block.count)
            if not line:
                return
            _take_what_is_done(line, folder, report)
            while line and line[0].table is not None:
                yield line.popleft().table
    finally:
        for entry in line:
            if entry.future is not None:
                entry.future.cancel()


def _take_what_is_done(line: deque[_Entry], folder: StudyFolder | None, report: Report) -> None:
    """Waits for one that runs, unless the first in line can be handed on already."""
    running = {entry.future: entry for entry in line if entry.future is not None and entry.table is None}
    if not running:
        return
    done, _ = wait(running, timeout=None if line[0].table is None else 0, return_when=FIRST_COMPLETED)
    for future, entry in running.items():
        if future not in done:
            continue
        try:
            _finished(entry, folder)
        except BrokenExecutor:
            raise UserError("a worker process died (out of memory?); a study folder keeps finished blocks") from None
        report(entry.block.count)

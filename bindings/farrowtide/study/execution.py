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
    has), while the one before is measured. Blocks that are finished in the folder are read; the others are written to it as they are done. Close the
    generator to stop.
    """
    if executor is None:
        return _one_after_the_other(blocks, threads, folder, report)
    return _on(executor, blocks, folder, report)


def _one_after_the_other(blocks: Iterable[Block], threads: int, folder: StudyFolder | None, report: Report) -> Tables:
    line: deque[_Entry] = deque()
    with ThreadPoolExecutor(1) as measuring:
        try:
            for block in blocks:
                table = folder.read(block) if folder else None
                if table is None:
                    rooms = rooms_of(block, threads=threads, progress=_since_last(report))
                    line.append(_Entry(block, measuring.submit(table_of, rooms, block), None))
                else:
                    line.append(_Entry(block, None, table))
                    report(block.count)
                if len(line) > 1:
                    yield _measured(line.popleft(), folder)
            while line:
                yield _measured(line.popleft(), folder)
        except (KeyboardInterrupt, Exception):
            while line:  # finished before the stop
                yield _measured(line.popleft(), folder)
            raise


def _measured(entry: _Entry, folder: StudyFolder | None) -> pa.Table:
    if entry.future is not None:
        entry.table = entry.future.result()
        if folder:
            folder.write(entry.block, entry.table)
    assert entry.table is not None
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
            entry.table = future.result()
        except BrokenExecutor:
            raise UserError("a worker process died (out of memory?); a study folder keeps finished blocks") from None
        if folder:
            folder.write(entry.block, entry.table)
        report(entry.block.count)

"""Runs blocks on the engine's own threads or on any `concurrent.futures` executor, and hands them on in order."""

from __future__ import annotations

import os
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import FIRST_COMPLETED, BrokenExecutor, Executor, Future, wait
from dataclasses import dataclass
from itertools import islice

import pyarrow as pa

from farrowtide.errors import UserError
from farrowtide.study.blocks import Block, simulate
from farrowtide.study.folder import StudyFolder

Tell = Callable[[int], None]  # replicates done since the last call


def tables_of(
    blocks: Iterable[Block],
    *,
    executor: Executor | None = None,
    threads: int = 0,
    folder: StudyFolder | None = None,
    tell: Tell | None = None,
) -> Iterator[tuple[Block, pa.Table]]:
    """Each block with its table, in the order of the blocks, whatever order they are done in.

    Without an executor, one block after the other runs on `threads` threads of the engine (0: all the machine has). A
    folder's finished blocks are read, the others are written as they are done. Close the iterator to stop.
    """
    tell = tell or (lambda _: None)
    if executor is None:
        yield from _one_after_the_other(blocks, threads, folder, tell)
    else:
        yield from _on(executor, blocks, folder, tell)


def _one_after_the_other(
    blocks: Iterable[Block], threads: int, folder: StudyFolder | None, tell: Tell
) -> Iterator[tuple[Block, pa.Table]]:
    for block in blocks:
        table = folder.read(block) if folder else None
        if table is None:
            table = simulate(block, threads=threads, progress=_since_last(tell))
            if folder:
                folder.write(block, table)
        else:
            tell(block.count)
        yield block, table


def _since_last(tell: Tell) -> Tell:
    """The engine tells how many are done; on its last call, all."""
    told = 0

    def more(done: int) -> None:
        nonlocal told
        tell(done - told)
        told = done

    return more


@dataclass
class _InLine:
    block: Block
    future: Future[pa.Table] | None
    table: pa.Table | None


def _on(
    executor: Executor, blocks: Iterable[Block], folder: StudyFolder | None, tell: Tell
) -> Iterator[tuple[Block, pa.Table]]:
    """Keeps every worker busy with a few blocks ahead; those not done are lost when it is stopped."""
    ahead = 2 * (getattr(executor, "_max_workers", None) or os.cpu_count() or 1)
    coming = iter(blocks)
    line: deque[_InLine] = deque()
    try:
        while True:
            for block in islice(coming, ahead - len(line)):
                table = folder.read(block) if folder else None
                line.append(_InLine(block, executor.submit(simulate, block) if table is None else None, table))
                tell(0 if table is None else block.count)
            if not line:
                return
            _take_what_is_done(line, folder, tell)
            while line and line[0].table is not None:
                first = line.popleft()
                yield first.block, first.table
    finally:
        for left in line:
            if left.future is not None:
                left.future.cancel()


def _take_what_is_done(line: deque[_InLine], folder: StudyFolder | None, tell: Tell) -> None:
    """Waits for one that runs, unless the first in line can be handed on already."""
    running = {entry.future: entry for entry in line if entry.table is None}
    if not running:
        return
    done, _ = wait(running, timeout=None if line[0].table is None else 0, return_when=FIRST_COMPLETED)
    for entry in (running[future] for future in running if future in done):
        try:
            entry.table = entry.future.result()
        except BrokenExecutor:
            raise UserError("a worker died (out of memory?); finished blocks of a study are kept") from None
        if folder:
            folder.write(entry.block, entry.table)
        tell(entry.block.count)

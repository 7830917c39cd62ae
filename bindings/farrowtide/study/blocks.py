"""Blocks of replicates: the unit of work of a study, the same on every executor, and the table that is kept of each.

A block's table has one row for each replicate: `case`, `alternative`, `replicate`, every declared output, and what the
report draws as lists: `intake_days`, `farrowings`, `task_counts`, `staff_hours`. It is what a study folder holds, one
Parquet file a block.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
import pyarrow as pa

from farrowtide.engine.result import Result
from farrowtide.engine.running import run
from farrowtide.outputs.summaries import hours_in_use, intake_days, task_counts
from farrowtide.scenarios.scenario import Scenario

REPLICATES = 20  # of a block, whatever runs it: so that files, and the rule that stops, are the same everywhere
NESTED = ("intake_days", "farrowings", "task_counts", "staff_hours")
_RECORDED = ("sow_days", "tasks", "rooms")
_CHECKS = b"conservation_checks_passed"


@dataclass(frozen=True)
class Block:
    """Consecutive replicates of one alternative in one case."""

    case: str
    alternative: str
    scenario: Scenario
    seed: int
    first: int
    count: int


def simulate(block: Block, *, threads: int = 1, progress: Callable[[int], None] | None = None) -> pa.Table:
    """Runs a block; `threads` and `progress` as in `run`. The table does not depend on where and how it is run."""
    result = run(
        block.scenario,
        replications=block.count,
        first_replicate=block.first,
        seed=block.seed,
        threads=threads,
        record=_RECORDED,
        progress=progress,
    )
    return _kept(result, block)


def _kept(result: Result, block: Block) -> pa.Table:
    """What is kept of a block; its other tables go."""
    outputs = result.outputs.reset_index()
    labels = {name: [getattr(block, name)] * len(outputs) for name in ("case", "alternative")}
    rows = {
        "intake_days": intake_days(result.sow_days),
        "farrowings": result.sows[["replicate", "sow", "parity", "farrowing_duration_min"]],
        "task_counts": task_counts(result.tasks),
        "staff_hours": hours_in_use(result.work_hours, result.duty_hours),
    }
    nested = {name: _nested(rows[name], outputs["replicate"].to_numpy()) for name in NESTED}
    flat = pa.Table.from_pandas(outputs, preserve_index=False)
    columns = labels | dict(zip(flat.column_names, flat.columns, strict=True)) | nested
    return pa.table(columns).replace_schema_metadata({_CHECKS: str(result.checks)})


def _nested(rows: pd.DataFrame, replicates: np.ndarray) -> pa.ListArray:
    """The rows of each replicate as one list of structs."""
    rows = rows.sort_values("replicate", kind="stable")
    ends = np.searchsorted(rows["replicate"], replicates, side="right")
    inner = pa.Table.from_pandas(rows.drop(columns="replicate"), preserve_index=False)
    plain = [column.cast(pa.string()) if pa.types.is_dictionary(column.type) else column for column in inner.columns]
    structs = pa.StructArray.from_arrays([column.combine_chunks() for column in plain], inner.column_names)
    return pa.ListArray.from_arrays(pa.array([0, *ends], pa.int32()), structs)


def checks(table: pa.Table) -> int:
    """Checks of conservation laws made in a block, all passed."""
    return int(table.schema.metadata[_CHECKS])


def outputs_of(tables: Sequence[pa.Table]) -> pd.DataFrame:
    """Case, alternative, replicate and every output, in the order of the tables."""
    flat = [table.drop_columns(list(NESTED)) for table in tables]
    return pa.concat_tables(flat).to_pandas().astype({"case": object, "alternative": object})


def rows_of(tables: Sequence[pa.Table], name: str) -> pd.DataFrame:
    """One of NESTED with case, alternative and replicate on each row."""
    column = pa.concat_tables(tables).column(name).combine_chunks()
    lists = column.chunk(0) if isinstance(column, pa.ChunkedArray) else column
    lengths = np.diff(lists.offsets.to_numpy())
    labels = pa.concat_tables([table.select(["case", "alternative", "replicate"]) for table in tables]).to_pandas()
    repeated = labels.loc[labels.index.repeat(lengths)].reset_index(drop=True)
    structs = lists.flatten()
    inner = pa.Table.from_arrays(structs.flatten(), [field.name for field in structs.type]).to_pandas()
    return pd.concat([repeated, inner], axis="columns").astype({"case": object, "alternative": object})

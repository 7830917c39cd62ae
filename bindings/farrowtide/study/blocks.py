"""Blocks of replicates: the unit of work of a study, the same on every executor, and the table that is kept of each.

A block's table has one row per replicate: the labels of its arm, `replicate`, every declared output, and each table
that the plan keeps as one list of structs. A study folder holds one Parquet file per block.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
import pandas as pd
import pyarrow as pa

from farrowtide import _core
from farrowtide.engine.result import Result
from farrowtide.engine.running import simulate_replicates
from farrowtide.outputs.catalogue import measure
from farrowtide.outputs.plausibility.observed import Observed
from farrowtide.outputs.rooms import Columns
from farrowtide.outputs.summaries import (
    farrowings,
    hours_in_use_of,
    intake_days,
    room_days,
    sows_that_farrowed,
    task_counts_of,
)
from farrowtide.scenarios.scenario import Scenario, load

REPLICATES = 20  # per block on every executor, so that files and stopping rules do not depend on it
REPORT_TABLES = ("intake_days", "farrowings", "task_counts", "staff_hours", "room_days")
_TABLES: dict[str, Callable[[Result], Columns | pd.DataFrame]] = {
    "intake_days": lambda result: intake_days(result.as_rooms()),
    "farrowings": lambda result: farrowings(result.as_rooms()),
    "task_counts": lambda result: task_counts_of(result.as_rooms()),
    "staff_hours": lambda result: hours_in_use_of(result.as_rooms()),
    "room_days": lambda result: _room_days(result),
    "sows": lambda result: sows_that_farrowed(result.sows, result.tasks),
}
# What the outputs, these tables and the warnings read.
RECORDED = ("sow_days", "piglets", "tasks", "work_hours", "duty_hours", "rooms")
_CHECKS, _OBSERVED, _STUDY = b"conservation_checks_passed", b"observed", b"study"
_LABEL_TYPES = {"case": pa.string(), "alternative": pa.string(), "seed": pa.uint64(), "one_stream": pa.bool_()}


@dataclass(frozen=True, eq=False)
class Arm:
    """One arm of a study: an alternative in a case on a seed, with draws by address or, on request, from one stream."""

    case: str
    alternative: str
    scenario: Scenario
    seed: int
    one_stream: bool = False


@dataclass(frozen=True)
class Kept:
    """What is kept of a block beside its outputs: the fields of its arm that label rows, and tables by name."""

    labels: tuple[str, ...] = ("case", "alternative")
    tables: tuple[str, ...] = ()


@dataclass(frozen=True)
class Block:
    """Consecutive replicates of one arm."""

    arm: Arm
    first: int
    count: int
    kept: Kept


def simulate(block: Block) -> pa.Table:
    """Runs and measures a block, on one thread. The table does not depend on where and how it is run."""
    return table_of(rooms_of(block), block)


def rooms_of(block: Block, *, threads: int = 1, progress: Callable[[int], None] | None = None) -> Result:
    """The rooms of a block, as simulated; `threads` and `progress` as in `run`."""
    return simulate_replicates(
        block.arm.scenario,
        replications=block.count,
        first_replicate=block.first,
        seed=block.arm.seed,
        one_stream=block.arm.one_stream,
        threads=threads,
        record=RECORDED,
        progress=progress,
    )


def table_of(result: Result, block: Block) -> pa.Table:
    """What is kept of the rooms of a block."""
    count = result.replications
    replicates = np.arange(block.first, block.first + count)
    labels = {name: pa.array([getattr(block.arm, name)] * count, _LABEL_TYPES[name]) for name in block.kept.labels}
    measured = {name: _array(values) for name, values in measure(result.as_rooms()).items()}
    nested = {name: _nested(_TABLES[name](result), replicates) for name in block.kept.tables}
    metadata = {_CHECKS: str(result.checks), _OBSERVED: result.observed.as_json()}
    return pa.table(labels | {"replicate": replicates} | measured | nested).replace_schema_metadata(metadata)


def _room_days(result: Result) -> Columns:
    """As `room_days`; no rows where the climate is imposed rather than simulated."""
    days = room_days(
        result.as_rooms(), days_before_due=_core.timetable(result.scenario._core)["loading_days_before_due"]
    )
    return days if result.scenario.set_points_by_day else {name: values[:0] for name, values in days.items()}


def _nested(rows: Columns | pd.DataFrame, replicates: np.ndarray) -> pa.ListArray:
    """The rows of each replicate, in their order, as one list of structs."""
    ends = np.searchsorted(rows["replicate"], replicates, side="right")
    columns = {str(name): _array(rows[str(name)]) for name in rows if name != "replicate"}
    structs = pa.StructArray.from_arrays(list(columns.values()), list(columns))
    return pa.ListArray.from_arrays(pa.array([0, *ends], pa.int32()), structs)


def _array(values: np.ndarray | pd.Series) -> pa.Array:
    """The values, missing ones as null; words as large strings."""
    array = pa.array(values, from_pandas=True)
    words = pa.types.is_dictionary(array.type) or pa.types.is_string(array.type)
    return array.cast(pa.string()).cast(pa.large_string()) if words else array


def is_of(table: pa.Table, block: Block) -> bool:
    """Whether a table that was read from a file has the form, the labels and the first replicates of a block."""
    made = (table.schema.metadata or {}).get(_CHECKS, b"")
    prices = block.arm.scenario.prices
    form = _form_of(block.kept, tuple(prices.given) if prices else ())
    if _form(table.schema) != form or not re.fullmatch(rb"\d{1,18}", made):
        return False
    replicates = table["replicate"].to_pylist()
    try:
        set_aside = [replicate for replicate, _ in observed(table).set_aside]
        labels = all(set(table[name].to_pylist()) <= {getattr(block.arm, name)} for name in block.kept.labels)
    except ValueError:  # also of a label that is not UTF-8
        return False
    once = len(set(set_aside)) == len(set_aside) and set(set_aside) <= set(replicates)
    return labels and once and replicates == list(range(block.first, block.first + table.num_rows))


def without_foreign_metadata(table: pa.Table) -> pa.Table:
    """The table with the metadata of a block only: pandas and others would act on theirs."""
    metadata = table.schema.metadata or {}
    return table.replace_schema_metadata(
        {key: metadata[key] for key in (_CHECKS, _OBSERVED, _STUDY) if key in metadata}
    )


def marked(table: pa.Table, study: str) -> pa.Table:
    """The table of a block with the hash of the study that it belongs to."""
    return table.replace_schema_metadata({**table.schema.metadata, _STUDY: study})


def is_marked_otherwise(schema: pa.Schema, study: str) -> bool:
    """Whether a block was written for another study. One of an earlier version does not say."""
    metadata: dict[bytes, bytes] = schema.metadata or {}
    return metadata.get(_STUDY, study.encode()) != study.encode()


def _form(schema: pa.Schema) -> list[tuple[str, object]]:
    """The names and types of columns and of the tables in them."""
    return [
        (field.name, _form(field.type.value_type) if _is_table(field.type) else str(field.type)) for field in schema
    ]


def _is_table(kind: pa.DataType) -> bool:
    return bool(pa.types.is_list(kind) and pa.types.is_struct(kind.value_type))


@cache
def _form_of(kept: Kept, priced: tuple[str, ...]) -> list[tuple[str, object]]:
    """The form of every block of which this is kept: that of the smallest room. `priced`: the things with a price."""
    room: dict[str, object] = {"title": "the form of a block", "room": {"crates": 1}}
    prices = {"prices": {"currency": "-", **dict.fromkeys(priced, 1)}} if priced else {}
    smallest = Arm("", "", load(room | prices), seed=0)
    return _form(simulate(Block(smallest, 0, 1, kept)).schema)


def checks(table: pa.Table) -> int:
    """The number of conservation checks made in a block, all of which passed."""
    return int(table.schema.metadata[_CHECKS])


def observed(table: pa.Table) -> Observed:
    """What the rooms of a block showed; nothing where it was written by an earlier version.

    Raises ValueError where it has not the form in which it was written.
    """
    text = table.schema.metadata.get(_OBSERVED)
    return Observed.from_json(text) if text else Observed()


def without_lists(table: pa.Table) -> pa.Table:
    """The labels, replicate and outputs of a block."""
    return table.drop_columns([field.name for field in table.schema if pa.types.is_list(field.type)])


def outputs_of(tables: Sequence[pa.Table]) -> pd.DataFrame:
    """Case, alternative, replicate and every output, in the order of the tables."""
    flat = pa.concat_tables([without_lists(table) for table in tables])
    frame: pd.DataFrame = flat.to_pandas(use_threads=False).astype({"case": object, "alternative": object})
    return frame


def rows_of(tables: Sequence[pa.Table], name: str) -> pd.DataFrame:
    """One of the tables that are kept, with case, alternative and replicate on each row."""
    column = pa.concat_tables(tables).column(name).combine_chunks()
    lists = column.chunk(0) if isinstance(column, pa.ChunkedArray) else column
    lengths = np.diff(lists.offsets.to_numpy())
    labels = pa.concat_tables([table.select(["case", "alternative", "replicate"]) for table in tables]).to_pandas(
        use_threads=False
    )
    repeated = labels.loc[labels.index.repeat(lengths)].reset_index(drop=True)
    structs = lists.flatten()
    inner = pa.Table.from_arrays(structs.flatten(), [field.name for field in structs.type]).to_pandas(use_threads=False)
    rows: pd.DataFrame = pd.concat([repeated, inner], axis="columns")
    return rows.astype({"case": object, "alternative": object})

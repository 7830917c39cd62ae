"""What the values in a block can be. A block with a valid checksum may still have been written by anybody.

The form of a block (`blocks.is_of`) says which columns there are, and of which type. Here is what holds of their values.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pyarrow as pa
import pyarrow.compute as pc

from farrowtide import _core
from farrowtide.errors import UserError
from farrowtide.outputs.catalogue import catalogue
from farrowtide.outputs.rooms import PARITY_CLASSES

_WHOLE = 100 + 1e-6  # %
_MOST = 1e15  # of any number of a room, in its unit or in money
_LIMITS = {"hour": (0, 23), "day": (0, 1_000), "group_day": (-1_000, 1_000)}
_KEYS = {  # what tells the rows of a table apart within a replicate
    "intake_days": ["parity_class", "day"],
    "farrowings": ["sow"],
    "task_counts": ["task"],
    "staff_hours": ["hour"],
    "room_days": ["group_day"],
    "sows": ["sow"],
}


def require_possible(table: pa.Table, file: Path) -> None:
    """Raises UserError, which names the file, column and replicate, where a room cannot have such a value."""
    replicates = table["replicate"].combine_chunks()
    for name in table.column_names:
        column = table[name].combine_chunks()
        if name in _LABELS:
            continue
        if not pa.types.is_list(column.type):
            _require(column, name, name, replicates, file)
            continue
        rows, of_row = column.flatten(), replicates.take(pc.list_parent_indices(column))
        if column.null_count or rows.null_count:
            raise UserError(f"{file}: column {name}: has rows without values; {_REMEDY}")
        for field, values in zip(rows.type, rows.flatten(), strict=True):
            _require(values, f"{name}.{field.name}", field.name, of_row, file)
        keys = pa.table([of_row, *(rows.field(key) for key in _KEYS[name])], ["replicate", *_KEYS[name]])
        counted = keys.group_by(keys.column_names, use_threads=False).aggregate([([], "count_all")])
        repeated = counted.filter(pc.greater(counted["count_all"], 1))
        if repeated.num_rows:
            row = repeated.drop_columns("count_all").slice(0, 1).to_pylist()[0]
            place = ", ".join(f"{key} {value}" for key, value in row.items())
            raise UserError(f"{file}: column {name}: has several rows of {place}; {_REMEDY}")


def _require(values: pa.Array, column: str, name: str, replicates: pa.Array, file: Path) -> None:
    for wrong, what in _faults(values, name):
        places = pc.indices_nonzero(pc.fill_null(wrong, False))
        if len(places):
            at = places[0].as_py()
            where = f"{file}: column {column}, replicate {replicates[at].as_py()}"
            raise UserError(f"{where}: {values[at].as_py()!r:.40} {what}; {_REMEDY}")


def _faults(values: pa.Array, name: str) -> Iterator[tuple[pa.Array, str]]:
    """Which values are wrong, and why. A number with a fraction may be missing (NaN): not every room has every value."""
    if pa.types.is_floating(values.type):
        yield pc.and_not(pc.greater(pc.abs(values), _MOST), pc.is_nan(values)), "is no number of a room"
        if name in (outputs := catalogue()) and outputs[name].share:
            yield pc.or_(pc.less(values, 0.0), pc.greater(values, _WHOLE)), "is no share of a whole, 0 to 100 %"
        return
    yield pc.is_null(values), "is not given"
    if pa.types.is_integer(values.type):
        low, high = _LIMITS.get(name, (-_MOST, _MOST))
        yield pc.or_(pc.less(values, low), pc.greater(values, high)), f"is not between {low:g} and {high:g}"
    elif name in (known := _names()):
        yield pc.invert(pc.is_in(values, pa.array(known[name], values.type))), "is not known"


@cache
def _names() -> dict[str, list[str]]:
    """The values of columns that hold names."""
    labels = {info.name: info.labels for info in _core.tables()["sows"] if info.labels}
    tasks = [task["name"] for task in _core.tasks(_core.Coefficients.built_in())]
    return labels | {"parity_class": list(PARITY_CLASSES), "task": tasks}


_LABELS = ("case", "alternative", "seed", "one_stream", "replicate")  # which `blocks.is_of` compares with the arm's
_REMEDY = "the block was changed by hand: remove the file, and resume the study to run it again"

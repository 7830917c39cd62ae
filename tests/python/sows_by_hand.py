"""Stays and records of a few sows, small enough to be worked out by hand."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import pandas as pd

from farrowtide.analysis.watching.stays import MEASURED, Stays
from farrowtide.records import Records
from farrowtide.records.tables import in_layout

FARROWED = pd.Timestamp("2026-01-05")


def day(number: int) -> pd.Timestamp:
    """The date of a lactation day of sows that farrowed on FARROWED."""
    return FARROWED + pd.Timedelta(days=number)


def stays(**columns: Any) -> Stays:
    """Stays of sows S1, S2, ...: an array (stays x days) of a quantity or more, and columns as they differ from usual."""
    values = {name: np.array(columns.pop(name), dtype=float) for name in MEASURED if name in columns}
    shape = next(iter(values.values())).shape
    usual = {"room": "A", "parity": 3, "farrowed_on": FARROWED, "duration_min": 200, "born_alive": 12, "stillborn": 1}
    sows = pd.DataFrame({"sow": [f"S{number + 1}" for number in range(shape[0])]}).assign(**usual | columns)
    return Stays(in_layout(sows, "farrowings"), {name: np.full(shape, np.nan) for name in MEASURED} | values)


def records(farrowings: Sequence[Mapping[str, Any]], days: Sequence[Mapping[str, Any]]) -> Records:
    """Records with these rows; columns that are not named are empty."""
    return Records(in_layout(pd.DataFrame(farrowings), "farrowings"), in_layout(pd.DataFrame(days), "days"))

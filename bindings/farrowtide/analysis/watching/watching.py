"""The state of a running group on a morning, as tables."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import pandas as pd

from farrowtide.analysis.watching.alarms import (
    ALARMS,
    FEED_LOW,
    LONG_FARROWING,
    SIGNALS,
    WATER_LOW,
    Evidence,
    Thresholds,
    evidence,
    told,
)
from farrowtide.analysis.watching.expected import Expected
from farrowtide.analysis.watching.reference import Reference
from farrowtide.analysis.watching.rooms import judged
from farrowtide.analysis.watching.stays import Array, Stays
from farrowtide.errors import PlausibilityWarning
from farrowtide.scenarios.scenario import Scenario

_QUANTITY_OF = {FEED_LOW: "eaten_kg", WATER_LOW: "water_l"}


@dataclass(frozen=True)
class WatchTables:
    """The list of a morning.

    `flags`: one row per flag of a sow, in the order of the list; `alarm` says whether its rate among healthy sows was chosen, `mornings` on how many
    mornings in a row she has had it. `bands`: one row per sow and day, with what was recorded and her band. `rooms`: one row per
    room and output; `causes`: for rooms off track, the likely ones. `silent`: sows of whom nothing was recorded yesterday, with the day of the last record.
    `thresholds` has the rate of alarms that was chosen and that found on other simulated rooms.
    """

    scenario: Scenario
    morning: datetime.date
    flags: pd.DataFrame
    bands: pd.DataFrame
    rooms: pd.DataFrame
    causes: pd.DataFrame
    silent: pd.DataFrame
    thresholds: Thresholds
    signals: str
    sows: int
    litters_simulated: int
    doubtful: int
    rejected: int
    provenance: dict[str, Any]
    warnings: tuple[PlausibilityWarning, ...] = field(default=())


def room_names(stays: Stays) -> pd.Series:
    """The room of each stay; empty where none is recorded."""
    return stays.sows["room"].astype("object").where(stays.sows["room"].notna(), "")


def present(stays: Stays, date: pd.Timestamp) -> Stays:
    """The sows that are in the farrowing room on a date: the latest stay of each that has begun and not ended."""
    weaned = stays.sows["weaned_on"]
    day = stays.days_on(date)
    here = (day >= 0) & (day <= stays.days) & (weaned.isna() | (weaned > date)).to_numpy()
    found = stays[here]
    earlier = found.sows.sort_values("farrowed_on", kind="stable")["sow"].duplicated(keep="last").sort_index()
    return found[~earlier.to_numpy()]


def band_table(stays: Stays, found: Evidence, expected: Mapping[str, Expected], thresholds: Thresholds) -> pd.DataFrame:
    """A row per sow and recorded day, with the band of each quantity whose limit is known, and the flags of the day."""
    rows, days = np.nonzero(found.recorded)
    table = pd.DataFrame(
        {
            "sow": stays.sows["sow"].to_numpy()[rows],
            "room": room_names(stays).to_numpy()[rows],
            "parity": stays.sows["parity"].to_numpy(dtype=int)[rows],
            "date": stays.sows["farrowed_on"].to_numpy()[rows] + (days + 1).astype("timedelta64[D]"),
            "lactation_day": days + 1,
        }
    )
    for flag, limit in thresholds.limits.items():
        name = _QUANTITY_OF[flag]
        low, middle, high = band(stays, expected[name], found.means[name], found.sds[name], limit)
        for column, array in ((name, stays.values[name]), (f"{name}_low", low), (f"{name}_expected", middle), (f"{name}_high", high)):  # fmt: skip
            table[column] = array[rows, days]
    flagged = {name: thresholds.flag(found, name)[rows, days] for name in told(thresholds)}
    table["flags"] = [", ".join(name for name, of in flagged.items() if of[row]) for row in range(len(rows))]
    return table


def band(stays: Stays, expected: Expected, mean: Array, sd: Array, limit: float) -> tuple[Array, Array, Array]:
    """The lower end, the middle and the upper end of the bands (stays x days)."""
    low, middle, high = (expected.amounts(stays, mean + k * limit * sd) for k in (-1, 0, 1))
    return low, middle, high


def flag_table(stays: Stays, date: pd.Timestamp, of: Reference) -> pd.DataFrame:
    """A row for each flag that sows have at the end of a date, alarms first, with the numbers that its reason tells."""
    found = evidence(stays, of.expected)
    limits = of.thresholds.limits
    last = stays.days_on(date) - 1
    rows = []
    for rank, name in enumerate(told(of.thresholds)):
        if name in ALARMS and name not in SIGNALS[of.signals]:
            continue
        days_of = of.thresholds.flag(found, name) & (found.recorded | (name == LONG_FARROWING))
        for row in map(int, np.flatnonzero(_on_day(days_of, last))):
            day = int(last[row])
            rows.append(
                {
                    "rank": rank,
                    "sow": stays.sows["sow"].iloc[row],
                    "room": room_names(stays).iloc[row],
                    "parity": int(stays.sows["parity"].iloc[row]),
                    "lactation_day": day + 1,
                    "flag": name,
                    "alarm": name in ALARMS,
                    "mornings": _in_a_row(days_of[row, : day + 1]),
                    **_numbers(stays, found, of.expected, limits, row, day),
                }
            )
    columns = ["rank", "sow", "room", "parity", "lactation_day", "flag", "alarm", "mornings"]
    table = pd.DataFrame(rows, columns=None if rows else columns)
    by = ["rank", "room", "sow"]
    return table.sort_values(by, kind="stable").drop(columns="rank").reset_index(drop=True)


def _on_day(days_of: Array, day: Array) -> Array:
    inside = (day >= 0) & (day < days_of.shape[1])
    here: Array = inside & days_of[np.arange(len(day)), np.clip(day, 0, days_of.shape[1] - 1)]
    return here


def _in_a_row(flagged: Array) -> int:
    before = np.flatnonzero(~flagged)
    return int(len(flagged) - (before[-1] + 1 if len(before) else 0))


def _numbers(
    stays: Stays, found: Evidence, expected: Mapping[str, Expected], limits: Mapping[str, float], row: int, day: int
) -> dict[str, float]:
    """What the reason of a flag may tell: amounts of the day and the day before, and her bands."""
    one = stays[np.array([row])]
    numbers = {name: float(array[row, day]) for name, array in stays.values.items()}
    if day > 0:
        numbers |= {f"{name}_before": float(stays.values[name][row, day - 1]) for name in ("eaten_kg", "water_l")}
    numbers["duration_min"] = float(stays.sows["duration_min"].to_numpy(dtype=float, na_value=np.nan)[row])
    rows = np.array([row])
    for flag, limit in limits.items():
        name = _QUANTITY_OF[flag]
        low, middle, high = band(one, expected[name], found.means[name][rows], found.sds[name][rows], limit)
        numbers |= {f"{name}_low": low[0, day], f"{name}_expected": middle[0, day], f"{name}_high": high[0, day]}
        if flag == FEED_LOW and day > 0:
            numbers |= {f"{name}_before_low": low[0, day - 1], f"{name}_before_high": high[0, day - 1]}
            again = band(one, expected[name], found.second_mean[rows], found.second_sd[rows], limit)
            numbers |= {f"{name}_from_two_days_before_low": again[0][0, day], f"{name}_from_two_days_before_high": again[2][0, day]}  # fmt: skip
    return numbers


def room_table(stays: Stays, date: pd.Timestamp, of: Reference) -> pd.DataFrame:
    """The outputs of each room."""
    names = room_names(stays)
    tables = [
        judged(stays[(names == room).to_numpy()], date, of.rooms).assign(room=room) for room in sorted(names.unique())
    ]
    known = [table for table in tables if len(table)]
    return pd.concat(known, ignore_index=True) if known else pd.DataFrame(columns=["room", "output", "off_track"])

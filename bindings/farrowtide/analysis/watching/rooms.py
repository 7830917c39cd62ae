"""Outputs of a room on a day beside those of simulated rooms, and which of the faults that the model knows explain them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from farrowtide.analysis.watching.alarms import limits
from farrowtide.analysis.watching.faults import Fault
from farrowtide.analysis.watching.stays import MEASURED, Array, Stays
from farrowtide.outputs.rooms import PARITY_CLASSES

LEVEL = 0.99  # of the predictive intervals of one room
_Z = 2.5758  # its normal quantile
_LEAST_SOWS = 4
_LEAST_EXPLAINED = 0.2  # of the squared deviation, for a cause to be named
_LARGEST = 2.0  # size of a cause, relative to that which was simulated
_SHRINK = 0.2  # of covariances towards their diagonal


@dataclass(frozen=True)
class RoomOutput:
    """A quantity of a room on a day: its column, the words for it, unit and decimals.

    A difference below `matters` is on track however surely it is one; its size is common practice, no source.
    """

    name: str
    label: str
    unit: str
    decimals: int
    matters: float


OUTPUTS = (
    RoomOutput("eaten_kg", "feed eaten per sow", "kg/d", 2, 0.2),
    RoomOutput("water_l", "water drunk per sow", "L/d", 1, 1.0),
    RoomOutput("offered_kg", "feed offered per sow", "kg/d", 2, 0.2),
    RoomOutput("left_kg", "feed left in the trough", "kg", 2, 0.3),
    RoomOutput("temperature_deg_c", "room temperature", "degC", 1, 1.5),
    RoomOutput("duration_min", "farrowing duration", "min", 0, 30.0),
    RoomOutput("stillborn_percent", "stillborn piglets", "%", 1, 2.0),
)


def outputs_on(stays: Stays, date: pd.Timestamp, means: Mapping[str, Array]) -> dict[str, float]:
    """What is known of a room at the end of a date, as differences from the simulated means of parity class and day.

    `means` (stays x days) are those of each daily quantity. Daily quantities are means of the last days (limit `window`), farrowings
    of all sows that have farrowed.
    """
    window = int(limits()["window"])
    on = stays.days_on(date)
    day = np.arange(1, stays.days + 1)[None, :]
    inside = (day <= on[:, None]) & (day > on[:, None] - window)
    found = {}
    for name, mean in means.items():
        difference = np.where(inside, stays.values[name] - mean, np.nan)
        sows = (~np.isnan(difference)).any(axis=1).sum()
        found[name] = float(np.nanmean(difference)) if sows >= _LEAST_SOWS else np.nan
    farrowed = on >= 0
    duration, alive, stillborn = (
        stays.sows[name].to_numpy(dtype=float, na_value=np.nan)[farrowed]
        for name in ("duration_min", "born_alive", "stillborn")
    )
    known = (~np.isnan(duration)).sum() >= _LEAST_SOWS
    found["duration_min"] = float(np.nanmean(duration)) if known else np.nan
    born = np.nansum(alive) + np.nansum(stillborn)
    enough = farrowed.sum() >= _LEAST_SOWS and born > 0
    found["stillborn_percent"] = float(100 * np.nansum(stillborn) / born) if enough else np.nan
    return found


class SimulatedRooms:
    """Simulated rooms to judge a room by: their outputs on any day after the median farrowing."""

    def __init__(self, stays: Stays, means: Mapping[str, Array] | None = None) -> None:
        """`means`: of parity class and day; None for those of these rooms themselves."""
        self.stays = stays
        self._on_day: dict[tuple[int, int], pd.DataFrame] = {}
        self._of_size: dict[int, list[tuple[Stays, pd.Timestamp, dict[str, Array]]]] = {}
        self._rooms = [np.flatnonzero(stays.sows["room"].to_numpy() == room) for room in stays.sows["room"].unique()]
        self._mean_of_class = means or {name: _means(stays.values[name], stays.parity_class) for name in MEASURED}

    @property
    def mean_of_class(self) -> Mapping[str, Array]:
        """The means of each daily quantity (classes x days)."""
        return self._mean_of_class

    def means(self, stays: Stays) -> dict[str, Array]:
        """The mean that each day of these stays is compared with."""
        return {name: mean[stays.parity_class, : stays.days] for name, mean in self._mean_of_class.items()}

    def on_day(self, group_day: int, sows: int | None = None) -> pd.DataFrame:
        """The outputs of each room that many days after its median farrowing; of so many of its sows, as if it had no others.

        `sows`: None, or more than it has: all. They are spread over the room's list. Outputs of a few sows vary more.
        """
        key = group_day, min(max(map(len, self._rooms)), len(self.stays) if sows is None else sows)
        if key not in self._on_day:
            self._on_day[key] = pd.DataFrame(
                [
                    outputs_on(room, median + pd.Timedelta(days=group_day), means)
                    for room, median, means in self._rooms_of(key[1])
                ]
            )
        return self._on_day[key]

    def _rooms_of(self, sows: int) -> list[tuple[Stays, pd.Timestamp, dict[str, Array]]]:
        """Each room of so many sows, with its median farrowing and the means that it is compared with."""
        if sows not in self._of_size:
            self._of_size[sows] = []
            for place in self._rooms:
                chosen = np.linspace(0, len(place) - 1, min(sows, len(place))).round().astype(int)
                room = self.stays[place[chosen]]
                self._of_size[sows].append((room, median_farrowing(room), self.means(room)))
        return self._of_size[sows]


def _means(values: Array, classes: Array) -> Array:
    found = np.full((len(PARITY_CLASSES), values.shape[1]), np.nan)
    overall = _nanmean(values)
    for index in range(len(PARITY_CLASSES)):
        of_class = _nanmean(values[classes == index])
        found[index] = np.where(np.isnan(of_class), overall, of_class)
    return found


def _nanmean(values: Array) -> Array:
    known = ~np.isnan(values)
    with np.errstate(invalid="ignore"):
        mean: Array = np.where(known, values, 0).sum(axis=0) / known.sum(axis=0)
    return mean


def median_farrowing(stays: Stays) -> pd.Timestamp:
    """The median day of farrowing of a room."""
    days = np.sort(stays.sows["farrowed_on"].to_numpy())
    return pd.Timestamp(days[(len(days) - 1) // 2])


def judged(room: Stays, date: pd.Timestamp, simulated: SimulatedRooms) -> pd.DataFrame:
    """A row for each output that is recorded: value, expectation, predictive interval of one room, and whether it is off track.

    The interval is of as many sows as the room has, whatever the size of the simulated rooms.
    """
    group_day = (date - median_farrowing(room)).days
    rooms = simulated.on_day(group_day, len(room))
    means = simulated.means(room)
    observed = outputs_on(room, date, means)
    window = _levels(room, date, means)
    rows = []
    for output in OUTPUTS:
        of_rooms = rooms[output.name].dropna()
        value = observed[output.name]
        if np.isnan(value) or len(of_rooms) < 2:
            continue
        level = window.get(output.name, 0.0)
        centre = float(of_rooms.mean())
        sd = float(of_rooms.std()) * np.sqrt(1 + 1 / len(of_rooms))
        half_width = max(_Z * sd, output.matters)
        rows.append(
            {
                "output": output.name,
                "label": output.label,
                "unit": output.unit,
                "decimals": output.decimals,
                "value": level + value,
                "expected": level + centre,
                "low": level + centre - half_width,
                "high": level + centre + half_width,
                "deviation_sd": (value - centre) * _Z / half_width,
                "off_track": bool(abs(value - centre) > half_width),
            }
        )
    return pd.DataFrame(rows)


def _levels(room: Stays, date: pd.Timestamp, means: Mapping[str, Array]) -> dict[str, float]:
    """What the means of the sows' classes and days are, over the same days."""
    of_means = Stays(
        room.sows, {name: np.where(np.isnan(room.values[name]), np.nan, mean) for name, mean in means.items()}
    )
    found = outputs_on(of_means, date, {name: np.zeros_like(mean) for name, mean in means.items()})
    return {name: found[name] for name in means}


def causes(
    found: pd.DataFrame,
    group_day: int,
    sows: int,
    simulated: SimulatedRooms,
    with_fault: Sequence[tuple[Fault, SimulatedRooms]],
) -> pd.DataFrame:
    """The faults that explain the outputs of a room with so many sows, the likeliest first: share of the squared deviation that
    each explains.

    Each fault has a direction: by how much it moves every output of simulated rooms. Its size is what fits best, from nothing
    to twice what was simulated; deviations count in standard deviations of rooms, with the correlations between outputs. An output
    that hardly varies between simulated rooms counts as if it varied by what matters, so that it does not outweigh all others.
    """
    names = list(found["output"])
    rooms = simulated.on_day(group_day, sows)[names]
    least = np.array([next(output.matters for output in OUTPUTS if output.name == name) for name in names]) / _Z
    sd = np.maximum(rooms.std().to_numpy(), least)
    correlation = (1 - _SHRINK) * np.nan_to_num(rooms.corr().to_numpy())
    np.fill_diagonal(correlation, 1.0)
    precision = np.linalg.inv(correlation)
    observed = found["deviation_sd"].to_numpy()
    whole = float(observed @ precision @ observed)
    rows = []
    for fault, of_fault in with_fault:
        moved = of_fault.on_day(group_day, sows)[names].mean().to_numpy()
        shift = (moved - rooms.mean().to_numpy()) / sd
        length = float(shift @ precision @ shift)
        size = float(np.clip(shift @ precision @ observed / length, 0, _LARGEST)) if length > 0 else 0.0
        rest = observed - size * shift
        explained = 1 - float(rest @ precision @ rest) / whole if whole > 0 else 0.0
        rows.append(
            {"fault": fault.name, "label": fault.label, "look": fault.look, "explained": explained, "size": size}
        )
    table = pd.DataFrame(rows, columns=["fault", "label", "look", "explained", "size"])
    named = table[table["explained"] >= _LEAST_EXPLAINED]
    return named.sort_values("explained", ascending=False, kind="stable").reset_index(drop=True)

"""Sows' stays in the farrowing room, and their lactation days as arrays: what is watched, simulated or recorded."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, TypeAlias

import numpy as np
import pandas as pd

from farrowtide.outputs.rooms import parity_class
from farrowtide.records import Records

Array: TypeAlias = np.ndarray[Any, Any]
QUANTITIES = ("eaten_kg", "water_l")  # those of which a sow has an expected band
MEASURED = ("offered_kg", "eaten_kg", "left_kg", "water_l", "temperature_deg_c")
_LONGEST_AFTER_D = 60  # of a stay whose weaning is not recorded, as in the rules of records


@dataclass(frozen=True)
class Stays:
    """Stays of sows, a row of `sows` each (columns as of farrowings), and their days.

    `values` has an array (stays x days) for each of MEASURED: column j is lactation day j + 1; NaN where nothing is recorded.
    """

    sows: pd.DataFrame
    values: dict[str, Array]

    def __len__(self) -> int:
        return len(self.sows)

    @property
    def days(self) -> int:
        """The number of lactation days, from day 1."""
        return int(self.values["eaten_kg"].shape[1])

    @property
    def parity_class(self) -> Array:
        """The index of each sow's parity class."""
        return parity_class(self.sows["parity"].to_numpy(dtype=int))

    @property
    def recorded(self) -> Array:
        """Whether feed or water of a day is recorded (stays x days)."""
        known: Array = ~np.isnan(self.values["eaten_kg"]) | ~np.isnan(self.values["water_l"])
        return known

    def __getitem__(self, which: Array) -> Stays:
        chosen = self.sows[which] if which.dtype == bool else self.sows.iloc[which]
        return Stays(chosen.reset_index(drop=True), {name: array[which] for name, array in self.values.items()})

    def days_on(self, date: pd.Timestamp) -> Array:
        """The lactation day of each sow on a date."""
        days: Array = (date - self.sows["farrowed_on"]).dt.days.to_numpy()
        return days

    def until(self, date: pd.Timestamp) -> Stays:
        """The same as it was known at the end of a date: later days are empty, sows that farrowed later are not there."""
        on = self.days_on(date)
        later = np.arange(1, self.days + 1)[None, :] > on[:, None]
        known = {name: np.where(later, np.nan, array) for name, array in self.values.items()}
        return Stays(self.sows, known)[on >= 0]


def stays_of(records: Records, days: int) -> Stays:
    """The stays in records with their lactation days 1 to `days`; days before the farrowing and after weaning are left out.

    A day without a temperature of its own has that of the room's row of the day.
    """
    sows = records.farrowings.reset_index(drop=True)
    table = records.days[records.days["sow"].notna()]
    of_stay = table.drop(columns="room").merge(
        sows[["sow", "farrowed_on", "weaned_on", "room"]].reset_index(names="stay"), on="sow"
    )
    day = (of_stay["date"] - of_stay["farrowed_on"]).dt.days
    last = (of_stay["weaned_on"] - of_stay["farrowed_on"]).dt.days.fillna(_LONGEST_AFTER_D)
    inside = (day >= 1) & (day <= np.minimum(last, days))
    column = day[inside].to_numpy() - 1
    of_stay = _with_room_temperature(of_stay[inside], records.days)
    values = {}
    for name in MEASURED:
        values[name] = np.full((len(sows), days), np.nan)
        values[name][of_stay["stay"].to_numpy(), column] = of_stay[name].to_numpy(dtype=float, na_value=np.nan)
    return Stays(sows, values)


def _with_room_temperature(of_stay: pd.DataFrame, days: pd.DataFrame) -> pd.DataFrame:
    rooms = days[days["sow"].isna() & days["room"].notna() & days["temperature_deg_c"].notna()]
    if rooms.empty:
        return of_stay
    of_room = rooms.drop_duplicates(["room", "date"]).set_index(["room", "date"])["temperature_deg_c"]
    place = pd.MultiIndex.from_frame(of_stay[["room", "date"]])
    return of_stay.assign(
        temperature_deg_c=of_stay["temperature_deg_c"].fillna(
            pd.Series(of_room.reindex(place).to_numpy(), index=of_stay.index)
        )
    )

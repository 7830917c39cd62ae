"""The declared outputs: what is read off a room's tables, in which unit, and which way is good.

An output has one value per replicate, a replicate being one room from loading to weaning: sows, litters and piglets of
one room share its staff, air and weather, so the room and never the animal is the unit of replication.
"""

from __future__ import annotations

import difflib
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Literal

import numpy as np
import pandas as pd

from farrowtide import _core

LONG_FARROWING_MIN = 300  # the trade's alarm: first to last birth over five hours
PARITY_CLASSES = ("P1", "P2", "P3+")
MISSING = "\N{EN DASH}"  # as printed
_MOST_DECIMALS = 4
US_UNITS = {"kg": ("lb", 1 / 0.45359237), "kg/d": ("lb/d", 1 / 0.45359237)}  # the pound by its definition


def parity_class(parity: pd.Series) -> np.ndarray:
    """0 for a first farrowing, 1 for a second, 2 for the third and later."""
    return np.clip(parity.to_numpy(), 1, len(PARITY_CLASSES)) - 1


class Rooms:
    """The tables of consecutive replicates. Methods return one value per replicate, shape (count,), NaN where none."""

    def __init__(self, tables: Mapping[str, pd.DataFrame], *, first: int, count: int) -> None:
        self.tables = dict(tables)
        # A nurse sow did not farrow here: she counts for piglets and feed, and not among the sows.
        self.tables["all_sows"] = tables["sows"]
        self.tables["sows"] = tables["sows"][tables["sows"]["nurse"] == 0]
        self.count = count
        self._rooms = {name: table["replicate"].to_numpy() - first for name, table in self.tables.items()}

    @cached_property
    def litters(self) -> np.ndarray:
        """Sows that farrowed."""
        return self.number("sows")

    @cached_property
    def staffed_min(self) -> np.ndarray:
        """Minutes of people on duty in the time that counts, breaks and the absent left out."""
        return self.total("duty_hours", "on_duty_min")

    def number(self, table: str, where: np.ndarray | None = None) -> np.ndarray:
        """Rows."""
        rooms = self._rooms[table]
        return np.bincount(rooms if where is None else rooms[where], minlength=self.count).astype(float)

    def total(self, table: str, column: str, where: np.ndarray | None = None) -> np.ndarray:
        """Sum of a column, missing values left out."""
        values = np.nan_to_num(self.tables[table][column].to_numpy(), nan=0.0)
        rooms = self._rooms[table]
        if where is not None:
            rooms, values = rooms[where], values[where]
        return np.bincount(rooms, weights=values, minlength=self.count)

    def sum_of(self, table: str, values: np.ndarray, where: np.ndarray) -> np.ndarray:
        """Sum of one value per row over the rows `where`."""
        return np.bincount(self._rooms[table][where], weights=values[where], minlength=self.count)

    def mean(self, table: str, column: str, where: np.ndarray | None = None) -> np.ndarray:
        """Mean of a column over the rows that have it."""
        known = ~np.isnan(self.tables[table][column].to_numpy())
        return ratio(self.total(table, column, where), self.number(table, known if where is None else known & where))

    def median(self, table: str, column: str) -> np.ndarray:
        """Median of a column over the rows that have it."""
        medians = self.tables[table][column].groupby(self._rooms[table]).median()
        return medians.reindex(range(self.count)).to_numpy(dtype=float)


def in_sentence(label: str) -> str:
    """A label inside a sentence."""
    return label[0].lower() + label[1:]


def _rounded_up(value: float) -> str:
    """To one digit that is not zero, of at most _MOST_DECIMALS."""
    decimals = min(-math.floor(math.log10(value)), _MOST_DECIMALS)
    return f"{math.ceil(value * 10**decimals) / 10**decimals:.{decimals}f}"


def ratio(part: np.ndarray, whole: np.ndarray) -> np.ndarray:
    """Part of whole, NaN where there is no whole."""
    return np.divide(part, whole, out=np.full(len(whole), np.nan), where=whole > 0)


@dataclass(frozen=True)
class Output:
    """One declared output. `good` is the direction that is better for the farm, None where that depends."""

    name: str
    unit: str
    label: str
    measure: Callable[[Rooms], np.ndarray]
    good: Literal["higher", "lower"] | None = None
    decimals: int = 1
    negligible: float = 0.05  # a difference below this is too small to matter: our own choice, in `unit`
    note: str = ""  # what a difference in it rests on
    table: str = "sows"  # the table it needs
    group: str = "headline"  # outputs of one group are judged together
    phrases: tuple[str, str] | None = None  # of a higher and of a lower value, {} for by how much

    def shown(self, value: float, *, units: str = "si", signed: bool = False) -> str:
        """The value as printed, in the unit of `shown_unit`."""
        if np.isnan(value):
            return MISSING
        text = f"{value * self._factor(units):{'+' if signed else ''},.{self.decimals}f}"
        return text.replace("-", "\N{MINUS SIGN}") if text.strip("+-0.,") else text.lstrip("+-")

    def shown_range(self, low: float, high: float, *, units: str = "si", signed: bool = False) -> str:
        """`low to high`; `within +-0.003` where both would be printed as zero."""
        largest = max(abs(low), abs(high)) * self._factor(units)
        if 0 < largest < 0.5 * 10.0**-self.decimals:
            return f"within \N{PLUS-MINUS SIGN}{_rounded_up(largest)}"
        return " to ".join(self.shown(end, units=units, signed=signed) for end in (low, high))

    def phrase(self, difference: float, units: str = "si") -> str:
        """By how much it is higher or lower, in plain words."""
        what = f"the share of {in_sentence(self.label)}" if self.unit == "%" else in_sentence(self.label)
        higher, lower = self.phrases or (f"{what} is {{}} higher", f"{what} is {{}} lower")
        amount = f"{self.shown(abs(difference), units=units)} {self.difference_unit(units)}"
        return (higher if difference > 0 else lower).format(amount)

    def difference_unit(self, units: str = "si") -> str:
        """The unit of a difference, spelt out where it is another than that of the value."""
        return {"%": "percentage points"}.get(self.unit, self.shown_unit(units))

    def _factor(self, units: str) -> float:
        return US_UNITS.get(self.unit, ("", 1.0))[1] if units == "us" else 1.0

    def shown_unit(self, units: str = "si") -> str:
        return US_UNITS[self.unit][0] if units == "us" and self.unit in US_UNITS else self.unit


def _mean(column: str, table: str = "sows") -> Callable[[Rooms], np.ndarray]:
    return lambda rooms: rooms.mean(table, column)


def _share(part: str, whole: str, table: str = "sows") -> Callable[[Rooms], np.ndarray]:
    return lambda rooms: 100 * ratio(rooms.total(table, part), rooms.total(table, whole))


def _litter_integrity(rooms: Rooms) -> np.ndarray:
    return 100 - _share("born_here_and_moved", "born_alive")(rooms)


def _per_litter(table: str, column: str) -> Callable[[Rooms], np.ndarray]:
    return lambda rooms: ratio(rooms.total(table, column), rooms.litters)


def _long_farrowings(rooms: Rooms) -> np.ndarray:
    durations = rooms.tables["sows"]["farrowing_duration_min"].to_numpy()
    return 100 * ratio(rooms.number("sows", durations > LONG_FARROWING_MIN), rooms.number("sows", ~np.isnan(durations)))


def _sows_where(
    column: str, test: Callable[[pd.Series], pd.Series], among: str | None = None
) -> Callable[[Rooms], np.ndarray]:
    """Percent of the sows, or of those that have a value in the column `among`."""

    def share(rooms: Rooms) -> np.ndarray:
        sows = rooms.tables["sows"]
        group = np.ones(len(sows), bool) if among is None else sows[among].notna().to_numpy()
        return 100 * ratio(rooms.number("sows", test(sows[column]).to_numpy() & group), rooms.number("sows", group))

    return share


def _treated_after_h(rooms: Rooms) -> np.ndarray:
    sows = rooms.tables["sows"]
    waits = (sows["treated_h"] - sows["disorder_onset_h"]).to_numpy()
    after = waits >= 0
    return ratio(rooms.sum_of("sows", waits, after), rooms.number("sows", after))


def _tasks_with(outcome: str) -> Callable[[Rooms], np.ndarray]:
    def share(rooms: Rooms) -> np.ndarray:
        outcomes = (rooms.tables["tasks"]["outcome"] == outcome).to_numpy()
        return 100 * ratio(rooms.number("tasks", outcomes), rooms.number("tasks"))

    return share


def _intake_of(index: int) -> Callable[[Rooms], np.ndarray]:
    def mean(rooms: Rooms) -> np.ndarray:
        return rooms.mean("sows", "feed_intake_kg_per_day", parity_class(rooms.tables["sows"]["parity"]) == index)

    return mean


def _minutes_of(kind: str) -> Callable[[Rooms], np.ndarray]:
    def minutes(rooms: Rooms) -> np.ndarray:
        return ratio(rooms.total("tasks", "minutes", (rooms.tables["tasks"]["kind"] == kind).to_numpy()), rooms.litters)

    return minutes


_INTAKE = (
    "Appetite is fitted to published herds; what a feeding rule takes from it follows trough size, hours, freshness."
)
_BODY = (
    "Energy balance after published equations; the miss at strong under-feeding is known and shown with the validation."
)
_BIRTHS = "Fitted to observed herds; the effect of help and of hours since the last meal rests on few trials."
_SURVIVAL = "Hazards scaled to one published herd; their shares by cause and age are partly assumptions."
_HEALTH = (
    "Risk after published signs with slopes shrunk; what illness costs and what treatment saves is assumed (grade C)."
)
_LABOUR = "Task times are published where there are any and trade practice elsewhere; walking is in them."

# `negligible` is our own choice of what is too small to matter on a farm: about 1 % of a usual mean.
HEADLINES = (
    Output("feed_intake_kg_per_day", "kg/d", "Feed eaten per sow", _mean("feed_intake_kg_per_day"),
           "higher", 2, 0.05, _INTAKE, phrases=("sows eat {} more", "sows eat {} less")),
    Output("weight_loss_kg", "kg", "Sow weight lost", _mean("weight_loss_kg"), "lower", 1, 0.5, _BODY,
           phrases=("sows lose {} more weight", "sows lose {} less weight")),
    Output("litter_weight_at_weaning_kg", "kg", "Litter weight at weaning", _mean("litter_weight_at_weaning_kg"),
           "higher", 1, 0.5, "Follows litter growth and survival.",
           phrases=("litters are {} heavier at weaning", "litters are {} lighter at weaning")),
    Output("preweaning_mortality_percent", "%", "Live-born dead before weaning",
           _share("died_before_weaning", "born_alive", "all_sows"), "lower", 1, 0.5, _SURVIVAL,
           phrases=("deaths before weaning rise by {}", "deaths before weaning fall by {}")),
    Output("farrowings_over_5_h_percent", "%", "Farrowings over 5 h", _long_farrowings, "lower", 1, 1.0, _BIRTHS,
           phrases=("farrowings over 5 h rise by {}", "farrowings over 5 h fall by {}")),
    Output("labour_min_per_litter", "min", "Staff work per litter", _per_litter("tasks", "minutes"), "lower", 1, 1.0,
           _LABOUR, "tasks", phrases=("staff work {} more per litter", "staff work {} less per litter")),
    Output("weaned_per_litter", "piglets", "Weaned per litter", _per_litter("all_sows", "weaned"), "higher", 2, 0.05, _SURVIVAL,
           phrases=("{} more are weaned per litter", "{} fewer are weaned per litter")),
)  # fmt: skip
FURTHER = (
    Output("stillborn_percent", "%", "Piglets stillborn", _share("stillborn", "total_born"), "lower", 1, 0.5, _BIRTHS,
           group="further"),
    Output("births_attended_percent", "%", "Births attended", _share("attended_births", "total_born"), "higher", 1, 1.0,
           "Follows the rounds and the hours staff are in.", group="further"),
    Output("farrowing_duration_median_min", "min", "Farrowing duration, median sow",
           lambda rooms: rooms.median("sows", "farrowing_duration_min"), "lower", 0, 5.0, _BIRTHS, group="further"),
    Output("feed_intake_d1_7_kg_per_day", "kg/d", "Feed eaten per sow on days 1-7",
           _mean("feed_intake_d1_7_kg_per_day"), "higher", 2, 0.05, _INTAKE, group="further"),
    Output("zero_feed_days_percent", "%", "Lactation days without any feed eaten",
           _share("zero_feed_days", "lactation_length_d"), "lower", 2, 0.5, _INTAKE, group="further"),
    Output("low_feed_days_percent", "%", "Lactation days at less than half her own mean",
           _share("low_feed_days", "lactation_length_d"), None, 1, 1.0, _INTAKE, group="further"),
    Output("feed_wasted_kg_per_litter", "kg", "Feed wasted per litter", _per_litter("all_sows", "feed_wasted_kg"), None, 1,
           0.5, "A fixed share of what is drawn from the trough.", group="further"),
    Output("weight_loss_percent", "%", "Sow weight lost, of the weight after farrowing", _mean("weight_loss_percent"),
           "lower", 1, 0.2, _BODY, group="further"),
    Output("backfat_loss_mm", "mm", "Backfat lost in lactation (P2)", _mean("backfat_loss_mm"), "lower", 2, 0.2, _BODY,
           group="further"),
    Output("litter_gain_kg_per_day", "kg/d", "Litter growth", _mean("litter_gain_kg_per_day"), "higher", 2, 0.03,
           "Milk after published curves; how much more feed gives more milk in older sows is a known miss (low).",
           group="further"),
    Output("sows_ill_percent", "%", "Sows with the post-partum disorder",
           _sows_where("disorder_onset_h", pd.Series.notna), "lower", 1, 1.0, _HEALTH, group="further"),
    Output("ill_sows_treated_percent", "%", "Sows with the disorder that were treated",
           _sows_where("treated_h", pd.Series.notna, "disorder_onset_h"), "higher", 1, 2.0, _HEALTH, group="further"),
    Output("treated_after_onset_h", "h", "Onset of the disorder to its treatment", _treated_after_h, "lower", 1, 2.0,
           _HEALTH, group="further"),
    Output("sows_treated_percent", "%", "Sows treated, ill or not", _sows_where("treated_h", pd.Series.notna), "lower", 1,
           1.0, _HEALTH, group="further"),
    Output("treated_without_disorder_percent", "%", "Treated sows that did not have the disorder",
           _sows_where("disorder_onset_h", pd.Series.isna, "treated_h"), "lower", 1, 2.0, _HEALTH, group="further"),
    Output("sows_lost_percent", "%", "Sows that died in the room", _sows_where("left_as", lambda fate: fate != "weaned"),
           "lower", 2, 0.5, "Level from herd records; what raises it is partly assumed.", group="further"),
    Output("sows_with_zero_feed_day_percent", "%", "Sows with a day without any feed eaten",
           _sows_where("zero_feed_days", lambda days: days > 0), "lower", 2, 0.5, _HEALTH, group="further"),
    Output("litters_scoured_percent", "%", "Litters with scours", _sows_where("scours", lambda scours: scours > 0),
           "lower", 1, 1.0, "Onset scaled to one national record; attack and length are assumed.", group="further"),
    Output("piglets_moved_percent", "%", "Piglets moved to another sow", _share("piglets_moved_in", "born_alive", "all_sows"),
           None, 1, 1.0, "Fostering, piglets of sows that died, and moves a scenario prescribes; each move counts.",
           group="further"),
    Output("litter_integrity_percent", "%", "Piglets that stay with their dam", _litter_integrity, "higher", 1, 1.0,
           "Born alive and never moved.", group="further"),
    Output("water_l_per_day", "L/d", "Water drunk per sow", _mean("water_l_per_day"), None, 1, 0.5,
           "Follows feed and temperature.", group="further"),
    Output("weaning_to_oestrus_d", "d", "Weaning to oestrus", _mean("weaning_to_oestrus_d"), "lower", 1, 0.1,
           "Apart from the room: under-states strong feed restriction (grade C).", group="further"),
    Output("staff_utilisation_percent", "%", "Staff time in use, of the time on duty",
           lambda rooms: ratio(100 * rooms.total("work_hours", "minutes"), rooms.staffed_min), None, 1, 1.0,
           f"{_LABOUR} Breaks and absent people are not on duty.", "work_hours", group="further"),
    Output("tasks_late_percent", "%", "Tasks done late", _tasks_with("late"), "lower", 1, 0.5, _LABOUR, "tasks",
           group="further"),
    Output("tasks_undone_percent", "%", "Tasks left undone", _tasks_with("undone"), "lower", 1, 0.5, _LABOUR, "tasks",
           group="further"),
    Output("heater_kwh_per_litter", "kWh", "Heat from the room heater per litter", _per_litter("rooms", "heater_kwh"),
           "lower", 1, 1.0, "Room heat balance with default insulation; a room's own data matter more than the policy.",
           "rooms", "further"),
)  # fmt: skip


def _by_parity() -> list[Output]:
    return [
        Output(
            f"feed_intake_{name.lower().replace('+', '_up')}_kg_per_day",
            "kg/d",
            f"Feed eaten in lactation, {name}",
            _intake_of(index),
            "higher",
            2,
            0.05,
            _INTAKE,
            group="intake by parity",
        )
        for index, name in enumerate(PARITY_CLASSES)
    ]


def _by_task(kinds: Sequence[str]) -> list[Output]:
    return [
        Output(
            f"labour_{kind.replace(' ', '_').replace('-', '_')}_min_per_litter",
            "min",
            kind.capitalize(),
            _minutes_of(kind),
            "lower",
            1,
            0.5,
            _LABOUR,
            "tasks",
            "work by task",
        )
        for kind in kinds
    ]


def catalogue() -> dict[str, Output]:
    """Every declared output by name: the headlines, the further ones, intake by parity class, work by task."""
    kinds = next(info.labels for info in _core.tables()["tasks"] if info.name == "kind")
    return {output.name: output for output in (*HEADLINES, *FURTHER, *_by_parity(), *_by_task(kinds))}


def chosen(names: Sequence[str], *, only: bool) -> list[Output]:
    """The outputs of these names as the headlines, in this order, then, unless `only`, all others. Raises UserError."""
    known = catalogue()
    for name in names:
        if name not in known:
            nearest = difflib.get_close_matches(name, known, n=1)
            hint = f" Did you mean '{nearest[0]}'?" if nearest else ""
            raise _core.UserError(f"no output is called '{name}' (see `farrowtide outputs`).{hint}")
    if not names:
        return list(known.values())
    headlines = [replace(known[name], group="headline") for name in dict.fromkeys(names)]
    others = [output for name, output in known.items() if name not in names]
    further = [replace(output, group="further") if output.group == "headline" else output for output in others]
    return headlines if only else headlines + further


def measure(rooms: Rooms) -> pd.DataFrame:
    """Every output whose table was recorded: one row per replicate, one column per output."""
    measurable = {name: output for name, output in catalogue().items() if output.table in rooms.tables}
    return pd.DataFrame({name: output.measure(rooms) for name, output in measurable.items()})

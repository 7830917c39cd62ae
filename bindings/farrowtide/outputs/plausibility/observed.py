"""What the rooms of a result showed, counted while it is measured: animals, climate, work never done."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from functools import cache
from typing import Annotated, Any

import numpy as np
from pydantic import AfterValidator, Field, TypeAdapter

from farrowtide.outputs.plausibility.ranges import Range, ranges
from farrowtide.outputs.rooms import Columns, labels_of
from farrowtide.scenarios.plausibility.facts import HOURS_A_DAY

Tables = Mapping[str, Columns]

_MIN_PER_H = 60
Number = Annotated[int, Field(ge=0, lt=2**53)]
Amount = Annotated[float, Field(allow_inf_nan=False)]
Hours = Annotated[list[Amount], Field(min_length=HOURS_A_DAY, max_length=HOURS_A_DAY)]


def _one_of(known: Callable[[], Iterable[str]]) -> AfterValidator:
    """Of text that is read: it must be one of these names."""

    def check(name: str) -> str:
        if name not in known():
            raise ValueError("is not known")
        return name

    return AfterValidator(check)


@dataclass
class Count:
    """How many values lie outside a range, and the most extreme one with its place."""

    outside: Number = 0
    of: Number = 0
    worst: Amount = 0.0
    replicate: int = -1
    sow: int = -1

    def add(self, other: Count, limits: Range) -> None:
        """Counts the values of another part of the rooms as well."""
        if other.outside and (not self.outside or limits.excess(other.worst) > limits.excess(self.worst)):
            self.worst, self.replicate, self.sow = other.worst, other.replicate, other.sow
        self.outside += other.outside
        self.of += other.of


@dataclass
class Observed:
    """What was seen of some rooms of one arm; observations of further rooms are added."""

    counts: dict[Annotated[str, _one_of(lambda: ranges().keys())], Count] = field(default_factory=dict)
    # kind -> asked, late, undone
    tasks: dict[
        Annotated[str, _one_of(lambda: labels_of("tasks", "kind"))],
        Annotated[list[Number], Field(min_length=3, max_length=3)],
    ] = field(default_factory=dict)
    weaned_late: Number = 0
    sows: Number = 0
    moved: Number = 0
    born_alive: Number = 0
    set_aside: list[tuple[Number, str]] = field(default_factory=list)  # replicate, fault
    worked_min: Hours = field(default_factory=lambda: [0.0] * HOURS_A_DAY)  # by hour of the day
    on_duty_min: Hours = field(default_factory=lambda: [0.0] * HOURS_A_DAY)
    # sums of temperature and set point, hours
    reached: Annotated[list[Amount], Field(min_length=3, max_length=3)] = field(default_factory=lambda: [0.0, 0.0, 0.0])

    def add(self, other: Observed) -> None:
        """Adds what was seen of other rooms."""
        for name, count in other.counts.items():
            self.counts.setdefault(name, Count()).add(count, ranges()[name])
        for kind, numbers in other.tasks.items():
            self.tasks[kind] = [a + b for a, b in zip(self.tasks.get(kind, [0, 0, 0]), numbers, strict=True)]
        self.weaned_late += other.weaned_late
        self.sows += other.sows
        self.moved += other.moved
        self.born_alive += other.born_alive
        self.set_aside += other.set_aside
        for name in ("worked_min", "on_duty_min", "reached"):
            setattr(self, name, [a + b for a, b in zip(getattr(self, name), getattr(other, name), strict=True)])

    def as_json(self) -> str:
        """The text that `from_json` reads."""
        return json.dumps(self, default=vars, allow_nan=True)

    @classmethod
    def from_json(cls, text: str | bytes) -> Observed:
        """What `as_json` wrote. Raises ValueError where the text has another form."""
        return _form_of_observed().validate_json(text)


@cache
def _form_of_observed() -> TypeAdapter[Observed]:
    return TypeAdapter(Observed)


Values = tuple[np.ndarray, np.ndarray, np.ndarray | None]  # values, replicate, sow
_MEASURES: dict[str, tuple[str, Callable[[Tables], Values]]] = {}


def _measure(name: str, table: str) -> Callable[[Callable[[Tables], Values]], Callable[[Tables], Values]]:
    def register(measure: Callable[[Tables], Values]) -> Callable[[Tables], Values]:
        _MEASURES[name] = table, measure
        return measure

    return register


def _of(frame: Columns, values: Any, where: np.ndarray | None = None) -> Values:
    """Values with their replicate and sow; `where` selects rows."""
    chosen = slice(None) if where is None else where
    sow = frame["sow"][chosen] if "sow" in frame else None
    return np.asarray(values, dtype=float)[chosen], frame["replicate"][chosen], sow


@_measure("piglet_gain", "piglets")
def _piglet_gain(tables: Tables) -> Values:
    piglets = tables["piglets"]
    gained_kg = piglets["weaning_weight_kg"] - piglets["birth_weight_kg"]
    return _of(piglets, gained_kg / piglets["age_at_weaning_d"], ~np.isnan(gained_kg))


@_measure("piglet_weaning_weight", "piglets")
def _piglet_weaning_weight(tables: Tables) -> Values:
    weights_kg = tables["piglets"]["weaning_weight_kg"]
    return _of(tables["piglets"], weights_kg, ~np.isnan(weights_kg))


@_measure("lowest_backfat", "sow_days")
def _lowest_backfat(tables: Tables) -> Values:
    return _of_each_sow(tables["sow_days"], "backfat_mm", np.fmin)


@_measure("highest_backfat", "sow_days")
def _highest_backfat(tables: Tables) -> Values:
    return _of_each_sow(tables["sow_days"], "backfat_mm", np.fmax)


def _of_each_sow(days: Columns, column: str, reduce: np.ufunc) -> Values:
    """One value of each sow from those of her days."""
    first = _first_days(days)
    values = reduce.reduceat(np.asarray(days[column], dtype=float), first) if len(first) else np.zeros(0)
    return values, days["replicate"][first], days["sow"][first]


def _first_days(days: Columns) -> np.ndarray:
    """The first row of each sow."""
    return np.flatnonzero(np.diff(days["sow"], prepend=-1) | np.diff(days["replicate"], prepend=-1))


@_measure("lowest_weight", "sow_days")
def _lowest_weight(tables: Tables) -> Values:
    return _of_each_sow(tables["sow_days"], "weight_kg", np.fmin)


@_measure("highest_weight", "sow_days")
def _highest_weight(tables: Tables) -> Values:
    return _of_each_sow(tables["sow_days"], "weight_kg", np.fmax)


@_measure("weight_loss", "sows")
def _weight_loss(tables: Tables) -> Values:
    return _of(tables["sows"], tables["sows"]["weight_loss_percent"])


@_measure("farrowing_duration", "sows")
def _farrowing_duration(tables: Tables) -> Values:
    return _of(tables["sows"], tables["sows"]["farrowing_duration_min"] / _MIN_PER_H)


@_measure("days_without_feed", "sows")
def _days_without_feed(tables: Tables) -> Values:
    return _of(tables["sows"], tables["sows"]["zero_feed_days"])


@_measure("daily_intake", "sow_days")
def _daily_intake(tables: Tables) -> Values:
    return _of(tables["sow_days"], tables["sow_days"]["eaten_kg"])


@_measure("piglets_on_a_sow", "sow_days")
def _piglets_on_a_sow(tables: Tables) -> Values:
    return _of(tables["sow_days"], tables["sow_days"]["piglets"])


@_measure("daily_water", "sow_days")
def _daily_water(tables: Tables) -> Values:
    return _of(tables["sow_days"], tables["sow_days"]["water_l"])


@_measure("days_without_water", "sow_days")
def _days_without_water(tables: Tables) -> Values:
    days = tables["sow_days"]
    first = _first_days(days)
    least_l = ranges()["days_without_water"].counted_below
    assert least_l is not None
    dry = (days["water_l"] < least_l) & (days["day"] >= 1)
    counts = np.add.reduceat(dry.astype(float), first) if len(first) else np.zeros(0)
    return counts, days["replicate"][first], days["sow"][first]


def _daily_means(rooms: Columns, column: str) -> Values:
    """The mean of each day; a room has a row for each hour."""
    values = rooms[column].reshape(-1, HOURS_A_DAY).mean(axis=1)
    return values, rooms["replicate"][::HOURS_A_DAY], None


@_measure("room_temperature", "rooms")
def _room_temperature(tables: Tables) -> Values:
    return _daily_means(tables["rooms"], "temperature_deg_c")


@_measure("hourly_temperature", "rooms")
def _hourly_temperature(tables: Tables) -> Values:
    return _of(tables["rooms"], tables["rooms"]["temperature_deg_c"])


@_measure("humidity", "rooms")
def _humidity(tables: Tables) -> Values:
    return _daily_means(tables["rooms"], "relative_humidity_percent")


@_measure("set_point_not_reached", "rooms")
def _set_point_not_reached(tables: Tables) -> Values:
    rooms = tables["rooms"]
    replicate = rooms["replicate"]
    first = np.flatnonzero(np.diff(replicate, prepend=-1))
    excess = rooms["temperature_deg_c"] - rooms["set_point_deg_c"]
    hours = np.diff(np.append(first, len(replicate)))
    return np.add.reduceat(excess, first) / hours if len(first) else np.zeros(0), replicate[first], None


def observe(tables: Tables, set_aside: Iterable[tuple[int, str]] = ()) -> Observed:
    """What the recorded tables of some rooms show, by column."""
    seen = Observed(set_aside=list(set_aside))
    for name, (table, measure) in _MEASURES.items():
        if table in tables:
            seen.counts[name] = _count(ranges()[name], measure(tables))
    sows = tables["sows"]
    seen.sows = len(sows["sow"])
    seen.weaned_late = int((sows["left_as"] == labels_of("sows", "left_as").index("weaned late")).sum())
    seen.moved = int(sows["piglets_moved_in"].sum())
    seen.born_alive = int(sows["born_alive"].sum())
    if "tasks" in tables:
        seen.tasks = _tasks(tables["tasks"])
    for name, table, column in (("worked_min", "work_hours", "minutes"), ("on_duty_min", "duty_hours", "on_duty_min")):
        if table in tables:
            hours, minutes = tables[table]["hour"], tables[table][column]
            setattr(seen, name, np.bincount(hours, weights=minutes, minlength=HOURS_A_DAY).tolist())
    if "rooms" in tables:
        temperature, set_point = (tables["rooms"][column] for column in ("temperature_deg_c", "set_point_deg_c"))
        seen.reached = [float(temperature.sum()), float(set_point.sum()), float(len(temperature))]
    return seen


def _count(limits: Range, measured: Values) -> Count:
    values, replicate, sow = measured
    outside = limits.outside(values)
    count = Count(int(outside.sum()), int((~np.isnan(values)).sum()))
    if count.outside:
        excess = [limits.excess(value) for value in values[outside]]
        worst = np.flatnonzero(outside)[int(np.argmax(excess))]
        count.worst, count.replicate = float(values[worst]), int(replicate[worst])
        count.sow = -1 if sow is None else int(sow[worst])
    return count


def _tasks(tasks: Columns) -> dict[str, list[int]]:
    kinds, outcomes = labels_of("tasks", "kind"), labels_of("tasks", "outcome")
    cells = tasks["kind"].astype(np.int64) * len(outcomes) + tasks["outcome"]
    table = np.bincount(cells, minlength=len(kinds) * len(outcomes)).reshape(len(kinds), len(outcomes))
    late, undone = outcomes.index("late"), outcomes.index("undone")
    rows = zip(kinds, table, strict=True)
    return {kind: [int(row.sum()), int(row[late]), int(row[undone])] for kind, row in rows if row.any()}

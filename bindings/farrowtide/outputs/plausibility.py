"""What in a result lies outside plausible ranges, counted while it is measured: animals, climate, work never done.

The limits, with their grades and sources, are in plausible_ranges.toml.
"""

from __future__ import annotations

import json
import tomllib
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from functools import cache
from importlib import resources
from typing import Any

import numpy as np
from pydantic import TypeAdapter

from farrowtide import _core
from farrowtide.scenarios.plausibility.facts import Expected

Table = Mapping[str, np.ndarray]  # by column; categories as codes
Tables = Mapping[str, Table]

_MOST_UNDONE, _MOST_LATE = 0.5, 0.9  # of the tasks of a kind; above, their plan cannot be carried out (our own choice)
_BUSY_ENOUGH = 0.1  # of the time on duty at night
_DRY_L = 3.0  # a sow that drinks less in a day has no water
_MIN_PER_H, _HOURS, _WEANED_AT_H = 60, 24, 8


@dataclass(frozen=True)
class Range:
    """The plausible range of a measure; None: no limit."""

    name: str
    of: str
    what: str
    unit: str
    grade: str
    source: str
    advice: str
    low: float | None = None
    high: float | None = None

    def outside(self, values: np.ndarray) -> np.ndarray:
        """Which values lie outside; missing values do not."""
        below = values < self.low if self.low is not None else np.zeros(len(values), bool)
        return below | (values > self.high) if self.high is not None else below

    @property
    def limits(self) -> str:
        """The range in words, as what lies outside: "under 4 mm", "over 15 kg", "under 15 or over 30 degC"."""
        below = [] if self.low is None else [f"under {self.low:g}"]
        above = [] if self.high is None else [f"over {self.high:g}"]
        return f"{' or '.join(below + above)} {self.unit}"


@cache
def ranges() -> dict[str, Range]:
    """All ranges, by name."""
    text = resources.files("farrowtide.outputs").joinpath("plausible_ranges.toml").read_text(encoding="utf-8")
    return {name: Range(name, **entry) for name, entry in tomllib.loads(text).items()}


@dataclass
class Count:
    """How many values lie outside a range, and the most extreme one with its place."""

    outside: int = 0
    of: int = 0
    worst: float = 0.0
    replicate: int = -1
    sow: int = -1

    def add(self, other: Count, limits: Range) -> None:
        """Counts the values of another part of the rooms as well."""
        if other.outside and (not self.outside or _excess(other.worst, limits) > _excess(self.worst, limits)):
            self.worst, self.replicate, self.sow = other.worst, other.replicate, other.sow
        self.outside += other.outside
        self.of += other.of


def _excess(value: float, limits: Range) -> float:
    above = value - limits.high if limits.high is not None else -np.inf
    below = limits.low - value if limits.low is not None else -np.inf
    return float(max(above, below))


@dataclass
class Observed:
    """What was seen of some rooms of one arm; observations of further rooms are added."""

    counts: dict[str, Count] = field(default_factory=dict)
    tasks: dict[str, list[int]] = field(default_factory=dict)  # kind -> asked, late, undone
    weaned_late: int = 0
    sows: int = 0
    moved: int = 0
    born_alive: int = 0
    set_aside: list[tuple[int, str]] = field(default_factory=list)  # replicate, fault
    worked_min: list[float] = field(default_factory=lambda: [0.0] * _HOURS)  # by hour of the day
    on_duty_min: list[float] = field(default_factory=lambda: [0.0] * _HOURS)
    reached: list[float] = field(default_factory=lambda: [0.0, 0.0, 0.0])  # sums of temperature and set point, hours

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


def _of(frame: Table, values: Any, where: np.ndarray | None = None) -> Values:
    """Values with their replicate and sow; `where` selects rows."""
    chosen = slice(None) if where is None else where
    sow = frame["sow"][chosen] if "sow" in frame else None
    return np.asarray(values, dtype=float)[chosen], frame["replicate"][chosen], sow


@_measure("piglet_gain", "piglets")
def _piglet_gain(tables: Tables) -> Values:
    """By age at weaning, from the day on which the sow that reared it left; nurse sows, who farrowed elsewhere, are left out."""
    piglets, sows = tables["piglets"], tables["sows"]
    weaned = ~np.isnan(piglets["weaning_weight_kg"])
    farrowed_h = sows["farrowing_start_h"] + sows["farrowing_duration_min"] / _MIN_PER_H
    left_h = (np.floor(farrowed_h / _HOURS) + sows["lactation_length_d"]) * _HOURS + _WEANED_AT_H
    keys, rearing = _keys(sows["replicate"], sows["sow"]), _keys(piglets["replicate"], piglets["reared_by"])
    order = np.argsort(keys, kind="stable")
    left_of = left_h[order][np.searchsorted(keys[order], rearing).clip(max=len(keys) - 1)]
    age_d = np.where(weaned, left_of - piglets["birth_time_h"], np.nan) / _HOURS
    gained_kg = piglets["weaning_weight_kg"] - piglets["birth_weight_kg"]
    return _of(piglets, gained_kg / age_d, weaned)


def _keys(replicate: np.ndarray, sow: np.ndarray) -> np.ndarray:
    """One number for each sow of each replicate."""
    return replicate.astype(np.int64) << 32 | sow.astype(np.int64) & 0xFFFFFFFF


@_measure("lowest_backfat", "sow_days")
def _lowest_backfat(tables: Tables) -> Values:
    days = tables["sow_days"]
    first = _first_days(days)
    lowest = np.fmin.reduceat(np.asarray(days["backfat_mm"], dtype=float), first) if len(first) else np.zeros(0)
    return lowest, days["replicate"][first], days["sow"][first]


def _first_days(days: Table) -> np.ndarray:
    """The first row of each sow."""
    return np.flatnonzero(np.diff(days["sow"], prepend=-1) | np.diff(days["replicate"], prepend=-1))


@_measure("weaning_weight", "sows")
def _weaning_weight(tables: Tables) -> Values:
    return _of(tables["sows"], tables["sows"]["weight_at_weaning_kg"])


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


@_measure("days_without_water", "sow_days")
def _days_without_water(tables: Tables) -> Values:
    days = tables["sow_days"]
    first = _first_days(days)
    dry = (days["water_l"] < _DRY_L) & (days["day"] >= 1)
    counts = np.add.reduceat(dry.astype(float), first) if len(first) else np.zeros(0)
    return counts, days["replicate"][first], days["sow"][first]


def _daily_means(rooms: Table, column: str) -> Values:
    """The mean of each day; a room has 24 rows for each."""
    values = rooms[column].reshape(-1, 24).mean(axis=1)
    return values, rooms["replicate"][::24], None


@_measure("room_temperature", "rooms")
def _room_temperature(tables: Tables) -> Values:
    return _daily_means(tables["rooms"], "temperature_deg_c")


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
    seen.weaned_late = int((sows["left_as"] == _labels("sows", "left_as").index("weaned late")).sum())
    seen.moved = int(sows["piglets_moved_in"].sum())
    seen.born_alive = int(sows["born_alive"].sum())
    if "tasks" in tables:
        seen.tasks = _tasks(tables["tasks"])
    for name, table, column in (("worked_min", "work_hours", "minutes"), ("on_duty_min", "duty_hours", "on_duty_min")):
        if table in tables:
            hours, minutes = tables[table]["hour"], tables[table][column]
            setattr(seen, name, np.bincount(hours, weights=minutes, minlength=_HOURS).tolist())
    if "rooms" in tables:
        temperature, set_point = (tables["rooms"][column] for column in ("temperature_deg_c", "set_point_deg_c"))
        seen.reached = [float(temperature.sum()), float(set_point.sum()), float(len(temperature))]
    return seen


def _count(limits: Range, measured: Values) -> Count:
    values, replicate, sow = measured
    outside = limits.outside(values)
    count = Count(int(outside.sum()), int((~np.isnan(values)).sum()))
    if count.outside:
        excess = [_excess(value, limits) for value in values[outside]]
        worst = np.flatnonzero(outside)[int(np.argmax(excess))]
        count.worst, count.replicate = float(values[worst]), int(replicate[worst])
        count.sow = -1 if sow is None else int(sow[worst])
    return count


def _tasks(tasks: Table) -> dict[str, list[int]]:
    kinds, outcomes = _labels("tasks", "kind"), _labels("tasks", "outcome")
    cells = tasks["kind"].astype(np.int64) * len(outcomes) + tasks["outcome"]
    table = np.bincount(cells, minlength=len(kinds) * len(outcomes)).reshape(len(kinds), len(outcomes))
    late, undone = outcomes.index("late"), outcomes.index("undone")
    rows = zip(kinds, table, strict=True)
    return {kind: [int(row.sum()), int(row[late]), int(row[undone])] for kind, row in rows if row.any()}


@cache
def _labels(table: str, column: str) -> list[str]:
    """The words for the codes of a category."""
    return next(info.labels for info in _core.tables()[table] if info.name == column)


Found = tuple[str, str, str, str, tuple[str, ...]]  # kind, place, problem, advice, arms


def found_in(arms: Mapping[str, tuple[Observed, Expected]]) -> list[Found]:
    """The warnings about arms, by name: what was seen of each, and what its scenario leads one to expect.

    Each warning is given once, with the arms that it is about; a single arm needs no name.
    """
    seen_of = {name: seen for name, (seen, _) in arms.items()}
    found = [*_set_aside(seen_of), *_weaned_late(seen_of)]
    for limits in ranges().values():
        found += _outside(
            limits,
            {name: seen.counts[limits.name] for name, seen in seen_of.items() if limits.name in seen.counts},
            seen_of,
        )
    return [*found, *_never_done(seen_of), *_moved(arms), *_idle_at_night(arms)]


def _about(some: Iterable[str], every: Iterable[str]) -> tuple[str, ...]:
    """The arms to name: none where it is all of them."""
    named = tuple(some)
    return named if set(named) != set(every) else ()


def _span(percents: Iterable[float]) -> str:
    """`3.2 %`, `3.2 to 8.5 %`."""
    in_order = sorted(percents)
    ends = dict.fromkeys(f"{end:.2g}" if end < 10 else f"{end:.0f}" for end in (in_order[0], in_order[-1]))
    return f"{' to '.join(ends)} %"


def _set_aside(seen_of: Mapping[str, Observed]) -> list[Found]:
    return [
        (
            "room set aside",
            f"replicate {replicate}",
            f"the room broke off and is left out of every number: {fault}",
            f"Please report it, with the command and the seed; `farrowtide run --replicate {replicate}` repeats it.",
            _about([name], seen_of),
        )
        for name, seen in seen_of.items()
        for replicate, fault in seen.set_aside
    ]


def _weaned_late(seen_of: Mapping[str, Observed]) -> list[Found]:
    late = {name: seen for name, seen in seen_of.items() if seen.weaned_late}
    if not late:
        return []
    number, sows = sum(seen.weaned_late for seen in late.values()), sum(seen.sows for seen in late.values())
    return [
        (
            "weaned late",
            "sows.left_as",
            f"{number:,} of {sows:,} sows were still nursing when the room had to be empty, because nobody was there to wean "
            "them, and were weaned then",
            "Put people on duty on the day of weaning and after it (staff.shifts).",
            _about(late, seen_of),
        )
    ]


def _outside(limits: Range, counts: Mapping[str, Count], seen_of: Mapping[str, Observed]) -> list[Found]:
    found = {name: count for name, count in counts.items() if count.outside}
    if not found:
        return []
    arm, worst = max(found.items(), key=lambda entry: _excess(entry[1].worst, limits))
    place = [
        f"replicate {worst.replicate}",
        *([f"sow {worst.sow}"] if worst.sow > 0 else []),
        *([arm] if len(counts) > 1 else []),
    ]
    shares = _span(100 * count.outside / count.of for count in found.values())
    total, of = sum(count.outside for count in found.values()), sum(count.of for count in found.values())
    detail = ""
    if limits.name == "set_point_not_reached":
        temperature, set_point, hours = seen_of[arm].reached
        detail = f"; there, {temperature / hours:.1f} degC was reached and {set_point / hours:.1f} degC was set"
    return [
        (
            "outside plausible range",
            limits.what,
            f"{limits.limits} in {total:,} of {of:,} {limits.of} ({shares}), the most extreme {worst.worst:.3g} {limits.unit} "
            f"({', '.join(place)}){detail}",
            limits.advice,
            _about(found, counts),
        )
    ]


@cache
def until_the_end() -> set[str]:
    """Tasks whose deadline is the end of the run: what is left of them then is not left undone."""
    return {task["name"] for task in _core.tasks(_core.Coefficients.built_in()) if task["due"] == "before next group"}


def _never_done(seen_of: Mapping[str, Observed]) -> list[Found]:
    found = []
    kinds = dict.fromkeys(kind for seen in seen_of.values() for kind in seen.tasks if kind not in until_the_end())
    for kind in kinds:
        for column, how, most in ((2, "never done", _MOST_UNDONE), (1, "done late", _MOST_LATE)):
            tasks = {name: seen.tasks.get(kind, [0, 0, 0]) for name, seen in seen_of.items()}
            missed = {name: numbers for name, numbers in tasks.items() if numbers[column] > most * numbers[0]}
            if missed:
                number, asked = (sum(numbers[i] for numbers in missed.values()) for i in (column, 0))
                found.append(
                    (
                        "work not done",
                        f"task '{kind}'",
                        f"{number:,} of {asked:,} that were asked for were {how}",
                        "Plan it for hours with people on duty, or add people: its effect is not in the result.",
                        _about(missed, seen_of),
                    )
                )
    return found


def _moved(arms: Mapping[str, tuple[Observed, Expected]]) -> list[Found]:
    moved = {name: seen for name, (seen, expected) in arms.items() if seen.moved and not expected.moves}
    if not moved:
        return []
    share = _span(100 * seen.moved / seen.born_alive for seen in moved.values())
    return [
        (
            "piglets moved without fostering",
            "litter_integrity_percent",
            f"{share} of the piglets were moved though no moves are planned: those of sows that died are taken to other sows",
            "Read the share that stays with its dam against this.",
            _about(moved, arms),
        )
    ]


def _idle_at_night(arms: Mapping[str, tuple[Observed, Expected]]) -> list[Found]:
    worked_percent = {}
    for name, (seen, expected) in arms.items():
        worked, on_duty = _night(seen, expected)
        if on_duty and worked <= _BUSY_ENOUGH * on_duty:
            worked_percent[name] = 100 * worked / on_duty
    if not worked_percent:
        return []
    return [
        (
            "idle at night",
            "staff_utilisation_percent",
            f"people on duty at night work {_span(worked_percent.values())} of the time they are paid for",
            "Count paid hours as the cost of night cover, not minutes worked.",
            _about(worked_percent, arms),
        )
    ]


def _night(seen: Observed, expected: Expected) -> tuple[float, float]:
    """Minutes worked and on duty in the hours of night cover."""
    if expected.night is None:
        return 0.0, 0.0
    evening, morning = (int(hour) for hour in expected.night)
    night = [hour % _HOURS for hour in range(evening, morning + _HOURS * (morning <= evening))]
    return sum(seen.worked_min[hour] for hour in night), sum(seen.on_duty_min[hour] for hour in night)


KINDS = {
    "room set aside": "A room broke off on a fault of the engine. It is named and counted, and no number includes it.",
    "weaned late": "Nobody was there to wean, and the sows were weaned when the room had to be empty.",
    "outside plausible range": "Animals or a climate outside the ranges in the table below, with counts.",
    "work not done": "More than half of the tasks of a kind were never done, or more than 90 % were late.",
    "idle at night": "People on duty at night work less than a tenth of the time, but are paid for all of it.",
    "piglets moved without fostering": "No moves are planned, but the piglets of sows that died were taken to other sows.",
}

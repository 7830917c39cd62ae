"""What records are reduced to before a model is fitted to them: means, shares and spreads by parity class.

Each is a sum over a sum (or a standard deviation from three sums), so that a group of sows enters by three numbers, and
what a group weighs is found by leaving it out.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any, TypeAlias

import numpy as np
import pandas as pd

from farrowtide.records import Records

Array: TypeAlias = np.ndarray[Any, Any]
Measure = Callable[[pd.DataFrame], tuple[pd.Series, pd.Series]]  # numerator and denominator of each row

FIRST, LATER, ALL = "first parity", "later parities", "all parities"
LEAST_ROWS, LEAST_GROUPS = 20, 3  # of records with a value, below which a statistic is left out
WEEKS = 4
SERVED_WITHIN_D = 7


@dataclass(frozen=True)
class Quantity:
    """What is measured: from which columns of which table, in which unit, and by parity class or not.

    `fitted`: whether a fit may use it; others are only looked at, because they are set by the scenario and not by what
    is moved. `spread`: the standard deviation in place of the mean.
    """

    name: str
    label: str
    unit: str
    table: str  # "farrowings" or "days"
    columns: tuple[str, ...]
    measure: Measure
    classes: tuple[str, ...] = (FIRST, LATER)
    fitted: bool = True
    spread: bool = False
    decimals: int = 1


@dataclass(frozen=True)
class Statistic:
    """A quantity in a class of parities."""

    quantity: Quantity
    parities: str

    @property
    def name(self) -> str:
        """Its name in tables and files."""
        return self.quantity.name if self.parities == ALL else f"{self.quantity.name}, {self.parities}"

    @property
    def label(self) -> str:
        """Its name for readers."""
        label = self.quantity.label
        return label if self.parities == ALL else f"{label}, {self.parities}"


@dataclass(frozen=True)
class Sums:
    """The three sums of each group (groups x statistics): weight, weighted value, weighted square."""

    weight: Array
    value: Array
    square: Array

    @property
    def groups(self) -> int:
        return len(self.weight)

    def __getitem__(self, groups: Any) -> Sums:
        return Sums(self.weight[groups], self.value[groups], self.square[groups])

    @staticmethod
    def together(parts: Sequence[Sums]) -> Sums:
        """The groups of several."""
        joined = ([getattr(part, name) for part in parts] for name in ("weight", "value", "square"))
        return Sums(*(np.concatenate(arrays) for arrays in joined))

    def statistics(self, spread: Array) -> Array:
        """The statistics of all groups together; NaN where nothing is recorded. `spread`: which are deviations."""
        return _statistics(self.weight.sum(0), self.value.sum(0), self.square.sum(0), spread)

    def without_each(self, spread: Array) -> Array:
        """The statistics with each group left out in turn (groups x statistics)."""
        weight, value, square = (array.sum(0) - array for array in (self.weight, self.value, self.square))
        return _statistics(weight, value, square, spread)

    def covariance(self, spread: Array) -> Array:
        """The covariance of the statistics by the jackknife over groups, which are what is drawn at random."""
        without = self.without_each(spread)
        centred = np.nan_to_num(without - np.nanmean(without, axis=0))
        return np.asarray(centred.T @ centred * (self.groups - 1) / self.groups)


def _statistics(weight: Array, value: Array, square: Array, spread: Array) -> Array:
    with np.errstate(invalid="ignore", divide="ignore"):
        mean = value / weight
        deviation = np.sqrt(np.maximum(square / weight - mean**2, 0))
    return np.where(spread, deviation, mean)


def _mean(values: pd.Series) -> tuple[pd.Series, pd.Series]:
    return values, values.notna().astype(float)


def _days_between(later: pd.Series, earlier: pd.Series) -> pd.Series:
    return (later - earlier).dt.total_seconds() / 86_400


def _nursed(rows: pd.DataFrame) -> pd.Series:
    """The live-born that a sow nursed in all."""
    return rows["born_alive"] + rows["moved_in"].fillna(0) - rows["moved_out"].fillna(0)


def _mortality(rows: pd.DataFrame) -> tuple[pd.Series, pd.Series]:
    return 100 * rows["died"], _nursed(rows).where(rows["died"].notna())


def _stillborn(rows: pd.DataFrame) -> tuple[pd.Series, pd.Series]:
    return 100 * rows["stillborn"], rows["born_alive"] + rows["stillborn"]


def _weaning_weight(rows: pd.DataFrame) -> tuple[pd.Series, pd.Series]:
    return rows["litter_weight_kg"], rows["weaned"].where(rows["litter_weight_kg"].notna())


def _served_soon(rows: pd.DataFrame) -> tuple[pd.Series, pd.Series]:
    days = _days_between(rows["served_on"], rows["weaned_on"])
    return _mean((100.0 * (days <= SERVED_WITHIN_D)).where(days.notna()))


def _in_week(column: str, week: int) -> Measure:
    def measure(rows: pd.DataFrame) -> tuple[pd.Series, pd.Series]:
        within = rows["lactation_day"].between(7 * week - 6, 7 * week)
        return _mean(rows[column].where(within))

    return measure


def _feed(column: str, what: str) -> Iterator[Quantity]:
    for week in range(1, WEEKS + 1):
        label = f"Feed {what}, week {week}"
        yield Quantity(f"{what} week {week}", label, "kg/d", "days", (column,), _in_week(column, week), decimals=2)


def _farrowings(name: str, label: str, unit: str, columns: str, measure: Measure, **options: Any) -> Quantity:
    return Quantity(name, label, unit, "farrowings", tuple(columns.split()), measure, **options)


QUANTITIES: tuple[Quantity, ...] = (
    _farrowings("stillborn", "Stillborn", "%", "stillborn born_alive", _stillborn),
    _farrowings("mortality", "Live-born that died", "%", "died born_alive", _mortality),
    _farrowings(
        "piglet weight", "Piglet weight at weaning", "kg", "litter_weight_kg weaned", _weaning_weight, decimals=2
    ),
    _farrowings(
        "duration", "Farrowing duration, log mean", "log min", "duration_min",
        lambda rows: _mean(np.log(rows["duration_min"].where(rows["duration_min"] > 0))), decimals=3,
    ),
    _farrowings(
        "duration spread", "Farrowing duration, log SD", "log min", "duration_min",
        lambda rows: _mean(np.log(rows["duration_min"].where(rows["duration_min"] > 0))),
        classes=(ALL,), spread=True, decimals=3,
    ),
    _farrowings(
        "treated", "Sows treated", "%", "treatments", lambda rows: _mean((100.0 * (rows["treatments"] > 0)).where(rows["treatments"].notna())),
    ),
    _farrowings(
        "weight loss", "Sow weight loss", "kg", "weight_at_loading_kg weight_at_weaning_kg",
        lambda rows: _mean(rows["weight_at_loading_kg"] - rows["weight_at_weaning_kg"]),
    ),
    _farrowings(
        "backfat loss", "Backfat loss", "mm", "backfat_at_loading_mm backfat_at_weaning_mm",
        lambda rows: _mean(rows["backfat_at_loading_mm"] - rows["backfat_at_weaning_mm"]), decimals=2,
    ),
    _farrowings("served", f"Served within {SERVED_WITHIN_D} d of weaning", "%", "served_on weaned_on", _served_soon),
    *_feed("eaten_kg", "eaten"),
    *_feed("offered_kg", "offered"),
    Quantity("water", "Water, lactation days 1-21", "L/d", "days", ("water_l",), lambda rows: _mean(
        rows["water_l"].where(rows["lactation_day"].between(1, 21)))),
    _farrowings(
        "total born", "Total born", "piglets", "born_alive stillborn",
        lambda rows: _mean(rows["born_alive"] + rows["stillborn"]), fitted=False, decimals=2,
    ),
    _farrowings("weaned", "Piglets weaned", "piglets", "weaned", lambda rows: _mean(rows["weaned"]), fitted=False, decimals=2),
    _farrowings(
        "lactation", "Lactation length", "d", "weaned_on farrowed_on",
        lambda rows: _mean(_days_between(rows["weaned_on"], rows["farrowed_on"])), classes=(ALL,), fitted=False,
    ),
    _farrowings(
        "first parities", "Sows in first parity", "%", "parity",
        lambda rows: _mean(100.0 * (rows["parity"] == 1)), classes=(ALL,), fitted=False,
    ),
    Quantity("room temperature", "Room temperature, lactation days 1-21", "degC", "days", ("temperature_deg_c",),
        lambda rows: _mean(rows["temperature_deg_c"].where(rows["lactation_day"].between(1, 21))), classes=(ALL,), fitted=False),
)  # fmt: skip


@dataclass(frozen=True)
class Reduced:
    """Records as sums by group, in order of time."""

    group_names: list[str]
    statistics: list[Statistic]
    sums: Sums

    @classmethod
    def of(cls, records: Records, statistics: Sequence[Statistic] | None = None) -> Reduced:
        """Reduces records to these statistics; None: to all that there are."""
        farrowings = _as_numbers(records.farrowings)
        names = _groups_in_time(farrowings)
        tables = {"farrowings": farrowings, "days": _with_lactation_day(records.days, farrowings)}
        if statistics is None:
            statistics = [Statistic(quantity, parities) for quantity in QUANTITIES for parities in quantity.classes]
        codes = {name: pd.Index(names).get_indexer(pd.Index(table["group"])) for name, table in tables.items()}
        sums: dict[tuple[Quantity, str], tuple[Array, Array, Array]] = {}
        for quantity in dict.fromkeys(statistic.quantity for statistic in statistics):
            of_classes = _sums_by_class(quantity, tables[quantity.table], codes[quantity.table], len(names))
            sums |= {(quantity, parities): each for parities, each in of_classes}
        columns = [sums[statistic.quantity, statistic.parities] for statistic in statistics]
        weight, value, square = (np.stack(each, axis=1) for each in zip(*columns, strict=True))
        return cls(names, list(statistics), Sums(weight, value, square))

    def recorded(self) -> Reduced:
        """Those with enough records in enough groups; feed offered only where what was eaten is not recorded."""
        enough = ((self.sums.weight > 0).sum(0) >= LEAST_GROUPS) & (self.sums.weight.sum(0) >= LEAST_ROWS)
        eaten = any(
            s.quantity.name.startswith("eaten") for s, kept in zip(self.statistics, enough, strict=True) if kept
        )
        chosen = [
            i
            for i, statistic in enumerate(self.statistics)
            if enough[i] and not (eaten and statistic.quantity.name.startswith("offered"))
        ]
        return self.of_statistics([self.statistics[i] for i in chosen])

    def of_statistics(self, statistics: Sequence[Statistic]) -> Reduced:
        """Some of the statistics."""
        chosen = [self.statistics.index(statistic) for statistic in statistics]
        arrays = (array[:, chosen] for array in (self.sums.weight, self.sums.value, self.sums.square))
        return Reduced(self.group_names, list(statistics), Sums(*arrays))

    def of_groups(self, names: Sequence[str]) -> Reduced:
        """Some of the groups."""
        chosen = [self.group_names.index(name) for name in names]
        return Reduced(list(names), self.statistics, self.sums[chosen])


def spreads(statistics: Sequence[Statistic]) -> Array:
    """Which of them are standard deviations."""
    return np.array([statistic.quantity.spread for statistic in statistics])


def _as_numbers(farrowings: pd.DataFrame) -> pd.DataFrame:
    """With missing integers as NaN, and a group for every row."""
    numeric = farrowings.select_dtypes("number").columns
    return farrowings.astype(dict.fromkeys(numeric, float)).assign(group=group_of(farrowings))


def group_of(farrowings: pd.DataFrame) -> pd.Series:
    """The group of each row; where none is recorded, the week of farrowing, as "2026-W10"."""
    week = farrowings["farrowed_on"].dt.strftime("%G-W%V").astype("string")
    return farrowings["group"].astype("string").fillna(week).astype(str)


def _groups_in_time(farrowings: pd.DataFrame) -> list[str]:
    """Their names from the first to the last, by their mean day of farrowing."""
    return [str(name) for name in farrowings.groupby("group")["farrowed_on"].mean().sort_values(kind="stable").index]


def _with_lactation_day(days: pd.DataFrame, farrowings: pd.DataFrame) -> pd.DataFrame:
    """The days of sows from farrowing to weaning, with parity and group of their farrowing."""
    if days.empty:
        return pd.DataFrame({"group": pd.Series(dtype=str)})
    of_sow = farrowings[["sow", "farrowed_on", "weaned_on", "parity", "group"]].sort_values(
        "farrowed_on", kind="stable"
    )
    own = days[days["sow"].notna()].sort_values("date", kind="stable")
    joined = pd.merge_asof(own, of_sow, left_on="date", right_on="farrowed_on", by="sow")
    joined["lactation_day"] = _days_between(joined["date"], joined["farrowed_on"])
    nursing = joined["group"].notna() & ~(joined["date"] >= joined["weaned_on"])
    return _as_numbers(joined[nursing])


def _sums_by_class(
    quantity: Quantity, table: pd.DataFrame, codes: Array, groups: int
) -> Iterator[tuple[str, tuple[Array, Array, Array]]]:
    """The three sums of each group for every class of parities that the quantity is given for."""
    if set(quantity.columns) <= set(table.columns):
        numerator, denominator = (series.to_numpy(float) for series in quantity.measure(table))
        parity = table["parity"].to_numpy(float)
    else:
        numerator = denominator = parity = np.zeros(len(table))
    known = np.isfinite(numerator) & (denominator > 0)
    for parities in quantity.classes:
        chosen = known & _in_class(parity, parities)
        weight, value, group = denominator[chosen], numerator[chosen], codes[chosen]
        squares = value**2 / weight
        yield parities, tuple(np.bincount(group, each, groups) for each in (weight, value, squares))  # type: ignore[misc]


def _in_class(parity: Array, parities: str) -> Array:
    if parities == ALL:
        return parity > 0
    return parity == 1 if parities == FIRST else parity > 1

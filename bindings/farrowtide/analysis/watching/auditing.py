"""Closed groups beside what their protocol should have given: every output with the predictive interval of one room."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import pandas as pd

from farrowtide.analysis.watching.alarms import limits
from farrowtide.errors import PlausibilityWarning
from farrowtide.records import Records
from farrowtide.scenarios.prices import Prices
from farrowtide.scenarios.scenario import Scenario

LEVEL = 0.95  # of the predictive intervals of one room
_LEAST_SHARE_OF_DAYS = 0.9  # from farrowing to weaning, of sows that were weaned (a choice of this project)
_LEAST_SHARE = 0.5  # of the sows, for which something must be recorded
_LEAST_WEANED = 0.8  # of the sows, for a group to be closed
MARGIN = "margin"
Group = tuple[pd.DataFrame, pd.DataFrame]  # farrowings and days


@dataclass(frozen=True)
class AuditOutput:
    """An output of a closed group: measured alike in records and in simulated records."""

    name: str
    label: str
    unit: str
    decimals: int
    good: str  # "higher", "lower" or "" where neither is better
    measure: Callable[[pd.DataFrame, pd.DataFrame], float]
    price: str = ""  # the key of `prices` that one of it has, per litter
    sign: int = 1


def _mean(column: str) -> Callable[[pd.DataFrame, pd.DataFrame], float]:
    def of(farrowings: pd.DataFrame, _: pd.DataFrame) -> float:
        return _known_mean(farrowings[column])

    return of


def _known_mean(values: pd.Series) -> float:
    known = values.dropna()
    return float(known.astype(float).mean()) if len(known) >= max(_LEAST_SHARE * len(values), 1) else np.nan


def _sum_ratio(above: pd.Series, below: pd.Series) -> float:
    """In percent, of the rows that have both."""
    known = above.notna() & below.notna()
    total = float(below[known].astype(float).sum())
    enough = known.sum() >= max(_LEAST_SHARE * len(above), 1)
    return float(100 * above[known].astype(float).sum() / total) if enough and total > 0 else np.nan


def _stillborn(farrowings: pd.DataFrame, _: pd.DataFrame) -> float:
    return _sum_ratio(farrowings["stillborn"], farrowings["born_alive"] + farrowings["stillborn"])


def _died(farrowings: pd.DataFrame, _: pd.DataFrame) -> float:
    nursed = farrowings["born_alive"] + farrowings["moved_in"].fillna(0) - farrowings["moved_out"].fillna(0)
    return _sum_ratio(farrowings["died"], nursed)


def _lost(name: str) -> Callable[[pd.DataFrame, pd.DataFrame], float]:
    def of(farrowings: pd.DataFrame, _: pd.DataFrame) -> float:
        return _known_mean(farrowings[name.format("loading")] - farrowings[name.format("weaning")])

    return of


def _long(farrowings: pd.DataFrame, _: pd.DataFrame) -> float:
    duration = farrowings["duration_min"].astype("Float64")
    return 100 * _known_mean((duration > limits()["long_farrowing_min"]).astype("Float64").where(duration.notna()))


def _of_days(column: str) -> Callable[[pd.DataFrame, pd.DataFrame], float]:
    """The mean of lactation days from 1 on."""

    def of(farrowings: pd.DataFrame, days: pd.DataFrame) -> float:
        known = days.loc[days["lactation_day"] >= 1, ["sow", column]].dropna()
        return float(known[column].astype(float).mean()) if _enough(farrowings, known) else np.nan

    return of


def _temperature(_: pd.DataFrame, days: pd.DataFrame) -> float:
    known = days.loc[days["lactation_day"] >= 1, "temperature_deg_c"].dropna()
    return float(known.astype(float).mean()) if len(known) else np.nan


def _offered(farrowings: pd.DataFrame, days: pd.DataFrame) -> float:
    """Per litter, over the whole stay."""
    known = days[["sow", "lactation_day", "offered_kg"]].dropna()
    enough = _enough(farrowings, known[known["lactation_day"] >= 1])
    return float(known["offered_kg"].sum() / known["sow"].nunique()) if enough else np.nan


def _enough(farrowings: pd.DataFrame, known: pd.DataFrame) -> bool:
    """Whether lactation days of most sows and nearly all of their days are known: an output of some days is not one of all."""
    stays = (farrowings["weaned_on"] - farrowings["farrowed_on"]).dt.days
    sows = known["sow"].nunique() >= max(_LEAST_SHARE * len(farrowings), 1)
    return bool(sows and len(known) >= _LEAST_SHARE_OF_DAYS * stays.sum())


OUTPUTS = (
    AuditOutput("born_alive", "piglets born alive per litter", "piglets", 2, "higher", _mean("born_alive")),
    AuditOutput("stillborn_percent", "stillborn piglets", "%", 1, "lower", _stillborn),
    AuditOutput("died_percent", "live-born piglets that died before weaning", "%", 1, "lower", _died),
    AuditOutput("weaned", "piglets weaned per litter", "piglets", 2, "higher", _mean("weaned"), "weaned_piglet"),
    AuditOutput("litter_weight_kg", "litter weight at weaning", "kg", 1, "higher", _mean("litter_weight_kg"), "weaned_kg"),
    AuditOutput("duration_min", "farrowing duration", "min", 0, "lower", _mean("duration_min")),
    AuditOutput("long_percent", "long farrowings", "%", 0, "lower", _long),
    AuditOutput("weight_loss_kg", "sow weight, loading less weaning", "kg", 1, "", _lost("weight_at_{}_kg")),
    AuditOutput("backfat_loss_mm", "backfat P2, loading less weaning", "mm", 1, "", _lost("backfat_at_{}_mm")),
    AuditOutput("treatments", "courses of treatment per sow", "courses", 2, "lower", _mean("treatments"), "treatment", -1),
    AuditOutput("eaten_kg", "feed eaten per sow", "kg/d", 2, "higher", _of_days("eaten_kg")),
    AuditOutput("water_l", "water drunk per sow", "L/d", 1, "", _of_days("water_l")),
    AuditOutput("offered_kg", "feed offered per litter", "kg", 1, "", _offered, "feed_per_kg", -1),
    AuditOutput("temperature_deg_c", "room temperature", "degC", 1, "", _temperature),
)  # fmt: skip


@dataclass(frozen=True)
class AuditTables:
    """Closed groups beside the model.

    `table`: one row per group and output with `value`, `expected`, `low` and `high` (the 95 % predictive interval of one room of as
    many sows) and `outside`; with prices, also `worth`: what the difference from the expectation is worth for the whole
    group. Rows of the output `margin` are the sum of what has a price and is recorded. `open_groups`: those not yet weaned.
    """

    scenario: Scenario
    table: pd.DataFrame
    groups: pd.DataFrame
    open_groups: list[str]
    replications: int
    provenance: dict[str, Any]
    warnings: tuple[PlausibilityWarning, ...] = field(default=())


def closed_groups(records: Records) -> tuple[list[tuple[str, Group]], list[str]]:
    """The groups that are weaned, by name (room and group), and the names of those that are not."""
    farrowings = records.farrowings
    days = records.days[records.days["sow"].notna()].drop(columns="room")
    keyed = farrowings.assign(
        name=(farrowings["room"].fillna("") + " " + farrowings["group"].fillna("")).str.strip(),
        stay=range(len(farrowings)),
    )
    joined = days.merge(keyed[["sow", "stay", "farrowed_on", "weaned_on", "loaded_on"]], on="sow")
    joined["lactation_day"] = (joined["date"] - joined["farrowed_on"]).dt.days
    begun = joined["loaded_on"].fillna(joined["farrowed_on"])
    joined = joined[(joined["date"] >= begun) & (joined["date"] <= joined["weaned_on"].fillna(joined["date"]))]
    closed, still_open = [], []
    for name, group in keyed.groupby("name", sort=True):
        if group["weaned_on"].notna().mean() < _LEAST_WEANED:
            still_open.append(str(name))
        else:
            closed.append((str(name), (group, joined[joined["stay"].isin(group["stay"])])))
    return closed, still_open


def measured(group: Group, prices: Prices | None) -> dict[str, float]:
    """Every output of a group; with prices, what has one and is recorded together, per litter."""
    found = {output.name: output.measure(*group) for output in OUTPUTS}
    return found | ({MARGIN: _margin(found, prices)} if prices else {})


def _margin(found: Mapping[str, float], prices: Prices) -> float:
    parts = [output.sign * prices.given[output.price] * found[output.name] for output in priced(prices)]
    recorded = [part for part in parts if not np.isnan(part)]
    return float(sum(recorded)) if recorded else np.nan


def priced(prices: Prices) -> Iterator[AuditOutput]:
    """The outputs with a price."""
    return (output for output in OUTPUTS if output.price in prices.given)


def loaded_on(group: Group, days_before_due: int) -> datetime.date:
    """The median day on which the sows of a group were loaded."""
    farrowings = group[0]
    loaded = (
        farrowings["loaded_on"].fillna(farrowings["farrowed_on"] - pd.Timedelta(days=days_before_due)).sort_values()
    )
    return pd.Timestamp(loaded.iloc[(len(loaded) - 1) // 2]).date()


def outputs_of_rooms(rooms: Records) -> pd.DataFrame:
    """Every output of simulated rooms, a row for each."""
    return pd.DataFrame([measured(room, None) for _, room in closed_groups(rooms)[0]])


def beside(name: str, group: Group, outputs: pd.DataFrame, prices: Prices | None) -> pd.DataFrame:
    """The outputs of a group beside those of simulated rooms."""
    simulated = outputs.copy()
    observed = measured(group, prices)
    compared, per_unit = list(OUTPUTS), {}
    if prices:
        compared.append(_in_money(prices))
        per_unit = {MARGIN: 1.0} | {output.name: output.sign * prices.given[output.price] for output in priced(prices)}
        recorded = [output for output in priced(prices) if not np.isnan(observed[output.name])]
        simulated[MARGIN] = sum((per_unit[output.name] * simulated[output.name] for output in recorded), start=0.0)
    litters = len(group[0])
    tail = (1 - LEVEL) / 2
    rows = []
    for output in compared:
        of_rooms, value = simulated[output.name].dropna().to_numpy(dtype=float), observed[output.name]
        if np.isnan(value) or len(of_rooms) < 2:
            continue
        low, high = np.quantile(of_rooms, [tail, 1 - tail], method="weibull")
        expected = float(of_rooms.mean())
        worth = per_unit.get(output.name, np.nan) * (value - expected) * litters
        rows.append(
            {
                "group": name,
                "output": output.name,
                "label": output.label,
                "unit": output.unit,
                "decimals": output.decimals,
                "value": value,
                "expected": expected,
                "low": float(low),
                "high": float(high),
                "outside": bool(value < low or value > high),
                "better": _better(output.good, value - expected),
                **({"worth": worth} if prices else {}),
            }
        )
    return pd.DataFrame(rows)


def _in_money(prices: Prices) -> AuditOutput:
    label = "recorded parts of the margin, per litter"
    return AuditOutput(MARGIN, label, prices.currency, 1, "higher", lambda *_: np.nan)


def _better(good: str, difference: float) -> str:
    if not good or difference == 0:
        return ""
    return "better" if (difference > 0) == (good == "higher") else "worse"

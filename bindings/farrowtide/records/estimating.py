"""What a farm's records say of its herd and rooms, as values of a scenario's keys with their standard errors."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from farrowtide import _core
from farrowtide.outputs.units import count
from farrowtide.records.tables import Records
from farrowtide.scenarios.declarations import Declaration, declaration, visit

_FEWEST_FOR_MEAN, _FEWEST_FOR_SD = 10, 30  # litters; judgement
_OLDEST_OF_SHARES = 12  # the most shares that the key holds; older sows count with those of this parity
_SEASONS = {"winter": (12, 1, 2), "spring": (3, 4, 5), "summer": (6, 7, 8), "autumn": (9, 10, 11)}


@dataclass(frozen=True)
class Estimate:
    """The value of a scenario's key by the records: `records` is the number of rows behind it."""

    key: str
    value: Any  # as a file holds it
    standard_error: float | None  # None of a date or a whole number
    records: int
    said: str  # what it is, in words

    @property
    def comment(self) -> str:
        """What stands behind it in the file."""
        error = "" if self.standard_error is None else f", standard error {self.standard_error:.2g}"
        return f"{self.said}: {count(self.records, 'record')}{error}"


@dataclass(frozen=True)
class Unsaid:
    """A key that the records say nothing of, and why."""

    key: str
    reason: str


def estimates(records: Records, coefficients: _core.Coefficients) -> list[Estimate | Unsaid]:
    """Every key that records can say something of, in the order of a scenario file.

    A value outside the key's range is not used. `coefficients` are those of the scenario that the values are for.
    """
    litters = records.farrowings
    found = [
        _start(litters, coefficients),
        _crates(litters),
        _lactation_days(litters),
        _days_before_due(litters),
        _parity_shares(litters),
        *_total_born(litters, coefficients),
        *_weights(litters, coefficients),
        *_backfat(litters),
        _birth_weight(litters, coefficients),
    ]
    return [_in_range(each) for each in found]


def _in_range(found: Estimate | Unsaid) -> Estimate | Unsaid:
    if isinstance(found, Unsaid):
        return found
    key = _declared()[found.key]
    values = found.value if isinstance(found.value, list) else [found.value]
    low, high = key.low, key.high
    outside = [
        value
        for value in values
        if isinstance(value, (int, float)) and not (low is None or high is None or low <= value <= high)
    ]
    if not outside:
        return found
    return Unsaid(found.key, f"{outside[0]:g} by {count(found.records, 'record')} is outside its range, {key.range}")


def _declared() -> dict[str, Declaration]:
    return {path: key for key, path, _ in visit(declaration().keys)}


def _start(litters: pd.DataFrame, coefficients: _core.Coefficients) -> Estimate:
    """The middle day of loading in the latest of the seasons that have most farrowings.

    Where it is not recorded, sows are taken to have been loaded as many days before they farrowed as by default.
    """
    usual = pd.Timedelta(days=coefficients.find("sow.herd.loading_before_mean_due_date").value[0])
    days = litters["loaded_on"].fillna(litters["farrowed_on"] - usual)
    season_of_month = {month: season for season, months in _SEASONS.items() for month in months}
    seasons = days.dt.month.map(season_of_month)
    most = seasons.value_counts(sort=False).reindex(list(_SEASONS), fill_value=0).idxmax()
    chosen = days[seasons == most].sort_values()
    # December belongs to the winter of the year after it.
    year = chosen.dt.year + (chosen.dt.month == 12)
    latest = chosen[year == year.max()]
    middle = latest.iloc[len(latest) // 2]
    said = f"a day of loading in {most}, when most sows farrowed"
    return Estimate("start", middle.date(), None, len(chosen), said)


def _crates(litters: pd.DataFrame) -> Estimate | Unsaid:
    """The usual number of sows that were together in a room."""
    known = litters[litters["group"].notna()]
    if known.empty:
        return Unsaid("room.crates", "neither groups nor days of loading are recorded")
    sizes = known.groupby(["group", known["room"].fillna("")]).size()
    said = f"median of sows in a room and group, {sizes.min()} to {sizes.max()}"
    return Estimate("room.crates", int(sizes.median()), None, len(sizes), said)


def _lactation_days(litters: pd.DataFrame) -> Estimate | Unsaid:
    days = (litters["weaned_on"] - litters["farrowed_on"]).dt.days.dropna()
    return _whole_days("group.lactation_days", days, "mean days from farrowing to weaning")


def _days_before_due(litters: pd.DataFrame) -> Estimate | Unsaid:
    days = (litters["farrowed_on"] - litters["loaded_on"]).dt.days.dropna()
    return _whole_days("loading.days_before_due", days, "mean days from loading to farrowing")


def _whole_days(key: str, days: pd.Series, said: str) -> Estimate | Unsaid:
    if len(days) < _FEWEST_FOR_MEAN:
        return _too_few(key, len(days), _FEWEST_FOR_MEAN)
    error = days.std(ddof=1) / np.sqrt(len(days))
    return Estimate(key, int(np.rint(days.mean())), float(error), len(days), f"{said}, {days.mean():.1f}")


def _parity_shares(litters: pd.DataFrame) -> Estimate | Unsaid:
    parities = litters["parity"].dropna().astype(int).clip(upper=_OLDEST_OF_SHARES)
    if len(parities) < _FEWEST_FOR_SD:
        return _too_few("herd.parity_shares", len(parities), _FEWEST_FOR_SD)
    shares = parities.value_counts(normalize=True).reindex(range(1, parities.max() + 1), fill_value=0.0)
    error = float(np.sqrt((shares * (1 - shares)).max() / len(parities)))
    said = f"shares of parity 1 to {len(shares)}; the error is that of the share with the largest"
    return Estimate("herd.parity_shares", [round(share, 3) for share in shares], error, len(parities), said)


def _total_born(litters: pd.DataFrame, coefficients: _core.Coefficients) -> Iterator[Estimate | Unsaid]:
    """Mean and standard deviation as the engine has them: litter size = mean * ratio of the parity + deviation.

    The mean is fitted by least squares, its standard error between sows, because litters of one sow are alike. The
    deviation is taken within parities, less what rounding to whole piglets adds to its variance (Sheppard's correction).
    """
    born = (litters["born_alive"] + litters["stillborn"]).astype(float)
    parities = litters["parity"].astype(int)
    ratio = _by_parity(coefficients, "sow.herd.total_born_parity_multiplier", parities)
    mean_key, sd_key = "herd.total_born_mean", "herd.total_born_sd"
    if len(born) < _FEWEST_FOR_MEAN:
        yield _too_few(mean_key, len(born), _FEWEST_FOR_MEAN)
    else:
        mean, error = _ratio_mean(born, ratio, litters["sow"])
        yield Estimate(mean_key, round(mean, 2), error, len(born), "mean total born, at equal ratios of parities")
    within = born - born.groupby(parities).transform("mean")
    freedom = len(born) - parities.nunique()
    if freedom < _FEWEST_FOR_SD:
        yield _too_few(sd_key, len(born), _FEWEST_FOR_SD)
    else:
        rounding = 1 / 12
        sd = float(np.sqrt(max(0.0, (within**2).sum() / freedom - rounding)))
        yield Estimate(sd_key, round(sd, 2), _error_of_sd(within, freedom), len(born), "within parities")


def _weights(litters: pd.DataFrame, coefficients: _core.Coefficients) -> Iterator[Estimate | Unsaid]:
    """Weight without the unborn litter, relative to the default of the same parity."""
    known = litters[litters["weight_at_loading_kg"].notna()]
    level_key, cv_key = "herd.weight_level", "herd.weight_cv"
    if len(known) < _FEWEST_FOR_MEAN:
        yield from (_too_few(key, len(known), _FEWEST_FOR_MEAN) for key in (level_key, cv_key))
        return
    carried_kg = coefficients.find("sow.herd.weight_per_piglet_carried").value[0]
    born = (known["born_alive"] + known["stillborn"]).astype(float)
    own_kg = known["weight_at_loading_kg"].astype(float) - carried_kg * born
    usual_kg = _by_parity(coefficients, "sow.herd.weight_after_farrowing", known["parity"].astype(int))
    relative = own_kg / usual_kg
    level, error = _ratio_mean(relative, pd.Series(1.0, index=relative.index), known["sow"])
    said = "weight at loading without the litter, of the default of the parity"
    yield Estimate(level_key, round(level, 3), error, len(known), said)
    if len(known) < _FEWEST_FOR_SD:
        yield _too_few(cv_key, len(known), _FEWEST_FOR_SD)
        return
    deviation = (relative - level) / level
    cv = float(deviation.std(ddof=1))
    yield Estimate(cv_key, round(cv, 3), _error_of_sd(deviation, len(deviation) - 1), len(known), "within parities")


def _backfat(litters: pd.DataFrame) -> Iterator[Estimate | Unsaid]:
    known = litters[litters["backfat_at_loading_mm"].notna()]
    depths = known["backfat_at_loading_mm"].astype(float)
    if len(known) < _FEWEST_FOR_MEAN:
        yield _too_few("herd.backfat_mean", len(known), _FEWEST_FOR_MEAN)
    else:
        mean, error = _ratio_mean(depths, pd.Series(1.0, index=depths.index), known["sow"])
        yield Estimate("herd.backfat_mean", round(mean, 1), error, len(known), "P2 at loading")
    if len(known) < _FEWEST_FOR_SD:
        yield _too_few("herd.backfat_sd", len(known), _FEWEST_FOR_SD)
    else:
        sd = float(depths.std(ddof=1))
        said = "P2 at loading"
        yield Estimate(
            "herd.backfat_sd", round(sd, 1), _error_of_sd(depths - depths.mean(), len(depths) - 1), len(known), said
        )


def _birth_weight(litters: pd.DataFrame, coefficients: _core.Coefficients) -> Estimate | Unsaid:
    """The mean of a litter as if it were of the reference size and not of a first parity, as the engine has it.

    Litters are weighted alike, and what the size takes off is that of the litter expected of all piglets born.
    """
    key = "herd.birth_weight_mean"
    known = litters[litters["litter_weight_at_birth_kg"].notna() & (litters["born_alive"] > 0)]
    if len(known) < _FEWEST_FOR_MEAN:
        return _too_few(key, len(known), _FEWEST_FOR_MEAN)
    of = {
        name: coefficients.find(f"litter.birth_weight.{name}").value[0]
        for name in ("size_slope", "size_centre", "first_parity", "expected_born_alive_share")
    }
    born = (known["born_alive"] + known["stillborn"]).astype(float)
    mean_kg = known["litter_weight_at_birth_kg"].astype(float) / known["born_alive"].astype(float)
    at_reference = (
        mean_kg
        + of["size_slope"] * (of["expected_born_alive_share"] * born - of["size_centre"])
        + of["first_parity"] * (known["parity"] == 1).astype(float)
    )
    mean, error = _ratio_mean(at_reference, pd.Series(1.0, index=known.index), known["sow"])
    said = f"at {of['size_centre']:g} born alive, not of a first parity"
    return Estimate(key, round(mean, 3), error, len(known), said)


def _by_parity(coefficients: _core.Coefficients, path: str, parities: pd.Series) -> pd.Series:
    """The entries of a table by parity, whose last serves all later ones."""
    table = np.array(coefficients.find(path).value)
    return pd.Series(table[np.minimum(parities.to_numpy(), len(table)) - 1], index=parities.index)


def _ratio_mean(values: pd.Series, ratio: pd.Series, sows: pd.Series) -> tuple[float, float]:
    """The m of values = m * ratio + deviation by least squares, and its standard error with deviations alike in a sow.

    The error is the usual one of clusters (Liang & Zeger 1986, Biometrika 73:13), with its factor for few of them.
    """
    weight = float((ratio**2).sum())
    mean = float((ratio * values).sum()) / weight
    of_sow = (ratio * (values - mean * ratio)).groupby(sows.astype("object")).sum()
    few = len(of_sow) / max(1, len(of_sow) - 1)
    return mean, float(np.sqrt(few * (of_sow**2).sum())) / weight


def _error_of_sd(deviations: pd.Series, freedom: int) -> float:
    """The standard error of a standard deviation from the fourth moment: no shape of the distribution is assumed."""
    second, fourth = float((deviations**2).mean()), float((deviations**4).mean())
    if second == 0:
        return 0.0
    few = len(deviations) / freedom
    return float(np.sqrt(few * max(0.0, fourth - second**2) / len(deviations) / second)) / 2 * float(np.sqrt(few))


def _too_few(key: str, records: int, needed: int) -> Unsaid:
    return Unsaid(key, f"{records} records; at least {needed} are needed" if records else "nothing is recorded of it")

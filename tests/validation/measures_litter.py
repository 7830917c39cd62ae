"""What trials of farrowings and piglets measured: each takes a Result and a row, and gives one number per replicate.

Rows name a column and choose animals by ranges of columns, low <= value < high: `of` those it is about, `are` those it
counts. Beside the columns of the tables there are those that `_born` and `_litters` add. What is no mean (a quantile, a
slope) comes as pseudo-values over ten groups of replicates, whose mean and spread are those of the estimate.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np
import pandas as pd

from farrowtide import Result

LITTER = ["replicate", "sow"]
GROUPS = 10
DIED = ["died", "died of a prolapse", "died of thirst", "died of hunger", "died of heat"]  # how a sow left


# --- animals ----------------------------------------------------------------------------------------------------------


def _chosen(animals: pd.DataFrame, ranges: Mapping[str, list[float]]) -> pd.Series:
    yes = pd.Series(True, index=animals.index)
    for column, (low, high) in ranges.items():
        yes &= (animals[column] >= low) & ((animals[column] < high) | (high == np.inf))
    return yes


def _of(animals: pd.DataFrame, row: dict) -> pd.DataFrame:
    return animals[_chosen(animals, row["of"])] if "of" in row else animals


def _litters(result: Result, row: dict) -> pd.DataFrame:
    """Sows that farrowed, with what their litter and its first day came to.

    `onset_clock_h` is the hour of the day of the first birth, `ill_after_treatment_d` how long she was ill once treated.
    """
    sows = result.sows[result.sows.farrowing_duration_min.notna()].set_index(LITTER)
    alive = result.piglets[result.piglets.fate != "stillborn"]
    of_a_day = alive[~(alive.age_at_death_d < 1)]
    colostrum_g = alive.groupby(LITTER).colostrum_g.sum()
    litters = sows.copy().assign(
        onset_clock_h=sows.farrowing_start_h % 24,
        stillborn_percent=100 * sows.stillborn / sows.total_born,
        alive_after_a_day=of_a_day.groupby(LITTER).size(),
        colostrum_kg=colostrum_g / 1000,
        colostrum_per_piglet_g=colostrum_g / sows.born_alive,
        ill_after_treatment_d=sows.disorder_days - (sows.treated_h - sows.disorder_onset_h) / 24,
    )
    return _of(litters.reset_index(), row)


def _born(result: Result, row: dict) -> pd.DataFrame:
    """Piglets with their litter's columns.

    `quarter` and `third` count births in order; `dead_at_birth`, `died` (live-born) and `lost` (either) are 0 or 1, as
    is `lost_by_a_day` (born dead, or dead within a day); `lived_d` is without end for those weaned; `scoured_share` is
    that of the live-born litter; `gain_g_per_day` is from birth to weaning by whoever reared it; `since_first_birth_min`
    is the labour before its birth, `colostrum_g_per_kg` what it drank per kg of birth weight.
    """
    litters = result.sows.rename(columns={"stillborn": "stillborn_in_litter"}).set_index(LITTER)
    last_birth_d = litters.farrowing_start_h / 24 + litters.farrowing_duration_min / 1440
    weaned_d = (np.floor(last_birth_d) + litters.lactation_length_d).rename_axis(["replicate", "reared_by"])
    born = result.piglets.join(litters, on=LITTER).join(weaned_d.rename("weaned_d"), on=["replicate", "reared_by"])
    gain_kg, days = born.weaning_weight_kg - born.birth_weight_kg, born.weaned_d - born.birth_time_h / 24
    return _of(
        born.copy().assign(  # in one block, to which columns are added fast
            quarter=np.ceil(4 * born.birth_order / born.total_born),
            third=np.ceil(3 * born.birth_order / born.total_born),
            dead_at_birth=(born.fate == "stillborn").astype(int),
            died=(born.fate == "died").astype(int),
            lost=born.fate.isin(["stillborn", "died"]).astype(int),
            lost_by_a_day=((born.fate == "stillborn") | (born.age_at_death_d < 1)).astype(int),
            lived_d=born.age_at_death_d.fillna(np.inf),
            since_first_birth_min=60 * (born.birth_time_h - born.farrowing_start_h),
            colostrum_g_per_kg=born.colostrum_g / born.birth_weight_kg,
            scoured_share=born.groupby(LITTER).scoured.transform("sum") / born.born_alive.clip(lower=1),
            gain_g_per_day=1000 * gain_kg / days,
        ),
        row,
    )


def _live_born(result: Result, row: dict) -> pd.DataFrame:
    born = _born(result, row)
    return born[born.dead_at_birth == 0]


# --- estimates --------------------------------------------------------------------------------------------------------


def _mean(result: Result, values: pd.Series, replicate: pd.Series) -> pd.Series:
    """Of all animals together: the ratio of sums, linearised, so that its mean is the ratio and its spread its error."""
    rooms = values.dropna().groupby(replicate).agg(["sum", "size"]).reindex(range(result.replications), fill_value=0)
    ratio = rooms["sum"].sum() / rooms["size"].sum()
    return ratio + (rooms["sum"] - ratio * rooms["size"]) / rooms["size"].mean()


def _percent(result: Result, animals: pd.DataFrame, row: dict) -> pd.Series:
    return _mean(result, 100.0 * _chosen(animals, row["are"]), animals.replicate)


def _jackknifed(animals: pd.DataFrame, estimate: Callable[[pd.DataFrame], float]) -> np.ndarray:
    group = animals.replicate % GROUPS
    without = np.array([estimate(animals[group != g]) for g in range(GROUPS)])
    return GROUPS * estimate(animals) - (GROUPS - 1) * without


def _compared(animals: pd.DataFrame, row: dict, way: Callable[[float, float], float]) -> np.ndarray:
    """Mean of `column` in those that `are` so, held against that in those `beside` them (all, if nothing is said)."""

    def compare(those: pd.DataFrame) -> float:
        chosen, others = _chosen(those, row["are"]), _chosen(those, row.get("beside", {}))
        return way(those[row["column"]][chosen].mean(), those[row["column"]][others].mean())

    return _jackknifed(animals, compare)


def _slope(animals: pd.DataFrame, y: str, x: str) -> float:
    both = animals[[x, y]].dropna()
    return float(np.polyfit(both[x], both[y], 1)[0])


# --- litters ----------------------------------------------------------------------------------------------------------


def litter_mean(result: Result, row: dict) -> pd.Series:
    litters = _litters(result, row)
    return _mean(result, litters[row["column"]], litters.replicate)


def litter_sd(result: Result, row: dict) -> np.ndarray:
    return _jackknifed(_litters(result, row), lambda litters: litters[row["column"]].std())


def litter_quantile(result: Result, row: dict) -> np.ndarray:
    return _jackknifed(_litters(result, row), lambda litters: litters[row["column"]].quantile(row["quantile"]))


def litter_slope(result: Result, row: dict) -> np.ndarray:
    """Change of `column` per unit of `on`, over litters."""
    return _jackknifed(_litters(result, row), lambda litters: _slope(litters, row["column"], row["on"]))


def litter_ratio(result: Result, row: dict) -> np.ndarray:
    return _compared(_litters(result, row), row, lambda chosen, others: chosen / others)


def litter_difference(result: Result, row: dict) -> np.ndarray:
    return _compared(_litters(result, row), row, lambda chosen, others: chosen - others)


def litters_percent(result: Result, row: dict) -> pd.Series:
    return _percent(result, _litters(result, row), row)


def litters_with_deaths_percent(result: Result, row: dict) -> pd.Series:
    """Litters of which a live-born piglet died at these ages (`days`)."""
    litters = _hit(result, row)
    return _mean(result, litters.hit_percent, litters.replicate)


def litters_with_deaths_difference(result: Result, row: dict) -> np.ndarray:
    return _compared(_hit(result, row), row | {"column": "hit_percent"}, lambda chosen, others: chosen - others)


def weighed_litter_slope(result: Result, row: dict) -> np.ndarray:
    """Change of `column` per unit of `on`, over litters with the columns of `_weighed_litters`."""
    return _jackknifed(_weighed_litters(result, row), lambda litters: _slope(litters, row["column"], row["on"]))


def weighed_litter_correlation(result: Result, row: dict) -> np.ndarray:
    """Between `column` and `on`, over litters with the columns of `_weighed_litters`."""
    return _jackknifed(_weighed_litters(result, row), lambda litters: litters[row["column"]].corr(litters[row["on"]]))


def _weighed_litters(result: Result, row: dict) -> pd.DataFrame:
    """Litters with the weights of their piglets, counted with the dam that bore them.

    `birth_weight_mean_kg` is of all born; `live_birth_weight_kg` is the sum and `birth_weight_cv_percent` the spread of
    the live-born; `weaning_weight_cv_percent` is the spread of those weaned, `survived_percent` their share of the
    live-born.
    """
    alive = result.piglets[result.piglets.fate != "stillborn"].groupby(LITTER)
    litters = _litters(result, {}).set_index(LITTER)
    weighed = litters.assign(
        birth_weight_mean_kg=result.piglets.groupby(LITTER).birth_weight_kg.mean(),
        live_birth_weight_kg=alive.birth_weight_kg.sum(),
        birth_weight_cv_percent=100 * alive.birth_weight_kg.std() / alive.birth_weight_kg.mean(),
        weaning_weight_cv_percent=100 * alive.weaning_weight_kg.std() / alive.weaning_weight_kg.mean(),
        survived_percent=100 - 100 * litters.died_before_weaning / litters.born_alive,
    )
    return _of(weighed.reset_index(), row)


def farrowings_met_percent(result: Result, row: dict) -> pd.Series:
    """Farrowings of which some part falls between these hours of a day (`hours`, within one day)."""
    first, last = row["hours"]
    litters = _litters(result, row)
    from_h = litters.farrowing_start_h % 24
    until_h = from_h + litters.farrowing_duration_min / 60
    met = ((from_h < last) & (until_h > first)) | (until_h > first + 24)
    return _mean(result, 100.0 * met, litters.replicate)


def ill_within_percent(result: Result, row: dict) -> pd.Series:
    """Of the sows with the post-partum disorder, those that fell ill within so many `hours` of the last birth."""
    litters = _litters(result, row)
    ill = litters[litters.disorder_onset_h.notna()]
    return _mean(result, 100.0 * (ill.disorder_onset_h <= row["hours"]), ill.replicate)


def _hit(result: Result, row: dict) -> pd.DataFrame:
    dead = result.piglets[result.piglets.age_at_death_d.between(*row["days"], inclusive="left")]
    litters = _litters(result, row)
    nursed_by = dead.assign(sow=dead.reared_by.where(dead.reared_by > 0, dead.sow))
    hit = pd.MultiIndex.from_frame(litters[LITTER]).isin(pd.MultiIndex.from_frame(nursed_by[LITTER]))
    return litters.assign(hit_percent=100.0 * hit)


def dispersion_of_deaths(result: Result, row: dict) -> np.ndarray:
    """k of the negative binomial, by moments, of live-born piglets that died in a litter."""

    def k(litters: pd.DataFrame) -> float:
        dead = litters.died_before_weaning
        return dead.mean() ** 2 / (dead.var() - dead.mean())

    return _jackknifed(_litters(result, row), k)


def stillborn_in_quartile_percent(result: Result, row: dict) -> np.ndarray:
    """Born dead in the litters of a `quartile` (1 to 4) of `column`."""

    def percent(litters: pd.DataFrame) -> float:
        quartile = pd.qcut(litters[row["column"]], 4, labels=False) + 1
        sums = litters[quartile == row["quartile"]][["stillborn", "total_born"]].sum()
        return 100 * sums.stillborn / sums.total_born

    return _jackknifed(_litters(result, row), percent)


# --- piglets ----------------------------------------------------------------------------------------------------------


def born_mean(result: Result, row: dict) -> pd.Series:
    """Of all born, alive or dead."""
    born = _born(result, row)
    return _mean(result, born[row["column"]], born.replicate)


def born_percent(result: Result, row: dict) -> pd.Series:
    return _percent(result, _born(result, row), row)


def live_born_mean(result: Result, row: dict) -> pd.Series:
    born = _live_born(result, row)
    return _mean(result, born[row["column"]], born.replicate)


def live_born_percent(result: Result, row: dict) -> pd.Series:
    return _percent(result, _live_born(result, row), row)


def live_born_sd(result: Result, row: dict) -> np.ndarray:
    return _jackknifed(_live_born(result, row), lambda born: born[row["column"]].std())


def live_born_slope(result: Result, row: dict) -> np.ndarray:
    return _jackknifed(_live_born(result, row), lambda born: _slope(born, row["column"], row["on"]))


def born_slope(result: Result, row: dict) -> np.ndarray:
    """Change of `column` per unit of `on`, over all piglets born."""
    return _jackknifed(_born(result, row), lambda born: _slope(born, row["column"], row["on"]))


def spread_within_litters(result: Result, row: dict) -> pd.Series:
    """Mean over litters of the standard deviation among live-born litter-mates, or of their coefficient of variation."""
    litters = _live_born(result, row).groupby(LITTER)[row["column"]].agg(["mean", "std"])
    spread = 100 * litters["std"] / litters["mean"] if row.get("relative") else litters["std"]
    return _mean(result, spread, spread.index.to_frame().replicate)


def _relative_spread(animals: pd.DataFrame, row: dict) -> pd.DataFrame:
    litters = animals.groupby(LITTER)[row["column"]].agg(["mean", "std", "size"])
    return litters.assign(spread=100 * litters["std"] / litters["mean"]).reset_index()


def deviation_of_spread_within_litters(result: Result, row: dict) -> np.ndarray:
    """Standard deviation between litters of the coefficient of variation among live-born litter-mates [points]."""
    return _jackknifed(_relative_spread(_live_born(result, row), row), lambda litters: litters["spread"].std())


def spread_explained_by_size_percent(result: Result, row: dict) -> np.ndarray:
    """Variance between litters of that coefficient of variation that goes with the number born alive."""
    litters = _relative_spread(_live_born(result, row), row).dropna()
    return _jackknifed(litters, lambda those: 100 * those["spread"].corr(those["size"]) ** 2)


def live_born_explained_percent(result: Result, row: dict) -> np.ndarray:
    """Variance between live-born piglets of `column` that goes with `on`."""
    return _jackknifed(_live_born(result, row), lambda born: 100 * born[row["column"]].corr(born[row["on"]]) ** 2)


def spread_within_reared_litters(result: Result, row: dict) -> pd.Series:
    """Mean over the litters that sows weaned, own and fostered piglets together, of their coefficient of variation [%]."""
    born = _live_born(result, row)
    weaned = born[born.weaning_weight_kg.notna()]
    litters = weaned.groupby(["replicate", "reared_by"])[row["column"]].agg(["mean", "std"])
    spread = 100 * litters["std"] / litters["mean"]
    return _mean(result, spread, spread.index.to_frame().replicate)


def born_ratio(result: Result, row: dict) -> np.ndarray:
    return _compared(_born(result, row), row, lambda chosen, others: chosen / others)


def live_born_ratio(result: Result, row: dict) -> np.ndarray:
    return _compared(_live_born(result, row), row, lambda chosen, others: chosen / others)


def live_born_difference(result: Result, row: dict) -> np.ndarray:
    return _compared(_live_born(result, row), row, lambda chosen, others: chosen - others)


def weaned_kg_of_moved(result: Result, row: dict) -> pd.Series:
    """Weight at weaning of the piglets that were moved; of all, where none was."""
    born = _live_born(result, row)
    those = born[born.moves > 0] if (born.moves > 0).any() else born
    return _mean(result, those.weaning_weight_kg, those.replicate)


# --- litter and sow -----------------------------------------------------------------------------------------------------


def _early_gain_g_per_day(result: Result, row: dict) -> pd.Series:
    """Of the mean piglet of each litter from birth to the end of day `until`; day 0 is half a day in the mean."""
    days = result.sow_days
    days = days[(days.farrowed == 1) & days.day.between(0, row["until"])]
    return (1000 * days.litter_gain_kg / days.piglets).groupby([days.replicate, days.sow]).sum() / (row["until"] + 0.5)


def slowest_litter_g_per_day(result: Result, row: dict) -> pd.Series:
    return _early_gain_g_per_day(result, row).groupby("replicate").min()


def fastest_litter_g_per_day(result: Result, row: dict) -> pd.Series:
    return _early_gain_g_per_day(result, row).groupby("replicate").max()


def gain_and_temperature_correlation(result: Result, row: dict) -> pd.Series:
    """Between the early gain of litters and the rectal temperature of their sows."""
    sows = result.sows.set_index(LITTER)
    both = pd.DataFrame({"gain": _early_gain_g_per_day(result, row), "deg_c": sows.rectal_temperature_deg_c}).dropna()
    return both.groupby("replicate").apply(lambda room: room.gain.corr(room.deg_c))


def milk_of_sow_mcal(result: Result, row: dict) -> pd.Series:
    """A day, of one sow of the room, over these lactation days."""
    days = result.sow_days
    days = days[(days.sow == row["sow"]) & (days.farrowed == 1) & days.day.between(*row["days"])]
    return _mean(result, days.milk_mcal, days.replicate)


def stillborn_by_last_meal_percent(result: Result, row: dict) -> pd.Series:
    """In litters whose sow began her last meal so many hours (`meal_h`) before the first birth."""
    began = result.events[result.events.what == "labour began"].set_index(LITTER).detail
    born = _born(result, row).join(began.rename("meal_h"), on=LITTER)
    born = born[_chosen(born, {"meal_h": row["meal_h"]})]
    return _mean(result, 100.0 * born.dead_at_birth, born.replicate)


# --- sows -------------------------------------------------------------------------------------------------------------


def temperature_by_hour_deg_c(result: Result, row: dict) -> pd.Series:
    """Rectal temperatures taken between these hours of the day."""
    taken = result.events[result.events.what == "temperature taken"]
    taken = taken[(taken.time_h % 24).between(*row["hours"], inclusive="left")]
    return _mean(result, taken.amount, taken.replicate)


def sows_lost_percent(result: Result, row: dict) -> pd.Series:
    return _mean(result, 100.0 * result.sows.left_as.isin(DIED), result.sows.replicate)


def prolapse_share_percent(result: Result, row: dict) -> pd.Series:
    """Of the sows that died."""
    lost = result.sows[result.sows.left_as.isin(DIED)]
    return _mean(result, 100.0 * (lost.left_as == "died of a prolapse"), lost.replicate)

"""What a trial measured, computed from a run: each takes a Result and a row, and gives one number per replicate (room).

The unit is the room, so that the spread between the numbers is that of independent repetitions.
"""

from __future__ import annotations

import numpy as np
import pandas as pd

from farrowtide import Result

MINUTES_PER_HOUR = 60


def _days(result: Result, row: dict) -> pd.DataFrame:
    first, last = row["days"]
    days = result.sow_days
    return days[(days.farrowed == 1) & days.day.between(first, last)]


def _mean_by_room(values: pd.Series, replicate: pd.Series) -> np.ndarray:
    return values.groupby(replicate).mean().to_numpy()


def intake_kg_per_day(result: Result, row: dict) -> np.ndarray:
    days = _days(result, row)
    return _mean_by_room(days.eaten_kg, days.replicate)


def meals_per_day(result: Result, row: dict) -> np.ndarray:
    days = _days(result, row)
    return _mean_by_room(days.meals, days.replicate)


def litter_gain_kg_per_day(result: Result, row: dict) -> np.ndarray:
    days = _days(result, row)
    return _mean_by_room(days.litter_gain_kg, days.replicate)


def piglet_gain_g_per_day(result: Result, row: dict) -> np.ndarray:
    days = _days(result, row)
    return _mean_by_room(1000 * days.litter_gain_kg / days.piglets, days.replicate)


def weight_loss_kg(result: Result, row: dict) -> np.ndarray:
    days = _days(result, row)
    loss = -days.weight_change_kg.groupby([days.replicate, days.sow]).sum()
    return loss.groupby("replicate").mean().to_numpy()


def mortality_percent(result: Result, row: dict) -> np.ndarray:
    sums = result.sows.groupby("replicate")[["died_before_weaning", "born_alive"]].sum()
    return (100 * sums.died_before_weaning / sums.born_alive).to_numpy()


def stillborn_percent(result: Result, row: dict) -> np.ndarray:
    sums = result.sows.groupby("replicate")[["stillborn", "total_born"]].sum()
    return (100 * sums.stillborn / sums.total_born).to_numpy()


def deaths_share_percent(result: Result, row: dict) -> np.ndarray:
    first, before = row["days"]
    dead = result.piglets[result.piglets.fate == "died"]
    within = dead.age_at_death_d.between(first, before, inclusive="left")
    return _mean_by_room(100.0 * within, dead.replicate)


def colostrum_g(result: Result, row: dict) -> np.ndarray:
    lived = result.piglets[result.piglets.fate != "stillborn"]
    return _mean_by_room(lived.colostrum_g, lived.replicate)


def farrowing_duration_quantile_min(result: Result, row: dict) -> np.ndarray:
    return result.sows.groupby("replicate").farrowing_duration_min.quantile(row["quantile"]).to_numpy()


def stillborn_by_birth_order_percent(result: Result, row: dict) -> np.ndarray:
    piglets = result.piglets
    total_born = piglets.groupby(["replicate", "sow"]).birth_order.transform("max")
    quarter = np.ceil(4 * piglets.birth_order / total_born)
    born = piglets[quarter == row["quarter"]]
    return _mean_by_room(100.0 * (born.fate == "stillborn"), born.replicate)


def long_intervals_percent(result: Result, row: dict) -> np.ndarray:
    later = result.piglets[result.piglets.birth_order > 1]
    return _mean_by_room(100.0 * (later.birth_interval_min > row["minutes"]), later.replicate)


def litters_with_stillborn_percent(result: Result, row: dict) -> np.ndarray:
    return _mean_by_room(100.0 * (result.sows.stillborn > 0), result.sows.replicate)


def sows_assisted_percent(result: Result, row: dict) -> np.ndarray:
    return _mean_by_room(100.0 * (result.sows.assisted_births > 0), result.sows.replicate)


def assisted_piglets_per_assisted_sow(result: Result, row: dict) -> np.ndarray:
    helped = result.sows[result.sows.assisted_births > 0]
    return _mean_by_room(helped.assisted_births, helped.replicate)


def labour_min_per_litter(result: Result, row: dict) -> np.ndarray:
    litters = result.sows.groupby("replicate").size()
    return (result.tasks.groupby("replicate").minutes.sum() / litters).to_numpy()

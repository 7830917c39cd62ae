"""What a trial measured on sows: each takes a Result and a row, and gives one number per replicate (Series or array).

The unit is the replicate, so that the spread between the numbers is that of independent repetitions. Functions that
end in `_mcal` and take coefficients are handbook calculations of several steps.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pandas as pd

from farrowtide import Result, _core

HOURS_PER_DAY, MINUTES_PER_HOUR = 24, 60
W_PER_MCAL_PER_DAY = 4.184e6 / 86400
MILK_EFFICIENCY, BODY_EFFICIENCY = 0.70, 0.87  # of energy eaten and drawn from the body for milk, as NRC 2012 reckons
MILK_DIGESTED = 0.95
SOW = ["replicate", "sow"]


# --- parts ------------------------------------------------------------------------------------------------------------


def _days(result: Result, row: dict) -> pd.DataFrame:
    """Sow-days from the last birth on, of the lactation days and the parities that the row asks for."""
    first, last = row["days"]
    days = result.sow_days
    return _of_parity(days[(days.farrowed == 1) & days.day.between(first, last)], row)


def _of_parity(rows: pd.DataFrame, row: dict) -> pd.DataFrame:
    if "parity" not in row:
        return rows
    least, most = row["parity"]
    return rows[rows.parity.between(least, most)]


def _per_replicate(values: pd.Series, rows: pd.DataFrame) -> pd.Series:
    return values.groupby(rows.replicate).mean()


def _sow_means(result: Result, row: dict, column: str) -> pd.Series:
    return _days(result, row).groupby(SOW)[column].mean()


def _by_sow_and_day(result: Result, row: dict, column: str = "eaten_kg") -> pd.DataFrame:
    """One line per sow, one column per lactation day; sows without all of these days are left out."""
    return _days(result, row).pivot(index=["replicate", "sow", "parity"], columns="day", values=column).dropna()


def _slope(x: pd.Series, y: pd.Series, group: pd.Series | np.ndarray) -> pd.Series:
    """Slope of y on x within each group."""
    dx, dy = x - x.groupby(group).transform("mean"), y - y.groupby(group).transform("mean")
    return (dx * dy).groupby(group).sum() / (dx * dx).groupby(group).sum()


def _percent(yes: pd.Series, rows: pd.DataFrame) -> pd.Series:
    return _per_replicate(100.0 * yes, rows)


# --- feed and water ---------------------------------------------------------------------------------------------------


def intake_kg_per_day(result: Result, row: dict) -> pd.Series:
    days = _days(result, row)
    return _per_replicate(days.eaten_kg, days)


def intake_of_days_ratio(result: Result, row: dict) -> pd.Series:
    """Intake on `days` against that on the days `from`."""
    return intake_kg_per_day(result, row) / intake_kg_per_day(result, row | {"days": row["from"]})


def disappearance_kg_per_day(result: Result, row: dict) -> pd.Series:
    """Feed eaten and wasted."""
    days = _days(result, row)
    return _per_replicate(days.eaten_kg + days.wasted_kg, days)


def intake_sd_between_sows_kg(result: Result, row: dict) -> pd.Series:
    return _sow_means(result, row, "eaten_kg").groupby("replicate").std()


def meals_per_day(result: Result, row: dict) -> pd.Series:
    days = _days(result, row)
    return _per_replicate(days.meals, days)


def _meals(result: Result, row: dict) -> pd.DataFrame:
    """Meals of the lactation days the row asks for, with the hour of the day."""
    sows = result.sows
    last_birth_h = sows.farrowing_start_h + sows.farrowing_duration_min / MINUTES_PER_HOUR
    day_0 = pd.Series(
        (last_birth_h // HOURS_PER_DAY).to_numpy(), index=pd.MultiIndex.from_frame(sows[SOW]), name="day_0"
    )
    meals = result.events[result.events.what == "meal eaten"].join(day_0, on=SOW)
    first, last = row["days"]
    return meals[(meals.time_h // HOURS_PER_DAY - meals.day_0).between(first, last)]


def eating_min_per_day(result: Result, row: dict) -> pd.Series:
    first, last = row["days"]
    minutes = _meals(result, row).groupby("replicate").detail.sum()
    return minutes / result.sows.groupby("replicate").size() / (last - first + 1)


def meal_size_g(result: Result, row: dict) -> pd.Series:
    meals = _meals(result, row)
    return 1000 * meals.groupby("replicate").amount.mean()


def light_share_of_feed(result: Result, row: dict) -> pd.Series:
    """Share eaten while the light is on (06:00 to 20:00)."""
    meals = _meals(result, row)
    light = (meals.time_h % HOURS_PER_DAY).between(6, 20, inclusive="left")
    return (meals.amount * light).groupby(meals.replicate).sum() / meals.amount.groupby(meals.replicate).sum()


def water_l_per_day(result: Result, row: dict) -> pd.Series:
    days = _days(result, row)
    return _per_replicate(days.water_l, days)


def water_l_per_kg_feed(result: Result, row: dict) -> pd.Series:
    days = _days(result, row).groupby("replicate")
    return days.water_l.sum() / days.eaten_kg.sum()


# --- the course of intake ---------------------------------------------------------------------------------------------


def _residuals(result: Result, row: dict) -> pd.DataFrame:
    """Daily intake less the mean of the parity and day, less the sow's own polynomial; `own` is its coefficients."""
    table = _by_sow_and_day(result, row)
    first_parity = table.index.get_level_values("parity") == 1
    centred = table - table.groupby(first_parity).transform("mean")
    basis = np.linalg.qr(np.vander(table.columns.to_numpy(float), row["own"]))[0]
    return centred - centred.to_numpy() @ basis @ basis.T


def _residual_sd(residuals: pd.DataFrame, own: int) -> float:
    """Over all sows, for the coefficients that each of them has taken."""
    days = residuals.shape[1]
    return float(np.sqrt((residuals.to_numpy() ** 2).mean() * days / (days - own)))


def residual_sd_kg(result: Result, row: dict) -> pd.Series:
    residuals = _residuals(result, row)
    days = residuals.shape[1]
    return np.sqrt((residuals**2).mean(axis=1).groupby("replicate").mean() * days / (days - row["own"]))


def repeatability(result: Result, row: dict) -> pd.Series:
    """Share of the variance of daily intake within parity that the sow's own curve explains."""
    table = _by_sow_and_day(result, row)
    first_parity = table.index.get_level_values("parity") == 1
    total = ((table - table.groupby(first_parity).transform("mean")) ** 2).mean(axis=1).groupby("replicate").mean()
    return 1 - residual_sd_kg(result, row) ** 2 / total


def low_days_percent(result: Result, row: dict) -> pd.Series:
    """Lactations with so many days (`count`: from, to) below `below` residual standard deviations."""
    residuals = _residuals(result, row)
    low = (residuals < row["below"] * _residual_sd(residuals, row["own"])).sum(axis=1)
    return 100.0 * low.between(*row["count"]).groupby("replicate").mean()


def low_runs_percent(result: Result, row: dict) -> pd.Series:
    """Lactations with two successive days or more below `below` residual standard deviations."""
    residuals = _residuals(result, row)
    low = residuals.to_numpy() < row["below"] * _residual_sd(residuals, row["own"])
    runs = pd.Series((low[:, 1:] & low[:, :-1]).any(axis=1), index=residuals.index)
    return 100.0 * runs.groupby("replicate").mean()


def pattern_percent(result: Result, row: dict) -> pd.Series:
    """Lactations of one of the classes of Koketsu et al. 1996.

    Low: under 2.5 kg/d over the lactation. Major, minor: two successive days or more 1.8 kg, or 1 kg, under the highest
    day before. Of the rest, rapid: days 5 to 7 at three quarters or more of the last week; else gradual.
    """
    table = _by_sow_and_day(result, row)
    eaten = table.to_numpy()
    drop = np.maximum.accumulate(eaten, axis=1) - eaten
    lasting = np.minimum(drop[:, 1:], drop[:, :-1]).max(axis=1)
    early, late = table.loc[:, 5:7].mean(axis=1), table.iloc[:, -7:].mean(axis=1)
    pattern = np.select(
        [eaten.mean(axis=1) < 2.5, lasting >= 1.8, lasting >= 1.0, early >= 0.75 * late],
        ["low", "major", "minor", "rapid"],
        default="gradual",
    )
    wanted = pd.Series(np.isin(pattern, row["patterns"]), index=table.index)
    return 100.0 * wanted.groupby("replicate").mean()


def peak_day(result: Result, row: dict) -> pd.Series:
    """Middle of the three days with the highest mean intake."""
    days = _days(result, row)
    means = days.groupby(["replicate", "day"]).eaten_kg.mean().unstack()
    return means.T.rolling(3, center=True).mean().idxmax().astype(float)


def energy_eaten_mcal_per_day(result: Result, row: dict) -> pd.Series:
    days = _days(result, row)
    return _per_replicate(days.energy_eaten_mcal, days)


def intake_on_milk_need(result: Result, row: dict) -> pd.Series:
    """Slope over sows: energy eaten per energy that the milk their litters could draw would take."""
    sows = _days(result, row).groupby(SOW)[["energy_eaten_mcal", "milk_potential_mcal"]].mean()
    need_mcal = sows.milk_potential_mcal / MILK_EFFICIENCY
    return _slope(need_mcal, sows.energy_eaten_mcal, sows.index.get_level_values("replicate"))


def energy_on_litter_weight(result: Result, row: dict) -> pd.Series:
    """Slope over sows: Mcal eaten a day per kg of litter at weaning."""
    litters = result.sows.set_index(SOW).litter_weight_at_weaning_kg
    energy = _sow_means(result, row, "energy_eaten_mcal")
    return _slope(litters.reindex(energy.index), energy, energy.index.get_level_values("replicate"))


# --- milk, growth, body -----------------------------------------------------------------------------------------------


def litter_gain_kg_per_day(result: Result, row: dict) -> pd.Series:
    days = _days(result, row)
    return _per_replicate(days.litter_gain_kg, days)


def piglet_gain_g_per_day(result: Result, row: dict) -> pd.Series:
    days = _days(result, row)
    return _per_replicate(1000 * days.litter_gain_kg / days.piglets, days)


def weight_loss_kg(result: Result, row: dict) -> pd.Series:
    return -_days(result, row).groupby(SOW).weight_change_kg.sum().groupby("replicate").mean()


def weighed_loss_kg(result: Result, row: dict) -> pd.Series:
    """As a scale shows it, with the feed in her gut, from the first day of `days` to the last."""
    first, last = row["days"]
    table = _by_sow_and_day(result, row, "weighed_kg")
    return (table[first] - table[last]).groupby("replicate").mean()


def weight_loss_kg_per_day(result: Result, row: dict) -> pd.Series:
    days = _days(result, row)
    return _per_replicate(-days.weight_change_kg, days)


def weight_loss_percent(result: Result, row: dict) -> pd.Series:
    first, last = row["days"]
    table = _by_sow_and_day(result, row, "weight_kg")
    return (100 * (1 - table[last] / table[first])).groupby("replicate").mean()


def backfat_loss_mm(result: Result, row: dict) -> pd.Series:
    first, last = row["days"]
    table = _by_sow_and_day(result, row, "backfat_mm")
    return (table[first] - table[last]).groupby("replicate").mean()


def lost_backfat_percent(result: Result, row: dict) -> pd.Series:
    """Sows that lost more than `over` % of their backfat."""
    first, last = row["days"]
    table = _by_sow_and_day(result, row, "backfat_mm")
    lost_percent = 100 * (1 - table[last] / table[first])
    return (100.0 * (lost_percent > row["over"])).groupby("replicate").mean()


def litter_gain_on_intake(result: Result, row: dict) -> pd.Series:
    """Slope over sows: kg of litter gain per kg of feed."""
    sows = _days(result, row).groupby(SOW)[["eaten_kg", "litter_gain_kg"]].mean()
    return _slope(sows.eaten_kg, sows.litter_gain_kg, sows.index.get_level_values("replicate"))


def litter_gain_sd_kg_per_day(result: Result, row: dict) -> pd.Series:
    return _sow_means(result, row, "litter_gain_kg").groupby("replicate").std()


def litter_weight_kg(result: Result, row: dict) -> pd.Series:
    return result.sows.groupby("replicate").litter_weight_at_weaning_kg.mean()


def milk_kg_per_day(result: Result, row: dict) -> pd.Series:
    """At the energy of sow's milk that the row gives."""
    days = _days(result, row)
    return _per_replicate(days.milk_mcal / row["mcal_per_kg"], days)


def milk_mcal_per_day(result: Result, row: dict) -> pd.Series:
    days = _days(result, row)
    return _per_replicate(days.milk_mcal, days)


def mobilised_mcal_per_day(result: Result, row: dict) -> pd.Series:
    days = _days(result, row)
    return _per_replicate(-days.body_energy_change_mcal, days)


def milk_share_of_intake_percent(result: Result, row: dict) -> pd.Series:
    days = _days(result, row).groupby("replicate")
    return 100 * days.milk_mcal.sum() / days.energy_eaten_mcal.sum()


def milk_from_body_percent(result: Result, row: dict) -> pd.Series:
    """Milk energy that came from the body: what the sow lost, at the efficiency of body energy for milk."""
    days = _days(result, row).groupby("replicate")
    return -100 * BODY_EFFICIENCY * days.body_energy_change_mcal.sum() / days.milk_mcal.sum()


def milk_share_of_requirement_percent(result: Result, row: dict) -> pd.Series:
    """Energy needed for the milk given, of that and maintenance."""
    days = _days(result, row).groupby("replicate")
    milk = days.milk_mcal.sum() / MILK_EFFICIENCY
    return 100 * milk / (milk + days.maintenance_mcal.sum())


def sow_heat_w(result: Result, row: dict) -> pd.Series:
    """What of the energy eaten or drawn from the body went neither into milk nor into the body."""
    days = _days(result, row)
    return _per_replicate(W_PER_MCAL_PER_DAY * _heat_mcal(days), days)


def _heat_mcal(days: pd.DataFrame) -> pd.Series:
    return days.energy_eaten_mcal - days.body_energy_change_mcal - days.milk_mcal


def heat_rise_percent(result: Result, row: dict) -> pd.Series:
    """Heat of sow and litter on `days` against that on `from`; the litter's is what milk does not leave in its growth."""
    later, before = (_heat_with_litter_mcal(result, row, row[key]) for key in ("days", "from"))
    return 100 * (later / before - 1)


def _heat_with_litter_mcal(result: Result, row: dict, days: list[int]) -> pd.Series:
    rows = _days(result, {"days": days})
    litter_mcal = MILK_DIGESTED * rows.milk_mcal - row["mcal_per_kg_gain"] * rows.litter_gain_kg
    return _per_replicate(_heat_mcal(rows) + litter_mcal, rows)


def lactation_efficiency_percent(result: Result, row: dict) -> pd.Series:
    """Energy in the litter's growth and maintenance (what it digests of the milk) over energy eaten above maintenance and mobilised."""
    days = (
        _days(result, row)
        .groupby(SOW)[["milk_mcal", "energy_eaten_mcal", "maintenance_mcal", "body_energy_change_mcal"]]
        .sum()
    )
    mobilised = (-days.body_energy_change_mcal).clip(lower=0)
    efficiency = MILK_DIGESTED * days.milk_mcal / (days.energy_eaten_mcal - days.maintenance_mcal + mobilised)
    return 100 * efficiency.groupby("replicate").mean()


def piglets_nursed(result: Result, row: dict) -> pd.Series:
    days = _days(result, row)
    return _per_replicate(days.piglets, days)


def weaned_per_litter(result: Result, row: dict) -> pd.Series:
    return result.sows.groupby("replicate").weaned.mean()


def weaning_weight_kg(result: Result, row: dict) -> pd.Series:
    return result.piglets.groupby("replicate").weaning_weight_kg.mean()


def weaning_weight_sd_kg(result: Result, row: dict) -> pd.Series:
    return result.piglets.groupby("replicate").weaning_weight_kg.std()


# --- after weaning ----------------------------------------------------------------------------------------------------


def oestrus_interval_percent(result: Result, row: dict) -> pd.Series:
    """Sows whose interval from weaning to oestrus lies between `from` and `to` days."""
    sows = _of_parity(result.sows, row)
    sows = sows[sows.weaning_to_oestrus_d.notna()]
    return _percent(sows.weaning_to_oestrus_d.between(row["from"], row["to"]), sows)


def oestrus_interval_d(result: Result, row: dict) -> pd.Series:
    """Mean interval from weaning to oestrus of the sows in oestrus within `to` days."""
    sows = _of_parity(result.sows, row)
    sows = sows[sows.weaning_to_oestrus_d <= row["to"]]
    return _per_replicate(sows.weaning_to_oestrus_d, sows)


def oestrus_by_percent(result: Result, row: dict) -> pd.Series:
    """Weaned sows in oestrus within `by` days; those that show none within the time followed count as not."""
    sows = _of_parity(result.sows[result.sows.removal_risk.notna()], row)
    return _percent(sows.weaning_to_oestrus_d <= row["by"], sows)


def sow_mean(result: Result, row: dict) -> pd.Series:
    sows = _of_parity(result.sows.dropna(subset=row["column"]), row)
    return _per_replicate(sows[row["column"]], sows)


def oestrus_interval_rise_d(result: Result, row: dict) -> pd.Series:
    return _between_loss_classes(result, row, "weaning_to_oestrus_d")


def farrowing_rate_rise_points(result: Result, row: dict) -> pd.Series:
    return 100 * _between_loss_classes(result, row, "farrowing_rate")


def _between_loss_classes(result: Result, row: dict, column: str) -> pd.Series:
    """Mean of the sows that lost so many % of their weight (`loss`) less that of the others (`than`)."""
    classes = [
        result.sows[result.sows.weight_loss_percent.between(*row[key], inclusive="left")] for key in ("loss", "than")
    ]
    lost, others = (_per_replicate(sows[column], sows) for sows in classes)
    return lost - others


def parity_percent(result: Result, row: dict) -> pd.Series:
    return _percent(result.sows.parity.between(*row["parities"]), result.sows)


def removal_rise_points(result: Result, row: dict) -> pd.Series:
    """Risk of removal after an interval of `late` days or more less that after a shorter one."""
    sows = result.sows.dropna(subset="weaning_to_oestrus_d")
    is_late = sows.weaning_to_oestrus_d >= row["late"]
    late, others = sows[is_late], sows[~is_late]
    return 100 * (_per_replicate(late.removal_risk, late) - _per_replicate(others.removal_risk, others))


def next_total_born_on_loss(result: Result, row: dict) -> pd.Series:
    """Slope over sows: piglets of the next litter per kg of weight lost a day."""
    sows = result.sows.dropna(subset="next_total_born_change")
    return _slope(sows.weight_loss_kg / sows.lactation_length_d, sows.next_total_born_change, sows.replicate)


def late_oestrus_odds_per_kg_intake(result: Result, row: dict) -> np.ndarray:
    """Odds ratio of an interval of `late` days or more per extra kg/d eaten, by logistic regression over all sows."""
    return _jackknifed_odds(result, row, lambda sows: sows.feed_intake_kg_per_day)


def late_oestrus_odds_per_10_kg_weight(result: Result, row: dict) -> np.ndarray:
    return _jackknifed_odds(result, row, lambda sows: sows.weight_at_weaning_kg / 10)


def _jackknifed_odds(result: Result, row: dict, of: Callable[[pd.DataFrame], pd.Series]) -> np.ndarray:
    """Pseudo-values over ten groups of replicates: their mean and spread are those of the odds ratio."""
    sows = _of_parity(result.sows.dropna(subset="weaning_to_oestrus_d"), row)
    x, late = of(sows).to_numpy(), (sows.weaning_to_oestrus_d >= row["late"]).to_numpy(float)
    groups = sows.replicate.to_numpy() % 10
    whole = _odds_ratio(x, late)
    return np.array([10 * whole - 9 * _odds_ratio(x[groups != g], late[groups != g]) for g in range(10)])


def _odds_ratio(x: np.ndarray, late: np.ndarray) -> float:
    """Newton's method for logit P(late) = a + b x; returns exp(b)."""
    design = np.column_stack([np.ones_like(x), x - x.mean()])
    beta = np.zeros(2)
    for _ in range(25):
        p = 1 / (1 + np.exp(-design @ beta))
        step = np.linalg.solve(design.T @ (design * (p * (1 - p))[:, None]), design.T @ (late - p))
        beta += step
        if np.abs(step).max() < 1e-10:
            break
    return float(np.exp(beta[1]))


# --- farrowings and piglets -------------------------------------------------------------------------------------------


def _mean_by_room(values: pd.Series, replicate: pd.Series) -> pd.Series:
    return values.groupby(replicate).mean()


def mortality_percent(result: Result, row: dict) -> pd.Series:
    sums = result.sows.groupby("replicate")[["died_before_weaning", "born_alive"]].sum()
    return 100 * sums.died_before_weaning / sums.born_alive


def stillborn_percent(result: Result, row: dict) -> pd.Series:
    sums = result.sows.groupby("replicate")[["stillborn", "total_born"]].sum()
    return 100 * sums.stillborn / sums.total_born


def deaths_share_percent(result: Result, row: dict) -> pd.Series:
    first, before = row["days"]
    dead = result.piglets[result.piglets.fate == "died"]
    within = dead.age_at_death_d.between(first, before, inclusive="left")
    return _mean_by_room(100.0 * within, dead.replicate)


def colostrum_g(result: Result, row: dict) -> pd.Series:
    lived = result.piglets[result.piglets.fate != "stillborn"]
    return _mean_by_room(lived.colostrum_g, lived.replicate)


def farrowing_duration_quantile_min(result: Result, row: dict) -> pd.Series:
    return result.sows.groupby("replicate").farrowing_duration_min.quantile(row["quantile"])


def stillborn_by_birth_order_percent(result: Result, row: dict) -> pd.Series:
    piglets = result.piglets
    total_born = piglets.groupby(["replicate", "sow"]).birth_order.transform("max")
    quarter = np.ceil(4 * piglets.birth_order / total_born)
    born = piglets[quarter == row["quarter"]]
    return _mean_by_room(100.0 * (born.fate == "stillborn"), born.replicate)


def long_intervals_percent(result: Result, row: dict) -> pd.Series:
    later = result.piglets[result.piglets.birth_order > 1]
    return _mean_by_room(100.0 * (later.birth_interval_min > row["minutes"]), later.replicate)


def litters_with_stillborn_percent(result: Result, row: dict) -> pd.Series:
    return _mean_by_room(100.0 * (result.sows.stillborn > 0), result.sows.replicate)


def sows_assisted_percent(result: Result, row: dict) -> pd.Series:
    return _mean_by_room(100.0 * (result.sows.assisted_births > 0), result.sows.replicate)


def assisted_piglets_per_assisted_sow(result: Result, row: dict) -> pd.Series:
    helped = result.sows[result.sows.assisted_births > 0]
    return _mean_by_room(helped.assisted_births, helped.replicate)


# --- room and work ----------------------------------------------------------------------------------------------------


def labour_min_per_litter(result: Result, row: dict) -> pd.Series:
    return result.tasks.groupby("replicate").minutes.sum() / result.sows.groupby("replicate").size()


def room_deg_c(result: Result, row: dict) -> pd.Series:
    """Mean of the hours from the start that the row asks for."""
    first, last = row["hours"]
    rooms = result.rooms[result.rooms.hour.between(first, last)]
    return _per_replicate(rooms.temperature_deg_c, rooms)


def heater_on_below_deg_c(result: Result, row: dict) -> pd.Series:
    """The outdoor temperature that as many hours lie below as have heat from the heater, over all replicates."""
    rooms = result.rooms[result.rooms.hour.between(*row["hours"])]
    threshold = rooms.outdoor_deg_c.quantile((rooms.heater_kwh > 0).mean())
    return _percent(rooms.outdoor_deg_c < threshold, rooms) * 0 + threshold


# --- handbook calculations --------------------------------------------------------------------------------------------


def energy_without_weight_change_mcal(coefficients: _core.Coefficients, **lactation: float) -> float:
    """Metabolisable energy eaten at which the lactation-mean balance leaves the sow's weight as it is, by bisection."""
    energy_mcal_per_kg = coefficients.find("sow.diet.metabolisable_energy").value[0] / 1000
    low, high = 1.0, 15.0
    while high - low > 1e-9:
        feed_kg = (low + high) / 2
        change_kg = _core.lactation_weight_change_kg(coefficients, feed_kg_per_day=feed_kg, **lactation)
        low, high = (low, feed_kg) if change_kg > 0 else (feed_kg, high)
    eaten = 1 - coefficients.find("sow.meals.waste_share").value[0]
    return low * eaten * energy_mcal_per_kg


def litters_per_crate_and_year(coefficients: _core.Coefficients) -> float:
    """Of a room that is loaded again as soon as it is dry."""
    parts = ("loading_before_mean_due_date", "lactation_length", "wash_and_dry")
    return 365 / sum(coefficients.find(f"sow.herd.{part}").value[0] for part in parts)


def milk_curve_mean(coefficients: _core.Coefficients, lactation_d: int) -> float:
    return float(np.mean(_milk_curve(coefficients, lactation_d)))


def milk_curve_peak_day(coefficients: _core.Coefficients, lactation_d: int) -> float:
    return 1.0 + float(np.argmax(_milk_curve(coefficients, lactation_d)))


def milk_curve_ratio(coefficients: _core.Coefficients, days: list[int], lactation_d: int) -> float:
    day, other = days
    curve = _milk_curve(coefficients, lactation_d)
    return curve[day - 1] / curve[other - 1]


def _milk_curve(coefficients: _core.Coefficients, lactation_d: int) -> list[float]:
    return [_core.milk_curve(coefficients, day, lactation_d) for day in range(1, lactation_d + 1)]


def wet_bulb_deg_c(coefficients: _core.Coefficients, deg_c: float, relative_humidity_percent: float) -> float:
    return _core.Psychrometrics(coefficients).wet_bulb_deg_c(deg_c, relative_humidity_percent)


def humidity_ratio_g_per_kg(coefficients: _core.Coefficients, deg_c: float, relative_humidity_percent: float) -> float:
    return 1000 * _core.Psychrometrics(coefficients).humidity_ratio(deg_c, relative_humidity_percent)


def pad_inlet_deg_c(coefficients: _core.Coefficients, deg_c: float, relative_humidity_percent: float) -> float:
    efficiency = coefficients.find("room.cooling.pad_efficiency").value[0]
    return deg_c - efficiency * (deg_c - wet_bulb_deg_c(coefficients, deg_c, relative_humidity_percent))

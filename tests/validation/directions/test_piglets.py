"""Which way effects on piglets go, each as in its source: the same animals under two conditions, one fixed seed."""

from __future__ import annotations

from functools import cache

import numpy as np
import pandas as pd

import farrowtide

ROOMS = 60
SEED = 5
LITTER = ["replicate", "sow"]


@cache
def _piglets(*overrides: str) -> pd.DataFrame:
    """Live-born piglets; each override is a key and a value, as on the command line."""
    base = {
        "title": "directions",
        "group": {"lactation_days": 21, "weaning": "each_sow"},
        "climate": {"kind": "imposed", "temperature": "22 degC"},
    }
    changes: dict[str, object] = {}
    for override in overrides:
        key, value = override.split("=")
        changes[key] = float(value) if value.replace(".", "").isdigit() else value
    scenario = farrowtide.load(base).override(changes)
    born = farrowtide.run(scenario, replications=ROOMS, seed=SEED, record=["piglets"]).piglets
    return born[born.fate != "stillborn"].assign(died=lambda those: (those.fate == "died").astype(float))


def _mortality_by_room(*overrides: str) -> np.ndarray:
    return _piglets(*overrides).groupby("replicate").died.mean().to_numpy()


def _z(change: np.ndarray) -> float:
    """The mean of paired differences in standard errors."""
    return float(change.mean() / (change.std(ddof=1) / np.sqrt(len(change))))


def _heat(parity: int) -> np.ndarray:
    cool, hot = (
        _mortality_by_room(f"herd.every_sow.parity={parity}", f"climate.temperature={deg_c} degC") for deg_c in (25, 29)
    )
    return hot - cool


def test_heat_in_the_first_week_kills_piglets_of_first_parities():
    """Nuntapaitoon & Tummaruk 2018: 12.1 to 18.5 % in parity 1, P < 0.001."""
    assert _z(_heat(parity=1)) > 4


def test_heat_does_not_kill_piglets_of_older_sows_as_it_does_those_of_first_parities():
    """Nuntapaitoon & Tummaruk 2018: no effect in parities 2, 3 to 5 and 6 to 9 (P = 0.53 to 0.57)."""
    assert _heat(parity=3).mean() < 0.3 * _heat(parity=1).mean()


def test_cold_kills_piglets():
    """Vande Pol et al. 2021: 17.2 % in rooms under 25 deg C against 15.9 %; Le Dividich & Noblet 1981, colostrum."""
    cold, mild = (
        _mortality_by_room("herd.every_sow.parity=3", f"climate.temperature={deg_c} degC") for deg_c in (16, 25)
    )
    assert _z(cold - mild) > 4


def test_light_piglets_die_more():
    """Feldpausch et al. 2019: 36 to 42 % under 1.11 kg, 8 % above."""
    piglets = _piglets()
    classes = pd.cut(piglets.birth_weight_kg, [0, 0.8, 1.11, 1.4, 3])
    assert piglets.groupby(classes, observed=True).died.mean().is_monotonic_decreasing


def test_weights_spread_as_litters_grow():
    """Muns et al. 2014: coefficient of variation within litters of small piglets 16.2 % at birth, about 23 % at 19 days;
    Milligan et al.: it almost doubles in uniform litters."""
    weaned = _piglets("herd.birth_weight_sd=0.15").query("fate == 'weaned'")
    litters = weaned.groupby(LITTER)[["birth_weight_kg", "weaning_weight_kg"]]
    spread = (litters.std() / litters.mean()).mean()
    assert spread.weaning_weight_kg > 1.2 * spread.birth_weight_kg


def test_spread_at_birth_is_larger_in_large_litters():
    """J Anim Sci abstract 250, 1,005 litters, authors not recorded: 17 % of its variance goes with litter size."""
    litters = _piglets().groupby(LITTER).birth_weight_kg.agg(["mean", "std", "size"])
    assert (litters["std"] / litters["mean"]).corr(litters["size"]) > 0.2


def test_a_litter_mate_heavier_than_one_self_costs_growth():
    """Vande Pol et al.: heavier mates lower the weight at weaning in every class of birth weight; here of piglets of 1.0
    to 1.2 kg, by the mean of their litter."""
    piglets = _piglets().query("fate == 'weaned' and 1.0 <= birth_weight_kg < 1.2")
    everyone = _piglets().groupby(LITTER).birth_weight_kg.mean().rename("mean_kg")
    piglets = piglets.join(everyone, on=LITTER)
    heavy_mates = piglets.mean_kg > piglets.mean_kg.median()
    assert piglets.weaning_weight_kg[heavy_mates].mean() < piglets.weaning_weight_kg[~heavy_mates].mean()


def test_deaths_do_not_fall_with_less_help_to_the_newborn():
    """White 1996: with every newborn dried and helped to the udder 2.2 instead of 5.2 % died on d0-1."""
    mortality = [_mortality_by_room(f"attendance.care_intensity={q}").mean() for q in (1.0, 0.25, 0)]
    assert mortality == sorted(mortality)


def test_colostrum_falls_with_litter_size_and_rises_with_weight():
    """Quesnel et al. 2012: less for each piglet more, more for each kg of birth weight."""
    piglets = _piglets()
    of_a_day = piglets[~(piglets.age_at_death_d < 1)].join(_piglets().groupby(LITTER).size().rename("size"), on=LITTER)
    terms = np.column_stack([of_a_day["size"], of_a_day.birth_weight_kg, np.ones(len(of_a_day))])
    per_piglet, per_kg, _ = np.linalg.lstsq(terms, of_a_day.colostrum_g, rcond=None)[0]
    assert per_piglet < 0 < per_kg


def test_scours_that_nobody_treats_cost_no_fewer_piglets():
    """Assumed: 1.3 times the days ill without treatment, no effect in its range; here twice as long."""
    died = [
        farrowtide.run(
            farrowtide.load(
                {
                    "title": "scours",
                    "group": {"lactation_days": 21, "weaning": "each_sow"},
                    "herd": {"scours": "problem"},
                    "staff": {"compliance": 0.3},
                }
            ).with_coefficients({"litter.scours.untreated_duration": times_as_long}),
            replications=30,
            seed=SEED,
            record=["piglets"],
        )
        .piglets.fate.eq("died")
        .mean()
        for times_as_long in (1.0, 2.0)
    ]
    assert died[0] < died[1]

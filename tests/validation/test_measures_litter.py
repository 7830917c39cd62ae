"""The estimates of measures_litter.py against what numpy, pandas and scipy say of the same animals."""

from types import SimpleNamespace

import measures_litter
import numpy as np
import pandas as pd
import pytest
from scipy import stats

ROOMS = 200


@pytest.fixture
def chance():
    return np.random.default_rng(7)


def test_a_mean_over_uneven_rooms_is_that_of_all_animals_with_the_error_of_a_ratio(chance):
    """Animals of a room are alike, so the error is that of clusters: many times the one of independent animals."""
    room = np.repeat(np.arange(ROOMS), chance.integers(1, 30, ROOMS))
    value = chance.normal(5, 1, ROOMS)[room] + chance.normal(0, 0.1, len(room))
    found = measures_litter._mean(SimpleNamespace(replications=ROOMS), pd.Series(value), pd.Series(room))
    assert found.mean() == pytest.approx(value.mean())
    sizes = np.bincount(room)
    clustered = np.sqrt((sizes**2).sum()) / sizes.sum()
    assert found.std() / np.sqrt(ROOMS) == pytest.approx(clustered, rel=0.15)


def test_a_room_without_such_animals_changes_nothing(chance):
    value, room = pd.Series(chance.normal(size=50)), pd.Series(np.repeat([0, 2], 25))
    found = measures_litter._mean(SimpleNamespace(replications=3), value, room)
    assert len(found) == 3
    assert found.mean() == pytest.approx(value.mean())


def test_pseudo_values_of_a_slope_have_the_slope_as_mean_and_its_error_as_spread(chance):
    x = chance.normal(size=20_000)
    animals = pd.DataFrame({"replicate": np.arange(len(x)) % ROOMS, "x": x, "y": 3 * x + chance.normal(size=len(x))})
    found = measures_litter._jackknifed(animals, lambda those: measures_litter._slope(those, "y", "x"))
    expected = stats.linregress(animals.x, animals.y)
    assert found.mean() == pytest.approx(expected.slope, abs=1e-3)
    assert found.std(ddof=1) / np.sqrt(len(found)) == pytest.approx(expected.stderr, rel=0.6)


def test_dispersion_of_deaths_is_the_k_of_a_negative_binomial(chance):
    k, mean = 1.2, 1.7
    dead = stats.nbinom(k, k / (k + mean)).rvs(40_000, random_state=chance)
    sows = pd.DataFrame({"replicate": np.arange(len(dead)) % ROOMS, "sow": np.arange(len(dead)) // ROOMS})
    sows = sows.assign(died_before_weaning=dead, farrowing_duration_min=1.0, farrowing_start_h=0.0, stillborn=0)
    sows = sows.assign(total_born=9, born_alive=9, disorder_days=0.0, treated_h=np.nan, disorder_onset_h=np.nan)
    piglets = sows[["replicate", "sow"]].assign(fate="weaned", age_at_death_d=np.nan, colostrum_g=300.0)
    result = SimpleNamespace(sows=sows, piglets=piglets, replications=ROOMS)
    assert measures_litter.dispersion_of_deaths(result, {}).mean() == pytest.approx(k, rel=0.05)


def test_ranges_hold_their_lower_end_and_not_their_upper_one():
    animals = pd.DataFrame({"x": [0.0, 1.0, 2.0, np.inf, np.nan]})
    assert list(measures_litter._chosen(animals, {"x": [1, 2]})) == [False, True, False, False, False]
    assert list(measures_litter._chosen(animals, {"x": [1, np.inf]})) == [False, True, True, True, False]


@pytest.fixture
def rooms_of_litters(chance):
    """Two rooms of 300 litters of ten, all weaned; a litter's spread at weaning follows that at birth."""
    sows = pd.DataFrame({"replicate": np.repeat([0, 1], 300), "sow": np.tile(np.arange(300), 2)})
    sows = sows.assign(farrowing_duration_min=240.0, farrowing_start_h=0.0, stillborn=0, total_born=10, born_alive=10)
    sows = sows.assign(died_before_weaning=0, disorder_days=0.0, treated_h=np.nan, disorder_onset_h=np.nan)
    piglets = sows.loc[sows.index.repeat(10), ["replicate", "sow"]].reset_index(drop=True)
    size = chance.normal(1.5, 0.15, len(sows)).repeat(10)
    own = chance.normal(size=len(piglets)) * chance.uniform(0.1, 0.4, len(sows)).repeat(10)
    piglets = piglets.assign(fate="weaned", age_at_death_d=np.nan, colostrum_g=200 * size)
    piglets = piglets.assign(birth_weight_kg=size + own, weaning_weight_kg=4 * size + 2 * own)
    return SimpleNamespace(sows=sows, piglets=piglets, replications=2)


def _estimated_at_once(monkeypatch):
    """Estimates of all litters at once: two rooms are too few for ten groups of them."""
    monkeypatch.setattr(measures_litter, "_jackknifed", lambda animals, estimate: np.array([estimate(animals)]))


def test_correlations_and_slopes_over_weighed_litters_are_those_of_scipy(rooms_of_litters, monkeypatch):
    _estimated_at_once(monkeypatch)
    litters = rooms_of_litters.piglets.groupby(["replicate", "sow"])
    sums = litters.birth_weight_kg.sum(), litters.colostrum_g.sum() / 1000
    row = {"column": "colostrum_kg", "on": "live_birth_weight_kg"}
    assert measures_litter.weighed_litter_correlation(rooms_of_litters, row)[0] == pytest.approx(
        stats.pearsonr(*sums).statistic
    )
    cv = [100 * litters[weight].std() / litters[weight].mean() for weight in ("birth_weight_kg", "weaning_weight_kg")]
    row = {"column": "weaning_weight_cv_percent", "on": "birth_weight_cv_percent"}
    assert measures_litter.weighed_litter_slope(rooms_of_litters, row)[0] == pytest.approx(stats.linregress(*cv).slope)


def test_a_farrowing_is_met_if_some_part_of_it_falls_into_the_hours(rooms_of_litters):
    """Four hours of labour, people there from 06:00 to 16:00: begun at 03:00, 15:59 and 23:00 (until 03:00), at 01:00."""
    sows = rooms_of_litters.sows.iloc[:4].assign(farrowing_start_h=[27.0, 39.98, 47.0, 1.0])
    four = SimpleNamespace(sows=sows, piglets=rooms_of_litters.piglets, replications=1)
    assert measures_litter.farrowings_met_percent(four, {"hours": [6, 16]}).mean() == pytest.approx(50)
    long = SimpleNamespace(sows=sows.assign(farrowing_duration_min=60 * 8.0), piglets=four.piglets, replications=1)
    assert measures_litter.farrowings_met_percent(long, {"hours": [6, 16]}).mean() == pytest.approx(100)


def test_illness_is_counted_from_the_last_birth(rooms_of_litters):
    """Ill 24 h and 25 h after it, and one sow that stays well; the length of labour does not matter."""
    sows = rooms_of_litters.sows.iloc[:3].assign(disorder_onset_h=[24.0, 25.0, np.nan])
    three = SimpleNamespace(sows=sows, piglets=rooms_of_litters.piglets, replications=1)
    assert measures_litter.ill_within_percent(three, {"hours": 24}).mean() == pytest.approx(50)


def test_columns_of_the_newborn(rooms_of_litters):
    """The second piglet is born an hour after the first, drinks 300 g at 1.5 kg and dies after twelve hours."""
    sows = rooms_of_litters.sows.iloc[:1].assign(total_born=3, born_alive=2, stillborn=1, lactation_length_d=21.0)
    piglets = pd.DataFrame(
        {
            "replicate": 0,
            "sow": 0,
            "reared_by": 0,
            "birth_order": [1, 2, 3],
            "birth_time_h": [0.0, 1.0, 2.0],
            "birth_weight_kg": [1.2, 1.5, 1.0],
            "colostrum_g": [300.0, 300.0, np.nan],
            "fate": ["weaned", "died", "stillborn"],
            "age_at_death_d": [np.nan, 0.5, np.nan],
            "weaning_weight_kg": [6.0, np.nan, np.nan],
            "scoured": 0,
        }
    )
    born = measures_litter._born(SimpleNamespace(sows=sows, piglets=piglets, replications=1), {})
    assert list(born.since_first_birth_min) == [0, 60, 120]
    assert list(born.lost_by_a_day) == [0, 1, 1]
    assert born.colostrum_g_per_kg[1] == pytest.approx(200)


def test_the_spread_of_litters_and_what_goes_with_their_size_are_those_of_the_animals(chance):
    """Litters of 20 and 40 whose coefficients of variation are 10 and 20 %: 5 points apart from their mean, all of it by
    size but for the error of a sample."""
    size = np.tile([20, 40], 2000)
    litter = np.repeat(np.arange(len(size)), size)
    kg = 1.5 * (1 + np.where(size[litter] == 20, 0.1, 0.2) * chance.normal(size=len(litter)))
    piglets = pd.DataFrame({"replicate": litter % ROOMS, "sow": litter // ROOMS, "kg": kg})
    spread = measures_litter._relative_spread(piglets, {"column": "kg"})
    by_size = spread.groupby("size").spread.mean()
    assert list(by_size) == pytest.approx([10, 20], rel=0.02)
    assert 100 * spread["spread"].corr(spread["size"]) ** 2 == pytest.approx(
        100 * 25 / (25 + 10**2 / 78 + 20**2 / 156), rel=0.1
    )

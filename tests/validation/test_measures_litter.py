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

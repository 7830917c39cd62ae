"""Deaths of piglets against their declared hazard, by the estimators of lifelines.

Litters whose risk is known: no frailty, no competition, enough teats, a warm room, nobody who helps. Without frailty the
piglets of a litter die independently. What is left is each piglet's birth weight and sex, so its cumulative
hazard has a closed form, from the model's description and the coefficient files.
"""

from functools import cache

import coefficient_files
import lifelines
import numpy as np
import pytest
from scipy import stats

import farrowtide

LITTER = coefficient_files.read("litter")
P = 2 * stats.norm.sf(4)
FOLLOWED_D = 26.0  # all are still with their dams
OFF = {"value": 0, "outside_range": True}
KNOWN_RISK = {
    "litter.survival.frailty.litter_sd": OFF,
    "litter.survival.frailty.phase_sd": OFF,
    "litter.survival.frailty.late_phase_sd": OFF,
    "litter.survival.frailty.competition": OFF,
    "litter.survival.hazard.colostrum_slope": OFF,
    "litter.survival.modifiers.gestation_per_day": OFF,
    "litter.survival.modifiers.three_stillborn_d0_1": OFF,
    "litter.survival.modifiers.three_stillborn_d2_8": OFF,
    "litter.survival.modifiers.farrowing_duration": OFF,
    "litter.birth_weight.splay_legged": OFF,
    "sow.milk.litter_start.bad_start_share": OFF,
    "sow.water.low_drinker.starvation_hazard_ratio": 1,
}
CAUSES = {"crushed": "crushed", "starved or weak": "starved_or_weak", "other": "other"}


@cache
def live_born():
    scenario = {
        "title": "litters of known risk",
        "climate": {"kind": "imposed", "temperature": 25},
        "attendance": {"kind": "none"},
        "herd": {"health": "off", "every_sow": {"parity": 3, "total_born": 12, "functional_teats": 18}},
        "group": {"lactation_days": 28, "weaning": "each_sow"},
    }
    scenario = farrowtide.load(scenario).with_coefficients(KNOWN_RISK)
    piglets = farrowtide.run(scenario, replications=150, seed=8, record=["piglets"]).piglets
    piglets = piglets[piglets.fate != "stillborn"]
    age_d = piglets.age_at_death_d.fillna(np.inf)
    return piglets.assign(age_d=np.minimum(age_d, FOLLOWED_D), dead=age_d < FOLLOWED_D)


def log_risk(piglets):
    """By birth weight and sex."""
    hazard, modifiers = LITTER.survival.hazard, LITTER.survival.modifiers
    above_knee = piglets.birth_weight_kg - hazard.weight_knee
    slope = np.where(above_knee < 0, -hazard.light_slope, -hazard.heavy_slope)
    return slope * above_knee + np.where(piglets.male == 1, modifiers.male, modifiers.female)


def baseline(age_d, cause=None):
    """Cumulative hazard of a piglet whose log risk is 0, up to each age; of one cause or of all."""
    hazard, modifiers = LITTER.survival.hazard, LITTER.survival.modifiers
    starts = np.cumsum([0, *hazard.duration[:-1]])
    rates = np.divide(hazard.base, hazard.duration)
    # A room of 25 degrees is not cold and nobody cares for the newborn: what centres both terms remains.
    first_two_days = np.exp(modifiers.cold_room_centre + modifiers.newborn_care_centre)
    rates = rates * np.where(starts < modifiers.newborn_care_until / 24, first_two_days, 1)
    if cause:
        rates = rates * getattr(LITTER.survival.causes, cause)
    ends = np.append(starts[1:], np.inf)
    return np.clip(np.subtract.outer(age_d, starts), 0, ends - starts) @ rates


def assert_inside(fitter, expected):
    """What is expected lies in the estimator's band of four standard errors, from the twentieth death on."""
    (low, high) = (fitter.confidence_interval_.iloc[:, each].to_numpy() for each in (0, 1))
    expected = expected(fitter.confidence_interval_.index.to_numpy())
    known = fitter.event_table.observed.cumsum().to_numpy() >= 20
    assert known.sum() > 50
    assert (low[known] <= expected[known]).all()
    assert (expected[known] <= high[known]).all()


@pytest.mark.parametrize("cause", [None, *CAUSES], ids=str)
def test_the_hazard_met_is_the_hazard_declared(cause):
    """Time is counted in each piglet's own cumulative hazard: then the dead must accumulate at rate one (Cox and Snell 1968)."""
    piglets = live_born()
    own_time = np.exp(log_risk(piglets)) * baseline(piglets.age_d.to_numpy(), CAUSES.get(cause))
    dead = piglets.dead if cause is None else piglets.dead & (piglets.cause == cause)
    fitter = lifelines.NelsonAalenFitter(alpha=P, nelson_aalen_smoothing=False).fit(own_time, dead)
    assert_inside(fitter, lambda time: time)


@pytest.mark.parametrize(
    "of",
    [
        pytest.param(lambda piglets: 1.0, id="all"),
        pytest.param(lambda piglets: piglets.male - 0.5, id="sex"),
        pytest.param(
            lambda piglets: np.clip(LITTER.survival.hazard.weight_knee - piglets.birth_weight_kg, 0, None), id="light"
        ),
        pytest.param(
            lambda piglets: np.clip(piglets.birth_weight_kg - LITTER.survival.hazard.weight_knee, 0, None), id="heavy"
        ),
    ],
)
@pytest.mark.parametrize(("from_d", "until_d"), [(0, 1), (1, 2), (2, 4), (4, 8), (8, FOLLOWED_D)])
def test_as_many_die_at_each_age_as_declared(of, from_d, until_d):
    """Deaths less hazard met, weighted by what may make a difference: the score of a proportional hazard."""
    piglets, weight = live_born(), of(live_born())
    age_d = piglets.age_d.to_numpy()
    hazard = np.exp(log_risk(piglets)) * (baseline(np.minimum(age_d, until_d)) - baseline(np.minimum(age_d, from_d)))
    dead = piglets.dead & piglets.age_d.between(from_d, until_d, inclusive="left")
    assert abs((weight * (dead - hazard)).sum()) < 4 * np.sqrt((weight**2 * hazard).sum())


@pytest.mark.parametrize(("from_kg", "below_kg"), [(0, 1.11), (1.11, 1.6), (1.6, 9)])
def test_the_share_alive_by_age_and_birth_weight_is_the_declared_one(from_kg, below_kg):
    piglets = live_born()
    piglets = piglets[piglets.birth_weight_kg.between(from_kg, below_kg, inclusive="left")]
    risk = np.exp(log_risk(piglets)).to_numpy()
    fitter = lifelines.KaplanMeierFitter(alpha=P).fit(piglets.age_d, piglets.dead)
    assert_inside(fitter, lambda age_d: np.exp(-np.multiply.outer(baseline(age_d), risk)).mean(axis=1))


def test_causes_have_their_shares_at_every_age():
    """Of those that die at an age, the causes' shares of the hazard there."""
    piglets = live_born()
    piglets = piglets[piglets.dead]
    starts = np.cumsum([0, *LITTER.survival.hazard.duration])
    for phase in range(len(starts) - 1):
        died = piglets[piglets.age_d.between(starts[phase], starts[phase + 1], inclusive="left")]
        shares = [getattr(LITTER.survival.causes, name)[phase] for name in CAUSES.values()]
        observed = [(died.cause == cause).sum() for cause in CAUSES]
        assert stats.chisquare(observed, np.multiply(sum(observed), shares)).pvalue > P, phase

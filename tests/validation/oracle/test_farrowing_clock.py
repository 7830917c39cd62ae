"""The engine's farrowing clock, nobody at hand, against farrowing_by_hand: interval by interval with the engine's own draws, and
in distribution with independent ones. z = 4 throughout; litters are the independent units."""

from functools import cache

import farrowing_by_hand
import numpy as np
import pytest
from scipy import stats

import farrowtide

ROOMS, CRATES = 60, 24
BY_HAND = 50_000
Z = 4
P = 2 * stats.norm.sf(Z)
NO_HUNGER = {
    "sow.farrowing.meal_term.kappa": 0,
    "sow.stillbirth.add_ons.hours_since_meal_weight": {"value": 0, "outside_range": True},
}
LITTERS = {
    "first parity, 9 born": {"parity": 1, "total_born": 9, "backfat": 20},
    "third parity, 15 born": {"parity": 3, "total_born": 15, "backfat": 16},
    "sixth parity, 20 born": {"parity": 6, "total_born": 20, "backfat": 17},
}


def unattended(body, record):
    scenario = {
        "title": "unattended farrowings",
        "room": {"crates": CRATES},
        "climate": {"kind": "imposed", "temperature": 20},
        "group": {"lactation_days": 17},
        "attendance": {"kind": "none"},
        "herd": {"health": "off", "every_sow": body},
    }
    scenario = farrowtide.load(scenario)
    if "events" not in record:
        scenario = scenario.with_coefficients(NO_HUNGER)
    return farrowtide.run(scenario, replications=ROOMS, seed=77, record=record)


@cache
def played(name):
    """Sows and piglets of the engine's litters; and litters by hand."""
    body = LITTERS[name]
    result = unattended(body, ["piglets"])
    piglets = result.piglets.sort_values(["replicate", "sow", "birth_order"])
    parity, born, backfat = body["parity"], body["total_born"], body["backfat"]
    by_hand = farrowing_by_hand.farrow(
        np.random.default_rng(5), BY_HAND, total_born=born, parity=parity, backfat=backfat
    )
    return result.sows, piglets, by_hand


def by_litter(piglets, column, born):
    return piglets[column].to_numpy().reshape(-1, born)


@cache
def with_hunger():
    """One litter size with hunger on, and the engine's spells of inertia: (replicate, sow) -> [(time, min)]."""
    result = unattended(LITTERS["third parity, 15 born"], ["piglets", "events"])
    spells, hours_since_meal = {}, {}
    for event in result.events[result.events.what == "inertia began"].itertuples():
        spells.setdefault((event.replicate, event.sow), []).append((event.time_h, event.amount))
    for event in result.events[result.events.what == "labour began"].itertuples():
        hours_since_meal[event.replicate, event.sow] = event.detail
    return result.piglets, spells, hours_since_meal


def test_each_interval_follows_from_its_draw_the_last_meal_and_inertia():
    piglets, spells, hours_since_meal = with_hunger()
    slackened = 0
    for key, litter in piglets.groupby(["replicate", "sow"]):
        litter = litter.sort_values("birth_order")
        hunger = np.exp(farrowing_by_hand.meal_term(np.float64(hours_since_meal[key])))
        labour = hunger * litter.birth_interval_drawn_min.to_numpy()[1:]
        at_h = litter.birth_time_h.to_numpy()
        left = np.zeros(len(labour))
        for began_h, lasts in spells.get(key, []):
            left = np.maximum(left, np.where(at_h[:-1] >= began_h - 1e-9, lasts - 60 * (at_h[:-1] - began_h), 0))
        to_the_end = farrowing_by_hand.LONGEST_LABOUR_MIN - 60 * (at_h[:-1] - at_h[0])
        expected = np.minimum(farrowing_by_hand.in_inertia(labour, np.clip(left, 0, None)), to_the_end)
        # The engine's clock has whole seconds.
        np.testing.assert_allclose(litter.birth_interval_min.to_numpy()[1:], expected, rtol=0, atol=1.01 / 60)
        slackened += (left > 0).sum()
    assert slackened > 1000


def test_hunger_is_met_on_all_its_range():
    _, _, hours_since_meal = with_hunger()
    term = farrowing_by_hand.meal_term(np.array(list(hours_since_meal.values())))
    assert np.unique(term).size > 500
    assert np.isclose(term.min(), farrowing_by_hand.meal_term(np.float64(0)))
    assert np.isclose(term.max(), farrowing_by_hand.meal_term(np.float64(24)))


def test_inertia_begins_as_often_as_its_hazard_says():
    """Spells counted against the chance of each interval at risk, given all before it."""
    piglets, spells, _ = with_hunger()
    inertia = farrowing_by_hand.SOW.farrowing.inertia
    expected = variance = 0.0
    for key, litter in piglets.groupby(["replicate", "sow"]):
        at_h = np.sort(litter.birth_time_h.to_numpy())[:-1]
        hazard = inertia.entry * (1 + 60 * (at_h - at_h[0]) / inertia.time_scale)
        for began_h, lasts in spells.get(key, []):
            hazard[(at_h > began_h + 1e-9) & (60 * (at_h - began_h) < lasts)] = 0
        chance = 1 - np.exp(-hazard)
        expected += chance.sum()
        variance += (chance * (1 - chance)).sum()
    assert abs(sum(map(len, spells.values())) - expected) < Z * variance**0.5


@pytest.mark.parametrize("name", LITTERS)
def test_labour_lasts_as_long(name):
    sows, _, by_hand = played(name)
    assert stats.ks_2samp(sows.farrowing_duration_min, by_hand.duration).pvalue > P
    # Quartiles with their errors from the engine's sample, where the error is.
    for q in (0.25, 0.5, 0.75):
        low, high = stats.binom.ppf([P / 2, 1 - P / 2], len(sows), q) / len(sows)
        low, high = np.quantile(sows.farrowing_duration_min, [low, high])
        assert low < np.quantile(by_hand.duration, q) < high, q


@pytest.mark.parametrize("name", LITTERS)
@pytest.mark.parametrize("minutes", [10, 30, 60, 120])
def test_as_many_intervals_are_long(name, minutes):
    _, piglets, by_hand = played(name)
    born = by_hand.at.shape[1]
    engine = (by_litter(piglets, "birth_interval_min", born)[:, 1:] > minutes).mean(axis=1)
    plain = (by_hand.intervals > minutes).mean(axis=1)
    error = np.hypot(stats.sem(engine), stats.sem(plain))
    assert abs(engine.mean() - plain.mean()) < Z * error


@pytest.mark.parametrize("name", LITTERS)
def test_intervals_by_birth_order_are_alike(name):
    """Where nothing slackens: the shape of the drawn intervals, rank by rank."""
    _, piglets, by_hand = played(name)
    drawn = np.log(by_litter(piglets, "birth_interval_drawn_min", by_hand.at.shape[1])[:, 1:])
    plain = np.log(by_hand.drawn)
    error = np.hypot(stats.sem(drawn), stats.sem(plain))
    assert (abs(drawn.mean(axis=0) - plain.mean(axis=0)) < Z * error).all()
    # The spread from birth to birth, and of the sows' own paces.
    for spread in (lambda log: log.var(axis=1, ddof=1), lambda log: (log.mean(axis=1) - log.mean()) ** 2):
        engine, other = spread(drawn - plain.mean(axis=0)), spread(plain - plain.mean(axis=0))
        assert abs(engine.mean() - other.mean()) < Z * np.hypot(stats.sem(engine), stats.sem(other))


@pytest.mark.parametrize("name", LITTERS)
def test_as_many_sows_tire(name):
    """Told from the piglets alone: an interval over the drawn one by more than seconds, and backfat lost since, explain."""
    _, piglets, by_hand = played(name)
    born = by_hand.at.shape[1]
    drawn, real = (by_litter(piglets, f"birth_interval{which}_min", born)[:, 1:] for which in ("_drawn", ""))
    usual = np.exp(farrowing_by_hand.SOW.farrowing.intervals.meal_centre)
    tired = (real > 1.02 * drawn * usual + 2 / 60).any(axis=1)
    plain = by_hand.spells > 0
    error = np.hypot(stats.sem(tired), stats.sem(plain))
    assert abs(tired.mean() - plain.mean()) < Z * error


@pytest.mark.parametrize("name", LITTERS)
def test_piglets_are_stillborn_as_often_as_their_births_say(name):
    """By quarter of the birth order; the chance from each birth as it was, averaged over what the litter has in common."""
    sows, piglets, by_hand = played(name)
    body, born = LITTERS[name], by_hand.at.shape[1]
    time_h = by_litter(piglets, "birth_time_h", born)
    gestation_d = sows.sort_values(["replicate", "sow"]).gestation_length_d.to_numpy()
    logit = farrowing_by_hand.stillbirth_logit(
        total_born=born,
        parity=body["parity"],
        relative_rank=farrowing_by_hand.rank(born),
        since_first_birth=60 * (time_h - time_h[:, :1]),
        interval=np.nan_to_num(by_litter(piglets, "birth_interval_min", born)),
        weight_kg=by_litter(piglets, "birth_weight_kg", born),
        male=by_litter(piglets, "male", born) == 1,
        gestation_d=gestation_d[:, None],
    )
    excess = (by_litter(piglets, "fate", born) == "stillborn") - farrowing_by_hand.stillbirth_probability(logit)
    for quarter in np.array_split(excess, 4, axis=1):
        assert abs(quarter.mean()) < Z * stats.sem(quarter.mean(axis=1))

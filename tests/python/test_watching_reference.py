"""Simulated rooms to watch a room by: who of them is healthy, how they are split, and what limits are checked on."""

from __future__ import annotations

import numpy as np
import pytest
from sows_by_hand import stays

import farrowtide
from farrowtide.analysis.watching.alarms import FEED_LOW, SIGNALS, UNTOUCHED, chosen_thresholds, rates, together
from farrowtide.analysis.watching.expected import expectations
from farrowtide.analysis.watching.reference import (
    LITTERS,
    TABLES,
    Simulated,
    judged_apart,
    reference,
    rooms_by_default,
    simulated_stays,
    unblocked,
)

SOWS, DAYS = 900, 3


@pytest.fixture(scope="module")
def healthy():
    """Sows of 90 rooms of ten; those of every third room eat 2 kg more. One in a hundred leaves a trough untouched."""
    rng = np.random.default_rng(4)
    room = np.arange(SOWS) // 10
    eaten = 5 + 2.0 * (room % 3 == 0)[:, None] + rng.standard_normal((SOWS, DAYS))
    eaten[::100, 1] = 0
    water = 20 + rng.standard_normal((SOWS, DAYS))
    names = [f"R{each + 1}-{number % 10}" for number, each in enumerate(room)]
    return stays(sow=names, eaten_kg=eaten, water_l=water, offered_kg=np.full((SOWS, DAYS), 8.0))


def test_the_rooms_of_a_third_are_judged_by_the_other_two_thirds(healthy):
    """Sows of the third that eats more are beside others that all eat less, so that their mean is well above theirs."""
    first, second, third = judged_apart(healthy)
    assert [len(part.recorded) for part in (first, second, third)] == [300, 300, 300]
    means = [float(np.median(part.scores["eaten_kg"])) for part in (first, second, third)]
    assert max(means) > 1.5
    assert sorted(means)[:2] == pytest.approx([-0.7, -0.7], abs=0.25)


def test_limits_are_those_of_all_parts_and_their_rate_that_of_each_part_by_the_others(healthy):
    of = reference(Simulated(healthy, np.ones(SOWS, dtype=bool)), 5.0, "feed")
    apart = judged_apart(healthy)
    limits = chosen_thresholds(together(apart), 5.0, "feed")
    assert of.thresholds.limits == pytest.approx(limits.limits)
    assert of.thresholds.chosen == 5.0
    alarms = 0
    for left_out, others in ((0, (1, 2)), (1, (0, 2)), (2, (0, 1))):
        chosen = chosen_thresholds(together([apart[k] for k in others]), 5.0, "feed")
        alarms += chosen.alarms(apart[left_out], SIGNALS["feed"]).sum()
    assert of.thresholds.found == pytest.approx(100 * alarms / (SOWS * DAYS))
    assert of.thresholds.sow_days == SOWS * DAYS
    assert of.thresholds.each == pytest.approx(rates(together(apart), limits, "feed").each)
    assert of.thresholds.each[UNTOUCHED] == pytest.approx(100 * 9 / (SOWS * DAYS))
    assert set(of.thresholds.limits) == {FEED_LOW}


def test_a_room_is_watched_by_healthy_sows_and_by_rooms_with_ill_ones(healthy):
    well = np.arange(SOWS) % 10 > 0
    of = reference(Simulated(healthy, well), 5.0, "feed")
    assert (of.signals, of.litters) == ("feed", SOWS)
    assert of.thresholds.sow_days == well.sum() * DAYS
    assert len(of.rooms.stays) == SOWS
    expected = expectations(healthy[well])["eaten_kg"].mean(healthy)
    np.testing.assert_allclose(of.expected["eaten_kg"].mean(healthy), expected)


@pytest.mark.parametrize(("crates", "rooms"), [(24, 300), (25, 288), (26, 279)])
def test_so_many_rooms_are_simulated_as_have_the_litters_in_three_equal_parts(crates, rooms):
    scenario = farrowtide.load({"title": "t", "room": {"crates": crates}})
    assert rooms_by_default(scenario) == rooms
    assert (rooms - 3) * crates < LITTERS <= rooms * crates


@pytest.fixture(scope="module")
def run():
    scenario = unblocked(farrowtide.load({"title": "t", "room": {"crates": 12}, "herd": {"health_level": 2}}))
    return farrowtide.run(scenario, replications=3, seed=3, record=TABLES), scenario


def test_healthy_sows_were_never_ill_and_were_weaned(run):
    result, scenario = run
    found = simulated_stays(result, scenario)
    healthy = set(found.of_healthy.sows["sow"])
    sows = result.sows[result.sows["farrowing_start_h"].notna() & (result.sows["nurse"] == 0)]
    by_hand = set()
    for sow in sows.itertuples():
        if np.isnan(sow.disorder_onset_h) and sow.left_as in ("weaned", "weaned late"):
            by_hand.add(f"R{sow.replicate + 1}-{sow.sow}")
    assert healthy == by_hand
    assert 0 < len(healthy) < len(found.stays)
    assert found.healthy.sum() == len(healthy)


def test_stays_of_simulated_sows_have_a_week_more_than_the_planned_lactation(run):
    result, scenario = run
    assert simulated_stays(result, scenario).stays.days == 21 + 7


def test_drinkers_of_healthy_rooms_never_clog():
    scenario = farrowtide.load({"title": "t", "room": {"drinker_blockages": "on"}})
    said = {path: value for path, value, *_ in farrowtide._core.settings_in_effect(unblocked(scenario)._core)}
    assert said["room.drinker_blockages"] == "off"

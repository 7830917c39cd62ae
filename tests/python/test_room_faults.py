"""Each fault as a change of what is planned."""

from __future__ import annotations

import json

import pytest

import farrowtide
from farrowtide import _core, policies
from farrowtide.analysis.watching.faults import FAULTS, blocked_drinkers


def planned(*, own=(), **keys):
    return farrowtide.load({"title": "t", "room": {"crates": 4}, **keys}, policies=own)


def with_fault(name, **keys):
    (fault,) = [each for each in FAULTS if each.name == name]
    return fault.of(planned(**keys))


class EightKilograms(policies.Feeding):
    name = "eight_kilograms"

    def rounds(self):
        return [8.0]

    def decide(self, view):
        return 8.0


def settings(scenario):
    return {path: value for path, value, *_ in _core.settings_in_effect(scenario._core)}


def number(scenario, path):
    return float(settings(scenario)[path].split()[0])


def test_a_room_whose_temperature_is_given_has_another():
    imposed = {"climate": {"kind": "imposed", "temperature": 20}}
    assert number(with_fault("hot_room", **imposed), "climate.temperature") == 26
    assert number(with_fault("cold_room", **imposed), "climate.temperature") == 16


def test_a_room_led_by_the_weather_is_as_far_from_what_it_is_at_mild_weather():
    led = {"kind": "weather_led", "farrowing": 24, "later": 20, "above": 20, "per_degree": 0.5}
    changed = settings(with_fault("cold_room", temperature=led))
    assert changed["temperature.kind"] == "schedule"
    assert (changed["temperature.farrowing"], changed["temperature.later"]) == ("20 degC", "16 degC")


def feeds(name, *times, **keys):
    changed = with_fault(name, feeding={"kind": "hand", "times": list(times)}, **keys)
    return json.loads(settings(changed)["feeding.times"]) if changed else None


def test_no_feed_is_later_than_half_an_hour_after_the_last_one():
    assert feeds("late_feeds", "07:00", "23:00") == ["10:00", "23:30"]
    assert feeds("late_feeds", "08:00") == ["08:30"]
    assert feeds("late_feeds", "15:00", "15:30") is None
    assert feeds("late_feeds", "07:00", "23:30") is None


def test_the_last_of_several_feeds_is_left_out_if_it_is_before_half_past_eleven():
    assert feeds("missed_feed", "07:00", "11:00", "23:15") == ["07:00", "11:00", "23:30"]
    assert feeds("missed_feed", "07:00", "23:30") is None
    assert feeds("missed_feed", "07:00", "11:00", "23:45") is None
    assert feeds("missed_feed", "07:00") is None


@pytest.mark.parametrize(("begin", "end", "left_out"), [
    ("15:30", "23:30", True), ("15:30", "23:45", False), ("23:30", "07:00", False), ("23:45", "07:00", True),
    ("22:00", "06:00", False), ("00:15", "06:00", True),
])  # fmt: skip
def test_a_feed_is_left_out_where_no_shift_holds_half_past_eleven(begin, end, left_out):
    shifts = [{"from": "07:00", "until": "15:00", "people": 1}, {"from": begin, "until": end, "people": 1}]
    found = feeds("missed_feed", "07:00", "15:00", staff={"shifts": shifts})
    assert found == (["07:00", "23:30"] if left_out else None)


@pytest.mark.parametrize("name", ["late_feeds", "missed_feed"])
def test_feeds_that_nobody_gives_are_neither_late_nor_left_out(name):
    assert with_fault(name, feeding={"kind": "full_access", "from_day": 0}) is None
    assert with_fault(name, feeding={"kind": "drops", "times": ["07:00", "15:00"]}) is None


@pytest.mark.parametrize(("flow", "slow"), [("2 L/min", 0.2), ("0.3 L/min", 0.05)])
def test_slow_drinkers_give_a_tenth_of_their_water(flow, slow):
    changed = with_fault("slow_drinkers", room={"crates": 4, "drinker_flow": flow})
    assert number(changed, "room.drinker_flow") == pytest.approx(slow)


@pytest.mark.parametrize("allowance", [
    {"rule": "flat", "amount": 6}, {"rule": "step_up", "start": 2, "step": 0.5, "max": 7},
    {"rule": "by_trough", "start": 2, "step": 0.5, "max": 7, "min": 2},
])  # fmt: skip
def test_a_smaller_allowance_is_four_fifths_of_every_amount_of_its_rule(allowance):
    feeding = {"kind": "hand", "times": ["07:00", "15:00"], "allowance": allowance}
    before, after = planned(feeding=feeding), with_fault("smaller_allowance", feeding=feeding)
    for key in ("start", "step", "max", "min", "amount"):
        path = f"feeding.allowance.{key}"
        share = 0.8 if key in allowance else 1.0
        assert number(after, path) == pytest.approx(share * number(before, path))


@pytest.mark.parametrize("keys", [
    {"feeding": {"kind": "hand", "times": ["07:00"], "allowance": {"rule": "by_day", "amounts": [3, 4]}}},
    {"feeding": {"kind": "eight_kilograms"}, "own": [EightKilograms]},
])  # fmt: skip
def test_an_allowance_that_is_no_amount_is_not_made_smaller(keys):
    assert with_fault("smaller_allowance", **keys) is None


def test_illness_and_scours_are_causes_where_sows_can_be_ill():
    assert number(with_fault("illness", herd={"health_level": 0.5}), "herd.health_level") == 2.5
    assert number(with_fault("illness", herd={"health_level": 1.5}), "herd.health_level") == 3
    assert settings(with_fault("scours"))["herd.scours"] == "problem"
    for name in ("illness", "scours"):
        assert with_fault(name, herd={"health": "off"}) is None


def test_a_fault_beyond_the_range_of_a_key_is_none_that_a_room_can_have():
    assert with_fault("hot_room", temperature={"farrowing": 28, "later": 26}) is None
    assert with_fault("hot_room", climate={"kind": "imposed", "temperature": 35}) is None


@pytest.mark.parametrize(("wholly", "full", "partial"), [(True, 0.25, 0.0), (False, 0.0, 0.25)])
def test_blocked_drinkers_clog_and_are_never_looked_at(wholly, full, partial):
    blocked = blocked_drinkers(planned(room={"drinker_blockages": "off"}), 0.25, wholly=wholly)
    coefficients = blocked._core.coefficients
    assert coefficients.find("room.drinkers.full_block_hazard").value[0] == full
    assert coefficients.find("room.drinkers.partial_block_hazard").value[0] == partial
    said = settings(blocked)
    assert (said["room.drinker_blockages"], said["water.kind"], said["water.every"]) == ("on", "every_drinker", "0")

"""Every coefficient that a policy or its page names moves an output of a room in which its mechanism acts.

Each is set to its lower and to its upper bound in the same rooms. Coefficients whose bounds are equal cannot be varied
and are left out. That no coefficient is without a reader is checked by `.ci/check_coefficients_read.py`.
"""

import re
from pathlib import Path

import pytest
import yaml

import farrowtide
from farrowtide.study.plan import ONLY_CASE

ROOT = Path(__file__).parents[2]

FAMILIES = yaml.safe_load((ROOT / "tests/validation/policy_families.yaml").read_text(encoding="utf-8"))
ROOM = {
    "title": "a room in which mechanisms act",
    "start": "2026-07-06",
    "room": {"crates": 12, "drinker_flow": "1.6 L/min"},
    "herd": {"new_feeder": True},
}

# The settings in which a mechanism acts, by the beginning of a coefficient's path; the longest beginning counts.
ACTS_WITH = {
    "litter.fostering": {"fostering": {"kind": "fill_and_equalise", "max_moved": 1}},
    "litter.fostering.cap": {"fostering": {"kind": "fill_and_equalise"}, "herd.every_sow": {"total_born": 20}},
    "litter.fostering.first_parity_credit": {
        "fostering": {"kind": "fill_teats", "max_moved": 1},
        "herd.parity_shares": [0.5, 0.5],
    },
    "litter.fostering.late_recipient": {
        "room.crates": 24,
        "fostering": {
            "kind": "fill_and_equalise",
            "max_moved": 1,
            "closed_after_day": 20,
            "window": {"from": 0, "until": 400},
            "only_once": False,
        },
    },
    "litter.fostering.window": {"fostering": {"kind": "fill_teats", "max_moved": 1}},
    "litter.fostering.window_from": {"fostering": {"kind": "fill_teats", "max_moved": 1, "window": {"until": 48}}},
    "litter.fostering_practice": {"fostering": {"kind": "by_size", "max_moved": 1}},
    "litter.fostering_practice.nurse_sows": {
        "fostering": {"kind": "fill_teats", "max_moved": 1},
        "herd.every_sow": {"total_born": 20},
    },
    "room.drinkers.flow": {"room": {"crates": 12}},
    "room.pit": {"room.deep_pit": True},
    "room.set_point.setback": {"temperature": {"kind": "night_setback"}, "start": "2026-04-06"},
    "room.set_point.weather": {"temperature": {"kind": "weather_led"}},
    "room.set_point": {"start": "2026-01-12"},
    "sow.feeding_practice.flat": {"feeding": {"kind": "hand", "allowance": {"rule": "flat"}}},
    "sow.feeding_practice.trough": {"feeding": {"kind": "hand", "allowance": {"rule": "by_trough"}}},
    "sow.feeding_practice.trough_least": {
        "feeding": {
            "kind": "hand",
            "allowance": {"rule": "by_trough", "start": 3.5, "lower": 3, "untouched_from": 0.06},
        }
    },
    "sow.feeding_practice.night_top_up": {"feeding": {"kind": "hand", "night_top_up": "15:30"}},
    "sow.farrowing.help.alarm_duration": {"care": {"kind": "by_signs", "whom": "at_risk"}},
    "sow.rectal_temperature.alarm": {"care": {"kind": "by_temperature"}},
    "staff.practice.at_risk_stillborn": {"care": {"kind": "by_signs", "whom": "at_risk"}},
    "staff.practice.close": {"attendance": {"kind": "close_watch"}},
    "staff.practice.worry_after": {"attendance": {"kind": "close_watch"}},
    "staff.practice.drinker_action_limit": {"water": {"kind": "on_suspicion"}},
    "staff.practice.drinkers_in_turn_within": {"water": {"kind": "in_turn"}},
    "staff.late.processing_late_from_day": {"handling": {"kind": "bundled", "day": 7}},
    "staff.practice.gilts_ready_within": {
        "herd.parity_shares": [1],
        "loading": {"kind": "gilts_together", "teach": "nobody"},
    },
    "staff.practice.nurse_sow_lactation_day": {
        "fostering": {"kind": "fill_teats", "max_moved": 1, "nurse_sows": 2},
        "herd.every_sow": {"total_born": 20},
    },
    "staff.practice.slow_to_eat": {"loading": {"kind": "gilts_together", "teach": "slow_to_eat"}},
    "staff.practice.split": {"handling": {"kind": "split"}},
}

_SELDOM_OFF_FEED = (
    "sows off feed on several mornings are too rare for so few rooms; tests/unit/model/policies_test.cpp makes them ill"
)
# What cannot move an output of such a room, and why.
EXEMPT = {
    "litter.fostering.litter_size_cost": "a weight among costs: within its bounds the same plan is cheapest",
    "staff.practice.off_feed_days_to_wean": _SELDOM_OFF_FEED,
    "staff.practice.wean_early_from_day": _SELDOM_OFF_FEED,
}
# What a row of the page names though its scenario cannot show it, and why.
EXEMPT_ROWS = {
    ("feeding/meals_a_day", "sow.trough.capacity"): "the scenario writes the size of its troughs down",
    ("water/slow_drinkers", "staff.practice.drinker_action_limit"): "the alternative writes its limit down",
}


def named_by_policies():
    """The coefficients that the policies and the sections of a scenario name in their code."""
    folders = (ROOT / "libsim/policy", ROOT / "libsim/model/settings")
    code = "".join(file.read_text(encoding="utf-8") for folder in folders for file in folder.rglob("*.cpp"))
    found = re.findall(r'"((?:sow|litter|room|staff|climate)\.[a-z_0-9.]+)"', code)
    return sorted(set(found) & coefficients().keys())


def coefficients():
    """Path -> the entry of its file."""

    def leaves(tree, path):
        for key, node in tree.items():
            yield from [(f"{path}.{key}", node)] if "value" in node else leaves(node, f"{path}.{key}")

    files = sorted((ROOT / "libsim/coefficients").glob("*.yaml"))
    return dict(leaf for file in files for leaf in leaves(yaml.safe_load(file.read_text(encoding="utf-8")), file.stem))


COEFFICIENTS = coefficients()


def rows_of_pages():
    """Scenario, case, alternative, output and coefficient of every row of the page of policy families."""
    return [
        (family["scenario"], row.get("case"), row["alternative"], row["output"], path)
        for family in FAMILIES
        for row in family["rows"]
        for path in row["coefficients"]
    ]


def varies(path):
    return COEFFICIENTS[path]["low"] != COEFFICIENTS[path]["high"]


def outputs_at(scenario, path, bound, replications=4):
    varied = scenario.with_coefficients({path: COEFFICIENTS[path][bound]})
    return farrowtide.run(varied, replications=replications, seed=11).outputs


def settings_for(path):
    beginnings = [beginning for beginning in ACTS_WITH if path.startswith(beginning)]
    return ACTS_WITH[max(beginnings, key=len)] if beginnings else {}


@pytest.mark.parametrize("path", [path for path in named_by_policies() if varies(path) and path not in EXEMPT])
def test_a_coefficient_that_a_policy_names_moves_an_output(path):
    scenario = farrowtide.load(ROOM).override(settings_for(path))
    low, high = outputs_at(scenario, path, "low"), outputs_at(scenario, path, "high")
    assert not low.equals(high), f"{path} has no effect: say in ACTS_WITH where it acts, or delete it"


@pytest.mark.parametrize("row", rows_of_pages(), ids=lambda row: f"{row[-1]}-{row[2]}")
def test_a_coefficient_that_a_policys_page_names_moves_what_the_page_reports(row):
    name, case, alternative, output, path = row
    if (name, path) in EXEMPT_ROWS or not varies(path):
        pytest.skip(EXEMPT_ROWS.get((name, path), "its bounds are equal"))
    scenario = farrowtide.load(ROOT / f"scenarios/{name}.yaml")
    scenario = scenario.case(case) if case and case != ONLY_CASE else scenario
    arms = [scenario.alternative(alternative), scenario.alternative(scenario.study.reference)]
    moved = (  # some of these mechanisms act in one room of many
        not outputs_at(arm, path, "low", rooms)[output].equals(outputs_at(arm, path, "high", rooms)[output])
        for rooms in (4, 30)
        for arm in arms
    )
    assert any(moved), f"{path} does not move {output}: the page names what the room does not read"


def test_the_exempt_are_named_by_a_policy():
    assert EXEMPT.keys() <= set(named_by_policies())
    assert EXEMPT_ROWS.keys() <= {(row[0], row[-1]) for row in rows_of_pages()}

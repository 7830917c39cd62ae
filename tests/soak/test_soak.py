"""Random scenarios with a small budget, what they once found, and the tools that draw and judge them."""

import dataclasses
import sys
import warnings
from pathlib import Path
from types import SimpleNamespace

import absurd
import dependent_keys
import judging
import numpy as np
import pytest
import soak
from hypothesis import HealthCheck, Phase, given, seed, settings
from metamorphic import RELATIONS, differing, rows
from random_scenarios import judge_one, value
from random_values import converted
from rich.console import Console

import farrowtide
from farrowtide.scenarios.declarations import declaration, visit

FOUND = sorted((Path(__file__).parent / "found").glob("*.yaml"))


def test_enough_is_tried_and_nothing_is_found():
    tally = judging.judge_all(range(100, 124))
    assert list(tally.findings) == []
    assert tally.tried == 24
    assert 0 < tally.refused < 0.4 * tally.tried
    assert tally.rooms > 3 * tally.tried
    assert tally.checks > 5_000
    assert len(tally.pairs) >= len(RELATIONS) - 2
    assert tally.warned


@pytest.mark.parametrize("file", FOUND, ids=lambda file: file.stem)
def test_what_was_found_is_mended(file):
    assert soak.replayed(file).findings == {}


def test_every_policy_and_every_kind_of_key_is_drawn():
    drawn_policies, drawn_keys = set(), set()

    def collect(drawn):
        for section, keys in drawn.items():
            if isinstance(keys, dict):
                drawn_keys.update(f"{section}.{key}" for key in keys)
                drawn_policies.add((section, keys.get("kind")))

    policies = {
        (key.name, variant.name) for key in declaration().keys for child in key.keys for variant in child.variants
    }
    declared = [path for key, path, _ in visit(declaration().keys) if path.count(".") == 1 and "[]" not in path]
    for number in range(500):
        judge_one(number, collect)
        if policies <= drawn_policies and sum(path in drawn_keys for path in declared) > 0.8 * len(declared):
            break
    assert policies <= drawn_policies
    assert sum(path in drawn_keys for path in declared) > 0.8 * len(declared)


def test_keys_that_are_drawn_together_are_declared():
    names_below = {}
    for _, path, _ in visit(declaration().keys):
        section, _, name = path.replace("[]", "").rpartition(".")
        names_below.setdefault(section, set()).add(name)
    for section, groups in dependent_keys.DEPENDENT.items():
        assert {name for names in groups for name in names} <= names_below[section]


@pytest.mark.parametrize(
    ("key", "allowed"),
    [
        ("room.trough_capacity", lambda kg: 1 <= kg <= 12),
        ("climate.temperature", lambda deg_c: 5 <= deg_c <= 40),
    ],
)
def test_numbers_are_drawn_within_their_range_and_at_its_ends(key, allowed):
    section, name = key.split(".")
    (one,) = [
        child for parent in declaration().keys if parent.name == section for child in parent.keys if child.name == name
    ]
    bare, units = set(), set()

    @seed(2)
    @settings(
        max_examples=200, database=None, deadline=None, phases=[Phase.generate], suppress_health_check=list(HealthCheck)
    )
    @given(value(one, key))
    def collect(number):
        if isinstance(number, str):
            amount, unit = number.split()
            units.add(unit)
            assert farrowtide.load({"title": "x", section: {name: number}}) or amount
        else:
            bare.add(number)

    collect()
    assert all(map(allowed, bare))
    assert {one.low, one.high} <= bare
    assert units == set(one.units)


@pytest.mark.parametrize(
    ("number", "declared", "unit", "expected"),
    [(20, "degC", "degF", 68), (1, "kg/d", "lb/d", 1 / 0.45359237), (90, "min", "h", 1.5), (2, "K", "degF", 3.6)],
)
def test_units_are_converted(number, declared, unit, expected):
    assert converted(number, declared, unit) == pytest.approx(expected)


def judged(drawn):
    tally = judging.Tally()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", farrowtide.PlausibilityWarning)
        judging.judge(drawn, (), thorough=False, tally=tally)
    return tally


def test_a_mistake_is_counted_with_its_key_and_without_its_numbers():
    tally = judged({"title": "x", "room": {"light_from": 9, "light_until": 8}})
    assert (tally.tried, tally.refused) == (1, 1)
    assert tally.reasons == {"room.light_until must be later than light_from": 1}


def test_what_is_refused_is_judged_without_the_keys_that_were_named():
    tally = judged(
        {
            "title": "x",
            "room": {"crates": 2, "light_from": 9, "light_until": 8},
            "alternatives": {"a": {"feeding": {"kind": "full_access", "remove_stale": "never"}}},
        }
    )
    assert (tally.tried, tally.refused, tally.rooms) == (1, 1, 3)


@pytest.mark.filterwarnings("ignore::farrowtide.PlausibilityWarning")
def test_an_absurd_animal_needs_a_warning_about_it(monkeypatch):
    result = farrowtide.run(farrowtide.load({"title": "x", "room": {"crates": 2}}))
    assert absurd.without_warning(result) is None
    narrow = dataclasses.replace(absurd.ABSURD[0], low=1000, warned_of=("nobody says this",))
    monkeypatch.setattr(absurd, "ABSURD", (narrow,))
    assert absurd.without_warning(result).startswith("sow_days.weight_kg is ")
    result.warnings.append(farrowtide.PlausibilityWarning("outside plausible range", "another", "problem", "advice"))
    assert absurd.without_warning(result)
    result.warnings.append(
        farrowtide.PlausibilityWarning("outside plausible range", "nobody says this", "problem", "advice")
    )
    assert absurd.without_warning(result) is None


@pytest.mark.filterwarnings("ignore::farrowtide.PlausibilityWarning")
def test_a_negative_amount_is_impossible(monkeypatch):
    result = farrowtide.run(farrowtide.load({"title": "x", "room": {"crates": 2}}))
    assert absurd.impossible(result) is None
    monkeypatch.setattr(absurd, "_SIGNED", set())
    assert absurd.impossible(result).startswith("sows.")


def test_a_difference_is_named_by_its_column():
    scenario = farrowtide.load({"title": "x", "room": {"crates": 2}})
    one, other = rows(scenario), rows(scenario)
    assert differing(one, other) is None
    other["piglets"]["moves"] = other["piglets"]["moves"] + 1
    assert differing(one, other) == "piglets.moves"


def test_the_table_counts_findings_by_kind():
    tally = judging.Tally(tried=9, refused=2)
    tally.struck.update({"ledger breach: feed #": 2, "ledger breach: piglets #": 1, "dead study: ValueError: #": 1})
    console = Console(record=True, width=120)
    soak._print(tally, console)
    counts = {}
    for line in console.export_text().splitlines():
        if line.count("│") == 3:
            _, name, number, _ = line.split("│")
            counts[name.strip()] = number.strip()
    assert (counts["scenarios run"], counts["valid as drawn"]) == ("9", "7")
    assert (counts["ledger breaches"], counts["dead studies"], counts["internal errors"]) == ("3", "1", "0")


@pytest.mark.parametrize(
    ("fault", "kind"), [("conservation law broken for sow 1", "ledger breach"), ("x", "room set aside")]
)
def test_a_room_that_broke_off_is_a_finding(fault, kind):
    with pytest.raises(judging.Finding) as raised:
        judging._hold(SimpleNamespace(set_aside=[(0, fault)]))
    assert raised.value.kind == kind


def test_findings_are_shrunk_and_the_rest_is_tried(monkeypatch):
    def refuse_diets(drawn, relations, *, thorough, tally):
        tally.tried += 1
        if "diet" in drawn:
            raise judging.Finding("a diet", f"in {len(drawn)}", drawn)

    monkeypatch.setattr(judging, "judge", refuse_diets)
    tally = judging.judge_all(range(8))
    ((finding, scenario),) = tally.findings.items()
    assert finding == "a diet: in 3"
    assert {name: keys for name, keys in scenario.items() if name != "title"} == {"room": {"crates": 1}, "diet": {}}
    assert tally.tried == 8
    assert tally.struck["a diet: in #"] > 1


def test_a_finding_is_saved_and_replayed(monkeypatch, tmp_path, capsys):
    monkeypatch.chdir(tmp_path)
    sides = tuple({"a table": {"a column": np.array([number])}} for number in (1, 2))
    relations = {"nothing": lambda drawn: sides}
    monkeypatch.setattr(soak, "RELATIONS", relations)
    monkeypatch.setattr(judging, "RELATIONS", relations)
    monkeypatch.setattr(
        soak, "_many", lambda _: judging.Tally(findings={"a kind: seen": {"title": "Y", "room": {"crates": 2}}})
    )
    monkeypatch.setattr(sys, "argv", ["soak", "--seed", "5"])
    assert soak.main() == 1
    file = Path("results/soak/seed_5_finding_1.yaml")
    assert file.read_text(encoding="utf-8").startswith("# a kind: seen\n")
    assert list(soak.replayed(file).findings) == ["a pair differs: nothing: a table.a column"]
    monkeypatch.setattr(sys, "argv", ["soak", "--replay", str(file)])
    assert soak.main() == 1
    assert "a pair differs: nothing" in capsys.readouterr().out

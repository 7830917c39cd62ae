"""Pairs of scenarios that must give the same rows, whatever else they hold.

A relation takes a random scenario, as a mapping that loads, and returns the two sides to compare; None where it says
nothing about this scenario. `RELATIONS` names all of them.
"""

from __future__ import annotations

import copy
import datetime
import pickle
from collections.abc import Callable, Iterable, Iterator
from typing import Any

import numpy as np
from random_values import ends

import farrowtide
from farrowtide import Result, Scenario
from farrowtide.engine.result import TABLES
from farrowtide.engine.running import simulate_replicates
from farrowtide.scenarios.declarations import Declaration, declaration

Mapping = dict[str, Any]
Rows = dict[str, dict[str, np.ndarray]]  # by table and column
Sides = tuple[Rows, Rows]
Relation = Callable[[Mapping], Sides | None]
RELATIONS: dict[str, Relation] = {}


def relation(name: str) -> Callable[[Relation], Relation]:
    """Enters a relation under the name by which a finding is reported."""

    def enter(function: Relation) -> Relation:
        RELATIONS[name] = function
        return function

    return enter


def rows(scenario: Scenario, *, replications: int = 1, threads: int = 1, first: int = 0, record: Any = TABLES) -> Rows:
    """The columns of the recorded tables of a scenario, run as written."""
    result = simulate_replicates(
        scenario,
        replications=replications,
        seed=scenario.study.seed,
        threads=threads,
        first_replicate=first,
        record=record,
    )
    return columns(result, record)


def columns(result: Result, tables: Iterable[str] = TABLES) -> Rows:
    """The columns of some tables of a result, by table and name."""
    return {table: result._core.columns(table) for table in tables}


def differing(one: Rows, other: Rows) -> str | None:
    """The first column whose bytes differ, or None."""
    for table in one:
        for name, values in one[table].items():
            if values.tobytes() != other[table][name].tobytes():
                return f"{table}.{name}"
    return None


def _in_a_case(scenario: Scenario) -> Scenario:
    """An alternative need not be valid outside the cases."""
    return scenario.case(scenario.cases[0]) if scenario.cases else scenario


def _both(drawn: Mapping, other: Mapping) -> Sides:
    return rows(farrowtide.load(drawn)), rows(farrowtide.load(other))


@relation("the order of keys, cases and alternatives")
def reversed_order(drawn: Mapping) -> Sides:
    """Every mapping is written backwards."""

    def backwards(value: Any) -> Any:
        if isinstance(value, list):
            return [backwards(entry) for entry in value]
        return {k: backwards(value[k]) for k in reversed(value)} if isinstance(value, dict) else value

    last = list(drawn.get("cases", {}))[-1:]
    one, other = farrowtide.load(drawn), farrowtide.load(backwards(drawn))
    return (rows(one.case(last[0])), rows(other.case(last[0]))) if last else (rows(one), rows(other))


@relation("an alternative and a case that are not used")
def unused_variations(drawn: Mapping) -> Sides | None:
    """The scenario as written does not know of its alternatives and cases.

    With the first alternative, `study` must name one that there is.
    """
    study = drawn.get("study", {})
    if "alternatives" not in drawn and (study.get("reference") or study.get("parts")):
        return None
    other = copy.deepcopy(drawn)
    for kind in ("alternatives", "cases"):
        other.setdefault(kind, {})["not used"] = {"diet.fibre": "added"}
    return _both(drawn, other)


@relation("identical alternatives")
def identical_alternatives(drawn: Mapping) -> Sides | None:
    """Two alternatives of the same content, and the same change made to the scenario as written."""
    if "alternatives" not in drawn:
        return None
    first, *_ = drawn["alternatives"]
    twice = {**drawn, "alternatives": {**drawn["alternatives"], "its twin": drawn["alternatives"][first]}}
    scenario = _in_a_case(farrowtide.load(twice))
    return rows(scenario.alternative(first)), rows(scenario.alternative("its twin"))


@relation("an alternative and the same override")
def alternative_or_override(drawn: Mapping) -> Sides | None:
    """Choosing an alternative is overriding what it changes."""
    if "alternatives" not in drawn:
        return None
    name, changes = list(drawn["alternatives"].items())[-1]
    scenario = _in_a_case(farrowtide.load(drawn))
    return rows(scenario.alternative(name)), rows(scenario.without_alternatives().override(changes))


@relation("other labels")
def other_labels(drawn: Mapping) -> Sides:
    """Title, question and names of alternatives reach no animal."""
    other = copy.deepcopy(drawn) | {"title": "another", "question": "Which?"}
    if "alternatives" in other:
        names = {name: f"other {number}" for number, name in enumerate(other["alternatives"])}
        other["alternatives"] = {names[name]: changes for name, changes in other["alternatives"].items()}
        other["study"]["reference"] = names[other["study"]["reference"]]
        other["study"]["parts"] = [names[part] for part in other["study"].get("parts", [])]
    return _both(drawn, other)


@relation("a replicate alone")
def replicate_alone(drawn: Mapping) -> Sides:
    """The last of three replicates, run alone, is what the three have beyond the first two."""
    scenario = farrowtide.load(drawn)
    three = rows(scenario, replications=3)
    last = {table: {k: v[values["replicate"] == 2] for k, v in values.items()} for table, values in three.items()}
    return last, rows(scenario, first=2)


@relation("fewer tables recorded")
def fewer_tables(drawn: Mapping) -> Sides:
    """What is recorded changes nothing of what happens."""
    scenario = farrowtide.load(drawn)
    return rows(scenario, record=("sows",)), rows(scenario)


@relation("a pickled scenario")
def pickled(drawn: Mapping) -> Sides:
    """A scenario that went to another process."""
    scenario = farrowtide.load(drawn)
    return rows(scenario), rows(pickle.loads(pickle.dumps(scenario)))


@relation("a start seven days later")
def a_week_later(drawn: Mapping) -> Sides:
    """Weekdays repeat, and where the climate of the room is imposed the season reaches only the sows that die, and those
    only in summer: both start in October.
    """
    climate = {k: v for k, v in drawn.get("climate", {}).items() if k != "kind"} | {"kind": "imposed"}
    drawn_start = datetime.date.fromisoformat(drawn.get("start", "2026-01-12"))
    start = drawn_start.replace(month=10, day=min(drawn_start.day, 24))
    here = {**drawn, "climate": climate, "start": start.isoformat()}
    return _both(here, {**here, "start": (start + datetime.timedelta(days=7)).isoformat()})


@relation("temperatures in degF, feed and weights in g")
def other_units(drawn: Mapping) -> Sides | None:
    """Temperatures that are a multiple of 5 degC, and whole kg, are exact in both units."""
    one, other = copy.deepcopy(drawn), copy.deepcopy(drawn)
    found = False
    for (section, key), (twin, _) in zip(_given(one), _given(other), strict=True):
        given = section[key.name]
        if isinstance(given, str):
            continue
        if key.unit == "degC":
            whole = _nearest(given, 5, key)
            section[key.name], twin[key.name] = whole, f"{whole * 9 // 5 + 32} degF"
        elif key.unit.startswith("kg"):
            whole = _nearest(given, 1, key)
            section[key.name], twin[key.name] = whole, f"{whole * 1000} {key.unit.replace('kg', 'g', 1)}"
        found = True
    return _both(one, other) if found and _loads(one) else None


@relation("earlier names of keys")
def earlier_names(drawn: Mapping) -> Sides | None:
    """A key may be written by its earlier name."""
    other = copy.deepcopy(drawn)
    renamed = [(section, key) for section, key in _given(other, every=True) if key.aliases]
    for section, key in renamed:
        section[key.aliases[0]] = section.pop(key.name)
    return _both(drawn, other) if renamed else None


@relation("a default that is written")
def written_defaults(drawn: Mapping) -> Sides | None:
    """To give a number its default value changes nothing."""
    other = copy.deepcopy(drawn)
    for section in declaration().keys:
        keys = other.get(section.name)
        if section.kind == "section" and isinstance(keys, dict) and section.name != "study":
            for key in section.keys:
                if key.kind in ("number", "integer") and key.default is not None and not _names(key) & set(keys):
                    keys[key.name] = float(key.default) if key.kind == "number" else int(key.default)
    return _both(drawn, other) if other != drawn and _loads(other) else None


def _names(key: Declaration) -> set[str]:
    return {key.name, *key.aliases}


def _nearest(value: float, step: int, key: Declaration) -> int:
    """The multiple of `step` within the key's range that is nearest to the value."""
    low, high = ends(key)
    lowest, highest = -int(-low // step) * step, int(high // step) * step
    return min(max(round(value / step) * step, lowest), highest)


def _loads(scenario: Mapping) -> bool:
    try:
        farrowtide.load(scenario)
    except farrowtide.ScenarioError:
        return False
    return True


def _given(scenario: Mapping, *, every: bool = False) -> Iterator[tuple[Mapping, Declaration]]:
    """The single numbers that the farm is given, or every key, each with the section that holds it."""

    def within(given: Mapping, keys: list[Declaration]) -> Iterator[tuple[Mapping, Declaration]]:
        for key in keys:
            if key.kind == "section" and key.name in given:
                yield from within(given[key.name], key.keys)
            elif key.name in given and (every or key.kind == "number"):
                yield given, key
            for variant in key.variants:
                if given.get(key.name, key.default) == variant.name:
                    yield from within(given, variant.keys)

    yield from within(scenario, [key for key in declaration().keys if key.kind == "section" and key.name != "study"])

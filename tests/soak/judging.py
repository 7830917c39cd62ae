"""Judges random scenarios.

A scenario is refused by the reader, with a place, or it runs: without an internal error, without a broken conservation
law, the same with one thread and two, the same when it is read from a file, and without an absurd animal that no warning
is about. What breaks this is a finding, and is shrunk.
"""

from __future__ import annotations

import contextlib
import copy
import re
import tempfile
import time
import warnings
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any

import jsonschema
import yaml
from absurd import impossible, without_warning
from metamorphic import RELATIONS, columns, differing, rows
from random_scenarios import judge_one

import farrowtide
from farrowtide import PlausibilityWarning, Scenario, ScenarioError, UserError
from farrowtide.scenarios.schema import json_schema

_SHRINKING_S = 20
_THOROUGH = 8  # one in so many scenarios is also held against the schema, measured, and compared as a whole


# Kinds of findings that are counted whether there are any or not.
INTERNAL, DEAD_STUDY, SET_ASIDE = "internal error", "dead study", "room set aside"
BREACH, UNWARNED = "ledger breach", "absurd animal without a warning"


class Finding(Exception):
    """What must not happen: its kind, and what was seen."""

    def __init__(self, kind: str, seen: object, scenario: dict[str, Any] | None = None) -> None:
        self.kind = kind
        self.seen = str(seen)
        self.scenario = scenario or {}
        super().__init__(kind, self.seen, self.scenario)

    def __str__(self) -> str:
        return f"{self.kind}: {self.seen}"

    @property
    def signature(self) -> str:
        """The same for the same fault in another scenario."""
        return f"{self.kind}: {without_numbers(self.seen)}"


class _LongEnough(BaseException):
    """Ends the shrinking of a finding."""


@dataclass
class Tally:
    """What was counted; tallies of parts add up."""

    tried: int = 0
    refused: int = 0  # as drawn
    reasons: Counter[str] = field(default_factory=Counter)
    rooms: int = 0
    checks: int = 0  # of conservation laws
    studies: int = 0  # compared as a whole
    pairs: Counter[str] = field(default_factory=Counter)  # by relation
    warned: Counter[str] = field(default_factory=Counter)  # scenarios by kind of warning
    struck: Counter[str] = field(default_factory=Counter)  # scenarios by signature of the finding
    findings: dict[str, dict[str, Any]] = field(default_factory=dict)  # by signature, the shrunk scenario

    def of_kind(self, kind: str) -> int:
        """The number of scenarios with a finding of this kind."""
        return sum(number for signature, number in self.struck.items() if signature.startswith(f"{kind}:"))

    def add(self, other: Tally) -> None:
        """Adds what was counted elsewhere; the first scenario of a finding is kept."""
        for name, value in vars(other).items():
            if name == "findings":
                self.findings = {**value, **self.findings}
            elif isinstance(value, Counter):
                getattr(self, name).update(value)
            else:
                setattr(self, name, getattr(self, name) + value)


def judge(drawn: dict[str, Any], relations: Iterable[str], *, thorough: bool, tally: Tally) -> None:
    """Counts what a scenario shows; one that is refused is judged without the keys that were named. Raises Finding."""
    tally.tried += 1
    reasons = mistakes(drawn)
    if reasons:
        tally.refused += 1
        tally.reasons.update({f"{without_numbers(key)} {without_numbers(problem)}" for key, problem in reasons})
    while reasons:
        drawn = _without_keys(drawn, {key for key, _ in reasons})
        reasons = mistakes(drawn)
    try:
        _judge_accepted(drawn, relations, thorough, tally)
    except Finding as finding:
        finding.scenario = drawn
        raise
    except UserError as error:
        raise Finding("accepted, then refused", error, drawn) from error
    except Exception as error:
        raise Finding(INTERNAL, f"{type(error).__name__}: {error}", drawn) from error


def mistakes(drawn: dict[str, Any]) -> list[tuple[str, str]]:
    """Key and problem of each mistake that the reader finds."""
    try:
        _arms(farrowtide.load(drawn))
    except ScenarioError as error:
        return [(one.key, one.problem) for one in error.mistakes]
    except UserError as error:
        raise Finding("refused without a place", error, drawn) from None
    except Exception as error:
        raise Finding(INTERNAL, f"{type(error).__name__}: {error}", drawn) from error
    return []


def _without_keys(drawn: dict[str, Any], keys: set[str]) -> dict[str, Any]:
    """The scenario without these dotted keys, wherever they stand; without all that varies it if they do not stand there."""
    left = copy.deepcopy(drawn)
    for key in keys:
        for mapping in (left, *left.get("cases", {}).values(), *left.get("alternatives", {}).values()):
            _drop(mapping, key.split("."))
    if left == drawn:
        sections = {key.split(".")[0] for key in keys} | {"cases", "alternatives", "study"}
        left = {name: value for name, value in drawn.items() if name not in sections}
    return left


def _drop(mapping: dict[str, Any], path: list[str]) -> None:
    """Removes the key at a path; an entry of a list is removed as a whole."""
    for end in range(len(path), 0, -1):
        name = ".".join(path[:end])
        if name in mapping:
            inner = mapping[name]
            if end < len(path) and isinstance(inner, dict):
                _drop(inner, path[end:])
            elif end < len(path) and isinstance(inner, list) and path[end].isdigit() and int(path[end]) < len(inner):
                inner.pop(int(path[end]))
            else:
                del mapping[name]
            return


def _judge_accepted(drawn: dict[str, Any], relations: Iterable[str], thorough: bool, tally: Tally) -> None:
    scenario = farrowtide.load(drawn)
    result = _run(scenario, drawn, tally)
    for arm in _arms(scenario):
        tally.rooms += 1
        _hold(farrowtide.run(arm, threads=1))
    if thorough:
        if error := next(_schema().iter_errors(drawn), None):
            raise Finding("refused by the schema", error.message)
        result.outputs  # noqa: B018 - measuring must not fail
        if len(scenario.alternatives) > 1:
            _compare(scenario)
            tally.studies += 1
    for name in relations:
        if (sides := RELATIONS[name](drawn)) is not None:
            tally.pairs[name] += 1
            if column := differing(*sides):
                raise Finding(f"a pair differs: {name}", column)


def _arms(scenario: Scenario) -> list[Scenario]:
    """Every alternative in every case."""
    in_cases = [scenario.case(name) for name in scenario.cases] or [scenario]
    return [case.alternative(name) for case in in_cases for name in case.alternatives] or in_cases[
        : len(scenario.cases)
    ]


def _run(scenario: Scenario, drawn: dict[str, Any], tally: Tally) -> farrowtide.Result:
    """The scenario as written with two threads, and the same from a file with one."""
    written = scenario.without_alternatives()
    result = farrowtide.run(written, replications=2, threads=2)
    tally.rooms += 2
    tally.checks += result.checks
    _hold(result)
    kinds = {
        one.kind if one.kind != "outside plausible range" else f"{one.kind}: {one.place}" for one in result.warnings
    }
    tally.warned.update(kinds)
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "scenario.yaml"
        file.write_text(dumped(drawn), encoding="utf-8")
        try:
            reread = farrowtide.load(file).without_alternatives()
        except ScenarioError as error:
            mistakes = "; ".join(f"{one.key} {one.problem}" for one in error.mistakes)
            raise Finding("refused when read from a file", mistakes) from None
    if column := differing(columns(result), rows(reread, replications=2)):
        from_two_threads = differing(columns(result), rows(written, replications=2))
        raise Finding("one thread and two differ" if from_two_threads else "read from a file, it differs", column)
    return result


def _compare(scenario: Scenario) -> None:
    try:
        farrowtide.compare(scenario, replications=2, threads=1)
    except Exception as error:
        raise Finding(DEAD_STUDY, f"{type(error).__name__}: {error}") from error


def _hold(result: farrowtide.Result) -> None:
    for _, fault in result.set_aside:
        raise Finding(BREACH if "conservation law" in fault else SET_ASIDE, fault)
    if seen := impossible(result):
        raise Finding("impossible number", seen)
    if seen := without_warning(result):
        raise Finding(UNWARNED, seen)


@cache
def _schema() -> jsonschema.protocols.Validator:
    return jsonschema.Draft202012Validator(json_schema())


def without_numbers(text: str) -> str:
    return re.sub(r"-?\d[\d.:]*(e[+-]?\d+)?", "#", text)


class _Quoted(yaml.CSafeDumper):
    """Quotes all text, because PyYAML holds fewer words to be booleans than others do."""


_Quoted.add_representer(str, lambda dumper, text: dumper.represent_scalar("tag:yaml.org,2002:str", text, style='"'))


def dumped(drawn: dict[str, Any]) -> str:
    """The scenario as a file."""
    return yaml.dump(drawn, Dumper=_Quoted, allow_unicode=True, sort_keys=False)


def judge_all(numbers: range, known: Iterable[str] = ()) -> Tally:
    """Judges the random scenarios of these numbers. A finding whose signature is not known is shrunk."""
    tally = Tally()
    signatures = set(known)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", PlausibilityWarning)
        for number in numbers:
            _judge_one(number, signatures, tally)
    return tally


def _judge_one(number: int, known: set[str], tally: Tally) -> None:
    relations = [list(RELATIONS)[number % len(RELATIONS)]]
    found: list[tuple[Finding, dict[str, Any]]] = []  # as drawn; from the first one to the simplest
    until = 0.0

    def judged(drawn: dict[str, Any]) -> None:
        nonlocal until
        if found and drawn == found[-1][1]:
            raise found[-1][0]
        if found and time.monotonic() > until:
            raise _LongEnough
        try:
            judge(drawn, relations, thorough=number % _THOROUGH == 0, tally=Tally() if found else tally)
        except Finding as finding:
            if not found:
                tally.struck[finding.signature] += 1
            if finding.signature in known or (found and finding.signature != found[0][0].signature):
                return
            until = until if found else time.monotonic() + _SHRINKING_S
            found.append((finding, drawn))
            raise

    with contextlib.suppress(Finding, _LongEnough):
        judge_one(number, judged)
    if found:
        finding, _ = found[-1]
        known.add(finding.signature)
        tally.findings[str(finding)] = finding.scenario

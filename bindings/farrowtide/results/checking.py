"""The check of a scenario file: its mistakes, what fails when it is run, and its warnings."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from functools import partial
from typing import Any

from farrowtide.engine.running import simulate_replicates
from farrowtide.errors import (
    InternalError,
    Mistake,
    PlausibilityWarning,
    ScenarioError,
    UserError,
    in_plain_values,
    listed_names,
)
from farrowtide.outputs.plausibility.observed import Observed
from farrowtide.scenarios.plausibility.arms import Labels, arm_name, expected_of, of_arms
from farrowtide.scenarios.plausibility.facts import Expected
from farrowtide.scenarios.scenario import Scenario, load
from farrowtide.study.blocks import RECORDED
from farrowtide.study.grid import AS_WRITTEN
from farrowtide.study.plan import ONLY_CASE
from farrowtide.study.programme import applied_in
from farrowtide.study.watch import warnings_shown


@dataclass(frozen=True)
class Checked:
    """What was found in a file. `failed`: what one room of an alternative in a case broke off with."""

    file: str
    mistakes: list[Mistake]
    failed: list[str]
    warnings: list[PlausibilityWarning]
    set_points: dict[str, list[str]] = field(default_factory=dict)
    """The set points that will run, in words, each with its alternatives; without those of an imposed climate."""
    scenario: Scenario | None = None  # None where it has mistakes

    @property
    def ok(self) -> bool:
        """Whether it can be run."""
        return not self.mistakes and not self.failed

    def in_plain_values(self) -> dict[str, Any]:
        """As JSON holds it."""
        return {
            "file": self.file,
            "ok": self.ok,
            "mistakes": [in_plain_values(mistake) for mistake in self.mistakes],
            "failed": self.failed,
            "warnings": [warning.in_plain_values() for warning in self.warnings],
            "set_points": self.set_points,
        }


def check(file: str, policies: tuple[str, ...] = ()) -> Checked:
    """Reads every alternative in every case, each mistake once, and simulates one room of each."""
    mistakes: dict[str, Mistake] = {}
    try:
        scenario = load(file, policies=policies)
    except ScenarioError as error:
        return Checked(file, list({str(mistake): mistake for mistake in error.mistakes}.values()), [], [])
    arms = _read(scenario, mistakes)
    if mistakes:
        return Checked(file, list(mistakes.values()), [], [])
    failed: dict[str, list[str]] = {}
    seen: dict[Labels, tuple[Observed, Expected]] = {}
    one_case = len({case for case, _ in arms}) == 1
    for labels, scenario in arms.items():
        try:
            seen[labels] = _one_room(scenario), expected_of(scenario)
        except (UserError, InternalError) as error:
            failed.setdefault(str(error), []).append(arm_name(labels, one_case=one_case))
    warnings = [] if failed else [*of_arms(arms), *warnings_shown(seen, "in one trial room, ")]
    set_points: dict[str, list[str]] = {}
    for labels, scenario in arms.items():
        if scenario.set_points_by_day:
            set_points.setdefault(_set_points(scenario), []).append(arm_name(labels, one_case=one_case))
    failures = [f"{listed_names(names)}: {text}" for text, names in failed.items()]
    return Checked(file, [], failures, warnings, set_points, scenario)


def _set_points(scenario: Scenario) -> str:
    """As "23.89 degC on day -4, 23.89 degC on day 3, 20.50 degC on day 8"; days count from the group's mean due date."""
    by_day = scenario.set_points_by_day
    changes = [day for day in by_day if day - 1 not in by_day or by_day[day] != by_day[day - 1]]
    shown = changes if len(changes) <= 3 else [changes[0], changes[1] - 1, changes[-1]]
    return ", ".join(f"{_range(*by_day[day])} degC on day {day}" for day in dict.fromkeys(shown))


def _range(lowest: float, highest: float) -> str:
    low, high = f"{lowest:.2f}", f"{highest:.2f}"
    return low if low == high else f"{low} to {high}"


def _read(scenario: Scenario, mistakes: dict[str, Mistake]) -> dict[Labels, Scenario]:
    """Every alternative in every case, and the practices of a programme together, as far as they can be read."""

    def read(make: Callable[[], Scenario]) -> Scenario | None:
        try:
            return make()
        except ScenarioError as error:
            mistakes.update((str(mistake), mistake) for mistake in error.mistakes)
            return None

    in_cases = {name: read(partial(scenario.case, name)) for name in scenario.cases} or {ONLY_CASE: scenario}
    arms: dict[Labels, Scenario] = {}
    for case, in_case in in_cases.items():
        if in_case is None:
            continue
        if not scenario.alternatives:
            arms[case, AS_WRITTEN] = in_case
        for name in scenario.alternatives:
            arm = read(partial(in_case.alternative, name))
            if arm is not None:
                arms[case, name] = arm
        for name, practices in applied_in(scenario.study.parts).items():
            arm = read(partial(in_case.together, practices)) if len(practices) > 1 else None
            if arm is not None:
                arms[case, name] = arm
    return arms


def _one_room(scenario: Scenario) -> Observed:
    result = simulate_replicates(
        scenario,
        replications=1,
        seed=scenario.study.seed,
        threads=1,
        first_replicate=0,
        record=RECORDED,
    )
    if result.set_aside:
        raise InternalError(result.set_aside[0][1])
    return result.observed

"""Warnings about the scenarios of a study, each once, with the alternatives and cases it is limited to."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from farrowtide.errors import PlausibilityWarning
from farrowtide.scenarios.plausibility.checks import found_in
from farrowtide.scenarios.plausibility.facts import Expected, Facts
from farrowtide.scenarios.scenario import Scenario

Labels = tuple[str, str]  # case, alternative


def of_scenario(scenario: Scenario) -> list[PlausibilityWarning]:
    """The warnings about one scenario."""
    return found_in(Facts(scenario))


def of_arms(arms: Mapping[Labels, Scenario]) -> list[PlausibilityWarning]:
    """The warnings about the arms of a study."""
    return merged({labels: of_scenario(scenario) for labels, scenario in arms.items()})


def merged(warnings_of: Mapping[Labels, Iterable[PlausibilityWarning]]) -> list[PlausibilityWarning]:
    """The same warning about several arms as one, limited to these; `warnings_of` has an entry for every arm."""
    arms_of: dict[PlausibilityWarning, list[Labels]] = {}
    for labels, warnings in warnings_of.items():
        for warning in dict.fromkeys(warnings):
            arms_of.setdefault(warning, []).append(labels)
    return [
        PlausibilityWarning(
            warning.kind,
            warning.place,
            warning.problem,
            warning.advice,
            (*warning.where, *named(arms, list(warnings_of))),
        )
        for warning, arms in arms_of.items()
    ]


def arm_name(labels: Labels, *, one_case: bool) -> str:
    """The alternative, with its case where there are several."""
    case, alternative = labels
    return alternative if one_case else f"{alternative} in {case}"


def named(some: list[Labels], every: list[Labels]) -> list[str]:
    """The arms by name, as shortly as possible: none for all of them, a case, an alternative, or both."""
    if len(some) == len(every):
        return []
    cases, alternatives = (list(dict.fromkeys(labels[i] for labels in every)) for i in (0, 1))
    if len(cases) == 1:
        return [alternative for _, alternative in some]
    whole_cases = [case for case in cases if all((case, name) in some for name in alternatives)]
    whole = [name for name in alternatives if all((case, name) in some for case in cases)]
    rest = [f"{name} in {case}" for case, name in some if case not in whole_cases and name not in whole]
    return [*whole_cases, *whole, *rest]


def expected_of(scenario: Scenario) -> Expected:
    """What the results of a scenario can be held against."""
    return Facts(scenario).expected

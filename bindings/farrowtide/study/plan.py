"""What a study is: its arms, the outputs that judge them, and what is kept of their rooms."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from farrowtide.cautions import withheld_by
from farrowtide.engine import provenance
from farrowtide.errors import PlausibilityWarning, UserError, unknown_name
from farrowtide.limits import MOST_SEED, require_whole
from farrowtide.outputs.catalogue import catalogue, chosen
from farrowtide.outputs.output import Output
from farrowtide.outputs.parsing import half_widths
from farrowtide.scenarios.given import GivenScenario, as_scenario
from farrowtide.scenarios.plausibility.arms import of_arms
from farrowtide.scenarios.policies.loading import NOT_RECORDED
from farrowtide.scenarios.scenario import Scenario
from farrowtide.study.blocks import REPLICATES, REPORT_TABLES, Arm, Block, Kept
from farrowtide.study.grid import refuse_keys_of_the_study

ONLY_CASE = "as written"
MOST_REPLICATIONS = 20_000  # the default where the study decides itself when to stop


@dataclass(frozen=True)
class Plan:
    """A study before it is run."""

    verb: str  # the command that it is a study of
    scenario: Scenario
    arms: list[Arm]
    reference: str
    outputs: list[Output]
    seed: int
    wanted: int  # replications; the maximum where the study decides itself when to stop
    kept: Kept
    precision: Mapping[str, float] = field(default_factory=dict)  # output -> half-width of its paired 95 % interval
    given_alternatives: Mapping[str, Mapping[str, Any]] | None = None  # in Python; None: those of the file
    given_outputs: bool = False

    def __post_init__(self) -> None:
        _require_same_prices(self.scenario, self.arms)

    @property
    def rooms(self) -> dict[tuple[str, str], Scenario]:
        """The scenario of every case and alternative."""
        return {(arm.case, arm.alternative): arm.scenario for arm in self.arms}

    @property
    def cases(self) -> list[str]:
        """In the order of the file."""
        return list(dict.fromkeys(arm.case for arm in self.arms))

    @property
    def names(self) -> list[str]:
        """The names of the alternatives, in the order of the file."""
        return list(dict.fromkeys(arm.alternative for arm in self.arms))

    @cached_property
    def warnings(self) -> list[PlausibilityWarning]:
        """What can be said about its scenarios before anything is run."""
        return of_arms(self.rooms)

    @property
    def withheld_care(self) -> dict[str, list[str]]:
        """Alternative -> the care that it withholds in any case; only those that withhold some."""
        return withheld_by((name, room.withheld_care) for (_, name), room in self.rooms.items())

    @property
    def litters_per_replication(self) -> int:
        """The sows whose mean a replicate is, in the arm that has fewest."""
        return min(arm.scenario.litters_per_replication for arm in self.arms)

    def number_of(self, arm: Arm) -> int:
        """The number of an arm, under which a study folder keeps its blocks."""
        return self._numbers[arm]

    @cached_property
    def _numbers(self) -> dict[Arm, int]:
        return {arm: number for number, arm in enumerate(self.arms)}

    def rounds(self, replicates: int = REPLICATES) -> Iterator[list[Block]]:
        """The blocks of each round: the next `replicates` replicates of every arm."""
        for first in range(0, self.wanted, replicates):
            count = min(replicates, self.wanted - first)
            yield [Block(arm, first, count, self.kept) for arm in self.arms]

    def identity(self) -> dict[str, Any]:
        """Which study it is, in plain values that are the same however far it has run."""
        recipe, engine = self.scenario.recipe, provenance.engine()
        if any(policy.get("hash") == NOT_RECORDED for policy in recipe["policies"]):
            raise UserError("with a study folder, policies must be defined in a file so that they can be identified")
        # Paths and commits may change between two parts of a study; what changes numbers may not.
        from_files = ("with_coefficients", "with_weather")
        steps = [[method, given[:1] if method in from_files else given] for method, given in recipe["steps"]]
        study = {
            "verb": self.verb,
            "about": {"engine": engine, "source": recipe["source"]},
            "results_version": engine["results_version"],
            "coefficient_hash": self.scenario.coefficient_hash,
            "scenario": {"text": recipe["text"], "steps": steps},
            "policies": [policy.get("text", policy) for policy in recipe["policies"]],
            "tables": list(self.kept.tables),
            "rooms": [self._identity_of(arm) for arm in self.arms],
            "seed": self.seed,
            "replicates_of_a_block": REPLICATES,
        }
        read_back: dict[str, Any] = json.loads(json.dumps(study))  # lists, as a manifest holds, where there were tuples
        return read_back

    def _identity_of(self, arm: Arm) -> dict[str, Any]:
        identity = {"case": arm.case, "alternative": arm.alternative, "scenario_hash": arm.scenario.hash}
        own_draws = {"seed": arm.seed, "one_stream": arm.one_stream}
        usual = {"seed": self.seed, "one_stream": False}
        return identity | {name: value for name, value in own_draws.items() if value != usual[name]}


def plan(
    scenario: GivenScenario,
    alternatives: Mapping[str, Mapping[str, Any]] | None = None,
    *,
    verb: str = "compare",
    replications: int | None = None,
    seed: int | None = None,
    outputs: Sequence[str] | None = None,
    reference: str | None = None,
    precision: Mapping[str, float] | None = None,
    cases: Sequence[str] | None = None,
    tables: Sequence[str] = REPORT_TABLES,
) -> Plan:
    """Every alternative in every case, checked as a whole before anything runs.

    What is None is taken from the file. `tables`: which are kept of each room beside its outputs. Raises UserError.
    """
    scenario = as_scenario(scenario)
    study = scenario.study
    default = MOST_REPLICATIONS if precision else study.replications
    wanted = default if replications is None else replications
    require_whole("replications", wanted, 1)
    seed = study.seed if seed is None else seed
    require_whole("seed", seed, 0, MOST_SEED)
    arms = arms_of(scenario, alternatives, cases, seed)
    return Plan(
        verb=verb,
        scenario=scenario,
        arms=arms,
        reference=reference_of([arm.alternative for arm in arms], reference, study.reference),
        outputs=chosen(study.outputs if outputs is None else outputs, only=outputs is not None, prices=scenario.prices),
        seed=seed,
        wanted=wanted,
        kept=Kept(tables=tuple(tables)),
        precision=_targets(precision or {}, scenario),
        given_alternatives=alternatives and {name: {**values} for name, values in alternatives.items()},
        given_outputs=outputs is not None,
    )


def _targets(precision: Mapping[str, float], scenario: Scenario) -> dict[str, float]:
    """The targets by exact output names; see outputs.parsing.half_widths."""
    return half_widths([f"{name}={value}" for name, value in precision.items()], catalogue(scenario.prices).values())


def arms_of(
    scenario: Scenario, given: Mapping[str, Mapping[str, Any]] | None, cases: Sequence[str] | None, seed: int
) -> list[Arm]:
    """Every alternative in every case; `cases`: some of the file's."""
    for name, values in (given or {}).items():
        refuse_keys_of_the_study(values, f"alternative '{name}'")
    names = list(given) if given is not None else scenario.alternatives
    chosen_cases = scenario.cases if cases is None else list(dict.fromkeys(cases))
    in_case = {name: scenario.case(name) for name in chosen_cases} or {ONLY_CASE: scenario}
    arms = [
        Arm(case, name, base.override(given[name]) if given is not None else base.alternative(name), seed)
        for case, base in in_case.items()
        for name in names
    ]
    if len(names) < 2:  # after the mistakes within an only alternative
        raise UserError(f"{scenario.source_name}: nothing to compare: name at least two `alternatives`")
    return arms


def _require_same_prices(scenario: Scenario, arms: Sequence[Arm]) -> None:
    """Raises UserError where the margin of an arm would be one of other things than that of the scenario as written."""
    counted = scenario.prices and scenario.prices.counted
    for arm in arms:
        if (arm.scenario.prices and arm.scenario.prices.counted) != counted:
            raise UserError(
                f"alternative '{arm.alternative}' counts other things in money than the scenario as written: only what "
                "has a price there may have one (the same currency and matters_per_litter)"
            )


def reference_of(names: list[str], wanted: str | None, default: str) -> str:
    """The alternative that is wanted; otherwise the default, if it is among the alternatives, or the first."""
    if wanted is None:
        return default if default in names else names[0]
    check_alternative(wanted, names)
    return wanted


def check_alternative(name: str, names: Sequence[str]) -> None:
    """Raises UserError where the name is not among those of the alternatives."""
    if name not in names:
        raise unknown_name("alternative", name, names)

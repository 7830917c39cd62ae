"""What a study is: which rooms are simulated of which alternatives, judged by what, on which seed."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from farrowtide.cautions import withheld_by
from farrowtide.engine import provenance
from farrowtide.errors import UserError
from farrowtide.outputs.catalogue import catalogue, chosen
from farrowtide.outputs.output import Output
from farrowtide.outputs.parsing import half_widths
from farrowtide.scenarios.policies.loading import NOT_RECORDED
from farrowtide.scenarios.scenario import Scenario
from farrowtide.study.blocks import REPLICATES, Block

ONLY_CASE = "as written"
MOST_REPLICATIONS = 20_000  # where a precision is asked for and nothing else is said


@dataclass(frozen=True)
class Plan:
    """A study before it is run."""

    scenario: Scenario
    rooms: dict[tuple[str, str], Scenario]  # (case, alternative)
    reference: str
    outputs: list[Output]
    seed: int
    wanted: int  # replications, at most where a precision is asked for
    precision: Mapping[str, float]  # output -> half-width of its paired 95 % interval at which to stop
    given_alternatives: Mapping[str, Mapping[str, Any]] | None  # in Python; None: those of the file
    given_outputs: bool

    @property
    def cases(self) -> list[str]:
        """In the order of the file."""
        return list(dict.fromkeys(case for case, _ in self.rooms))

    @property
    def names(self) -> list[str]:
        """Of the alternatives, in the order of the file."""
        return list(dict.fromkeys(alternative for _, alternative in self.rooms))

    @property
    def withheld_care(self) -> dict[str, list[str]]:
        """Alternative -> the care that it withholds in any case; only those that withhold some."""
        return withheld_by((name, room.withheld_care) for (_, name), room in self.rooms.items())

    def rounds(self, replicates: int = REPLICATES) -> Iterator[list[Block]]:
        """The same replicates of every alternative in every case, `replicates` of them and then the next."""
        for first in range(0, self.wanted, replicates):
            count = min(replicates, self.wanted - first)
            yield [Block(*place, scenario, self.seed, first, count) for place, scenario in self.rooms.items()]

    def identity(self) -> dict[str, Any]:
        """Which study it is, in plain values, however far it is run."""
        recipe, engine = self.scenario.recipe, provenance.engine()
        if any(policy.get("hash") == NOT_RECORDED for policy in recipe["policies"]):
            raise UserError("a policy whose source is in no file cannot be told from another: no study folder")
        # Places and commits may change between two parts of a study; what gives other numbers may not.
        steps = [
            [method, given[:1] if method == "with_coefficients" else given] for method, given, _ in recipe["steps"]
        ]
        return {
            "about": {"engine": engine, "source": recipe["source"]},
            "results_version": engine["results_version"],
            "coefficient_hash": self.scenario.coefficient_hash,
            "scenario": {"text": recipe["text"], "steps": steps},
            "policies": [policy.get("text", policy) for policy in recipe["policies"]],
            "rooms": [
                {"case": case, "alternative": alternative, "scenario_hash": room.hash}
                for (case, alternative), room in self.rooms.items()
            ],
            "seed": self.seed,
            "replicates_of_a_block": REPLICATES,
        }


def plan(
    scenario: Scenario,
    alternatives: Mapping[str, Mapping[str, Any]] | None,
    *,
    replications: int | None,
    seed: int | None,
    outputs: Sequence[str] | None,
    reference: str | None,
    precision: Mapping[str, float] | None = None,
) -> Plan:
    """Checked as a whole before anything runs; what is None stands in the file's `study`. Raises UserError."""
    study = scenario.study
    usual = MOST_REPLICATIONS if precision else study.replications
    wanted = usual if replications is None else replications
    if wanted < 1:
        raise UserError(f"replications = {wanted}: at least 1")
    rooms = _rooms(scenario, alternatives)
    return Plan(
        scenario=scenario,
        rooms=rooms,
        reference=reference_of([alternative for _, alternative in rooms], reference, study.reference),
        outputs=chosen(study.outputs if outputs is None else outputs, only=outputs is not None),
        seed=study.seed if seed is None else seed,
        wanted=wanted,
        precision=_targets(precision or {}),
        given_alternatives=alternatives and {name: {**values} for name, values in alternatives.items()},
        given_outputs=outputs is not None,
    )


def _targets(precision: Mapping[str, float]) -> dict[str, float]:
    """By exact names; see outputs.parsing.half_widths."""
    return half_widths([f"{name}={value}" for name, value in precision.items()], catalogue().values())


def _rooms(scenario: Scenario, given: Mapping[str, Mapping[str, Any]] | None) -> dict[tuple[str, str], Scenario]:
    """Every alternative in every case."""
    names = list(given) if given is not None else scenario.alternatives
    if len(names) < 2:
        raise UserError(f"{scenario.source_name}: nothing to compare: name at least two `alternatives`")
    cases = {name: scenario.case(name) for name in scenario.cases} or {ONLY_CASE: scenario}
    return {
        (case, name): there.override(given[name]) if given is not None else there.alternative(name)
        for case, there in cases.items()
        for name in names
    }


def reference_of(names: list[str], wanted: str | None, usual: str) -> str:
    """The one asked for; else the file's, where it is among the alternatives; else the first."""
    if wanted is not None and wanted not in names:
        raise UserError(f"no alternative is called '{wanted}' (alternatives: {', '.join(dict.fromkeys(names))})")
    return wanted or (usual if usual in names else names[0])

"""What a study is: which rooms are simulated of which alternatives, judged by what, on which seed."""

from __future__ import annotations

import math
import os
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import Executor
from contextlib import closing, nullcontext
from dataclasses import dataclass
from typing import Any

import pyarrow as pa

from farrowtide import _core, executing, provenance, stopping
from farrowtide import outputs as declared
from farrowtide.blocks import REPLICATES, Block, outputs_of
from farrowtide.moments import PairedMoments
from farrowtide.policies import NOT_RECORDED
from farrowtide.scenario import Scenario
from farrowtide.study_folder import StudyFolder

ONLY_CASE = "as written"
MOST_REPLICATIONS = 20_000  # where a precision is asked for and nothing else is said
Progress = Callable[[int, int, str], None]  # rooms done, rooms expected, what more there is to say


@dataclass(frozen=True)
class Plan:
    """A study before it is run."""

    scenario: Scenario
    rooms: dict[tuple[str, str], Scenario]  # (case, alternative)
    reference: str
    outputs: list[declared.Output]
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

    def rounds(self, replicates: int = REPLICATES) -> Iterator[list[Block]]:
        """The same replicates of every alternative in every case, `replicates` of them and then the next."""
        for first in range(0, self.wanted, replicates):
            count = min(replicates, self.wanted - first)
            yield [Block(*place, scenario, self.seed, first, count) for place, scenario in self.rooms.items()]

    def identity(self) -> dict[str, Any]:
        """Which study it is, in plain values, however far it is run."""
        recipe, engine = self.scenario.recipe, provenance.engine()
        if any(policy.get("hash") == NOT_RECORDED for policy in recipe["policies"]):
            raise _core.UserError("a policy whose source is in no file cannot be told from another: no study folder")
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
        raise _core.UserError(f"replications = {wanted}: at least 1")
    rooms = _rooms(scenario, alternatives)
    return Plan(
        scenario=scenario,
        rooms=rooms,
        reference=_reference([alternative for _, alternative in rooms], reference, study.reference),
        outputs=declared.chosen(study.outputs if outputs is None else outputs, only=outputs is not None),
        seed=study.seed if seed is None else seed,
        wanted=wanted,
        precision=_targets(precision or {}),
        given_alternatives=alternatives and {name: {**values} for name, values in alternatives.items()},
        given_outputs=outputs is not None,
    )


def _targets(precision: Mapping[str, float]) -> dict[str, float]:
    """By exact names; see stopping.parse."""
    return stopping.parse([f"{name}={value}" for name, value in precision.items()], declared.catalogue().values())


def _rooms(scenario: Scenario, given: Mapping[str, Mapping[str, Any]] | None) -> dict[tuple[str, str], Scenario]:
    """Every alternative in every case."""
    names = list(given) if given is not None else scenario.alternatives
    if len(names) < 2:
        raise _core.UserError(f"{scenario.source_name}: nothing to compare: name at least two `alternatives`")
    cases = {name: scenario.case(name) for name in scenario.cases} or {ONLY_CASE: scenario}
    return {
        (case, name): there.override(given[name]) if given is not None else there.alternative(name)
        for case, there in cases.items()
        for name in names
    }


def _reference(names: list[str], wanted: str | None, usual: str) -> str:
    """The one asked for; else the file's, where it is among the alternatives; else the first."""
    if wanted is not None and wanted not in names:
        raise _core.UserError(f"no alternative is called '{wanted}' (alternatives: {', '.join(dict.fromkeys(names))})")
    return wanted or (usual if usual in names else names[0])


class Watch:
    """Looks at the paired differences after each round, and stops the study when they are precise enough."""

    def __init__(self, plan: Plan) -> None:
        self._plan = plan
        self._rule = stopping.Precision(plan.precision)
        self._paired = PairedMoments(plan.cases, plan.names, plan.reference, list(plan.precision))
        self.reached: stopping.Reached | None = None

    def after(self, tables: Sequence[pa.Table]) -> bool:
        """Whether to stop after this round."""
        self._paired.add(outputs_of(tables))
        self.reached = self._rule.after(self._paired)
        unknown = [name for name, half_width in self.reached.half_widths.items() if math.isnan(half_width)]
        if unknown and self.reached.replications >= stopping.LEAST:
            raise _core.UserError(f"{unknown[0]}: hardly any room has a value, so that no precision can be asked of it")
        return self.reached.stop

    def expected(self) -> int:
        """Replications in all, by the spread so far."""
        known = self.reached and self.reached.expected_end
        return min(known or self._plan.wanted, self._plan.wanted)

    def said(self) -> str:
        """The precision so far, and the one asked for."""
        if self.reached is None:
            return ""
        catalogue = declared.catalogue()
        return ", ".join(
            f"{catalogue[name].label.lower()} \N{PLUS-MINUS SIGN}{self.reached.half_widths[name]:.2g} of {asked:g}"
            for name, asked in self._plan.precision.items()
        )


class Course:
    """A plan being carried out. What carries it out, and the folder that keeps it, change no number.

    `threads` of the engine where there is no `executor` (0: all the machine has). Raises UserError where `folder` holds
    something else than this study, or this study without `resume`.
    """

    def __init__(
        self,
        plan: Plan,
        *,
        threads: int = 0,
        executor: Executor | None = None,
        folder: str | os.PathLike[str] | None = None,
        resume: bool = False,
    ) -> None:
        self._plan = plan
        self._threads = threads
        self._executor = executor
        self.folder = None if folder is None else StudyFolder(folder, plan.identity(), resume=resume)
        self._watch = Watch(plan) if plan.precision else None

    @property
    def reached(self) -> stopping.Reached | None:
        """The precision so far, where one is asked for."""
        return self._watch and self._watch.reached

    def rounds(self, *, progress: Progress | None = None, replicates: int | None = None) -> Iterator[list[pa.Table]]:
        """The tables of each round, a table for each room of the plan, until all are run or precise enough.

        `replicates` of a round; None: as suits what carries it out.
        """
        done, kept = 0, 0

        def tell(more: int) -> None:
            nonlocal done
            done += more
            if progress is not None:
                expected, said = self._expected()
                progress(done, max(done, expected * len(self._plan.rooms)), said)

        blocks = (block for round_ in self._plan.rounds(replicates or self._replicates()) for block in round_)
        running = executing.tables_of(
            blocks, executor=self._executor, threads=self._threads, folder=self.folder, tell=tell
        )
        here: list[pa.Table] = []
        with self.folder.open() if self.folder else nullcontext(), closing(running):
            for _, table in running:
                here.append(table)
                if len(here) < len(self._plan.rooms):
                    continue
                kept += table.num_rows
                yield here
                if self._watch and self._watch.after(here):
                    break
                here = []
            if self.folder:
                self.folder.take_back_from(kept)

    def _expected(self) -> tuple[int, str]:
        return (self._watch.expected(), self._watch.said()) if self._watch else (self._plan.wanted, "")

    def _replicates(self) -> int:
        """Where neither a file nor the rule that stops sees the rounds, enough for all threads of the engine."""
        if self._watch or self._executor or self.folder:
            return REPLICATES
        return max(REPLICATES, 4 * (self._threads or os.cpu_count() or 1))

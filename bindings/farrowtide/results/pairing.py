"""What it is worth that alternatives meet the same animals, run for the purpose.

Two alternatives of one seed share every draw by its address (which animal, which purpose, which time), so that chance
cancels in their difference. `pairing_table` runs the other two ways beside it: the same seed with one stream of random
numbers, as a program with a single generator has it, and independent seeds.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pandas as pd

from farrowtide import _core
from farrowtide.analysis.variance_reduction import three_ways
from farrowtide.engine import provenance
from farrowtide.engine.result import Result
from farrowtide.errors import UserError
from farrowtide.outputs.catalogue import chosen
from farrowtide.outputs.output import Output
from farrowtide.scenarios.scenario import Scenario
from farrowtide.study.plan import ONLY_CASE, reference_of
from farrowtide.study.provenance import of_pairs

_RECORDED = ("tasks", "work_hours", "duty_hours", "rooms")  # what the declared outputs read, beside the sows


@dataclass(frozen=True)
class PairingTable:
    """What pairing by address is worth against the two other ways, run for the purpose; see `pairing_table`.

    table  one row per case, alternative and output: the variance of the difference from the reference, `variance_keyed`
           (same seed, draws by address), `variance_one_stream` (same seed, draws in the order of asking) and
           `variance_independent` (another seed); `factor_independent` and `factor_one_stream`: these two over the
           first, each with its 95 % interval over the `n` rooms (`_low`, `_high`); `factor_one_stream_independent`: what
           the same seed with one stream is worth against independent seeds. `sd_reference`, `sd_alternative` and
           `correlation` are those of keyed pairs.
    """

    scenario: Scenario
    reference: str
    outputs: list[Output]
    replications: int
    seed: int
    table: pd.DataFrame
    provenance: dict[str, Any]

    def write(self, folder: Path) -> None:
        """Writes pairing.csv and provenance.json."""
        folder.mkdir(parents=True, exist_ok=True)
        self.table.to_csv(folder / "pairing.csv", index=False, lineterminator="\n")
        provenance.write(folder, self.provenance)


def pairing_table(
    scenario: Scenario,
    *,
    replications: int | None = None,
    seed: int | None = None,
    threads: int = 0,
    outputs: Sequence[str] | None = None,
    reference: str | None = None,
    cases: Sequence[str] | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> PairingTable:
    """Runs the reference and every other alternative of a scenario in three ways and compares the variances of differences.

    `outputs`: names of declared outputs, None for the headlines of the file's study, which else are the usual ones; `cases`: some of the file's, None
    for all. `replications` and `seed` stand in the file's `study`; `progress(done, total)` counts rooms. Raises
    UserError; KeyboardInterrupt on Ctrl-C.
    """
    study = scenario.study
    wanted = study.replications if replications is None else replications
    seed = study.seed if seed is None else seed
    selected = chosen(outputs, only=True) if outputs else _headlines(study.outputs)
    rooms = _rooms(scenario, cases)
    names = scenario.alternatives
    reference = reference_of(names, reference, study.reference)
    total = wanted * len(rooms) * (3 * len(names) - 1)
    crew = _Crew(selected, wanted, threads, total, progress)
    frames = []
    for case, there in rooms.items():
        before = {one: crew.run(there.alternative(reference), seed, one_stream=one) for one in (False, True)}
        for name in (name for name in names if name != reference):
            other = there.alternative(name)
            keyed = crew.run(other, seed, one_stream=False)
            one_stream = crew.run(other, seed, one_stream=True) - before[True]
            independent = crew.run(other, (seed + 1) % 2**64, one_stream=False) - before[False]
            found = three_ways(selected, before[False], keyed, one_stream, independent)
            frames.append(found.assign(case=case, alternative=name, reference=reference))
    table = pd.concat(frames, ignore_index=True)
    first = ["case", "alternative", "reference"]
    table = table[first + [column for column in table if column not in first]]
    lists = {"outputs": outputs and list(outputs), "cases": cases and list(cases)}
    asked = {"replications": wanted, "seed": seed, "checks": crew.checks, "reference": reference, **lists}
    made = of_pairs(scenario, "pairing", "pairing_table", **asked)
    return PairingTable(scenario, reference, selected, wanted, seed, table, made)


def _headlines(names: Sequence[str]) -> list[Output]:
    return [output for output in chosen(names, only=False) if output.group == "headline"]


def _rooms(scenario: Scenario, cases: Sequence[str] | None) -> dict[str, Scenario]:
    """The cases, each with its scenario."""
    if len(scenario.alternatives) < 2:
        raise UserError(f"{scenario.source_name}: nothing to compare: name at least two `alternatives`")
    wanted = scenario.cases if cases is None else cases
    return {name: scenario.case(name) for name in wanted} or {ONLY_CASE: scenario}


class _Crew:
    """Runs rooms, tells how far it is, and keeps nothing but the outputs."""

    def __init__(
        self,
        outputs: Sequence[Output],
        replications: int,
        threads: int,
        total: int,
        progress: Callable[[int, int], None] | None,
    ) -> None:
        self._names = [output.name for output in outputs]
        self._replications = replications
        self._threads = threads
        self._total = total
        self._progress = progress
        self._done = 0
        self.checks = 0

    def run(self, scenario: Scenario, seed: int, *, one_stream: bool) -> pd.DataFrame:
        """One row per replicate, one column per output."""
        tell = None if self._progress is None else lambda done: self._progress(self._done + done, self._total)
        core, stopped_by = _core.run(
            scenario._core,
            replications=self._replications,
            first_replicate=0,
            seed=seed,
            threads=self._threads,
            tables=list(_RECORDED),
            progress=tell,
            one_stream=one_stream,
        )
        if stopped_by is not None:
            raise stopped_by
        self._done += self._replications
        self.checks += core.checks
        return Result(core, scenario, seed=seed, recorded=_RECORDED).outputs[self._names]

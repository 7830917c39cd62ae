"""The gain from simulating alternatives on the same animals, measured by running them in three ways.

Two alternatives of one seed share every draw by its address (which animal, which purpose, which time), so that chance
cancels in their difference. `pairing_table` runs two other ways beside it: the same seed with one stream of random
numbers, as in a program with a single generator, and independent seeds.
"""

from __future__ import annotations

import os
from collections.abc import Iterator, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

import pandas as pd

from farrowtide.analysis.variance_reduction import three_ways
from farrowtide.engine import provenance
from farrowtide.errors import PlausibilityWarning
from farrowtide.inert_text import write_csv
from farrowtide.outputs.one_line import listed, one_line
from farrowtide.outputs.output import Output
from farrowtide.outputs.units import count
from farrowtide.scenarios.given import GivenScenario
from farrowtide.scenarios.scenario import Scenario
from farrowtide.study.blocks import Arm, Kept, checks, outputs_of
from farrowtide.study.course import Course, RoomCount, Round, counting_rooms
from farrowtide.study.plan import Plan, plan
from farrowtide.study.provenance import of_pairs
from farrowtide.whole_files import make_folder

_SEEDS = 2**64


@dataclass(frozen=True)
class PairingTable:
    """The gain from pairing by address over the two other ways, run for the purpose; see `pairing_table`.

    table  one row per case, alternative and output: the variance of the difference from the reference, `variance_keyed`
           (same seed, draws by address), `variance_one_stream` (same seed, draws in the order of asking) and
           `variance_independent` (another seed); `factor_independent` and `factor_one_stream`: these two over the
           first, each with its 95 % interval over the `n` rooms (`_low`, `_high`); `factor_one_stream_independent`: the
           gain of the same seed with one stream over independent seeds. `sd_reference`, `sd_alternative` and
           `correlation` are those of keyed pairs.
    """

    scenario: Scenario
    reference: str
    outputs: list[Output]
    replications: int
    seed: int
    table: pd.DataFrame
    provenance: dict[str, Any]
    wanted_replications: int
    warnings: list[PlausibilityWarning] = field(default_factory=list)  # what to know before trusting a number

    def __repr__(self) -> str:
        others = list(dict.fromkeys(self.table["alternative"]))
        cases = self.table["case"].nunique()
        return one_line(
            "PairingTable",
            self.scenario.title,
            f"{listed(others, 'alternative')} against {self.reference}",
            f"{count(cases, 'case')}, {count(self.replications, 'replication')}, seed {self.seed}",
        )

    @property
    def interrupted(self) -> bool:
        """Whether it was stopped before all replications were done."""
        return self.replications < self.wanted_replications

    def write(self, folder: Path) -> None:
        """Writes pairing.csv and provenance.json."""
        make_folder(folder)
        write_csv(self.table, folder / "pairing.csv")
        provenance.write(folder, self.provenance)


def pairing_table(
    scenario: GivenScenario,
    *,
    replications: int | None = None,
    seed: int | None = None,
    threads: int = 0,
    outputs: Sequence[str] | None = None,
    reference: str | None = None,
    cases: Sequence[str] | None = None,
    executor: Executor | None = None,
    folder: str | os.PathLike[str] | None = None,
    resume: bool = False,
    progress: RoomCount | None = None,
) -> PairingTable:
    """Runs the reference and every other alternative in three ways and compares the variances of their differences.

    `outputs`: names of declared outputs; None: the headlines of the file's study, by default the usual ones. `cases`:
    some of the file's; None: all. `replications` and `seed` are taken from the file's `study` where they are None.
    `executor`, `folder` and `resume` as in `compare`; `progress(done, total)` counts rooms. Raises UserError;
    Interrupted on Ctrl-C, whose `finished` is the PairingTable of the replications that are complete, or None.
    """
    keyed = plan(
        scenario,
        verb="pairing",
        replications=replications,
        seed=seed,
        outputs=outputs or None,
        reference=reference,
        cases=cases,
        tables=(),
    )
    study = replace(keyed, arms=_in_three_ways(keyed), kept=Kept(labels=("case", "alternative", "seed", "one_stream")))
    course = Course(study, threads=threads, executor=executor, folder=folder, resume=resume)
    rounds: list[Round] = []
    options = {"outputs": outputs and list(outputs), "cases": cases and list(cases)}
    return course.carry_out(
        rounds.append,
        lambda _: replace(_measured(study, rounds, options), warnings=course.warnings()),
        progress=counting_rooms(progress),
    )


def _in_three_ways(keyed: Plan) -> list[Arm]:
    """Draws by address and from one stream for every alternative, and another seed for all but the reference."""
    others = [arm for arm in keyed.arms if arm.alternative != keyed.reference]
    one_stream = [replace(arm, one_stream=True) for arm in keyed.arms]
    return [*keyed.arms, *one_stream, *(replace(arm, seed=(arm.seed + 1) % _SEEDS) for arm in others)]


def _measured(study: Plan, rounds: list[Round], options: dict[str, Any]) -> PairingTable:
    outputs = [output for output in study.outputs if output.group == "headline"]
    names = [output.name for output in outputs]
    values = {}  # by case, alternative, one stream, seed of the study
    for position, arm in enumerate(study.arms):
        frame = outputs_of([tables[position] for tables in rounds]).set_index("replicate")[names]
        values[arm.case, arm.alternative, arm.one_stream, arm.seed == study.seed] = frame
    frames = []
    for case, name in _differences(study):
        reference, alternative = values[case, study.reference, False, True], values[case, name, False, True]
        one_stream = values[case, name, True, True] - values[case, study.reference, True, True]
        independent = values[case, name, False, False] - reference
        frame = three_ways(outputs, reference, alternative, one_stream, independent)
        frames.append(frame.assign(case=case, alternative=name, reference=study.reference))
    table = pd.concat(frames, ignore_index=True)
    labels = ["case", "alternative", "reference"]
    replications = sum(tables[0].num_rows for tables in rounds)
    origin = of_pairs(
        study.scenario,
        "pairing",
        "pairing_table",
        replications=replications,
        seed=study.seed,
        checks=sum(checks(table) for tables in rounds for table in tables),
        reference=study.reference,
        **options,
    )
    return PairingTable(
        scenario=study.scenario,
        reference=study.reference,
        outputs=outputs,
        replications=replications,
        seed=study.seed,
        table=table[[*labels, *(column for column in table if column not in labels)]],
        provenance=origin,
        wanted_replications=study.wanted,
    )


def _differences(study: Plan) -> Iterator[tuple[str, str]]:
    return ((case, name) for case in study.cases for name in study.names if name != study.reference)

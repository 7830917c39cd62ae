"""The same sows under two alternatives: run, drawn and written."""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from concurrent.futures import Executor
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pandas as pd

from farrowtide.analysis.each_sow import EachSowTables, chosen_measures, side_by_side
from farrowtide.engine import provenance
from farrowtide.errors import UserError
from farrowtide.inert_text import html_table, write_csv
from farrowtide.outputs.one_line import one_line
from farrowtide.outputs.output import Output
from farrowtide.outputs.units import count, recorded, units_of
from farrowtide.report.shown_tables import in_units
from farrowtide.report.wording.each_sow import findings
from farrowtide.scenarios.given import GivenScenario, as_scenario
from farrowtide.scenarios.scenario import Scenario
from farrowtide.study.blocks import Arm, Kept, checks, rows_of
from farrowtide.study.course import Course, RoomCount, Round, counting_rooms
from farrowtide.study.plan import ONLY_CASE, Plan, check_alternative
from farrowtide.study.provenance import of_pairs
from farrowtide.whole_files import make_folder, write_text

if TYPE_CHECKING:
    from farrowtide.report.pictures.picture import Picture
    from farrowtide.results.story import Story


class EachSow(EachSowTables):
    __doc__ = EachSowTables.__doc__

    def __repr__(self) -> str:
        return one_line(
            "EachSow",
            self.scenario.title,
            f"{self.alternative} against {self.reference}",
            f"{count(len(self.table), 'sow')} in {count(self.replications, 'replication')}, seed {self.seed}",
        )

    def _repr_html_(self) -> str:
        title = f"{self.alternative} against {self.reference}, sow by sow"
        return f"{html_table(title, [(sentence,) for sentence in self.findings()])}{self.plot().svg()}"

    def write(self, folder: Path, *, units: str = "si") -> None:
        """Writes each_sow.csv, gains.csv, the picture and provenance.json.

        `units`: "si", "us" or "as_written"; the columns of each_sow.csv are in the SI units that they name.
        """
        units = units_of(units, self.scenario)
        make_folder(folder)
        write_csv(self.table, folder / "each_sow.csv")
        write_csv(in_units(self.gains(), self.measures, units, key="measure"), folder / "gains.csv")
        write_text(folder / "each_sow.svg", self.plot(units=units).svg())
        provenance.write(folder, self.provenance | recorded(units))

    def story(self, row: Mapping[Any, Any] | pd.Series | None = None) -> Story:
        """What happened to the sow of a row of `table` or of `most()`, under the reference beside the alternative.

        None: the sow with the largest difference in the first measure. Raises UserError.
        """
        from farrowtide.results.story import story

        if row is None:
            largest = self.most(self.measures[0].name, 1)
            if largest.empty:
                raise UserError(f"no sow differs in {self.measures[0].name}: give a row of the table")
            row = largest.iloc[0]
        return story(
            self.scenario,
            int(row["sow"]),
            replicate=int(row["replicate"]),
            alternative=self.reference,
            against=self.alternative,
            case=self.case,
            seed=self.seed,
        )

    def findings(self, *, units: str = "si") -> list[str]:
        """A sentence for each measure. `units`: "si", "us" or "as_written"."""
        return findings(self, units_of(units, self.scenario))

    def plot(self, *, units: str = "si") -> Picture:
        """Every sow's difference from the largest loss to the largest gain, a panel per measure. `units` as in findings."""
        from farrowtide.report.pictures.each_sow import each_sow

        return each_sow(self, units_of(units, self.scenario))


def each_sow(
    scenario: GivenScenario,
    reference: str,
    alternative: str,
    measures: Sequence[str] | None = None,
    *,
    case: str | None = None,
    replications: int | None = None,
    seed: int | None = None,
    threads: int = 0,
    executor: Executor | None = None,
    folder: str | os.PathLike[str] | None = None,
    resume: bool = False,
    progress: RoomCount | None = None,
) -> EachSow:
    """Simulates two alternatives of a scenario on the same sows and compares each sow with herself.

    `measures`: columns of the table of sows, or "staff_min", the minutes of tasks that were for her alone (rounds of
    the room are left out); None takes intake, weight loss, litter weight, piglets weaned, farrowing duration and these
    minutes. `case`: one of the file's. `executor`, `folder` and `resume` as in `compare`; `progress(done, total)` counts
    rooms. Raises UserError; Interrupted on Ctrl-C, whose `finished` is the EachSow of the replications that both
    alternatives have, or None.
    """
    scenario = as_scenario(scenario)
    chosen = chosen_measures(measures)
    study = _plan(scenario, reference, alternative, case, replications, seed)
    course = Course(study, threads=threads, executor=executor, folder=folder, resume=resume)
    rounds: list[Round] = []

    return course.carry_out(
        rounds.append,
        lambda _: replace(_compared(study, case, alternative, chosen, measures, rounds), warnings=course.warnings()),
        progress=counting_rooms(progress),
    )


def _plan(
    scenario: Scenario, reference: str, alternative: str, case: str | None, replications: int | None, seed: int | None
) -> Plan:
    for name in (reference, alternative):
        check_alternative(name, scenario.alternatives)
    if reference == alternative:
        raise UserError(f"'{alternative}' is the reference itself: name another alternative")
    wanted = scenario.study.replications if replications is None else replications
    if wanted < 1:
        raise UserError(f"replications = {wanted}: at least 1")
    seed = scenario.study.seed if seed is None else seed
    base = scenario.case(case) if case else scenario
    return Plan(
        verb="each-sow",
        scenario=scenario,
        arms=[Arm(case or ONLY_CASE, name, base.alternative(name), seed) for name in (reference, alternative)],
        reference=reference,
        outputs=[],
        seed=seed,
        wanted=wanted,
        kept=Kept(tables=("sows",)),
    )


def _compared(
    study: Plan,
    case: str | None,
    alternative: str,
    chosen: list[Output],
    measures: Sequence[str] | None,
    rounds: list[Round],
) -> EachSow:
    before, after = (rows_of([tables[side] for tables in rounds], "sows") for side in (0, 1))
    table, left_out = side_by_side(before, after, [measure.name for measure in chosen])
    replications = sum(tables[0].num_rows for tables in rounds)
    origin = of_pairs(
        study.scenario,
        "each-sow",
        "each_sow",
        replications=replications,
        seed=study.seed,
        checks=sum(checks(table) for tables in rounds for table in tables),
        reference=study.reference,
        alternative=alternative,
        case=case,
        measures=measures and list(measures),
    )
    return EachSow(
        scenario=study.scenario,
        case=case,
        reference=study.reference,
        alternative=alternative,
        measures=chosen,
        replications=replications,
        seed=study.seed,
        table=table,
        left_out=left_out,
        provenance=origin,
        wanted_replications=study.wanted,
    )

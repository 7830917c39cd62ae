"""Alternatives compared on the same animals: the difference in each replicate, its interval, and a plain verdict.

Every alternative runs on the same seed and replicate numbers, hence on the same sows, litters and weather; only what
the alternative causes differs. The replicate (one room) is the unit: `n` counts rooms, never sows or piglets.
"""

from __future__ import annotations

import json
import os
from collections.abc import Mapping, Sequence
from concurrent.futures import Executor
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pandas as pd

from farrowtide.analysis.break_even import COLUMNS, break_even
from farrowtide.analysis.comparison import ComparisonTables, in_order, others
from farrowtide.analysis.differences import differences, means
from farrowtide.errors import unknown_name
from farrowtide.inert_text import html_table, visible
from farrowtide.outputs.catalogue import catalogue
from farrowtide.outputs.catalogue.money import PER_CRATE
from farrowtide.outputs.one_line import listed, one_line
from farrowtide.outputs.units import count, recorded, units_of
from farrowtide.report.wording.study import case_title, policies_as_written
from farrowtide.scenarios.given import GivenScenario
from farrowtide.study import blocks
from farrowtide.study.course import Course, Progress, Round
from farrowtide.study.plan import Plan, plan
from farrowtide.study.provenance import of_comparison

if TYPE_CHECKING:
    from farrowtide.report.pictures.picture import Picture
    from farrowtide.results.story import Story


class Comparison(ComparisonTables):
    __doc__ = ComparisonTables.__doc__

    def __repr__(self) -> str:
        return one_line(
            "Comparison",
            self.scenario.title,
            f"{listed(others(self), 'alternative')} against {self.reference}",
            f"{count(len(self.cases), 'case')}, {count(self.replications, 'replication')}, seed {self.seed}",
        )

    def verdict(self, case: str | None = None, *, units: str = "si") -> dict[str, str]:
        """What a case (None: the first) comes down to, as labelled sentences; "Best" is the answer.

        `units`: "si", "us" or "as_written".
        """
        from farrowtide.report.wording.verdict import verdict

        units = units_of(units, self.scenario)
        if case is not None and case not in self.cases:
            raise unknown_name("case", case, filter(None, self.cases))
        return dict(verdict(self, self.cases[0] if case is None else case, units))

    def _repr_html_(self) -> str:
        tables = [html_table(case_title(self.scenario, case), self.verdict(case).items()) for case in self.cases]
        return f"{''.join(tables)}{self.plot_differences().svg()}"

    def story(
        self,
        sow: int | None = None,
        *,
        replicate: int | None = None,
        find: str | None = None,
        alternative: str | None = None,
        against: str | None = None,
        case: str | None = None,
    ) -> Story:
        """What happened to one sow and her litter under an alternative (None: the reference), beside another.

        `against`: None: the first of the others. `case`: None: the first. The rest as in `farrowtide.story`; a sow is
        looked for in the replicates of this comparison. Raises UserError, also for alternatives that are not the file's.
        """
        from farrowtide.results.story import story

        own = self.reference if alternative is None else alternative
        beside = next((name for name in self.alternatives if name != own), None) if against is None else against
        return story(
            self.scenario,
            sow,
            replicate=replicate,
            find=find,
            alternative=own,
            against=beside,
            case=(self.cases[0] if case is None else case) if self.scenario.cases else None,
            replications=None if find is None or replicate is not None else self.replications,
            seed=self.seed,
        )

    def write_report(self, path: str | os.PathLike[str], *, units: str = "si") -> Path:
        """Writes report.html and the tables that it carries, and outputs.csv, into a folder; returns the report's path.

        A path that ends in .html names the report itself; the tables go beside it. `units`: "si", "us" or "as_written",
        in what people read; outputs.csv is in SI units.
        """
        from farrowtide.report.page import write_report

        units = units_of(units, self.scenario)
        return write_report(self, Path(path), units=units)

    def plot_differences(self, case: str | None = None, *, units: str = "si") -> Picture:
        """The headline differences of a case (None: the first) with their intervals, a panel per output.

        `units`: "si", "us" or "as_written".
        """
        from farrowtide.report.pictures.differences import headline_differences

        return headline_differences(self, self.cases[0] if case is None else case, units_of(units, self.scenario))

    def plot_intake(self, *, units: str = "si") -> Picture:
        """Feed eaten by lactation day, for each case, parity class and alternative. `units`: "si", "us" or "as_written"."""
        from farrowtide.report.pictures.intake import intake

        units = units_of(units, self.scenario)
        return self._saying(intake(self, units), "intake", recorded(units))

    def plot_temperature(self, *, units: str = "si") -> Picture:
        """The room's temperature wanted and reached by day, for each case whose climate is simulated. `units` as in plot_intake."""
        from farrowtide.report.pictures.temperature import temperature

        units = units_of(units, self.scenario)
        return self._saying(temperature(self, units), "temperature", recorded(units))

    def plot_farrowings(self) -> Picture:
        """Share of farrowings that last longer than so many hours."""
        from farrowtide.report.pictures.farrowings import farrowings

        return self._saying(farrowings(self), "farrowings")

    def plot_work(self) -> Picture:
        """Staff minutes per litter by task."""
        from farrowtide.report.pictures.work import work

        return self._saying(work(self), "work")

    def plot_utilisation(self) -> Picture:
        """Share of the time on duty that is worked, by hour of the day."""
        from farrowtide.report.pictures.work import utilisation

        return self._saying(utilisation(self), "utilisation")

    def _saying(self, picture: Picture, name: str, also: Mapping[str, Any] | None = None) -> Picture:
        """The picture, which says where it comes from, and `also` this."""
        from farrowtide.report.pictures.picture import DRAWN_WITH

        return replace(
            picture, provenance=self.provenance | {"picture": name, "drawn_with": DRAWN_WITH} | dict(also or {})
        )


def compare(
    scenario: GivenScenario,
    alternatives: Mapping[str, Mapping[str, Any]] | None = None,
    *,
    replications: int | None = None,
    seed: int | None = None,
    threads: int = 0,
    outputs: Sequence[str] | None = None,
    reference: str | None = None,
    precision: Mapping[str, float] | None = None,
    executor: Executor | None = None,
    folder: str | os.PathLike[str] | None = None,
    resume: bool = False,
    progress: Progress | None = None,
) -> Comparison:
    """Compares alternatives inside each case of a scenario, or of the file of one, on the same animals.

    `alternatives`: name -> {dotted key: value}; None takes those of the file. `outputs`, `reference`, `replications`
    and `seed` stand in the file's `study` and can be set here; outputs set here are the only ones judged.

    `precision`: {output: half-width}; replications are added until the paired 95 % interval of these outputs is no
    wider in any case and for any alternative (see `farrowtide.study.stopping`), `replications` being the most there may be.
    `executor`: any of concurrent.futures (processes, a cluster); otherwise `threads` of the engine, 0: all the machine
    has. `folder` keeps each finished block of replicates, and `resume` goes on where a study stopped (see
    `farrowtide.study.folder`). No number depends on these three.

    `progress(done, total, note)` counts rooms, about ten times a second. Raises UserError; Interrupted on Ctrl-C, whose
    `finished` is the Comparison of the replications that every alternative has, or None.
    """
    study = plan(
        scenario,
        alternatives,
        verb="compare",
        replications=replications,
        seed=seed,
        outputs=outputs,
        reference=reference,
        precision=precision,
    )
    asked = as_asked(study) if folder is not None else None
    course = Course(study, threads=threads, executor=executor, folder=folder, resume=resume, asked=asked)
    return carried_out(study, course, progress)


def carried_out(study: Plan, course: Course, progress: Progress | None = None) -> Comparison:
    """The comparison that a course makes of a plan; see `compare`."""
    rounds: list[Round] = []
    return course.carry_out(
        rounds.append, lambda interrupted: _assembled(study, rounds, course, interrupted), progress=progress
    )


def as_asked(study: Plan) -> str:
    """What is asked of a study, as its folder keeps it: the command and the recipe."""
    origin = of_comparison(study, study.wanted, checks=0, interrupted=False)
    return visible(json.dumps({name: origin[name] for name in ("command", "recipe")}, ensure_ascii=False)) + "\n"


def _assembled(study: Plan, rounds: list[Round], course: Course, interrupted: bool) -> Comparison:
    tables = [table for tables in rounds for table in tables]
    replications = sum(tables[0].num_rows for tables in rounds)
    order = {"case": study.cases, "alternative": study.names}
    rooms, litters = study.rooms, study.litters_per_replication
    replicates = in_order(blocks.outputs_of(tables), order)
    return Comparison(
        scenario=study.scenario,
        reference=study.reference,
        cases=study.cases,
        alternatives=study.names,
        outputs=study.outputs,
        seed=study.seed,
        wanted_replications=study.wanted,
        replications=replications,
        litters_per_replication=litters,
        interrupted=interrupted,
        precision=course.reached,
        differences=differences(
            replicates,
            study.outputs,
            study.reference,
            animals=litters,
            unit=study.scenario.unit_of_replication,
        ),
        means=means(replicates, study.outputs, animals=litters),
        replicates=replicates,
        policies={name: policies_as_written(rooms[study.cases[0], name]) for name in study.names},
        provenance=of_comparison(study, replications, checks=sum(map(blocks.checks, tables)), interrupted=interrupted),
        warnings=course.warnings(),
        set_aside=course.watch.set_aside(),
        break_even=_break_even(study, replicates),
        **{name: in_order(blocks.rows_of(tables, name), order) for name in study.kept.tables},
    )


def _break_even(study: Plan, replicates: pd.DataFrame) -> pd.DataFrame:
    prices = {key: room.prices for key, room in study.rooms.items() if room.prices}
    if not prices:
        return pd.DataFrame(columns=COLUMNS)
    tiny = catalogue(study.scenario.prices)[PER_CRATE.name].tiny
    return break_even(replicates, prices, study.reference, animals=study.litters_per_replication, tiny=tiny)

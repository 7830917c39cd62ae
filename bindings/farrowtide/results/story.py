"""The story of one sow and her litter: run, written and shown."""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import Any

import pandas as pd

from farrowtide.analysis.story import finding
from farrowtide.analysis.story.records import RECORDED, SowRecords
from farrowtide.cautions import withheld_by
from farrowtide.engine import provenance
from farrowtide.engine.result import Interrupted, Result
from farrowtide.engine.running import simulate_replicates
from farrowtide.errors import InternalError, PlausibilityWarning, UserError, emit
from farrowtide.inert_text import html_table, write_csv
from farrowtide.inert_text import one_line as inert_line
from farrowtide.outputs.one_line import one_line
from farrowtide.outputs.units import count, recorded, units_of
from farrowtide.report.story_lines import Line, Number, story_lines, story_numbers
from farrowtide.scenarios.given import GivenScenario, as_scenario
from farrowtide.scenarios.plausibility.arms import of_scenario
from farrowtide.scenarios.scenario import Scenario
from farrowtide.study.plan import check_alternative
from farrowtide.whole_files import make_folder, write_text

_REPLICATES = 20  # in which a sow is looked for
_AS_WRITTEN = "as written"


@dataclass(frozen=True)
class Story:
    """What happened to one sow and her litter, line by line with causes, and to the same animals under another policy.

    `alternative`, `against` and `case` are names of the scenario's, or None. `found` says how the sow was chosen, where
    she was looked for.
    """

    scenario: Scenario
    replicate: int
    sow: int
    alternative: str | None
    against: str | None
    case: str | None
    seed: int
    found: str
    provenance: dict[str, Any]
    warnings: list[PlausibilityWarning]
    _own: SowRecords = field(repr=False)
    _other: SowRecords | None = field(repr=False)

    def __repr__(self) -> str:
        beside = f"beside {self.against}" if self.against else "alone"
        return one_line("Story", self.scenario.title, f"{self.heading}, {beside}, seed {self.seed}")

    def _repr_html_(self) -> str:
        rows = [
            (line.clock, "differs" if line.differs else "", *(side.sentence for side in (line.own, line.other) if side))
            for line in self.lines()
        ]
        return html_table(f"{self.heading}: {self.scenario.title}", rows)

    @property
    def heading(self) -> str:
        """Which sow it is."""
        return f"The story of sow {self.sow}, replicate {self.replicate}"

    @property
    def policies(self) -> list[str]:
        """The policy that the story is of, and the one beside it if there is one."""
        return [self.alternative or _AS_WRITTEN, *([self.against] if self.against else [])]

    @property
    def about(self) -> str:
        """A sentence on the sow and the policies."""
        parity = int(self._own.sow["parity"])
        of = f"{self.case}: " if self.case else ""
        beside = f", beside the same sow under “{self.against}”" if self.against else ""
        same = " Lines that differ are marked." if self.against else ""
        return f"{of}a sow of parity {parity} under “{self.policies[0]}”{beside}, seed {self.seed}.{same}"

    def lines(self, *, units: str = "si") -> list[Line]:
        """The lines in order of time. `units`: "si", "us" or "as_written"."""
        return story_lines(self._own, self._other, units_of(units, self.scenario))

    def numbers(self, *, units: str = "si") -> list[Number]:
        """Numbers of the whole stay. `units`: "si", "us" or "as_written"."""
        return story_numbers(self._own, self._other, units_of(units, self.scenario))

    @cached_property
    def table(self) -> pd.DataFrame:
        """The lines as a table, in SI units."""
        return pd.DataFrame([_as_row(line) for line in self.lines()], columns=_COLUMNS)

    @property
    def deaths(self) -> pd.DataFrame:
        """Of each death in her litter, all that its hazard was made of."""
        return self._own.deaths.copy()

    def text(self, *, units: str = "si") -> str:
        """The story as plain text. `units`: "si", "us" or "as_written"."""
        shown = [self.heading, self.about, ""]
        phase = ""
        for line in self.lines(units=units):
            if line.phase != phase:
                shown += ["", line.phase] if phase else [line.phase]
                phase = line.phase
            shown += as_text(line, self.policies)
        return "\n".join(map(inert_line, shown)) + "\n"

    def html(self, *, units: str = "si") -> str:
        """The story as an HTML page. `units`: "si", "us" or "as_written"."""
        from farrowtide.report.story_page import render

        units = units_of(units, self.scenario)
        records = [self._own, *([self._other] if self._other else [])]
        return render(
            scenario=self.scenario,
            heading=self.heading,
            about=self.about,
            policies=self.policies,
            lines=self.lines(units=units),
            numbers=self.numbers(units=units),
            days={name: of.days for name, of in zip(self.policies, records, strict=True)},
            warnings=self.warnings,
            provenance=self.provenance,
            units=units,
        )

    def write(self, path: str | os.PathLike[str], *, units: str = "si") -> Path:
        """Writes the page: to `path` if that ends in .html, else into that folder, with lines.csv and provenance.json.

        Returns the path of the page. `units`: "si", "us" or "as_written", on the page.
        """
        out = Path(path)
        page = out if out.suffix == ".html" else out / "story.html"
        make_folder(page.parent)
        write_text(page, self.html(units=units))
        if page != out:
            write_csv(self.table, out / "lines.csv")
            provenance.write(out, self.provenance | recorded(units_of(units, self.scenario)))
        return page


_COLUMNS = ["time_h", "day", "clock", "phase", "kind", "text", "cause", "other_text", "other_cause", "differs"]


def _as_row(line: Line) -> tuple[Any, ...]:
    other = (line.other.text, line.other.cause) if line.other else ("", "")
    return (
        *(line.time_h, line.day, line.clock, line.phase, line.kind, line.own.text, line.own.cause),
        *(*other, line.differs),
    )


def as_text(line: Line, policies: list[str]) -> list[str]:
    """A line of a story as lines of text; one that differs has a mark, and the other policy below it."""
    mark = "\N{NOT EQUAL TO}" if line.differs else " "
    shown = [f"{mark} {line.clock:<14} {line.own.sentence}"]
    if line.differs and line.other:
        shown.append(f"  {'':<14} {policies[1]}: {line.other.sentence}")
    return shown


def story(
    scenario: GivenScenario,
    sow: int | None = None,
    *,
    replicate: int | None = None,
    find: str | None = None,
    alternative: str | None = None,
    against: str | None = None,
    case: str | None = None,
    replications: int | None = None,
    seed: int | None = None,
    threads: int = 0,
    progress: Callable[[int, int], None] | None = None,
) -> Story:
    """What happened to one sow and her litter in a scenario, or the file of one, with causes from the engine's records.

    The sow has a number and a `replicate` (default 0), or is found by `find` (a key of
    `farrowtide.analysis.story.finding.WANTED`, such as "worst-litter") in that replicate or in the first `replications`
    (default 20). `alternative`: the policy, None for the scenario as written; `against`: an alternative beside which she
    is told; `case`: one of the file's. `progress(done, total)` counts rooms. Raises UserError; Interrupted on Ctrl-C.
    """
    scenario = as_scenario(scenario)
    if replicate is not None or sow is not None:
        replicates = range(replicate or 0, (replicate or 0) + 1)
    else:
        replicates = range(_REPLICATES if replications is None else replications)
    return story_in(
        scenario,
        replicates,
        sow,
        find=find,
        alternative=alternative,
        against=against,
        case=case,
        seed=seed,
        threads=threads,
        progress=progress,
    )


def story_in(
    scenario: Scenario,
    replicates: range,
    sow: int | None,
    *,
    find: str | None,
    alternative: str | None,
    against: str | None,
    case: str | None,
    seed: int | None,
    threads: int = 0,
    progress: Callable[[int, int], None] | None = None,
) -> Story:
    """As `story`; a sow with a number is of the first of the `replicates`, one to be found is looked for in all of them."""
    if (sow is None) == (find is None):
        raise UserError(
            f"name one sow (a number and its replicate), or let her be found (by {', '.join(finding.WANTED)})"
        )
    names = [alternative, *([against] if against is not None else [])]
    for name in names:
        if name is not None:
            check_alternative(name, scenario.alternatives)
    if against is not None and against == alternative:
        raise UserError(f"'{against}' is the policy that the story is of: name another alternative beside it")
    base = scenario.case(case) if case else scenario
    arms = [base.alternative(name) if name else base for name in names]
    emit(of_scenario(arms[0]))
    rooms = _Rooms(scenario.study.seed if seed is None else seed, threads, progress)
    of, number, found = (replicates.start, sow, "") if find is None else rooms.look(arms[0], find, replicates)
    records = [SowRecords(rooms.one(arm, of), of, number or 0) for arm in arms]
    told = Story(
        scenario=scenario,
        replicate=of,
        sow=records[0].number,
        alternative=alternative,
        against=against,
        case=case,
        seed=rooms.seed,
        found=found,
        provenance=_origin(
            scenario, arms, records, rooms.seed, {"alternative": alternative, "against": against, "case": case}
        ),
        warnings=_warnings(records),
        _own=records[0],
        _other=records[1] if against is not None else None,
    )
    emit({str(warning): warning for one in records for warning in one.result.room_warnings}.values(), finished=told)
    return told


@dataclass
class _Rooms:
    """Simulates the rooms of a story and counts them."""

    seed: int
    threads: int
    progress: Callable[[int, int], None] | None

    def one(self, scenario: Scenario, replicate: int) -> Result:
        """A replicate with everything that a story is made of. Raises InternalError where it broke off."""
        result = self._simulate(scenario, replicate, 1, RECORDED)
        if result.set_aside:
            raise InternalError(result.set_aside[0][1])
        return result

    def look(self, scenario: Scenario, wanted: str, replicates: range) -> tuple[int, int, str]:
        """The replicate and number of the sow that is wanted, and words that say which one she is."""
        if wanted not in finding.WANTED:
            raise UserError(f"nothing is found by '{wanted}' (choose: {', '.join(finding.WANTED)})")
        result = self._simulate(scenario, replicates.start, len(replicates), finding.RECORDED)
        replicate, sow, value = finding.find(wanted, result)
        where = count(len(replicates), "replicate") if len(replicates) > 1 else f"replicate {replicates.start}"
        return replicate, sow, f"{finding.WANTED[wanted]} in {where} ({value:.4g})"

    def _simulate(self, scenario: Scenario, first: int, number: int, tables: tuple[str, ...]) -> Result:
        progress = self.progress
        try:
            return simulate_replicates(
                scenario,
                replications=number,
                seed=self.seed,
                threads=self.threads,
                first_replicate=first,
                record=tables,
                progress=progress and (lambda done: progress(done, number)),
            )
        except Interrupted as stopped:
            raise stopped.with_finished(None) from None


def _warnings(records: list[SowRecords]) -> list[PlausibilityWarning]:
    """What to know before trusting it, each once."""
    found: dict[str, PlausibilityWarning] = {}
    for of in records:
        for warning in of.result.warnings:
            found.setdefault(str(warning), warning)
    return list(found.values())


def _origin(
    scenario: Scenario, arms: list[Scenario], records: list[SowRecords], seed: int, names: Mapping[str, str | None]
) -> dict[str, Any]:
    of = {"sow": records[0].number, "replicate": records[0].replicate, "seed": seed, **names}
    origin = provenance.of_run(
        scenario,
        replications=1,
        seed=seed,
        checks=sum(record.result.checks for record in records),
        command=provenance.command("story", scenario, **of),
        withheld_care=withheld_by((arm.chosen_alternative or _AS_WRITTEN, arm.withheld_care) for arm in arms),
    )
    return origin | {"recipe": {"verb": "story", "replications": 1, **of, "scenario": scenario.recipe}}

"""Closed groups beside what their protocol should have given: simulated, compared, written."""

from __future__ import annotations

import datetime
import os
from collections.abc import Callable
from pathlib import Path

import pandas as pd

from farrowtide.analysis.watching.auditing import AuditTables, Group, beside, closed_groups, loaded_on, outputs_of_rooms
from farrowtide.cautions import CAUTION
from farrowtide.engine import provenance
from farrowtide.engine.result import Interrupted, Result
from farrowtide.engine.running import simulate_replicates
from farrowtide.errors import UserError
from farrowtide.inert_text import html_table
from farrowtide.outputs.one_line import one_line
from farrowtide.outputs.units import count, units_of
from farrowtide.records import Records, simulated
from farrowtide.results.watching import dated, days_before_due
from farrowtide.scenarios.given import GivenScenario, as_scenario
from farrowtide.scenarios.plausibility.arms import of_scenario
from farrowtide.scenarios.scenario import Scenario

ROOMS = 100  # for each group, by default
_LEAST_ROOMS = 40  # for an interval that one room in twenty is outside of
_TABLES = ("sows", "sow_days", "piglets")


class Audit(AuditTables):
    __doc__ = AuditTables.__doc__

    def __repr__(self) -> str:
        outside = int(self.table["outside"].sum())
        said = f"{count(len(self.groups), 'group')}, {outside} of {len(self.table)} outputs outside"
        return one_line("Audit", self.scenario.title, said)

    def _repr_html_(self) -> str:
        from farrowtide.report.wording.auditing import findings

        return html_table(f"Audit: {self.scenario.title}", [(sentence,) for sentence in findings(self)])

    def write_report(self, folder: Path, *, units: str = "si") -> Path:
        """Writes audit.html, audit.csv and provenance.json.

        `units`: "si", "us" or "as_written", on the page; the table is in SI.
        """
        from farrowtide.report.audit_page import write_report

        return write_report(self, folder, units=units_of(units, self.scenario))


def audit(
    scenario: GivenScenario,
    records: Records,
    *,
    weather: str | os.PathLike[str] | None = None,
    replications: int | None = None,
    seed: int | None = None,
    threads: int = 0,
    progress: Callable[[int, int], None] | None = None,
) -> Audit:
    """Compares each weaned group of the records with `replications` simulated rooms of as many sows, loaded on the same day.

    `scenario` is the protocol as it should have been carried out, with the farm's prices, if it has any. A group is the sows of a
    room that were loaded together; with a file of `weather`, that of each group's own days. Where rooms differ in what the scenario does not say, as in parities or weather, so do their
    outputs. Raises UserError; Interrupted on Ctrl-C.
    """
    scenario = as_scenario(scenario)
    scenario = scenario.without_alternatives()
    rooms = ROOMS if replications is None else replications
    if rooms < _LEAST_ROOMS:
        raise UserError(
            f"replications = {rooms}: at least {_LEAST_ROOMS}, for intervals that 1 room in 20 is outside of"
        )
    records.require("farrowings")
    closed, still_open = closed_groups(records)
    if not closed:
        raise UserError("no group is weaned: less than four fifths of the sows of each have a day of weaning")
    seed = scenario.study.seed if seed is None else seed
    before_due = days_before_due(scenario)
    alike: dict[tuple[datetime.date, int], list[tuple[str, Group]]] = {}
    for name, group in closed:
        alike.setdefault((loaded_on(group, before_due), len(group[0])), []).append((name, group))
    tables: dict[str, pd.DataFrame] = {}
    checks = 0
    for number, ((start, sows), groups) in enumerate(alike.items()):
        like = dated(scenario.override({"room.crates": sows}), start, weather)

        def counted(done: int, before: int = number * rooms) -> None:
            if progress:
                progress(before + done, rooms * len(alike))

        result = _simulated(like, rooms, seed, threads, counted)
        checks += result.checks
        outputs = outputs_of_rooms(simulated(result, like))
        tables |= {name: beside(name, group, outputs, scenario.prices) for name, group in groups}
    return Audit(
        scenario=scenario,
        table=pd.concat([tables[name] for name, _ in closed], ignore_index=True),
        groups=pd.DataFrame(
            [
                {"group": name, "sows": len(group[0]), "loaded_on": loaded_on(group, before_due)}
                for name, group in closed
            ]
        ),
        open_groups=still_open,
        replications=rooms,
        provenance=provenance.of_run(
            scenario,
            replications=rooms,
            seed=seed,
            checks=checks,
            command=f"farrowtide.audit({scenario.expression}, records, {f'weather={str(weather)!r}, ' if weather else ''}replications={rooms}, seed={seed})",
        )
        | {"caution": CAUTION},
        warnings=tuple(of_scenario(scenario)),
    )


def _simulated(scenario: Scenario, rooms: int, seed: int, threads: int, progress: Callable[[int], None]) -> Result:
    try:
        return simulate_replicates(
            scenario,
            replications=rooms,
            seed=seed,
            threads=threads,
            first_replicate=0,
            record=_TABLES,
            progress=progress,
        )
    except Interrupted:
        raise Interrupted(None) from None

"""A calibration: which levels and coefficients of a farm agree with its records."""

from __future__ import annotations

import hashlib
import math
import os
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from farrowtide.analysis.calibration import choosing, judging
from farrowtide.analysis.calibration.fitting import Fitted, Simulator, expected_blocks, simulated_statistics, waves
from farrowtide.analysis.calibration.moving import Moved
from farrowtide.analysis.calibration.summary import LEAST_GROUPS, Reduced, group_of
from farrowtide.analysis.calibration.tables import CalibrationTables
from farrowtide.cautions import CAUTION, of_calibration
from farrowtide.engine import provenance
from farrowtide.engine.result import Interrupted
from farrowtide.errors import UserError, emit, quoted
from farrowtide.inert_text import csv_text
from farrowtide.outputs.one_line import listed, one_line
from farrowtide.outputs.units import count, units_of
from farrowtide.records import Records
from farrowtide.report.wording.cells import rows
from farrowtide.scenarios.given import GivenScenario, as_scenario
from farrowtide.scenarios.parameters import with_parameters
from farrowtide.scenarios.plausibility.arms import of_scenario
from farrowtide.scenarios.scenario import Scenario

if TYPE_CHECKING:
    from farrowtide.report.pictures.picture import Picture

KEPT_ASIDE = 0.2  # of the groups, the latest
_DIGITS = 6  # significant, of numbers in the file
_MOST_KEPT_ASIDE = 0.5

Progress = Callable[[int, int, str], None]


class Calibration(CalibrationTables):
    __doc__ = CalibrationTables.__doc__

    def __repr__(self) -> str:
        return one_line(
            "Calibration",
            self.scenario.title,
            listed(list(self.parameters["parameter"]), "parameter"),
            f"{count(self.file['records']['farrowings'], 'farrowing')}, {count(self.rooms, 'room')}",
        )

    @property
    def calibrated(self) -> Scenario:
        """The scenario with what was found."""
        return self.scenario.with_calibration(self.file)

    def plot_parameters(self) -> Picture:
        """What was thought of each parameter before, and what the records leave of it."""
        from farrowtide.report.pictures.calibration import parameters

        return parameters(self.parameters)

    def plot_statistics(self) -> Picture:
        """Each statistic of the records beside the calibrated model, for the groups used and those kept aside."""
        from farrowtide.report.pictures.calibration import statistics

        return statistics(self.statistics)

    def write_report(self, folder: str | os.PathLike[str], *, units: str = "si") -> Path:
        """Writes calibration.yaml, report.html and the tables as CSV into a folder; returns the file of the calibration.

        `units`: "si", "us" or "as_written", on the page.
        """
        from farrowtide.report.calibration_page import write_report

        return write_report(self, Path(folder), units=units_of(units, self.scenario))


def calibrate(
    scenario: GivenScenario,
    records: Records,
    *,
    move: Sequence[str] | None = None,
    keep_aside: float | Sequence[str] = KEPT_ASIDE,
    seed: int | None = None,
    threads: int = 0,
    progress: Progress | None = None,
) -> Calibration:
    """Finds the levels and coefficients with which the scenario, as written, agrees with a farm's records.

    `move`: names of levels ("herd.intake_level") and coefficients that may move, within their ranges; None: the usual
    ones on which the records hold something. `keep_aside`: the share of the groups (0 to 0.5; the latest in time) that
    the fit does not see and is judged by, or their names. `seed`: None: that of the scenario. `threads` of the engine; they
    change no number. The scenario must describe the farm as it was run, if need be by
    `scenario.alternative(name)`; `farrowtide.records` helps to write it.

    Raises UserError; Interrupted on Ctrl-C, whose `finished` is what is known after the last complete wave, or None.
    """
    scenario = as_scenario(scenario)
    if not isinstance(records, Records):
        raise UserError(
            f"expected Records, got a {type(records).__name__}; read them with farrowtide.records.read(...)"
        )
    records.require("farrowings")
    as_written = scenario.without_alternatives()
    emit(of_scenario(as_written))
    seed = scenario.study.seed if seed is None else seed
    everything = Reduced.of(records)
    kept_names = _kept_aside(everything.group_names, keep_aside)
    used = everything.of_groups([name for name in everything.group_names if name not in kept_names]).recorded()
    if len(used.group_names) < LEAST_GROUPS:
        raise UserError(
            f"the records hold {count(len(used.group_names), 'group')} to fit to: at least {LEAST_GROUPS} are needed, "
            "because groups are what differs by chance (keep fewer aside, or record more)"
        )
    if not any(each.quantity.fitted for each in used.statistics):
        raise UserError("the records hold too little of anything that a calibration could fit to")
    try:
        possible = simulated_statistics(as_written, used.statistics, seed=seed, threads=threads)
    except KeyboardInterrupt:
        raise Interrupted(None) from None
    left_out = [each.label for each in used.statistics if each not in possible]
    used = used.of_statistics(possible)
    moved = Moved(choosing.named(scenario, move) if move else choosing.usual(scenario, used.statistics))
    if not len(moved):
        raise UserError("the records hold nothing on any of the usual parameters: name what may move (--move)")
    kept = everything.of_groups(kept_names).of_statistics(used.statistics).sums if kept_names else None
    simulator = Simulator(
        as_written,
        moved,
        used.statistics,
        seed=seed,
        threads=threads,
        expected=expected_blocks(len(moved)),
        progress=progress,
    )

    def calibration(fitted: Fitted, interrupted: bool) -> Calibration:
        return _assembled(as_written, records, fitted, used, kept_names, kept, left_out, not move, seed, interrupted)

    last: Fitted | None = None
    try:
        for last in waves(simulator, moved, used.sums, used.statistics, seed):  # noqa: B007  # kept for an interrupt
            pass
    except KeyboardInterrupt:
        raise Interrupted(calibration(last, True) if last else None) from None
    assert last is not None
    return calibration(last, False)


def _kept_aside(groups: Sequence[str], asked: float | Sequence[str]) -> list[str]:
    """The groups that the fit does not see; `groups` are in order of time."""
    if isinstance(asked, (int, float)):
        if not 0 <= asked <= _MOST_KEPT_ASIDE:
            raise UserError(f"keep_aside = {asked}: a share from 0 to {_MOST_KEPT_ASIDE}, or names of groups")
        most = max(0, len(groups) - LEAST_GROUPS)
        kept = min(math.ceil(asked * len(groups)), most) if asked else 0
        return list(groups[len(groups) - kept :])
    if unknown := [name for name in asked if name not in groups]:
        raise UserError(f"keep_aside: the records have no group {quoted(unknown)} (groups: {quoted(groups)})")
    return [name for name in groups if name in set(asked)]


def _assembled(
    scenario: Scenario,
    records: Records,
    fitted: Fitted,
    used: Reduced,
    kept_names: list[str],
    kept: Any,
    left_out: list[str],
    usual: bool,
    seed: int,
    interrupted: bool,
) -> Calibration:
    parameters = judging.parameter_table(fitted)
    statistics = judging.statistic_table(fitted, kept, seed)
    draws = judging.draw_table(fitted)
    origin = _records_of(records, used.group_names, kept_names)
    file = _file(scenario, fitted, draws, statistics, origin, seed)
    sources = [word for source in records.sources for word in (source.table, source.file)]
    return Calibration(
        scenario=scenario,
        parameters=parameters,
        statistics=statistics,
        directions=judging.direction_table(fitted),
        draws=draws,
        stays={each.name: each.needs for each in choosing.not_informed(used.statistics)} if usual else {},
        left_out=left_out,
        groups_used=used.group_names,
        groups_kept_aside=kept_names,
        inflation=fitted.last.scatter.inflation,
        weight_of_model=fitted.last.scatter.weight_of_model,
        settled=fitted.settled,
        interrupted=interrupted,
        rooms=fitted.rooms,
        file=file,
        provenance=provenance.of_run(
            scenario,
            replications=fitted.rooms,
            seed=seed,
            checks=fitted.checks,
            command=f"farrowtide.calibrate({scenario.expression}, farrowtide.records.read({_files(sources)}), seed={seed})",
        )
        | {"records": origin, "caution": of_calibration(CAUTION)},
        warnings=of_scenario(scenario),
    )


def _files(words: list[str]) -> str:
    named = dict(zip(words[::2], words[1::2], strict=True))
    return ", ".join(f"{table}={file!r}" for table, file in named.items()) or "..."


def _records_of(records: Records, used: list[str], kept: list[str]) -> dict[str, Any]:
    written = "".join(csv_text(table) for table in (records.farrowings, records.days))
    return {
        "hash": hashlib.sha256(written.encode()).hexdigest()[:16],
        "farrowings": len(records.farrowings),
        "farrowings_used": int(group_of(records.farrowings).isin(used).sum()),
        "days": len(records.days),
        "groups_used": used,
        "groups_kept_aside": kept,
    }


def _file(
    scenario: Scenario,
    fitted: Fitted,
    draws: pd.DataFrame,
    statistics: pd.DataFrame,
    origin: dict[str, Any],
    seed: int,
) -> dict[str, Any]:
    """The content of the calibration file."""
    values = fitted.moved.values(fitted.last.posterior.mean)
    found = with_parameters(scenario, values)._core.coefficients
    levels = {each.name: _rounded(values[each.name][0]) for each in fitted.moved.parameters if each.kind == "level"}
    paths = [each.name.partition("[")[0] for each in fitted.moved.parameters if each.kind == "coefficient"]
    tables = {path: [_rounded(value) for value in found.find(path).value] for path in paths}
    engine = provenance.engine()
    judged = statistics[statistics["kept"].notna()]
    return {
        "calibration": 1,
        "made_by": f"farrowtide {engine['engine_version']}, results version {engine['results_version']}",
        "scenario": scenario.source_name,
        "scenario_hash": scenario.hash,
        "seed": seed,
        "records": origin,
        "levels": levels,
        "coefficients": {path: table[0] if len(table) == 1 else table for path, table in tables.items()},
        "posterior": {
            "names": list(draws.columns),
            "draws": [[_rounded(value) for value in row] for row in draws.to_numpy()],
        },
        "kept_aside": [
            {
                "statistic": row.statistic,
                "unit": row.unit,
                "recorded": _rounded(row.kept),
                "low": _rounded(row.kept_low),
                "high": _rounded(row.kept_high),
                "inside": bool(row.kept_inside),
            }
            for row in rows(judged)
        ],
    }


def _rounded(value: Any) -> float:
    return float(np.format_float_positional(float(value), precision=_DIGITS, unique=False, fractional=False))

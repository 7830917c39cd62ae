"""A comparison with what is not known: the same alternatives and animals at many draws of all parameters.

Chance and doubt about the parameters are kept apart: draws of the parameters outside, rooms of the comparison inside.
"""

from __future__ import annotations

import os
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from farrowtide.analysis import doubt as tables
from farrowtide.analysis import flips as turning
from farrowtide.analysis.doubt import DoubtTables
from farrowtide.engine.result import Interrupted
from farrowtide.errors import UserError
from farrowtide.limits import LEAST_DRAWS
from farrowtide.outputs.one_line import one_line
from farrowtide.outputs.units import count, units_of
from farrowtide.results.comparison import Comparison
from farrowtide.scenarios.parameters import Parameter
from farrowtide.statistics import sensitivity
from farrowtide.statistics.two_levels import rooms_of_a_draw
from farrowtide.study import points
from farrowtide.study.course import Progress
from farrowtide.study.draws import DrawsOfParameters, draws_of_parameters, without
from farrowtide.study.plan import Plan, plan
from farrowtide.study.points import Means
from farrowtide.study.provenance import with_doubt

if TYPE_CHECKING:
    from farrowtide.report.pictures.picture import Picture

DRAWS = 200
_PILOT_DRAWS, _PILOT_ROOMS = 20, 4
_COST_OF_A_DRAW = 1.0  # of making its scenarios, in rooms of each alternative: measured as 0.7 to 1.5
_PATHS, _ROOMS_OF_A_PATH = 4, 2  # of Morris' design
_MOVED = 8  # parameters that are moved to the ends of their ranges


class Doubt(DoubtTables):
    __doc__ = DoubtTables.__doc__
    comparison: Comparison

    def __repr__(self) -> str:
        return one_line(
            "Doubt",
            self.comparison.scenario.title,
            f"{count(self.drawn, 'draw')} of {count(self.parameters, 'parameter')}, {count(self.rooms, 'room')} each",
            f"seed {self.comparison.seed}",
        )

    def plot(self, *, units: str = "si") -> Picture:
        """The difference at both ends of the range of each of the strongest parameters, and where the choice turns."""
        from farrowtide.report.pictures.doubt import tornado

        return tornado(self, units_of(units, self.comparison.scenario))

    def write_report(self, path: str | os.PathLike[str], *, units: str = "si") -> Path:
        """Writes the report of the comparison with a section on doubt, and doubt.csv and causes.csv beside its tables."""
        from farrowtide.report.page import write_report

        return write_report(self.comparison, Path(path), units=units_of(units, self.comparison.scenario), doubt=self)


@dataclass(frozen=True)
class _Doubting:
    """A comparison being doubted: its plan, the draws, and with what rooms are run."""

    comparison: Comparison
    plan: Plan
    draws: DrawsOfParameters
    impossible: dict[int, str]
    asked: int
    means: Means

    def run(
        self, study: Plan, at: list[points.Point], first: list[int], each: int, doing: str, part: str = ""
    ) -> points.RoomsAtPoints:
        """The rooms at points. `part`: the folder within the study's that keeps them; "": none."""
        progress = self.means.progress
        means = replace(
            self.means,
            folder=Path(self.means.folder) / "doubt" / part if self.means.folder and part else None,
            progress=progress and (lambda done, total, _: progress(done, total, doing)),
        )
        return points.carry_out(points.at_points(study, at, first, each), means)

    def draw(self, first: int, last: int, each: int, doing: str, part: str) -> points.RoomsAtPoints:
        """The rooms of these draws: one after the other the rooms of the comparison, beginning again where they end."""
        groups = self.comparison.replications // each
        places = [(number - first) % groups * each for number in range(first, last)]
        return self.run(self.plan, self.draws.points[first:last], places, each, doing, part)


def doubt(
    comparison: Comparison,
    *,
    draws: int = DRAWS,
    threads: int = 0,
    executor: Executor | None = None,
    folder: str | os.PathLike[str] | None = None,
    resume: bool = False,
    progress: Progress | None = None,
) -> Doubt:
    """Carries what is not known of the farm and of the model into the answer of a comparison.

    At each of `draws` (40 or more) all coefficients and levels that have a range are drawn at once (see
    `farrowtide explain` for the range of each), and all alternatives are run in all cases on the same animals. A draw has at least 2
    rooms; how many, a pilot decides. From each room is subtracted what the same room gave at the parameters as given, so
    that only what the parameters change is left; each draw has other rooms than the last, so that no room weighs much.

    `folder`: of the comparison's study; draws are kept in `doubt` within it. All else as in `compare`; no number depends
    on `threads`, `executor`, `folder` and `resume`. Raises UserError; Interrupted on Ctrl-C, whose `finished` is the Doubt
    of the draws that are complete, without what takes further rooms, or None.
    """
    if draws < LEAST_DRAWS:
        raise UserError(f"draws = {draws}: must be at least {LEAST_DRAWS}")
    if comparison.replications < _PILOT_ROOMS:
        raise UserError(
            f"doubt needs a comparison of at least {_PILOT_ROOMS} replications, not {comparison.replications}"
        )
    doubting = _begun(comparison, draws, Means(threads, executor, folder, resume, progress))
    subject = tables.subject_of(comparison)
    parts: list[points.RoomsAtPoints] = []
    rooms = _PILOT_ROOMS
    try:
        parts.append(doubting.draw(0, _PILOT_DRAWS, _PILOT_ROOMS, "doubt: pilot", "pilot"))
        rooms = _rooms(comparison, subject, parts[0].rooms)
        last = len(doubting.draws.points)
        parts.append(doubting.draw(_PILOT_DRAWS, last, rooms, "doubt: draws", "draws"))
        return _assembled(doubting, subject, rooms, parts, interrupted=False)
    except Interrupted as stopped:
        if len(parts) == 1 and stopped.finished is not None:
            parts.append(stopped.finished)
        finished = _assembled(doubting, subject, rooms, parts, interrupted=True) if len(parts) > 1 else None
        raise Interrupted(finished, Path(folder) if folder else None) from None


def _begun(comparison: Comparison, asked: int, means: Means) -> _Doubting:
    recipe = comparison.provenance["recipe"]
    study = plan(
        comparison.scenario,
        recipe["alternatives"],
        replications=comparison.replications,
        seed=comparison.seed,
        outputs=recipe["outputs"],
        reference=comparison.reference,
        tables=(),
    )
    every = draws_of_parameters(comparison.scenario, asked, comparison.seed)
    impossible = points.cannot_be_built(comparison.scenario, every.points)
    possible = without(every, list(impossible)) if impossible else every
    if len(possible.points) < LEAST_DRAWS:
        number, problem = next(iter(impossible.items()))
        raise UserError(
            f"only {len(possible.points)} of {asked} draws give a possible scenario; draw {number}: {problem}"
        )
    return _Doubting(comparison, study, possible, impossible, asked, means)


def _rooms(comparison: Comparison, subject: tables.Subject, pilot: pd.DataFrame) -> int:
    """The rooms of each further draw: what is best for the difference that the doubt is taken apart for."""
    found = tables.drawn(comparison, [pilot])
    series = tables.Layout.of(comparison).series(subject.case, subject.alternative, subject.output.name)
    return min(int(rooms_of_a_draw(found.draws, _COST_OF_A_DRAW)[series]), comparison.replications)


def _assembled(
    doubting: _Doubting, subject: tables.Subject, rooms: int, parts: list[points.RoomsAtPoints], *, interrupted: bool
) -> Doubt:
    comparison = doubting.comparison
    found = tables.drawn(comparison, [part.rooms for part in parts])
    candidates = tables.candidates(comparison, subject, found, doubting.draws)
    chosen = candidates.shares.inputs
    moved = None if interrupted else _moved_one_by_one(doubting, subject, chosen)
    causes = tables.causes(doubting.draws.inputs, candidates, moved)
    strongest = [int(number) for number in causes["input"][:_MOVED]]
    worth, of_all = tables.worth_of_knowing(
        tables.gains(comparison, subject, found), doubting.draws, strongest, candidates.known
    )
    series = tables.Layout.of(comparison).series(subject.case, subject.alternative, subject.output.name)
    within = float(found.draws.within[series])
    return Doubt(
        comparison=comparison,
        subject=subject,
        asked=doubting.asked,
        drawn=len(found.draws.means),
        rooms=rooms,
        parameters=len(doubting.draws.inputs),
        pairing=float(found.unpaired[series]) / within if within > 0 else float("nan"),
        impossible=doubting.impossible,
        set_aside=[room for part in parts for room in part.set_aside],
        interrupted=interrupted,
        intervals=tables.intervals(comparison, found),
        causes=causes.drop(columns="input"),
        floor=candidates.shares.floor,
        explained=candidates.shares.explained,
        flips=pd.DataFrame()
        if interrupted
        else _flips(doubting, subject, [doubting.draws.inputs[each] for each in strongest]),
        worth=worth,
        worth_of_all=of_all,
        provenance=with_doubt(comparison.provenance, doubting.asked),
    )


def _moved_one_by_one(doubting: _Doubting, subject: tables.Subject, chosen: list[int]) -> sensitivity.Elementary:
    """What each of these inputs alone moves the difference of the subject by, on the same animals along each path."""
    seed = doubting.comparison.seed % 2**32
    design = sensitivity.morris_design(len(chosen), _PATHS, seed)
    study = _of(doubting.plan, subject.case, [doubting.comparison.reference, subject.alternative])
    at = [doubting.draws.point(chosen, row) for row in design]
    each = min(_ROOMS_OF_A_PATH, doubting.comparison.replications)
    groups = doubting.comparison.replications // each
    first = [number // (len(chosen) + 1) % groups * each for number in range(len(design))]
    rooms = doubting.run(study, at, first, each, "doubt: what it hangs on").rooms
    layout = tables.Layout([subject.case], [subject.alternative], doubting.comparison.reference, [subject.output.name])
    differences = np.nanmean(tables.by_point(layout, rooms)[:, :, 0], axis=1)
    return sensitivity.elementary_effects(design, differences, seed)


def _flips(doubting: _Doubting, subject: tables.Subject, inputs: list[Parameter]) -> pd.DataFrame:
    comparison = doubting.comparison
    study = _of(doubting.plan, subject.case, comparison.alternatives)
    each = min(turning.ROOMS, comparison.replications)

    def run(at: list[points.Point]) -> list[turning.Advantage]:
        rooms = doubting.run(study, at, [0] * len(at), each, "doubt: flip points").rooms
        return turning.advantages(comparison, subject, rooms)

    return turning.flips(inputs, run)


def _of(study: Plan, case: str, names: list[str]) -> Plan:
    """The plan of some alternatives in one case."""
    return replace(study, arms=[arm for arm in study.arms if arm.case == case and arm.alternative in names])

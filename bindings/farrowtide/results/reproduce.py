"""Reproduces an output from its recipe, and tells whether the bytes are the same."""

from __future__ import annotations

import json
import tempfile
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeVar

from farrowtide.engine import provenance
from farrowtide.engine.result import Result, write_tables
from farrowtide.engine.running import run
from farrowtide.errors import UserError
from farrowtide.outputs.catalogue import catalogue
from farrowtide.outputs.output import Output
from farrowtide.report.pictures import sweep as sweep_pictures
from farrowtide.report.pictures.by_key import by_key
from farrowtide.report.pictures.picture import DRAWN_WITH, Picture
from farrowtide.results import labour
from farrowtide.results.comparison import Comparison, compare
from farrowtide.results.doubt import Doubt, doubt
from farrowtide.results.each_sow import each_sow
from farrowtide.results.pairing import pairing_table
from farrowtide.results.parts import parts
from farrowtide.results.recorded import (
    BESIDE,
    CompareRecipe,
    EachSowRecipe,
    PairingRecipe,
    PartsRecipe,
    Recorded,
    ReplayRecipe,
    RunRecipe,
    StoryRecipe,
    SweepRecipe,
    recorded_in,
)
from farrowtide.results.replay import replay
from farrowtide.results.story import story
from farrowtide.results.sweep import Sweep, sweep
from farrowtide.scenarios.scenario import Scenario, as_plain, from_recipe
from farrowtide.study.course import Progress, RoomCount
from farrowtide.whole_files import read_bytes

Drawing = TypeVar("Drawing")
_MAY_DIFFER = ("engine_version", "results_version", "commit", "command", "recipe")  # the recipe is what is run
_OF_DRAWING = ("units", "drawn_with")  # how a file is drawn, which its bytes show
_OF_A_PICTURE = ("picture", "case", "drawn")
_LONGEST_SHOWN = 200  # characters


@dataclass(frozen=True)
class Reproduced:
    """`command`: what was run, in words. `files`: name -> whether the same bytes came out. In words, too: `changed`, the
    versions and the command that differ from what the file says; `untrue`, what else it says and its recipe does not
    make; `unchecked`, what it says that no recipe can tell.
    """

    command: str
    files: dict[str, bool]
    changed: list[str]
    untrue: list[str]
    unchecked: list[str]

    @property
    def same(self) -> bool:
        """Whether every file came out the same and nothing that was said of them is untrue."""
        return bool(self.files) and all(self.files.values()) and not self.untrue


def reproduce(
    path: Path, *, run_policies: bool = False, threads: int = 0, progress: Progress | None = None
) -> Reproduced:
    """Reproduces a file or a folder of outputs from the recipe that it carries, and compares the bytes.

    Takes reports, tables beside a provenance.json, pictures (SVG) of comparisons, and folders of these. What made them
    need not be there any more, except for policies given as classes. Code in the recipe runs only if `run_policies` says
    so. Raises UserError where there is no recipe or a damaged one.
    """
    recorded, written = recorded_in(path)
    scenario = from_recipe(recorded.recipe.scenario, run_policies=run_policies)
    with tempfile.TemporaryDirectory() as scratch:
        again = _Again(recorded, written, scenario, path, Path(scratch), threads, progress)
        own = _made_again(again)
        names = _names(path, again.folder)
        folder = path.parent if path.is_file() else path
        files = {name: _same(folder / name, again.folder / name) for name in names}
    command = own["command"]
    shown = (*_OF_DRAWING, *_OF_A_PICTURE) if path.suffix == ".svg" else _OF_DRAWING
    untrue = _untrue(recorded, written, own, shown)
    return Reproduced(command, files, _changed(recorded, written, command), untrue, _unchecked(recorded))


def recipe_of(path: Path) -> dict[str, Any]:
    """The provenance that an output carries in itself or beside it. Raises UserError where there is none."""
    return recorded_in(path)[1]


@dataclass(frozen=True)
class _Again:
    """A reproduction: what is recorded (checked, and as written), of which path, and the folder it is made in."""

    recorded: Recorded
    written: dict[str, Any]
    scenario: Scenario
    path: Path
    folder: Path
    threads: int
    progress: Progress | None

    def adopt_provenance(self, own: dict[str, Any]) -> dict[str, Any]:
        """Takes over what may differ where results do not, and what no recipe can tell; returns what the own was."""
        before = dict(own)
        own.update({name: self.written[name] for name in _MAY_DIFFER if name in self.written})
        if self.recorded.stopped_early:
            own["wanted_replications"] = self.written["wanted_replications"]
        return before

    @property
    def rooms(self) -> RoomCount | None:
        """The progress for functions that only count rooms."""
        progress = self.progress
        return progress and (lambda done, expected: progress(done, expected, ""))


def _made_again(again: _Again) -> dict[str, Any]:
    """Runs the recipe and writes what it makes; returns its own provenance. These are all the verbs there are."""
    match again.recorded.recipe:
        case CompareRecipe() as recipe:
            return _compared(recipe, again)
        case SweepRecipe() as recipe:
            return _swept(recipe, again)
        case PartsRecipe() as recipe:
            return _taken_apart(recipe, again)
        case RunRecipe() as recipe:
            return _ran(recipe, again)
        case PairingRecipe() as recipe:
            return _paired(recipe, again)
        case EachSowRecipe() as recipe:
            return _each_sow(recipe, again)
        case StoryRecipe() as recipe:
            return _told(recipe, again)
        case ReplayRecipe() as recipe:
            return _replayed(recipe, again)


def _names(path: Path, again: Path) -> list[str]:
    """The files to compare, without the provenance."""
    if path.is_dir():
        made = {file.name for file in again.iterdir() if file.name != BESIDE}
        there = {file.name for file in path.iterdir()}
        if not made & there or "report.html" in there - made:
            raise UserError(f"{path}: what is in it is not what its {BESIDE} reproduces")
        return sorted(made & there)
    if not (again / path.name).exists():
        raise UserError(f"{path}: is not one of the files that its {BESIDE} reproduces")
    return [path.name]


def _compared(recipe: CompareRecipe, again: _Again) -> dict[str, Any]:
    comparison = compare(
        again.scenario, recipe.alternatives, **recipe.of_both, threads=again.threads, progress=again.progress
    )
    results: Comparison | Doubt = comparison
    if recipe.doubt_draws is not None:
        results = doubt(comparison, draws=recipe.doubt_draws, threads=again.threads, progress=again.progress)
    own = again.adopt_provenance(results.provenance)
    if again.path.suffix == ".svg":
        draw = _named(_COMPARISON_PICTURES, again)
        draw(comparison, again.recorded).save(again.folder / again.path.name)
    else:
        report = again.path.name if again.path.suffix == ".html" else ""
        results.write_report(again.folder / report, units=again.recorded.units)
    return own


def _swept(recipe: SweepRecipe, again: _Again) -> dict[str, Any]:
    swept = sweep(again.scenario, recipe.vary, **recipe.of_both, threads=again.threads, progress=again.progress)
    own = again.adopt_provenance(swept.provenance)
    if again.path.suffix == ".svg":
        draw = _named(_SWEEP_PICTURES, again)
        draw(swept, again.recorded).save(again.folder / again.path.name)
    else:
        swept.write(again.folder, units=again.recorded.units)
    return own


def _taken_apart(recipe: PartsRecipe, again: _Again) -> dict[str, Any]:
    taken_apart = parts(
        again.scenario,
        replications=recipe.replications,
        seed=recipe.seed,
        outputs=recipe.outputs,
        threads=again.threads,
        progress=again.progress,
    )
    own = again.adopt_provenance(taken_apart.provenance)
    taken_apart.write_report(again.folder, units=again.recorded.units)
    return own


def _ran(recipe: RunRecipe, again: _Again) -> dict[str, Any]:
    progress = again.progress
    result = run(
        again.scenario,
        replications=recipe.replications,
        seed=recipe.seed,
        first_replicate=recipe.first_replicate,
        record=[name for name in recipe.tables if name != "sows"],
        threads=again.threads,
        progress=progress and (lambda done: progress(done, recipe.replications, "")),
    )
    write: Callable[[Result, Path], None] = {"run": write_tables, "labour": labour.write}[recipe.verb]
    write(result, again.folder)
    return result.provenance


def _paired(recipe: PairingRecipe, again: _Again) -> dict[str, Any]:
    pairs = pairing_table(
        again.scenario,
        replications=recipe.replications,
        seed=recipe.seed,
        outputs=recipe.outputs,
        reference=recipe.reference,
        cases=recipe.cases,
        threads=again.threads,
        progress=again.rooms,
    )
    own = again.adopt_provenance(pairs.provenance)
    pairs.write(again.folder)
    return own


def _each_sow(recipe: EachSowRecipe, again: _Again) -> dict[str, Any]:
    sows = each_sow(
        again.scenario,
        recipe.reference,
        recipe.alternative,
        recipe.measures,
        case=recipe.case,
        replications=recipe.replications,
        seed=recipe.seed,
        threads=again.threads,
        progress=again.rooms,
    )
    own = again.adopt_provenance(sows.provenance)
    sows.write(again.folder, units=again.recorded.units)
    return own


def _replayed(recipe: ReplayRecipe, again: _Again) -> dict[str, Any]:
    found = replay(
        again.scenario,
        alternative=recipe.alternative,
        against=recipe.against,
        case=recipe.case,
        replicate=recipe.replicate,
        group=recipe.group,
        seed=recipe.seed,
        threads=again.threads,
        progress=again.rooms,
    )
    own = again.adopt_provenance(found.provenance)
    page = again.path.name if again.path.suffix == ".html" else ""
    found.save(again.folder / page, units=again.recorded.units)
    return own


def _told(recipe: StoryRecipe, again: _Again) -> dict[str, Any]:
    told = story(
        again.scenario,
        recipe.sow,
        replicate=recipe.replicate,
        alternative=recipe.alternative,
        against=recipe.against,
        case=recipe.case,
        seed=recipe.seed,
        threads=again.threads,
        progress=again.rooms,
    )
    own = again.adopt_provenance(told.provenance)
    told.write(
        again.folder / again.path.name if again.path.suffix == ".html" else again.folder, units=again.recorded.units
    )
    return own


def _ranking(swept: Sweep, recorded: Recorded) -> Picture:
    (aim,) = _drawn(swept, recorded, 1)
    return sweep_pictures.ranking(swept, recorded.case or "", aim, recorded.units)


def _trade_off(swept: Sweep, recorded: Recorded) -> Picture:
    across, up = _drawn(swept, recorded, 2)
    return sweep_pictures.trade_off(swept, recorded.case or "", across, up, recorded.units)


def _drawn(swept: Sweep, recorded: Recorded, count: int) -> list[Output]:
    """The outputs in a picture of a sweep. Raises UserError where they or the case are none of the sweep's."""
    known = catalogue(swept.scenario.prices)
    unknown = [name for name in recorded.drawn if name not in known]
    if unknown or len(recorded.drawn) != count or recorded.case not in swept.cases:
        raise UserError(f"the picture '{recorded.picture}' is not one of case '{recorded.case}' and {recorded.drawn}")
    return [known[name] for name in recorded.drawn]


_COMPARISON_PICTURES: dict[str, Callable[[Comparison, Recorded], Picture]] = {
    "intake": lambda comparison, recorded: comparison.plot_intake(units=recorded.units),
    "temperature": lambda comparison, recorded: comparison.plot_temperature(units=recorded.units),
    "farrowings": lambda comparison, _: comparison.plot_farrowings(),
    "work": lambda comparison, _: comparison.plot_work(),
    "utilisation": lambda comparison, _: comparison.plot_utilisation(),
}
_SWEEP_PICTURES: dict[str, Callable[[Sweep, Recorded], Picture]] = {
    "ranking": _ranking,
    "trade_off": _trade_off,
    "by_key": lambda swept, recorded: by_key(
        swept, recorded.case or "", _drawn(swept, recorded, len(recorded.drawn)), recorded.units
    ),
}


def _named(pictures: Mapping[str, Drawing], again: _Again) -> Drawing:
    """The picture that is recorded. Raises UserError where it is none of these."""
    name = again.recorded.picture
    if name is None or name not in pictures:
        raise UserError(
            f"{again.path}: the picture '{name}' is none of a {again.recorded.recipe.verb} ({', '.join(pictures)})"
        )
    return pictures[name]


def _same(original: Path, again: Path) -> bool:
    """Whether a file has the same bytes; one of another size is not read."""
    if not again.exists() or original.stat().st_size != again.stat().st_size:
        return False
    size = again.stat().st_size
    return read_bytes(original, size) == read_bytes(again, size)


def _untrue(recorded: Recorded, written: Mapping[str, Any], own: Mapping[str, Any], shown: Sequence[str]) -> list[str]:
    """What the file says and the recipe does not make, in words; without what its bytes show."""
    of_stopping = ["wanted_replications"] if recorded.stopped_early else []
    names = [name for name in {**own, **written} if name not in (*_MAY_DIFFER, *shown, *of_stopping)]
    made = as_plain({name: own.get(name) for name in names})
    return [
        f"the file says that `{name}` is {_shown(written.get(name))}; the recipe in it makes {_shown(made[name])}"
        for name in names
        if written.get(name) != made[name]
    ]


def _shown(value: Any) -> str:
    text = json.dumps(value, ensure_ascii=False)
    return text if len(text) <= _LONGEST_SHOWN else f"{text[:_LONGEST_SHOWN]}..."


def _unchecked(recorded: Recorded) -> list[str]:
    if not recorded.stopped_early:
        return []
    return [f"the file says that it was stopped before all of {recorded.wanted_replications:,} replications were done"]


def _changed(recorded: Recorded, written: Mapping[str, Any], command: str) -> list[str]:
    now = provenance.engine()
    labels = {"engine_version": "engine", "results_version": "results version", "commit": "commit"}
    if recorded.drawn_with:
        labels, now = labels | {"drawn_with": "drawn with"}, now | {"drawn_with": DRAWN_WITH}
    changed = [
        f"{label} {written.get(name)} then, {now[name]} now"
        for name, label in labels.items()
        if written.get(name) != now[name]
    ]
    return changed + ([f"the file says that it was made by: {recorded.command}"] if recorded.command != command else [])

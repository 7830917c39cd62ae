"""Reproduces an output from its recipe, and tells whether the bytes are the same."""

from __future__ import annotations

import html
import json
import re
import tempfile
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from farrowtide.engine import provenance
from farrowtide.engine.result import Result, write_tables
from farrowtide.engine.running import run
from farrowtide.errors import UserError
from farrowtide.outputs.catalogue import catalogue
from farrowtide.report.pictures import sweep as sweep_pictures
from farrowtide.report.pictures.picture import DRAWN_WITH
from farrowtide.results import labour
from farrowtide.results.comparison import compare
from farrowtide.results.each_sow import each_sow
from farrowtide.results.pairing import pairing_table
from farrowtide.results.sweep import sweep
from farrowtide.scenarios.scenario import Scenario, from_recipe
from farrowtide.study.course import Progress, RoomCount

_BESIDE = "provenance.json"
_IN_HTML = re.compile(r'<pre id="provenance" hidden>(.*?)</pre>', re.DOTALL)
_IN_SVG = re.compile(r"<dc:description>(.*?)</dc:description>", re.DOTALL)


@dataclass(frozen=True)
class Reproduced:
    """`files`: name -> whether the same bytes came out. `changed`: the versions that differ now, in words."""

    command: str
    files: dict[str, bool]
    changed: list[str]

    @property
    def same(self) -> bool:
        """Whether every file came out the same."""
        return all(self.files.values())


def reproduce(
    path: Path, *, run_policies: bool = False, threads: int = 0, progress: Progress | None = None
) -> Reproduced:
    """Reproduces a file or a folder of outputs from the recipe that it carries, and compares the bytes.

    Takes reports, tables beside a provenance.json, pictures (SVG) of comparisons, and folders of these. What made them
    need not be there any more, except for policies given as classes. Raises UserError where there is no recipe.
    """
    recorded = recipe_of(path)
    if not run_policies:
        _refuse_policies(recorded)
    with tempfile.TemporaryDirectory() as scratch:
        again = Path(scratch)
        _VERBS[recorded["recipe"]["verb"]](recorded, path, again, threads, progress)
        names = _names(path, again)
        folder = path.parent if path.is_file() else path
        files = {name: _same(folder / name, again / name) for name in names}
    return Reproduced(recorded["command"], files, _changed(recorded))


def _names(path: Path, again: Path) -> list[str]:
    """The files to compare, without the provenance."""
    if path.is_dir():
        return sorted(file.name for file in again.iterdir() if file.name != _BESIDE and (path / file.name).exists())
    if not (again / path.name).exists():
        raise UserError(f"{path}: is not one of the files that its {_BESIDE} reproduces")
    return [path.name]


def _refuse_policies(recorded: Mapping[str, Any]) -> None:
    """Code is never run unasked: the output of somebody else may hold any."""
    held = [policy["path"] for policy in recorded["recipe"]["scenario"]["policies"] if "text" in policy]
    if held:
        raise UserError(
            f"made with policies in Python, which it holds and would run: {', '.join(held)} "
            "(--run-policies, if you trust its source)"
        )


def recipe_of(path: Path) -> dict[str, Any]:
    """The provenance that an output carries in itself or beside it. Raises UserError where there is none."""
    for source in (path, path / _BESIDE, path / "report.html", path.parent / _BESIDE):
        try:
            recorded = _provenance_in(source) if source.is_file() else None
            if recorded is None:
                continue
            if recorded["recipe"]["verb"] in _VERBS and isinstance(recorded["recipe"]["scenario"]["policies"], list):
                return recorded
        except (ValueError, KeyError, TypeError):
            pass
        raise UserError(f"{source}: has no recipe from which to reproduce it")
    raise UserError(f"{path}: has no provenance, and there is no {_BESIDE} beside it")


def _provenance_in(file: Path) -> dict[str, Any] | None:
    if file.name == _BESIDE:
        beside: dict[str, Any] = json.loads(file.read_text(encoding="utf-8"))
        return beside
    pattern = {".html": _IN_HTML, ".svg": _IN_SVG}.get(file.suffix)
    embedded = pattern.search(file.read_text(encoding="utf-8")) if pattern else None
    if embedded is None:
        return None
    try:
        carried: dict[str, Any] = json.loads(html.unescape(embedded[1]))
    except json.JSONDecodeError:
        return None
    return carried


def _adopt_provenance(reproduced: dict[str, Any], recorded: Mapping[str, Any]) -> None:
    """Takes over the recorded provenance, so that files differ only where results do."""
    own = ("conservation_checks_passed", "picture", "case", "drawn", "drawn_with")
    reproduced.update({name: value for name, value in recorded.items() if name not in own})


def _scenario(recipe: Mapping[str, Any]) -> Scenario:
    classes = [policy["class"] for policy in recipe["scenario"]["policies"] if "text" not in policy]
    if classes:
        raise UserError(f"made with policies given as classes, whose code is not in it: {', '.join(classes)}")
    return from_recipe(recipe["scenario"])


def _compared(recorded: Mapping[str, Any], path: Path, again: Path, threads: int, progress: Progress | None) -> None:
    recipe = recorded["recipe"]
    options = {name: recipe[name] for name in _OPTIONS}
    comparison = compare(_scenario(recipe), recipe["alternatives"], **options, threads=threads, progress=progress)
    _adopt_provenance(comparison.provenance, recorded)
    if path.suffix == ".svg":
        getattr(comparison, f"plot_{recorded['picture']}")().save(again / path.name)
    else:
        comparison.write_report(again / (path.name if path.suffix == ".html" else ""), units=recorded["units"])


def _swept(recorded: Mapping[str, Any], path: Path, again: Path, threads: int, progress: Progress | None) -> None:
    recipe = recorded["recipe"]
    options = {name: recipe[name] for name in _OPTIONS}
    swept = sweep(_scenario(recipe), recipe["vary"], **options, threads=threads, progress=progress)
    _adopt_provenance(swept.provenance, recorded)
    if path.suffix == ".svg":
        drawn = [catalogue()[name] for name in recorded["drawn"]]
        getattr(sweep_pictures, recorded["picture"])(swept, recorded["case"], *drawn).save(again / path.name)
    else:
        swept.write(again)


def _ran(recorded: Mapping[str, Any], threads: int, progress: Progress | None) -> Result:
    recipe = recorded["recipe"]
    return run(
        _scenario(recipe),
        replications=recipe["replications"],
        seed=recipe["seed"],
        first_replicate=recipe["first_replicate"],
        record=[name for name in recipe["tables"] if name != "sows"],
        threads=threads,
        progress=progress and (lambda done: progress(done, recipe["replications"], "")),
    )


def _run(recorded: Mapping[str, Any], path: Path, again: Path, threads: int, progress: Progress | None) -> None:
    write_tables(_ran(recorded, threads, progress), again, recorded)


def _labour(recorded: Mapping[str, Any], path: Path, again: Path, threads: int, progress: Progress | None) -> None:
    labour.write(_ran(recorded, threads, progress), again, recorded)


def _counting(progress: Progress | None) -> RoomCount | None:
    return progress and (lambda done, expected: progress(done, expected, ""))


def _paired(recorded: Mapping[str, Any], path: Path, again: Path, threads: int, progress: Progress | None) -> None:
    recipe = recorded["recipe"]
    names = ("replications", "seed", "outputs", "reference", "cases")
    options = {name: recipe[name] for name in names}
    pairs = pairing_table(_scenario(recipe), **options, threads=threads, progress=_counting(progress))
    _adopt_provenance(pairs.provenance, recorded)
    pairs.write(again)


def _each_sow(recorded: Mapping[str, Any], path: Path, again: Path, threads: int, progress: Progress | None) -> None:
    recipe = recorded["recipe"]
    names = ("reference", "alternative", "measures", "case", "replications", "seed")
    options = {name: recipe[name] for name in names}
    sows = each_sow(_scenario(recipe), **options, threads=threads, progress=_counting(progress))
    _adopt_provenance(sows.provenance, recorded)
    sows.write(again)


_OPTIONS = ("replications", "seed", "outputs", "reference", "precision")
_VERBS: dict[str, Callable[..., None]] = {
    "compare": _compared,
    "sweep": _swept,
    "run": _run,
    "labour": _labour,
    "pairing": _paired,
    "each-sow": _each_sow,
}


def _same(original: Path, again: Path) -> bool:
    return again.exists() and original.read_bytes() == again.read_bytes()


def _changed(recorded: Mapping[str, Any]) -> list[str]:
    now = provenance.engine()
    labels = {"engine_version": "engine", "results_version": "results version", "commit": "commit"}
    if "drawn_with" in recorded:
        labels, now = labels | {"drawn_with": "drawn with"}, now | {"drawn_with": DRAWN_WITH}
    return [
        f"{label} {recorded[name]} then, {now[name]} now"
        for name, label in labels.items()
        if recorded.get(name) != now[name]
    ]

"""Runs again what made an output, and says whether the same comes out, byte for byte."""

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
from farrowtide.study.course import Progress

_BESIDE = "provenance.json"
_IN_HTML = re.compile(r'<pre id="provenance" hidden>(.*?)</pre>', re.DOTALL)
_IN_SVG = re.compile(r"<dc:description>(.*?)</dc:description>", re.DOTALL)


@dataclass(frozen=True)
class Reproduced:
    """`files`: name -> whether the same bytes came out. `changed`: what is another version now, in words."""

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
    """Runs what made a file or a folder of outputs again, from the recipe it carries, and compares.

    Takes reports, tables beside a provenance.json, pictures (SVG) of comparisons, and folders of these. What made them
    need not be there any more, except for policies given as classes. Raises UserError where there is no recipe.
    """
    made = recipe_of(path)
    if not run_policies:
        _refuse_policies(made)
    with tempfile.TemporaryDirectory() as scratch:
        again = Path(scratch)
        _VERBS[made["recipe"]["verb"]](made, path, again, threads, progress)
        names = _names(path, again)
        folder = path.parent if path.is_file() else path
        files = {name: _same(folder / name, again / name) for name in names}
    return Reproduced(made["command"], files, _changed(made))


def _names(path: Path, again: Path) -> list[str]:
    """The files to compare; the one that says where they come from is not among them."""
    if path.is_dir():
        return sorted(file.name for file in again.iterdir() if file.name != _BESIDE and (path / file.name).exists())
    if not (again / path.name).exists():
        raise UserError(f"{path}: is none of the files that its {_BESIDE} tells how to make")
    return [path.name]


def _refuse_policies(made: Mapping[str, Any]) -> None:
    """Nobody's code is run unasked: an output of others may hold any."""
    held = [policy["path"] for policy in made["recipe"]["scenario"]["policies"] if "text" in policy]
    if held:
        raise UserError(
            f"made with own policies, whose Python it holds and would run: {', '.join(held)} "
            "(--run-policies, if you trust where it comes from)"
        )


def recipe_of(path: Path) -> dict[str, Any]:
    """The provenance that an output carries in itself or beside it. Raises UserError where there is none."""
    for source in (path, path / _BESIDE, path / "report.html", path.parent / _BESIDE):
        try:
            found = _provenance_in(source) if source.is_file() else None
            if found is None:
                continue
            if found["recipe"]["verb"] in _VERBS and isinstance(found["recipe"]["scenario"]["policies"], list):
                return found
        except (ValueError, KeyError, TypeError):
            pass
        raise UserError(f"{source}: does not say how to make it again")
    raise UserError(f"{path}: says nothing of where it comes from, nor does a {_BESIDE} beside it")


def _provenance_in(file: Path) -> dict[str, Any] | None:
    if file.name == _BESIDE:
        return json.loads(file.read_text(encoding="utf-8"))
    pattern = {".html": _IN_HTML, ".svg": _IN_SVG}.get(file.suffix)
    found = pattern.search(file.read_text(encoding="utf-8")) if pattern else None
    try:
        return json.loads(html.unescape(found[1])) if found else None
    except json.JSONDecodeError:
        return None


def _as_made(found: dict[str, Any], made: Mapping[str, Any]) -> None:
    """Says of itself what the first one says, so that a difference in the bytes is one of results."""
    own = ("conservation_checks_passed", "picture", "case", "drawn", "drawn_with")
    found.update({name: value for name, value in made.items() if name not in own})


def _scenario(recipe: Mapping[str, Any]) -> Scenario:
    classes = [policy["class"] for policy in recipe["scenario"]["policies"] if "text" not in policy]
    if classes:
        raise UserError(f"made with policies given as classes, whose code is not in it: {', '.join(classes)}")
    return from_recipe(recipe["scenario"])


def _compared(made: Mapping[str, Any], path: Path, again: Path, threads: int, progress: Progress | None) -> None:
    recipe = made["recipe"]
    options = {name: recipe[name] for name in _OPTIONS}
    found = compare(_scenario(recipe), recipe["alternatives"], **options, threads=threads, progress=progress)
    _as_made(found.provenance, made)
    if path.suffix == ".svg":
        getattr(found, f"plot_{made['picture']}")().save(again / path.name)
    else:
        found.write_report(again / (path.name if path.suffix == ".html" else ""), units=made["units"])


def _swept(made: Mapping[str, Any], path: Path, again: Path, threads: int, progress: Progress | None) -> None:
    recipe = made["recipe"]
    options = {name: recipe[name] for name in _OPTIONS}
    found = sweep(_scenario(recipe), recipe["vary"], **options, threads=threads, progress=progress)
    _as_made(found.provenance, made)
    if path.suffix == ".svg":
        drawn = [catalogue()[name] for name in made["drawn"]]
        getattr(sweep_pictures, made["picture"])(found, made["case"], *drawn).save(again / path.name)
    else:
        found.write(again)


def _ran(made: Mapping[str, Any], threads: int, progress: Progress | None) -> Result:
    recipe = made["recipe"]
    return run(
        _scenario(recipe),
        replications=recipe["replications"],
        seed=recipe["seed"],
        first_replicate=recipe["first_replicate"],
        record=[name for name in recipe["tables"] if name != "sows"],
        threads=threads,
        progress=progress and (lambda done: progress(done, recipe["replications"], "")),
    )


def _run(made: Mapping[str, Any], path: Path, again: Path, threads: int, progress: Progress | None) -> None:
    write_tables(_ran(made, threads, progress), again, made)


def _labour(made: Mapping[str, Any], path: Path, again: Path, threads: int, progress: Progress | None) -> None:
    labour.write(_ran(made, threads, progress), again, made=made)


def _paired(made: Mapping[str, Any], path: Path, again: Path, threads: int, progress: Progress | None) -> None:
    recipe = made["recipe"]
    names = ("replications", "seed", "outputs", "reference", "cases")
    options = {name: recipe[name] for name in names}
    found = pairing_table(_scenario(recipe), **options, threads=threads, progress=progress)
    _as_made(found.provenance, made)
    found.write(again)


def _each_sow(made: Mapping[str, Any], path: Path, again: Path, threads: int, progress: Progress | None) -> None:
    recipe = made["recipe"]
    names = ("reference", "alternative", "measures", "case", "replications", "seed")
    options = {name: recipe[name] for name in names}
    found = each_sow(_scenario(recipe), **options, threads=threads, progress=progress)
    _as_made(found.provenance, made)
    found.write(again)


_OPTIONS = ("replications", "seed", "outputs", "reference", "precision")
_VERBS: dict[str, Callable[..., None]] = {
    "compare": _compared,
    "sweep": _swept,
    "run": _run,
    "labour": _labour,
    "pairing": _paired,
    "each-sow": _each_sow,
}


def _same(there: Path, here: Path) -> bool:
    return here.exists() and there.read_bytes() == here.read_bytes()


def _changed(made: Mapping[str, Any]) -> list[str]:
    now = provenance.engine()
    names = {"engine_version": "engine", "results_version": "results version", "commit": "commit"}
    if "drawn_with" in made:
        names, now = names | {"drawn_with": "drawn with"}, now | {"drawn_with": DRAWN_WITH}
    return [f"{said} {made[name]} then, {now[name]} now" for name, said in names.items() if made.get(name) != now[name]]

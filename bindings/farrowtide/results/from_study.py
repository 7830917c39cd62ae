"""A comparison made of the rooms in a study folder, without simulating."""

from __future__ import annotations

import os
from dataclasses import replace
from pathlib import Path

from farrowtide.engine import provenance
from farrowtide.errors import UserError
from farrowtide.own_files import Record, checked, json_in, read_text
from farrowtide.results.comparison import Comparison, carried_out
from farrowtide.results.recorded import CompareRecipe
from farrowtide.scenarios.scenario import from_recipe
from farrowtide.study import manifest as manifests
from farrowtide.study.course import Course
from farrowtide.study.execution import UnfinishedError
from farrowtide.study.folder import ASKED
from farrowtide.study.plan import plan

_VERB = "compare"


class _Asked(Record):
    """What a study folder says that was asked of it."""

    command: str
    recipe: CompareRecipe


def comparison_of(folder: str | os.PathLike[str], *, run_policies: bool = False) -> Comparison:
    """The comparison that was last asked of a study; it has the same tables as when its rooms were simulated.

    Policies in Python run only if `run_policies` says so. Raises UserError where the folder holds no study of `compare`,
    one of another results version or with other coefficients, or one that is unfinished.
    """
    place = Path(folder)
    _require_comparable(place)
    file = place / ASKED
    if not file.is_file():
        raise UserError(
            f"{place}: does not say what was asked of it ({ASKED}); resume it once with the command that began it"
        )
    asked = checked(_Asked, json_in(read_text(file), file), file)
    recipe = asked.recipe
    scenario = from_recipe(recipe.scenario, run_policies=run_policies)
    study = plan(scenario, recipe.alternatives, verb=_VERB, **recipe.of_both)
    course = Course(study, folder=place, resume=True, simulates=False)
    try:
        comparison = carried_out(study, course)
    except UnfinishedError as error:
        raise UserError(f"{error}. To go on, repeat the command that began it, with --resume (see {file})") from None
    return replace(comparison, provenance=comparison.provenance | {"command": asked.command})


def _require_comparable(folder: Path) -> None:
    """Raises UserError where no report of this version can be made of the folder."""
    file = folder / manifests.FILE
    if not file.is_file():
        raise UserError(f"{folder}: is no study folder: it has no {manifests.FILE} (compare --study makes one)")
    held = manifests.read_manifest(file, _VERB)
    if held["verb"] != _VERB:
        raise UserError(f"{folder}: holds a study of `{held['verb']}`; reports are made of studies of `{_VERB}`")
    now = provenance.engine()["results_version"]
    if held["results_version"] != now:
        raise UserError(
            f"{folder}: was simulated with results version {held['results_version']}, and this is {now}, which gives other "
            "numbers: make its report with that version, or run the study again in another folder"
        )

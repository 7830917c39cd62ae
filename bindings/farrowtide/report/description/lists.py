"""The engine's own lists for the description: tasks, tables, views, coefficients, submodels."""

from __future__ import annotations

import inspect
import json
import re
from collections.abc import Iterable
from importlib import resources
from typing import Any

from farrowtide import _core
from farrowtide.engine.result import Result

# The meaning of the engine's names of orders and due times; a name without an entry is an error when rendering.
ORDERS = {
    "environment": "calendar, shifts, midnight of the rooms",
    "animal": "onset, birth, death and other biology",
    "release": "work done, resources released, every wake-up that another process causes",
    "decision": "time limits of waiting, policies",
    "task": "requests for work",
    "record": "rows written, after all else in that second",
}
_DUE = {
    "after feeding time": "{staff.due.feed} after the feed's clock time",
    "end of shift": "end of the shift in which it was requested",
    "within processing time": "{staff.due.processing} after the request",
    "same day": "midnight",
    "before next group": "when the room must be washed and dry",
}


def tasks(coefficients: _core.Coefficients) -> list[dict[str, Any]]:
    """Every kind of task with its coefficient and the time after which it is late."""

    def due(rule: str) -> str:
        return re.sub(r"\{(.+?)\}", lambda match: _with_unit(coefficients.find(match[1])), _DUE[rule])

    return [
        task | {"due": due(task["due"]), "minutes": coefficients.find(task["time"])}
        for task in _core.tasks(coefficients)
    ]


def meaning(table: str) -> str:
    """What a row of a table of results stands for."""
    return inspect.getdoc(inspect.getattr_static(Result, table)) or ""


def views() -> dict[str, tuple[str, list[str]]]:
    """What policies may know: view -> its meaning and its fields."""
    kinds = [
        (name, kind) for name, kind in inspect.getmembers(_core, inspect.isclass) if re.fullmatch(r"[A-Z]\w+View", name)
    ]
    return {
        name: (
            (inspect.getdoc(kind) or "").split("\n")[0],
            [field for field, value in inspect.getmembers(kind) if isinstance(value, property)],
        )
        for name, kind in kinds
    }


def grades(coefficients: _core.Coefficients, paths: Iterable[str]) -> dict[str, int]:
    """The number of these coefficients of each grade."""
    all_grades = [coefficients.find(path).grade for path in paths]
    return {grade: all_grades.count(grade) for grade in ("A", "B", "C")}


def number_groups(coefficients: _core.Coefficients) -> dict[str, tuple[dict[str, int], list[str]]]:
    """First two parts of the path -> number of coefficients by grade, sources."""
    groups: dict[str, list[str]] = {}
    for path in coefficients.paths:
        groups.setdefault(".".join(path.split(".")[:2]), []).append(path)
    return {
        group: (grades(coefficients, paths), list(dict.fromkeys(coefficients.find(path).source for path in paths)))
        for group, paths in groups.items()
    }


def overlaid(coefficients: _core.Coefficients, path: str) -> tuple[str, str, str]:
    """Path, built-in value, value here."""
    return path, _with_unit(_core.Coefficients.built_in().find(path)), _with_unit(coefficients.find(path))


def submodels() -> dict[str, list[dict[str, Any]]]:
    """Chapter of the model page -> its equations and rules: name, anchor, what it is, used, valid, source, grade."""
    file = resources.files("farrowtide.report.description").joinpath("equations.json")
    chapters: dict[str, list[dict[str, Any]]] = json.loads(file.read_text(encoding="utf-8"))
    return chapters


def _with_unit(coefficient: _core.Coefficient) -> str:
    """One or more values with their unit."""
    numbers = ", ".join(f"{value:g}" for value in coefficient.value)
    return numbers if coefficient.unit == "-" else f"{numbers} {coefficient.unit}"

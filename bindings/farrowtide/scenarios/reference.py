"""What a key of scenarios or a coefficient means, in words, and which keys bear on a run."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Mapping
from typing import Any

from farrowtide import _core
from farrowtide.scenarios.scenario import Scenario

_GRADES = {"A": "published", "B": "derived or fitted to published values", "C": "trade practice or assumption"}
NOT_INPUT = ("title", "question", "study", "cases", "alternatives")


def explain(key: str) -> str:
    """Meaning, unit, default, range, source and grade of a scenario's key ("feeding.times") or of a coefficient's path
    ("sow.herd.lactation_length"). Raises UserError with a suggestion.
    """
    coefficients = _core.Coefficients.built_in()
    return _coefficient(coefficients.find(key)) if coefficients.has(key) else _core.explain(key)


def json_schema() -> str:
    """The JSON Schema of scenarios, for editors."""
    return _core.json_schema()


def _coefficient(found: _core.Coefficient) -> str:
    lines = [
        f"{found.path} [{found.unit}]: coefficient of the model",
        f"  value    {_listed(found.value)}",
        f"  range    {_listed(found.low)} to {_listed(found.high)}",
        f"  grade    {found.grade}: {_GRADES.get(found.grade, 'unknown')}",
        f"  source   {found.source}",
    ]
    return "\n".join([*lines, f"  note     {found.note}"] if found.note else lines)


def _listed(numbers: list[float]) -> str:
    return ", ".join(f"{number:g}" for number in numbers)


def keys(scenario: Scenario) -> list[tuple[str, str, str, str]]:
    """Every key that bears on the run: dotted key, value, "given" or "standard", meaning."""
    written = {name: value for name, value in _core.written(scenario._core).items() if name not in NOT_INPUT}
    schema = json.loads(_core.json_schema())
    schema["properties"] = {name: part for name, part in schema["properties"].items() if name not in NOT_INPUT}
    return list(_below("", schema, written))


def _below(path: str, schema: Mapping[str, Any], written: Mapping[str, Any]) -> Iterable[tuple[str, str, str, str]]:
    known = dict(schema.get("properties", {}))
    for rule in schema.get("allOf", ()):  # the keys of the policy that was chosen
        ((key, wanted),) = rule["if"]["properties"].items()
        if written.get(key, known[key].get("default")) == wanted["const"]:
            known |= rule["then"].get("properties", {})
    for key, part in known.items():
        value = written.get(key)
        if part.get("type") == "object":
            yield from _below(f"{path}{key}.", part, value or {})
        elif key in written:
            yield f"{path}{key}", on_one_line(value), "given", part["description"]
        else:
            yield f"{path}{key}", _standard(part), "standard", part["description"]
    for key, value in written.items():
        if key not in known:
            yield f"{path}{key}", on_one_line(value), "given", "A parameter of a policy of the user's own."


def _standard(part: Mapping[str, Any]) -> str:
    """The value of a key that is left out, with the unit in which it is meant."""
    if (default := part.get("default")) is None:
        return "not set"
    if isinstance(default, bool):
        return json.dumps(default)
    unit = re.search(r"Unit: ([^,. ]+)", part["description"])
    return on_one_line(default) + (f" {unit[1]}" if unit and unit[1] != "-" else "")


def on_one_line(value: Any) -> str:
    """A value of a scenario on one line."""
    if isinstance(value, dict):
        return "{" + ", ".join(f"{key}: {on_one_line(part)}" for key, part in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(on_one_line, value)) + "]"
    return "none" if value is None else str(value)

"""What a key of scenarios or a coefficient means, in words, and which keys bear on a run."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Mapping
from typing import Any

from farrowtide import _core
from farrowtide.inert_text import visible_line
from farrowtide.scenarios.declarations import (
    Declaration,
    allowed_text,
    declaration,
    default_text,
    has_keys,
    meaning,
    visit,
)
from farrowtide.scenarios.scenario import Scenario

_GRADES = {"A": "published", "B": "derived or fitted to published values", "C": "trade practice or assumption"}
_GRADE_OF_KEY = {
    "A": "grade A: published",
    "B": "grade B: derived from or fitted to published values",
    "C": "grade C: trade practice or assumption",
}
_UNIT_AT_THE_END = re.compile(r"_(deg_[cf]|percent|mm|(kg|g|lb|l|gal|min|h|d|s)(_per_(day|d|h|min))?)$")  # of columns
NOT_INPUT = ("title", "question", "study", "cases", "alternatives")


def explain(name: str) -> str:
    """Meaning, unit, default, range, source and grade of a scenario's key ("feeding.times") or of a coefficient's path
    ("sow.herd.lactation_length"). Raises UserError with a suggestion.
    """
    coefficients, name = _core.Coefficients.built_in(), visible_line(name)
    if coefficients.has(name):
        return _coefficient(coefficients.find(name))
    try:
        return explain_key(name, declaration())
    except _core.UserError as no_key:
        nearest = "" if "Did you mean" in str(no_key) else _core.closest(name, coefficients.paths)
        raise _core.UserError(f"{no_key} Did you mean the coefficient {nearest}?" if nearest else str(no_key)) from None


def explain_key(name: str, root: Declaration) -> str:
    """Every key below `root` that has this dotted path ("list.0.key" as well) or this earlier name."""
    declared = list(visit(root.keys))
    keys_found: dict[str, tuple[Declaration, str, list[str]]] = {}  # by all that is said of a key but when it applies
    for key, path, condition in declared:
        if _is_called(name, key, path):
            keys_found.setdefault(_key(key, path, ""), (key, path, []))[2].append(condition)
    if keys_found:
        return "\n".join(_key(key, path, _any_of(conditions)) for key, path, conditions in keys_found.values())
    without_unit = _UNIT_AT_THE_END.sub("", name)
    if without_unit != name and any(_is_called(without_unit, key, path) for key, path, _ in declared):
        parts = [path for _, path, _ in declared if path.startswith(f"{without_unit}.")]
        return "\n".join(explain_key(each, root) for each in dict.fromkeys([without_unit, *parts]))
    paths = [path for _, path, _ in declared]
    last_words = [path for path in paths if path.endswith(f".{name}")]  # "crates" for "room.crates"
    begun = [path for path in paths if name and path.startswith(name)]  # "fostering.win" for "fostering.window"
    nearest = next(iter([*last_words, *begun]), "") or _core.closest(name, paths)
    raise _core.UserError(f"There is no key '{name}'." + (f" Did you mean {nearest}?" if nearest else ""))


def _any_of(conditions: list[str]) -> str:
    """ "fostering.kind by_size, fill_teats" for two choices of one key; "" where one of them is no condition."""
    if "" in conditions:
        return ""
    choices: dict[str, list[str]] = {}
    for condition in conditions:
        key, _, choice = condition.partition(" ")
        choices.setdefault(key, []).append(choice)
    return " or ".join(f"{key} {', '.join(dict.fromkeys(names))}" for key, names in choices.items())


def _is_called(name: str, key: Declaration, path: str) -> bool:
    parent = path[: -len(key.name)]
    return _matches(path, name) or any(name == alias or _matches(parent + alias, name) for alias in key.aliases)


def _matches(path: str, name: str) -> bool:
    """Whether a dotted name means a path: "moves[].day" is also "moves.0.day" and "moves.day"; NAME is any word."""
    words = [re.escape(word).replace(r"\[\]", r"(\[\]|\.[0-9]+)?") for word in path.split(".")]
    return bool(re.fullmatch(r"\.".join("[^.]+" if word == "NAME" else word for word in words), name))


def _key(key: Declaration, path: str, condition: str) -> str:
    units = _unit_without_one(path) if key.unit == "-" else ", ".join(key.units)
    graded = f" ({_GRADE_OF_KEY.get(key.grade, '')})" if key.source and key.grade else ""
    facts = {
        "Only with": condition,
        "Unit": units if key.kind in ("number", "numbers") else "",
        "Default": "" if has_keys(key) else default_text(key),
        "Allowed": allowed_text(key),
        "Source": key.source + graded,
        "Coefficient": key.coefficient,
        "Earlier name": ", ".join(key.aliases),
    }
    lines = [path, f"  {key.help}", *(f"  {label}: {fact}" for label, fact in facts.items() if fact)]
    parts: list[Declaration | Declaration.Variant] = [*key.keys, *key.variants]
    return "\n".join([*lines, *(f"  - {part.name}: {part.help}" for part in parts)]) + "\n"


def _coefficient(coefficient: _core.Coefficient) -> str:
    lines = [
        f"{coefficient.path} [{coefficient.unit}]: coefficient of the model",
        f"  value    {_listed(coefficient.value)}",
        f"  range    {_listed(coefficient.low)} to {_listed(coefficient.high)}",
        f"  grade    {coefficient.grade}: {_GRADES.get(coefficient.grade, 'unknown')}",
        f"  source   {coefficient.source}",
    ]
    return "\n".join([*lines, f"  note     {coefficient.note}"] if coefficient.note else lines)


def _unit_without_one(path: str) -> str:
    """The unit, in words, of a number that is written without one."""
    if path.endswith(".lasts_years"):
        return "years"
    return "the currency of prices" if path.startswith("prices.") else "none; a share may be given in %"


def _listed(numbers: list[float]) -> str:
    return ", ".join(f"{number:g}" for number in numbers)


def keys(scenario: Scenario) -> list[tuple[str, str, str, str]]:
    """Every key that bears on the run: dotted key, value, "given" or "default", meaning."""
    written = {name: value for name, value in _core.written(scenario._core).items() if name not in NOT_INPUT}
    declared = [key for key in declaration().keys if key.name not in NOT_INPUT]
    return list(_below("", declared, written))


def _below(path: str, declared: list[Declaration], written: Mapping[str, Any]) -> Iterable[tuple[str, str, str, str]]:
    known = list(declared)
    for key in declared:  # the keys of the policy that was chosen
        known += [
            part
            for variant in key.variants
            if variant.name == written.get(key.name, key.default)
            for part in variant.keys
        ]
    for key in known:
        name = next((name for name in (key.name, *key.aliases) if name in written), key.name)
        if key.kind == "section":
            yield from _below(f"{path}{name}.", key.keys, written.get(name) or {})
        elif name in written:
            yield f"{path}{name}", on_one_line(written[name]), "given", meaning(key)
        else:
            yield f"{path}{name}", _default(key), "default", meaning(key)
    names = {name for key in known for name in (key.name, *key.aliases)}
    for name, value in written.items():
        if name not in names:
            yield f"{path}{name}", on_one_line(value), "given", "A parameter of a policy of the user's own."


def _default(key: Declaration) -> str:
    """The value of a key that is left out, with the unit in which it is meant."""
    if key.default is None or key.kind == "strings":
        return "not set"
    if key.kind in ("choice", "date", "boolean"):
        return key.default
    return on_one_line(json.loads(key.default)) + (f" {key.unit}" if key.unit not in ("", "-") else "")


def on_one_line(value: Any) -> str:
    """A value of a scenario on one line."""
    if isinstance(value, dict):
        return "{" + ", ".join(f"{key}: {on_one_line(part)}" for key, part in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(on_one_line, value)) + "]"
    return "none" if value is None else str(value)

"""What is not known of a farm and of the model: numbers with a range, drawn as one value of a scenario."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache
from importlib.resources import files
from typing import Any, Literal

from scipy.special import ndtri

from farrowtide import _core
from farrowtide.errors import UserError
from farrowtide.scenarios.declarations import declaration, visit
from farrowtide.scenarios.scenario import Scenario

_WITHIN = 0.95  # what a range holds of a normal distribution


@dataclass(frozen=True)
class Parameter:
    """A number with a range, or a table of them that moves as one: a coefficient, or a level of the herd.

    `name`: the path of a coefficient ("sow.appetite.curve.half_time" for a whole table, with "[0]" for one entry) or the
    key of a level ("herd.intake_level"). `value`, `low` and `high`: one number, or one for each entry of a table, in `unit`.
    """

    name: str
    value: tuple[float, ...]
    low: tuple[float, ...]
    high: tuple[float, ...]
    unit: str
    grade: str
    source: str
    kind: Literal["coefficient", "level"]

    def at(self, probability: float) -> tuple[float, ...]:
        """The value at this probability (above 0, below 1) of what is thought of it; all entries of a table move alike.

        The median is `value`. On either side of it grades A and B are normal with 95 % between `low` and `high`, cut off
        there; grade C is uniform. Raises ValueError outside 0 to 1.
        """
        if not 0 < probability < 1:
            raise ValueError(f"a probability between 0 and 1 is needed, not {probability}")
        share = 2 * probability - 1  # of the way from the value to an end, were it uniform
        if self.grade != "C":
            share = float(ndtri(0.5 + share * _WITHIN / 2) / ndtri(0.5 + _WITHIN / 2))
        ends = self.high if share > 0 else self.low
        return tuple(value + abs(share) * (end - value) for value, end in zip(self.value, ends, strict=True))


def parameters(scenario: Scenario) -> dict[str, Parameter]:
    """Every coefficient and level that has a range, at the value it has in the scenario, by name.

    Tables are one parameter each. A value outside its range, as an overlay may set it, widens the range to hold it.
    Coefficients that are defaults of keys are left out: what is done on a farm is known there.
    """
    coefficients = scenario._core.coefficients
    found = [_whole(coefficients.find(path)) for path in coefficients.paths if path not in _defaults_of_keys()]
    return {each.name: each for each in [*levels(scenario), *found] if each.low != each.high}


def parameter(scenario: Scenario, name: str) -> Parameter:
    """The parameter of this name, which may be one entry of a table. Raises UserError with a suggestion."""
    known = {each.name: each for each in levels(scenario)}
    if name in known:
        return known[name]
    path, _, index = name.removesuffix("]").partition("[")
    coefficients = scenario._core.coefficients
    if not coefficients.has(path):
        nearest = _core.closest(name, [*known, *coefficients.paths])
        suggested = f" Did you mean {nearest}?" if nearest else ""
        raise UserError(f"'{name}' is neither a coefficient nor a level of a herd.{suggested}")
    found = _whole(coefficients.find(path))
    if not index:
        return _with_a_range(found)
    if not (index.isdecimal() and int(index) < len(found.value)):
        raise UserError(f"{name}: {path} has entries 0 to {len(found.value) - 1}")
    return _with_a_range(entry(found, int(index)))


def levels(scenario: Scenario) -> list[Parameter]:
    """The levels of the herd, at the value they have in the scenario."""
    written = _core.written(scenario._core)
    return [
        _holding_its_value(
            Parameter(
                key,
                (_level(written, key),),
                (entry["low"],),
                (entry["high"],),
                _declared()[key].unit,
                entry["grade"],
                entry["source"],
                "level",
            )
        )
        for key, entry in _level_ranges().items()
    ]


def with_parameters(scenario: Scenario, values: Mapping[str, float | tuple[float, ...]]) -> Scenario:
    """The scenario with these parameters at these values: keys of levels, coefficients, and entries of their tables.

    Raises UserError for an unknown name and ScenarioError for a value out of range.
    """
    herd: dict[str, float] = {}
    changed: dict[str, Any] = {}
    for name, value in values.items():
        numbers = list(value) if isinstance(value, tuple) else [value]
        path, _, index = name.removesuffix("]").partition("[")
        if name in _level_ranges():
            herd[name] = numbers[0]
        elif index:
            parameter(scenario, name)  # raises where there is no such entry
            table = changed.setdefault(path, list(scenario._core.coefficients.find(path).value))
            table[int(index)] = numbers[0]
        else:
            changed[path] = numbers if len(numbers) > 1 else numbers[0]
    scenario = scenario.override(herd) if herd else scenario
    return scenario.with_coefficients(changed) if changed else scenario


def _whole(coefficient: _core.Coefficient) -> Parameter:
    return _holding_its_value(
        Parameter(
            coefficient.path,
            tuple(coefficient.value),
            tuple(coefficient.low),
            tuple(coefficient.high),
            coefficient.unit,
            coefficient.grade,
            coefficient.source,
            "coefficient",
        )
    )


def entry(table: Parameter, index: int) -> Parameter:
    return replace(
        table,
        name=f"{table.name}[{index}]",
        value=(table.value[index],),
        low=(table.low[index],),
        high=(table.high[index],),
    )


def _holding_its_value(found: Parameter) -> Parameter:
    return replace(found, low=tuple(map(min, found.value, found.low)), high=tuple(map(max, found.value, found.high)))


def _with_a_range(found: Parameter) -> Parameter:
    if found.low == found.high:
        raise UserError(f"{found.name} has no range: it is a definition, which is not varied")
    return found


def _level(written: Mapping[str, Any], key: str) -> float:
    section, _, name = key.partition(".")
    value = (written.get(section) or {}).get(name)
    if isinstance(value, str) and value.rstrip().endswith("%"):
        return float(value.rstrip(" %")) / 100
    return float(json.loads(_declared()[key].default or "0") if value is None else value)


@cache
def _declared() -> dict[str, Any]:
    return {path: key for key, path, _ in visit(declaration().keys) if path in _level_ranges()}


@cache
def _defaults_of_keys() -> frozenset[str]:
    return frozenset(key.coefficient for key, _, _ in visit(declaration().keys))


@cache
def _level_ranges() -> dict[str, dict[str, Any]]:
    text = files("farrowtide.scenarios").joinpath("levels.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)

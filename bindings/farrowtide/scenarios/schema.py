"""The JSON Schema of scenarios, draft 2020-12: unknown keys are refused, and each kind of policy admits its own."""

from __future__ import annotations

import json
import re
from typing import Any

from farrowtide.scenarios.declarations import Declaration, declaration, meaning, visit

_STUDY = ("title", "question", "study", "cases", "alternatives")  # of the study as a whole: no alternative changes them
_TIME = {"type": "string", "pattern": "^([01][0-9]|2[0-3]):[0-5][0-9]$"}
_DATE = {"type": "string", "pattern": "^[0-9]{4}-[0-9]{2}-[0-9]{2}$"}
_TEXT = {"type": ["string", "number"]}
_WITH_UNIT = {"type": "string", "pattern": "^[-+]?[0-9.]+([eE][-+]?[0-9]+)? ?[^0-9 ].*$"}


def json_schema() -> dict[str, Any]:
    """The schema of a whole scenario."""
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "farrowtide scenario",
        **_mapping(declaration().keys),
        "$defs": {"changes": _changes()},
    }


def _changes() -> dict[str, Any]:
    """What an alternative or a case holds: the new value at each dotted key, in a list by number ("moves.0.day").

    Keys without a number or a name of the user's own are properties, so that editors complete them.
    """
    properties: dict[str, list[dict[str, Any]]] = {}
    patterns: dict[str, list[dict[str, Any]]] = {}
    for key, path, _ in visit([key for key in declaration().keys if key.name not in _STUDY]):
        for name in (key.name, *key.aliases):
            dotted = path.removesuffix(key.name) + name
            pattern = re.escape(dotted).replace(r"\[\]", r"\.[0-9]+").replace("NAME", r"[^.]+")
            of_key = (
                properties.setdefault(dotted, [])
                if pattern == re.escape(dotted)
                else patterns.setdefault(f"^{pattern}$", [])
            )
            if (schema := _property(key)) not in of_key:
                of_key.append(schema)
    return {
        "type": ["object", "null"],
        "properties": {path: _any_of(schemas) for path, schemas in properties.items()},
        "patternProperties": {pattern: _any_of(schemas) for pattern, schemas in patterns.items()},
        "unevaluatedProperties": False,
    }


def _any_of(schemas: list[dict[str, Any]]) -> dict[str, Any]:
    return schemas[0] if len(schemas) == 1 else {"anyOf": schemas}


def _named_changes() -> dict[str, Any]:
    return {
        "type": ["object", "null"],
        "propertyNames": {"pattern": "[^ ]"},
        "additionalProperties": {"$ref": "#/$defs/changes"},
    }


def _mapping(keys: list[Declaration]) -> dict[str, Any]:
    schema = {"type": "object", **_properties(keys)}
    if rules := [_variant(key, variant) for key in keys for variant in key.variants]:
        schema["allOf"] = rules
    return schema | {"unevaluatedProperties": False}


def _properties(keys: list[Declaration]) -> dict[str, Any]:
    properties = {key.name: _property(key) for key in keys}
    for key in keys:
        properties |= {alias: _property(key) | {"deprecated": True} for alias in key.aliases}
    required = [key.name for key in keys if key.required and not key.aliases]
    return {"properties": properties} | ({"required": required} if required else {})


def _variant(choice: Declaration, variant: Declaration.Variant) -> dict[str, Any]:
    """If the choice is this variant then these keys too; an absent choice is its default."""
    chosen: dict[str, Any] = {"properties": {choice.name: {"const": variant.name}}}
    if choice.default != variant.name:
        chosen["required"] = [choice.name]
    return {"if": chosen, "then": _properties(variant.keys)}


def _property(key: Declaration) -> dict[str, Any]:
    schema = {"description": meaning(key), **_type(key)}
    if key.default is not None and key.kind != "strings":
        as_text = key.kind in ("choice", "date")
        schema["default"] = key.default if as_text else json.loads(key.default)
    return schema


def _type(key: Declaration) -> dict[str, Any]:
    match key.kind:
        case "number":
            return _number(key)
        case "integer":
            return {"type": "integer", **_bounds(key)}
        case "boolean":
            return {"type": "boolean"}
        case "string":
            return _TEXT
        case "choice":
            return {"enum": key.options}
        case "time_of_day":
            return _TIME
        case "times_of_day":
            return _list(key, _TIME)
        case "date":
            return _DATE
        case "numbers":
            return _list(key, _number(key))
        case "integers":
            return _list(key, {"type": "integer", **_bounds(key)})
        case "strings":
            return _list(key, {"enum": key.options} if key.options else _TEXT)
        case "section":
            return _mapping(key.keys)
        case "list":
            return _list(key, _mapping(key.keys))
        case "named":
            return {"type": "object", "additionalProperties": _mapping(key.keys)}
    return _named_changes()  # `cases` and `alternatives`


def _number(key: Declaration) -> dict[str, Any]:
    """A bare number, or one with a unit, which only the engine can judge."""
    return {"anyOf": [{"type": "number", **_bounds(key)}, _WITH_UNIT]}


def _bounds(key: Declaration) -> dict[str, float]:
    bounds = {"minimum": key.low, "maximum": key.high}
    return {name: int(bound) if bound.is_integer() else bound for name, bound in bounds.items() if bound is not None}


def _list(key: Declaration, entry: dict[str, Any]) -> dict[str, Any]:
    schema: dict[str, Any] = {"type": "array", "items": entry}
    if key.min_items > 0:
        schema["minItems"] = key.min_items
    if key.max_items is not None:
        schema["maxItems"] = key.max_items
    return schema

"""Every key of a scenario as the engine declares it, and what a declaration says in words."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache

from farrowtide import _core

Declaration = _core.Declaration

_ALLOWED = {
    "boolean": "true or false",
    "string": "text",
    "time_of_day": "00:00 to 23:59",
    "times_of_day": "a list of times, each later than the one before",
    "date": "year-month-day",
}
_NUMBERS = {"integer": "a whole number", "numbers": "a list of numbers", "integers": "a list of whole numbers"}


@cache
def declaration() -> Declaration:
    """The root of the tree; its `keys` are those of the top level."""
    return _core.declaration()


def has_keys(key: Declaration) -> bool:
    """Whether the key holds a mapping of keys, or a list or named set of such mappings."""
    return key.kind in ("section", "list", "named")


def path_of(key: Declaration, path: str) -> str:
    """The dotted path of a key below `path`."""
    return f"{path}.{key.name}" if path else key.name


def path_below(key: Declaration, path: str) -> str:
    """The path of a key's own keys: "moves[]" for those of each entry of the list `moves`."""
    return path_of(key, path) + {"list": "[]", "named": ".NAME"}.get(key.kind, "")


def visit(keys: list[Declaration], path: str = "", condition: str = "") -> Iterator[tuple[Declaration, str, str]]:
    """Every key with its path and the choice that it depends on ("feeding.kind hand"; "" for none)."""
    for key in keys:
        yield key, path_of(key, path), condition
        yield from visit(key.keys, path_below(key, path), condition)
        for variant in key.variants:
            yield from visit(variant.keys, path, f"{path_of(key, path)} {variant.name}")


def default_text(key: Declaration) -> str:
    """The default as it is written in a file, "required" or "none"."""
    if key.default is not None:
        return key.default
    return "required" if key.required else "none"


def allowed_text(key: Declaration) -> str:
    """The values that are allowed, in words; "" where the keys below say it."""
    if key.kind == "choice":
        return ", ".join(key.options)
    if key.kind == "strings":
        return f"a list of {', '.join(key.options) or 'texts'}"
    if key.kind in _NUMBERS:
        return ", ".join(part for part in (_NUMBERS[key.kind], key.range) if part)
    return key.range if key.kind == "number" else _ALLOWED.get(key.kind, "")


def help_text(key: Declaration) -> str:
    """What the key means, and the choice without which it has no effect."""
    only = f"Has an effect only with {key.only_with}." if key.only_with else ""
    return " ".join(filter(None, (key.help, only)))


def meaning(key: Declaration) -> str:
    """What the key means, its units and what is allowed, in sentences."""
    sentences = [help_text(key)]
    if key.unit == "-":
        sentences.append("A share may be given in %.")
    elif key.unit:
        sentences.append(f"Unit: {', '.join(key.units)}.")
    if allowed := allowed_text(key):
        sentences.append(f"Allowed: {allowed}.")
    return " ".join(sentences)

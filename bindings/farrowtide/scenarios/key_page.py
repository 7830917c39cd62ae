"""The key reference as Markdown: a table for every mapping of keys."""

from __future__ import annotations

from farrowtide.scenarios.declarations import (
    Declaration,
    allowed_text,
    declaration,
    default_text,
    has_keys,
    help_text,
    path_below,
)


def key_page() -> str:
    """A table for each section and each kind of policy: key, unit, default, allowed values, meaning."""
    return "\n".join(_tables(declaration().keys, "", "Top level", declaration().help))


def _tables(keys: list[Declaration], path: str, title: str, help: str) -> list[str]:
    tables = [_table(keys, title, help)] if keys else []
    for key in keys:
        below = path_below(key, path)
        if has_keys(key):
            tables += _tables(key.keys, below, _code(below), key.help)
        for variant in key.variants:
            where = f"{_code(path)} with " if path else ""
            tables += _tables(variant.keys, path, where + _code(f"{key.name}: {variant.name}"), variant.help)
    return tables


def _table(keys: list[Declaration], title: str, help: str) -> str:
    head = [f"## {title}", "", *([help, ""] if help else [])]
    columns = ["| Key | Unit | Default | Allowed | Meaning |", "|---|---|---|---|---|"]
    return "\n".join([*head, *columns, *map(_row, keys)]) + "\n"


def _row(key: Declaration) -> str:
    default = "" if has_keys(key) else _code(key.default) if key.default is not None else default_text(key)
    unit = "" if key.unit == "-" else key.unit
    cells = [unit, default, allowed_text(key), help_text(key)]
    return f"| {_code(key.name)} | {' | '.join(map(_cell, cells))} |"


def _cell(text: str) -> str:
    return text.replace("|", "\\|").replace("\n", " ")


def _code(text: str) -> str:
    return f"`{text}`" if text else ""

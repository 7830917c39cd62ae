"""The mapping file: how a farm's own layout, units and notation correspond to the columns of the layout."""

from __future__ import annotations

import codecs
import datetime
import re
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, ValidationError
from pydantic_core import PydanticCustomError
from ruamel.yaml.comments import CommentedMap, CommentedSeq

from farrowtide import _core, yaml_documents
from farrowtide.errors import FileError, FileMistake
from farrowtide.inert_text import visible_line
from farrowtide.records.layout import layout
from farrowtide.whole_files import read_bytes

_MOST_BYTES = 1 << 20
_LONGEST_VALUE = 60  # characters of a wrong value in a message
# Value in the layout's unit = factor * value + offset, by their definitions.
UNITS: dict[str, dict[str, tuple[float, float]]] = {
    "kg": {"kg": (1, 0), "g": (0.001, 0), "lb": (0.45359237, 0)},
    "mm": {"mm": (1, 0), "cm": (10, 0), "inch": (25.4, 0)},
    "L": {"L": (1, 0), "gal": (3.785411784, 0)},
    "degC": {"degC": (1, 0), "degF": (5 / 9, -160 / 9)},
    "min": {"min": (1, 0), "h": (60, 0)},
}


def _wrong(problem: str, allowed: str = "", suggestion: str = "") -> PydanticCustomError:
    context = {"allowed": allowed, "suggestion": suggestion}
    return PydanticCustomError("wrong", problem.replace("{", "{{").replace("}", "}}"), context)


def _encoding(name: str) -> str:
    try:
        codecs.lookup(name)
        b"".decode(name)
    except (LookupError, ValueError):
        raise _wrong("is not an encoding", "such as utf-8, utf-16, windows-1252") from None
    return name


def _date_format(text: str) -> str:
    parts = re.findall("%(.)", text)
    whole = sorted(parts)
    days = datetime.date(1999, 12, 31)
    if whole not in (["Y", "d", "m"], ["d", "m", "y"]) or days.strftime(text) == text:
        raise _wrong(
            "is not the format of a date",
            "day %d, month %m and year %Y (or two digits, %y) with what stands between them, such as %d.%m.%Y",
        )
    return text


def _as_mapping(value: Any) -> Any:
    return {"heading": value} if isinstance(value, str) else value


class _Part(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True, frozen=True)


class Heading(_Part):
    """The heading of a column in the file, and the unit that its numbers are in."""

    heading: Annotated[str, Field(min_length=1)]
    unit: str | None = None


class TableMapping(_Part):
    """How one table is written. What is left out is found in the file, or as the layout has it."""

    sheet: str | None = None
    encoding: Annotated[str, AfterValidator(_encoding)] | None = None
    delimiter: Literal["comma", "semicolon", "tab"] | None = None
    decimal: Literal["point", "comma"] | None = None
    date_format: Annotated[str, AfterValidator(_date_format)] | None = None
    missing: list[str] = []
    columns: dict[str, Annotated[Heading, BeforeValidator(_as_mapping)]] = {}


class FileMapping(_Part):
    """A mapping file. `places` has the line and column of each key and of its value, by the keys that lead to it."""

    mapping: Literal[1]
    farrowings: TableMapping = TableMapping()
    days: TableMapping = TableMapping()

    def of(self, table: str) -> TableMapping:
        """The mapping of "farrowings" or "days"."""
        return self.farrowings if table == "farrowings" else self.days


_KEYS = [list(part.model_fields) for part in (FileMapping, TableMapping, Heading)]  # by depth


class MappingSource:
    """A mapping file as it was written, for messages about it."""

    def __init__(self, file: Path) -> None:
        self.name = visible_line(str(file))
        try:
            self._text = read_bytes(file, _MOST_BYTES).decode("utf-8-sig")
        except UnicodeDecodeError as error:
            raise FileError([FileMistake(self.name, 0, 0, "", "", f"byte {error.start:,} is not UTF-8 text")]) from None
        self._lines = self._text.splitlines()
        self.document = self._loaded()

    def _loaded(self) -> Any:
        try:
            return yaml_documents.document(self._text)
        except yaml_documents.YamlError as error:
            raise FileError([self._at(error.line, error.column, "", "", error.problem)]) from None

    def mistake(
        self,
        path: tuple[str | int, ...],
        problem: str,
        *,
        allowed: str = "",
        suggestion: str = "",
        of_key: bool = False,
    ) -> FileMistake:
        """A mistake at the value that the keys of `path` lead to, or `of_key` at the last of those keys."""
        node, place = self.document, (0, 0)
        for key in path:
            if not isinstance(node, (CommentedMap, CommentedSeq)):
                break
            try:
                at_key = isinstance(node, CommentedMap) and (of_key and key == path[-1])
                line, column = node.lc.key(key) if at_key else _value_place(node, key)
                node, place = node[key], (line + 1, column + 1)
            except (KeyError, IndexError, TypeError):
                break
        value = "" if of_key or isinstance(node, (Mapping, list)) or node is None else str(node)
        key_text = ".".join(map(str, path))
        return self._at(*place, key_text, f"{value:.{_LONGEST_VALUE}}", problem, allowed, suggestion)

    def _at(
        self, line: int, column: int, key: str, value: str, problem: str, allowed: str = "", suggestion: str = ""
    ) -> FileMistake:
        excerpt = self._lines[line - 1] if 0 < line <= len(self._lines) else ""
        return FileMistake(
            self.name,
            line,
            column,
            visible_line(key),
            visible_line(value),
            visible_line(problem),
            visible_line(allowed),
            visible_line(suggestion),
            visible_line(excerpt),
        )


def _value_place(node: CommentedMap | CommentedSeq, key: Any) -> tuple[int, int]:
    place: tuple[int, int] = node.lc.value(key) if isinstance(node, CommentedMap) else node.lc.item(key)
    return place


def read_mapping(file: Path) -> tuple[FileMapping, MappingSource]:
    """Reads a mapping file. Raises FileError with every mistake in it."""
    source = MappingSource(file)
    if not isinstance(source.document, CommentedMap):
        raise FileError([source.mistake((), "is not a mapping file", allowed="`mapping: 1` and the tables below it")])
    mistakes = [*_unknown_columns(source)]
    try:
        mapping = FileMapping.model_validate(source.document)
    except ValidationError as error:
        raise FileError([*mistakes, *(_told(source, dict(each)) for each in error.errors(include_url=False))]) from None
    mistakes += _wrong_units(mapping, source)
    mistakes += _headings_named_twice(mapping, source)
    if mistakes:
        raise FileError(mistakes)
    return mapping, source


def _told(source: MappingSource, error: dict[str, Any]) -> FileMistake:
    path = error["loc"]
    if error["type"] == "extra_forbidden":
        known = _KEYS[min(len(path) - 1, 2)]
        near = _core.closest(str(path[-1]), known)
        return source.mistake(path, "is not a key", allowed=", ".join(known), suggestion=near, of_key=True)
    if error["type"] == "missing":
        return source.mistake(
            path[:-1], f"the key '{path[-1]}' is missing", allowed="mapping: 1" if len(path) == 1 else ""
        )
    if error["type"] == "wrong":
        context = error.get("ctx", {})
        return source.mistake(
            path, error["msg"], allowed=context.get("allowed", ""), suggestion=context.get("suggestion", "")
        )
    needed = {
        "string_type": "text is needed; put it in quotation marks",
        "model_type": "keys and values are needed",
        "model_attributes_type": "keys and values are needed",
        "dict_type": "keys and values are needed",
        "list_type": "a list is needed",
        "literal_error": f"is not {error.get('ctx', {}).get('expected', 'allowed')}",
    }
    return source.mistake(path, needed.get(error["type"], str(error["msg"])))


def _unknown_columns(source: MappingSource) -> Iterator[FileMistake]:
    for table in ("farrowings", "days"):
        section = source.document.get(table)
        columns = section.get("columns") if isinstance(section, Mapping) else None
        for name in columns if isinstance(columns, Mapping) else ():
            known = list(layout(table).columns)
            if name not in known:
                near = _core.closest(str(name), known)
                told = f"is not a column of {table}"
                path = (table, "columns", name)
                yield source.mistake(path, told, allowed=", ".join(known), suggestion=near, of_key=True)


def _wrong_units(mapping: FileMapping, source: MappingSource) -> Iterator[FileMistake]:
    for table in ("farrowings", "days"):
        for name, heading in mapping.of(table).columns.items():
            column = layout(table).columns.get(name)
            if column is None or heading.unit is None:
                continue
            known = list(UNITS.get(column.unit, ()))
            if heading.unit not in known:
                problem = "is not a unit of this column" if known else "this column has no unit"
                path = (table, "columns", name, "unit")
                near = _core.closest(heading.unit, known)
                yield source.mistake(path, problem, allowed=", ".join(known), suggestion=near)


def _headings_named_twice(mapping: FileMapping, source: MappingSource) -> Iterator[FileMistake]:
    for table in ("farrowings", "days"):
        first: dict[str, str] = {}
        for name, heading in mapping.of(table).columns.items():
            if heading.heading in first:
                problem = f"is the heading of {first[heading.heading]}, too"
                yield source.mistake((table, "columns", name), problem)
            first.setdefault(heading.heading, name)

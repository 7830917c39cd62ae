"""YAML that others wrote, as a tree in which each value knows its place: bounded in depth, and without aliases."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from ruamel.yaml import YAML
from ruamel.yaml.error import MarkedYAMLError, YAMLError
from ruamel.yaml.events import AliasEvent, CollectionEndEvent, CollectionStartEvent

_DEEPEST = 32  # as in scenarios


@dataclass
class YamlError(Exception):
    """A text that is no such YAML: what is wrong, and where (line and column from 1; 0: nowhere in particular)."""

    problem: str
    line: int = 0
    column: int = 0


def document(text: str) -> Any:
    """The document in a text, in ruamel.yaml's types. Raises YamlError."""
    try:
        _require_a_plain_tree(text)
        return YAML(typ="rt").load(text)
    except MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        line, column = (mark.line + 1, mark.column + 1) if mark else (0, 0)
        raise YamlError(f"is not YAML: {error.problem}", line, column) from None
    except (YAMLError, ValueError, RecursionError) as error:
        said = str(error).splitlines()[0] if str(error) else type(error).__name__
        raise YamlError(f"is not YAML: {said}") from None


def _require_a_plain_tree(text: str) -> None:
    """Stops at the first event that does not belong into one: to build a deep tree takes time without end."""
    depth = 0
    for event in YAML(typ="rt").parse(text):
        depth += isinstance(event, CollectionStartEvent) - isinstance(event, CollectionEndEvent)
        place = event.start_mark.line + 1, event.start_mark.column + 1
        if isinstance(event, AliasEvent):
            raise YamlError("is an alias, for which there is no use here", *place)
        if depth > _DEEPEST:
            raise YamlError(f"is nested more than {_DEEPEST} deep", *place)

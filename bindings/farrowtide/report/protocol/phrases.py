"""The words of a protocol: the phrases that ship, and files of phrases in other languages, checked against them."""

from __future__ import annotations

import os
import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeAlias

from ruamel.yaml import YAML

from farrowtide import _core
from farrowtide.errors import FileError, FileMistake

if TYPE_CHECKING:
    from farrowtide.records.mapping import MappingSource

BLANK = "\N{HORIZONTAL ELLIPSIS}" * 5  # a line to write on
_PLACEHOLDER = re.compile(r"\{([^{}|]+)(?:\|(\w+))?\}")


def load_yaml(name: str) -> Any:
    """A YAML file that ships beside this module."""
    return YAML(typ="safe").load(text_of(name))


def text_of(name: str) -> str:
    """The text of a file that ships beside this module."""
    return resources.files("farrowtide.report.protocol").joinpath(name).read_text(encoding="utf-8")


@dataclass(frozen=True)
class Phrases:
    """The words of one language, by dotted name."""

    texts: Mapping[str, str]

    def __call__(self, name: str, /, **values: object) -> str:
        """The phrase of this name with `values` in its placeholders; {blank} is a line to write on."""
        return self.filled(self.texts[name], lambda key, _: str(values[key]))

    def has(self, name: str) -> bool:
        """Whether there is a phrase of this name."""
        return name in self.texts

    def below(self, name: str) -> list[str]:
        """The phrases of a list."""
        return [
            self.filled(text, lambda key, _: key) for path, text in self.texts.items() if path.startswith(f"{name}.")
        ]

    @staticmethod
    def filled(text: str, value: Callable[[str, str], str]) -> str:
        """The text with what `value(name, format)` gives in its placeholders."""
        return _PLACEHOLDER.sub(
            lambda match: BLANK if match[1] == "blank" else value(match[1], match[2] or ""), text.replace("\n", " ")
        )


Language: TypeAlias = Phrases | str | os.PathLike[str] | None


def placeholders(text: str) -> list[str]:
    """The placeholders of a phrase but {blank}, with their formats."""
    return [f"{name}|{form}".rstrip("|") for name, form in _PLACEHOLDER.findall(text) if name != "blank"]


@cache
def english() -> Phrases:
    """The phrases that ship; the template of those in other languages."""
    return Phrases(dict(_flat(load_yaml("english.yaml"))))


def phrases_of(language: Language) -> Phrases:
    """The English phrases for None, those of a file for its path. Raises FileError."""
    if language is None:
        return english()
    return language if isinstance(language, Phrases) else read_phrases(Path(language))


def read_phrases(file: Path) -> Phrases:
    """Reads a translated file. Raises FileError with every phrase that is missing, unknown, no text or lacks a placeholder."""
    from farrowtide.records.mapping import MappingSource  # which loads pandas

    source = MappingSource(file)
    if not isinstance(source.document, dict):
        raise FileError(
            [source.mistake((), "is not a file of phrases", allowed="as `farrowtide protocol --phrases` prints")]
        )
    given = dict(_with_paths(source.document))
    texts = {".".join(map(str, path)): (path, text) for path, text in given.items()}
    wanted = english().texts
    mistakes = [*_mistakes(source, texts, wanted)]
    if mistakes:
        raise FileError(mistakes)
    return Phrases({name: str(texts[name][1]) for name in wanted})


def _mistakes(
    source: MappingSource, texts: Mapping[str, tuple[tuple[str | int, ...], Any]], wanted: Mapping[str, str]
) -> Iterator[FileMistake]:
    for name in wanted.keys() - texts.keys():
        yield source.mistake((), f"the phrase '{name}' is missing", allowed=f"{wanted[name]:.60}")
    for name, (path, text) in texts.items():
        if name not in wanted:
            near = _core.closest(name, sorted(wanted.keys() - texts.keys()))
            yield source.mistake(path, "is not a phrase", suggestion=near, of_key=bool(path))
        elif not isinstance(text, str) or not text.strip():
            yield source.mistake(path, "text is needed; put it in quotation marks")
        elif sorted(placeholders(text)) != sorted(placeholders(wanted[name])):
            allowed = ", ".join(f"{{{each}}}" for each in placeholders(wanted[name])) or "none"
            yield source.mistake(path, "does not have the placeholders of the phrase", allowed=allowed)


def _flat(document: Any) -> Iterator[tuple[str, str]]:
    for path, text in _with_paths(document):
        yield ".".join(map(str, path)), text


def _with_paths(node: Any, path: tuple[str | int, ...] = ()) -> Iterator[tuple[tuple[str | int, ...], Any]]:
    if isinstance(node, dict):
        for key, part in node.items():
            yield from _with_paths(part, (*path, key))
    elif isinstance(node, list):
        for number, part in enumerate(node):
            yield from _with_paths(part, (*path, number))
    else:
        yield path, node

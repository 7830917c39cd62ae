"""The recipe of a scenario: plain values from which it is made again, and the schema by which files' recipes are read.

A recipe names changes of a scenario. Those below are all there are; each takes values of its own type, and none of them
runs code or reads a file.
"""

from __future__ import annotations

import json
from typing import Annotated, Literal

from pydantic import AfterValidator, Field, Tag
from pydantic.types import Discriminator

from farrowtide.inert_text import visible_line
from farrowtide.own_files import Record


def _json(text: str) -> str:
    try:
        json.loads(text)
    except (ValueError, RecursionError):
        raise ValueError("Input should be JSON") from None
    return text


def _name(text: str) -> str:
    if visible_line(text) != text:
        raise ValueError("Input should be a name without control characters")
    return text


Name = Annotated[str, AfterValidator(_name)]
_MOST_CHANGES = 1_000  # the whole scenario is checked after each
JsonText = Annotated[str, AfterValidator(_json)]
Change = Annotated[
    Annotated[tuple[Literal["override"], list[tuple[str, JsonText]]], Tag("override")]
    | Annotated[tuple[Literal["alternative"], str], Tag("alternative")]
    | Annotated[tuple[Literal["together"], list[str]], Tag("together")]
    | Annotated[tuple[Literal["case"], str], Tag("case")]
    | Annotated[tuple[Literal["without_alternatives"], None], Tag("without_alternatives")]
    | Annotated[tuple[Literal["with_coefficients"], tuple[str, str]], Tag("with_coefficients")]
    | Annotated[
        tuple[
            Literal["with_weather"],
            tuple[list[tuple[str, JsonText]], Name, list[Name]]
            | tuple[list[tuple[str, JsonText]], Name, list[Name], Literal[True]],
        ],
        Tag("with_weather"),
    ]
    | Annotated[tuple[Literal["with_calibration"], tuple[str, str]], Tag("with_calibration")],
    Discriminator(
        lambda change: change[0] if isinstance(change, (list, tuple)) and change else None,
        custom_error_type="unknown_change",
        custom_error_message="Input should be one of the changes of a scenario that there are",
    ),
]


class PolicyText(Record):
    """A file with policies in Python, which runs only if the user asks for it."""

    path: Name
    text: str


class PolicyName(Record):
    """A policy given as a class, whose code is not in the recipe."""

    family: Name
    name: Name
    class_: Name = Field(alias="class")
    file: Name
    hash: str


class ScenarioRecipe(Record):
    """How a scenario is made: the text that was read, policies of the user's own, and the changes in their order."""

    source: Name
    text: str
    policies: list[PolicyText | PolicyName]
    steps: Annotated[list[Change], Field(max_length=_MOST_CHANGES)]
    hash: str

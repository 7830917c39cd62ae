"""The manifest of a study folder: which study it holds, with a checksum of its own."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import Field, RootModel

from farrowtide.errors import UserError
from farrowtide.inert_text import visible
from farrowtide.own_files import Record, Seed, checked, json_in, read_text
from farrowtide.study.blocks import REPORT_TABLES

FORMAT = 3
FILE = "manifest.json"
Verb = Literal["compare", "sweep", "parts", "pick", "pairing", "each-sow", "doubt"]


class _Engine(Record):
    engine_version: str
    results_version: int
    commit: str
    coefficient_hash: str


class _About(Record):
    engine: _Engine
    source: str


class _Scenario(Record):
    text: str
    steps: list[list[Any]]


class _Room(Record):
    case: str
    alternative: str
    scenario_hash: str
    seed: Seed | None = None
    one_stream: bool | None = None


class _Study(Record):
    about: _About
    results_version: int
    coefficient_hash: str
    scenario: _Scenario
    policies: list[str | dict[str, str]]
    rooms: list[_Room]
    seed: Seed
    replicates_of_a_block: int


class _First(_Study):
    """Of `compare` and `sweep` only, which kept the same tables."""

    format: Literal[1]


class _Second(_Study):
    format: Literal[2]
    verb: Verb
    tables: list[str]


class _Third(_Study):
    """The names of blocks have checksums, and the manifest has one of its own."""

    format: Literal[3]
    verb: Verb
    tables: list[str]
    points: str | None = None  # a hash of the points of the parameters, where a study has some
    sha256: str


class _Manifest(RootModel[Annotated[_First | _Second | _Third, Field(discriminator="format")]]):
    pass


def manifest_of(study: Mapping[str, Any]) -> dict[str, Any]:
    """The manifest of a study of this identity."""
    manifest = {"format": FORMAT, **study}
    return manifest | {"sha256": _checksum(manifest)}


def hash_of(study: Mapping[str, Any]) -> str:
    """A hash of what tells this study from any other, which each of its blocks carries: 32 hexadecimal digits.

    The same for every path, commit and executor: only what changes numbers is in it.
    """
    return _checksum({key: study[key] for key in study.keys() - WITHOUT_EFFECT})[:32]


def text_of(manifest: Mapping[str, Any]) -> str:
    """The manifest as it is written."""
    return visible(json.dumps(manifest, indent=2, ensure_ascii=False)) + "\n"


def read_manifest(file: Path, verb: str) -> dict[str, Any]:
    """The manifest in a folder that is to hold a study of this verb; one of an earlier format in the present one's words.

    `format` stays what it is. Raises UserError where the file is damaged.
    """
    held = json_in(read_text(file), file)
    checked(_Manifest, held, file)
    manifest: dict[str, Any] = held
    if manifest["format"] == FORMAT:
        without_checksum = {key: value for key, value in manifest.items() if key != "sha256"}
        if manifest["sha256"] != _checksum(without_checksum):
            raise UserError(f"{file}: does not have its own checksum (sha256): it is damaged; restore it, or {ANEW}")
    if manifest["format"] == 1:
        manifest |= {
            "verb": verb if verb in ("compare", "sweep") else "compare` or `sweep",
            "tables": list(REPORT_TABLES),
        }
    return manifest


ANEW = "run the study in another folder"
WITHOUT_EFFECT = {"about", "format", "sha256"}  # keys in which two manifests of the same study may differ


def _checksum(manifest: Mapping[str, Any]) -> str:
    return hashlib.sha256(json.dumps(manifest, sort_keys=True).encode()).hexdigest()

"""Commented scenarios to start from, one for each common question."""

from __future__ import annotations

import json
from importlib.resources import files
from pathlib import Path

from farrowtide.errors import UserError
from farrowtide.scenarios.schema import json_schema
from farrowtide.whole_files import make_folder, write_text

QUESTIONS = ("feeding", "fostering", "heat", "staffing", "water", "own")
SCHEMA = "farrowtide.schema.json"  # beside the scenario

_FARM = "farm.yaml"  # what every question is asked of


def starter(question: str) -> str:
    """The text of the scenario for one of QUESTIONS, whose first line names the schema for editors."""
    folder = files("farrowtide.scenarios.starters")
    parts = (folder.joinpath(name).read_text(encoding="utf-8") for name in (f"{question}.yaml", _FARM))
    return f"# yaml-language-server: $schema={SCHEMA}\n\n" + "\n".join(parts)


def write(question: str, file: Path) -> Path:
    """Writes the scenario, and the schema beside it; returns the path of the schema. Raises UserError where the file exists."""
    if file.exists():
        raise UserError(f"{file}: exists already, and is not written over (--out FILE names another)")
    make_folder(file.parent)
    schema_file = file.with_name(SCHEMA)
    write_text(schema_file, json.dumps(json_schema(), indent=2) + "\n")
    write_text(file, starter(question))
    return schema_file

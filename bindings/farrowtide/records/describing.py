"""A scenario file of a farm from its records: what they say, with the number of records behind every value."""

from __future__ import annotations

import datetime
import io
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pandas as pd
from ruamel.yaml import YAML
from ruamel.yaml.comments import CommentedMap, CommentedSeq
from ruamel.yaml.error import CommentMark
from ruamel.yaml.tokens import CommentToken

from farrowtide import _core
from farrowtide.inert_text import one_line
from farrowtide.outputs.units import count
from farrowtide.records.estimating import Estimate, Unsaid, estimates
from farrowtide.records.tables import Records
from farrowtide.scenarios.scenario import Scenario, from_text
from farrowtide.whole_files import write_text

_MARK = "# ---- Written by `farrowtide records describe`; written anew each time. ----"
_NEW = """\
title: "Farm by its own records"
question: ""
"""
_PERSISTS = {
    "herd.every_sow": "gives every sow the same traits, whatever the records say",
    "herd.sows": "describes sows one by one, whatever the records say",
    "imposed": "imposes intake or gain, which is for the replay of a trial",
}


@dataclass(frozen=True)
class Described:
    """A scenario made from records: `text` is the file, `scenario` what it is read as.

    `said` lists key, value, standard_error, records and meaning of every value by the records; `unsaid` the other keys
    that records could say something of, with the reason; `notes` what of the file that it is like overrides a value.
    """

    text: str
    scenario: Scenario
    said: pd.DataFrame
    unsaid: pd.DataFrame
    notes: list[str]

    def in_plain_values(self) -> dict[str, Any]:
        """As JSON holds it."""
        said = self.said.astype(object).where(self.said.notna(), None)
        said["value"] = [str(value) if isinstance(value, datetime.date) else value for value in said["value"]]
        unsaid = self.unsaid.to_dict(orient="records")
        return {"said": said.to_dict(orient="records"), "unsaid": unsaid, "notes": self.notes}

    def write(self, file: Path) -> Path:
        """Writes the scenario file."""
        write_text(file, self.text)
        return file


def describe(records: Records, *, like: Scenario | None = None, name: str = "farm.yaml") -> Described:
    """The scenario of the farm whose records these are. Messages about its file call it `name`.

    Policies, cases, alternatives, study and everything else stay as in `like`, with its comments; without it, at their
    defaults. Only keys that the records say something of are replaced: `start`, `room.crates`, `group.lactation_days`,
    `loading.days_before_due` and the size and composition of the herd. Raises UserError where there is no farrowing, and
    ScenarioError if `like` does not fit the farm, as where it describes more sows than there are crates.
    """
    records.require("farrowings")
    coefficients = like._core.coefficients if like else _core.Coefficients.built_in()
    found = estimates(records, coefficients)
    said = [each for each in found if isinstance(each, Estimate)]
    unsaid = [each for each in found if isinstance(each, Unsaid)]
    source = like.recipe["text"] if like else _NEW
    text = _text(source, said, unsaid, records)
    notes = _notes(like, {each.key for each in said}) if like else []
    return Described(
        text=text,
        scenario=from_text(text, name, like),
        said=pd.DataFrame(
            [(each.key, each.value, each.standard_error, each.records, each.said) for each in said],
            columns=["key", "value", "standard_error", "records", "meaning"],
        ),
        unsaid=pd.DataFrame([(each.key, each.reason) for each in unsaid], columns=["key", "reason"]),
        notes=notes,
    )


def _text(source: str, said: list[Estimate], unsaid: list[Unsaid], records: Records) -> str:
    yaml = YAML(typ="rt")
    yaml.preserve_quotes = True
    yaml.width = 1_000_000
    yaml.indent(mapping=2, sequence=4, offset=2)
    document = yaml.load(source.split(_MARK)[0])
    for estimate in said:
        _set(document, estimate)
    out = io.StringIO()
    yaml.dump(document, out)
    return "\n".join([out.getvalue().rstrip("\n"), "", *_closing(unsaid, records), ""])


def _set(document: CommentedMap, estimate: Estimate) -> None:
    """Sets the key with its comment, in a section that is added where there is none."""
    *sections, key = estimate.key.split(".")
    node = document
    for section in sections:
        if not isinstance(node.get(section), CommentedMap):
            node[section] = CommentedMap()
        _require_lines(node, section)
        node = node[section]
    value = estimate.value
    after = _taken_after(node, key)
    if isinstance(value, list):
        value = CommentedSeq(value)
        value.fa.set_flow_style()
    node[key] = value
    token = CommentToken(f" # {one_line(estimate.comment)}\n{after}", CommentMark(0), None)
    node.ca.items[key] = [None, None, token, None]


def _require_lines(parent: CommentedMap, section: str) -> None:
    """Writes a section that stands on one line on a line for each key, so that each can have a comment."""
    node = parent[section]
    if not node.fa.flow_style():
        return
    node.fa.set_block_style()
    held = parent.ca.items.pop(section, None)
    node.ca.comment = None  # the same
    if held and held[2] and len(node):
        node.ca.items[list(node)[-1]] = [None, None, held[2], None]


def _taken_after(node: CommentedMap, key: str) -> str:
    """The lines of comments and the empty lines that follow a key's value, which a reader of YAML keeps with it."""
    tokens = [token for token in (node.ca.items.get(key) or [])[2:3] if token is not None]
    old = node.get(key)
    while isinstance(old, (CommentedMap, CommentedSeq)) and len(old):
        last = list(old)[-1] if isinstance(old, CommentedMap) else len(old) - 1
        held = old.ca.items.get(last) or []
        tokens += [token for token in held if isinstance(token, CommentToken)]
        if isinstance(old.ca.comment, list):
            tokens += [token for token in old.ca.comment if isinstance(token, CommentToken)]
        old = old[last]
    once = {id(token): token for token in tokens}  # of a list on one line, both it and its key hold the token
    return "".join(token.value.partition("\n")[2] for token in once.values())


def _closing(unsaid: list[Unsaid], records: Records) -> list[str]:
    files = ", ".join(
        f"{Path(source.file).name} ({source.used:,} of {source.rows:,} rows)" for source in records.sources
    )
    lines = [
        _MARK,
        f"# From {count(len(records.farrowings), 'farrowing')}{f' in {files}' if files else ''}.",
        "# What the records do not say stays as it was, or at its default:",
        *(f"# - {each.key}: {each.reason}" for each in unsaid),
        "# - appetite, milk, deaths, stillbirths and illness (herd.intake_level and the like): those are for calibration",
        "# - climate.outdoor, the diet, the staff, and all policies",
    ]
    return [one_line(line) for line in lines]


def _notes(like: Scenario, replaced: set[str]) -> list[str]:
    """What in the scenario has more to say than the values that were replaced."""
    written: Mapping[str, Any] = _core.written(like._core)
    notes = []
    for kind, word in (("cases", "case"), ("alternatives", "alternative")):
        for name, changes in (written.get(kind) or {}).items():
            own = sorted(key for key in replaced if any(key == path or key.startswith(f"{path}.") for path in changes))
            if own:
                notes.append(f"the {word} '{name}' keeps its own {', '.join(own)}")
    for path, said in _PERSISTS.items():
        node: Any = written
        for part in path.split("."):
            node = node.get(part) if isinstance(node, Mapping) else None
        if node:
            notes.append(f"{path} {said}")
    return notes

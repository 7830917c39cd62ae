"""The replay of a room, or of two on one clock: one HTML page with its own script, which fetches nothing.

Tables become lists of whole numbers: times in seconds and amounts in grams, each as the difference from the one before.
"""

from __future__ import annotations

import datetime
import json
import math
import re
from collections.abc import Mapping, Sequence
from importlib import resources
from typing import Any

import numpy as np
import pandas as pd

from farrowtide.analysis.replay import PHASES, Recording
from farrowtide.cautions import for_comparison_only, marked
from farrowtide.errors import PlausibilityWarning
from farrowtide.inert_text import visible
from farrowtide.outputs.units import count, duration, sentence_in, us_unit, warning_in
from farrowtide.report.page import provenance_rows
from farrowtide.report.templating import template
from farrowtide.scenarios.scenario import Scenario

# In the order in which they are joined: each uses only those before it.
_MODULES = ("decode", "state", "words", "crate", "room", "sow", "timeline", "player")
_IMPORT = re.compile(r"^import .*?;\n", re.MULTILINE | re.DOTALL)
_EXPORT = re.compile(r"^export ", re.MULTILINE)
_FATES = ("stillborn", "died", "weaned", "nursing")
_SHOWN_UNITS = {"kg": 1, "degC": 1}  # decimals in SI units
_S_PER_H, _G_PER_KG, _PER_DEG_C = 3600, 1000, 100
_FULL_ACCESS = -1  # in place of the grams in a trough


def render(
    scenario: Scenario,
    start: datetime.date,
    rooms: Mapping[str, Recording],
    *,
    heading: str,
    units: str,
    warnings: Sequence[PlausibilityWarning],
    origin: dict[str, Any],
) -> str:
    """The page as text. `start`: the date on the clock's day 0; `rooms`: the recording of each alternative, by name; `heading`: which rooms these are."""
    withheld = origin["withheld_care"]
    unit_of = {unit: _unit(unit, decimals, units) for unit, decimals in _SHOWN_UNITS.items()}
    data = {
        "start": start.isoformat(),
        "phases": PHASES,
        "units": unit_of,
        "rooms": [encoded(room, marked(name, withheld), units) for name, room in rooms.items()],
    }
    return template("replay.html.jinja").render(
        title=scenario.title,
        question=scenario.question,
        heading=heading,
        names=list(rooms),
        unit_of_feed=unit_of["kg"]["name"],
        data=_in_script(data),
        script=script(),
        caution=origin["caution"],
        for_comparison_only=for_comparison_only(withheld),
        warnings=[warning_in(units, warning) for warning in warnings],
        provenance=provenance_rows(origin),
        provenance_json=json.dumps(origin | {"units": units}, ensure_ascii=False),
    )


def script() -> str:
    """The modules of the page as one: their imports and exports join them when they are separate."""
    return "\n".join(_EXPORT.sub("", _IMPORT.sub("", module(name))) for name in _MODULES)


def module(name: str) -> str:
    """The text of one of them."""
    return resources.files("farrowtide.report").joinpath("replay", f"{name}.js").read_text(encoding="utf-8")


def _in_script(data: Any) -> str:
    """JSON in which nothing can end the element that it stands in."""
    text = json.dumps(data, separators=(",", ":"), ensure_ascii=False, allow_nan=False)
    return text.replace("&", "\\u0026").replace("<", "\\u003c").replace(">", "\\u003e")


def _unit(unit: str, decimals: int, units: str) -> dict[str, Any]:
    us = us_unit(unit, units)
    if us is None:
        return {"name": unit, "factor": 1, "offset": 0, "decimals": decimals}
    return {"name": us.name, "factor": us.factor, "offset": us.offset, "decimals": max(0, decimals + us.more_decimals)}


def encoded(room: Recording, name: str, units: str) -> dict[str, Any]:
    """A room as whole numbers and words, from which the page decodes it."""
    position = {number: i for i, number in enumerate(room.sows["number"])}
    piglet = {pair: i for i, pair in enumerate(zip(room.piglets["dam"], room.piglets["rank"], strict=True))}
    known = [pair in piglet for pair in zip(room.moves["dam"], room.moves["rank"], strict=True)]
    moves = room.moves[np.array(known, dtype=bool)]
    entries = _entries(room, units)
    kinds = list(dict.fromkeys(entries["kind"]))
    tasks = list(dict.fromkeys(room.work["kind"]))
    return {
        "name": visible(name),
        "end": math.ceil(room.end_h * _S_PER_H),
        "sows": {
            "number": _whole(room.sows["number"]),
            "parity": _whole(room.sows["parity"]),
            "nurse": _whole(room.sows["nurse"]),
        },
        "phases": {
            "t": _seconds(room.phases["time_h"]),
            "sow": _codes(room.phases["sow"], position),
            "phase": _codes(room.phases["phase"], {phase: i for i, phase in enumerate(PHASES)}),
        },
        "ill": {
            "sow": _codes(room.ill["sow"], position),
            "from": _seconds(room.ill["from_h"]),
            "until": _seconds(room.ill["until_h"]),
        },
        "piglets": {
            "dam": _codes(room.piglets["dam"], position),
            "born": _seconds(room.piglets["born_h"]),
            "left": _seconds(room.piglets["left_h"]),
            "fate": _codes(room.piglets["fate"], {fate: i for i, fate in enumerate(_FATES)}),
        },
        "moves": {
            "t": _seconds(moves["time_h"]),
            "piglet": [piglet[pair] for pair in zip(moves["dam"], moves["rank"], strict=True)],
            "to": _codes(moves["to"], position),
        },
        "troughs": [_trough(room.troughs[room.troughs["sow"] == number]) for number in room.sows["number"]],
        "meals": {
            "t": _seconds(room.meals["time_h"]),
            "sow": _codes(room.meals["sow"], position),
            "g": _whole(room.meals["kg"] * _G_PER_KG),
            "s": _whole(room.meals["minutes"].fillna(0) * 60),
        },
        "climate": {
            "hour": _deltas(room.climate["hour"]),
            "room": _deltas(room.climate["room_deg_c"] * _PER_DEG_C),
            "setPoint": _deltas(room.climate["set_point_deg_c"] * _PER_DEG_C),
            "outdoor": _deltas(room.climate["outdoor_deg_c"] * _PER_DEG_C),
        },
        "duty": {"t": _seconds(room.duty["time_h"]), "people": _whole(room.duty["people"])},
        "work": {
            "from": _seconds(room.work["from_h"]),
            "until": _seconds(room.work["until_h"]),
            "kind": _codes(room.work["kind"], {kind: i for i, kind in enumerate(tasks)}),
            "sow": _codes(room.work["sow"], position),
            "kinds": tasks,
        },
        "entries": {
            "t": _seconds(entries["time_h"]),
            "kind": _codes(entries["kind"], {kind: i for i, kind in enumerate(kinds)}),
            "sow": _codes(entries["sow"], position),
            "words": list(entries["words"]),
            "kinds": kinds,
            "works": [kind in set(room.tasks["kind"]) for kind in kinds],
        },
    }


def _trough(levels: pd.DataFrame) -> dict[str, list[int]]:
    return {"t": _seconds(levels["time_h"]), "g": _deltas((levels["kg"] * _G_PER_KG).fillna(_FULL_ACCESS))}


def _entries(room: Recording, units: str) -> pd.DataFrame:
    """Events and tasks in one list, in words."""
    tasks = room.tasks.assign(words=[_of_task(task) for task in room.tasks.itertuples()])
    columns = ["time_h", "kind", "sow", "words"]
    entries = pd.concat([room.events[columns], tasks[columns]]).sort_values("time_h", kind="stable")
    return entries.assign(words=[visible(sentence_in(units, words)) for words in entries["words"]])


def _of_task(task: Any) -> str:
    animals = f" for {count(task.animals, 'animal')}" if task.animals > 1 else ""
    if math.isnan(task.waited_min):
        return f"{task.kind}{animals}: not done"
    waited = f", {duration(task.waited_min)} after it was asked for" if task.waited_min >= 1 else ""
    outcome = {"done": "", "late": ", late", "undone": ", not finished"}[task.outcome]
    return f"{task.kind}{animals} begins{waited}{outcome}; {duration(task.minutes)} of work"


def _whole(values: Any) -> list[int]:
    return [int(value) for value in np.rint(np.asarray(values, dtype=float))]


def _deltas(values: Any) -> list[int]:
    return [int(value) for value in np.diff(np.rint(np.asarray(values, dtype=float)), prepend=0.0)]


def _seconds(hours: Any) -> list[int]:
    return _deltas(np.asarray(hours, dtype=float) * _S_PER_H)


def _codes(values: Any, codes: Mapping[Any, int]) -> list[int]:
    """The position of each value; -1 for what has none, as the room among the sows."""
    return [codes.get(value, -1) for value in values]

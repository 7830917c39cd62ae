"""The sheets of a room, with an invented herd as an example, the sows that a scenario describes, or blanks."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from typing import Any

from farrowtide.engine.running import simulate_replicates
from farrowtide.errors import UserError
from farrowtide.report.protocol.phrases import BLANK, Language, phrases_of
from farrowtide.report.protocol.sheet_rows import Crate
from farrowtide.report.protocol.sheets import PARTS, Sheets, sheets_of
from farrowtide.scenarios.given import GivenScenario, as_scenario
from farrowtide.scenarios.plausibility.facts import Facts
from farrowtide.scenarios.scenario import Scenario

HERDS = ("example", "blank")
_MIN_PER_H, _H_PER_D = 60, 24


def sheets(
    scenario: GivenScenario,
    *,
    herd: str = "example",
    days: Iterable[int] | None = None,
    parts: Iterable[str] = PARTS,
    language: Language = None,
    units: str = "as_written",
    date: str = "",
    version: str = "",
) -> Sheets:
    """The sheets of a room for each day of a group, its crate cards and an audit sheet.

    `herd`: "example" takes the sows from one simulated room (those that the scenario describes under herd.sows are its
    own), "blank" leaves them to be filled in. `days`: of the group, from the day on which it is due on average; `parts`:
    any of "days", "cards" and "audit". The other arguments are those of `protocol`. Raises UserError.
    """
    scenario, text = as_scenario(scenario), phrases_of(language)
    if herd not in HERDS:
        raise UserError(f"herd = '{herd}': {', '.join(HERDS)}")
    parts = tuple(parts)
    if unknown := [part for part in parts if part not in PARTS]:
        raise UserError(f"parts = '{unknown[0]}': {', '.join(PARTS)}")
    if herd == "blank":
        crates = [Crate(number) for number in range(1, scenario.farm["sows_per_room"] + 1)]
        told = text("sheets.blank")
    else:
        crates = _simulated(scenario)
        told = text("sheets.own") if _described(scenario) else text("sheets.example", seed=scenario.study.seed)
    return sheets_of(
        scenario,
        crates,
        told,
        days=days,
        parts=parts,
        language=text,
        units=units,
        date=date,
        version=version,
    )


def _described(scenario: Scenario) -> bool:
    """Whether the file gives parity and due day of every sow."""
    settings = Facts(scenario).settings
    wanted = [f"herd.sows.{number}" for number in range(scenario.farm["sows_per_room"])]
    return all(f"{sow}.{trait}" in settings for sow in wanted for trait in ("parity", "farrows_on_day"))


def _simulated(scenario: Scenario) -> list[Crate]:
    """The sows of the first room of the first group that counts, in one replicate."""
    one = simulate_replicates(
        scenario, replications=1, seed=scenario.study.seed, threads=1, first_replicate=0, record=["sows"]
    )
    if one.set_aside:
        raise UserError(f"there is no example herd, because the room broke off: {one.set_aside[0][1]} (--herd blank)")
    rows = one.sows
    own = rows[(rows["nurse"] == 0) & (rows["group"] == rows["group"].min())]
    room = own[own["room"] == own["room"].min()].sort_values("sow", kind="stable")
    before = int(Facts(scenario).timetable["loading_days_before_due"])
    loaded = int(Facts(scenario).timetable["counted_from_day"])
    records: list[Mapping[Any, Any]] = room.to_dict("records")
    return [
        Crate(number, BLANK, int(sow["parity"]), _day_of_last_birth(sow, loaded + before))
        for number, sow in enumerate(records, 1)
    ]


def _day_of_last_birth(sow: Mapping[Any, Any], due: int) -> int:
    """The day of the group; the mean due date for a sow that died before she had farrowed."""
    start_h, duration_min = float(sow["farrowing_start_h"]), float(sow["farrowing_duration_min"])
    if math.isnan(start_h):
        return 0
    end_h = start_h + (0 if math.isnan(duration_min) else duration_min / _MIN_PER_H)
    return math.floor(end_h / _H_PER_D) - due

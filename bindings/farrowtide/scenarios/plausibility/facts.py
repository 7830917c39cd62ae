"""What the checks of a scenario look at: its settings in effect, its planned work, its people."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from farrowtide import _core
from farrowtide.scenarios.scenario import Scenario

HOURS_A_DAY = 24
_WITH_UNIT = re.compile(r"\s*[-+]?[\d.]+(e[-+]?\d+)?\s*[^\W\d]")  # 75 degF, 4.5kg


@dataclass(frozen=True)
class Setting:
    """A key as it was read. `value` has the declared unit; `written` is the same as the author wrote it."""

    path: str
    value: str
    given: bool  # not the default
    file: str
    line: int
    only_with: str  # a choice without which it has no effect: "climate.kind: imposed"
    written: str  # "75 degF" for "23.88888888888889 degC"

    @property
    def place(self) -> str:
        """FILE:LINE: key = value."""
        in_file = self.given and self.line and self.file != "mapping" and not self.file.startswith("override of")
        before = f"{self.file}:{self.line}: " if in_file else ""
        return f"{before}{self.path} = {self.written}{'' if self.given else ' (default)'}"


@dataclass(frozen=True)
class PlannedTask:
    """Work that staff are asked for at the same time every day."""

    task: str
    hour: float
    patience_h: float | None  # until it is given up if nobody has begun; None: never


@dataclass(frozen=True)
class Expected:
    """What the plan of a scenario says about its results."""

    moves: bool  # piglets are moved by a policy or as prescribed
    night: tuple[float, float] | None  # hours of the day of night cover; None: there is none


class Facts:
    """The facts of one scenario, each computed once."""

    def __init__(self, scenario: Scenario) -> None:
        self.scenario = scenario

    @cached_property
    def settings(self) -> dict[str, Setting]:
        """Every key that applies, by dotted path."""
        document = _core.written(self.scenario._core)
        return {
            setting[0]: Setting(*setting, _written(document, setting[0]) or setting[1])
            for setting in _core.settings_in_effect(self.scenario._core)
        }

    def value(self, path: str) -> str:
        """The value of a key; "" where it does not apply."""
        return self.settings[path].value if path in self.settings else ""

    def place(self, path: str) -> str:
        """Where the key stands and what it is; the path alone where it does not apply."""
        return self.settings[path].place if path in self.settings else path

    def place_of_time(self, hour: float, families: tuple[str, ...]) -> str:
        """The key of these families, each a start of a path, that names this time of day; else the first family."""
        text = f'"{clock(hour)}'
        naming = [
            setting for path, setting in self.settings.items() if path.startswith(families) and text in setting.value
        ]
        return naming[0].place if naming else families[0].rstrip(".")

    @cached_property
    def planned(self) -> list[PlannedTask]:
        """The work at set times."""
        return [PlannedTask(*task) for task in _core.planned_work(self.scenario._core)]

    @cached_property
    def duties(self) -> list[tuple[float, float, int]]:
        """Begin and end [h since the start] of every interval with people on duty, and their number."""
        return _core.duties(self.scenario._core)

    @cached_property
    def timetable(self) -> dict[str, int]:
        """Days of the plan."""
        return _core.timetable(self.scenario._core)

    @cached_property
    def night(self) -> tuple[float, float]:
        """From the end of the last shift to the start of the first [h of the day]."""
        shifts = _core.roster(self.scenario._core)
        return max(shift["until_h"] for shift in shifts), min(shift["from_h"] for shift in shifts)

    @property
    def expected(self) -> Expected:
        """What its results can be held against."""
        moves = self.value("fostering.kind") != "none" or any(path.startswith("moves.") for path in self.settings)
        return Expected(moves, self.night if self.timetable["night_people"] else None)

    @property
    def days_of_stay(self) -> range:
        """The days of the first group that counts, from the day after loading to the day before weaning."""
        first, days = self.timetable["counted_from_day"], self.timetable
        return range(first + 1, first + days["loading_days_before_due"] + days["lactation_days"])

    def next_duty(self, moment: float) -> float:
        """Hours until somebody is on duty: 0 where somebody is; infinite where nobody comes any more."""
        for begin, end, _ in self.duties:
            if end > moment:
                return max(0.0, begin - moment)
        return float("inf")

    def off_duty_around(self, moment: float) -> tuple[float, float]:
        """When the last person left and when the next one comes [h of the day], around a moment with nobody on duty."""
        last = max((end for _, end, _ in self.duties if end <= moment), default=0.0)
        wait = self.next_duty(moment)
        return last % HOURS_A_DAY, (moment + wait) % HOURS_A_DAY if wait < float("inf") else 0.0


def _written(document: Any, path: str) -> str:
    """The text with a unit that stands at a path; "" where there is none."""
    for word in path.split("."):
        if isinstance(document, list) and word.isdigit() and int(word) < len(document):
            document = document[int(word)]
        else:
            document = document.get(word) if isinstance(document, dict) else None
    return " ".join(document.split()) if isinstance(document, str) and _WITH_UNIT.match(document) else ""


def clock(hour: float) -> str:
    """7.5 as 07:30."""
    minutes = round(hour % HOURS_A_DAY * 60)
    return f"{minutes // 60 % HOURS_A_DAY:02}:{minutes % 60:02}"


def days_in_words(some: int, every: int) -> str:
    """`every day`, `on 8 of 28 days`."""
    return "every day" if some == every else f"on {some} of {every} days"


def values_in_effect(scenario: Scenario) -> dict[str, str]:
    """Every key that applies with its value in the declared unit; equal for scenarios that mean the same."""
    return {path: setting.value for path, setting in Facts(scenario).settings.items()}

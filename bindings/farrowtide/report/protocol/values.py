"""Values of a scenario as a protocol shows them, in the words and units of its readers."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cache

from farrowtide import _core
from farrowtide.outputs.units import AS_WRITTEN, clock, sentence_in, units_of
from farrowtide.report.protocol.phrases import Phrases
from farrowtide.scenarios.declarations import Declaration, declaration, visit
from farrowtide.scenarios.plausibility.facts import Facts, Setting
from farrowtide.scenarios.scenario import Scenario

_TIE = 1e-9  # so that a half is rounded up
DEFAULT = "\N{DAGGER}"  # after a value that the file does not give
_WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
_QUANTITY = re.compile(r"(-?[\d.]+(?:e-?\d+)?) (\S+)")
_LISTED = re.compile(r"\[(.*)\](?: (\S+))?", re.DOTALL)
_CONDITION = re.compile(r"(?P<key>\S+): (?:(?P<word>not|has|above|below|set|unset)(?: |$))?(?P<values>.*)")


@dataclass
class Values:
    """The settings of a scenario in words. `used` collects the keys that were asked for, in order."""

    scenario: Scenario
    phrases: Phrases
    asked_units: str = AS_WRITTEN  # as `outputs.units.units_of` takes them
    used: dict[str, None] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.units = units_of(self.asked_units, self.scenario)
        self.settings = _with_shifts(self.scenario, Facts(self.scenario).settings)

    def raw(self, key: str) -> str:
        """The value of a key in its declared unit; "" where it does not apply."""
        self.used[key] = None
        return self.settings[key].value if key in self.settings else ""

    def number(self, key: str) -> float:
        """The number of a key, without its unit."""
        return float(self.raw(key).split()[0])

    def numbers(self, key: str) -> list[float]:
        """The numbers of a list; empty where it is not set."""
        return [float(part) for part in self.listed(key)]

    def listed(self, key: str) -> list[str]:
        """The entries of a list; empty where it is not set."""
        match = _LISTED.fullmatch(self.raw(key))
        return [part.strip().strip('"') for part in match[1].split(",") if part.strip()] if match else []

    def text(self, key: str) -> str:
        """The value of a key without quotation marks: a time of day."""
        return self.raw(key).strip('"')

    def holds(self, condition: str) -> bool:
        """Whether a condition of steps.yaml holds, such as "feeding.kind: hand, drops"."""
        match = _CONDITION.fullmatch(condition)
        if not match:
            raise ValueError(f"not a condition: {condition}")
        value, wanted = self.raw(match["key"]), match["values"].strip()
        match match["word"]:
            case "set":
                return match["key"] in self.settings
            case "unset":
                return match["key"] not in self.settings
            case None:
                return _plain(value) in {part.strip() for part in wanted.split(",")}
        if not value:
            return False
        if match["word"] == "not":
            return value != wanted
        if match["word"] == "has":
            return wanted in self.listed(match["key"])
        number, limit = self.number(match["key"]), float(wanted)
        return number > limit if match["word"] == "above" else number < limit

    def shown(self, key: str, form: str = "") -> str:
        """The value of a key in words, in a format; one that is a default has its mark."""
        setting = self.settings[key]
        self.used[key] = None
        return self._formatted(setting, form) + ("" if setting.given else DEFAULT)

    def quantity(self, value: float, unit: str) -> str:
        """A value in a declared unit, in words."""
        return self._in_words(sentence_in(self.units, f"{round(value + _TIE, 2):g} {unit}"))

    def _formatted(self, setting: Setting, form: str) -> str:
        value = setting.value
        formats: dict[str, Callable[[str], str]] = {
            "number": lambda text: f"{float(text.split()[0]):g}",
            "hour": lambda text: f"{int(float(text)):02d}:00",
            "percent": lambda text: ", ".join(f"{round(100 * float(part), 1):g} %" for part in _parts(text)),
            "choice": lambda text: self.phrases(f"choices.{text}") if self.phrases.has(f"choices.{text}") else text,
            "days": self._days,
        }
        if form:
            return formats[form](value)
        if _LISTED.fullmatch(value):
            unit = declared(self, setting.path)
            parts = [f"{part} {unit.unit}" if unit and unit.unit not in ("", "-") else part for part in _parts(value)]
            return ", ".join(map(self._one, parts))
        return self._one(setting.written if self.asked_units == AS_WRITTEN and setting.given else value)

    def _days(self, text: str) -> str:
        names = _parts(text)
        words = [self.phrases(f"choices.{name}") for name in names]
        return f"{words[0]}\N{EN DASH}{words[-1]}" if len(words) == 7 else ", ".join(words)

    def _one(self, text: str) -> str:
        """A quantity, or the text without quotation marks; one that is written in US units stays as it is."""
        text = text.strip('"')
        match = _QUANTITY.fullmatch(text)
        return self.quantity(float(match[1]), match[2]) if match else text

    def _in_words(self, text: str) -> str:
        number, _, unit = text.partition(" ")
        return f"{number} {self.phrases(f'units.{unit}') if self.phrases.has(f'units.{unit}') else unit}"


def _with_shifts(scenario: Scenario, settings: dict[str, Setting]) -> dict[str, Setting]:
    """The settings; shifts that the file does not give are there as the defaults that they are."""
    if any(path.startswith("staff.shifts.") for path in settings):
        return settings
    shown: dict[str, Setting] = {}
    for number, shift in enumerate(_core.roster(scenario._core)):
        parts = {
            "days": f"[{', '.join(_WEEKDAYS[day] for day in shift['weekdays'])}]",
            "from": clock(shift["from_h"]),
            "until": clock(shift["until_h"]),
            "people": f"{shift['people']}",
            "break": f"{shift['break_min']:g} min",
        }
        if shift["break_from_h"] is not None:
            parts["break_from"] = clock(shift["break_from_h"])
        for name, value in parts.items():
            path = f"staff.shifts.{number}.{name}"
            shown[path] = Setting(path, value, False, "", 0, "", value)
    return shown | settings


@cache
def _declarations() -> dict[str, list[tuple[Declaration, str]]]:
    """Path -> each declaration of it, with the choice that it depends on."""
    by_path: dict[str, list[tuple[Declaration, str]]] = {}
    for key, path, condition in visit(declaration().keys):
        by_path.setdefault(path, []).append((key, condition))
    return by_path


def declared(values: Values, key: str) -> Declaration | None:
    """The declaration of a key as it is used with these values; None for a parameter of a policy of the user's own."""
    for found, condition in _declarations().get(re.sub(r"\.\d+(?=\.|$)", "[]", key), ()):
        choice_key, _, choice = condition.partition(" ")
        chosen = values.settings.get(choice_key)
        if not condition or (chosen and chosen.value == choice):
            return found
    return None


def _plain(value: str) -> str:
    """The value; of 0 in a unit the number alone."""
    match = _QUANTITY.fullmatch(value)
    return match[1] if match and float(match[1]) == 0 else value


def _parts(text: str) -> list[str]:
    match = _LISTED.fullmatch(text)
    return [str(part) for part in _entries(match[1])] if match else [text]


def _entries(text: str) -> list[str]:
    try:
        return [str(entry) for entry in json.loads(f"[{text}]")]
    except ValueError:
        return [part.strip() for part in text.split(",") if part.strip()]

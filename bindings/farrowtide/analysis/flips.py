"""The value of a parameter at which another alternative becomes the best, all others being as given."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
from scipy import special

from farrowtide.analysis.comparison import ComparisonTables
from farrowtide.analysis.doubt import Layout, Subject, moved_from_given
from farrowtide.scenarios.parameters import Parameter
from farrowtide.statistics.intervals import CONFIDENCE
from farrowtide.study.points import Point

ROOMS = 10  # at each value: few are enough, as only what the parameter changes in them is counted
_NO_TURN: dict[str, object] = {"way": np.nan, "flip": None, "flip_low": None, "flip_high": None, "instead": ""}
_STEPS = 5  # halvings of the way between the value as given and an end: to within a thirtieth of it


@dataclass(frozen=True)
class Advantage:
    """At one value of a parameter: the subject's difference, and the lead of the alternative that is the best as given over the
    best of the others, with its standard error.
    """

    difference: float
    lead: float
    error: float
    second: str


def advantages(comparison: ComparisonTables, subject: Subject, rooms: pd.DataFrame) -> list[Advantage]:
    """The advantage at each point of rooms of the subject's case."""
    of_case = comparison.replicates[comparison.replicates["case"] == subject.case]
    whole = Layout.of(comparison)
    layout = Layout([subject.case], whole.others, whole.reference, [subject.output.name])
    names = [layout.reference, *layout.others]
    at_given = np.column_stack([np.zeros(comparison.replications), layout.differences(of_case)])
    moved = moved_from_given(layout, of_case, rooms)
    moved = np.concatenate([np.zeros((*moved.shape[:2], 1)), moved], axis=2)
    best, shown = names.index(subject.best), names.index(subject.alternative)
    found = []
    for of_point in moved:
        each = np.nanmean(at_given, axis=0) + np.nanmean(of_point, axis=0)
        rest = np.where(np.arange(len(names)) == best, -np.inf, subject.sign * each)
        second = int(np.argmax(rest))
        apart = at_given[:, best] - at_given[:, second], of_point[:, best] - of_point[:, second]
        error = float(np.sqrt(sum(np.nanvar(part, ddof=1) / len(part) for part in apart)))
        found.append(
            Advantage(float(each[shown]), float(subject.sign * each[best] - rest[second]), error, names[second])
        )
    return found


def moved_to(parameter: Parameter, way: float) -> tuple[float, ...]:
    """The values of a parameter that is moved part of the way, 0 to 1, from its value to the high end, or below 0 to the low one."""
    ends = parameter.high if way > 0 else parameter.low
    return tuple(value + abs(way) * (end - value) for value, end in zip(parameter.value, ends, strict=True))


def flips(inputs: Sequence[Parameter], run: Callable[[list[Point]], list[Advantage]]) -> pd.DataFrame:
    """The table `flips` of DoubtTables: the ends of each range first, then by halving where another alternative is best there.

    `run` gives the advantage at points; it is handed those of all parameters at once. Changes of the best alternative that
    are undone before the end of the range are not found.
    """
    ends = run([{each.name: moved_to(each, way)} for each in inputs for way in (-1.0, 1.0)])
    brackets = {
        (number, way): (0.0, way)
        for number in range(len(inputs))
        for place, way in enumerate((-1.0, 1.0))
        if ends[2 * number + place].lead < 0
    }
    beyond = {(number, way): ends[2 * number + (way > 0)] for number, way in brackets}
    for _ in range(_STEPS if brackets else 0):
        middles = {key: (inside + outside) / 2 for key, (inside, outside) in brackets.items()}
        found = run([{inputs[number].name: moved_to(inputs[number], middles[number, way])} for number, way in brackets])
        for (key, (inside, outside)), advantage in zip(list(brackets.items()), found, strict=True):
            still = advantage.lead > 0
            brackets[key] = (middles[key], outside) if still else (inside, middles[key])
            if not still:
                beyond[key] = advantage
    rows = []
    for number, each in enumerate(inputs):
        low, high = ends[2 * number : 2 * number + 2]
        of_input = [key for key in brackets if key[0] == number]
        nearest = min(of_input, key=lambda key: abs(sum(brackets[key])), default=None)
        end = high if nearest and nearest[1] > 0 else low
        turn = _turn(each, brackets[nearest], beyond[nearest], end) if nearest else _NO_TURN
        lists = {"low": list(each.low), "high": list(each.high), "value": list(each.value)}
        reached = {"at_low": low.difference, "at_high": high.difference}
        rows.append({"parameter": each.name, "unit": each.unit} | lists | reached | turn)
    return pd.DataFrame(rows)


def _turn(parameter: Parameter, bracket: tuple[float, float], beyond: Advantage, end: Advantage) -> dict[str, object]:
    """Where the lead turns: half way in the bracket, give or take half of it and what chance may move the turn by."""
    way, wide = sum(bracket) / 2, abs(bracket[1] - bracket[0])
    slope = abs(end.lead) / max(1 - abs(way), wide)  # of the lead, from the turn to the end of the range
    chance = float(special.stdtrit(ROOMS - 1, (1 + CONFIDENCE) / 2)) * beyond.error
    half = wide / 2 + chance / slope
    low, high = (moved_to(parameter, float(np.clip(way + sign * half, -1, 1))) for sign in (-1, 1))
    return {
        "way": way,
        "flip": list(moved_to(parameter, way)),
        "flip_low": list(low),
        "flip_high": list(high),
        "instead": beyond.second,
    }

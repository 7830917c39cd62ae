"""One condition at a time, the same animals at every level: what follows goes the way the literature found it."""

from dataclasses import dataclass, replace
from functools import cache
from itertools import pairwise

import numpy as np
import pytest
import sensitivity
from sensitivity_studies import (
    ALL,
    ALL_LOSS,
    ALWAYS,
    EARLY,
    FIRST,
    FULL,
    GAIN,
    INTAKE,
    LOSS,
    OLDER,
    PIGLET_GAIN,
    STILLBORN,
    STUDIES,
    WARM,
)

from farrowtide.statistics.inference import student_interval
from farrowtide.statistics.moments import Moments

LITTER_WEIGHT = "litter_weight_at_weaning_kg"
ROOMS = 20


@dataclass(frozen=True)
class Direction:
    study: str
    output: str
    line: str
    levels: tuple[float, ...]
    way: str  # rises, falls; holds: within `within` % of the first level
    source: str
    within: float = 0.0

    def __str__(self) -> str:
        return f"{self.study}-{self.output}-{self.way}-{self.levels}"


QUINIOU = "Quiniou & Noblet 1999, J Anim Sci 77:2124"
LEIBBRANDT = "Leibbrandt et al. 2001, J Anim Sci 79:2770"
AULDIST = "Auldist et al. 1998, Anim Sci 67:333"
EISSEN = "Eissen et al. 2003, J Anim Sci 81:594"
WHITE = "White 1996, Can J Anim Sci 76:491"
DIRECTIONS = (
    Direction("temperature", INTAKE, OLDER, (22, 25, 27, 29), "falls", QUINIOU),
    Direction("temperature", INTAKE, FIRST, (20, 30), "falls", "Messias de Bragança et al. 1998, J Anim Sci"),
    Direction("temperature", GAIN, OLDER, (25, 27, 29), "falls", QUINIOU),
    Direction("temperature", LOSS, OLDER, (20, 29), "rises", "Renaudeau et al. 2001, J Anim Sci 79:1540"),
    Direction("litter_size", PIGLET_GAIN, FIRST, (6, 10, 14), "falls", AULDIST),
    Direction("litter_size", LOSS, FIRST, (8, 11, 14), "rises", EISSEN),
    Direction("litter_size", INTAKE, FIRST, (10, 14), "holds", EISSEN, within=2),
    Direction("parity", INTAKE, ALL, (1, 2, 3), "rises", "Yoder et al. 2012, Livest Sci 150; NRC 2012"),
    Direction("parity", STILLBORN, ALL, (2, 6), "rises", "Teixeira Costa et al. 2024, Porcine Health Manag"),
    Direction("drinker_flow", INTAKE, WARM, (0.076, 0.2, 0.701), "rises", LEIBBRANDT),
    Direction("drinker_flow", INTAKE, WARM, (0.701, 2.4), "holds", "levels off: assumption, no trial", within=1.5),
    Direction("drinker_flow", LOSS, WARM, (0.701, 0.076), "rises", LEIBBRANDT),
    Direction("drinker_flow", LITTER_WEIGHT, WARM, (0.701, 0.076), "holds", LEIBBRANDT, within=3),
    Direction("meals", INTAKE, OLDER, (2, ALWAYS), "rises", "Peng et al. 2007, J Anim Sci 85:853"),
    Direction("meals", INTAKE, FIRST, (2, 3), "holds", "Genest & Dallaire 1995, Can J Anim Sci 75:461", within=3),
    Direction("meals", INTAKE, OLDER, (1, 2), "rises", "troughs hold 3.2 to 4 kg: Beltranena 2024, extension"),
    Direction(
        "meals", INTAKE, OLDER, (2, 3), "rises", "more offers of a trough that is full: no trial, the model's own"
    ),
    Direction("attendance", STILLBORN, FULL, (0, 9, 24), "falls", WHITE),
    Direction("attendance", EARLY, FULL, (0, 24), "falls", WHITE),
    Direction("attendance", ALL_LOSS, FULL, (0, 24), "falls", WHITE),
)


@cache
def found(key):
    """The study at the levels and on the lines that are asked about, in few rooms."""
    study = next(study for study in STUDIES if study.key == key)
    asked = [direction for direction in DIRECTIONS if direction.study == key]
    levels = {level for direction in asked for level in direction.levels}
    lines = {direction.line for direction in asked}
    few = replace(
        study,
        levels={level: overrides for level, overrides in study.levels.items() if level in levels},
        lines={line: animals for line, animals in study.lines.items() if line in lines},
    )
    return sensitivity.measure(few, ROOMS)


def follows(way: str, steps: list[np.ndarray], within_percent: float) -> bool:
    """Whether outputs by room, level after level, go this way with 95 % confidence in every step."""
    for before, after in pairwise(steps):
        change = (after - before) / (abs(before.mean()) / 100 if way == "holds" else 1)
        low, high = student_interval(Moments.of(change))
        sure = {"rises": low > 0, "falls": high < 0, "holds": max(-low, high) < within_percent}
        if not sure[way]:
            return False
    return True


@pytest.mark.parametrize("direction", DIRECTIONS, ids=str)
def test_direction(direction):
    measured = found(direction.study)
    steps = [measured.rooms(direction.output, direction.line, level) for level in direction.levels]
    means = ", ".join(f"{step.mean():.3g}" for step in steps)
    assert follows(direction.way, steps, direction.within), f"{means} at {direction.levels} ({direction.source})"


def test_a_wrong_direction_is_noticed():
    rng = np.random.default_rng(1)
    flat, higher = rng.normal(5, 1, 12), rng.normal(9, 1, 12)
    assert follows("rises", [flat, higher], 0)
    assert not follows("falls", [flat, higher], 0)
    assert not follows("rises", [flat, higher, flat], 0)
    assert not follows("rises", [flat, flat], 0)
    assert not follows("holds", [flat, higher], 2)

"""Draws of what is not known: every coefficient and level with a range at once, spread evenly over what is thought of each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from scipy.stats import qmc, rankdata

from farrowtide.scenarios.parameters import Parameter, entry, parameter, parameters
from farrowtide.scenarios.scenario import Scenario
from farrowtide.study.points import Point

_PURPOSE = 0x646F756274  # keeps these numbers apart from others that come from the seed of a study
_INSIDE = np.finfo(float).eps  # of 0 to 1
_RANGE = 0.025, 0.975  # of posterior draws


@dataclass(frozen=True)
class Calibrated(Parameter):
    """A parameter of which a calibration gives equally likely values."""

    draws: tuple[float, ...] = ()

    def at(self, probability: float) -> tuple[float, ...]:
        return (float(np.quantile(self.draws, probability)),)


@dataclass(frozen=True)
class DrawsOfParameters:
    """Draws of `inputs`, the parameters that are not known: the probability of each in each draw, shape (draws, inputs), and
    the points that they stand for.
    """

    inputs: list[Parameter]
    probabilities: np.ndarray
    points: list[Point]

    def point(self, inputs: Sequence[int], probabilities: Sequence[float] | np.ndarray) -> Point:
        """The point at which these inputs, by number, are at these probabilities, and all others as in the scenario."""
        pairs = zip(inputs, probabilities, strict=True)
        return {self.inputs[number].name: self.inputs[number].at(float(probability)) for number, probability in pairs}


def draws_of_parameters(scenario: Scenario, draws: int, seed: int) -> DrawsOfParameters:
    """A Latin hypercube of this many draws, which the seed of the study decides.

    Where the scenario is calibrated, one of the posterior draws gives all parameters that they name, and the hypercube says
    which. Sobol' sequences are not used: in hundreds of dimensions pairs of their coordinates follow each other closely for
    the first hundreds of points (correlations up to 0.94 at 200 points in 748 dimensions, against 0.31 here, as by chance).
    """
    calibration: Any = getattr(scenario, "calibration", None)
    names = list(calibration.names) if calibration else []
    posterior = np.asarray(calibration.draws, dtype=float) if calibration else np.empty((1, 0))
    tables = {name.partition("[")[0] for name in names}
    known = parameters(scenario)
    rest = [
        entry(known[table], number)
        for table in sorted(tables & known.keys())
        for number in range(len(known[table].value))
        if f"{table}[{number}]" not in names and table not in names
    ]
    drawn = [each for name, each in known.items() if name not in tables]
    drawn += [each for each in rest if each.low != each.high]
    generator = np.random.default_rng([_PURPOSE, seed])
    cube = np.clip(qmc.LatinHypercube(len(drawn) + 1, rng=generator).random(draws), _INSIDE, 1 - _INSIDE)
    chosen = posterior[(cube[:, -1] * len(posterior)).astype(int)]
    points: list[Point] = [
        {each.name: each.at(float(probability)) for each, probability in zip(drawn, row, strict=False)}
        | {name: (float(value),) for name, value in zip(names, values, strict=True)}
        for row, values in zip(cube, chosen, strict=True)
    ]
    calibrated = [
        _calibrated(parameter(scenario, name), values) for name, values in zip(names, posterior.T, strict=True)
    ]
    ranks = (rankdata(chosen, axis=0) - 0.5) / draws
    return DrawsOfParameters([*drawn, *calibrated], np.hstack([cube[:, :-1], ranks]), points)


def without(draws: DrawsOfParameters, left_out: Sequence[int]) -> DrawsOfParameters:
    """The draws without these."""
    kept = [number for number in range(len(draws.points)) if number not in set(left_out)]
    return replace(draws, probabilities=draws.probabilities[kept], points=[draws.points[number] for number in kept])


def _calibrated(known: Parameter, values: np.ndarray) -> Calibrated:
    low, high = (float(end) for end in np.quantile(values, _RANGE))
    return Calibrated(
        known.name,
        known.value,
        (low,),
        (high,),
        known.unit,
        known.grade,
        f"calibrated to records; before: {known.source}",
        known.kind,
        draws=tuple(map(float, values)),
    )

"""Fits levels and coefficients to the statistics of records, by simulating farms at scattered points.

A wave simulates the scenario at a centre, and at points scattered around it on the same rooms, so that differences are
those of the same animals. A quadratic surface through the differences stands for the model. The first wave scatters
over what was thought of the parameters beforehand, the next over what the first left of it, until the centre stays.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any, TypeAlias

import numpy as np

from farrowtide.analysis.calibration.moving import Moved
from farrowtide.analysis.calibration.summary import LEAST_ROWS, Reduced, Statistic, Sums, spreads
from farrowtide.engine.running import simulate_replicates
from farrowtide.records import simulated
from farrowtide.scenarios.parameters import with_parameters
from farrowtide.scenarios.scenario import Scenario
from farrowtide.statistics.surface import Observed, Posterior, Surface, scattered

Array: TypeAlias = np.ndarray[Any, Any]
Progress = Callable[[int, int, str], None]  # rooms done, rooms expected, what is known so far

DRAWS = 200
_LITTERS = 240  # simulated at a point
_BLOCKS = 16  # of as many litters, simulated at a centre
_POINTS = (6, 9, 9)  # of each wave, for each parameter
_TINY = 1e-9
_SPREAD = 1.5  # of the points of later waves, in posterior standard deviations
_NEAR = 2.0  # posterior standard deviations from the centre, within which the surface is trusted


@dataclass(frozen=True)
class Scatter:
    """How statistics vary by chance, for farms of any size: covariance for a weight of 1, and what it was made of."""

    unit: Array
    inflation: float  # of the records' variance between groups over the model's
    weight_of_model: float

    @classmethod
    def of(cls, recorded: Sums, model: Sums, spread: Array) -> Scatter:
        """That of the records by the jackknife over groups, shrunk towards that of the model.

        With few groups the records' own is of low rank. The model's counts for as many groups as there are statistics,
        as an inverse Wishart prior would; it is enlarged where the records scatter more between groups.
        """
        own, models = (_per_unit(sums, spread) for sums in (recorded, model))
        models += (np.diag(np.diag(models)) - models) / model.groups + _TINY * np.eye(len(models))  # of full rank
        ratios = np.diag(own) / np.maximum(np.diag(models), 1e-12)
        inflation = max(1.0, float(np.median(ratios)))
        share = len(spread) / (len(spread) + recorded.groups - 1)
        return cls(share * inflation * models + (1 - share) * own, inflation, share)

    def covariance(self, weight: Array) -> Array:
        """That of statistics of a farm whose records have these weights."""
        root = 1 / np.sqrt(weight)
        return np.asarray(self.unit * np.outer(root, root))


def _per_unit(sums: Sums, spread: Array) -> Array:
    root = np.sqrt(sums.weight.sum(0))
    return np.asarray(sums.covariance(spread) * np.outer(root, root))


class Simulator:
    """Simulates the scenario at points, in numbered blocks of rooms, and reduces what it would have recorded."""

    def __init__(
        self,
        scenario: Scenario,
        moved: Moved,
        statistics: Sequence[Statistic],
        *,
        seed: int,
        threads: int,
        expected: int,
        progress: Progress | None,
    ) -> None:
        self._scenario, self._moved, self._statistics = scenario, moved, statistics
        self._seed, self._threads, self._progress = seed, threads, progress
        self._expected = expected  # blocks
        self._blocks = 0
        self.replicates = math.ceil(_LITTERS / scenario.litters_per_replication)  # of a block
        self.checks = 0

    def at(self, z: Array, block: int) -> Sums:
        """The sums of each group in a block of rooms with the parameters at z."""
        result = simulate_replicates(
            with_parameters(self._scenario, self._moved.values(z)),
            replications=self.replicates,
            first_replicate=block * self.replicates,
            seed=self._seed,
            threads=self._threads,
            record=("sow_days", "piglets"),
        )
        self.checks += result.checks
        self._blocks += 1
        if self._progress:
            done = self._blocks * self.replicates
            self._progress(done, max(done, self._expected * self.replicates), "")
        return Reduced.of(simulated(result, self._scenario), self._statistics).sums

    @property
    def rooms(self) -> int:
        """Replicates simulated in all."""
        return self._blocks * self.replicates


def simulated_statistics(
    scenario: Scenario, statistics: Sequence[Statistic], *, seed: int, threads: int
) -> list[Statistic]:
    """Those that the scenario has, unlike feed of a fourth week where litters are weaned before."""
    simulator = Simulator(scenario, Moved(()), statistics, seed=seed, threads=threads, expected=1, progress=None)
    sums = simulator.at(np.zeros(0), 0)
    usable = np.isfinite(sums.statistics(spreads(statistics))) & (sums.weight.sum(0) >= LEAST_ROWS)
    return [each for each, has in zip(statistics, usable, strict=True) if has]


@dataclass(frozen=True)
class Wave:
    """What is known after a wave: the surface and its level, how records scatter, and the posterior."""

    centre: Array  # z
    level: Array
    level_covariance: Array
    surface: Surface
    scatter: Scatter
    posterior: Posterior


@dataclass(frozen=True)
class Fitted:
    """The waves so far; `defaults` are the statistics with every parameter as in the scenario."""

    moved: Moved
    statistics: list[Statistic]
    fitted: Array  # which of the statistics were fitted
    observed: Sums
    waves: list[Wave]
    defaults: Array
    rooms: int
    checks: int

    @property
    def last(self) -> Wave:
        return self.waves[-1]

    @property
    def settled(self) -> bool:
        """Whether the centre of the last wave was near what it found, and its draws are as many as they seem."""
        return len(self.waves) > 1 and _is_near(self.last) and self.last.posterior.effective >= DRAWS

    def predicted(self, z: Array) -> Array:
        """The statistics that the model has at these points."""
        return np.asarray(self.last.level + self.last.surface.changes(self.moved.coordinates(z)))


def expected_blocks(parameters: int) -> int:
    """Blocks of rooms that a fit of two waves simulates."""
    return 2 * _BLOCKS + (_POINTS[0] + _POINTS[1]) * parameters


def waves(
    simulator: Simulator, moved: Moved, observed: Sums, statistics: list[Statistic], seed: int
) -> Iterator[Fitted]:
    """Yields what is fitted after each wave.

    Statistics that the scenario cannot have, such as those of a fourth week where litters are weaned before, must have
    been left out.
    """
    spread = spreads(statistics)
    fitted = np.array([statistic.quantity.fitted for statistic in statistics])
    values, weight = observed.statistics(spread), observed.weight.sum(0)
    centre: Array = np.zeros(len(moved))
    root: Array = np.eye(len(moved))
    done: list[Wave] = []
    defaults = None
    for points_each in _POINTS:
        blocks = [simulator.at(centre, block) for block in range(_BLOCKS)]
        base = Sums.together(blocks)
        level = base.statistics(spread)
        defaults = level if defaults is None else defaults
        z = centre + scattered(points_each * len(moved), len(moved)) @ root.T
        changes = np.stack(
            [
                simulator.at(point, j % _BLOCKS).statistics(spread) - blocks[j % _BLOCKS].statistics(spread)
                for j, point in enumerate(z)
            ]
        )
        at = moved.coordinates
        surface = Surface.through(at(z), changes, at(centre[None, :])[0])
        scatter = Scatter.of(observed, base, spread)
        level_covariance = base.covariance(spread)
        covariance = scatter.covariance(weight) + level_covariance
        looked_at = Observed(
            values[fitted],
            level[fitted],
            covariance[np.ix_(fitted, fitted)],
            surface.of(fitted),
            at,
        )
        posterior = looked_at.posterior(centre, DRAWS, seed)
        done.append(Wave(centre, level, level_covariance, surface, scatter, posterior))
        yield Fitted(moved, statistics, fitted, observed, list(done), defaults, simulator.rooms, simulator.checks)
        if len(done) > 1 and _is_near(done[-1]):
            return
        centre = posterior.mean
        root = _SPREAD * np.linalg.cholesky(posterior.covariance + 1e-6 * np.eye(len(moved)))


def _is_near(wave: Wave) -> bool:
    apart = np.abs(wave.posterior.mean - wave.centre) / np.sqrt(np.diag(wave.posterior.covariance))
    return bool((apart < _NEAR).all())

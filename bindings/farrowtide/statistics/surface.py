"""Quadratic response surfaces, and what observations say of the parameters that stand behind them.

A surface says how each statistic changes with the parameters, from simulations at scattered points (Box & Wilson 1951,
J R Stat Soc B 13:1-45). The posterior is drawn by importance sampling from a Student distribution around the mode
(Geweke 1989, Econometrica 57:1317-1339), adapted once to the draws themselves.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any, TypeAlias

import numpy as np
from scipy.optimize import least_squares
from scipy.stats import norm, qmc

Array: TypeAlias = np.ndarray[Any, Any]
Coordinates = Callable[[Array], Array]  # of standard-normal parameters: what the surface is quadratic in

_RIDGES = 10.0 ** np.arange(-3, 3.01, 0.5)  # on squares and products of coordinates, chosen by cross-validation
_FREEDOM = 5  # of the Student distribution
_PROPOSED = 20_000
_ROUNDS = 3


def scattered(count: int, dimensions: int) -> Array:
    """Points of a standard normal distribution that fill it evenly (a Sobol' sequence, moved by half a step)."""
    powers = max(count - 1, 1).bit_length()
    uniform = qmc.Sobol(dimensions, scramble=False).random_base2(powers) + 0.5 / 2**powers
    return np.asarray(norm.ppf(uniform[:count]))


@dataclass(frozen=True)
class Surface:
    """Changes of statistics from a centre, quadratic in scaled distances from it, and how far simulations are from it."""

    centre: Array  # coordinates
    scale: Array
    slopes: Array  # features x statistics
    scatter: Array  # covariance of what one simulation leaves over (statistics x statistics)
    inverse: Array  # of the features' cross products, for the error of the surface itself

    @classmethod
    def through(cls, points: Array, changes: Array, centre: Array) -> Surface:
        """Fits the surface to changes (points x statistics) from the centre, at which they are 0."""
        scale = np.maximum(np.sqrt(((points - centre) ** 2).mean(0)), 1e-3)
        features = _features((points - centre) / scale)
        firsts = np.arange(features.shape[1]) < points.shape[1]
        size = np.sqrt((changes**2).mean(0)) + 1e-12
        best = min(_RIDGES, key=lambda ridge: _left_out_error(features, changes / size, _penalty(firsts, ridge)))
        inverse = np.linalg.inv(features.T @ features + _penalty(firsts, best))
        slopes = inverse @ features.T @ changes
        left = changes - features @ slopes
        freedom = max(len(points) - float(np.trace(features @ inverse @ features.T)), 1.0)
        return cls(centre, scale, slopes, left.T @ left / freedom, inverse)

    def of(self, statistics: Array) -> Surface:
        """That of some of the statistics."""
        scatter = self.scatter[np.ix_(statistics, statistics)]
        return replace(self, slopes=self.slopes[:, statistics], scatter=scatter)

    def changes(self, points: Array) -> Array:
        """The changes at these coordinates (points x statistics)."""
        return np.asarray(_features((points - self.centre) / self.scale) @ self.slopes)

    def error_share(self, points: Array) -> Array:
        """The variance of the surface at these points, as a share of `scatter`."""
        features = _features((points - self.centre) / self.scale)
        return np.asarray(np.einsum("pf,fg,pg->p", features, self.inverse, features))


def _features(scaled: Array) -> Array:
    rows, columns = np.triu_indices(scaled.shape[1])
    return np.hstack([scaled, scaled[:, rows] * scaled[:, columns]])


def _penalty(firsts: Array, ridge: float) -> Array:
    return np.diag(np.where(firsts, 1e-6, ridge))


def _left_out_error(features: Array, changes: Array, penalty: Array) -> float:
    """The sum of squares by which each point is missed when it is left out."""
    hat = features @ np.linalg.solve(features.T @ features + penalty, features.T)
    left_out = (changes - hat @ changes) / np.maximum(1 - np.diag(hat), 1e-3)[:, None]
    return float((left_out**2).sum())


@dataclass(frozen=True)
class Posterior:
    """Weighted draws of standard-normal parameters, their moments, and equally likely ones among them."""

    draws: Array  # draws x parameters, equally likely
    mean: Array
    covariance: Array
    effective: float  # number of independent draws that the weighted ones are worth


@dataclass(frozen=True)
class Observed:
    """Statistics, their errors, and the surface that leads to them from parameters.

    `values` are observed, `level` is simulated at the centre of the surface, `covariance` that of their difference if the
    parameters were right. `coordinates` turn standard-normal parameters into those of the surface.
    """

    values: Array
    level: Array
    covariance: Array
    surface: Surface
    coordinates: Coordinates

    def posterior(self, start: Array, draws: int, seed: int) -> Posterior:
        """What the observations say of parameters that are independent and standard normal beforehand."""
        whitener = self._whitener(self.coordinates(start[None, :]))

        def residuals(z: Array) -> Array:
            return np.concatenate([whitener @ self._gap(z[None, :])[0], z])

        mode = np.zeros_like(start)
        for _ in range(2):  # the error of the surface depends on the place
            solved = min((least_squares(residuals, x0) for x0 in (start, mode)), key=lambda found: found.cost)
            mode = solved.x
            whitener = self._whitener(self.coordinates(mode[None, :]))
        slopes: Array = np.asarray(solved.jac)
        covariance: Array = np.linalg.inv(slopes.T @ slopes)
        return self._sampled(mode, covariance, whitener, draws, np.random.default_rng(seed))

    def _gap(self, z: Array) -> Array:
        return self.level + self.surface.changes(self.coordinates(z)) - self.values

    def _whitener(self, point: Array) -> Array:
        share = float(self.surface.error_share(point)[0])
        return np.linalg.inv(np.linalg.cholesky(self.covariance + share * self.surface.scatter))

    def _log_density(self, z: Array, whitener: Array) -> Array:
        return np.asarray(-0.5 * ((self._gap(z) @ whitener.T) ** 2).sum(1) - 0.5 * (z**2).sum(1))

    def _sampled(
        self, centre: Array, covariance: Array, whitener: Array, draws: int, random: np.random.Generator
    ) -> Posterior:
        size = len(centre)
        for _ in range(_ROUNDS):
            root = np.linalg.cholesky(covariance + 1e-9 * np.eye(size))
            normal = random.standard_normal((_PROPOSED, size))
            stretched = normal / np.sqrt(random.chisquare(_FREEDOM, _PROPOSED) / _FREEDOM)[:, None]
            z = centre + stretched @ root.T
            proposed = -0.5 * (_FREEDOM + size) * np.log1p((stretched**2).sum(1) / _FREEDOM)
            logs = self._log_density(z, whitener) - proposed
            weights = np.exp(logs - logs.max())
            weights /= weights.sum()
            centre = weights @ z
            covariance = (z - centre).T @ ((z - centre) * weights[:, None])
        places = (np.arange(draws) + random.random()) / draws
        chosen = np.searchsorted(np.cumsum(weights), places).clip(max=_PROPOSED - 1)
        return Posterior(random.permutation(z[chosen]), centre, covariance, float(1 / (weights**2).sum()))

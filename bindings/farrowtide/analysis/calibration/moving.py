"""What moves in a calibration: parameters as standard-normal numbers, and what they are in a scenario."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any, TypeAlias

import numpy as np
import pandas as pd
from scipy.stats import norm

from farrowtide.scenarios.parameters import Parameter

Array: TypeAlias = np.ndarray[Any, Any]

_FARTHEST = 4.0  # standard deviations
_KNOTS = 801


@dataclass(frozen=True)
class Moved:
    """The parameters that move, each a standard-normal number z: at z it has the value of cumulative probability phi(z)."""

    parameters: Sequence[Parameter]

    @cached_property
    def _knots(self) -> tuple[Array, list[Array]]:
        """Places z, and for each parameter its values there (knots x entries)."""
        z = np.linspace(-_FARTHEST, _FARTHEST, _KNOTS)
        return z, [np.array([each.at(float(p)) for p in norm.cdf(z)]) for each in self.parameters]

    @cached_property
    def _entry(self) -> list[int]:
        """The entry of each that moves most, by which a table is drawn and reported."""
        return [int(np.argmax(np.subtract(each.high, each.low))) for each in self.parameters]

    @property
    def names(self) -> list[str]:
        return [each.name for each in self.parameters]

    def __len__(self) -> int:
        return len(self.parameters)

    def coordinates(self, z: Array) -> Array:
        """Where each is in its range, from -1 to 1 (points x parameters): what simulated results are nearly linear in."""
        columns = []
        for j, (each, entry) in enumerate(zip(self.parameters, self._entry, strict=True)):
            columns.append(2 * (self.leading(z)[:, j] - each.low[entry]) / (each.high[entry] - each.low[entry]) - 1)
        return np.stack(columns, axis=1)

    def leading(self, z: Array) -> Array:
        """The value of each, of a table that of its leading entry (points x parameters)."""
        knots, values = self._knots
        return np.stack([np.interp(z[:, j], knots, values[j][:, entry]) for j, entry in enumerate(self._entry)], axis=1)

    def values(self, z: Array) -> Mapping[str, tuple[float, ...]]:
        """The values at one point, with every entry of tables, as `with_parameters` takes them."""
        knots, values = self._knots
        return {
            each.name: tuple(float(np.interp(z[j], knots, values[j][:, entry])) for entry in range(len(each.value)))
            for j, each in enumerate(self.parameters)
        }

    def draw_column(self, j: int, draws: pd.DataFrame) -> Array:
        """The draws of one in a table of draws; of a table those of its leading entry."""
        each = self.parameters[j]
        name = each.name if len(each.value) == 1 else f"{each.name}[{self._entry[j]}]"
        return draws[name].to_numpy()

    def ends(self, j: int) -> tuple[float, float]:
        """The range of one; of a table that of its leading entry."""
        return self.parameters[j].low[self._entry[j]], self.parameters[j].high[self._entry[j]]

    def at_default(self, j: int) -> float:
        """The value that one has in the scenario; of a table that of its leading entry."""
        return self.parameters[j].value[self._entry[j]]

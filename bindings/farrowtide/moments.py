"""Means and spreads of many series at once, kept without the values: what a long study remembers of its rooms."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd
from scipy import special

from farrowtide._core import UserError
from farrowtide.intervals import CONFIDENCE
from farrowtide.outputs import Output


class Moments:
    """Number of known values, mean and spread of each of an array of series; NaN is a missing value.

    Blocks are joined by Chan, Golub & LeVeque (1983, Am Stat 37:242-247), which loses no digits where the mean is large
    against the spread. The same blocks in the same order give the same bits; other blocks differ in the last digits.
    """

    def __init__(self, shape: int | tuple[int, ...]) -> None:
        self.n = np.zeros(shape, dtype=np.int64)
        self._mean = np.zeros(shape)
        self._squares = np.zeros(shape)  # of the deviations from the mean

    @classmethod
    def of(cls, values: np.ndarray) -> Moments:
        """Those of one block of values, shape (count, *shape)."""
        found = cls(values.shape[1:])
        known = ~np.isnan(values)
        found.n = known.sum(axis=0)
        found._mean = np.where(known, values, 0.0).sum(axis=0) / np.maximum(found.n, 1)
        found._squares = (np.where(known, values - found._mean, 0.0) ** 2).sum(axis=0)
        return found

    def add(self, values: np.ndarray) -> None:
        """Takes in a block of values, shape (count, *shape)."""
        self.merge(Moments.of(np.asarray(values, dtype=float)))

    def merge(self, other: Moments) -> None:
        """Takes in what another one, of the same shape, has seen."""
        if other.n.shape != self.n.shape:
            raise ValueError(f"shape {other.n.shape} cannot be merged into {self.n.shape}")
        n = self.n + other.n
        share = other.n / np.maximum(n, 1)
        gap = other._mean - self._mean
        self._squares = self._squares + other._squares + gap**2 * self.n * share
        self._mean = self._mean + gap * share
        self.n = n

    def turned(self, sign: float | np.ndarray) -> Moments:
        """Those of the values times `sign`, which is 1 or -1."""
        found = Moments(self.n.shape)
        found.n, found._mean, found._squares = self.n, self._mean * sign, self._squares
        return found

    @property
    def mean(self) -> np.ndarray:
        """NaN where there is no value."""
        return np.where(self.n > 0, self._mean, np.nan)

    @property
    def sd(self) -> np.ndarray:
        """Standard deviation with n - 1; NaN below two values."""
        return np.sqrt(np.where(self.n > 1, self._squares / np.maximum(self.n - 1, 1), np.nan))

    @property
    def standard_error(self) -> np.ndarray:
        """Of the mean; NaN below two values."""
        return self.sd / np.sqrt(np.maximum(self.n, 1))

    def half_width(self, confidence: float = CONFIDENCE) -> np.ndarray:
        """Half the two-sided t interval of the mean; NaN below two values."""
        return special.stdtrit(np.maximum(self.n - 1, 1), (1 + confidence) / 2) * self.standard_error

    def p_below(self, bound: float | np.ndarray) -> np.ndarray:
        """One-sided p of the t test that the true mean is `bound` or more, against its being below; NaN below two values.

        Where all values are equal, 0 if they are below the bound and 1 if not.
        """
        gap = self.mean - bound
        t = np.divide(gap, self.standard_error, out=np.where(gap < 0, -np.inf, np.inf), where=self.standard_error > 0)
        return np.where(self.n > 1, special.stdtr(np.maximum(self.n - 1, 1), t), np.nan)


def labels(replicates: pd.DataFrame) -> tuple[list[str], list[str]]:
    """Cases and alternatives in the order in which they come."""
    return list(replicates["case"].unique()), list(replicates["alternative"].unique())


def values_by_room(
    replicates: pd.DataFrame, cases: Sequence[str], alternatives: Sequence[str], outputs: Sequence[str]
) -> np.ndarray:
    """Shape (replicates, cases, alternatives, outputs), by rising replicate; NaN where a row is missing.

    Raises ValueError where a row is there twice.
    """
    rooms = np.sort(replicates["replicate"].unique())
    wanted = pd.MultiIndex.from_product([rooms, cases, alternatives])
    table = replicates.set_index(["replicate", "case", "alternative"])[list(outputs)]
    if not table.index.is_unique:
        raise ValueError("a replicate of an alternative is there twice")
    table = table.reindex(wanted)
    return table.to_numpy(dtype=float).reshape(len(rooms), len(cases), len(alternatives), len(outputs))


class PairedMoments:
    """Moments of each alternative minus the reference, by case and output, fed block by block of replicates.

    `moments` has shape (cases, others, outputs), `others` being the alternatives without the reference. Memory grows
    with these, never with `replications`. Raises UserError where the reference is not among the alternatives.
    """

    def __init__(
        self, cases: Sequence[str], alternatives: Sequence[str], reference: str, outputs: Sequence[str]
    ) -> None:
        if reference not in alternatives:
            raise UserError(f"no alternative is called '{reference}' (alternatives: {', '.join(alternatives)})")
        self.cases = list(cases)
        self.others = [name for name in alternatives if name != reference]
        self.reference = reference
        self.outputs = list(outputs)
        self.replications = 0
        self.moments = Moments((len(self.cases), len(self.others), len(self.outputs)))

    @classmethod
    def of(cls, replicates: pd.DataFrame, reference: str, outputs: Sequence[str]) -> PairedMoments:
        """Those of a whole table of replicates."""
        found = cls(*labels(replicates), reference, outputs)
        found.add(replicates)
        return found

    def add(self, replicates: pd.DataFrame) -> None:
        """Takes in replicates with all cases and alternatives: columns case, alternative, replicate and the outputs."""
        values = values_by_room(replicates, self.cases, [self.reference, *self.others], self.outputs)
        self.add_differences(values[:, :, 1:] - values[:, :, :1])

    def add_differences(self, differences: np.ndarray) -> None:
        """Takes in differences, shape (replicates, cases, others, outputs)."""
        self.moments.add(differences)
        self.replications += len(differences)

    def table(self, outputs: Sequence[Output] = (), **columns: np.ndarray) -> pd.DataFrame:
        """One row per case, alternative and output: unit, difference, n and further columns of the moments' shape.

        `unit` is there where the declared outputs are given.
        """
        index = pd.MultiIndex.from_product(
            [self.cases, self.others, self.outputs], names=["case", "alternative", "output"]
        )
        units = {output.name: output.unit for output in outputs}
        named = {"difference": self.moments.mean, "n": self.moments.n, **columns}
        frame = pd.DataFrame({name: values.ravel() for name, values in named.items()}, index=index).reset_index()
        if units:
            frame.insert(3, "unit", frame["output"].map(units))
        return frame

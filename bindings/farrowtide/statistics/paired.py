"""Replicates of several alternatives, paired by replicate: each alternative minus the reference."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
import pandas as pd

from farrowtide.errors import unknown_name
from farrowtide.statistics.moments import Moments


def labels(replicates: pd.DataFrame) -> tuple[list[str], list[str]]:
    """The cases and the alternatives, each in order of appearance."""
    return list(replicates["case"].unique()), list(replicates["alternative"].unique())


def values_by_room(
    replicates: pd.DataFrame, cases: Sequence[str], alternatives: Sequence[str], outputs: Sequence[str]
) -> np.ndarray:
    """Shape (replicates, cases, alternatives, outputs), by rising replicate; NaN where a row is missing.

    Raises ValueError where a row is duplicated.
    """
    rooms = np.sort(replicates["replicate"].unique())
    wanted = pd.MultiIndex.from_product([rooms, cases, alternatives])
    table = replicates.set_index(["replicate", "case", "alternative"])[list(outputs)]
    if not table.index.is_unique:
        raise ValueError("an alternative has two rows of one replicate")
    table = table.reindex(wanted)
    return table.to_numpy(dtype=float).reshape(len(rooms), len(cases), len(alternatives), len(outputs))


class PairedMoments:
    """The moments of each alternative minus the reference, by case and output; blocks of replicates can be added.

    `tiny`: for each output, the difference up to which a pair does not count as apart (see Moments).
    `moments` has shape (cases, others, outputs), `others` being the alternatives without the reference. Memory grows
    with these, never with `replications`. Raises UserError where the reference is not among the alternatives.
    """

    def __init__(
        self,
        cases: Sequence[str],
        alternatives: Sequence[str],
        reference: str,
        outputs: Sequence[str],
        tiny: Sequence[float] | np.ndarray | float = 0.0,
    ) -> None:
        if reference not in alternatives:
            raise unknown_name("alternative", reference, alternatives)
        self.cases = list(cases)
        self.others = [name for name in alternatives if name != reference]
        self.reference = reference
        self.outputs = list(outputs)
        self.replications = 0
        self.identical = np.ones((len(self.cases), len(self.others)), dtype=bool)  # in every column of every room added
        self.moments = Moments((len(self.cases), len(self.others), len(self.outputs)), tiny=np.asarray(tiny))

    @classmethod
    def of(
        cls,
        replicates: pd.DataFrame,
        reference: str,
        outputs: Sequence[str],
        tiny: Sequence[float] | np.ndarray | float = 0.0,
    ) -> PairedMoments:
        """The moments of a whole table of replicates."""
        paired = cls(*labels(replicates), reference, outputs, tiny)
        paired.add(replicates)
        return paired

    def add(self, replicates: pd.DataFrame) -> None:
        """Adds replicates of all cases and alternatives: columns case, alternative, replicate and the outputs."""
        values = values_by_room(replicates, self.cases, [self.reference, *self.others], self.outputs)
        self.add_differences(values[:, :, 1:] - values[:, :, :1])
        self.see_whole_rooms(replicates)

    def see_whole_rooms(self, replicates: pd.DataFrame) -> None:
        """Takes in whether rooms are identical in every column of the replicates, not only in the outputs."""
        columns = [str(name) for name in replicates if name not in ("replicate", "case", "alternative")]
        values = values_by_room(replicates, self.cases, [self.reference, *self.others], columns)
        equal = (values[:, :, 1:] == values[:, :, :1]) | (np.isnan(values[:, :, 1:]) & np.isnan(values[:, :, :1]))
        self.identical &= equal.all(axis=(0, 3))

    def add_differences(self, differences: np.ndarray) -> None:
        """Adds differences, shape (replicates, cases, others, outputs)."""
        self.moments.add(differences)
        self.replications += len(differences)

    def table(self, units: Mapping[str, str] | None = None, **columns: np.ndarray) -> pd.DataFrame:
        """One row per case, alternative and output: unit, difference, n and further columns of the moments' shape.

        The column `unit` is added where `units`, output -> unit, is given.
        """
        index = pd.MultiIndex.from_product(
            [self.cases, self.others, self.outputs], names=["case", "alternative", "output"]
        )
        named = {"difference": self.moments.mean, "n": self.moments.n, **columns}
        frame = pd.DataFrame({name: values.ravel() for name, values in named.items()}, index=index).reset_index()
        if units:
            frame.insert(3, "unit", frame["output"].map(units))
        return frame

"""The best of many with a stated probability."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import pandas as pd

from farrowtide.errors import UserError
from farrowtide.statistics.intervals import CONFIDENCE
from farrowtide.statistics.moments import Moments

FIRST_STAGE = 20


class Selection:
    """Picks the best of k alternatives with a stated probability: procedure KN on pairs, in rounds.

    Kim & Nelson (2001, ACM Trans Model Comput Simul 11:251-273) with c = 1: if the best mean is better than every other
    by at least `delta` (the indifference zone), it is selected with probability `confidence` or
    more, for normal data, whatever the correlation from common random numbers; the stronger that is, the sooner it ends.

    `sign` is 1 where a higher mean is better and -1 where a lower one is; `unit` is that of the values, for errors.

    `add` takes a round of replicates of the alternatives still `in_play`. The first look comes when there are
    `first_stage` complete replicates or more; all of them then give the variances of the differences, so fix round sizes
    before. Looking after rounds of several replicates instead of each one only makes a wrong elimination rarer
    (Jennison, Johnstone & Turnbull 1982, Statistical Decision Theory and Related Topics III 2:55-86) and costs at most a
    round more. Replicates in which one of those in play has no value are left out.

    Of two whose means are equal when the boundary has closed, the one listed later goes. Two that were equal in every
    pair of the first stage have no variance, so for them this is at the first look.
    """

    def __init__(
        self,
        alternatives: Sequence[str],
        delta: float,
        *,
        sign: float = 1.0,
        unit: str = "",
        confidence: float = CONFIDENCE,
        first_stage: int = FIRST_STAGE,
    ) -> None:
        self.alternatives = list(alternatives)
        if len(set(self.alternatives)) < max(2, len(self.alternatives)):
            raise UserError("a selection needs two or more alternatives with different names")
        if not 0 < delta < math.inf:
            raise UserError(f"indifference = {delta}: what is too small to matter must be above 0 {unit}")
        least = 1 / len(self.alternatives)
        if not least < confidence < 1:
            raise UserError(f"confidence = {confidence}: between {least:g} (picking blindly) and 1")
        if first_stage < 2:
            raise UserError(f"first_stage = {first_stage}: at least 2")
        self.delta = delta
        self.confidence = confidence
        self.first_stage = first_stage
        self.n = 0  # complete replicates
        self._sign = sign
        count = len(self.alternatives)
        self._in_play = np.arange(count)
        self._means = Moments(count)  # of the good direction
        self._gaps = Moments((count, count))  # of the first stage
        self._closing: np.ndarray | None = None  # n at which the boundary of each pair has closed: h^2 S^2 / delta^2
        self._out: dict[int, tuple[int, int]] = {}  # eliminated -> (at n, by)

    @property
    def in_play(self) -> list[str]:
        """The alternatives not yet eliminated, in the order given."""
        return [self.alternatives[i] for i in self._in_play]

    @property
    def best(self) -> str | None:
        """The selected one; None while there are several."""
        return self.in_play[0] if len(self._in_play) == 1 else None

    @property
    def ends_by(self) -> int | None:
        """Replicates at which it ends at the latest, by the variances of the first stage; None before it is over."""
        if self._closing is None:
            return None
        return max(self.n, math.floor(self._closing[np.ix_(self._in_play, self._in_play)].max()) + 1)

    def add(self, values: pd.DataFrame) -> list[str]:
        """Takes in a round: one row per replicate, one column per alternative in play. Returns whom it eliminated."""
        scores = values[self.in_play].to_numpy(dtype=float) * self._sign
        self._count(scores[~np.isnan(scores).any(axis=1)])
        if self.n < self.first_stage or self.best is not None:
            return []
        if self._closing is None:
            self._closing = self._eta() * 2 * (self.n - 1) * self._gaps.sd**2 / self.delta**2
        return self._screen()

    def table(self) -> pd.DataFrame:
        """One row per alternative: `n` and `mean` while in play, `eliminated_at` n (0 if in play) and by whom."""
        out = [self._out.get(i) for i in range(len(self.alternatives))]
        return pd.DataFrame(
            {
                "alternative": self.alternatives,
                "n": self._means.n,
                "mean": self._sign * self._means.mean,
                "eliminated_at": [0 if one is None else one[0] for one in out],
                "eliminated_by": ["" if one is None else self.alternatives[one[1]] for one in out],
            }
        )

    def _count(self, scores: np.ndarray) -> None:
        block = np.full((len(scores), len(self.alternatives)), np.nan)
        block[:, self._in_play] = scores
        self._means.add(block)
        if self._closing is None:
            self._gaps.add(block[:, :, None] - block[:, None, :])
        self.n += len(scores)

    def _eta(self) -> float:
        error = 2 * (1 - self.confidence) / (len(self.alternatives) - 1)
        return 0.5 * (error ** (-2 / (self.n - 1)) - 1)

    def _screen(self) -> list[str]:
        here = self._in_play
        mean = self._means.mean[here]
        room = np.maximum(0.0, self.delta / (2 * self.n) * (self._closing[np.ix_(here, here)] - self.n))
        lead = mean[None, :] - mean[:, None] - room  # [one, other]: by how much the other is over the boundary
        later = np.arange(len(here))[:, None] > np.arange(len(here))
        beaten = (lead > 0) | ((lead == 0) & (room == 0) & later)
        gone = beaten.any(axis=1)
        by = np.where(beaten, lead, -np.inf).argmax(axis=1)  # the first of the farthest ahead
        for i in np.flatnonzero(gone):
            self._out[int(here[i])] = (self.n, int(here[by[i]]))
        self._in_play = here[~gone]
        return [self.alternatives[i] for i in here[gone]]

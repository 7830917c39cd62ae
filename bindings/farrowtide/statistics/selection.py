"""Selection of the best alternative with a stated probability."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import pandas as pd

from farrowtide.errors import UserError
from farrowtide.statistics.inference import LEAST_APART
from farrowtide.statistics.intervals import CONFIDENCE
from farrowtide.statistics.moments import Moments

FIRST_STAGE = 20
PATIENCE = 1000  # replicates after which alternatives that hardly ever differ are tied


class Selection:
    """Selects the best of k alternatives with a stated probability: procedure KN on pairs, in rounds.

    Kim & Nelson (2001, ACM Trans Model Comput Simul 11:251-273) with c = 1: if the best mean is better than every other
    by at least `delta` (the indifference zone), it is selected with probability `confidence` or
    more, for normal data and any correlation from common random numbers; the stronger it is, the sooner selection ends.

    `sign` is 1 where a higher mean is better and -1 where a lower one is; `unit` is that of the values, for errors.

    `add` takes a round of replicates of the alternatives still `in_play`. Screening starts once there are `first_stage`
    complete replicates or more, all of which then estimate the variances of the differences, so round sizes must be
    fixed beforehand. Screening after rounds of several replicates instead of after each one only makes a wrong
    elimination less likely (Jennison, Johnstone & Turnbull 1982, Statistical Decision Theory and Related Topics III
    2:55-86) and costs at most one more round. Replicates in which an alternative in play has no value are left out.

    If the means of two alternatives are equal when the boundary has closed, the one listed later is eliminated. The
    first stage of a pair goes on until LEAST_APART of its replicates differ by more than `delta` / 100: before that
    its variance is not known, and neither can eliminate the other. Alternatives of which that is still so after
    PATIENCE replicates, when no others are left, are `tied`: nothing is known that would choose between them.
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
            raise UserError(f"indifference = {delta}: a difference that is too small to matter must be above 0 {unit}")
        least = 1 / len(self.alternatives)
        if not least < confidence < 1:
            raise UserError(f"confidence = {confidence}: must be between {least:g} (random choice) and 1")
        if first_stage < 2:
            raise UserError(f"first_stage = {first_stage}: must be at least 2")
        self.delta = delta
        self.confidence = confidence
        self.first_stage = first_stage
        self.n = 0  # complete replicates
        self._sign = sign
        count = len(self.alternatives)
        self._in_play = np.arange(count)
        self._means = Moments(count)  # times the sign: higher is better
        self._gaps = Moments((count, count), tiny=delta / 100)  # until the first stage of every pair in play is over
        # n at which the boundary of each pair has closed, h^2 S^2 / delta^2; infinite during its first stage.
        self._closing = np.where(np.eye(count, dtype=bool), 0.0, np.inf)
        self._eliminated: dict[int, tuple[int, int]] = {}  # alternative -> (at n, by which)

    @property
    def in_play(self) -> list[str]:
        """The alternatives not yet eliminated, in the order given."""
        return [self.alternatives[i] for i in self._in_play]

    @property
    def best(self) -> str | None:
        """The selected alternative; None while there are several."""
        return self.in_play[0] if len(self._in_play) == 1 else None

    @property
    def ends_by(self) -> int | None:
        """The maximum number of replicates by the variances of the first stage; None before that is over."""
        last = float(self._closing[np.ix_(self._in_play, self._in_play)].max())
        return max(self.n, math.floor(last) + 1) if math.isfinite(last) else None

    @property
    def tied(self) -> list[str]:
        """The alternatives in play, where PATIENCE replicates have shown hardly any difference between any two of them."""
        among = self._closing[np.ix_(self._in_play, self._in_play)]
        apart = ~np.eye(len(among), dtype=bool)
        return self.in_play if self.n >= PATIENCE and len(among) > 1 and np.isinf(among[apart]).all() else []

    @property
    def most_apart(self) -> int:
        """The largest number of replicates in which any two alternatives in play differ, counted in their first stage."""
        return int(self._gaps.apart[np.ix_(self._in_play, self._in_play)].max())

    def add(self, values: pd.DataFrame) -> list[str]:
        """Adds a round: one row per replicate, one column per alternative in play. Returns the alternatives eliminated."""
        scores = values[self.in_play].to_numpy(dtype=float) * self._sign
        self._count(scores[~np.isnan(scores).any(axis=1)])
        if self.n < self.first_stage or self.best is not None:
            return []
        over = np.isinf(self._closing) & (self._gaps.apart >= LEAST_APART)
        self._closing[over] = (self._eta() * 2 * (self.n - 1) * self._gaps.sd**2 / self.delta**2)[over]
        return self._screen()

    def table(self) -> pd.DataFrame:
        """One row per alternative: `n` and `mean` while in play, `eliminated_at` n (0 if in play) and `eliminated_by`."""
        eliminated = [self._eliminated.get(i) for i in range(len(self.alternatives))]
        return pd.DataFrame(
            {
                "alternative": self.alternatives,
                "n": self._means.n,
                "mean": self._sign * self._means.mean,
                "eliminated_at": [0 if entry is None else entry[0] for entry in eliminated],
                "eliminated_by": ["" if entry is None else self.alternatives[entry[1]] for entry in eliminated],
            }
        )

    def _count(self, scores: np.ndarray) -> None:
        block = np.full((len(scores), len(self.alternatives)), np.nan)
        block[:, self._in_play] = scores
        self._means.add(block)
        if np.isinf(self._closing[np.ix_(self._in_play, self._in_play)]).any():
            self._gaps.add(block[:, :, None] - block[:, None, :])
        self.n += len(scores)

    def _eta(self) -> float:
        error = 2 * (1 - self.confidence) / (len(self.alternatives) - 1)
        return 0.5 * float(error ** (-2 / (self.n - 1)) - 1)

    def _screen(self) -> list[str]:
        in_play = self._in_play
        mean = self._means.mean[in_play]
        room = np.maximum(0.0, self.delta / (2 * self.n) * (self._closing[np.ix_(in_play, in_play)] - self.n))
        lead = mean[None, :] - mean[:, None] - room  # [row, column]: how far the column is beyond the boundary
        later = np.arange(len(in_play))[:, None] > np.arange(len(in_play))
        beaten = (lead > 0) | ((lead == 0) & (room == 0) & later)
        gone = beaten.any(axis=1)
        by = np.where(beaten, lead, -np.inf).argmax(axis=1)  # the first of those with the largest lead
        for i in np.flatnonzero(gone):
            self._eliminated[int(in_play[i])] = (self.n, int(in_play[by[i]]))
        self._in_play = in_play[~gone]
        return [self.alternatives[i] for i in in_play[gone]]

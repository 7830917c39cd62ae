"""How many replications: stop once the paired differences are as precise as required, and not by luck."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from farrowtide.statistics.inference import COUNTABLE, LEAST_APART, half_width, replications_needed
from farrowtide.statistics.moments import Moments
from farrowtide.statistics.paired import PairedMoments

LEAST = 40
LOOK_AHEAD = 5
PATIENCE = 1000  # replications after which a difference that hardly ever occurs is not waited for any longer


@dataclass(frozen=True)
class Reached:
    """The precision after a round.

    half_widths   per target the widest 95 % half-width over all cases and alternatives, in the output's unit; NaN where
                  one of them is not known, because too few pairs differ.
    met           whether all targets are met now.
    held_since    replications since which they have been met without a break; None where they are not met.
    expected      replications at which they are expected to be met, from the spread so far, and at least the minimum;
                  None where a spread is not known yet, or the target is out of reach.
    expected_end  the same with the look-ahead.
    stop          whether they have been met through the look-ahead.
    unknown       output -> pairs that differ, the fewest of any case and alternative, where after PATIENCE replications
                  there is no interval: too few differ, or all by the same. The study then ends without the precision.
    """

    replications: int
    half_widths: dict[str, float]
    met: bool
    held_since: int | None
    expected: int | None
    expected_end: int | None
    stop: bool
    unknown: Mapping[str, int] = field(default_factory=dict)

    @property
    def ends(self) -> bool:
        """Whether no more replications are to be run."""
        return self.stop or bool(self.unknown)


class Precision:
    """Stops when every target's paired half-width holds, after Hoad, Robinson & Davies (2010, J Oper Res Soc 61:1632).

    `targets`: {output: half-width of its 95 % interval in its unit, above 0}. Every case and alternative must meet them.

    It never stops before `least` replications: the standard deviation has a standard error of 11 % with 40 of them
    (1 / sqrt(2 x 39)) and of 16 % with 20, and a standard deviation that is too small by chance stops a study too early.
    After that the targets must remain met for another k replications: k = `look_ahead` up to n = 100 and
    `look_ahead` x n / 100 above, n being where they were first met (the paper's kLimit, 5). The paper checks after every
    replication; we check after every round, so the look-ahead is as many rounds as together have at least k
    replications: for rounds of 20 one further round up to n = 400, two up to 800. A check that fails starts it again.

    All replications that were run count, those of the look-ahead too: they narrow the interval and, as they come after
    the choice of n, dilute its luck. Coverage after stopping is still slightly below 95 %, because small standard
    deviations stop earlier: 94.5-94.7 % measured over 10,000 studies each in rounds of 20 (n of 45 and 100 by the
    formula, normal differences and gamma ones of skewness 1), and 93-94 % over 2,000 with exponential ones (skewness 2),
    all with Student's interval; that of `farrowtide.statistics.inference`, which is used, is somewhat wider.

    Where all pairs are equal, or nearly all, there is no interval and no target is met. What hardly ever occurs is waited
    for through PATIENCE replications.
    """

    def __init__(self, targets: Mapping[str, float], *, least: int = LEAST, look_ahead: int = LOOK_AHEAD) -> None:
        if not targets or not all(0 < half_width < math.inf for half_width in targets.values()):
            raise ValueError(f"targets = {dict(targets)}: at least one, each above 0")
        if least < 2 or look_ahead < 0:
            raise ValueError(f"least = {least} must be 2 or more, look_ahead = {look_ahead} 0 or more")
        self.targets = dict(targets)
        self.least = least
        self.look_ahead = look_ahead
        self._held_since: int | None = None

    def look_ahead_from(self, n: int) -> int:
        """Further replications through which the targets must remain met if they are first met at n."""
        return self.look_ahead * max(n, 100) // 100

    def after(self, paired: PairedMoments) -> Reached:
        """Checks the targets after a round; every round must be checked, in order."""
        n = paired.replications
        columns = [paired.outputs.index(name) for name in self.targets]
        targets = np.array(list(self.targets.values()))
        widest = half_width(paired.moments)[:, :, columns].max(axis=(0, 1))  # NaN where one of them is
        met = n >= self.least and bool((widest <= targets).all())
        if not met:
            self._held_since = None
        elif self._held_since is None:
            self._held_since = n
        since = self._held_since
        expected = self._expected(paired, columns, targets) if since is None else since
        return Reached(
            replications=n,
            half_widths=dict(zip(self.targets, widest.tolist(), strict=True)),
            met=met,
            held_since=since,
            expected=expected,
            expected_end=None if expected is None else expected + self.look_ahead_from(expected),
            stop=since is not None and n >= since + self.look_ahead_from(since),
            unknown=self._unknown(paired, columns, widest) if n >= PATIENCE else {},
        )

    def _unknown(self, paired: PairedMoments, columns: list[int], widest: np.ndarray) -> dict[str, int]:
        fewest = paired.moments.apart[:, :, columns].min(axis=(0, 1))
        return {
            name: int(count) for name, count, width in zip(self.targets, fewest, widest, strict=True) if np.isnan(width)
        }

    def _expected(self, paired: PairedMoments, columns: list[int], targets: np.ndarray) -> int | None:
        moments: Moments = paired.moments
        pairs = replications_needed(moments.sd[:, :, columns], targets)
        # Pairs that lack a value make proportionally more rooms necessary.
        rooms = pairs * paired.replications / np.maximum(moments.n[:, :, columns], 1)
        # So do pairs that are equal: an interval needs some that differ.
        apart = moments.apart[:, :, columns]
        rooms = np.maximum(rooms, np.where(apart > 0, LEAST_APART * paired.replications / np.maximum(apart, 1), np.nan))
        worst = rooms.max()
        return max(self.least, math.ceil(worst)) if worst < COUNTABLE else None

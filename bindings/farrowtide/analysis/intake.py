"""Feed eaten by day of lactation."""

from __future__ import annotations

import pandas as pd

from farrowtide.statistics.inference import interval
from farrowtide.statistics.moments import Moments


def intake_curves(days: pd.DataFrame) -> pd.DataFrame:
    """The mean over rooms and its 95 % interval [kg], NaN where there is none, by case, alternative, parity class and day.

    A curve ends where fewer than half of the sows are left: a group is weaned together, so few sows have the last days.
    """
    keys = ["case", "alternative", "parity_class"]
    parts = []
    for labels, part in days.groupby(keys, sort=False):
        rooms = part.pivot(index="replicate", columns="day", values="eaten_kg")
        sows = part.groupby("day")["sows"].sum()
        moments = Moments.of(rooms.to_numpy())
        low, high = interval(moments)
        columns = {"day": rooms.columns, "eaten_kg": moments.mean, "ci_low": low, "ci_high": high, "n": moments.n}
        curve = pd.DataFrame(columns)
        parts.append(curve[(sows >= 0.5 * sows.max()).to_numpy()].assign(**dict(zip(keys, labels, strict=True))))
    curves: pd.DataFrame = pd.concat(parts, ignore_index=True)
    return curves

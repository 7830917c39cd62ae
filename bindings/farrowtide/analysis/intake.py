"""Feed eaten by day of lactation."""

from __future__ import annotations

import pandas as pd

from farrowtide.statistics.intervals import interval


def intake_curves(days: pd.DataFrame) -> pd.DataFrame:
    """Mean over rooms and 95 % interval [kg] by case, alternative, parity class and day.

    Ends where fewer than half of the sows are left: a group is weaned together, so the last days are of few sows.
    """
    keys = ["case", "alternative", "parity_class"]
    parts = []
    for labels, part in days.groupby(keys, sort=False):
        rooms = part.pivot(index="replicate", columns="day", values="eaten_kg")
        sows = part.groupby("day")["sows"].sum()
        mean, _, low, high, n = interval(rooms.to_numpy())
        curve = pd.DataFrame({"day": rooms.columns, "eaten_kg": mean, "ci_low": low, "ci_high": high, "n": n})
        parts.append(curve[(sows >= 0.5 * sows.max()).to_numpy()].assign(**dict(zip(keys, labels, strict=True))))
    return pd.concat(parts, ignore_index=True)

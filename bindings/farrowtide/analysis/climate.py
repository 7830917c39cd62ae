"""The temperature of the room by day: wanted and reached."""

from __future__ import annotations

import numpy as np
import pandas as pd

ALIKE_K = 0.5  # less does not show in a picture of a season


def temperature_curves(days: pd.DataFrame) -> pd.DataFrame:
    """By case, alternative and day: means over rooms of what is wanted and reached, and the rooms' 10th and 90th percentile."""
    groups = days.groupby(["case", "alternative", "group_day"], sort=False)
    curves = groups[["wanted_deg_c", "reached_deg_c"]].mean()
    for name, share in (("p10_deg_c", 0.1), ("p90_deg_c", 0.9)):
        curves[name] = groups["reached_deg_c"].quantile(share)
    return curves.reset_index()


def drawn_alike(curves: pd.DataFrame, alternatives: list[str]) -> dict[str, list[str]]:
    """Alternative -> those with temperatures on the same days, within ALIKE_K of its own on each, itself included.

    Alternatives without any are left out.
    """
    means = curves.pivot(index="alternative", columns=["case", "group_day"], values=["wanted_deg_c", "reached_deg_c"])
    by_name = dict(zip(means.index, means.to_numpy(), strict=True))
    alike: dict[str, list[str]] = {}
    for name in (name for name in alternatives if name in by_name):
        near = (first for first in alike if _near(by_name[name], by_name[first]))
        alike.setdefault(next(near, name), []).append(name)
    return alike


def _near(some: np.ndarray, others: np.ndarray) -> bool:
    apart = np.abs(some - others)
    return bool((np.isnan(some) == np.isnan(others)).all() and np.nanmax(apart) <= ALIKE_K)

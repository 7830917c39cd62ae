"""Which sow a story is about, where she is described and not numbered."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pandas as pd

from farrowtide.engine.result import Result
from farrowtide.errors import UserError

WANTED = {
    "worst-litter": "the litter that lost most live-born piglets",
    "weak-deaths": "the litter in which most piglets died starved or weak",
    "crushed": "the litter in which most piglets were crushed",
    "late-feeds": "the sow for whom most feeding visits were late or not made",
    "late-work": "the sow for whom most visits of any kind were late or not made",
    "long-farrowing": "the sow with the longest farrowing",
    "weight-loss": "the sow that lost most weight",
}
RECORDED = ("piglets", "visits")
_KEYS = ["replicate", "sow"]


def find(wanted: str, result: Result) -> tuple[int, int, float]:
    """The replicate and number of the sow, and the number by which she was chosen; on ties the first.

    `wanted`: one of WANTED. Raises UserError where there is none.
    """
    if wanted not in _MEASURES:
        raise UserError(f"nothing is found by '{wanted}' (choose: {', '.join(WANTED)})")
    values = _MEASURES[wanted](result).dropna()
    values = values[values > 0]
    if values.empty:
        raise UserError(f"no replicate has {WANTED[wanted]}: name a sow, or look in more replicates (--replications)")
    first: Any = values.sort_index().idxmax()
    replicate, sow = first
    return int(replicate), int(sow), float(values.loc[first])


def _column(name: str) -> Callable[[Result], pd.Series]:
    return lambda result: result.sows.set_index(_KEYS)[name].astype(float)


def _deaths(cause: str) -> Callable[[Result], pd.Series]:
    def counted(result: Result) -> pd.Series:
        deaths = result.deaths[result.deaths["cause"] == cause]
        return deaths.groupby(["replicate", "reared_by"]).size().rename_axis(_KEYS).astype(float)

    return counted


def _missed(kinds: tuple[str, ...] | None) -> Callable[[Result], pd.Series]:
    def counted(result: Result) -> pd.Series:
        visits = result.visits
        missed = visits[visits["outcome"].isin(["late", "undone", "left out"]) & (visits["sow"] > 0)]
        if kinds is not None:
            missed = missed[missed["kind"].isin(kinds)]
        return missed.groupby(_KEYS).size().astype(float)

    return counted


_MEASURES: dict[str, Callable[[Result], pd.Series]] = {
    "worst-litter": _column("died_before_weaning"),
    "weak-deaths": _deaths("starved or weak"),
    "crushed": _deaths("crushed"),
    "late-feeds": _missed(("feed by hand", "full-access top-up")),
    "late-work": _missed(None),
    "long-farrowing": _column("farrowing_duration_min"),
    "weight-loss": _column("weight_loss_kg"),
}

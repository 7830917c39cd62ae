"""Outputs of the sow's health and its treatment."""

from __future__ import annotations

import numpy as np

from farrowtide.outputs.by_parity import by_parity
from farrowtide.outputs.output import Output
from farrowtide.outputs.readings import known, sows_where
from farrowtide.outputs.rooms import Rooms, labels_of
from farrowtide.statistics.intervals import ratio

_HEALTH = (
    "Risk from published risk factors with shrunken slopes; the cost of illness and the benefit of treatment are "
    "assumptions (grade C)."
)


def _treated_after_h(rooms: Rooms) -> np.ndarray:
    waits = rooms.values("sows", "treated_h") - rooms.values("sows", "disorder_onset_h")
    after = waits >= 0
    return ratio(rooms.sum_of("sows", waits, after), rooms.number("sows", after))


def _died(fates: np.ndarray) -> np.ndarray:
    return np.isin(fates, [code for code, fate in enumerate(labels_of("sows", "left_as")) if fate.startswith("died")])


def _healthy_treated(rooms: Rooms) -> np.ndarray:
    healthy = np.isnan(rooms.values("sows", "disorder_onset_h"))
    treated = known(rooms.values("sows", "treated_h"))
    return 100 * ratio(rooms.number("sows", healthy & treated), rooms.number("sows", healthy))


ILL = Output(
    "sows_ill_percent",
    "%",
    "Sows with post-partum disorder",
    sows_where("disorder_onset_h", known),
    good="lower",
    decimals=1,
    negligible=1.0,
    note=_HEALTH,
    group="further",
    share=True,
)
ILL_TREATED = Output(
    "ill_sows_treated_percent",
    "%",
    "Treated among the sows with post-partum disorder",
    sows_where("treated_h", known, "disorder_onset_h"),
    good="higher",
    decimals=1,
    negligible=2.0,
    note=_HEALTH,
    group="further",
    phrases=(
        "the share of sows with post-partum disorder that are treated rises by {}",
        "the share of sows with post-partum disorder that are treated falls by {}",
    ),
    share=True,
)
TREATED_AFTER = Output(
    "treated_after_onset_h",
    "h",
    "Time from onset of post-partum disorder to treatment",
    _treated_after_h,
    good="lower",
    decimals=1,
    negligible=2.0,
    note=_HEALTH,
    group="further",
    phrases=(
        "sows with post-partum disorder are treated {} later",
        "sows with post-partum disorder are treated {} earlier",
    ),
    hinges_on_few=True,
)
TREATED = Output(
    "sows_treated_percent",
    "%",
    "Treated sows, with or without disorder",
    sows_where("treated_h", known),
    good="lower",
    decimals=1,
    negligible=1.0,
    note=_HEALTH,
    group="further",
    share=True,
)
TREATED_NOT_ILL = Output(
    "treated_without_disorder_percent",
    "%",
    "Treated sows without post-partum disorder",
    sows_where("disorder_onset_h", np.isnan, "treated_h"),
    good="lower",
    decimals=1,
    negligible=2.0,
    note=_HEALTH,
    group="further",
    share=True,
)
HEALTHY_TREATED = Output(
    "healthy_sows_treated_percent",
    "%",
    "Treated among the sows without post-partum disorder",
    _healthy_treated,
    good="lower",
    decimals=1,
    negligible=1.0,
    note=_HEALTH,
    group="further",
    phrases=(
        "the share of healthy sows that are treated rises by {}",
        "the share of healthy sows that are treated falls by {}",
    ),
    share=True,
)
GILTS_READY = Output(
    "gilts_ready_percent",
    "%",
    "First-parity sows that drink and eat in time",
    sows_where("ready_in_time", lambda ready: ready > 0, "ready_in_time"),
    good="higher",
    decimals=1,
    negligible=2.0,
    note="Have learned to use drinker and feeder within loading.ready_within (24 h by default); learning times are assumptions.",
    group="further",
    share=True,
)
LOST = Output(
    "sows_lost_percent",
    "%",
    "Sow mortality",
    sows_where("left_as", _died),
    good="lower",
    decimals=2,
    negligible=0.5,
    note="Level from herd records; the factors that raise it are partly assumptions.",
    group="further",
    phrases=("sow mortality is {} higher", "sow mortality is {} lower"),
    share=True,
)
OFF_FEED = Output(
    "sows_with_zero_feed_day_percent",
    "%",
    "Sows with at least one day without feed intake",
    sows_where("zero_feed_days", lambda days: days > 0),
    good="lower",
    decimals=2,
    negligible=0.5,
    note=_HEALTH,
    group="further",
    share=True,
)


def practices_by_parity() -> list[Output]:
    """Sows with post-partum disorder, for each parity class."""
    return by_parity(ILL, "sows_ill_{}_percent", lambda parity: sows_where("disorder_onset_h", known, parity=parity))

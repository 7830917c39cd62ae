"""Outputs of the sow's health and its treatment."""

from __future__ import annotations

import numpy as np
import pandas as pd

from farrowtide.outputs.output import Output
from farrowtide.outputs.readings import sows_where
from farrowtide.outputs.rooms import Rooms
from farrowtide.statistics.intervals import ratio

_HEALTH = (
    "Risk after published signs with slopes shrunk; what illness costs and what treatment saves is assumed (grade C)."
)


def _treated_after_h(rooms: Rooms) -> np.ndarray:
    sows = rooms.tables["sows"]
    waits = (sows["treated_h"] - sows["disorder_onset_h"]).to_numpy()
    after = waits >= 0
    return ratio(rooms.sum_of("sows", waits, after), rooms.number("sows", after))


ILL = Output(
    "sows_ill_percent",
    "%",
    "Sows with the post-partum disorder",
    sows_where("disorder_onset_h", pd.Series.notna),
    good="lower",
    decimals=1,
    negligible=1.0,
    note=_HEALTH,
    group="further",
)
ILL_TREATED = Output(
    "ill_sows_treated_percent",
    "%",
    "Sows with the disorder that were treated",
    sows_where("treated_h", pd.Series.notna, "disorder_onset_h"),
    good="higher",
    decimals=1,
    negligible=2.0,
    note=_HEALTH,
    group="further",
)
TREATED_AFTER = Output(
    "treated_after_onset_h",
    "h",
    "Onset of the disorder to its treatment",
    _treated_after_h,
    good="lower",
    decimals=1,
    negligible=2.0,
    note=_HEALTH,
    group="further",
)
TREATED = Output(
    "sows_treated_percent",
    "%",
    "Sows treated, ill or not",
    sows_where("treated_h", pd.Series.notna),
    good="lower",
    decimals=1,
    negligible=1.0,
    note=_HEALTH,
    group="further",
)
TREATED_NOT_ILL = Output(
    "treated_without_disorder_percent",
    "%",
    "Treated sows that did not have the disorder",
    sows_where("disorder_onset_h", pd.Series.isna, "treated_h"),
    good="lower",
    decimals=1,
    negligible=2.0,
    note=_HEALTH,
    group="further",
)
LOST = Output(
    "sows_lost_percent",
    "%",
    "Sows that died in the room",
    sows_where("left_as", lambda fate: fate != "weaned"),
    good="lower",
    decimals=2,
    negligible=0.5,
    note="Level from herd records; what raises it is partly assumed.",
    group="further",
)
OFF_FEED = Output(
    "sows_with_zero_feed_day_percent",
    "%",
    "Sows with a day without any feed eaten",
    sows_where("zero_feed_days", lambda days: days > 0),
    good="lower",
    decimals=2,
    negligible=0.5,
    note=_HEALTH,
    group="further",
)

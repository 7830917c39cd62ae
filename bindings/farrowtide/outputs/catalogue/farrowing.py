"""Outputs of births."""

from __future__ import annotations

import numpy as np

from farrowtide.outputs.output import Output
from farrowtide.outputs.readings import share
from farrowtide.outputs.rooms import LONG_FARROWING_MIN, Rooms
from farrowtide.statistics.intervals import ratio

_BIRTHS = "Fitted to observed herds; the effect of help and of hours since the last meal rests on few trials."


def _long_farrowings(rooms: Rooms) -> np.ndarray:
    durations = rooms.tables["sows"]["farrowing_duration_min"].to_numpy()
    return 100 * ratio(rooms.number("sows", durations > LONG_FARROWING_MIN), rooms.number("sows", ~np.isnan(durations)))


LONG_FARROWINGS = Output(
    "farrowings_over_5_h_percent",
    "%",
    "Farrowings over 5 h",
    _long_farrowings,
    good="lower",
    decimals=1,
    negligible=1.0,
    note=_BIRTHS,
    phrases=("farrowings over 5 h rise by {}", "farrowings over 5 h fall by {}"),
)
STILLBORN = Output(
    "stillborn_percent",
    "%",
    "Piglets stillborn",
    share("stillborn", "total_born"),
    good="lower",
    decimals=1,
    negligible=0.5,
    note=_BIRTHS,
    group="further",
)
ATTENDED = Output(
    "births_attended_percent",
    "%",
    "Births attended",
    share("attended_births", "total_born"),
    good="higher",
    decimals=1,
    negligible=1.0,
    note="Follows the rounds and the hours staff are in.",
    group="further",
)
DURATION = Output(
    "farrowing_duration_median_min",
    "min",
    "Farrowing duration, median sow",
    lambda rooms: rooms.median("sows", "farrowing_duration_min"),
    good="lower",
    decimals=0,
    negligible=5.0,
    note=_BIRTHS,
    group="further",
)

"""Outputs of farrowing: duration, stillbirths, attendance."""

from __future__ import annotations

import numpy as np

from farrowtide.outputs.by_parity import by_parity
from farrowtide.outputs.output import Output
from farrowtide.outputs.readings import share
from farrowtide.outputs.rooms import LONG_FARROWING_MIN, Rooms
from farrowtide.statistics.intervals import ratio

_BIRTHS = "Fitted to observed herds; the effects of assistance and of the time since the last meal rest on few trials."


def _long_farrowings(rooms: Rooms) -> np.ndarray:
    durations = rooms.values("sows", "farrowing_duration_min")
    return 100 * ratio(rooms.number("sows", durations > LONG_FARROWING_MIN), rooms.number("sows", ~np.isnan(durations)))


LONG_FARROWINGS = Output(
    "farrowings_over_5_h_percent",
    "%",
    "Farrowings longer than 5 h",
    _long_farrowings,
    good="lower",
    decimals=1,
    negligible=1.0,
    note=_BIRTHS,
    share=True,
)
STILLBORN = Output(
    "stillborn_percent",
    "%",
    "Stillborn piglets",
    share("stillborn", "total_born"),
    good="lower",
    decimals=1,
    negligible=0.5,
    note=_BIRTHS,
    group="further",
    share=True,
)
ATTENDED = Output(
    "births_attended_percent",
    "%",
    "Attended births",
    share("attended_births", "total_born"),
    good="higher",
    decimals=1,
    negligible=1.0,
    note="Follows from the farrowing rounds and the hours that staff are on duty.",
    group="further",
    share=True,
)
ATTENDED_ON_DUTY = Output(
    "births_attended_on_duty_percent",
    "%",
    "Attended births, of those while staff are on duty",
    share("attended_births_on_duty", "births_on_duty"),
    good="higher",
    decimals=1,
    negligible=1.0,
    note="What rounds and other work leave of the hours on duty; births at other hours do not count.",
    group="further",
    share=True,
)
DURATION = Output(
    "farrowing_duration_median_min",
    "min",
    "Median farrowing duration",
    lambda rooms: rooms.median("sows", "farrowing_duration_min"),
    good="lower",
    decimals=0,
    negligible=5.0,
    note=_BIRTHS,
    group="further",
    phrases=("the median farrowing is {} longer", "the median farrowing is {} shorter"),
    hinges_on_few=True,
)


def practices_by_parity() -> list[Output]:
    """Stillborn piglets, for each parity class."""
    return by_parity(STILLBORN, "stillborn_{}_percent", lambda parity: share("stillborn", "total_born", parity=parity))

"""Outputs of feed and water intake."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from farrowtide.outputs.output import Output
from farrowtide.outputs.readings import mean, per_litter, share
from farrowtide.outputs.rooms import PARITY_CLASSES, Rooms, parity_class

_INTAKE = (
    "Appetite is fitted to published herds; how far a feeding rule limits intake follows from trough capacity, "
    "feeding times and freshness of the feed."
)


def _intake_of(index: int) -> Callable[[Rooms], np.ndarray]:
    def of_class(rooms: Rooms) -> np.ndarray:
        return rooms.mean("sows", "feed_intake_kg_per_day", parity_class(rooms.tables["sows"]["parity"]) == index)

    return of_class


FEED_INTAKE = Output(
    "feed_intake_kg_per_day",
    "kg/d",
    "Feed intake per sow",
    mean("feed_intake_kg_per_day"),
    good="higher",
    decimals=2,
    negligible=0.05,
    note=_INTAKE,
    phrases=("sows eat {} more", "sows eat {} less"),
)
EARLY_INTAKE = Output(
    "feed_intake_d1_7_kg_per_day",
    "kg/d",
    "Feed intake per sow on days 1-7",
    mean("feed_intake_d1_7_kg_per_day"),
    good="higher",
    decimals=2,
    negligible=0.05,
    note=_INTAKE,
    group="further",
)
ZERO_FEED_DAYS = Output(
    "zero_feed_days_percent",
    "%",
    "Lactation days without feed intake",
    share("zero_feed_days", "lactation_length_d"),
    good="lower",
    decimals=2,
    negligible=0.5,
    note=_INTAKE,
    group="further",
    share=True,
)
LOW_FEED_DAYS = Output(
    "low_feed_days_percent",
    "%",
    "Lactation days with intake below half the sow's mean",
    share("low_feed_days", "lactation_length_d"),
    decimals=1,
    negligible=1.0,
    note=_INTAKE,
    group="further",
    share=True,
)
WASTED = Output(
    "feed_wasted_kg_per_litter",
    "kg",
    "Feed wasted per litter",
    per_litter("all_sows", "feed_wasted_kg"),
    decimals=1,
    negligible=0.5,
    note="A fixed share of the feed taken from the trough.",
    group="further",
)
WATER = Output(
    "water_l_per_day",
    "L/d",
    "Water intake per sow",
    mean("water_l_per_day"),
    decimals=1,
    negligible=0.5,
    note="Follows from feed intake and temperature.",
    group="further",
)


def by_parity() -> list[Output]:
    """Feed intake [kg/d] for each parity class, in the order of PARITY_CLASSES."""
    return [
        Output(
            f"feed_intake_{name.lower().replace('+', '_up')}_kg_per_day",
            "kg/d",
            f"Lactation feed intake, {name}",
            _intake_of(index),
            good="higher",
            decimals=2,
            negligible=0.05,
            note=_INTAKE,
            group="intake by parity",
        )
        for index, name in enumerate(PARITY_CLASSES)
    ]

"""Outputs of feed and water intake."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from farrowtide.outputs.by_parity import by_parity as for_each_parity
from farrowtide.outputs.output import Output
from farrowtide.outputs.readings import known, mean, per_litter, share
from farrowtide.outputs.rooms import PARITY_CLASSES, Rooms
from farrowtide.statistics.intervals import ratio

_INTAKE = (
    "Appetite is fitted to published herds; how far a feeding rule limits intake follows from trough capacity, "
    "feeding times and freshness of the feed."
)


_OFF_FEED_KG = 1.0  # a sow that eats less in a day is called off feed in practice
_FEED_TASK = "feed by hand"


def _off_feed_on(day: int, parity: int | None = None) -> Callable[[Rooms], np.ndarray]:
    """The percentage of sows that eat less than _OFF_FEED_KG on a lactation day."""

    def percent(rooms: Rooms) -> np.ndarray:
        that_day = rooms.values("sow_days", "day") == day
        if parity is not None:
            that_day = that_day & rooms.of_parity("sow_days", parity)
        off_feed = (rooms.values("sow_days", "eaten_kg") < _OFF_FEED_KG) & that_day
        return 100 * ratio(rooms.number("sow_days", off_feed), rooms.number("sow_days", that_day))

    return percent


def _feed_delay_h(rooms: Rooms) -> np.ndarray:
    delays = rooms.values("tasks", "done_h") - rooms.values("tasks", "asked_h")
    given = rooms.is_labelled("tasks", "kind", _FEED_TASK) & known(delays)
    return ratio(rooms.sum_of("tasks", delays, given), rooms.number("tasks", given))


def _off_feed(day: int) -> Output:
    return Output(
        f"sows_off_feed_d{day}_percent",
        "%",
        f"Sows off feed on day {day}",
        _off_feed_on(day),
        good="lower",
        decimals=1,
        negligible=1.0,
        note=f"{_INTAKE} Off feed: less than {_OFF_FEED_KG:g} kg eaten that day, a limit of common practice.",
        table="sow_days",
        group="further",
        share=True,
    )


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
OFF_FEED_D1, OFF_FEED_D2 = _off_feed(1), _off_feed(2)
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
DELAY = Output(
    "feed_delay_h",
    "h",
    "Time from feeding time to the feed in the trough",
    _feed_delay_h,
    good="lower",
    decimals=2,
    negligible=0.1,
    note="Hand feeds; follows from the staff on duty and the order of their tasks.",
    table="tasks",
    group="further",
    phrases=("hand feeds come {} later", "hand feeds come {} earlier"),
)
OFFERED = Output(
    "feed_offered_kg_per_litter",
    "kg",
    "Feed offered per litter",
    per_litter("sow_days", "offered_kg"),
    decimals=1,
    negligible=1.0,
    note="Follows from the allowance, from loading to weaning.",
    table="sow_days",
    group="further",
)
UNDELIVERED = Output(
    "feed_undelivered_kg_per_litter",
    "kg",
    "Feed not delivered per litter",
    per_litter("all_sows", "feed_undelivered_kg"),
    good="lower",
    decimals=1,
    negligible=0.5,
    note="Feed that was meant for her but did not fit into the trough.",
    group="further",
)
REMOVED = Output(
    "feed_removed_kg_per_litter",
    "kg",
    "Feed removed from troughs per litter",
    per_litter("all_sows", "feed_removed_kg"),
    good="lower",
    decimals=1,
    negligible=0.5,
    note="Feed that had spoiled; how long feed keeps is partly assumed.",
    group="further",
)
_MORNINGS = "Mornings on which somebody came to a trough that had been filled"
_TOO_FEW_MORNINGS = "No value where that was less than every other morning, as under full access."
EMPTY_MORNINGS = Output(
    "empty_mornings_percent",
    "%",
    "Mornings with an empty trough",
    share("empty_mornings", "trough_mornings", half_of="lactation_length_d"),
    decimals=1,
    negligible=1.0,
    note=f"{_MORNINGS}; an empty one may have been empty for hours. {_TOO_FEW_MORNINGS}",
    group="further",
    share=True,
)
UNTOUCHED_MORNINGS = Output(
    "untouched_mornings_percent",
    "%",
    "Mornings with feed left untouched",
    share("untouched_mornings", "trough_mornings", half_of="lactation_length_d"),
    good="lower",
    decimals=1,
    negligible=1.0,
    note=f"{_MORNINGS} and a large share was left. {_TOO_FEW_MORNINGS}",
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
            mean("feed_intake_kg_per_day", parity=index),
            good="higher",
            decimals=2,
            negligible=0.05,
            note=_INTAKE,
            group="intake by parity",
            of_one_parity_class=True,
        )
        for index, name in enumerate(PARITY_CLASSES)
    ]


def practices_by_parity() -> list[Output]:
    """Intake in the first week and sows off feed, for each parity class."""

    def early(parity: int) -> Callable[[Rooms], np.ndarray]:
        return mean("feed_intake_d1_7_kg_per_day", parity=parity)

    return [
        *for_each_parity(EARLY_INTAKE, "feed_intake_d1_7_{}_kg_per_day", early),
        *for_each_parity(OFF_FEED_D1, "sows_off_feed_d1_{}_percent", lambda parity: _off_feed_on(1, parity)),
        *for_each_parity(OFF_FEED_D2, "sows_off_feed_d2_{}_percent", lambda parity: _off_feed_on(2, parity)),
    ]

"""Outputs of the sow's body and of her next cycle: weight, backfat, return to oestrus, farrowing rate, removal."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from farrowtide.outputs.by_parity import by_parity
from farrowtide.outputs.output import Output
from farrowtide.outputs.readings import mean
from farrowtide.outputs.rooms import Rooms

_BODY = (
    "Energy balance from published equations; the known bias under severe feed restriction is on the validation page."
)
_NEXT_CYCLE = "Computed after weaning, outside the room, from the sow's losses and her farrowing; a probability, not a drawn fate."


def _percent(column: str, parity: int | None = None) -> Callable[[Rooms], np.ndarray]:
    """The mean of a column of probabilities [%]."""
    return lambda rooms: 100 * mean(column, parity=parity)(rooms)


WEIGHT_LOSS = Output(
    "weight_loss_kg",
    "kg",
    "Sow weight loss",
    mean("weight_loss_kg"),
    good="lower",
    decimals=1,
    negligible=0.5,
    note=_BODY,
    phrases=("sows lose {} more weight", "sows lose {} less weight"),
)
WEIGHT_LOSS_SHARE = Output(
    "weight_loss_percent",
    "%",
    "Sow weight loss, share of the weight after farrowing",
    mean("weight_loss_percent"),
    good="lower",
    decimals=1,
    negligible=0.2,
    note=_BODY,
    group="further",
    phrases=("sows lose {} more of their weight after farrowing", "sows lose {} less of their weight after farrowing"),
)
BACKFAT_LOSS = Output(
    "backfat_loss_mm",
    "mm",
    "Backfat loss in lactation (P2)",
    mean("backfat_loss_mm"),
    good="lower",
    decimals=2,
    negligible=0.2,
    note=_BODY,
    group="further",
)
OESTRUS = Output(
    "weaning_to_oestrus_d",
    "d",
    "Weaning-to-oestrus interval",
    mean("weaning_to_oestrus_d"),
    good="lower",
    decimals=1,
    negligible=0.1,
    note="Computed after weaning, outside the room, of the sows that come into oestrus.",
    group="further",
    phrases=("the weaning-to-oestrus interval is {} longer", "the weaning-to-oestrus interval is {} shorter"),
    of_one_animal=12.0,  # one that comes into oestrus weeks later, or not at all, makes most of the difference of a room
)
FARROWING_RATE = Output(
    "farrowing_rate_percent",
    "%",
    "Farrowing rate of the next service",
    _percent("farrowing_rate"),
    good="higher",
    decimals=1,
    negligible=0.5,
    note=_NEXT_CYCLE,
    group="further",
    phrases=("the farrowing rate is {} higher", "the farrowing rate is {} lower"),
    share=True,
)
NEXT_LITTER = Output(
    "next_total_born_change_piglets",
    "piglets",
    "Change of the next litter",
    mean("next_total_born_change"),
    good="higher",
    decimals=2,
    negligible=0.05,
    note=_NEXT_CYCLE,
    group="further",
    phrases=("the next litter is {} larger", "the next litter is {} smaller"),
)
REMOVAL = Output(
    "removal_percent",
    "%",
    "Sows removed before they farrow again",
    _percent("removal_risk"),
    good="lower",
    decimals=1,
    negligible=0.5,
    note=_NEXT_CYCLE,
    group="further",
    share=True,
    of_one_animal=50.0,  # one that does not come into oestrus makes most of the difference of a room
)


def practices_by_parity() -> list[Output]:
    """Farrowing rate and removal, for each parity class."""
    rate = replace(FARROWING_RATE, hinges_on_few=True)  # one sow that fares badly makes the mean of a few
    return [
        *by_parity(rate, "farrowing_rate_{}_percent", lambda parity: _percent("farrowing_rate", parity)),
        *by_parity(REMOVAL, "removal_{}_percent", lambda parity: _percent("removal_risk", parity)),
    ]

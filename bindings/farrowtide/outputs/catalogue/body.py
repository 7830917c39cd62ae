"""Outputs of the sow's body: weight, backfat, return to oestrus."""

from __future__ import annotations

from farrowtide.outputs.output import Output
from farrowtide.outputs.readings import mean

_BODY = (
    "Energy balance from published equations; the known bias under severe feed restriction is on the validation page."
)


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
    note="Computed after weaning, outside the room; understates the effect of severe feed restriction (grade C).",
    group="further",
    phrases=("the weaning-to-oestrus interval is {} longer", "the weaning-to-oestrus interval is {} shorter"),
)

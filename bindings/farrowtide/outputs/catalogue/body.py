"""Outputs of the sow's body: weight, backfat, return to oestrus."""

from __future__ import annotations

from farrowtide.outputs.output import Output
from farrowtide.outputs.readings import mean

_BODY = (
    "Energy balance after published equations; the miss at strong under-feeding is known and shown with the validation."
)


WEIGHT_LOSS = Output(
    "weight_loss_kg",
    "kg",
    "Sow weight lost",
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
    "Sow weight lost, of the weight after farrowing",
    mean("weight_loss_percent"),
    good="lower",
    decimals=1,
    negligible=0.2,
    note=_BODY,
    group="further",
)
BACKFAT_LOSS = Output(
    "backfat_loss_mm",
    "mm",
    "Backfat lost in lactation (P2)",
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
    "Weaning to oestrus",
    mean("weaning_to_oestrus_d"),
    good="lower",
    decimals=1,
    negligible=0.1,
    note="Apart from the room: under-states strong feed restriction (grade C).",
    group="further",
)

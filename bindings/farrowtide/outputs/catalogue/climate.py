"""Outputs of the room's climate."""

from __future__ import annotations

from farrowtide.outputs.output import Output
from farrowtide.outputs.readings import per_litter

HEATER = Output(
    "heater_kwh_per_litter",
    "kWh",
    "Room heating energy per litter",
    per_litter("rooms", "heater_kwh"),
    good="lower",
    decimals=1,
    negligible=1.0,
    note="Heat balance of a room with default insulation; the building itself matters more than the policy.",
    table="rooms",
    group="further",
)

"""Outputs of the room's climate."""

from __future__ import annotations

import numpy as np

from farrowtide.outputs.output import Output
from farrowtide.outputs.readings import mean, per_litter
from farrowtide.outputs.rooms import Rooms
from farrowtide.statistics.intervals import ratio


def _above_set_point_k(rooms: Rooms) -> np.ndarray:
    """Hours without a set point, as in an imposed climate, do not count."""
    above = rooms.values("rooms", "temperature_deg_c") - rooms.values("rooms", "set_point_deg_c")
    known = ~np.isnan(above)
    return ratio(rooms.sum_of("rooms", np.maximum(above, 0.0), known), rooms.number("rooms", known))


HEATER = Output(
    "heater_kwh_per_litter",
    "kWh",
    "Room heating energy per litter",
    per_litter("rooms", "heater_kwh"),
    good="lower",
    decimals=1,
    negligible=1.0,
    note="Heat balance of a room with default insulation; the building itself matters more than the policy. "
    "Of the heater alone: the energy of heat lamps is not modelled.",
    table="rooms",
    group="further",
)
ROOM_TEMPERATURE = Output(
    "room_temperature_deg_c",
    "degC",
    "Room temperature reached",
    mean("temperature_deg_c", "rooms"),
    decimals=1,
    negligible=0.2,
    note="Mean over all hours until the room is empty; follows from the weather, the set point and the room's ventilation.",
    table="rooms",
    group="further",
)
SET_POINT = Output(
    "room_wanted_deg_c",
    "degC",
    "Room set point",
    mean("set_point_deg_c", "rooms"),
    decimals=1,
    negligible=0.2,
    note="Mean of the set points over the same hours; in an imposed climate, the temperature itself.",
    table="rooms",
    group="further",
)
ABOVE_SET_POINT = Output(
    "room_above_set_point_k",
    "K",
    "Room temperature above the set point",
    _above_set_point_k,
    good="lower",
    decimals=2,
    negligible=0.2,
    note="Mean over all hours, those below the set point as 0; follows from the weather and the room's ventilation.",
    table="rooms",
    group="further",
    phrases=("the room is {} further above its set point", "the room is {} closer to its set point"),
)

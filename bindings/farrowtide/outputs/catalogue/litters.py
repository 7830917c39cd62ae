"""Outputs of litters: survival, growth, moves."""

from __future__ import annotations

import numpy as np

from farrowtide.outputs.output import Output
from farrowtide.outputs.readings import mean, per_litter, share, sows_where
from farrowtide.outputs.rooms import Rooms

_SURVIVAL = "Hazards scaled to one published herd; their shares by cause and age are partly assumptions."


def _litter_integrity(rooms: Rooms) -> np.ndarray:
    return 100 - share("born_here_and_moved", "born_alive")(rooms)


LITTER_WEIGHT = Output(
    "litter_weight_at_weaning_kg",
    "kg",
    "Litter weight at weaning",
    mean("litter_weight_at_weaning_kg"),
    good="higher",
    decimals=1,
    negligible=0.5,
    note="Follows litter growth and survival.",
    phrases=("litters are {} heavier at weaning", "litters are {} lighter at weaning"),
)
MORTALITY = Output(
    "preweaning_mortality_percent",
    "%",
    "Live-born dead before weaning",
    share("died_before_weaning", "born_alive", "all_sows"),
    good="lower",
    decimals=1,
    negligible=0.5,
    note=_SURVIVAL,
    phrases=("deaths before weaning rise by {}", "deaths before weaning fall by {}"),
)
WEANED = Output(
    "weaned_per_litter",
    "piglets",
    "Weaned per litter",
    per_litter("all_sows", "weaned"),
    good="higher",
    decimals=2,
    negligible=0.05,
    note=_SURVIVAL,
    phrases=("{} more are weaned per litter", "{} fewer are weaned per litter"),
)
LITTER_GAIN = Output(
    "litter_gain_kg_per_day",
    "kg/d",
    "Litter growth",
    mean("litter_gain_kg_per_day"),
    good="higher",
    decimals=2,
    negligible=0.03,
    note="Milk after published curves; how much more feed gives more milk in older sows is a known miss (low).",
    group="further",
)
SCOURED = Output(
    "litters_scoured_percent",
    "%",
    "Litters with scours",
    sows_where("scours", lambda scours: scours > 0),
    good="lower",
    decimals=1,
    negligible=1.0,
    note="Onset scaled to one national record; attack and length are assumed.",
    group="further",
)
MOVED = Output(
    "piglets_moved_percent",
    "%",
    "Piglets moved to another sow",
    share("piglets_moved_in", "born_alive", "all_sows"),
    decimals=1,
    negligible=1.0,
    note="Fostering, piglets of sows that died, and moves a scenario prescribes; each move counts.",
    group="further",
)
INTEGRITY = Output(
    "litter_integrity_percent",
    "%",
    "Piglets that stay with their dam",
    _litter_integrity,
    good="higher",
    decimals=1,
    negligible=1.0,
    note="Born alive and never moved.",
    group="further",
)

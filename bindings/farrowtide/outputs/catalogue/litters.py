"""Outputs of litters: survival, growth, moves."""

from __future__ import annotations

import numpy as np

from farrowtide.outputs.output import Output
from farrowtide.outputs.readings import mean, per_litter, share, sows_where
from farrowtide.outputs.rooms import Rooms
from farrowtide.statistics.intervals import ratio

_SURVIVAL = "Hazards are scaled to one published herd; their split by cause and age is partly assumed."
_INTEGRITY_WANTED_PERCENT = 85  # common practice, no source


def _litter_integrity(rooms: Rooms) -> np.ndarray:
    return 100 - share("born_here_and_moved", "born_alive")(rooms)


def _below_integrity(rooms: Rooms) -> np.ndarray:
    integrity = _litter_integrity(rooms)
    return np.where(np.isnan(integrity), np.nan, 100.0 * (integrity < _INTEGRITY_WANTED_PERCENT))


def _kept_whole(rooms: Rooms) -> np.ndarray:
    left, came = (rooms.values("sows", name) for name in ("born_here_and_moved", "piglets_moved_in"))
    of_litter = rooms.values("sows", "born_alive") > 0
    return 100 * ratio(rooms.number("sows", of_litter & (left == 0) & (came == 0)), rooms.number("sows", of_litter))


LITTER_WEIGHT = Output(
    "litter_weight_at_weaning_kg",
    "kg",
    "Litter weight at weaning",
    mean("litter_weight_at_weaning_kg"),
    good="higher",
    decimals=1,
    negligible=0.5,
    note="Follows from litter growth and survival.",
    phrases=("litters are {} heavier at weaning", "litters are {} lighter at weaning"),
)
MORTALITY = Output(
    "preweaning_mortality_percent",
    "%",
    "Pre-weaning mortality",
    share("died_before_weaning", "born_alive", "all_sows"),
    good="lower",
    decimals=1,
    negligible=0.5,
    note=_SURVIVAL,
    phrases=("pre-weaning mortality is {} higher", "pre-weaning mortality is {} lower"),
    share=True,
)
WEANED = Output(
    "weaned_per_litter",
    "piglets",
    "Piglets weaned per litter",
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
    "Litter weight gain",
    mean("litter_gain_kg_per_day"),
    good="higher",
    decimals=2,
    negligible=0.03,
    note="Milk yield from published curves; its response to feed intake in older sows is known to be too weak.",
    group="further",
)
WEANING_WEIGHT = Output(
    "weaning_weight_kg",
    "kg",
    "Weaning weight of a piglet",
    mean("weaning_weight_kg", "piglets"),
    good="higher",
    decimals=2,
    negligible=0.05,
    note="Mean over all weaned piglets; the spread within litters is known to be too wide at long lactations.",
    table="piglets",
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
    note="Onset is scaled to one national data set; attack rate and duration are assumptions.",
    group="further",
    share=True,
)
MOVED = Output(
    "piglets_moved_percent",
    "%",
    "Piglets moved to another sow",
    share("piglets_moved_in", "born_alive", "all_sows"),
    decimals=1,
    negligible=1.0,
    note="Counts every move: cross-fostering, piglets of sows that died, and moves that the scenario prescribes.",
    group="further",
    hinges_on_few=True,
)
INTEGRITY = Output(
    "litter_integrity_percent",
    "%",
    "Litter integrity",
    _litter_integrity,
    good="higher",
    decimals=1,
    negligible=1.0,
    note="Share of live-born piglets that never move from their dam; the piglets of a sow that dies do.",
    group="further",
    phrases=("litter integrity is {} higher", "litter integrity is {} lower"),
    share=True,
    hinges_on_few=True,
)
KEPT_WHOLE = Output(
    "litters_kept_whole_percent",
    "%",
    "Litters kept whole",
    _kept_whole,
    good="higher",
    decimals=1,
    negligible=2.0,
    note="Share of litters of which no live-born piglet was moved to another sow, and to which none was brought.",
    group="further",
    phrases=("the share of litters kept whole is {} higher", "the share of litters kept whole is {} lower"),
    share=True,
    hinges_on_few=True,
    of_one_animal=150.0,  # rooms in which two litters or more are kept whole, or not, make most of the difference
)
BELOW_INTEGRITY = Output(
    "rooms_below_85_integrity_percent",
    "%",
    f"Rooms with a litter integrity below {_INTEGRITY_WANTED_PERCENT} %",
    _below_integrity,
    good="lower",
    decimals=0,
    negligible=5.0,
    note="The limit is common practice, no source.",
    group="further",
    share=True,
)
OF_MOVES = frozenset(output.name for output in (MOVED, INTEGRITY, KEPT_WHOLE, BELOW_INTEGRITY))

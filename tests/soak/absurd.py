"""What no animal can be, and what none should be without a warning beside it.

The limits are our own choice (common practice, no source), wider than those of the warnings and measured apart from
them, so that a warning that was lost is noticed.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from farrowtide import Result, _core

# Columns that may be negative; all other numbers are amounts, counts, times or numbers of things.
_SIGNED = {
    *("day", "weight_change_kg", "weight_loss_kg", "weight_loss_percent", "backfat_loss_mm", "body_energy_change_mcal"),
    *("litter_gain_kg", "litter_gain_kg_per_day", "next_total_born_change", "sow", "piglet", "reared_by"),
    *(
        "appetite_effect_log",
        "milk_effect_log",
        "duration_effect_log",
        "weight_kg",
        "weighed_kg",
        "backfat_mm",
        "weight_at_weaning_kg",
    ),
    *(
        "outdoor_deg_c",
        "temperature_deg_c",
        "room_temperature_deg_c",
        "effective_temperature_deg_c",
        "amount",
        "detail",
    ),
}
_SHARES = {"farrowing_rate", "removal_risk"}


@dataclass(frozen=True)
class Absurd:
    """A range of a column that is absurd outside, and the measures of plausible ranges of which one must then be warned of."""

    table: str
    column: str
    low: float
    high: float
    warned_of: tuple[str, ...] = ()


_LOSS = (
    *("lowest weight", "highest weight", "weight lost in lactation", "lowest P2 backfat"),
    *("feed eaten in a day", "lactation days without feed"),
)
ABSURD = (
    Absurd("sow_days", "weight_kg", 95, 480, _LOSS),
    Absurd("sow_days", "weighed_kg", 90, 490, _LOSS),
    Absurd("sow_days", "backfat_mm", 2, 60, ("lowest P2 backfat", "highest P2 backfat")),
    Absurd("sow_days", "eaten_kg", 0, 16, ("feed eaten in a day",)),
    Absurd("sow_days", "piglets", 0, 23, ("piglets nursing one sow",)),
    Absurd("sow_days", "water_l", 0, 150, ("water drunk in a day",)),
    Absurd("sow_days", "milk_mcal", 0, 45),
    Absurd("sows", "weight_loss_percent", -60, 32, _LOSS),
    Absurd("sows", "farrowing_duration_min", 0, 26 * 60, ("duration of farrowing",)),
    Absurd("sows", "zero_feed_days", 0, 5, ("lactation days without feed",)),
    Absurd("sows", "rectal_temperature_deg_c", 36, 43),
    Absurd("sows", "gestation_length_d", 105, 125),
    # Published intervals begin at 0 d: "0-3 d" is the first class of Iida & Koketsu 2019 (sow.after_weaning.interval).
    Absurd("sows", "weaning_to_oestrus_d", 0, 100),
    Absurd("piglets", "birth_weight_kg", 0.2, 3.5),
    Absurd("piglets", "weaning_weight_kg", 0.8, 20, ("weaning weight of a piglet", "gain from birth to weaning")),
    Absurd("piglets", "colostrum_g", 0, 1200),
    Absurd("rooms", "temperature_deg_c", 2, 42, ("room temperature in an hour",)),
)


def impossible(result: Result) -> str | None:
    """The first number that no room can have: infinite, negative where nothing is owed, a share outside 0 to 1."""
    for table, described in _core.tables().items():
        columns = result._core.columns(table)
        for name in (info.name for info in described if not info.labels):
            known = columns[name][~np.isnan(columns[name])]
            if known.size == 0:
                continue
            least, most = float(known.min()), float(known.max())
            if not np.isfinite([least, most]).all() or (least < -1e-9 and name not in _SIGNED):
                return f"{table}.{name} is {least:g} to {most:g}"
            if name in _SHARES and most > 1:
                return f"{table}.{name} is up to {most:g}"
    return None


def without_warning(result: Result) -> str | None:
    """The first absurd animal that no warning of the result is about."""
    warned = {one.place for one in result.warnings if one.kind == "outside plausible range"}
    for limits in ABSURD:
        values = result._core.columns(limits.table)[limits.column]
        outside = values[(values < limits.low) | (values > limits.high)]
        if len(outside) and warned.isdisjoint(limits.warned_of):
            return f"{limits.table}.{limits.column} is {outside[0]:g}"
    return None

"""Flags, rooms and rates of the morning's list in words."""

from __future__ import annotations

import math
from typing import Any

import pandas as pd

from farrowtide.analysis.watching.alarms import (
    EMPTY,
    FEED_LOW,
    LONG_FARROWING,
    NO_WATER,
    UNTOUCHED,
    WATER_LOW,
    Thresholds,
    limits,
)
from farrowtide.analysis.watching.watching import WatchTables
from farrowtide.outputs.units import count, sentence_in, unit_in, us_unit, value_in
from farrowtide.report.wording.cells import rows

NOT_A_DIAGNOSIS = (
    "A flag is a reason to look at the sow, not a diagnosis. Treatments belong to the herd veterinarian; get a sow up only "
    "if you are trained to."
)
LOOK = {
    NO_WATER: "drinker first: shut, blocked, flow; then the sow",
    UNTOUCHED: "the sow, her udder and legs; then feed and drinker",
    WATER_LOW: "flow of her drinker; then the sow",
    FEED_LOW: "the sow, her udder, legs and litter; then feed and drinker",
    LONG_FARROWING: "the sow and her udder; what the protocol says after a long farrowing",
    EMPTY: "whether the protocol lets her have more",
}
TITLES = {
    NO_WATER: "no water",
    UNTOUCHED: "trough untouched",
    WATER_LOW: "water below her band",
    FEED_LOW: "feed below her band on two days",
    LONG_FARROWING: "long farrowing",
    EMPTY: "trough empty on two mornings",
}
_ALARMS_OF = {"feed": "feed", "water": "water", "both": "feed and water"}


def reason(row: Any, units: str = "si") -> str:
    """Why a sow has a flag, with the numbers; `row` is one of the table of flags."""
    return sentence_in(units, _reason(row))


def _reason(row: Any) -> str:
    match row.flag:
        case "no_water":
            share = 100 * limits()["no_water_share"]
            return f"no water: {row.water_l:.1f} L drunk, at most {share:.0f} % of what sows of her parity drink on that day"
        case "untouched_trough":
            return f"trough untouched: {row.eaten_kg:.1f} kg eaten of {row.offered_kg:.1f} kg offered"
        case "water_below_band":
            d = _decimals(row.water_l, row.water_l_low)
            drank = (
                f"drank {row.water_l:.{d}f} L, below her band of {row.water_l_low:.{d}f} to {row.water_l_high:.{d}f} L"
            )
            return f"{drank}; {_feed_beside(row)}"
        case "feed_below_band":
            first = _beside(row.eaten_kg_before, row.eaten_kg_before_low, row.eaten_kg_before_high)
            low, high = row.eaten_kg_from_two_days_before_low, row.eaten_kg_from_two_days_before_high
            return f"two days below her band: ate {first}, then {_beside(row.eaten_kg, low, high)}"
        case "long_farrowing":
            limit_h = limits()["long_farrowing_min"] / 60
            return f"farrowed in {row.duration_min / 60:.1f} h, longer than {limit_h:g} h"
        case _:
            return "trough empty on two mornings"


def _beside(value: float, low: float, high: float) -> str:
    d = _decimals(value, low)
    return f"{value:.{d}f} kg ({low:.{d}f} to {high:.{d}f} kg)"


def _decimals(value: float, limit: float) -> int:
    """1, or 2 where a value and the limit that it is below would be printed alike."""
    return 1 if f"{value:.1f}" != f"{limit:.1f}" else 2


def _feed_beside(row: Any) -> str:
    if math.isnan(row.eaten_kg) or math.isnan(getattr(row, "eaten_kg_low", math.nan)):
        return "feed is not recorded"
    if row.eaten_kg < row.eaten_kg_low:
        d = _decimals(row.eaten_kg, row.eaten_kg_low)
        return f"she ate {row.eaten_kg:.{d}f} kg, below {row.eaten_kg_low:.{d}f} kg, too"
    return f"water is down before feed (ate {row.eaten_kg:.1f} kg)"


def since(mornings: int) -> str:
    """On how many mornings in a row."""
    return "new" if mornings == 1 else f"{mornings} mornings"


def rate(thresholds: Thresholds, signals: str) -> str:
    """What was chosen and found of false alarms."""
    return (
        f"Alarms of {_ALARMS_OF[signals]} are set to {thresholds.chosen:g} in 100 days of healthy sows; in parts of the simulated rooms left out in turn "
        f"they were {thresholds.found:.2f} ({thresholds.sow_days:,} sow-days)."
    )


def alarms(watched: WatchTables) -> pd.DataFrame:
    """The flags that are alarms."""
    return watched.flags[watched.flags["alarm"].astype(bool)] if len(watched.flags) else watched.flags


def also_told(watched: WatchTables) -> dict[str, list[str]]:
    """Flag -> sows, of the flags that are no alarms."""
    told: dict[str, list[str]] = {}
    for name in (LONG_FARROWING, EMPTY):
        of = watched.flags[watched.flags["flag"] == name] if len(watched.flags) else watched.flags
        if len(of):
            told[name] = [
                f"{row.sow} ({row.duration_min / 60:.1f} h)" if name == LONG_FARROWING else str(row.sow)
                for row in rows(of)
            ]
    return told


def expected_told(watched: WatchTables, flag: str) -> str:
    """How often healthy sows have a flag that is no alarm."""
    each = (watched.thresholds.each or {}).get(flag, math.nan)
    return f"on {each:.0f} of 100 days of healthy sows" if each >= 0.5 else "rare in healthy sows"


def rooms_off_track(watched: WatchTables, units: str = "si") -> list[dict[str, Any]]:
    """Each room that is off track: what is off, and the likely causes."""
    found: list[dict[str, Any]] = []
    if watched.rooms.empty:
        return found
    off = watched.rooms[watched.rooms["off_track"].astype(bool)]
    for room in sorted(off["room"].unique()):
        causes = watched.causes[watched.causes["room"] == room]
        found.append(
            {
                "room": room or "the room",
                "off": [output(row, units) for row in rows(off[off["room"] == room])],
                "causes": [
                    f"{row.label} (explains {100 * row.explained:.0f} %): look at {row.look}" for row in rows(causes)
                ],
            }
        )
    return found


def output(row: Any, units: str = "si") -> str:
    """An output of a room beside its predictive interval."""

    us = us_unit(row.unit, units)
    decimals = max(int(row.decimals) + (us.more_decimals if us else 0), 0)

    def shown(value: float) -> str:
        return f"{value_in(units, value, row.unit):.{decimals}f}"

    said = f"{row.label} {shown(row.value)} {unit_in(units, row.unit)}"
    return f"{said}, expected {shown(max(row.low, 0))} to {shown(row.high)}"


NO_CAUSE = "none of the faults that the model knows explains a fifth of it"


def listed(watched: WatchTables, units: str = "si") -> list[str]:
    """The whole list as lines."""
    lines = [f"{row.room or 'room'}, sow {row.sow} (parity {row.parity}, day {row.lactation_day}), {since(row.mornings)}: "
             f"{reason(row, units)}. Look at: {LOOK[row.flag]}." for row in rows(alarms(watched))]  # fmt: skip
    for name, sows in also_told(watched).items():
        lines.append(f"{TITLES[name]} ({expected_told(watched, name)}): {', '.join(sows)}. Look at: {LOOK[name]}.")
    for each in rooms_off_track(watched, units):
        lines.append(
            f"{each['room']} off track: {'; '.join(each['off'])}. Likely: {'; '.join(each['causes']) or NO_CAUSE}."
        )
    if len(watched.silent):
        lines.append(f"nothing recorded yesterday: {', '.join(silent(watched))}.")
    return lines


def silent(watched: WatchTables) -> list[str]:
    """The sows of whom nothing was recorded yesterday, with the day of their last record."""
    return [f"{row.sow} (last {row.last_recorded})" for row in rows(watched.silent)] if len(watched.silent) else []


def summary(watched: WatchTables) -> str:
    """How many sows are watched, and how many of them are on the list or told of for another reason."""
    sows = alarms(watched)["sow"].nunique() if len(watched.flags) else 0
    rooms = watched.bands["room"].nunique()
    others = len(watched.silent) + sum(map(len, also_told(watched).values()))
    more = f" and {others} told of below" if others else ""
    return f"{count(sows, 'sow')} with an alarm{more}, of {watched.sows} in {count(max(rooms, 1), 'room')}"

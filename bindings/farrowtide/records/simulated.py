"""The records that a simulated farm would have, if it wrote everything down."""

from __future__ import annotations

import pandas as pd

from farrowtide.engine.result import Result
from farrowtide.records.tables import Records, in_layout
from farrowtide.scenarios.scenario import Scenario

CARRIED = "sow.herd.weight_per_piglet_carried"  # kg per unborn piglet


def simulated(result: Result, scenario: Scenario) -> Records:
    """The records of a run of `scenario` with the tables sows, sow_days and piglets, as a farm would write them down.

    Every replicate is a room of its own (with several rooms, several), loaded from the scenario's start on. A sow that
    died before her first birth has no farrowing, and a nurse sow's is not known: both are left out, with their days.
    `farrowed_on` is lactation day 0, the day of the last birth. `served_on` is the day of the oestrus after weaning, as
    if no sow were removed and every one were served. A treatment is one course, however long. Raises UserError where a
    table was not recorded.
    """
    sows = result.sows
    sows = sows[(sows["nurse"] == 0) & sows["farrowing_start_h"].notna()].set_index(["replicate", "sow"])
    days = result.sow_days.set_index(["replicate", "sow"])
    start = pd.Timestamp(scenario.start)
    several_rooms = scenario.farm["rooms_per_group"] > 1 or scenario.farm["groups"] > 1
    sows["room_name"] = _named(sows, "room") if several_rooms else [f"R{replicate + 1}" for replicate, _ in sows.index]
    last_birth_h = sows["farrowing_start_h"] + sows["farrowing_duration_min"].fillna(0) / 60
    sows["farrowed_on"] = start + pd.to_timedelta(last_birth_h // 24, unit="D")
    days = days[days.index.isin(sows.index)]
    first_days = days[~days.index.duplicated()]
    farrowings = _farrowings(sows, first_days, scenario)
    farrowings["litter_weight_at_birth_kg"] = _weight_born_alive_kg(result.piglets)
    return Records(in_layout(farrowings, "farrowings"), in_layout(_days(days, sows), "days"))


def _farrowings(sows: pd.DataFrame, first_days: pd.DataFrame, scenario: Scenario) -> pd.DataFrame:
    carried_kg = scenario._core.coefficients.find(CARRIED).value[0] * sows["total_born"]
    was_weaned = sows["left_as"].isin(["weaned", "weaned late"])
    weaned_on = (sows["farrowed_on"] + pd.to_timedelta(sows["lactation_length_d"], unit="D")).where(was_weaned)
    weight_kg = first_days["weight_kg"] - first_days["weight_change_kg"] + carried_kg
    return pd.DataFrame(
        {
            "sow": _numbers(sows),
            "parity": sows["parity"],
            "group": _named(sows, "group"),
            "room": sows["room_name"],
            "loaded_on": sows["farrowed_on"] + pd.to_timedelta(first_days["day"], unit="D"),
            "farrowed_on": sows["farrowed_on"],
            "weaned_on": weaned_on,
            "duration_min": sows["farrowing_duration_min"].round(),
            "born_alive": sows["born_alive"],
            "stillborn": sows["stillborn"],
            "moved_in": sows["piglets_moved_in"],
            "moved_out": sows["piglets_moved_out"],
            "died": sows["died_before_weaning"],
            "weaned": sows["weaned"],
            "litter_weight_kg": sows["litter_weight_at_weaning_kg"].where(sows["weaned"] > 0).round(1),
            "weight_at_loading_kg": weight_kg.round(1),
            "weight_at_weaning_kg": sows["weight_at_weaning_kg"].where(was_weaned).round(1),
            "backfat_at_loading_mm": first_days["backfat_mm"].round(1),
            "backfat_at_weaning_mm": (sows["backfat_at_farrowing_mm"] - sows["backfat_loss_mm"])
            .where(was_weaned)
            .round(1),
            "treatments": sows["treated_h"].notna().astype(int),
            "served_on": weaned_on + pd.to_timedelta(sows["weaning_to_oestrus_d"].round(), unit="D"),
        },
        index=sows.index,
    )


def _days(days: pd.DataFrame, sows: pd.DataFrame) -> pd.DataFrame:
    of_sow = sows[["farrowed_on", "room_name"]].reindex(days.index)
    return pd.DataFrame(
        {
            "sow": _numbers(days),
            "room": of_sow["room_name"],
            "date": of_sow["farrowed_on"] + pd.to_timedelta(days["day"], unit="D"),
            "offered_kg": days["offered_kg"].round(2),
            "eaten_kg": days["eaten_kg"].round(2),
            "left_kg": days["in_trough_at_midnight_kg"].round(2),
            "water_l": days["water_l"].round(1),
            "temperature_deg_c": days["room_temperature_deg_c"].round(1),
        },
        index=days.index,
    )


def _numbers(table: pd.DataFrame) -> list[str]:
    """The sows' numbers, which differ between replicates: "R3-12" is sow 12 of the third.

    The letter keeps spreadsheet programs from reading a date.
    """
    return [f"R{replicate + 1}-{sow}" for replicate, sow in table.index]


def _named(sows: pd.DataFrame, column: str) -> list[str]:
    """The names of rooms or groups: "R3-g2" is group 2 of the third replicate."""
    replicates = sows.index.get_level_values("replicate")
    return [f"R{replicate + 1}-{column[0]}{number}" for replicate, number in zip(replicates, sows[column], strict=True)]


def _weight_born_alive_kg(piglets: pd.DataFrame) -> pd.Series:
    alive = piglets[piglets["fate"] != "stillborn"]
    return alive.groupby(["replicate", "sow"])["birth_weight_kg"].sum().round(2)

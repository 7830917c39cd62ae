"""What happened in one room over time, from the tables of a run: sows, piglets, troughs, climate, people and events.

Everything is recorded by the engine but one quantity: the feed in a trough between two midnights, which is put together
from the feed delivered, eaten, wasted and removed since the first of them.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

import numpy as np
import pandas as pd

from farrowtide.engine.result import Result
from farrowtide.errors import UserError

TABLES = (
    "sow_days",
    "piglets",
    "rooms",
    "tasks",
    "stretches",
    "roster",
    "events",
)  # that a run must record, besides the sows
_HOURS_A_DAY = 24
# What a sow is doing in the room, in order; EventKind that begins it.
PHASES = ("not here", "before farrowing", "farrowing", "nursing", "weaned", "died")
_BEGINS = {
    "sow loaded": "before farrowing",
    "labour began": "farrowing",
    "farrowing finished": "nursing",
    "litter weaned": "weaned",
    "sow died": "died",
}
_LEAVES = ("weaned", "died")
_IN_TROUGH = {"feed delivered": 1.0, "meal eaten": -1.0, "trough cleaned": -1.0}  # sign of the amount
_WHO = re.compile(r"^day -?\d+ \d\d:\d\d  (?:staff|sow -?\d+): ")
_ROUNDING_KG = 0.0005


@dataclass(frozen=True)
class Recording:
    """One room. Hours are counted from 00:00 of the day on which its first sow is loaded, `start` on the scenario's clock.

    sows       number, parity, nurse
    phases     time_h, sow, phase (of PHASES)
    ill        sow, from_h, until_h
    piglets    dam, rank, born_h, left_h (death, weaning or the end), fate
    moves      time_h, dam, rank, to
    troughs    time_h, sow, kg; missing while a feeder gives full access, in front of which feed always lies
    meals      time_h, sow, kg, minutes
    climate    hour, room_deg_c, set_point_deg_c, outdoor_deg_c
    duty       time_h, people
    work       from_h, until_h, kind, sow (-1: an empty crate or the room): what one person does without interruption
    events     time_h, kind, sow, words
    tasks      time_h, kind, sow, animals, minutes, outcome, waited_min
    """

    start_h: float
    end_h: float
    sows: pd.DataFrame
    phases: pd.DataFrame
    ill: pd.DataFrame
    piglets: pd.DataFrame
    moves: pd.DataFrame
    troughs: pd.DataFrame
    meals: pd.DataFrame
    climate: pd.DataFrame
    duty: pd.DataFrame
    work: pd.DataFrame
    events: pd.DataFrame
    tasks: pd.DataFrame


def recording(result: Result, group: int | None = None) -> Recording:
    """The room of a farrowing group of the first replicate; of the first group, unless another is named.

    Raises UserError where there is no such group.
    """
    replicate = result.first_replicate
    sows = _of(result.sows, replicate)
    groups = sorted(sows["group"].unique())
    group = groups[0] if group is None else group
    if group not in groups:
        there = f"are only groups {groups[0]} to {groups[-1]}" if len(groups) > 1 else f"is only group {groups[0]}"
        raise UserError(f"group = {group}: there {there}")
    sows = sows[sows["group"] == group].sort_values("sow")
    numbers = set(sows["sow"])
    tasks = _of(result.tasks, replicate)
    tasks = tasks[tasks["group"] == group].reset_index(drop=True)
    events = _of(result.events, replicate).assign(words=[_WHO.sub("", line) for line in result.trace(replicate)])
    own = events[events["sow"].isin(numbers)]
    start_h = _HOURS_A_DAY * math.floor(own["time_h"].min() / _HOURS_A_DAY)
    end_h = max(own["time_h"].max(), tasks[["started_h", "done_h"]].max().max())
    of_room = (events["sow"] < 0) & events["time_h"].between(start_h, end_h)
    events = events[events["sow"].isin(numbers) | of_room].reset_index(drop=True)
    events["kind"] = events.pop("what").astype(str)
    stretches = _of(result.stretches, replicate)
    # Of a farm, work that is for no sow may be in any of its rooms.
    stretches = stretches[stretches["sow"].isin([*numbers, -1] if len(groups) == 1 else numbers)]
    roster = _of(result.roster, replicate)
    for table, names in (
        (events, ["time_h"]),
        (tasks, ["asked_h", "started_h"]),
        (stretches, ["from_h", "until_h"]),
        (roster, ["from_h", "until_h"]),
    ):
        table[names] -= start_h
    days = _of(result.sow_days, replicate)
    return Recording(
        start_h=start_h,
        end_h=end_h - start_h,
        sows=sows[["sow", "parity", "nurse"]].rename(columns={"sow": "number"}).reset_index(drop=True),
        phases=_phases(events, set(sows.loc[sows["nurse"], "sow"])),
        ill=_ill(events, end_h - start_h),
        piglets=_piglets(_of(result.piglets, replicate), numbers, start_h, end_h),
        moves=_moves(events),
        troughs=_troughs(events, days[days["sow"].isin(numbers)]),
        meals=events.loc[events["kind"] == "meal eaten", ["time_h", "sow", "amount", "detail"]].set_axis(
            ["time_h", "sow", "kg", "minutes"], axis=1
        ),
        climate=_climate(_of(result.rooms, replicate), group, start_h),
        duty=_duty(roster[roster["state"] == "at work"]),
        work=_work(stretches),
        events=events[["time_h", "kind", "sow", "words"]],
        tasks=_tasks(tasks),
    )


def _of(table: pd.DataFrame, replicate: int) -> pd.DataFrame:
    return table[table["replicate"] == replicate].copy()


def _phases(events: pd.DataFrame, nurses: set[int]) -> pd.DataFrame:
    phases = events.loc[events["kind"].isin(list(_BEGINS)), ["time_h", "sow", "kind"]]
    phase = phases["kind"].map(_BEGINS)
    phase = phase.mask(phases["sow"].isin(nurses) & (phase == "before farrowing"), "nursing")
    return phases.assign(phase=phase).drop(columns="kind")


def _ill(events: pd.DataFrame, end_h: float) -> pd.DataFrame:
    """The periods of the post-partum disorder; one that is not over when she leaves ends then."""
    ends = [kind for kind, phase in _BEGINS.items() if phase in _LEAVES] + ["recovered"]
    rows = []
    for sow, of_sow in events[events["kind"].isin(["fell ill", *ends])].groupby("sow"):
        began: float | None = None
        for time_h, kind in zip(of_sow["time_h"], of_sow["kind"], strict=True):
            if kind == "fell ill":
                began = time_h if began is None else began
            elif began is not None:
                rows.append((sow, began, time_h))
                began = None
        if began is not None:
            rows.append((sow, began, end_h))
    return pd.DataFrame(rows, columns=["sow", "from_h", "until_h"])


def _piglets(piglets: pd.DataFrame, numbers: set[int], start_h: float, end_h: float) -> pd.DataFrame:
    piglets = piglets[piglets["sow"].isin(numbers)]
    age_d = piglets["age_at_death_d"].fillna(piglets["age_at_weaning_d"])
    left_h = (piglets["birth_time_h"] + _HOURS_A_DAY * age_d).fillna(end_h)
    stillborn = piglets["fate"] == "stillborn"
    return pd.DataFrame(
        {
            "dam": piglets["sow"],
            "rank": piglets["birth_order"],
            "born_h": piglets["birth_time_h"] - start_h,
            "left_h": left_h.mask(stillborn, piglets["birth_time_h"]) - start_h,
            "fate": piglets["fate"].astype(str),
        }
    ).reset_index(drop=True)


def _moves(events: pd.DataFrame) -> pd.DataFrame:
    moves = events.loc[events["kind"] == "piglet moved", ["time_h", "amount", "piglet", "sow"]]
    return moves.set_axis(["time_h", "dam", "rank", "to"], axis=1).astype({"dam": int})


def _troughs(events: pd.DataFrame, days: pd.DataFrame) -> pd.DataFrame:
    """The feed in each trough after everything that changes it; each midnight has what was recorded then."""
    loaded_h = events[events["kind"] == "sow loaded"].groupby("sow")["time_h"].min()
    first_day = np.floor(loaded_h / _HOURS_A_DAY).astype(int)
    days = days.assign(of=days["sow"].map(first_day) + days.groupby("sow").cumcount())
    changes = events.loc[events["kind"].isin(list(_IN_TROUGH)), ["time_h", "sow", "kind", "amount"]]
    changes = changes.assign(of=np.floor(changes["time_h"] / _HOURS_A_DAY).astype(int))
    delivered = changes[changes["kind"] == "feed delivered"].groupby(["sow", "of"])["amount"].sum()
    by_day = days.set_index(["sow", "of"])
    wasted_share = (by_day["wasted_kg"] / by_day["eaten_kg"].where(by_day["eaten_kg"] > 0)).fillna(0.0)
    full_access = by_day["offered_kg"] - delivered.reindex(by_day.index).fillna(0.0) > _ROUNDING_KG
    at_midnight = by_day["in_trough_at_midnight_kg"]
    at_start = at_midnight.groupby("sow").shift(fill_value=0.0)

    key = pd.MultiIndex.from_frame(changes[["sow", "of"]])
    meal = (changes["kind"] == "meal eaten").to_numpy()
    share = wasted_share.reindex(key).fillna(0.0).to_numpy()
    change_kg = changes["amount"] * changes["kind"].map(_IN_TROUGH).astype(float) * np.where(meal, 1 + share, 1.0)
    since_midnight = change_kg.groupby([changes["sow"], changes["of"]]).cumsum()
    level_kg = (at_start.reindex(key).fillna(0.0).to_numpy() + since_midnight).clip(lower=0.0)
    level_kg = level_kg.mask(full_access.reindex(key, fill_value=False).to_numpy())

    next_is_full = full_access.groupby("sow").shift(-1, fill_value=False)
    midnights = pd.DataFrame(
        {
            "time_h": (by_day.index.get_level_values("of") + 1.0) * _HOURS_A_DAY,
            "sow": by_day.index.get_level_values("sow"),
            "kg": at_midnight.mask(next_is_full).to_numpy(),
        }
    )
    within = pd.DataFrame({"time_h": changes["time_h"], "sow": changes["sow"], "kg": level_kg})
    # Of two at the same hour the midnight comes first: what is delivered then is of the new day.
    return pd.concat([midnights, within]).sort_values(["sow", "time_h"], kind="stable").reset_index(drop=True)


def _climate(rooms: pd.DataFrame, group: int, start_h: float) -> pd.DataFrame:
    rooms = rooms[rooms["group"] == group]
    return pd.DataFrame(
        {
            "hour": rooms["hour"] - int(start_h),
            "room_deg_c": rooms["temperature_deg_c"],
            "set_point_deg_c": rooms["set_point_deg_c"],
            "outdoor_deg_c": rooms["outdoor_deg_c"],
        }
    ).reset_index(drop=True)


def _duty(at_work: pd.DataFrame) -> pd.DataFrame:
    """The people at work from each moment at which their number changes."""
    ends = pd.DataFrame({"time_h": at_work["until_h"], "people": -at_work["people"]})
    begins = pd.DataFrame({"time_h": at_work["from_h"], "people": at_work["people"]})
    return pd.concat([begins, ends]).groupby("time_h")["people"].sum().cumsum().reset_index()


def _work(stretches: pd.DataFrame) -> pd.DataFrame:
    work = stretches.sort_values(["from_h", "until_h", "sow"], kind="stable")
    return work.assign(kind=work["kind"].astype(str))[["from_h", "until_h", "kind", "sow"]].reset_index(drop=True)


def _tasks(tasks: pd.DataFrame) -> pd.DataFrame:
    """Every task that was requested, at its beginning; one that was never begun, when it was requested."""
    return pd.DataFrame(
        {
            "time_h": tasks["started_h"].fillna(tasks["asked_h"]),
            "kind": tasks["kind"].astype(str),
            "sow": tasks["sow"],
            "animals": tasks["animals"],
            "minutes": tasks["minutes"],
            "outcome": tasks["outcome"].astype(str),
            "waited_min": 60 * (tasks["started_h"] - tasks["asked_h"]),
        }
    )

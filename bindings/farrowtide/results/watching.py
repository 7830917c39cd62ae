"""A running group beside the model: simulated, judged, written."""

from __future__ import annotations

import datetime
import os
from collections.abc import Callable, Iterable
from pathlib import Path

import numpy as np
import pandas as pd

from farrowtide.analysis.watching import faults
from farrowtide.analysis.watching.alarms import evidence
from farrowtide.analysis.watching.reference import (
    PARTS,
    TABLES,
    Reference,
    Simulated,
    reference,
    rooms_by_default,
    simulated_stays,
    unblocked,
)
from farrowtide.analysis.watching.rooms import SimulatedRooms, causes, median_farrowing
from farrowtide.analysis.watching.stays import Stays, stays_of
from farrowtide.analysis.watching.watching import WatchTables, band_table, flag_table, present, room_names, room_table
from farrowtide.cautions import CAUTION
from farrowtide.engine import provenance
from farrowtide.engine.result import Interrupted
from farrowtide.engine.running import simulate_replicates
from farrowtide.errors import UserError
from farrowtide.inert_text import html_table
from farrowtide.outputs.one_line import one_line
from farrowtide.outputs.units import count, units_of
from farrowtide.records import Records
from farrowtide.scenarios.given import GivenScenario, as_scenario
from farrowtide.scenarios.plausibility.arms import of_scenario
from farrowtide.scenarios.scenario import Scenario

RoomCount = Callable[[int, int], None]
FALSE_ALARMS = 1.0  # per 100 healthy sow-days, by default
MOST_FALSE_ALARMS = 20.0
_ROOMS_OF_A_FAULT = 20


class Watched(WatchTables):
    __doc__ = WatchTables.__doc__

    def __repr__(self) -> str:
        listed = (
            f"{count(int(self.flags['alarm'].sum()) if len(self.flags) else 0, 'alarm')} of {count(self.sows, 'sow')}"
        )
        return one_line("Watched", self.scenario.title, f"morning of {self.morning}", listed)

    def _repr_html_(self) -> str:
        from farrowtide.report.wording.watching import listed

        return html_table(f"Morning of {self.morning}", [(line,) for line in listed(self)])

    def write_report(self, folder: Path, *, units: str = "si") -> Path:
        """Writes morning.html (one page), flags.csv, bands.csv, rooms.csv, causes.csv and provenance.json.

        `units`: "si", "us" or "as_written", on the page; tables are in SI.
        """
        from farrowtide.report.watch_page import write_report

        return write_report(self, folder, units=units_of(units, self.scenario))


def start_of(records: Records, scenario: Scenario, morning: datetime.date | None = None) -> datetime.date:
    """The day on which the running group of the records was loaded: the median of its sows."""
    farrowings = records.farrowings
    date = pd.Timestamp(last_day(records, morning))
    here = farrowings[
        (farrowings["farrowed_on"] <= date) & (farrowings["weaned_on"].isna() | (farrowings["weaned_on"] > date))
    ]
    sows = here if len(here) else farrowings
    before = pd.Timedelta(days=days_before_due(scenario))
    loaded = sows["loaded_on"].fillna(sows["farrowed_on"] - before).dropna().sort_values()
    if loaded.empty:
        raise UserError("no farrowing can be used")
    return pd.Timestamp(loaded.iloc[(len(loaded) - 1) // 2]).date()


def last_day(records: Records, morning: datetime.date | None) -> datetime.date:
    """The day before the morning; by default, the last one that is recorded. Raises UserError without a day."""
    records.require("farrowings")
    records.require("days")
    first, last = (pd.Timestamp(date).date() for date in (records.days["date"].min(), records.days["date"].max()))
    if morning is not None and morning <= first:
        raise UserError(f"morning = {morning}: no day before it is recorded ({first} to {last} are)")
    return last if morning is None else morning - datetime.timedelta(days=1)


def days_before_due(scenario: Scenario) -> int:
    """Days from loading to the mean due date, as planned."""
    from farrowtide import _core

    settings = {path: value for path, value, *_ in _core.settings_in_effect(scenario._core)}
    return int(float(settings["loading.days_before_due"].split()[0]))


def watch(
    scenario: GivenScenario,
    records: Records,
    *,
    morning: datetime.date | None = None,
    false_alarms: float = FALSE_ALARMS,
    weather: str | os.PathLike[str] | None = None,
    replications: int | None = None,
    seed: int | None = None,
    threads: int = 0,
    progress: RoomCount | None = None,
) -> Watched:
    """The list of sows and rooms to look at on a morning (by default the one after the last recorded day).

    `scenario` describes the room as it is run, `records` hold the group's farrowings and days. The scenario is simulated
    from the day on which the group was loaded, with the `weather` recorded so far if a file is given, in many rooms. They say
    what a sow of her parity eats and drinks on each lactation day; her own past days then shift and narrow that: the prediction of
    a day is that of a normal distribution (of normal scores) given her earlier days, so that a sow that always eats little is
    not flagged for it, and one that falls below herself is. A flag is a reason to look at the sow, not a diagnosis.

    `false_alarms` is how many of 100 days of healthy sows have an alarm; the limits that lead to it are found in simulated rooms and
    checked in rooms that they were not found by (`Watched.thresholds`). `replications`: simulated rooms.

    Raises UserError; Interrupted on Ctrl-C.
    """
    scenario = as_scenario(scenario)
    if not 0 < false_alarms <= MOST_FALSE_ALARMS:
        raise UserError(f"false_alarms = {false_alarms:g}: above 0, at most {MOST_FALSE_ALARMS:g} per 100 sow-days")
    date = pd.Timestamp(last_day(records, morning))
    start = start_of(records, scenario, morning)
    scenario = dated(scenario, start, weather)
    seed = scenario.study.seed if seed is None else seed
    wanted = rooms_by_default(scenario) if replications is None else max(replications, PARTS)
    simulation = _Simulation(unblocked(scenario), seed, threads, progress, wanted)
    simulated = simulation.rooms(wanted)
    stays = _recorded(records, simulated, date)
    here = present(stays, date)
    of = reference(simulated, false_alarms, _signals(here))
    rooms = room_table(here, date, of)
    flags = flag_table(here, date, of)
    bands = band_table(here, evidence(here, of.expected), of.expected, of.thresholds)
    silent = _silent(here, date)
    return Watched(
        scenario=scenario,
        morning=(date + pd.Timedelta(days=1)).date(),
        flags=flags,
        bands=bands,
        rooms=rooms,
        causes=_causes(here, date, of, rooms, simulation, min(wanted, _ROOMS_OF_A_FAULT)),
        silent=silent,
        thresholds=of.thresholds,
        signals=of.signals,
        sows=len(here),
        litters_simulated=of.litters,
        doubtful=int(records.doubtful["line"].nunique()),
        rejected=sum(source.rejected for source in records.sources),
        provenance=provenance.of_run(
            scenario,
            replications=wanted,
            seed=seed,
            checks=simulation.checks,
            command=f"farrowtide.watch({scenario.expression}, records, morning={(date + pd.Timedelta(days=1)).date()!r}, "
            f"false_alarms={false_alarms!r}, replications={wanted}, seed={seed})",
        )
        | {"caution": CAUTION},
        warnings=tuple(of_scenario(scenario)),
    )


def dated(scenario: Scenario, start: datetime.date, weather: str | os.PathLike[str] | None) -> Scenario:
    """The scenario as written, from the day on which a group was loaded, with the weather so far; one group of a farm."""
    scenario = scenario.without_alternatives()
    if scenario.farm["groups"] > 1:
        scenario = scenario.override({"farm.groups": 1})
    if scenario.start != start:
        scenario = scenario.override({"start": start.isoformat()})
    return scenario.with_weather(weather, so_far=True) if weather is not None else scenario


def _recorded(records: Records, like: Simulated, date: pd.Timestamp) -> Stays:
    stays = stays_of(records, like.stays.days).until(date)
    if len(present(stays, date)) == 0:
        last = records.days["date"].max()
        raise UserError(
            f"no sow with a farrowing is in the room on {date:%Y-%m-%d} (the last recorded day is {last:%Y-%m-%d}); name another "
            "morning (--morning)"
        )
    return stays


def _signals(stays: Stays) -> str:
    """What alarms can be of: feed, water or both. Raises UserError where neither is recorded."""
    feed, water = (bool((~np.isnan(stays.values[name])).any()) for name in ("eaten_kg", "water_l"))
    if not feed and not water:
        raise UserError(
            "the days name no sow's feed (eaten_kg) or water (water_l) after her farrowing: nothing can be watched"
        )
    return "both" if feed and water else "feed" if feed else "water"


def _silent(stays: Stays, date: pd.Timestamp) -> pd.DataFrame:
    """The sows of whom nothing is recorded on a date, with the day on which something last was."""
    some = stays.recorded.any(axis=1)
    last_day = stays.days - np.argmax(stays.recorded[:, ::-1], axis=1)
    last = stays.sows["farrowed_on"] + pd.to_timedelta(last_day, unit="D")
    table = stays.sows[["sow", "room"]].assign(last_recorded=last.dt.strftime("%Y-%m-%d").where(some, "never"))
    return table[~_recorded_on(stays, date)].reset_index(drop=True)


def _recorded_on(stays: Stays, date: pd.Timestamp) -> np.ndarray:
    """Which sows have a record of a day; those that farrowed on it count as recorded."""
    day = stays.days_on(date)
    known: np.ndarray = (day < 1) | stays.recorded[np.arange(len(stays)), np.clip(day - 1, 0, stays.days - 1)]
    return known


class _Simulation:
    """Runs the rooms that are wanted, and those with a fault, under one progress count."""

    def __init__(self, scenario: Scenario, seed: int, threads: int, progress: RoomCount | None, wanted: int) -> None:
        self.scenario, self.seed, self.threads = scenario, seed, threads
        self.checks = 0
        self._progress, self._wanted, self._done = progress, wanted, 0

    def rooms(self, rooms: int, scenario: Scenario | None = None) -> Simulated:
        """The stays of so many rooms, of the scenario or of another."""
        of = scenario or self.scenario

        def counted(done: int) -> None:
            if self._progress:
                self._progress(self._done + done, self._wanted)

        try:
            result = simulate_replicates(
                of,
                replications=rooms,
                seed=self.seed,
                threads=self.threads,
                first_replicate=0,
                record=TABLES,
                progress=counted,
            )
        except Interrupted:
            raise Interrupted(None) from None
        self._done += rooms
        self._wanted = max(self._wanted, self._done)
        self.checks += result.checks
        return simulated_stays(result, of)


def _causes(
    stays: Stays, date: pd.Timestamp, of: Reference, rooms: pd.DataFrame, simulation: _Simulation, each: int
) -> pd.DataFrame:
    """The likely causes of each room that is off track."""
    off = sorted(set(rooms.loc[rooms["off_track"].astype(bool), "room"]))
    if not off:
        return pd.DataFrame(columns=["room", "fault", "label", "look", "explained", "size"])
    with_fault = list(_faulty(of, simulation, each))
    tables = []
    names = room_names(stays)
    for room in off:
        here = stays[(names == room).to_numpy()]
        group_day = (date - median_farrowing(here)).days
        found = rooms[rooms["room"] == room]
        tables.append(causes(found, group_day, len(here), of.rooms, with_fault).assign(room=room))
    return pd.concat(tables, ignore_index=True)


def _faulty(of: Reference, simulation: _Simulation, each: int) -> Iterable[tuple[faults.Fault, SimulatedRooms]]:
    for fault in faults.FAULTS:
        scenario = fault.of(simulation.scenario)
        if scenario is not None:
            yield fault, SimulatedRooms(simulation.rooms(each, scenario).stays, of.rooms.mean_of_class)

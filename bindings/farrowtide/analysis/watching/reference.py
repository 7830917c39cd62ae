"""Simulated rooms to watch a running room by: expectations, limits of the flags, and how often healthy sows are flagged."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from farrowtide.analysis.watching.alarms import Evidence, Thresholds, chosen_thresholds, evidence, rates, together
from farrowtide.analysis.watching.expected import Expected, expectations
from farrowtide.analysis.watching.rooms import SimulatedRooms
from farrowtide.analysis.watching.stays import Stays, stays_of
from farrowtide.engine.result import Result
from farrowtide.records import simulated
from farrowtide.scenarios.scenario import Scenario

LITTERS = 7200  # by default; 1 alarm in 100 days then has a standard error of about 5 %
PARTS = 3  # of the rooms; what is found in two is tried on the third
TABLES = ("sows", "sow_days", "piglets")
_MORE_DAYS = 7  # than planned, for sows that farrow early in their group


@dataclass(frozen=True)
class Simulated:
    """Stays of simulated sows, and which of them were healthy: never ill, and weaned."""

    stays: Stays
    healthy: np.ndarray

    @property
    def of_healthy(self) -> Stays:
        """The stays of healthy sows."""
        return self.stays[self.healthy]


@dataclass(frozen=True)
class Reference:
    """What a running room is judged by."""

    expected: Mapping[str, Expected]
    thresholds: Thresholds
    signals: str
    rooms: SimulatedRooms
    litters: int  # simulated


def unblocked(scenario: Scenario) -> Scenario:
    """The scenario of healthy rooms: drinkers never clog."""
    return scenario.override({"room.drinker_blockages": "off"})


def rooms_by_default(scenario: Scenario) -> int:
    """How many replicates are simulated by default."""
    return math.ceil(LITTERS / scenario.litters_per_replication / PARTS) * PARTS


def simulated_stays(result: Result, scenario: Scenario) -> Simulated:
    """The stays of a run, as a farm would have written them down."""
    lactation_d = int(scenario._core.lactation_days)
    stays = stays_of(simulated(result, scenario), lactation_d + _MORE_DAYS)
    sows = result.sows
    well = sows["disorder_onset_h"].isna() & sows["left_as"].isin(["weaned", "weaned late"])
    named = {
        f"R{replicate + 1}-{sow}" for replicate, sow in sows.loc[well, ["replicate", "sow"]].itertuples(index=False)
    }
    return Simulated(stays, stays.sows["sow"].isin(named).to_numpy())


def reference(rooms: Simulated, false_alarms: float, signals: str) -> Reference:
    """Expectations from all rooms, the limits at which healthy sows have so many alarms, and a check of these.

    Limits would come out too narrow if sows were judged by distributions that they are part of. So each part of the rooms is judged
    by expectations from the other parts, and the limits are those of all parts together. For the check, each part has
    the limits of the others.
    """
    healthy = rooms.of_healthy
    apart = judged_apart(healthy)
    limits = chosen_thresholds(together(apart), false_alarms, signals)
    checked = [
        rates(of, chosen_thresholds(together([*apart[:k], *apart[k + 1 :]]), false_alarms, signals), signals)
        for k, of in enumerate(apart)
    ]
    days = sum(each.sow_days for each in checked)
    found = sum(each.found * each.sow_days for each in checked) / days
    each = rates(together(apart), limits, signals).each
    return Reference(
        expectations(healthy),
        replace(limits, found=found, sow_days=days, each=each),
        signals,
        SimulatedRooms(rooms.stays),
        len(rooms.stays),
    )


def judged_apart(healthy: Stays) -> list[Evidence]:
    """Each part of healthy stays, judged by expectations from the other parts."""
    part = _parts(healthy)
    return [evidence(healthy[part == k], expectations(healthy[part != k])) for k in range(PARTS)]


def _parts(stays: Stays) -> np.ndarray:
    """The part of each stay; sows of one replicate stay together."""
    replicate = stays.sows["sow"].str.extract(r"^R(\d+)-", expand=False).astype(int).to_numpy()
    part: np.ndarray = replicate % PARTS
    return part

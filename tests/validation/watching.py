"""How well `watch` finds faults in simulated rooms: python tests/validation/watching.py [--rooms N]

Injects faults that the engine has into rooms that the limits were not chosen by, and counts how many sows are flagged, how
soon, and how many healthy sows are flagged meanwhile. Writes .site/generated/watch.md and watch_roc.svg. Fails where healthy rooms have
more or fewer false alarms than were chosen, by more than a fifth.
"""

from __future__ import annotations

import argparse
import sys
import warnings
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

import numpy as np
import pandas as pd
import pictures

import farrowtide
from farrowtide import _core
from farrowtide.analysis.watching import faults
from farrowtide.analysis.watching.alarms import (
    SIGNALS,
    Evidence,
    Thresholds,
    chosen_thresholds,
    evidence,
    rates,
    together,
)
from farrowtide.analysis.watching.expected import Expected, expectations
from farrowtide.analysis.watching.reference import TABLES, Simulated, judged_apart, simulated_stays, unblocked
from farrowtide.analysis.watching.rooms import LEVEL, SimulatedRooms, causes, judged, median_farrowing
from farrowtide.analysis.watching.stays import Stays
from farrowtide.engine.running import simulate_replicates
from farrowtide.outputs.units import MISSING
from farrowtide.scenarios.scenario import Scenario
from farrowtide.statistics.inference import highest_share
from farrowtide.statistics.ratios import fieller_interval
from farrowtide.whole_files import write_text

PAGE = pictures.GENERATED / "watch.md"
SCENARIO, ALTERNATIVE = "scenarios/feeding/meals_a_day.yaml", "2 hand feeds"
ROOT = pictures.GENERATED.parents[1]
REFERENCE_ROOMS, HEALTHY_ROOMS, FAULT_ROOMS = 300, 600, 60
ELSEWHERE = 10_000  # the first replicate of rooms that limits were not chosen by
SEED = 1
CHOSEN = (0.5, 1.0, 2.0, 5.0)  # false alarms per 100 sow-days
TOLERANCE = 0.2
OF_TABLE = 1.0
CURVE = (0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0)
WITHIN_D = 3
READ_AT_H = 7.0  # when the list of a morning is read
HAZARD = 0.006  # per drinker and day: about three in a room
BEGINS = 8  # days after the median farrowing from which a room has its fault
HOW_ROOMS = {
    "late_feeds": "feeds at 10:00 and 15:30 instead of 07:00 and 15:00",
    "missed_feed": "the afternoon's feed is not given",
    "hot_room": "set point 6 K above the plan",
}
SMALL = 8  # sows in a small room
NO_BETTER = 1.5  # times the share by chance, up to which a fault is said to be told no better than by chance


@dataclass
class Case:
    """Rooms with a fault: stays, and for each stay when it began (NaN: she does not have it)."""

    name: str
    how: str
    stays: Stays
    onset: np.ndarray  # hours from 00:00 of the day of farrowing
    staff_h: float = float("nan")  # median hours until staff of the model find a sign
    rooms: list[Stays] = field(default_factory=list)


def scenario() -> Scenario:
    return farrowtide.load(ROOT / SCENARIO).alternative(ALTERNATIVE)


def simulate(of: Scenario, first: int, rooms: int, events: bool = False):
    """The stays of rooms, and the result."""
    record = (*TABLES, "events") if events else TABLES
    result = simulate_replicates(of, replications=rooms, seed=SEED, threads=0, first_replicate=first, record=record)
    return simulated_stays(result, of), result


def onsets(simulated: Simulated, result, of: Scenario, event: str) -> np.ndarray:
    """Hours from 00:00 of the day of farrowing to the first event of a sow on a lactation day from 1 on."""
    events = result.events
    events = events[events["what"] == event]
    time_h: dict[str, list[float]] = {}
    for replicate, sow, hour in events[["replicate", "sow", "time_h"]].itertuples(index=False):
        time_h.setdefault(f"R{replicate + 1}-{sow}", []).append(hour)
    start = pd.Timestamp(of.start)
    from_start = (simulated.stays.sows["farrowed_on"] - start).dt.days.to_numpy() * 24.0
    onset = np.full(len(simulated.stays), np.nan)
    for row, name in enumerate(simulated.stays.sows["sow"]):
        later = [hour - from_start[row] for hour in time_h.get(name, []) if hour - from_start[row] >= 24]
        onset[row] = later[0] if later else np.nan
    return onset


def spliced(before: Stays, after: Stays) -> tuple[Stays, np.ndarray]:
    """The same sows with the days of another run from BEGINS on; onsets in hours from the day of farrowing."""
    rows = {name: row for row, name in enumerate(after.sows["sow"])}
    place = np.array([rows.get(name, -1) for name in before.sows["sow"]])
    before, place = before[place >= 0], place[place >= 0]
    room = before.sows["room"]
    median = {name: median_farrowing(before[(room == name).to_numpy()]) for name in room.unique()}
    begins = (room.map(median) - before.sows["farrowed_on"]).dt.days.to_numpy() + BEGINS
    later = np.arange(1, before.days + 1)[None, :] >= begins[:, None]
    values = {name: np.where(later, after.values[name][place], array) for name, array in before.values.items()}
    return Stays(before.sows, values), np.where(begins >= 1, 24.0 * begins, np.nan)


def cases(of: Scenario, rooms: int) -> Iterator[Case]:
    """Every fault, in rooms that the limits were not chosen by."""
    for wholly in (True, False):
        changed = faults.blocked_drinkers(of, HAZARD, wholly=wholly)
        simulated, result = simulate(changed, ELSEWHERE, rooms, events=True)
        clogged, ill = (onsets(simulated, result, changed, event) for event in ("drinker clogged", "fell ill"))
        flow = "gives nothing" if wholly else "gives a tenth of its flow"
        how = f"one sow: from a random time on, her drinker {flow}, and is not mended; not counted where she was ill before"
        name = "drinker blocked" if wholly else "drinker partly blocked"
        yield Case(name, how, simulated.stays, np.where(ill < clogged, np.nan, clogged))
    simulated, result = simulate(of, ELSEWHERE, 2 * rooms, events=True)
    ill = onsets(simulated, result, of, "fell ill")
    staff = onsets(simulated, result, of, "sign found")
    found = (staff - ill)[staff >= ill]
    how = "one sow: falls ill after farrowing as in the model, is found and treated as in the scenario"
    yield Case("ill sow", how, simulated.stays, ill, float(np.median(found)))
    problem = of.override({"herd.scours": "problem"})
    simulated, result = simulate(problem, ELSEWHERE, rooms, events=True)
    yield Case("scours", "one litter: scours begin, in a herd with an outbreak",
               *_of_healthy(simulated, onsets(simulated, result, problem, "scours began")))  # fmt: skip
    healthy, _ = simulate(of, ELSEWHERE, rooms)
    by_name = {fault.name: fault for fault in faults.FAULTS}
    for name, label in (("late_feeds", "late feeds"), ("missed_feed", "one feed left out"), ("hot_room", "hot room")):  # fmt: skip
        changed = by_name[name].of(of)
        assert changed is not None
        after, _ = simulate(changed, ELSEWHERE, rooms)
        stays, onset = spliced(healthy.of_healthy, after.stays)
        whole, _ = spliced(healthy.stays, after.stays)
        names = whole.sows["room"].to_numpy()
        each = [whole[names == room] for room in dict.fromkeys(names)]
        yield Case(
            label,
            f"whole room, from day {BEGINS} after the median farrowing: {HOW_ROOMS[name]}",
            stays,
            onset,
            rooms=each,
        )


def _of_healthy(simulated: Simulated, onset: np.ndarray) -> tuple[Stays, np.ndarray]:
    return simulated.stays[simulated.healthy], onset[simulated.healthy]


def found_by_sow(case: Case, of: Evidence, thresholds: Thresholds, signals: str) -> pd.DataFrame:
    """Each sow with the fault that could be flagged within WITHIN_D days: her room, and hours to the list (NaN: not flagged)."""
    alarms = thresholds.alarms(of, SIGNALS[signals])
    begun = np.floor(case.onset / 24)
    rows = []
    for row in np.flatnonzero(begun >= 1):
        sow, first = case.stays.sows.iloc[row], int(begun[row]) - 1
        if not of.recorded[row, first] or sow["weaned_on"] - sow["farrowed_on"] <= pd.Timedelta(days=first + WITHIN_D):
            continue
        flagged = np.flatnonzero(alarms[row, first : first + WITHIN_D])
        read = 24 * (begun[row] + flagged[0] + 1) + READ_AT_H if len(flagged) else np.nan
        rows.append((sow["room"], read - case.onset[row]))
    return pd.DataFrame(rows, columns=["room", "hours"])


def found_of(case: Case, of: Evidence, thresholds: Thresholds, signals: str) -> tuple[int, float, float]:
    """Sows with the fault that could be flagged, the share that was, and the median hours to the list."""
    sows = found_by_sow(case, of, thresholds, signals)
    return len(sows), float(sows["hours"].notna().mean()) if len(sows) else 0.0, float(sows["hours"].median())


def share_interval(rooms: pd.Series, hits: np.ndarray, among: np.ndarray) -> tuple[float, float]:
    """The interval of sum(hits) / sum(among), with rooms as the unit: sows of a room share its weather and people."""
    if hits.sum() in (0, among.sum()):  # no room differs from another: the interval of as many sows
        bound = float(highest_share(0, int(among.sum())))
        return (1 - bound, 1.0) if hits.sum() else (0.0, bound)
    by_room = pd.DataFrame({"hits": hits, "among": among}).groupby(rooms.to_numpy()).sum()
    low, high = fieller_interval(by_room["hits"].to_numpy(float), by_room["among"].to_numpy(float))
    return max(low, 0.0), high


def by_chance(of: Evidence, thresholds: Thresholds, signals: str) -> float:
    """The share of healthy sows with an alarm within any WITHIN_D days."""
    alarms = thresholds.alarms(of, SIGNALS[signals])
    days = alarms.shape[1] - WITHIN_D + 1
    windows = np.any([alarms[:, k : k + days] for k in range(WITHIN_D)], axis=0)
    whole = np.all([of.recorded[:, k : k + days] for k in range(WITHIN_D)], axis=0)
    return float(windows[whole].mean())


@dataclass
class Monitor:
    """Expectations, and limits for any rate."""

    expected: Mapping[str, Expected]
    pool: Evidence

    def at(self, rate: float, signals: str) -> Thresholds:
        return chosen_thresholds(self.pool, rate, signals)


def monitor(rooms: int) -> tuple[Monitor, SimulatedRooms]:
    simulated, _ = simulate(unblocked(scenario()), 0, rooms)
    healthy = simulated.of_healthy
    return Monitor(expectations(healthy), together(judged_apart(healthy))), SimulatedRooms(simulated.stays)


def room_findings(each: list[Stays], simulated: SimulatedRooms, with_fault, begins: int = BEGINS) -> dict[str, object]:
    """How many rooms are off track one to three days after the fault began, and which cause is named first."""
    off = np.zeros((len(each), WITHIN_D), dtype=bool)
    first: list[str] = []
    for row, room in enumerate(each):
        for day in range(WITHIN_D):
            date = median_farrowing(room) + pd.Timedelta(days=begins + day)
            found = judged(room.until(date), date, simulated)
            off[row, day] = found["off_track"].any()
            if day == WITHIN_D - 1 and off[row, day]:
                named = causes(found, begins + day, len(room), simulated, with_fault)
                first.append(named["label"].iloc[0] if len(named) else "none named")
    counts = pd.Series(first, dtype=object).value_counts()
    return {"by_day": off.mean(axis=0), "first": counts}


def without_temperature(room: Stays) -> Stays:
    """The same where nobody writes down the temperature."""
    return Stays(room.sows, room.values | {"temperature_deg_c": np.full_like(room.values["temperature_deg_c"], np.nan)})


# --- telling ----------------------------------------------------------------------------------------------------------

INTRODUCTION = """\
<!-- Written by `python tests/validation/watching.py`. -->
# How well a watched room shows its faults

Engine {version}, results version {results}. Rooms of [{scenario}](../../{scenario}), “{alternative}”, January. Expectations and limits are
from {reference} simulated rooms; everything below is counted in other rooms, which the limits were not chosen by. How `watch` works:
[watch](../pages/watch.md). The rooms follow the model that the bands come from: a real room differs from it, and its meters err.

## False alarms

Alarms per 100 days of healthy sows (never ill, drinkers never blocked) in {healthy} rooms, beside the rate that was chosen. They should agree to
within a fifth.

| chosen | signals | found (95 % confidence interval over rooms) | within a fifth |
|---|---|---|---|
"""
FOUND = """
## Faults of a sow or a room

{within} whole days from the day on which the fault began. *Found*: share of the sows with the fault that had an alarm on one of these days.
*Hours*: median from the beginning of the fault to {read} h on the morning after the day of the alarm, of those found. *By chance*:
share of healthy sows with an alarm within {within} days. In brackets: 95 % confidence intervals over rooms. All at {rate:g} alarm in 100 days of healthy sows.

| fault | sows | feed only: found, hours | water only: found, hours | both: found, hours |
|---|---|---|---|---|
"""
HOW = """
Each fault is one that the engine has:

"""
ROC = """
The staff of the model, who look for signs as the scenario says, find a sign {staff:.0f} h (median, of the sows found) after an ill sow
fell ill; `watch` sees only whole days of feed and water. No better than by chance, because they move neither feed nor water of a whole day in the model: {hidden}.
Look for these elsewhere: at the feeding times, the drinkers' flow, the litters. Feed and water together find less than the better of the two where
they fall and rise together, because both share the false alarms. The engine holds late feeds and a hot room for all sows of a room only;
there, days before the beginning are those of the same sows without the fault, so that what it would have left in their bodies at the
beginning is that of a run which had it from loading on.

![Share of sows with a fault that are found, over false alarms](watch_roc.svg)

## Rooms off track

Rooms whose outputs are outside the {level:.0f} % predictive interval of one room on the first, second and third day of the fault, and
the cause that is named first on the third. The fault is of the size with which `watch` simulates it; one of another size is told less well.

| fault | rooms | day 1 | day 2 | day 3 | named first on day 3 |
|---|---|---|---|---|---|
"""


def write(
    rows: list[dict],
    checks: list[dict],
    chance: dict[str, float],
    rooms: list[tuple[str, int, dict]],
    staff_h: float,
    counts: tuple,
) -> None:
    reference_rooms, healthy_rooms = counts
    text = INTRODUCTION.format(
        version=_core.engine_version,
        results=_core.results_version,
        scenario=SCENARIO,
        alternative=ALTERNATIVE,
        reference=reference_rooms,
        healthy=healthy_rooms,
    )
    for row in checks:
        met = "yes" if row["met"] else "**no**"
        low, high = row["interval"]
        text += f"| {row['chosen']:g} | {row['signals']} | {row['found']:.2f} ({low:.2f} to {high:.2f}) | {met} |\n"
    text += FOUND.format(within=WITHIN_D, read=f"{READ_AT_H:.0f}", rate=OF_TABLE)
    for row in rows:
        cells = [f"{_percent(row[s][0], row['interval'][s])}, {_hours(row[s][1])}" for s in SIGNALS]
        text += f"| {row['fault']} | {row['sows']:,} | {' | '.join(cells)} |\n"
    text += f"| *by chance* | | {' | '.join(f'{100 * chance[s]:.0f} %' for s in SIGNALS)} |\n"
    text += HOW + "".join(f"- {row['fault']}: {row['how']}.\n" for row in rows)
    hidden = [row["fault"] for row in rows if row["both"][0] <= NO_BETTER * chance["both"]]
    text += ROC.format(staff=staff_h, level=100 * LEVEL, hidden=", ".join(hidden) or "none")
    for name, number, found in rooms:
        days = " | ".join(f"{100 * share:.0f} %" for share in found["by_day"])
        first = "; ".join(f"{label} ({times})" for label, times in found["first"].items()) or MISSING
        text += f"| {name} | {number} | {days} | {first} |\n"
    write_text(PAGE, text)


def _percent(share: float, interval: tuple[float, float]) -> str:
    low, high = (f"{100 * end:.0f}" for end in np.clip(interval, 0, 1))
    return f"{100 * share:.0f} % ({low} to {high})"


def _hours(hours: float) -> str:
    return MISSING if np.isnan(hours) else f"{hours:.0f} h"


def draw(
    curves: dict[str, dict[str, list[float]]], rates_found: dict[str, list[float]], chance_curve: list[float]
) -> None:
    names = list(curves)
    columns = 4
    with pictures.panels(-(-len(names) // columns), columns, 1.9, sharex=True, sharey=True) as (figure, axes):
        for axis, name in zip(axes.flat, names, strict=False):
            for look, signals in zip(pictures.LOOKS, SIGNALS, strict=False):
                axis.plot(rates_found[signals], [100 * share for share in curves[name][signals]], markersize=3,
                          label=signals if name == names[0] else "", **look)  # fmt: skip
            axis.set_title(name)
            axis.plot(rates_found["both"], [100 * share for share in chance_curve], color="0.6", linewidth=1, zorder=0,
                      label="by chance" if name == names[0] else "")  # fmt: skip
            axis.set_xscale("log")
            axis.set_xticks([0.1, 1, 10], labels=["0.1", "1", "10"])
            axis.set_xticks([], minor=True)
            axis.set_ylim(-3, 103)
        for axis in axes.flat[len(names) :]:
            axis.set_visible(False)
        figure.supxlabel("false alarms per 100 days of healthy sows", fontsize=8)
        figure.supylabel(f"found within {WITHIN_D} days [%]", fontsize=8)
        figure.legend(loc="outside upper left", ncols=4)
        pictures.write_svg(figure, "watch_roc", "Share of sows with a fault that are found, over false alarms")


def main(rooms: int) -> int:
    warnings.simplefilter("ignore")
    of = unblocked(scenario())
    watcher, simulated_rooms = monitor(REFERENCE_ROOMS)
    healthy, _ = simulate(of, ELSEWHERE, HEALTHY_ROOMS)
    healthy_evidence = evidence(healthy.of_healthy, watcher.expected)
    wanted = [(rate, "both") for rate in CHOSEN] + [(OF_TABLE, "feed"), (OF_TABLE, "water")]
    checks = []
    for rate, signals in wanted:
        thresholds = watcher.at(rate, signals)
        found = rates(healthy_evidence, thresholds, signals).found
        alarms = thresholds.alarms(healthy_evidence, SIGNALS[signals]).sum(axis=1)
        interval = share_interval(healthy.of_healthy.sows["room"], 100 * alarms, healthy_evidence.recorded.sum(axis=1))
        met = abs(found / rate - 1) <= TOLERANCE
        checks.append({"chosen": rate, "signals": signals, "found": found, "interval": interval, "met": met})
    limits = {(rate, signals): watcher.at(rate, signals) for rate in CURVE for signals in SIGNALS}
    rates_found = {s: [rates(healthy_evidence, limits[rate, s], s).found for rate in CURVE] for s in SIGNALS}
    chance = {s: by_chance(healthy_evidence, limits[OF_TABLE, s], s) for s in SIGNALS}
    with_fault = [
        (fault, SimulatedRooms(simulate(changed, 0, 20)[0].stays, simulated_rooms.mean_of_class))
        for fault in faults.FAULTS
        if (changed := fault.of(of)) is not None
    ]
    rows, curves, of_rooms, staff_h = [], {}, [], float("nan")
    for case in cases(of, rooms):
        said = evidence(case.stays, watcher.expected)
        at = {s: found_of(case, said, limits[OF_TABLE, s], s) for s in SIGNALS}
        intervals = {}
        for s in SIGNALS:
            sows = found_by_sow(case, said, limits[OF_TABLE, s], s)
            intervals[s] = share_interval(sows["room"], sows["hours"].notna(), np.ones(len(sows)))
        row = {"fault": case.name, "how": case.how, "sows": at["both"][0], "interval": intervals}
        rows.append(row | {s: at[s][1:] for s in SIGNALS})
        curves[case.name] = {s: [found_of(case, said, limits[r, s], s)[1] for r in CURVE] for s in SIGNALS}
        staff_h = staff_h if np.isnan(case.staff_h) else case.staff_h
        if case.rooms:
            each = case.rooms[:30]
            of_rooms.append((case.name, len(each), room_findings(each, simulated_rooms, with_fault)))
        if case.name == "hot room":
            blind = [without_temperature(room) for room in each]
            name = f"{case.name}, temperature not recorded"
            of_rooms.append((name, len(each), room_findings(blind, simulated_rooms, with_fault)))
        print(rows[-1], flush=True)
    names = healthy.stays.sows["room"].to_numpy()
    unharmed = [healthy.stays[names == room] for room in list(dict.fromkeys(names))[:60]]
    of_rooms.append(("none", len(unharmed), room_findings(unharmed, simulated_rooms, with_fault)))
    early = "none, from the day of the median farrowing"
    of_rooms.append((early, len(unharmed), room_findings(unharmed, simulated_rooms, with_fault, begins=0)))
    small, _ = simulate(of.override({"room.crates": SMALL}), ELSEWHERE, len(unharmed))
    names = small.stays.sows["room"].to_numpy()
    few = [small.stays[names == room] for room in dict.fromkeys(names)]
    of_rooms.append((f"none, rooms of {SMALL} sows", len(few), room_findings(few, simulated_rooms, with_fault)))
    write(rows, checks, chance, of_rooms, staff_h, (REFERENCE_ROOMS, HEALTHY_ROOMS))
    draw(curves, rates_found, [by_chance(healthy_evidence, limits[rate, "both"], "both") for rate in CURVE])
    missed = [row for row in checks if not row["met"]]
    for row in missed:
        print(f"{row['chosen']} ({row['signals']}): {row['found']:.2f} false alarms per 100 sow-days", file=sys.stderr)
    return 1 if missed else 0


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rooms", type=int, default=FAULT_ROOMS, help="rooms with each fault")
    sys.exit(main(parser.parse_args().rooms))

"""What happened to a sow and her litter, as facts: when, of what kind, with which numbers, and what it was due to."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

import pandas as pd

from farrowtide.analysis.story.records import SowRecords
from farrowtide.analysis.story.waiting import Moment, Wait

FEEDS = ("feed by hand", "full-access top-up")
ROUND = "farrowing round"
_MISSED = ("late", "undone", "left out")
_EVENTS = (
    "labour began",
    "inertia began",
    "fell ill",
    "sign found",
    "recovered",
    "temperature taken",
    "drinker clogged",
    "drinker mended",
    "gilt learned",
    "scours began",
    "litter disturbed",
    "sow flagged",
    "placenta out",
    "piglet revived",
    "litter weaned",
    "sow died",
)
_WORTH_A_CAUSE_MIN = 5  # a shorter wait for an exam or a treatment is not explained


@dataclass(frozen=True)
class Fact:
    """One thing that happened.

    `key`: the same under another policy. `numbers`: what it was, in SI units. `wait`: what the people did meanwhile;
    `at`: what they did at that moment.
    """

    time_h: float
    kind: str
    key: tuple[Any, ...]
    numbers: dict[str, Any] = field(default_factory=dict)
    wait: Wait | None = None
    at: Moment | None = None


def facts(records: SowRecords) -> list[Fact]:
    """All facts of a sow, in order of time."""
    found = [
        *_loading(records),
        *_feeds(records),
        *_rounds(records),
        *_other_visits(records),
        *_farrowing(records),
        *_exams(records),
        *_treatments(records),
        *_stillborn(records),
        *_deaths(records),
        *_moves(records),
        *_events(records),
    ]
    return sorted(found, key=lambda fact: (fact.time_h, fact.kind, str(fact.key)))


def missed_feeds(records: SowRecords) -> dict[str, int]:
    """How many of her feeds were late, undone or left out."""
    return dict(Counter(str(fact.numbers["outcome"]) for fact in _feeds(records)))


def waited(records: SowRecords, visit: Any) -> tuple[float, float]:
    """From when to when a visit was waited for: until somebody came, or until it was given up."""
    ends = [time for time in (visit.started_h, visit.given_up_h) if not math.isnan(time)]
    until = ends[0] if ends else records.staff.end_h
    return visit.asked_h, max(until, visit.asked_h)


def _waiting(records: SowRecords, *visits: Any) -> Wait:
    return records.staff.wait(waited(records, visit) for visit in visits)


def _loading(records: SowRecords) -> Iterator[Fact]:
    for event in _rows(records.happened("sow loaded")):
        yield Fact(event.time_h, "loaded", ("loaded",), {"weight_kg": event.amount, "parity": int(event.detail)})


def _feeds(records: SowRecords) -> Iterator[Fact]:
    """Feeds that came late or not at all. Stale feed is removed before fresh feed is poured, which is a visit of its own."""
    cleanings = {visit.asked_h: visit for visit in _rows(records.visits[records.visits["kind"] == "trough clean"])}
    for visit in _rows(records.visits[records.visits["kind"].isin(FEEDS)]):
        cleaning = cleanings.get(visit.done_h)
        made = [visit, *([cleaning] if cleaning else [])]
        last = made[-1]
        outcome = last.outcome if last.outcome in ("undone", "left out") else visit.outcome
        if outcome == "done" and last.done_h > visit.due_h:
            outcome = "late"
        if outcome not in _MISSED:
            continue
        known = {
            "asked_h": visit.asked_h,
            "due_h": visit.due_h,
            "outcome": outcome,
            "fed_h": last.done_h,
            "late_min": 60 * (last.done_h - visit.asked_h),
            "cleaned": cleaning is not None,
        }
        cause = None if outcome == "left out" else _waiting(records, *made)
        time_h = visit.asked_h if math.isnan(last.done_h) else last.done_h
        yield Fact(time_h, "feed", ("feed", visit.asked_h), known, cause)


def _rounds(records: SowRecords) -> Iterator[Fact]:
    rounds = records.visits[records.visits["kind"] == ROUND]
    missed = rounds[rounds["outcome"].isin(("late", "undone", "left out"))]
    if missed.empty:
        return
    undone = list(_rows(missed[missed["outcome"] != "left out"]))
    yield Fact(
        float(missed["asked_h"].min()),
        "rounds",
        ("rounds",),
        {
            "missed": len(missed),
            "all": len(rounds),
            "until_h": float(missed["asked_h"].max()),
            "left_out": int((missed["outcome"] == "left out").sum()),
        },
        _waiting(records, *undone) if undone else None,
    )


def _other_visits(records: SowRecords) -> Iterator[Fact]:
    told = (*FEEDS, ROUND, "exam and help", "treat sow")
    visits = records.visits[~records.visits["kind"].isin(told)]
    for visit in _rows(visits[visits["outcome"].isin(_MISSED)]):
        known = {
            "task": visit.kind,
            "asked_h": visit.asked_h,
            "due_h": visit.due_h,
            "outcome": visit.outcome,
            "late_min": 60 * (visit.done_h - visit.due_h),
            "done_h": visit.done_h,
        }
        cause = None if visit.outcome == "left out" else _waiting(records, visit)
        time_h = visit.asked_h if math.isnan(visit.done_h) else visit.done_h
        yield Fact(time_h, "task", ("task", visit.kind, visit.asked_h), known, cause)


def _farrowing(records: SowRecords) -> Iterator[Fact]:
    for event in _rows(records.happened("farrowing finished")):
        row = records.sow
        known = {
            "duration_min": event.amount,
            "total_born": int(row["total_born"]),
            "born_alive": int(row["born_alive"]),
            "stillborn": int(row["stillborn"]),
            "attended_births": int(row["attended_births"]),
            "births_on_duty": int(row["births_on_duty"]),
            "mean_birth_weight_kg": float(records.piglets["birth_weight_kg"].mean()),
            "teats": int(row["functional_teats"]),
        }
        yield Fact(event.time_h, "farrowed", ("farrowed",), known)


def _exams(records: SowRecords) -> Iterator[Fact]:
    visits = list(_rows(records.visits[records.visits["kind"] == "exam and help"]))
    for event in _rows(records.happened("exam made")):
        of_event = [visit for visit in visits if abs(visit.started_h - event.time_h) < 1e-6]
        known = {"exam": int(event.amount), "delivered": bool(event.detail > 0)}
        cause = None
        if of_event:
            known["waited_min"] = 60 * (of_event[0].started_h - of_event[0].asked_h)
            cause = _waiting(records, of_event[0]) if known["waited_min"] >= _WORTH_A_CAUSE_MIN else None
        yield Fact(event.time_h, "exam", ("exam", known["exam"]), known, cause)


def _treatments(records: SowRecords) -> Iterator[Fact]:
    for number, visit in enumerate(_rows(records.visits[records.visits["kind"] == "treat sow"])):
        if visit.outcome == "called off":
            continue
        waited_min = 60 * (visit.started_h - visit.asked_h)
        known = {"outcome": visit.outcome, "waited_min": waited_min, "asked_h": visit.asked_h}
        explained = visit.outcome != "left out" and not waited_min < _WORTH_A_CAUSE_MIN
        time_h = visit.asked_h if math.isnan(visit.done_h) else visit.done_h
        yield Fact(time_h, "treated", ("treated", number), known, _waiting(records, visit) if explained else None)


def _stillborn(records: SowRecords) -> Iterator[Fact]:
    for piglet in _rows(records.piglets[records.piglets["fate"] == "stillborn"]):
        known = {
            "piglet": int(piglet.birth_order),
            "birth_weight_kg": piglet.birth_weight_kg,
            "interval_min": piglet.birth_interval_min,
            "attended": int(piglet.attended),
        }
        people = records.staff.moment(piglet.birth_time_h)
        key = ("piglet", records.number, int(piglet.birth_order))
        yield Fact(piglet.birth_time_h, "stillborn", key, known, at=None if piglet.attended else people)


def _deaths(records: SowRecords) -> Iterator[Fact]:
    for death in _rows(records.deaths):
        known = {name: getattr(death, name) for name in records.deaths.columns if name != "replicate"}
        known["nursed_another"] = int(death.reared_by != records.number)
        yield Fact(death.time_h, "died", ("piglet", int(death.sow), int(death.birth_order)), known)


def _moves(records: SowRecords) -> Iterator[Fact]:
    """Piglets moved together, in and out."""
    yield from _moved("moved in", records.happened("piglet moved"), "amount")
    yield from _moved("moved out", records.moves_out, "sow")


def _moved(kind: str, moves: pd.DataFrame, other: str) -> Iterator[Fact]:
    """`other`: the column with the sow that they come from or go to."""
    together: dict[tuple[float, int], list[Any]] = {}
    for move in _rows(moves):
        together.setdefault((move.time_h, int(getattr(move, other))), []).append(move)
    for (time_h, sow), some in together.items():
        piglets = tuple(int(move.piglet) for move in some)
        known = {"piglets": piglets, "other": sow, "weight_kg": sum(move.detail for move in some) / len(some)}
        yield Fact(time_h, kind, (kind, sow, *piglets), known)


def _events(records: SowRecords) -> Iterator[Fact]:
    """Events that the engine has words for and that need no cause."""
    counts: dict[str, int] = {}
    for event in _rows(records.happened(*_EVENTS)):
        kind = str(event.what)
        number = counts[kind] = counts.get(kind, 0) + 1
        known = {"amount": event.amount, "detail": event.detail, "piglet": int(event.piglet), "words": event.words}
        yield Fact(event.time_h, kind, (kind, number), known)


def _rows(table: pd.DataFrame) -> Iterator[Any]:
    return table.itertuples(index=False)

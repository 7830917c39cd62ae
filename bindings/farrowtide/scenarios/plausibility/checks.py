"""The checks of a scenario: one function for each kind of warning. Its docstring is the entry in the list of warnings."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from farrowtide import _core
from farrowtide.errors import PlausibilityWarning
from farrowtide.scenarios.plausibility.facts import HOURS_A_DAY, Facts, clock, days_in_words

Found = Iterator[tuple[str, str, str]]  # place, problem, advice
CHECKS: dict[str, Callable[[Facts], Found]] = {}

_FAMILIES = {
    "feed by hand": ("feeding.",),
    "feed by drop": ("feeding.",),
    "stand up": ("care.",),
    "foster move": ("fostering.", "moves."),
}


def _kind(name: str) -> Callable[[Callable[[Facts], Found]], Callable[[Facts], Found]]:
    def register(check: Callable[[Facts], Found]) -> Callable[[Facts], Found]:
        CHECKS[name] = check
        return check

    return register


def found_in(facts: Facts) -> list[PlausibilityWarning]:
    """All warnings about one scenario."""
    return [PlausibilityWarning(kind, *parts) for kind, check in CHECKS.items() for parts in check(facts)]


@_kind("work outside duty")
def work_outside_duty(facts: Facts) -> Found:
    """Feeds, looks, stand-up rounds or moves are planned for a time at which nobody is on duty, or in a break."""
    days = facts.days_of_stay
    for task in facts.planned:
        waits = [facts.next_duty(day * HOURS_A_DAY + task.hour) for day in days]
        missed = [wait for wait in waits if wait > 0]
        if not missed:
            continue
        never = sum(task.patience_h is not None and wait >= task.patience_h for wait in missed)
        first = next(day for day, wait in zip(days, waits, strict=True) if wait > 0)
        left, comes = facts.off_duty_around(first * HOURS_A_DAY + task.hour)
        outcome = (
            "it is never done"
            if never == len(days)
            else f"it is not done {days_in_words(never, len(days))}"
            if never
            else f"it begins {min(missed) * 60:.0f} min late at best, {days_in_words(len(missed), len(days))}"
        )
        yield (
            facts.place_of_time(task.hour, _FAMILIES[task.task]),
            f"'{task.task}' at {clock(task.hour)} falls into {clock(left)} to {clock(comes)}, when nobody is on duty: {outcome}",
            "Choose a time within a shift, or add people then (staff.shifts).",
        )


@_kind("days without staff")
def days_without_staff(facts: Facts) -> Found:
    """Nobody is on duty at all on some days between loading and weaning."""
    days = facts.days_of_stay
    empty = [day for day in days if facts.next_duty(day * HOURS_A_DAY) >= HOURS_A_DAY]
    if empty:
        yield (
            facts.place("staff.shifts.0.days"),
            f"nobody is on duty {days_in_words(len(empty), len(days))}: no feed by hand, no checks, no help",
            "Add shifts on these days (staff.shifts).",
        )


@_kind("portion larger than the trough")
def portion_over_trough(facts: Facts) -> Found:
    """The largest portion of feed does not fit into the trough, so that the rest is not delivered."""
    kg, hour, day = _core.largest_portion(facts.scenario._core)
    capacity = facts.settings["room.trough_capacity"]
    holds_kg = float(capacity.value.split()[0])
    if kg > holds_kg + 1e-6:
        yield (
            facts.place_of_time(hour, ("feeding.",)),
            f"{kg:.1f} kg are poured at {clock(hour)} on lactation day {day}, but a trough holds {capacity.written}: "
            f"{kg - holds_kg:.1f} kg are not delivered",
            "Feed more often, or give the trough its real size (room.trough_capacity).",
        )


@_kind("key without effect")
def keys_without_effect(facts: Facts) -> Found:
    """A key is given that has no effect beside the other settings, such as a set point under an imposed climate."""
    for setting in facts.settings.values():
        key, _, options = setting.only_with.partition(": ")
        if setting.given and options and facts.value(key) not in options.split(", "):
            yield (
                setting.place,
                f"has no effect, because {key} is {facts.value(key) or 'not in use'}",
                f"Remove it, or set {key} to {' or '.join(options.split(', '))}.",
            )


@_kind("paid hours at night")
def paid_hours_at_night(facts: Facts) -> Found:
    """Night cover is paid for all night, whereas labour per litter counts only the minutes worked."""
    people = facts.timetable["night_people"]
    if not people:
        return
    evening, morning = facts.night
    night_h = (morning - evening) % HOURS_A_DAY
    nights = facts.timetable["loading_days_before_due"] + facts.timetable["lactation_days"]
    hours = people * nights * night_h
    yield (
        facts.place("attendance.night_people"),
        f"is on duty for {night_h:.1f} h a night: {hours:,.0f} paid hours in {nights} nights, "
        f"{hours / facts.scenario.farm['sows_per_room']:.1f} h a sow, whatever is worked",
        "Compare paid hours, not only labour per litter, which counts minutes worked.",
    )


@_kind("weather filled in")
def weather_filled_in(facts: Facts) -> Found:
    """Hours that are missing in a file of outdoor weather were interpolated."""
    if facts.scenario.weather is None:
        return
    file, filled = facts.scenario.weather
    if filled:
        yield (
            file,
            f"{len(filled)} of the hours are missing and were interpolated, the first at {filled[0]}",
            "Nothing needs to be done if these are few.",
        )

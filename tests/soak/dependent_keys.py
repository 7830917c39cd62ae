"""Keys that are valid or not only in combination, drawn together: one way of drawing for each rule of the reader.

A rule that is missing here shows in the share of scenarios that are refused as drawn.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

from hypothesis import strategies as st
from random_values import MINUTES, clock, ends, entries, numbers, plain, simple, written

from farrowtide.scenarios.declarations import Declaration

Values = dict[str, Any]  # by name of the key
Together = Callable[..., Values]  # of a `draw` and the declarations of some keys

# What the whole of a scenario has in common, in its cases and alternatives as well.
CRATES = st.shared(st.integers(1, 6), key="crates")
SOWS = st.shared(CRATES.flatmap(lambda crates: st.integers(1, crates)), key="sows")  # at least so many in a room
_INDUCED = st.shared(st.booleans(), key="induced")
_NIGHT_SHIFTS = st.shared(st.booleans(), key="night shifts")
_SEVERAL_GROUPS = st.shared(st.sampled_from([False, False, False, True]), key="several groups")
_OWN_WEATHER = st.shared(st.sampled_from([False] * 7 + [True]), key="own weather")  # which takes long to read
_SOMETIMES = st.booleans()

_DAYS_OF_A_STAY = 56  # the longest, with washing and drying
_DAYS_OF_SEVERAL_GROUPS = 270  # of all that are needed to fill and empty the rooms of `_batches`


def _apart(least: float) -> Together:
    """Two numbers, of which the second is larger by at least this."""

    def together(draw: st.DrawFn, first: Declaration, second: Declaration) -> Values:
        lower = plain(draw, first, high=second.high - least)
        upper = plain(draw, second, low=lower + least)
        return {first.name: written(draw, first, lower), second.name: written(draw, second, upper)}

    return together


def _different(draw: st.DrawFn, first: Declaration, second: Declaration) -> Values:
    values = st.integers(*map(int, ends(first)))
    one, other = draw(st.lists(values, min_size=2, max_size=2, unique=True))
    return {first.name: one, second.name: other}


def _two_sows(draw: st.DrawFn, giver: Declaration, receiver: Declaration) -> Values:
    sows = draw(st.lists(st.integers(1, draw(SOWS)), min_size=2, max_size=2, unique=True))
    return {giver.name: sows[0], receiver.name: sows[1]}


def _shares(draw: st.DrawFn, shares: Declaration) -> Values:
    """Not all of them 0."""
    drawn = draw(entries(shares, numbers(shares)))
    drawn[draw(st.sampled_from(range(len(drawn))))] = plain(draw, shares, low=0.01)
    return {shares.name: drawn}


def _weather(draw: st.DrawFn, *series: Declaration) -> Values:
    """A day that goes from its midnight to its noon value and back, again and again, until the last group is weaned."""
    days = _DAYS_OF_SEVERAL_GROUPS if draw(_SEVERAL_GROUPS) else _DAYS_OF_A_STAY
    drawn: Values = {}
    for key in series if draw(_OWN_WEATHER) else ():
        midnight, noon = plain(draw, key), plain(draw, key)
        drawn[key.name] = [round(noon + (midnight - noon) * abs(hour - 12) / 12, 2) for hour in range(24)] * days
    return drawn


def _lessons(draw: st.DrawFn, teach: Declaration, again: Declaration) -> Values:
    taught = draw(simple(teach))
    return {teach.name: taught, again.name: taught != "nobody" and draw(simple(again))}


def _night_feed(draw: st.DrawFn, time: Declaration, amount: Declaration) -> Values:
    return {time.name: draw(simple(time))} | ({amount.name: draw(simple(amount))} if draw(_SOMETIMES) else {})


def _portions(draw: st.DrawFn, times: Declaration, shares: Declaration) -> Values:
    """As many shares as times."""
    drawn: Values = {times.name: draw(simple(times))}
    if draw(_SOMETIMES):
        drawn[shares.name] = [plain(draw, shares, low=0.01) for _ in drawn[times.name]]
    return drawn


def _one_of_two(draw: st.DrawFn, first: Declaration, second: Declaration) -> Values:
    key = first if draw(_SOMETIMES) else second
    return {key.name: draw(simple(key))}


def _allowance(
    draw: st.DrawFn, rule: Declaration, amounts: Declaration, low: Declaration, start: Declaration, high: Declaration
) -> Values:
    """By day, with an amount for each; by trough, with a start between the limits, which other rules do not need."""
    drawn: Values = {rule.name: draw(simple(rule))}
    if drawn[rule.name] == "by_day" or draw(_SOMETIMES):
        drawn[amounts.name] = draw(simple(amounts))
    least = -math.inf
    for key in (low, start, high):
        value = plain(draw, key, low=least)
        drawn[key.name] = written(draw, key, value)
        least = value if drawn[rule.name] == "by_trough" else least
    return drawn


def _setback(draw: st.DrawFn, farrowing: Declaration, later: Declaration, setback: Declaration) -> Values:
    """Not below the lowest set point."""
    days = {key.name: plain(draw, key) for key in (farrowing, later)}
    most = min(days.values()) - farrowing.low - 0.01
    return days | {setback.name: plain(draw, setback, high=max(most, 0))}


def _shift(draw: st.DrawFn, start: Declaration, end: Declaration, rest: Declaration, rest_from: Declaration) -> Values:
    """With a break inside, and overnight in a scenario without night staff only."""
    overnight = draw(_NIGHT_SHIFTS)
    begins = draw(MINUTES if overnight else st.integers(0, 24 * 60 - 2))
    lasts = draw(st.integers(1, 24 * 60 if overnight else 24 * 60 - 1 - begins))
    rests = plain(draw, rest, high=lasts - 1)
    drawn = {start.name: clock(begins), end.name: clock(begins + lasts), rest.name: written(draw, rest, rests)}
    if draw(_SOMETIMES):
        drawn[rest_from.name] = clock(begins + draw(st.integers(0, math.floor(lasts - rests))))
    return drawn


def _night_staff(draw: st.DrawFn, people: Declaration) -> Values:
    return {people.name: 0 if draw(_NIGHT_SHIFTS) else draw(simple(people))}


def _induction(draw: st.DrawFn, kind: Declaration, day: Declaration) -> Values:
    """Not earlier than two days before the mean, and of sows whose farrowing day is not given."""
    if not draw(_INDUCED):
        return {kind.name: "none", day.name: draw(simple(day))}
    return {kind.name: draw(simple(kind)), day.name: draw(numbers(day, low=float(day.default) - 2 + 0.01))}


def _farrowing_day(draw: st.DrawFn, day: Declaration) -> Values:
    return {} if draw(_INDUCED) else {day.name: draw(simple(day))}


def _batches(
    draw: st.DrawFn,
    groups: Declaration,
    every: Declaration,
    per_group: Declaration,
    rooms: Declaration,
    warm_up: Declaration,
) -> Values:
    """At least as many rooms as are in use at a time."""
    several = draw(_SEVERAL_GROUPS)
    drawn = {
        groups.name: 2 if several else 1,
        every.name: draw(st.sampled_from([7, 14, 21, 28, 42, 60])),
        per_group.name: draw(st.integers(1, 2)),
    }
    in_turn = math.ceil(_DAYS_OF_A_STAY / drawn[every.name]) if several else 1
    drawn[rooms.name] = drawn[per_group.name] * in_turn + draw(st.integers(0, 2))
    return drawn | ({warm_up.name: draw(st.integers(0, 1)) if several else 0} if draw(_SOMETIMES) else {})


# By the path of a section: the keys and how they are drawn together.
DEPENDENT: dict[str, dict[tuple[str, ...], Together]] = {
    "room": {("light_from", "light_until"): _apart(1)},
    "climate": {
        ("outdoor_hours", "outdoor_humidity_hours"): _weather,
        ("temperature_hours", "temperature_days"): _one_of_two,
    },
    "herd": {("parity_shares",): _shares},
    "herd.every_sow": {("farrows_on_day",): _farrowing_day},
    "herd.sows": {("farrows_on_day",): _farrowing_day},
    "induction": {("kind", "gestation_day"): _induction},
    "moves": {("from", "to"): _two_sows},
    "farm": {("groups", "group_every", "rooms_per_group", "rooms", "warm_up_groups"): _batches},
    "staff.shifts": {("from", "until", "break", "break_from"): _shift},
    "loading": {("teach", "again"): _lessons},
    "feeding": {("night_top_up", "top_up"): _night_feed, ("times", "shares"): _portions},
    "feeding.allowance": {
        ("rule", "amounts", "min", "start", "max"): _allowance,
        ("empty_up_to", "untouched_from"): _apart(0.01),
    },
    "temperature": {
        ("from_day", "by_day"): _apart(1),
        ("farrowing", "later", "setback"): _setback,
        ("from_hour", "until_hour"): _different,
    },
    "attendance": {("night_people",): _night_staff},
    "fostering.window": {("from", "until"): _apart(1)},
}

"""The warnings about a result, from what its rooms showed and what its scenario leads one to expect."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import cache

from farrowtide import _core
from farrowtide.errors import PlausibilityWarning
from farrowtide.outputs.plausibility.observed import Count, Observed
from farrowtide.outputs.plausibility.ranges import Range, ranges
from farrowtide.scenarios.plausibility.facts import HOURS_A_DAY, Expected

# Of the tasks of a kind; above, their plan cannot be carried out. Our own choice, as is the share of the night.
_MOST_UNDONE, _MOST_LATE = 0.5, 0.9
_BUSY_ENOUGH = 0.1  # of the time on duty at night

MOVED = "piglets moved without fostering"  # a kind of warning


def found_in(arms: Mapping[str, tuple[Observed, Expected]]) -> list[PlausibilityWarning]:
    """The warnings about arms, by name: what was seen of each, and what its scenario leads one to expect.

    Each warning is given once, with the arms that it is about; a single arm needs no name.
    """
    seen_of = {name: seen for name, (seen, _) in arms.items()}
    about_all = [*_set_aside(seen_of), *_weaned_late(seen_of)]
    for limits in ranges().values():
        about_all += _outside(
            limits,
            {name: seen.counts[limits.name] for name, seen in seen_of.items() if limits.name in seen.counts},
            seen_of,
        )
    return [*about_all, *_never_done(seen_of), *_moved(arms), *_idle_at_night(arms)]


def _about(some: Iterable[str], every: Iterable[str]) -> tuple[str, ...]:
    """The arms to name: none where it is all of them."""
    named = tuple(some)
    return named if set(named) != set(every) else ()


def _span(percents: Iterable[float]) -> str:
    """`3.2 %`, `3.2 to 8.5 %`."""
    in_order = sorted(percents)
    ends = dict.fromkeys(f"{end:.2g}" if end < 10 else f"{end:.0f}" for end in (in_order[0], in_order[-1]))
    return f"{' to '.join(ends)} %"


def _set_aside(seen_of: Mapping[str, Observed]) -> list[PlausibilityWarning]:
    return [
        PlausibilityWarning(
            "room set aside",
            f"replicate {replicate}",
            f"the room broke off and is left out of every number: {fault}",
            f"Please report it, with the command and the seed; `farrowtide run --replicate {replicate}` repeats it.",
            _about([name], seen_of),
        )
        for name, seen in seen_of.items()
        for replicate, fault in seen.set_aside
    ]


def _weaned_late(seen_of: Mapping[str, Observed]) -> list[PlausibilityWarning]:
    late = {name: seen for name, seen in seen_of.items() if seen.weaned_late}
    if not late:
        return []
    number, sows = sum(seen.weaned_late for seen in late.values()), sum(seen.sows for seen in late.values())
    return [
        PlausibilityWarning(
            "weaned late",
            "sows.left_as",
            f"{number:,} of {sows:,} sows were still nursing when the room had to be empty, because nobody was there to wean "
            "them, and were weaned then",
            "Put people on duty on the day of weaning and after it (staff.shifts).",
            _about(late, seen_of),
        )
    ]


def _outside(limits: Range, counts: Mapping[str, Count], seen_of: Mapping[str, Observed]) -> list[PlausibilityWarning]:
    arms_outside = {name: count for name, count in counts.items() if count.outside}
    if not arms_outside:
        return []
    arm, worst = max(arms_outside.items(), key=lambda entry: limits.excess(entry[1].worst))
    place = [
        f"replicate {worst.replicate}",
        *([f"sow {worst.sow}"] if worst.sow > 0 else []),
        *([arm] if len(counts) > 1 else []),
    ]
    shares = _span(100 * count.outside / count.of for count in arms_outside.values())
    total, of = sum(count.outside for count in arms_outside.values()), sum(count.of for count in arms_outside.values())
    detail = ""
    if limits.name == "set_point_not_reached":
        temperature, set_point, hours = seen_of[arm].reached
        detail = f"; there, {temperature / hours:.1f} degC was reached and {set_point / hours:.1f} degC was set"
    return [
        PlausibilityWarning(
            "outside plausible range",
            limits.what,
            f"{limits.limits} in {total:,} of {of:,} {limits.of} ({shares}), the most extreme {worst.worst:.3g} {limits.unit} "
            f"({', '.join(place)}){detail}",
            limits.advice,
            _about(arms_outside, counts),
        )
    ]


@cache
def until_the_end() -> set[str]:
    """Tasks whose deadline is the end of the run: what is left of them then is not left undone."""
    return {task["name"] for task in _core.tasks(_core.Coefficients.built_in()) if task["due"] == "before next group"}


def _never_done(seen_of: Mapping[str, Observed]) -> list[PlausibilityWarning]:
    neglected = []
    kinds = dict.fromkeys(kind for seen in seen_of.values() for kind in seen.tasks if kind not in until_the_end())
    for kind in kinds:
        for column, how, most in ((2, "never done", _MOST_UNDONE), (1, "done late", _MOST_LATE)):
            tasks = {name: seen.tasks.get(kind, [0, 0, 0]) for name, seen in seen_of.items()}
            missed = {name: numbers for name, numbers in tasks.items() if numbers[column] > most * numbers[0]}
            if missed:
                number, asked = (sum(numbers[i] for numbers in missed.values()) for i in (column, 0))
                neglected.append(
                    PlausibilityWarning(
                        "work not done",
                        f"task '{kind}'",
                        f"{number:,} of {asked:,} that were asked for were {how}",
                        "Plan it for hours with people on duty, or add people: its effect is not in the result.",
                        _about(missed, seen_of),
                    )
                )
    return neglected


def _moved(arms: Mapping[str, tuple[Observed, Expected]]) -> list[PlausibilityWarning]:
    moved = {name: seen for name, (seen, expected) in arms.items() if seen.moved and not expected.moves}
    if not moved:
        return []
    share = _span(100 * seen.moved / seen.born_alive for seen in moved.values())
    return [
        PlausibilityWarning(
            MOVED,
            "litter_integrity_percent",
            f"{share} of the piglets were moved though no moves are planned: those of sows that died are taken to other sows",
            "Read the share that stays with its dam against this.",
            _about(moved, arms),
        )
    ]


def _idle_at_night(arms: Mapping[str, tuple[Observed, Expected]]) -> list[PlausibilityWarning]:
    worked_percent = {}
    for name, (seen, expected) in arms.items():
        worked, on_duty = _night(seen, expected)
        if on_duty and worked <= _BUSY_ENOUGH * on_duty:
            worked_percent[name] = 100 * worked / on_duty
    if not worked_percent:
        return []
    return [
        PlausibilityWarning(
            "idle at night",
            "staff_utilisation_percent",
            f"people on duty at night work {_span(worked_percent.values())} of the time they are paid for",
            "Count paid hours as the cost of night cover, not minutes worked.",
            _about(worked_percent, arms),
        )
    ]


def _night(seen: Observed, expected: Expected) -> tuple[float, float]:
    """Minutes worked and on duty in the hours of night cover."""
    if expected.night is None:
        return 0.0, 0.0
    evening, morning = (int(hour) for hour in expected.night)
    night = [hour % HOURS_A_DAY for hour in range(evening, morning + HOURS_A_DAY * (morning <= evening))]
    return sum(seen.worked_min[hour] for hour in night), sum(seen.on_duty_min[hour] for hour in night)


KINDS = {
    "room set aside": "A room broke off on a fault of the engine. It is named and counted, and no number includes it.",
    "weaned late": "Nobody was there to wean, and the sows were weaned when the room had to be empty.",
    "outside plausible range": "Animals or a climate outside the ranges in the table below, with counts.",
    "work not done": (
        f"Of the tasks of a kind, more than {100 * _MOST_UNDONE:.0f} % were never done or more than {100 * _MOST_LATE:.0f} % late."
    ),
    "idle at night": (
        f"People on duty at night work less than {100 * _BUSY_ENOUGH:.0f} % of the time, but are paid for all of it."
    ),
    MOVED: "No moves are planned, but the piglets of sows that died were taken to other sows. A study says so where one of its outputs counts moves.",
}

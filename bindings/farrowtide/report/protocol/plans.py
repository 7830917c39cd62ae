"""Tables that follow from several keys: feed by day of lactation, set point by day of the group."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import groupby

from farrowtide.report.protocol.values import Values

_FULL = "feeding.kind: full_access"


@dataclass(frozen=True)
class Table:
    """A table of a protocol and the keys that it follows from."""

    name: str  # of its phrases below `tables`
    headings: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    keys: tuple[str, ...]


@dataclass(frozen=True)
class Feed:
    """What a sow is to be given on a day: an amount [kg/d], or full access to feed."""

    kg_per_day: float | None  # None: her feeder is open
    meals: tuple[tuple[str, float], ...] = ()  # clock time, kg


class Allowance:
    """The planned feed of a sow by the rule of the scenario, before what her trough shows changes it."""

    def __init__(self, values: Values) -> None:
        self._values = values
        self.opens_on = int(values.number("feeding.from_day")) if values.holds(_FULL) else None
        self.known = "feeding.allowance.rule" in values.settings
        self.by_parity = bool(values.numbers("feeding.allowance.change_by_parity"))
        self.last_day = int(values.number("group.lactation_days"))

    @property
    def keys(self) -> tuple[str, ...]:
        """The keys that the plan follows from."""
        with_access = ("feeding.from_day",) if self.opens_on is not None else ("feeding.times", "feeding.shares")
        rule = self._values.raw("feeding.allowance.rule") or "flat"
        of_rule = {
            "flat": ("amount",),
            "by_day": ("amounts",),
            "step_up": ("start", "step", "max"),
            "by_trough": ("start", "step", "max"),
        }[rule]
        names = ("rule", *of_rule, "farrowing_day_share", "change_by_parity")
        named = ("feeding.kind", *with_access, *(f"feeding.allowance.{name}" for name in names), "group.lactation_days")
        return tuple(key for key in named if key in self._values.settings)

    @property
    def last_planned_day(self) -> int:
        """The last lactation day on which she is fed by amount; below 0 where she never is."""
        return self.last_day if self.opens_on is None else min(self.opens_on - 1, self.last_day)

    def of_day(self, lactation_day: int, parity: int = 1) -> Feed:
        """What she is to be given on a day of lactation, 0 or later."""
        if self.opens_on is not None and lactation_day >= self.opens_on:
            return Feed(None)
        kg = self._by_rule(max(1, lactation_day))
        if lactation_day == 0:
            kg *= self._values.number("feeding.allowance.farrowing_day_share")
        elif changes := self._values.numbers("feeding.allowance.change_by_parity"):
            kg = max(0.0, kg + changes[min(parity, len(changes)) - 1])
        times = self._values.listed("feeding.times")
        shares = self._values.numbers("feeding.shares") or [1.0] * len(times)
        return Feed(kg, tuple((time, kg * share / sum(shares)) for time, share in zip(times, shares, strict=True)))

    def is_open(self, age: int, *, farrowed: bool) -> bool:
        """Whether her feeder is open; `age`: day of lactation, or of the time before it if negative."""
        return self.opens_on is not None and age >= self.opens_on and (farrowed or self.opens_on < 0)

    def _by_rule(self, day: int) -> float:
        values, below = self._values, "feeding.allowance."
        match values.raw(f"{below}rule"):
            case "flat":
                return values.number(f"{below}amount")
            case "by_day":
                amounts = values.numbers(f"{below}amounts")
                return amounts[min(day, len(amounts)) - 1]
        rising = values.number(f"{below}start") + values.number(f"{below}step") * (day - 1)
        return min(values.number(f"{below}max"), rising)

    def before_farrowing(self, days_to_due: int) -> Feed | None:
        """What a sow that has not farrowed is to be given; None where the file does not say it, or her backfat decides."""
        if "feeding.unless_backfat_over" in self._values.settings:
            return None
        if self.is_open(-days_to_due, farrowed=False):
            return Feed(None)
        if "feeding.pre_farrow.allowance" not in self._values.settings:
            return None
        kg, times = self._values.number("feeding.pre_farrow.allowance"), self._values.listed("feeding.pre_farrow.times")
        return Feed(kg, tuple((time, kg / len(times)) for time in times))


def tables(values: Values) -> list[Table]:
    """The tables of a scenario; those that do not apply are left out."""
    made = (_feed_by_day(values), _set_points(values))
    return [table for table in made if table]


def _feed_by_day(values: Values) -> Table | None:
    plan = Allowance(values)
    if not plan.known or plan.last_planned_day < 0:
        return None
    parities = range(1, len(values.numbers("feeding.allowance.change_by_parity")) + 1) or range(1, 2)
    text = values.phrases
    amounts: dict[int, tuple[str, ...]] = {}
    for day in range(plan.last_planned_day + 1):
        feeds = [plan.of_day(day, parity) for parity in parities]
        of_parities = [values.quantity(feed.kg_per_day or 0.0, "kg/d") for feed in feeds]
        meals = "; ".join(f"{time} {values.quantity(kg, 'kg')}" for time, kg in feeds[0].meals)
        amounts[day] = (*of_parities, *((meals,) if len(parities) == 1 else ()))
    if len(parities) == 1:
        columns = [text("tables.amount"), text("tables.meals")]
    else:
        columns = [text("tables.of_parity", parity=parity) for parity in parities[:-1]]
        columns.append(text("tables.of_parity_or_more", parity=parities[-1]))
    return Table("allowance", (text("tables.lactation_day"), *columns), _merged(values, amounts), plan.keys)


def _set_points(values: Values) -> Table | None:
    by_day = values.scenario.set_points_by_day
    if not by_day:
        return None

    cells = {day: (set_point(values, day),) for day in by_day}
    heads = (values.phrases("tables.group_day"), values.phrases("tables.set_point"))
    keys = [*_of_temperature(values), "room.deep_pit", "loading.days_before_due", "group.lactation_days"]
    return Table("set_points", heads, _merged(values, cells), tuple(key for key in keys if key in values.settings))


def set_point(values: Values, group_day: int) -> str:
    """The set point of a day of the group, without the effect of the weather; "" where the file sets none."""
    lowest_and_highest = values.scenario.set_points_by_day.get(group_day, ())
    return " \N{EN DASH} ".join(dict.fromkeys(values.quantity(each, "degC") for each in lowest_and_highest))


def _of_temperature(values: Values) -> list[str]:
    return [key for key in values.settings if key.startswith("temperature.")]


def _merged(values: Values, cells: Mapping[int, tuple[str, ...]]) -> tuple[tuple[str, ...], ...]:
    """A row for each run of days with the same cells."""
    rows = []
    for of_days, run in groupby(cells, key=cells.__getitem__):
        days = list(run)
        several = values.phrases("tables.days", first=days[0], last=days[-1])
        rows.append((several if len(days) > 1 else str(days[0]), *of_days))
    return tuple(rows)

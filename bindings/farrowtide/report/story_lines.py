"""The lines and the numbers of a story, with quantities in the units of the reader."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from farrowtide.analysis.story.beside import Pair, paired
from farrowtide.analysis.story.facts import Fact, facts, missed_feeds
from farrowtide.analysis.story.records import SowRecords
from farrowtide.outputs.units import MISSING, sentence_in, unit_in, value_in
from farrowtide.report.wording.story import at, cause, otherwise, text

PHASES = ("Before farrowing", "Farrowing and its day", "Days 1 to 7", "From day 8 to the end")


@dataclass(frozen=True)
class Side:
    """What happened under one policy, and why; `cause` is empty where nothing is explained."""

    text: str
    cause: str = ""

    @property
    def sentence(self) -> str:
        """Both in one."""
        return f"{self.text}; {self.cause}" if self.cause else self.text


@dataclass(frozen=True)
class Line:
    """One line of a story. `day`: lactation day; `other`: the same under the other policy, None without one."""

    time_h: float
    day: int
    phase: str
    kind: str
    own: Side
    other: Side | None = None

    @property
    def clock(self) -> str:
        """Lactation day and clock time."""
        return f"day {self.day}, {at(self.time_h)}".replace("-", "\N{MINUS SIGN}")

    @property
    def differs(self) -> bool:
        """Whether the policies differ here, in what happened or in its cause."""
        return self.other is not None and self.other != self.own


@dataclass(frozen=True)
class Number:
    """A number of the whole stay under one policy and the other, as shown."""

    label: str
    unit: str
    own: str
    other: str | None
    difference: str

    @property
    def differs(self) -> bool:
        """Whether the policies differ here."""
        return self.other is not None and self.other != self.own


def story_lines(own: SowRecords, other: SowRecords | None, units: str) -> list[Line]:
    """The lines of a story, in order of time."""
    others = facts(other) if other else []
    return [_line(pair, own, other, units) for pair in paired(facts(own), others)]


def _line(pair: Pair, own: SowRecords, other: SowRecords | None, units: str) -> Line:
    fact = pair.own or pair.other
    assert fact is not None
    day = own.lactation_day(pair.time_h)
    return Line(
        pair.time_h,
        day,
        _phase(own, pair.time_h, day),
        fact.kind,
        _side(pair.own, fact, own, units),
        _side(pair.other, fact, other, units) if other else None,
    )


def _side(fact: Fact | None, counterpart: Fact, records: SowRecords, units: str) -> Side:
    if fact is None:
        return Side(sentence_in(units, otherwise(counterpart, records)))
    return Side(sentence_in(units, text(fact)), sentence_in(units, cause(fact)))


def _phase(records: SowRecords, time_h: float, day: int) -> str:
    begins = records.happened("labour began")["time_h"]
    if day < 0 and (begins.empty or time_h < begins.iloc[0]):
        return PHASES[0]
    if day <= 0:
        return PHASES[1] if len(begins) and time_h >= begins.iloc[0] else PHASES[0]
    return PHASES[2] if day <= 7 else PHASES[3]


@dataclass(frozen=True)
class _Measure:
    label: str
    unit: str
    decimals: int
    value: Callable[[SowRecords], float]


def _column(name: str) -> Callable[[SowRecords], float]:
    return lambda records: float(records.sow[name])


def _feeds(*outcomes: str) -> Callable[[SowRecords], float]:
    return lambda records: float(sum(missed_feeds(records).get(outcome, 0) for outcome in outcomes))


_MEASURES = (
    _Measure("Born alive", "piglets", 0, _column("born_alive")),
    _Measure("Stillborn", "piglets", 0, _column("stillborn")),
    _Measure("Moved to her", "piglets", 0, _column("piglets_moved_in")),
    _Measure("Moved away", "piglets", 0, _column("piglets_moved_out")),
    _Measure("Died with her", "piglets", 0, _column("died_before_weaning")),
    _Measure("Weaned", "piglets", 0, _column("weaned")),
    _Measure("Litter weight at weaning", "kg", 1, _column("litter_weight_at_weaning_kg")),
    _Measure("Farrowing duration", "min", 0, _column("farrowing_duration_min")),
    _Measure("Feed intake", "kg/d", 2, _column("feed_intake_kg_per_day")),
    _Measure("Weight loss", "kg", 1, _column("weight_loss_kg")),
    _Measure("Water", "L/d", 1, _column("water_l_per_day")),
    _Measure("Days with post-partum disorder", "d", 1, _column("disorder_days")),
    _Measure("Feeds late", "", 0, _feeds("late")),
    _Measure("Feeds not given", "", 0, _feeds("undone", "left out")),
)


def story_numbers(own: SowRecords, other: SowRecords | None, units: str) -> list[Number]:
    """The numbers of the whole stay."""
    return [_number(measure, own, other, units) for measure in _MEASURES]


def _number(measure: _Measure, own: SowRecords, other: SowRecords | None, units: str) -> Number:
    def shown(value: float, *, difference: bool = False) -> str:
        if math.isnan(value):
            return MISSING
        in_units = value_in(units, value, measure.unit, difference=difference)
        words = f"{in_units:{'+' if difference else ''}.{measure.decimals}f}"
        zero = float(words) == 0
        return (f"{0:.{measure.decimals}f}" if zero else words).replace("-", "\N{MINUS SIGN}")

    values = [measure.value(records) for records in (own, other) if records]
    return Number(
        measure.label,
        unit_in(units, measure.unit),
        shown(values[0]),
        shown(values[1]) if other else None,
        shown(values[1] - values[0], difference=True) if other else "",
    )

"""A declared output: how it is measured in a room, its unit, and which direction is better.

An output has one value per replicate. A replicate is one room from loading to weaning, or one period of a farm: sows,
litters and piglets of a room share its staff, air and weather, so the unit of replication is the room, not the animal.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from farrowtide.errors import UserError
from farrowtide.outputs.rooms import Rooms
from farrowtide.outputs.units import MAX_DECIMALS, MISSING, Number, duration, rounded_up, unit_in, us_unit, value_in
from farrowtide.statistics.inference import DIFFERENCES, DIFFERENCES_OF_CLASS, MEANS, MEANS_OF_CLASS, Floor

_LONG_MIN = 120  # from which minutes are told in hours and minutes


def in_sentence(label: str) -> str:
    """The label as it is written inside a sentence."""
    return label[0].lower() + label[1:]


@dataclass(frozen=True)
class Output:
    """A quantity measured in each room, with everything needed to judge and print it."""

    name: str
    unit: str
    label: str
    measure: Callable[[Rooms], np.ndarray]  # one value per replicate, NaN where there is none
    good: Literal["higher", "lower"] | None = None  # the direction that is better for the farm; None where it depends
    decimals: int = 1
    negligible: float = 0.05  # a smaller difference is too small to matter [in `unit`]; a choice of this project
    note: str = ""  # the evidence behind it, in a sentence
    table: str = "sows"  # the table from which it is measured
    further_tables: tuple[str, ...] = ()  # and these
    group: str = "headline"  # p values are adjusted within a group
    phrases: tuple[str, str] | None = None  # for a higher and a lower value; {} stands for the difference
    share: bool = False  # whether it is a share of animals, days or tasks, between 0 and 100 %
    hinges_on_few: bool = False  # whether a few animals of a room make most of its difference, as one litter moved does
    of_one_parity_class: bool = False  # whether only the sows of one parity class count, a few of each room
    of_one_animal: float = 0.0  # the change [in `unit`] of one animal below which a pair of rooms counts as equal

    @property
    def tiny(self) -> float:
        """The difference [in `unit`] up to which a pair of rooms counts as equal, however large they are: a part of what matters."""
        return self.negligible / (2 if self.hinges_on_few else 10)

    @property
    def apart(self) -> str:
        """In words, by how much a pair of rooms differs that does not count as equal, however large they are."""
        return f"by {'half' if self.hinges_on_few else 'a tenth'} of what matters or more"

    def tiny_among(self, animals: float) -> float:
        """The difference [in `unit`] up to which a pair of rooms of so many animals counts as equal.

        Where a rare animal that changes by much makes the mean difference, that is what `of_one_animal` makes in a room.
        """
        return max(self.tiny, self.of_one_animal / animals)

    def apart_among(self, animals: float) -> str:
        """In words, by how much a pair of rooms of so many animals differs that does not count as equal."""
        if self.of_one_animal / animals > self.tiny:
            return f"by {self.shown(self.tiny_among(animals))} {self.difference_unit()} or more"
        return self.apart

    @property
    def floor(self) -> Floor:
        """How many rooms the interval of a difference needs."""
        return DIFFERENCES_OF_CLASS if self.of_one_parity_class else DIFFERENCES

    @property
    def floor_of_mean(self) -> Floor:
        """How many rooms the interval of the mean of one alternative needs."""
        return MEANS_OF_CLASS if self.of_one_parity_class else MEANS

    def shown(self, value: float, *, units: str = "si", signed: bool = False) -> str:
        """The value as printed, in `shown_unit(units)`. `units`: "si" or "us". `signed`: a difference, with a plus sign."""
        if np.isnan(value):
            return MISSING
        shown = self.value_in(units, value, difference=signed)
        text = f"{shown:{'+' if signed else ''},.{self._decimals(units, difference=signed)}f}"
        return text.replace("-", "\N{MINUS SIGN}") if text.strip("+-0.,") else text.lstrip("+-")

    def shown_range(self, low: float, high: float, *, units: str = "si", signed: bool = False) -> str:
        """ "LOW to HIGH", with more decimals where the ends would be printed alike; where both would be printed as zero, "within
        +-0.003", or "+0.001 to +0.003" if `signed` and both are on one side of zero.
        """
        largest = self.value_in(units, max(abs(low), abs(high)), difference=signed)
        both_as_zero = 0 < largest < 0.5 * 10.0 ** -self._decimals(units, difference=signed)
        ends = [self.shown(end, units=units, signed=signed) for end in (low, high)]
        hides_sign, hides_width = signed and low * high > 0, low < high and ends[0] == ends[1]
        if (hides_sign if both_as_zero else hides_width) and self.decimals < MAX_DECIMALS:
            return replace(self, decimals=self.decimals + 1).shown_range(low, high, units=units, signed=signed)
        return f"within \N{PLUS-MINUS SIGN}{rounded_up(largest)}" if both_as_zero else " to ".join(ends)

    def phrase(self, difference: float, units: str = "si") -> str:
        """Says in words by how much the output is higher or lower; `difference` is in `unit`."""
        subject = f"the share of {in_sentence(self.label)}" if self.unit == "%" else in_sentence(self.label)
        higher, lower = self.phrases or (f"{subject} is {{}} higher", f"{subject} is {{}} lower")
        amount = f"{self.shown(abs(difference), units=units)} {self.difference_unit(units)}"
        if self.unit == "min" and abs(difference) >= _LONG_MIN:
            amount = duration(abs(difference))
        return (higher if difference > 0 else lower).format(amount)

    def difference_unit(self, units: str = "si") -> str:
        """The unit of a difference: percentage points for percentages, otherwise `shown_unit(units)`."""
        return {"%": "percentage points"}.get(self.unit, self.shown_unit(units))

    def _decimals(self, units: str, *, difference: bool) -> int:
        us = us_unit(self.unit, units)
        more = us.more_decimals if us else 0
        return max(0, self.decimals + (max(0, more) if difference else more))

    def shown_unit(self, units: str = "si") -> str:
        """The unit as printed: pounds for kilograms if `units` is "us"."""
        return unit_in(units, self.unit)

    def value_in(self, units: str, value: Number, *, difference: bool = False) -> Number:
        """A value in `unit`, or an array of them, in `shown_unit(units)`; `difference` as in units.value_in."""
        return value_in(units, value, self.unit, difference=difference)


def needs(outputs: Sequence[Output], animals: float) -> np.ndarray:
    """The rooms of `animals` each that the interval of a difference needs, for each output."""
    return np.array([output.floor.needs(animals) for output in outputs])


def tiny_differences(outputs: Sequence[Output], animals: float) -> np.ndarray:
    """The difference up to which a pair of rooms of `animals` each counts as equal, for each output."""
    return np.array([output.tiny_among(animals) for output in outputs])


def needs_of_means(outputs: Sequence[Output], animals: float) -> np.ndarray:
    """The rooms of `animals` each that the interval of the mean of one alternative needs, for each output."""
    return np.array([output.floor_of_mean.needs(animals) for output in outputs])


def good_direction(output: Output) -> str:
    """Returns "higher" or "lower". Raises UserError if neither direction is better in itself."""
    if output.good is None:
        raise UserError(f"{output.name}: neither direction is better in itself, so there is no best alternative")
    return output.good

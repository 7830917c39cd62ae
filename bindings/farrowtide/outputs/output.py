"""One declared output: what is read off a room's tables, in which unit, and which way is good.

An output has one value per replicate, a replicate being one room from loading to weaning: sows, litters and piglets of
one room share its staff, air and weather, so the room and never the animal is the unit of replication.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

import numpy as np

from farrowtide.errors import UserError
from farrowtide.outputs.rooms import Rooms
from farrowtide.outputs.units import MISSING, US_UNITS, rounded_up


def in_sentence(label: str) -> str:
    """A label inside a sentence."""
    return label[0].lower() + label[1:]


@dataclass(frozen=True)
class Output:
    """One declared output. `good` is the direction that is better for the farm, None where that depends."""

    name: str
    unit: str
    label: str
    measure: Callable[[Rooms], np.ndarray]
    good: Literal["higher", "lower"] | None = None
    decimals: int = 1
    negligible: float = 0.05  # a difference below this is too small to matter: our own choice, in `unit`
    note: str = ""  # what a difference in it rests on
    table: str = "sows"  # the table it needs
    group: str = "headline"  # outputs of one group are judged together
    phrases: tuple[str, str] | None = None  # of a higher and of a lower value, {} for by how much

    def shown(self, value: float, *, units: str = "si", signed: bool = False) -> str:
        """The value as printed, in the unit of `shown_unit`."""
        if np.isnan(value):
            return MISSING
        text = f"{value * self._factor(units):{'+' if signed else ''},.{self.decimals}f}"
        return text.replace("-", "\N{MINUS SIGN}") if text.strip("+-0.,") else text.lstrip("+-")

    def shown_range(self, low: float, high: float, *, units: str = "si", signed: bool = False) -> str:
        """`low to high`; `within +-0.003` where both would be printed as zero."""
        largest = max(abs(low), abs(high)) * self._factor(units)
        if 0 < largest < 0.5 * 10.0**-self.decimals:
            return f"within \N{PLUS-MINUS SIGN}{rounded_up(largest)}"
        return " to ".join(self.shown(end, units=units, signed=signed) for end in (low, high))

    def phrase(self, difference: float, units: str = "si") -> str:
        """By how much it is higher or lower, in plain words."""
        what = f"the share of {in_sentence(self.label)}" if self.unit == "%" else in_sentence(self.label)
        higher, lower = self.phrases or (f"{what} is {{}} higher", f"{what} is {{}} lower")
        amount = f"{self.shown(abs(difference), units=units)} {self.difference_unit(units)}"
        return (higher if difference > 0 else lower).format(amount)

    def difference_unit(self, units: str = "si") -> str:
        """The unit of a difference, spelt out where it is another than that of the value."""
        return {"%": "percentage points"}.get(self.unit, self.shown_unit(units))

    def _factor(self, units: str) -> float:
        return US_UNITS.get(self.unit, ("", 1.0))[1] if units == "us" else 1.0

    def shown_unit(self, units: str = "si") -> str:
        return US_UNITS[self.unit][0] if units == "us" and self.unit in US_UNITS else self.unit


def good_direction(output: Output) -> str:
    """ "higher" or "lower"; UserError where neither is declared better."""
    if output.good is None:
        raise UserError(
            f"{output.name}: neither direction is declared better, so that nothing can be best or worse in it"
        )
    return output.good

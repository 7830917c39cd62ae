"""The prices of a scenario, and what a change costs for each crate and year."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from farrowtide import _core

DAYS_A_YEAR = 365
HOURS = ("hour_of_work", "hour_on_duty")  # the two keys that give an hour a price


@dataclass(frozen=True)
class Prices:
    """The prices of a scenario in `currency`, and the numbers of its rooms with which amounts are spread over a year.

    given                      key of `prices` -> price, of all that have one.
    matters_per_litter         the smallest difference that matters, where the scenario gives one.
    spent_per_crate_and_year   for the alternative: `prices.change` without training, spread evenly and without interest.
    training_hours_per_crate_and_year  for the alternative, of all staff, spread likewise.
    crate_turn_days            days between two loadings of a room.
    crate_turns                crates that are loaded in a replicate, each as often as it is.
    lactation_days             planned.
    """

    currency: str
    given: Mapping[str, float]
    matters_per_litter: float | None
    spent_per_crate_and_year: float
    training_hours_per_crate_and_year: float
    crate_turn_days: float
    crate_turns: int
    lactation_days: int

    @property
    def change_per_crate_and_year(self) -> float:
        """What is spent for the alternative, with training at the price of an hour."""
        hour = max(self.given.get(key, 0.0) for key in HOURS)
        return self.spent_per_crate_and_year + self.training_hours_per_crate_and_year * hour

    @property
    def counted(self) -> tuple[str, tuple[str, ...], float | None]:
        """What margins must have in common to be compared: the currency, the things that have a price, what matters."""
        return self.currency, tuple(self.given), self.matters_per_litter


def prices_of(scenario: _core.Scenario) -> Prices | None:
    """The prices of a scenario; None where it has none."""
    if scenario.prices is None:
        return None
    farm, prices = scenario.farm, scenario.prices
    change, crates = prices.change, scenario.crates * farm["rooms"]
    return Prices(
        currency=prices.currency,
        given=dict(prices.given),
        matters_per_litter=prices.matters_per_litter,
        spent_per_crate_and_year=change.per_crate_and_year
        + (change.per_crate + change.once / crates) / change.lasts_years,
        training_hours_per_crate_and_year=change.training_hours / crates / change.lasts_years,
        crate_turn_days=scenario.crate_turn_days,
        crate_turns=scenario.crates * farm["rooms_per_group"] * farm["groups"],
        lactation_days=scenario.lactation_days,
    )

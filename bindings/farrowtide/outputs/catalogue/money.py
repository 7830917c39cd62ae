"""Outputs in money, of scenarios with prices, and the quantities that have a price.

An output in money is a sum of quantities, each times its price, room by room: margins of two alternatives differ by the
sum of the differences of their quantities, each times its price.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Collection
from dataclasses import dataclass, replace

import numpy as np

from farrowtide import _core
from farrowtide.outputs.catalogue import body, climate, feed, litters, work
from farrowtide.outputs.output import Output
from farrowtide.outputs.readings import known, per_litter
from farrowtide.outputs.rooms import Rooms, labels_of
from farrowtide.outputs.units import MAX_DECIMALS
from farrowtide.scenarios.prices import DAYS_A_YEAR, Prices
from farrowtide.statistics.intervals import ratio

GROUP = "in money"
QUANTITIES = "priced quantities"
CURRENCY = "currency"  # the unit of a declared output, in place of the scenario's
_HOUR_MIN = 60
_NOT_COUNTED = "Not counted: interest, housing, sows bought, sold and fed elsewhere, and animal welfare."

Measure = Callable[[Rooms], np.ndarray]


def _treatments(rooms: Rooms) -> np.ndarray:
    done = rooms.is_labelled("tasks", "kind", "treat sow") & known(rooms.values("tasks", "done_h"))
    return ratio(rooms.number("tasks", done), rooms.litters)


def _died(rooms: Rooms) -> np.ndarray:
    died = [code for code, fate in enumerate(labels_of("sows", "left_as")) if fate.startswith("died")]
    return ratio(rooms.number("all_sows", np.isin(rooms.values("all_sows", "left_as"), died)), rooms.litters)


WEANED_KG = Output(
    "weaned_kg_per_litter",
    "kg",
    "Weight of piglets weaned per litter",
    per_litter("piglets", "weaning_weight_kg"),
    good="higher",
    decimals=1,
    negligible=0.5,
    note="Follows from litter growth and survival.",
    table="piglets",
    group=QUANTITIES,
)
DUTY = Output(
    "duty_hours_per_litter",
    "h",
    "Hours on duty per litter",
    lambda rooms: ratio(rooms.staffed_min / _HOUR_MIN, rooms.litters),
    good="lower",
    decimals=2,
    negligible=0.05,
    note="Of all staff by the roster, worked or not; breaks and absences are not duty.",
    table="duty_hours",
    group=QUANTITIES,
)
TREATMENTS = Output(
    "treatments_per_litter",
    "treatments",
    "Treatments of sows per litter",
    _treatments,
    good="lower",
    decimals=2,
    negligible=0.02,
    note="Those carried out, of healthy sows as well; scouring litters and pain relief of piglets are not counted.",
    table="tasks",
    group=QUANTITIES,
)
DEAD_SOWS = Output(
    "dead_sows_per_litter",
    "sows",
    "Sows that die, per litter",
    _died,
    good="lower",
    decimals=3,
    negligible=0.005,
    note="Level from herd records; the factors that raise it are partly assumptions.",
    group=QUANTITIES,
)
UNPRICED = (WEANED_KG, DUTY, TREATMENTS, DEAD_SOWS)


@dataclass(frozen=True)
class Priced:
    """Something that has a price: `sign` is 1 where it is paid for by others; `units` of the price in one of the output's."""

    key: str  # of `prices`
    quantity: Output
    sign: int = -1
    units: float = 1.0

    def worth(self, rooms: Rooms) -> np.ndarray:
        """Per litter, with its sign."""
        return self.sign * self.price(rooms.prices) * self.units * self.quantity.measure(rooms)

    def price(self, prices: Prices | None) -> float:
        """0 where it has none."""
        return prices.given.get(self.key, 0.0) if prices else 0.0


PRICED = (
    Priced("weaned_piglet", litters.WEANED, sign=1),
    Priced("weaned_kg", WEANED_KG, sign=1),
    Priced("next_litter_piglet", body.NEXT_LITTER, sign=1),
    Priced("feed_per_kg", feed.OFFERED),
    Priced("hour_of_work", work.LABOUR, units=1 / _HOUR_MIN),
    Priced("hour_on_duty", DUTY),
    Priced("treatment", TREATMENTS),
    Priced("heating_per_kwh", climate.HEATER),
    Priced("dead_sow", DEAD_SOWS),
    Priced("empty_day", body.OESTRUS),
)


def _worth_of(keys: Collection[str]) -> Measure:
    """What the things with these keys bring, less what they cost, per litter; of those that have a price."""
    chosen = [priced for priced in PRICED if priced.key in keys]

    def worth(rooms: Rooms) -> np.ndarray:
        nothing = ratio(0 * rooms.litters, rooms.litters)
        worths = [priced.worth(rooms) for priced in chosen if priced.price(rooms.prices)]
        amount: np.ndarray = np.sum([nothing, *worths], axis=0)
        return amount

    return worth


def _change(rooms: Rooms) -> np.ndarray:
    spent = rooms.prices.change_per_crate_and_year if rooms.prices else 0.0
    return ratio(np.full(rooms.count, spent), _litters_per_crate_and_year(rooms))


def _margin(rooms: Rooms) -> np.ndarray:
    margin: np.ndarray = _worth_of([priced.key for priced in PRICED])(rooms) - _change(rooms)
    return margin


def _litters_per_crate_and_year(rooms: Rooms) -> np.ndarray:
    """Empty crates count, and so do those of sows that died before farrowing."""
    if rooms.prices is None:
        return np.full(rooms.count, np.nan)
    return rooms.litters / rooms.prices.crate_turns * DAYS_A_YEAR / rooms.prices.crate_turn_days


def _litters_per_sow_and_year(rooms: Rooms) -> np.ndarray:
    parts = ("gestation_length_d", "lactation_length_d", "weaning_to_oestrus_d")
    cycle_d = np.sum([rooms.mean("sows", part) for part in parts], axis=0)
    return ratio(np.full(rooms.count, float(DAYS_A_YEAR)), cycle_d)


def _margin_of(litters_a_year: Measure) -> Measure:
    return lambda rooms: _margin(rooms) * litters_a_year(rooms)


PER_LITTER = Output("margin_per_litter", CURRENCY, "Margin per litter", _margin, good="higher")
PER_SOW = Output(
    "margin_per_sow_and_year",
    CURRENCY,
    "Margin per sow and year",
    _margin_of(_litters_per_sow_and_year),
    good="higher",
    group=GROUP,
)
PER_CRATE = Output(
    "margin_per_crate_and_year",
    CURRENCY,
    "Margin per crate and year",
    _margin_of(_litters_per_crate_and_year),
    good="higher",
    group=GROUP,
)
MARGINS = (PER_LITTER, PER_SOW, PER_CRATE)
CRATE_LITTERS = Output(
    "litters_per_crate_and_year",
    "litters",
    "Litters per crate and year",
    _litters_per_crate_and_year,
    good="higher",
    decimals=2,
    negligible=0.05,
    note="Of a room that is loaded again as soon as it is washed and dry, or by the timetable of a farm of several groups.",
    group=GROUP,
)
SOW_LITTERS = Output(
    "litters_per_sow_and_year",
    "litters",
    "Litters per sow and year",
    _litters_per_sow_and_year,
    good="higher",
    decimals=2,
    negligible=0.01,
    note="365 days over gestation, lactation and weaning to oestrus: of sows that conceive at the first service.",
    group=GROUP,
    of_one_animal=0.2,  # as body.OESTRUS: that many days of a cycle of about 145
)


@dataclass(frozen=True)
class _Part:
    """A part of the margin: what the things with these keys of `prices` bring or cost together."""

    output: Output
    keys: tuple[str, ...]


def _income(name: str, label: str, *keys: str) -> _Part:
    measure = _worth_of(keys)
    return _Part(
        Output(f"{name}_per_litter", CURRENCY, f"{label} per litter", measure, good="higher", group=GROUP), keys
    )


def _cost(name: str, label: str, key: str) -> _Part:
    worth = _worth_of([key])
    output = Output(
        f"{name}_cost_per_litter",
        CURRENCY,
        f"Cost of {label} per litter",
        lambda rooms: -worth(rooms),
        good="lower",
        group=GROUP,
    )
    return _Part(output, (key,))


# In every room, the margin is the sum of the incomes less that of the costs.
PARTS = (
    _income("income", "Income from piglets weaned", "weaned_piglet", "weaned_kg"),
    _income("next_litter_worth", "Worth of the change of the next litter", "next_litter_piglet"),
    _cost("feed", "feed", "feed_per_kg"),
    _cost("work", "hours worked", "hour_of_work"),
    _cost("duty", "hours on duty", "hour_on_duty"),
    _cost("treatment", "treatments", "treatment"),
    _cost("heating", "heating", "heating_per_kwh"),
    _cost("dead_sow", "sows that die", "dead_sow"),
    _cost("empty_day", "days from weaning to oestrus", "empty_day"),
)
CHANGE = Output("change_cost_per_litter", CURRENCY, "Cost of change per litter", _change, good="lower", group=GROUP)


def declared() -> list[Output]:
    """Every output of scenarios with prices, with CURRENCY as its unit."""
    return [*MARGINS, *(part.output for part in PARTS), CHANGE, CRATE_LITTERS, SOW_LITTERS]


def in_money(prices: Prices) -> list[Output]:
    """The outputs of scenarios with these prices, in their currency."""
    unpriced = [part.output.name for part in PARTS if not prices.given.keys() & set(part.keys)]
    return [_priced(output, prices) for output in declared() if output.name not in unpriced]


def _priced(output: Output, prices: Prices) -> Output:
    if output.unit != CURRENCY:
        return output
    a_year = {PER_SOW.name: _litters_of_a_sow(prices), PER_CRATE.name: DAYS_A_YEAR / prices.crate_turn_days}
    matters = _matters_per_litter(prices) * a_year.get(output.name, 1.0)
    return replace(
        output,
        unit=prices.currency,
        decimals=int(np.clip(1 - math.floor(math.log10(matters)), 0, MAX_DECIMALS)),
        negligible=matters,
        note=f"Prices are the scenario's; with a price: {', '.join(prices.given)}. {_NOT_COUNTED}",
        further_tables=tuple(priced.quantity.table for priced in PRICED if priced.price(prices)),
        of_one_animal=_of_one_animal(output, prices),
    )


def _matters_per_litter(prices: Prices) -> float:
    """As given; otherwise of all things with a price the largest worth of what is declared as too small to matter."""
    worths = [priced.price(prices) * priced.units * priced.quantity.negligible for priced in PRICED]
    return prices.matters_per_litter or max(worths)


def _of_one_animal(output: Output, prices: Prices) -> float:
    """What a part of the margin owes to one animal that makes most of the difference of a room; 0 of the margin as a whole."""
    keys = next((part.keys for part in PARTS if part.output.name == output.name), ())
    return sum(
        priced.price(prices) * priced.units * priced.quantity.of_one_animal for priced in PRICED if priced.key in keys
    )


def _litters_of_a_sow(prices: Prices) -> float:
    """A year, as planned, without the days from weaning to oestrus."""
    gestation_d = _core.Coefficients.built_in().find("sow.gestation.length_herd_mean").value[0]
    return float(DAYS_A_YEAR / (gestation_d + prices.lactation_days))

"""What an alternative may cost, and at which price it and the reference change places."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import Any

import numpy as np
import pandas as pd

from farrowtide.outputs.catalogue.money import CRATE_LITTERS, PER_CRATE, PRICED, Priced
from farrowtide.scenarios.prices import HOURS, Prices
from farrowtide.statistics.inference import DIFFERENCES, interval, is_known
from farrowtide.statistics.moments import ROUNDING, Moments
from farrowtide.statistics.paired import labels
from farrowtide.statistics.ratios import fieller_interval

CHANGE = "change"  # what the alternative may cost for each crate and year
RANGE = 10.0  # a price is followed from this part of itself to this multiple
COLUMNS = ["case", "alternative", "reference", "of", "unit", "now", "break_even", "ci_low", "ci_high", "better", "n"]


def break_even(
    replicates: pd.DataFrame,
    prices: Mapping[tuple[str, str], Prices],
    reference: str,
    *,
    animals: float = math.inf,
    tiny: float = 0.0,
) -> pd.DataFrame:
    """Where the margins per crate and year of an alternative and the reference are equal, by case and alternative.

    `prices`: of each case and alternative; `animals`: the sows whose mean a room is; `tiny`: up to which a pair of rooms
    does not count as apart (Output.tiny of the margin per crate and year).

    The row "change" of column `of` says what the alternative may cost for each crate and year; its interval is that of the
    paired difference. Each further row is a price by which the two differ, and the price at which their margins are
    equal if no other changes (of both, or of the alternative alone where it has one of its own), with its Fieller
    interval: NaN where too few rooms differ, or the quantities may be the same. `break_even` is NaN where it lies outside
    a tenth to ten times the price. `better`: the alternative is, where this is "below" or "above" it. `now`: as given.
    """
    cases, alternatives = labels(replicates)
    rooms = {key: part.set_index("replicate") for key, part in replicates.groupby(["case", "alternative"], sort=False)}
    needed = DIFFERENCES.needs(animals)
    rows: list[dict[str, Any]] = []
    for case in cases:
        base, base_prices = rooms[case, reference], prices[case, reference]
        for name in alternatives:
            if name == reference:
                continue
            pair = _Pair(rooms[case, name], prices[case, name], base, base_prices, tiny)
            named = {"case": case, "alternative": name, "reference": reference}
            rows += [named | row for row in (pair.change(needed), *pair.prices(needed))]
    return pd.DataFrame(rows, columns=COLUMNS)


class _Pair:
    """An alternative and the reference in the same rooms, and their prices."""

    def __init__(
        self, alternative: pd.DataFrame, own: Prices, base: pd.DataFrame, of_base: Prices, tiny: float
    ) -> None:
        self._own, self._of_base = own, of_base
        both = alternative.add_suffix(_ALTERNATIVE).join(base.add_suffix(_REFERENCE), how="inner")
        margins = both[PER_CRATE.name + _ALTERNATIVE] - both[PER_CRATE.name + _REFERENCE]
        self._both = both[margins.notna()]
        self._gap = margins.dropna().to_numpy()  # of the margins per crate and year
        self._moments = Moments.of(self._gap[:, np.newaxis], tiny=tiny)

    def change(self, needed: int) -> dict[str, Any]:
        low, high = interval(self._moments, needs=needed)
        spent = self._own.change_per_crate_and_year
        return self._row(
            CHANGE,
            spent,
            spent + float(self._moments.mean[0]),
            (spent + float(low[0]), spent + float(high[0])),
            "below",
        )

    def prices(self, needed: int) -> Iterator[dict[str, Any]]:
        known = bool(is_known(self._moments, needed)[0])
        for priced in PRICED:
            now = priced.price(self._own)
            per_price = self._per_price(priced) if now > 0 else np.zeros(0)
            if not np.any(np.abs(per_price) > ROUNDING):
                continue
            slope = float(np.mean(per_price))
            turns_at = now - float(np.mean(self._gap)) / slope if slope else math.nan
            inside = now / RANGE <= turns_at <= now * RANGE
            ends = fieller_interval(now * per_price - self._gap, per_price) if inside and known else _UNKNOWN
            better = "above" if slope > 0 else "below"
            yield self._row(priced.key, now, turns_at if inside else math.nan, ends, better if inside else "")

    def _per_price(self, priced: Priced) -> np.ndarray:
        """By how much a price moves the difference of the margins per crate and year, for each unit of it."""
        alike = priced.price(self._own) == priced.price(self._of_base)
        own = self._amount(priced, _ALTERNATIVE, self._own)
        return own - self._amount(priced, _REFERENCE, self._of_base) if alike else own

    def _amount(self, priced: Priced, side: str, prices: Prices) -> np.ndarray:
        """For each crate and year, with its sign; training takes hours as well."""
        training = prices.training_hours_per_crate_and_year if priced.key in HOURS else 0.0
        a_year = self._both[priced.quantity.name + side] * self._both[CRATE_LITTERS.name + side]
        return priced.sign * priced.units * a_year.to_numpy() - training

    def _row(self, of: str, now: float, at: float, ends: tuple[float, float], better: str) -> dict[str, Any]:
        return {
            "of": of,
            "unit": self._own.currency,
            "now": now,
            "break_even": at,
            "ci_low": ends[0],
            "ci_high": ends[1],
            "better": better,
            "n": len(self._gap),
        }


_ALTERNATIVE, _REFERENCE = " of the alternative", " of the reference"  # suffixes of columns
_UNKNOWN = math.nan, math.nan

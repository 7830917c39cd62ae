"""What an alternative may cost and at which price the order turns, worked out by hand for six rooms."""

import math

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from farrowtide.analysis.break_even import CHANGE, COLUMNS, break_even
from farrowtide.outputs.catalogue.money import PRICED
from farrowtide.scenarios.prices import Prices

SPREAD = np.array([-3.0, -2.0, -1.0, 1.0, 2.0, 3.0])
QUANTITY = {priced.key: priced.quantity.name for priced in PRICED}
LITTERS = 2.0  # a crate and year


def rooms(alternative, margins, case="c", first=0, litters=LITTERS, **amounts):
    """Rooms with these margins per crate and year, and per litter these amounts of what has a price."""
    table = pd.DataFrame({"replicate": first + np.arange(len(margins)), "margin_per_crate_and_year": margins})
    table = table.assign(case=case, alternative=alternative, litters_per_crate_and_year=litters)
    return table.assign(**dict.fromkeys(QUANTITY.values(), 0.0)).assign(
        **{QUANTITY[key]: values for key, values in amounts.items()}
    )


def priced(given, *, spent=0.0, training_hours=0.0, currency="EUR"):
    return Prices(currency, given, None, spent, training_hours, 28.0, 24, 21)


def found(alternative, base, own, of_base=None, **options):
    """The rows of `a` against `r`, by what they are of."""
    prices = {("c", "a"): own, ("c", "r"): of_base or own}
    options = {"animals": 160} | options
    table = break_even(pd.concat([base, alternative], ignore_index=True), prices, "r", **options)
    return table.set_index("of")


def test_the_change_may_cost_what_it_does_and_the_difference_of_margins():
    """30 are spent, and 4 are left on the average of six rooms."""
    row = found(rooms("a", 14 + SPREAD), rooms("r", np.full(6, 10.0)), priced({}, spent=30)).loc[CHANGE]
    assert (row["now"], row["break_even"], row["better"], row["n"], row["unit"]) == (30, 34, "below", 6, "EUR")
    expected = stats.t.interval(0.95, 5, loc=34, scale=stats.sem(SPREAD))
    assert (row["ci_low"], row["ci_high"]) == pytest.approx(expected)


@pytest.mark.parametrize(("options", "known"), [({}, True), ({"animals": 159}, False), ({"tiny": 3.5}, False)])
def test_an_interval_needs_960_sows_and_rooms_that_differ(options, known):
    """Six rooms of 160 sows; two of the six differ by more than 3.5."""
    shown = found(
        rooms("a", 2 + SPREAD, feed_per_kg=3 + 0 * SPREAD),
        rooms("r", np.zeros(6)),
        priced({"feed_per_kg": 1.0}),
        **options,
    )
    assert shown["ci_low"].notna().to_list() == shown["ci_high"].notna().to_list() == [known, known]
    assert shown["break_even"].to_list() == [2, pytest.approx(1 + 2 / 6)]


def test_only_rooms_in_which_both_have_a_margin_are_paired():
    """Rooms 0 to 6 and 1 to 7, one of which has no margin: 1, 3, 4, 5 and 6 are left."""
    margins = np.array([100.0, 1.0, math.nan, 3.0, 4.0, 5.0, 6.0])
    row = found(rooms("a", margins), rooms("r", np.full(7, 1.0), first=1), priced({})).loc[CHANGE]
    assert (row["n"], row["break_even"]) == (5, pytest.approx((0 + 2 + 3 + 4 + 5) / 5))


def test_each_alternative_stands_in_each_case():
    table = pd.concat([rooms(name, SPREAD, case) for case in ("d", "c") for name in ("b", "r", "a")])
    prices = {(case, name): priced({}, currency=case) for case in "cd" for name in "abr"}
    result = break_even(table, prices, "r")
    assert list(result.columns) == COLUMNS
    assert list(zip(result["case"], result["alternative"], result["unit"], strict=True)) == [
        ("d", "b", "d"), ("d", "a", "d"), ("c", "b", "c"), ("c", "a", "c"),
    ]  # fmt: skip
    assert set(result["reference"]) == {"r"}
    assert break_even(table[table["alternative"] == "r"], prices, "r").columns.to_list() == COLUMNS


def test_the_order_turns_at_the_price_at_which_both_margins_are_equal():
    """Two litters with 5 kg more feed each: 10 kg for each crate. At 2 a kg it still brings 5 more, so that feed may cost
    0.5 more; every room's own price is 2 + (5 + spread) / 10.
    """
    base = rooms("r", np.zeros(6), feed_per_kg=100.0)
    row = found(rooms("a", 5 + SPREAD, feed_per_kg=105.0), base, priced({"feed_per_kg": 2.0})).loc["feed_per_kg"]
    assert (row["now"], row["break_even"], row["better"], row["n"]) == (2, pytest.approx(2.5), "below", 6)
    expected = stats.t.interval(0.95, 5, loc=2.5, scale=stats.sem(SPREAD / 10))
    assert (row["ci_low"], row["ci_high"]) == pytest.approx(expected)


def test_piglets_are_better_sold_above_a_price():
    """3 piglets more a litter, 6 a crate: at 20 a piglet 12 less are left, so that 22 are needed."""
    row = found(
        rooms("a", -12 + SPREAD, weaned_piglet=13.0),
        rooms("r", np.zeros(6), weaned_piglet=10.0),
        priced({"weaned_piglet": 20.0}),
    ).loc["weaned_piglet"]
    assert (row["break_even"], row["better"]) == (pytest.approx(22), "above")


def test_small_prices_and_small_amounts_are_followed_as_well():
    """A quarter of a piglet more, half a one a year, at 0.5 apiece: 0.125 is left, which is 0.25 for each."""
    row = found(
        rooms("a", 0.125 + SPREAD / 10, weaned_piglet=10.25),
        rooms("r", np.zeros(6), weaned_piglet=10.0),
        priced({"weaned_piglet": 0.5}),
    ).loc["weaned_piglet"]
    assert (row["break_even"], row["better"]) == (pytest.approx(0.25), "above")


def test_a_price_of_its_own_is_that_of_all_it_takes():
    """The alternative pays 3 a kg where the reference pays 2: of its 10 kg, each may cost half more."""
    row = found(
        rooms("a", 5 + SPREAD, feed_per_kg=5.0),
        rooms("r", np.zeros(6), feed_per_kg=5.0),
        priced({"feed_per_kg": 3.0}, training_hours=7.0),
        priced({"feed_per_kg": 2.0}),
    ).loc["feed_per_kg"]
    assert (row["now"], row["break_even"], row["better"]) == (3, pytest.approx(3.5), "below")


@pytest.mark.parametrize(
    ("own", "of_base", "turns_at", "better"),
    [
        # 5 h of work for the reference and 1 h for the alternative, which needs 2 h of training: 2 h less, 10 more left.
        (20.0, 20.0, 20 - 10 / 2, "above"),
        # One who is paid otherwise has a price of his own, of 3 h.
        (24.0, 20.0, 24 + 10 / 3, "below"),
    ],
)
def test_training_is_paid_by_the_hour(own, of_base, turns_at, better):
    row = found(
        rooms("a", 10 + SPREAD, hour_of_work=30.0),
        rooms("r", np.zeros(6), hour_of_work=150.0),
        priced({"hour_of_work": own}, training_hours=2.0),
        priced({"hour_of_work": of_base}),
    ).loc["hour_of_work"]
    assert (row["now"], row["break_even"], row["better"]) == (own, pytest.approx(turns_at), better)


def test_training_is_in_the_price_of_hours_only():
    given = {"hour_of_work": 20.0, "treatment": 5.0}
    own, of_base = priced(given, training_hours=2.0), priced(given)
    shown = found(rooms("a", SPREAD), rooms("r", np.zeros(6)), own, of_base)
    assert list(shown.index) == [CHANGE, "hour_of_work"]


@pytest.mark.parametrize(("left", "turns_at"), [(-36.0, 2.0), (-36.1, None), (360.0, 200.0), (360.1, None)])
def test_a_price_is_followed_to_a_tenth_and_to_ten_times_itself(left, turns_at):
    """Two piglets fewer at 20 apiece."""
    row = found(
        rooms("a", left + SPREAD, weaned_piglet=9.0),
        rooms("r", np.zeros(6), weaned_piglet=10.0),
        priced({"weaned_piglet": 20.0}),
    ).loc["weaned_piglet"]
    if turns_at:
        assert (row["break_even"], row["better"]) == (pytest.approx(turns_at), "below")
        assert row["ci_low"] < turns_at < row["ci_high"]
    else:
        assert np.isnan(row[["break_even", "ci_low", "ci_high"]].astype(float)).all()
        assert row["better"] == ""


def test_where_amounts_differ_in_rooms_but_not_on_the_average_no_price_turns_the_order():
    base = rooms("r", np.zeros(6), feed_per_kg=10.0)
    row = found(rooms("a", SPREAD, feed_per_kg=10 + SPREAD), base, priced({"feed_per_kg": 2.0})).loc["feed_per_kg"]
    assert np.isnan(row[["break_even", "ci_low", "ci_high"]].astype(float)).all()
    assert row["better"] == ""

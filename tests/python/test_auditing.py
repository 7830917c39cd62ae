"""Closed groups of a few sows, their outputs worked out by hand, and their place among simulated rooms."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from sows_by_hand import day, records

from farrowtide.analysis.watching.auditing import (
    MARGIN,
    OUTPUTS,
    beside,
    closed_groups,
    loaded_on,
    measured,
    outputs_of_rooms,
)
from farrowtide.report.wording.auditing import shown
from farrowtide.scenarios.prices import Prices

NA, NAN = pd.NA, np.nan
STAY = {"parity": 3, "room": "A", "farrowed_on": day(0), "weaned_on": day(10)}
PRICED = Prices(
    "EUR",
    {"weaned_piglet": 40.0, "treatment": 15.0, "feed_per_kg": 0.5, "hour_of_work": 20.0},
    None,
    0.0,
    0.0,
    30.0,
    4,
    10,
)


def group_of(sows, days=()):
    """The one closed group of sows that differ from STAY as said."""
    of = records(
        [STAY | {"sow": f"S{number + 1}"} | sow for number, sow in enumerate(sows)], days or [{"date": day(0)}]
    )
    ((_, group),), still_open = closed_groups(of)
    assert not still_open
    return group


def output(name, sows, days=()):
    return measured(group_of(sows, days), None)[name]


def days_of(sow, numbers, **values):
    return [{"sow": sow, "date": day(number)} | values for number in numbers]


def test_an_output_of_litters_is_the_mean_of_those_that_are_known():
    sows = [
        {"born_alive": 10, "weaned": 9, "litter_weight_kg": 60.5, "duration_min": 200, "treatments": 0},
        {"born_alive": 13, "weaned": NA, "litter_weight_kg": 70.0, "duration_min": 300, "treatments": 3},
    ]
    found = measured(group_of(sows), None)
    assert [found[name] for name in ("born_alive", "weaned", "litter_weight_kg", "duration_min", "treatments")] == [
        11.5,
        9,
        65.25,
        250,
        1.5,
    ]


def test_the_output_of_one_sow_is_hers_and_unknown_if_she_has_none():
    assert output("born_alive", [{"born_alive": 12}]) == 12
    assert output("stillborn_percent", [{"born_alive": 12, "stillborn": 3}]) == pytest.approx(20.0)
    assert np.isnan(output("born_alive", [{"stillborn": 1}]))


def test_piglets_die_of_those_that_a_sow_nurses():
    """Of 10 + 2 and 12 - 4 piglets, 4 died; of the sow whose dead were not counted, none counts."""
    sows = [
        {"born_alive": 10, "moved_in": 2, "died": 1},
        {"born_alive": 12, "moved_out": 4, "died": 3},
        {"born_alive": 9},
    ]
    assert output("died_percent", sows) == pytest.approx(100 * 4 / 20)


def test_a_share_of_no_piglets_is_unknown():
    assert np.isnan(output("stillborn_percent", [{"born_alive": 0, "stillborn": 0}]))
    assert output("stillborn_percent", [{"born_alive": 0, "stillborn": 1}]) == 100


def test_what_a_sow_lost_is_what_she_had_at_loading_less_what_she_had_at_weaning():
    sows = [
        {
            "weight_at_loading_kg": 250.0,
            "weight_at_weaning_kg": 230.0,
            "backfat_at_loading_mm": 18.0,
            "backfat_at_weaning_mm": 15.0,
        },
        {"weight_at_loading_kg": 240.0, "weight_at_weaning_kg": 250.0, "backfat_at_loading_mm": 17.0},
    ]
    found = measured(group_of(sows), None)
    assert (found["weight_loss_kg"], found["backfat_loss_mm"]) == (5, 3)


def test_a_long_farrowing_takes_more_than_five_hours():
    sows = [{"duration_min": minutes} for minutes in (300, 301, NA, 900)]
    assert output("long_percent", sows) == pytest.approx(100 * 2 / 3)


def test_feed_and_water_of_an_audit_are_means_of_the_days_after_farrowing():
    days = [*days_of("S1", [-1, 0], eaten_kg=2.0, water_l=10.0, temperature_deg_c=18.0),
            *days_of("S1", range(1, 6), eaten_kg=5.0, water_l=20.0, temperature_deg_c=22.0),
            *days_of("S1", range(6, 11), eaten_kg=7.0, water_l=30.0, temperature_deg_c=24.0)]  # fmt: skip
    found = measured(group_of([{"loaded_on": day(-3)}], days), None)
    assert (found["eaten_kg"], found["water_l"], found["temperature_deg_c"]) == (6, 25, 23)


def test_feed_offered_is_that_of_the_whole_stay_for_each_litter():
    days = [
        *days_of("S1", [-4], offered_kg=99.0),
        *days_of("S1", range(-3, 11), offered_kg=4.0),
        *days_of("S1", [11], offered_kg=99.0),
        *days_of("S2", range(-3, 11), offered_kg=6.0),
    ]
    assert output("offered_kg", [{"loaded_on": day(-3)}] * 2, days) == pytest.approx(14 * 5.0)
    assert output("offered_kg", [{}, {"loaded_on": day(-3)}], days) == pytest.approx((11 * 4.0 + 14 * 6.0) / 2)


@pytest.mark.parametrize("name", ["eaten_kg", "offered_kg"])
@pytest.mark.parametrize(
    ("sows", "last", "known"), [(1, 9, True), (1, 8, False), (2, 9, False), (2, 10, False), (3, 10, False)]
)
def test_days_say_something_if_nine_tenths_of_them_are_known(name, sows, last, known):
    """Of the days 1 to 10 of all sows; days before count for nothing."""
    days = days_of("S1", range(-3, last + 1), **{name: 5.0})
    assert np.isnan(output(name, [{"loaded_on": day(-3)}] * sows, days)) != known


def test_days_of_fewer_than_half_of_the_sows_say_nothing():
    """One of three sows has all of its days; two that died at once have none."""
    sows = [{}, {"weaned_on": day(0)}, {"weaned_on": day(0)}]
    assert np.isnan(output("eaten_kg", sows, days_of("S1", range(1, 11), eaten_kg=5.0)))
    assert output("eaten_kg", sows[:2], days_of("S1", range(1, 11), eaten_kg=5.0)) == 5


def test_a_group_without_a_thermometer_has_no_temperature():
    assert np.isnan(output("temperature_deg_c", [{}], days_of("S1", range(11), eaten_kg=5.0)))
    assert output("temperature_deg_c", [{}], days_of("S1", [0, 1], temperature_deg_c=20.0)) == 20


def sows_of(room, group, weaned):
    return [
        STAY
        | {"sow": f"{room}{group}{number}", "room": room, "group": group, "weaned_on": day(10) if is_weaned else pd.NaT}
        for number, is_weaned in enumerate(weaned)
    ]


def test_a_group_is_the_sows_of_a_room_that_have_its_name_and_is_closed_when_four_fifths_are_weaned():
    farrowings = [*sows_of("B", "g1", [True] * 4 + [False]), *sows_of("A", "g2", [True] * 3 + [False] * 2),
                  *sows_of("A", "g1", [True]), *sows_of("A", NA, [True]), *sows_of(NA, "g1", [True])]  # fmt: skip
    closed, still_open = closed_groups(records(farrowings, [{"date": day(0)}]))
    assert [(name, len(group[0])) for name, group in closed] == [("A", 1), ("A g1", 1), ("B g1", 5), ("g1", 1)]
    assert still_open == ["A g2"]


def test_a_day_is_of_the_stay_in_which_it_is():
    farrowings = [
        STAY | {"sow": "S1", "group": "g1"},
        STAY | {"sow": "S1", "group": "g2", "loaded_on": day(145), "farrowed_on": day(150), "weaned_on": day(160)},
    ]
    rows = days_of("S1", [-1, 0, 10, 11, 144, 145, 150, 160, 161], eaten_kg=5.0)
    room = [{"room": "A", "date": day(5), "temperature_deg_c": 20.0}]
    closed, _ = closed_groups(records(farrowings, rows + room))
    days = {name: group[1]["lactation_day"].tolist() for name, group in closed}
    assert days == {"A g1": [0, 10], "A g2": [-5, 0, 10]}


def test_days_of_a_sow_without_a_weaning_run_on():
    farrowings = [*sows_of("A", "g", [True] * 4), STAY | {"sow": "S1", "group": "g", "weaned_on": pd.NaT}]
    ((_, group),), _ = closed_groups(records(farrowings, days_of("S1", [-1, 0, 30], eaten_kg=5.0)))
    assert group[1]["lactation_day"].tolist() == [0, 30]


@pytest.mark.parametrize(("loaded", "median"), [([3], 3), ([4, 3], 3), ([9, 3, 5], 5), ([9, 3, 5, 4], 4)])
def test_a_group_was_loaded_on_the_median_day(loaded, median):
    dates = [{"loaded_on": day(number - 20)} for number in loaded]
    assert loaded_on(group_of(dates), 4) == day(median - 20).date()


def test_sows_without_a_day_of_loading_were_loaded_as_long_before_farrowing_as_planned():
    group = group_of([{}, {"loaded_on": day(-9)}, {"farrowed_on": day(1)}])
    assert loaded_on(group, 4) == day(-4).date()


SOWS = [{"weaned": 10, "treatments": 2}, {"weaned": 12, "treatments": 0}]


def test_the_margin_is_the_sum_of_what_has_a_price_and_is_recorded():
    """Per litter, 11 piglets at 40 and one treatment at 15; with 100 kg of feed at 0.5 besides."""
    assert measured(group_of(SOWS), PRICED)[MARGIN] == pytest.approx(11 * 40 - 15)
    days = [each for sow in ("S1", "S2") for each in days_of(sow, range(1, 11), offered_kg=10.0)]
    assert measured(group_of(SOWS, days), PRICED)[MARGIN] == pytest.approx(11 * 40 - 15 - 50)
    assert MARGIN not in measured(group_of(SOWS), None)


def test_a_group_of_which_nothing_with_a_price_is_recorded_has_no_margin():
    group = group_of([{"born_alive": 12}])
    assert np.isnan(measured(group, PRICED)[MARGIN])
    assert beside("A", group, simulated(born_alive=IN_ORDER, weaned=IN_ORDER), PRICED)["output"].tolist() == [
        "born_alive"
    ]


def simulated(**outputs):
    """Outputs of 79 rooms: 95 % of rooms lie between the second and the last but one (Weibull's plotting positions)."""
    return pd.DataFrame({each.name: np.full(79, NAN) for each in OUTPUTS} | outputs)


IN_ORDER = np.arange(79.0)


@pytest.mark.parametrize(
    ("weaned", "outside", "better"),
    [(11, False, "worse"), (9, True, "worse"), (48, False, ""), (85, False, "better"), (87, True, "better")],
)
def test_an_output_is_outside_of_the_interval_of_one_room(weaned, outside, better):
    table = beside("A", group_of([{"weaned": weaned}]), simulated(weaned=9 + IN_ORDER), None)
    assert table.to_dict("records") == [
        {
            "group": "A",
            "output": "weaned",
            "label": "piglets weaned per litter",
            "unit": "piglets",
            "decimals": 2,
            "value": weaned,
            "expected": 48,
            "low": pytest.approx(10),
            "high": pytest.approx(86),
            "outside": outside,
            "better": better,
        }
    ]


def test_an_audit_tells_each_output_as_it_can_be_measured():
    sow = {"born_alive": 14, "stillborn": 1, "died": 2, "weaned": 12, "litter_weight_kg": 80.25, "duration_min": 200.4,
           "weight_at_loading_kg": 250.25, "weight_at_weaning_kg": 240.0, "backfat_at_loading_mm": 18.25,
           "backfat_at_weaning_mm": 15.0, "treatments": 1}  # fmt: skip
    days = days_of("S1", range(11), eaten_kg=6.125, water_l=25.25, offered_kg=6.5, temperature_deg_c=21.25)
    outputs = simulated(**{each.name: IN_ORDER for each in OUTPUTS})
    table = beside("A", group_of([sow], days), outputs, PRICED).set_index("output")
    assert {row.Index: shown(row, "si")["value"] for row in table.itertuples()} == {
        "born_alive": "14.00", "stillborn_percent": "6.7", "died_percent": "14.3", "weaned": "12.00",
        "litter_weight_kg": "80.2", "duration_min": "200", "long_percent": "0", "weight_loss_kg": "10.2",
        "backfat_loss_mm": "3.2", "treatments": "1.00", "eaten_kg": "6.12", "water_l": "25.2", "offered_kg": "71.5",
        "temperature_deg_c": "21.2", MARGIN: "429.2",
    }  # fmt: skip


def test_less_is_better_where_lower_is_and_neither_where_it_is_not_said():
    sows = [{"stillborn": 1, "born_alive": 9, "weight_at_loading_kg": 250.0, "weight_at_weaning_kg": 225.0}]
    table = beside("A", group_of(sows), simulated(stillborn_percent=IN_ORDER, weight_loss_kg=IN_ORDER), None)
    assert table.set_index("output")["better"].to_dict() == {"stillborn_percent": "better", "weight_loss_kg": ""}


def test_outputs_that_are_not_recorded_or_not_simulated_are_left_out():
    one = np.where(IN_ORDER < 1, 10.0, NAN)
    two = np.where(IN_ORDER < 2, 10.0 + IN_ORDER, NAN)
    table = beside(
        "A",
        group_of([{"weaned": 10, "born_alive": 11}]),
        simulated(weaned=one, born_alive=two, duration_min=IN_ORDER),
        None,
    )
    assert table["output"].tolist() == ["born_alive"]
    assert table["expected"].tolist() == [10.5]
    assert table["better"].tolist() == ["better"]


def test_a_difference_is_worth_its_price_for_every_litter_of_the_group():
    """Two litters with 2 piglets more than the 9 expected, and a treatment less than 2."""
    table = beside(
        "A",
        group_of([sow | {"born_alive": 12} for sow in SOWS]),
        simulated(weaned=IN_ORDER - 30, treatments=IN_ORDER / 39 + 1, born_alive=IN_ORDER, offered_kg=IN_ORDER),
        PRICED,
    )
    rows = table.set_index("output")
    assert rows.loc["weaned", "worth"] == pytest.approx(2 * 2 * 40)
    assert rows.loc["treatments", "worth"] == pytest.approx(2 * 1 * 15)
    assert np.isnan(rows.loc["born_alive", "worth"])
    margin = rows.loc[MARGIN]
    assert margin["value"] == pytest.approx(11 * 40 - 15)
    assert margin["expected"] == pytest.approx(9 * 40 - 2 * 15)
    assert margin["worth"] == pytest.approx(2 * (2 * 40 + 15))
    assert margin[["unit", "decimals", "better", "outside"]].tolist() == ["EUR", 1, "better", False]
    assert "worth" not in beside("A", group_of(SOWS), simulated(weaned=IN_ORDER), None)


def test_each_simulated_room_gives_a_row_of_outputs():
    farrowings = [
        STAY | {"sow": f"S{number}", "room": room, "weaned": weaned}
        for number, (room, weaned) in enumerate([("R1", 9), ("R2", 12), ("R1", 10)])
    ]
    table = outputs_of_rooms(records(farrowings, days_of("S1", range(1, 11), eaten_kg=6.0)))
    assert table["weaned"].tolist() == [9.5, 12]
    np.testing.assert_array_equal(table["eaten_kg"], [NAN, 6])
    assert list(table) == [each.name for each in OUTPUTS]

"""Every output of three small rooms, worked out by hand from the tables of which it is made.

Room 10 has a gilt, an old sow and a nurse sow; in room 11 one of two sows dies before she farrows; room 12 is empty.
"""

import math
import pickle
from dataclasses import replace

import numpy as np
import pytest

import farrowtide
from farrowtide import _core
from farrowtide.outputs.catalogue import HEADLINES, chosen, measure
from farrowtide.outputs.rooms import Rooms, labels_of
from farrowtide.scenarios.prices import Prices

NAN = math.nan
SOWS = {
    "replicate": [10, 10, 10, 11, 11],
    "sow": [1, 2, 3, 1, 2],
    "nurse": [0, 0, 1, 0, 0],
    "parity": [1, 5, 2, 2, 3],
    "total_born": [14, 16, 0, 15, 0],
    "born_alive": [12, 15, 0, 15, 0],
    "stillborn": [2, 1, 0, 0, 0],
    "weaned": [9, 12, 4, 14, 0],
    "died_before_weaning": [1, 2, 1, 1, 0],
    "born_here_and_moved": [5, 0, 0, 0, 0],
    "piglets_moved_in": [0, 0, 5, 0, 0],
    "scours": [1, 0, 1, 0, 0],
    "farrowing_duration_min": [300.0, 300.5, NAN, 240.0, NAN],
    "attended_births": [7, 8, 0, 3, 0],
    "births_on_duty": [8, 10, 0, 4, 0],
    "attended_births_on_duty": [6, 3, 0, 3, 0],
    "feed_intake_kg_per_day": [5.0, 7.0, 9.0, 6.5, NAN],
    "feed_intake_d1_7_kg_per_day": [3.0, 4.0, NAN, 3.5, NAN],
    "zero_feed_days": [1, 0, 0, 0, 0],
    "low_feed_days": [2, 3, 0, 1, 0],
    "lactation_length_d": [20.0, 30.0, 20.0, 25.0, NAN],
    "trough_mornings": [10, 15, 0, 12, 0],
    "empty_mornings": [4, 6, 0, 3, 0],
    "untouched_mornings": [2, 3, 0, 1, 0],
    "feed_undelivered_kg": [2.0, 0.0, 4.0, 1.0, 0.0],
    "feed_removed_kg": [1.0, 3.0, 2.0, 0.5, 0.25],
    "feed_wasted_kg": [4.0, 5.0, 1.0, 3.0, 0.0],
    "water_l_per_day": [20.0, 30.0, 40.0, 28.0, NAN],
    "weight_loss_kg": [10.0, 25.0, 90.0, 12.0, NAN],
    "weight_loss_percent": [5.0, 10.0, 45.0, 6.0, NAN],
    "backfat_loss_mm": [2.0, 3.0, 9.0, -1.0, NAN],
    "litter_weight_at_weaning_kg": [60.0, 80.0, 30.0, 91.0, NAN],
    "litter_gain_kg_per_day": [2.0, 3.0, 1.0, 3.1, NAN],
    "ready_in_time": [1.0, NAN, NAN, NAN, NAN],
    "disorder_onset_h": [100.0, NAN, NAN, 110.0, NAN],
    "treated_h": [106.0, 120.0, 130.0, NAN, NAN],
    "left_as": ["weaned", "died of heat", "died", "weaned late", "died of a prolapse"],
    "weaning_to_oestrus_d": [6.0, NAN, 9.0, 5.0, NAN],
    "farrowing_rate": [0.8, 0.9, 0.1, 0.85, NAN],
    "next_total_born_change": [-0.5, 0.1, 5.0, -0.3, NAN],
    "removal_risk": [0.1, 0.4, 0.9, 0.2, NAN],
    "gestation_length_d": [115.0, 117.0, 119.0, 116.0, NAN],
}
SOW_DAYS = {
    "replicate": [10, 10, 10, 10, 10, 11, 11],
    "sow": [1, 1, 2, 2, 2, 1, 1],
    "parity": [1, 1, 5, 5, 5, 2, 2],
    "day": [1, 2, 0, 1, 2, 1, 2],
    "eaten_kg": [0.9, 1.0, 0.0, 2.0, 0.5, 1.5, 3.0],
    "offered_kg": [2.0, 2.0, 3.0, 2.5, 3.5, 2.0, 4.0],
}
PIGLETS = {
    "replicate": [10, 10, 10, 11],
    "weaning_weight_kg": [6.0, NAN, 7.0, 5.0],
}
TASKS = {
    "replicate": [10, 10, 10, 10, 11],
    "kind": ["feed by hand", "feed by hand", "treat sow", "feed by hand", "treat sow"],
    "outcome": ["done", "late", "done", "undone", "undone"],
    "asked_h": [7.0, 15.0, 106.0, 30.0, 100.0],
    "done_h": [7.5, 16.5, 109.0, NAN, NAN],
    "minutes": [10.0, 20.0, 6.0, 0.0, 0.0],
}
ROOM_HOURS = {
    "replicate": [10, 10, 10, 11],
    "temperature_deg_c": [22.0, 20.0, 25.0, 24.0],
    "set_point_deg_c": [21.0, 23.0, NAN, 24.0],
    "heater_kwh": [3.0, 2.0, 0.0, 4.0],
}
WORK_HOURS = {"replicate": [10, 10, 11], "hour": [7, 15, 7], "minutes": [30.0, 18.0, 6.0]}
DUTY_HOURS = {"replicate": [10, 10, 11], "hour": [7, 15, 7], "on_duty_min": [60.0, 60.0, 30.0]}
# Two litters in room 10, one in room 11; a nurse sow's feed and piglets are those of the room, her body is not.
EXPECTED = {
    "feed_intake_kg_per_day": [(5 + 7) / 2, 6.5, NAN],
    "feed_intake_p1_kg_per_day": [5, NAN, NAN],
    "feed_intake_p2_kg_per_day": [NAN, 6.5, NAN],
    "feed_intake_p3_up_kg_per_day": [7, NAN, NAN],
    "feed_intake_d1_7_kg_per_day": [3.5, 3.5, NAN],
    "feed_intake_d1_7_p1_kg_per_day": [3, NAN, NAN],
    "feed_intake_d1_7_p2_kg_per_day": [NAN, 3.5, NAN],
    "feed_intake_d1_7_p3_up_kg_per_day": [4, NAN, NAN],
    "sows_off_feed_d1_percent": [100 * 1 / 2, 0, NAN],
    "sows_off_feed_d1_p1_percent": [100, NAN, NAN],
    "sows_off_feed_d1_p2_percent": [NAN, 0, NAN],
    "sows_off_feed_d1_p3_up_percent": [0, NAN, NAN],
    "sows_off_feed_d2_percent": [100 * 1 / 2, 0, NAN],  # just 1 kg is not off feed
    "sows_off_feed_d2_p1_percent": [0, NAN, NAN],
    "sows_off_feed_d2_p2_percent": [NAN, 0, NAN],
    "sows_off_feed_d2_p3_up_percent": [100, NAN, NAN],
    "zero_feed_days_percent": [100 * 1 / 50, 0, NAN],
    "low_feed_days_percent": [100 * 5 / 50, 100 * 1 / 25, NAN],
    "sows_with_zero_feed_day_percent": [100 * 1 / 2, 0, NAN],
    "feed_delay_h": [(0.5 + 1.5) / 2, NAN, NAN],
    "feed_offered_kg_per_litter": [13 / 2, 6, NAN],
    "feed_undelivered_kg_per_litter": [(2 + 0 + 4) / 2, 1, NAN],
    "feed_removed_kg_per_litter": [(1 + 3 + 2) / 2, 0.75, NAN],
    "feed_wasted_kg_per_litter": [(4 + 5 + 1) / 2, 3, NAN],
    "empty_mornings_percent": [100 * 10 / 25, NAN, NAN],  # 25 of 50 days, which is enough; 12 of 25 are not
    "untouched_mornings_percent": [100 * 5 / 25, NAN, NAN],
    "water_l_per_day": [25, 28, NAN],
    "weight_loss_kg": [17.5, 12, NAN],
    "weight_loss_percent": [7.5, 6, NAN],
    "backfat_loss_mm": [2.5, -1, NAN],
    "weaning_to_oestrus_d": [6, 5, NAN],
    "farrowing_rate_percent": [85, 85, NAN],
    "farrowing_rate_p1_percent": [80, NAN, NAN],
    "farrowing_rate_p2_percent": [NAN, 85, NAN],
    "farrowing_rate_p3_up_percent": [90, NAN, NAN],
    "next_total_born_change_piglets": [-0.2, -0.3, NAN],
    "removal_percent": [25, 20, NAN],
    "removal_p1_percent": [10, NAN, NAN],
    "removal_p2_percent": [NAN, 20, NAN],
    "removal_p3_up_percent": [40, NAN, NAN],
    "farrowings_over_5_h_percent": [100 * 1 / 2, 0, NAN],  # of 300 and 300.5 min
    "farrowing_duration_median_min": [(300 + 300.5) / 2, 240, NAN],
    "stillborn_percent": [100 * 3 / 30, 0, NAN],
    "stillborn_p1_percent": [100 * 2 / 14, NAN, NAN],
    "stillborn_p2_percent": [NAN, 0, NAN],
    "stillborn_p3_up_percent": [100 * 1 / 16, NAN, NAN],
    "births_attended_percent": [100 * 15 / 30, 100 * 3 / 15, NAN],
    "births_attended_on_duty_percent": [100 * 9 / 18, 100 * 3 / 4, NAN],
    "litter_weight_at_weaning_kg": [70, 91, NAN],
    "litter_gain_kg_per_day": [2.5, 3.1, NAN],
    "weaning_weight_kg": [6.5, 5, NAN],
    "weaned_kg_per_litter": [13 / 2, 5, NAN],
    "preweaning_mortality_percent": [100 * 4 / 27, 100 * 1 / 15, NAN],
    "weaned_per_litter": [25 / 2, 14, NAN],
    "litters_scoured_percent": [100 * 1 / 2, 0, NAN],
    "piglets_moved_percent": [100 * 5 / 27, 0, NAN],
    "litter_integrity_percent": [100 * 22 / 27, 100, NAN],
    "litters_kept_whole_percent": [100 * 1 / 2, 100, NAN],
    "rooms_below_85_integrity_percent": [100, 0, NAN],
    "gilts_ready_percent": [100, NAN, NAN],
    "sows_ill_percent": [100 * 1 / 2, 100 * 1 / 2, NAN],
    "sows_ill_p1_percent": [100, NAN, NAN],
    "sows_ill_p2_percent": [NAN, 100, NAN],
    "sows_ill_p3_up_percent": [0, 0, NAN],
    "ill_sows_treated_percent": [100, 0, NAN],
    "treated_after_onset_h": [6, NAN, NAN],
    "sows_treated_percent": [100, 0, NAN],
    "treated_without_disorder_percent": [100 * 1 / 2, NAN, NAN],
    "healthy_sows_treated_percent": [100, 0, NAN],
    "sows_lost_percent": [100 * 1 / 2, 100 * 1 / 2, NAN],
    "dead_sows_per_litter": [2 / 2, 1 / 1, NAN],
    "treatments_per_litter": [1 / 2, 0, NAN],
    "duty_hours_per_litter": [2 / 2, 0.5, NAN],
    "labour_min_per_litter": [36 / 2, 0, NAN],
    "labour_feed_by_hand_min_per_litter": [30 / 2, 0, NAN],
    "labour_treat_sow_min_per_litter": [6 / 2, 0, NAN],
    "labour_wean_min_per_litter": [0, 0, NAN],
    "staff_utilisation_percent": [100 * 48 / 120, 100 * 6 / 30, NAN],
    "tasks_late_percent": [100 * 1 / 4, 0, NAN],
    "tasks_undone_percent": [100 * 1 / 4, 100, NAN],
    "heater_kwh_per_litter": [5 / 2, 4, NAN],
    "room_wanted_deg_c": [22, 24, NAN],
    "room_temperature_deg_c": [67 / 3, 24, NAN],
    "room_above_set_point_k": [(1 + 0) / 2, 0, NAN],
}


def columns(table, rows):
    """As the engine gives a table: arrays, with categories as codes."""
    coded = {"kind", "outcome", "left_as"}
    return {
        name: np.array([labels_of(table, name).index(word) for word in values] if name in coded else values)
        for name, values in rows.items()
    }


def rooms_with(prices=None, **tables):
    given = {"sows": SOWS, **tables}
    return Rooms({name: columns(name, rows) for name, rows in given.items()}, first=10, count=3, prices=prices)


def all_tables(prices=None):
    return rooms_with(
        prices,
        sow_days=SOW_DAYS,
        piglets=PIGLETS,
        tasks=TASKS,
        rooms=ROOM_HOURS,
        work_hours=WORK_HOURS,
        duty_hours=DUTY_HOURS,
    )


@pytest.mark.parametrize("name", EXPECTED)
def test_an_output_is_what_a_pencil_gives(name):
    measured = farrowtide.catalogue()[name].measure(all_tables())
    assert measured.tolist() == pytest.approx(EXPECTED[name], nan_ok=True)


def test_every_output_but_the_times_of_further_tasks_is_worked_out_here():
    assert {
        name for name, output in farrowtide.catalogue().items() if output.group != "work by task"
    } <= EXPECTED.keys()


def test_the_work_of_each_kind_of_task_adds_up():
    """Of the room without a litter nothing is known."""
    measured = measure(all_tables())
    by_task = [values for name, values in measured.items() if farrowtide.catalogue()[name].group == "work by task"]
    assert np.sum(by_task, axis=0).tolist() == pytest.approx([18, 0, NAN], nan_ok=True)


def test_only_outputs_of_recorded_tables_are_measured():
    """`prices` make the margin need the tables of what has a price."""
    assert "weaned_per_litter" in measure(rooms_with())
    assert "weaning_weight_kg" not in measure(rooms_with())
    of_feed = Prices("EUR", {"weaned_piglet": 40.0, "feed_per_kg": 0.3}, None, 0.0, 0.0, 28.0, 3, 21)
    assert "margin_per_litter" not in measure(rooms_with(of_feed))
    assert "margin_per_litter" in measure(rooms_with(of_feed, sow_days=SOW_DAYS))


# --- Which rooms and rows ---


def test_a_litter_is_kept_whole_if_no_piglet_left_it_and_none_came():
    """One was left alone, one gave and one took; a sow without a live piglet has no litter."""
    sows = {
        "replicate": [0, 0, 0, 0], "nurse": [0, 0, 0, 0], "born_alive": [1, 12, 8, 0],
        "born_here_and_moved": [0, 2, 0, 0], "piglets_moved_in": [0, 0, 2, 0],
    }  # fmt: skip
    rooms = Rooms({"sows": columns("sows", sows)}, first=0, count=1)
    assert farrowtide.catalogue()["litters_kept_whole_percent"].measure(rooms) == pytest.approx([100 / 3])


def test_a_gilt_that_was_not_ready_in_time_counts_and_an_older_sow_does_not():
    sows = {"replicate": [0, 0, 0, 0], "nurse": [0, 0, 0, 0], "ready_in_time": [1.0, 0.0, 1.0, NAN]}
    rooms = Rooms({"sows": columns("sows", sows)}, first=0, count=1)
    assert farrowtide.catalogue()["gilts_ready_percent"].measure(rooms) == pytest.approx([200 / 3])


def test_medians_are_those_of_numpy_for_each_room():
    """Rows of two rooms in any order, with a missing value; an odd and an even number of values."""
    values = [9.0, 1.0, NAN, 5.0, 2.0, 8.0, 4.0, 1.0]
    replicate = [5, 4, 4, 5, 5, 4, 4, 4]
    sows = {"replicate": replicate, "nurse": [0] * 8, "farrowing_duration_min": values}
    rooms = Rooms({"sows": columns("sows", sows)}, first=4, count=3)
    expected = [np.median([1, 8, 4, 1]), np.median([9, 5, 2]), NAN]
    assert rooms.median("sows", "farrowing_duration_min").tolist() == pytest.approx(expected, nan_ok=True)


def test_rows_of_a_room_are_added_by_their_word():
    rooms = all_tables()
    assert rooms.total_labelled("tasks", "minutes", "kind", "feed by hand").tolist() == [30, 0, 0]
    assert rooms.total_labelled("tasks", "minutes", "outcome", "late").tolist() == [20, 0, 0]
    assert rooms.total_labelled("tasks", "minutes", "outcome", "done").tolist() == [16, 0, 0]
    assert rooms.number("tasks").tolist() == [4, 1, 0]
    assert rooms.number("tasks", rooms.is_labelled("tasks", "kind", "treat sow")).tolist() == [1, 1, 0]


def test_a_nurse_sow_is_in_the_table_of_all_sows_alone():
    rooms = rooms_with()
    assert rooms.number("sows").tolist() == [2, 2, 0]
    assert rooms.number("all_sows").tolist() == [3, 2, 0]
    assert rooms.litters.tolist() == [2, 1, 0]
    assert "all_sows" in rooms
    assert "tasks" not in rooms


def test_a_litter_of_one_piglet_is_a_litter():
    sows = {"replicate": [0, 0, 0], "nurse": [0, 0, 0], "total_born": [1, 0, 9]}
    assert Rooms({"sows": columns("sows", sows)}, first=0, count=1).litters.tolist() == [2]


# --- Money ---


def test_what_is_declared_to_matter_sets_what_matters_in_money():
    """The largest of 0.05 piglets at 40, 1 kg of feed at 0.3 and a minute of work at 30 an hour: 2, 0.3 and 0.5."""
    given = {"weaned_piglet": 40.0, "feed_per_kg": 0.3, "hour_of_work": 30.0}
    outputs = farrowtide.catalogue(Prices("EUR", given, None, 0.0, 0.0, 36.5, 2, 21))
    assert outputs["margin_per_litter"].negligible == pytest.approx(2.0)
    assert outputs["margin_per_litter"].unit == "EUR"
    assert outputs["margin_per_litter"].decimals == 1
    assert outputs["margin_per_crate_and_year"].negligible == pytest.approx(2.0 * 365 / 36.5)
    assert outputs["margin_per_crate_and_year"].decimals == 0
    gestation_d = _core.Coefficients.built_in().find("sow.gestation.length_herd_mean").value[0]
    assert outputs["margin_per_sow_and_year"].negligible == pytest.approx(2.0 * 365 / (gestation_d + 21))
    assert outputs["margin_per_litter"].further_tables == ("sows", "sow_days", "tasks")
    assert "treatment_cost_per_litter" not in outputs
    assert next(iter(outputs)) == "margin_per_litter"


@pytest.mark.parametrize(
    ("matters", "decimals"), [(0.001, 4), (0.02, 3), (0.5, 2), (1.0, 1), (9.9, 1), (10.0, 0), (500.0, 0)]
)
def test_amounts_have_two_digits_of_what_matters_and_four_decimals_at_most(matters, decimals):
    prices = Prices("EUR", {"weaned_piglet": 40.0}, matters, 0.0, 0.0, 28.0, 2, 21)
    margin = farrowtide.catalogue(prices)["margin_per_litter"]
    assert margin.negligible == matters
    assert margin.decimals == decimals


def test_margins_of_the_three_rooms():
    """Of 3 crates, turned every 28 days, with a change of 60 and 2 hours of training at 20 a year."""
    given = {"weaned_piglet": 40.0, "feed_per_kg": 0.5, "hour_of_work": 20.0, "hour_on_duty": 10.0, "dead_sow": 300.0}
    measured = measure(all_tables(Prices("EUR", given, None, 60.0, 2.0, 28.0, 3, 21)))
    a_crate = [2 / 3 * 365 / 28, 1 / 3 * 365 / 28]
    change = [100 / a_crate[0], 100 / a_crate[1]]
    margin = [
        40 * 12.5 - 0.5 * 6.5 - 20 * 18 / 60 - 10 * 1 - 300 * 1 - change[0],
        40 * 14 - 0.5 * 6 - 0 - 10 * 0.5 - 300 * 1 - change[1],
    ]
    a_sow = [365 / (116 + 25 + 6), 365 / (116 + 25 + 5)]
    expected = {
        "income_per_litter": [500, 560, NAN],
        "feed_cost_per_litter": [3.25, 3, NAN],
        "work_cost_per_litter": [6, 0, NAN],
        "duty_cost_per_litter": [10, 5, NAN],
        "dead_sow_cost_per_litter": [300, 300, NAN],
        "change_cost_per_litter": [*change, NAN],
        "margin_per_litter": [*margin, NAN],
        "litters_per_crate_and_year": [*a_crate, 0],
        "margin_per_crate_and_year": [margin[0] * a_crate[0], margin[1] * a_crate[1], NAN],
        "litters_per_sow_and_year": [*a_sow, NAN],
        "margin_per_sow_and_year": [margin[0] * a_sow[0], margin[1] * a_sow[1], NAN],
    }
    for name, values in expected.items():
        assert measured[name].tolist() == pytest.approx(values, nan_ok=True), name


def test_a_margin_is_not_known_where_something_with_a_price_is_not():
    """No sow of room 11 comes into oestrus; without a price for empty days that does not count."""
    sows = {**SOWS, "weaning_to_oestrus_d": [6.0, NAN, 9.0, NAN, NAN]}
    prices = {"weaned_piglet": 40.0}
    margins = [
        measure(Rooms({"sows": columns("sows", sows)}, first=10, count=2,
                      prices=Prices("EUR", {**prices, **more}, None, 0.0, 0.0, 28.0, 3, 21)))["margin_per_litter"]
        for more in ({}, {"empty_day": 2.0})
    ]  # fmt: skip
    assert margins[0].tolist() == pytest.approx([500, 560])
    assert margins[1].tolist() == pytest.approx([500 - 12, NAN], nan_ok=True)


# --- The catalogue ---


def test_percentages_are_shares_but_for_those_that_can_leave_0_to_100():
    """A sow can gain weight, a piglet move twice, and people work on when their shift has ended."""
    percentages = {name: output for name, output in farrowtide.catalogue().items() if output.unit == "%"}
    assert {name for name, output in percentages.items() if not output.share} == {
        "weight_loss_percent", "piglets_moved_percent", "staff_utilisation_percent"
    }  # fmt: skip


def test_no_digit_is_printed_that_is_far_below_what_matters():
    for name, output in farrowtide.catalogue().items():
        assert output.negligible <= 50 * 10.0**-output.decimals, name


def test_outputs_of_a_parity_class_need_more_rooms_and_are_named_by_it():
    outputs = farrowtide.catalogue()
    by_class = [name for name, output in outputs.items() if output.of_one_parity_class]
    assert len(by_class) == 3 * 8
    assert all(any(part in name for part in ("_p1_", "_p2_", "_p3_up_")) for name in by_class)
    one, every = outputs["stillborn_p1_percent"], outputs["stillborn_percent"]
    assert one.label == "Stillborn piglets, P1"
    assert outputs["feed_intake_p3_up_kg_per_day"].label == "Lactation feed intake, P3+"
    assert one.floor.needs(24) > every.floor.needs(24)
    assert one.floor_of_mean.needs(24) > every.floor_of_mean.needs(24)


def test_chosen_outputs_come_first_as_headlines():
    assert [output.name for output in chosen(["stillborn_percent", "weaned", "stillborn"], only=True)] == [
        "stillborn_percent", "weaned_per_litter"
    ]  # fmt: skip
    outputs = chosen(["stillborn_percent"], only=False)
    assert len(outputs) == len({output.name for output in outputs}) == len(farrowtide.catalogue())
    groups = {output.name: output.group for output in outputs}
    assert [name for name, group in groups.items() if group == "headline"] == ["stillborn_percent"]
    assert outputs[0].name == "stillborn_percent"
    assert groups["weaned_per_litter"] == "further"
    assert groups["sows_ill_p1_percent"] == farrowtide.catalogue()["sows_ill_p1_percent"].group
    assert chosen([], only=True) == list(farrowtide.catalogue().values())
    assert [output.name for output in chosen([], only=False)[: len(HEADLINES)]] == [output.name for output in HEADLINES]


def test_declared_outputs_are_pickled_by_name_with_what_a_study_and_its_prices_decide():
    prices = Prices("EUR", {"weaned_piglet": 40.0, "feed_per_kg": 0.3}, None, 0.0, 0.0, 28.0, 2, 21)
    (headline,) = chosen(["stillborn_percent"], only=True)
    for output in (headline, *farrowtide.catalogue(prices).values()):
        assert pickle.loads(pickle.dumps(output)) == output
    assert pickle.loads(pickle.dumps(headline)).group == "headline"


@pytest.mark.parametrize("changed", [{"negligible": 9.0}, {"unit": "EUR"}, {"name": "another"}, {"label": "Another"}])
def test_an_output_that_is_not_declared_cannot_be_pickled(changed):
    with pytest.raises(farrowtide.UserError, match="is not one of the declared outputs"):
        pickle.dumps(replace(farrowtide.catalogue()["stillborn_percent"], **changed))

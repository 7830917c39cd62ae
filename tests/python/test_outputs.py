"""Outputs read off the engine's tables, against the same reading done slowly and plainly."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import farrowtide
from farrowtide.outputs import parsing
from farrowtide.outputs.catalogue import HEADLINES
from farrowtide.outputs.output import Output, good_direction, needs, needs_of_means, tiny_differences
from farrowtide.outputs.readings import share
from farrowtide.outputs.rooms import LONG_FARROWING_MIN, Rooms
from farrowtide.outputs.units import US_UNITS
from farrowtide.report.wording.cells import table


@pytest.fixture(scope="module")
def result(small_room):
    return farrowtide.run(small_room, replications=5, seed=2, first_replicate=10)


def by_hand(result, replicate):
    """A few outputs of one room, row by row."""
    sows = [row for row in result.sows.itertuples() if row.replicate == replicate]
    tasks = [row for row in result.tasks.itertuples() if row.replicate == replicate]
    rooms = [row for row in result.rooms.itertuples() if row.replicate == replicate]
    ill = [sow for sow in sows if not np.isnan(sow.disorder_onset_h)]
    waits = [sow.treated_h - sow.disorder_onset_h for sow in ill if sow.treated_h >= sow.disorder_onset_h]
    first = [sow.feed_intake_kg_per_day for sow in sows if sow.parity == 1]
    days = [row for row in result.sow_days.itertuples() if row.replicate == replicate]
    day_1 = [row for row in days if row.day == 1]
    older_on_day_2 = [row.eaten_kg < 1 for row in days if row.day == 2 and row.parity >= 3]
    delays = [t.done_h - t.asked_h for t in tasks if t.kind == "feed by hand" and not np.isnan(t.done_h)]
    healthy = [sow for sow in sows if np.isnan(sow.disorder_onset_h)]
    moved = sum(s.born_here_and_moved for s in sows) / sum(s.born_alive for s in sows)
    return {
        "feed_intake_kg_per_day": np.nanmean([sow.feed_intake_kg_per_day for sow in sows]),
        "feed_intake_p1_kg_per_day": np.mean(first) if first else np.nan,
        "preweaning_mortality_percent": 100
        * sum(s.died_before_weaning for s in sows)
        / sum(s.born_alive for s in sows),
        "farrowings_over_5_h_percent": 100 * np.mean([s.farrowing_duration_min > LONG_FARROWING_MIN for s in sows]),
        "farrowing_duration_median_min": np.nanmedian([sow.farrowing_duration_min for sow in sows]),
        "labour_min_per_litter": sum(task.minutes for task in tasks) / len(sows),
        "labour_feed_by_hand_min_per_litter": sum(t.minutes for t in tasks if t.kind == "feed by hand") / len(sows),
        "tasks_late_percent": 100 * np.mean([task.outcome == "late" for task in tasks]),
        "sows_ill_percent": 100 * len(ill) / len(sows),
        "ill_sows_treated_percent": 100 * np.mean([not np.isnan(sow.treated_h) for sow in ill]) if ill else np.nan,
        "treated_after_onset_h": np.mean(waits) if waits else np.nan,
        "sows_lost_percent": 100 * np.mean([sow.left_as != "weaned" for sow in sows]),
        "piglets_moved_percent": 100 * sum(s.piglets_moved_in for s in sows) / sum(s.born_alive for s in sows),
        "sows_off_feed_d1_percent": 100 * np.mean([row.eaten_kg < 1 for row in day_1]),
        "sows_off_feed_d2_p3_up_percent": 100 * np.mean(older_on_day_2) if older_on_day_2 else np.nan,
        "feed_undelivered_kg_per_litter": sum(sow.feed_undelivered_kg for sow in sows) / len(sows),
        "empty_mornings_percent": 100 * sum(s.empty_mornings for s in sows) / sum(s.trough_mornings for s in sows),
        "untouched_mornings_percent": 100
        * sum(s.untouched_mornings for s in sows)
        / sum(s.trough_mornings for s in sows),
        "feed_delay_h": np.mean(delays),
        "feed_offered_kg_per_litter": sum(row.offered_kg for row in days) / len(sows),
        "feed_removed_kg_per_litter": sum(sow.feed_removed_kg for sow in sows) / len(sows),
        "healthy_sows_treated_percent": 100 * np.mean([not np.isnan(sow.treated_h) for sow in healthy]),
        "rooms_below_85_integrity_percent": 100.0 * (1 - moved < 0.85),
        "stillborn_p1_percent": 100
        * sum(s.stillborn for s in sows if s.parity == 1)
        / (sum(s.total_born for s in sows if s.parity == 1) or np.nan),
        "farrowing_rate_percent": 100 * np.nanmean([sow.farrowing_rate for sow in sows]),
        "next_total_born_change_piglets": np.nanmean([sow.next_total_born_change for sow in sows]),
        "removal_percent": 100 * np.nanmean([sow.removal_risk for sow in sows]),
        "room_above_set_point_k": np.mean([max(0.0, h.temperature_deg_c - h.set_point_deg_c) for h in rooms]),
        "heater_kwh_per_litter": sum(hour.heater_kwh for hour in rooms) / len(sows),
    }


def test_outputs_are_what_a_plain_reading_gives(result):
    assert list(result.outputs.index) == [10, 11, 12, 13, 14]
    for replicate in result.outputs.index:
        expected = by_hand(result, replicate)
        assert result.outputs.loc[replicate, list(expected)].to_dict() == pytest.approx(expected, nan_ok=True)


def rooms_of(**columns):
    """Rooms with one sow each that farrowed there."""
    count = len(next(iter(columns.values())))
    sows = {name: np.array(values, dtype=float) for name, values in columns.items()}
    sows |= {"replicate": np.arange(count), "nurse": np.zeros(count)}
    return Rooms({"sows": sows}, first=0, count=count)


def test_a_room_of_just_85_percent_integrity_is_not_below_it():
    """3, 4 and 2 of 20 piglets were moved: 85, 80 and 90 % stayed; without a piglet there is no share."""
    rooms = rooms_of(born_here_and_moved=[3, 4, 2, 0], born_alive=[20, 20, 20, 0])
    below = farrowtide.catalogue()["rooms_below_85_integrity_percent"].measure(rooms)
    assert below.tolist() == pytest.approx([0, 100, 0, np.nan], nan_ok=True)


def test_a_treatment_at_onset_is_a_wait_of_no_time_and_one_before_it_is_none():
    """In one room at onset and 4 h after it: 2 h; treated before she was ill, a sow did not wait."""
    sows = {
        "replicate": np.array([0, 0, 0]), "nurse": np.zeros(3),
        "disorder_onset_h": np.array([10.0, 20.0, 30.0]), "treated_h": np.array([10.0, 24.0, 25.0]),
    }  # fmt: skip
    waits = farrowtide.catalogue()["treated_after_onset_h"].measure(Rooms({"sows": sows}, first=0, count=1))
    assert waits.tolist() == [2.0]


def test_a_share_of_less_than_half_of_what_there_should_be_is_not_told():
    rooms = rooms_of(part=[1, 1, 1], whole=[4, 5, 8], days=[10, 10, 10])
    assert share("part", "whole", half_of="days")(rooms).tolist() == pytest.approx([np.nan, 20, 12.5], nan_ok=True)


def test_a_nurse_sow_counts_for_piglets_and_not_among_those_that_farrowed(nursed):
    sows, nurses = nursed.sows[nursed.sows["nurse"] == 0], nursed.sows[nursed.sows["nurse"] == 1]
    assert len(nurses) > 0
    outputs = nursed.outputs.mean()
    assert outputs["weaned_per_litter"] == pytest.approx(nursed.sows["weaned"].sum() / len(sows))
    assert outputs["feed_intake_kg_per_day"] == pytest.approx(sows["feed_intake_kg_per_day"].mean())
    never_moved = nursed.piglets[(nursed.piglets["fate"] != "stillborn") & (nursed.piglets["moves"] == 0)]
    assert outputs["litter_integrity_percent"] == pytest.approx(100 * len(never_moved) / sows["born_alive"].sum())
    live_born = nursed.piglets[nursed.piglets["fate"] != "stillborn"]
    strangers = live_born.loc[live_born["moves"] > 0, "reared_by"]
    untouched = live_born.groupby("sow")["moves"].sum().eq(0)
    kept = [sow for sow, is_untouched in untouched.items() if is_untouched and sow not in set(strangers)]
    assert 0 < len(kept) < len(untouched)
    assert outputs["litters_kept_whole_percent"] == pytest.approx(100 * len(kept) / len(untouched))
    assert len(nursed.tables["sows"]) == len(sows) + len(nurses)


@pytest.fixture(scope="module")
def nursed():
    crowded = {
        "title": "Crowded",
        "room": {"crates": 24},
        "herd": {"every_sow": {"total_born": 20}},
        "fostering": {"kind": "fill_and_equalise", "max_moved": 0.5, "nurse_sows": 2},
    }
    return farrowtide.run(farrowtide.load(crowded), replications=1, seed=5)


def test_work_by_task_sums_to_the_work(result):
    tasks = [name for name, output in farrowtide.catalogue().items() if output.group == "work by task"]
    np.testing.assert_allclose(result.outputs[tasks].sum(axis=1), result.outputs["labour_min_per_litter"])


def test_staff_time_in_use_is_the_work_over_the_roster(result):
    """Two people from 07 to 16 with an hour's break, each day of the room's turn."""
    days = 1 + 4 + 21 + 3  # day 0, to the mean due date, to weaning, washing and drying
    on_duty = days * 2 * 8 * 60
    work = result.tasks.groupby("replicate")["minutes"].sum()
    np.testing.assert_allclose(result.outputs["staff_utilisation_percent"], 100 * work / on_duty)


def test_every_headline_has_a_value_in_every_room(result):
    assert result.outputs[[output.name for output in HEADLINES]].notna().all(axis=None)


def test_names_carry_the_unit():
    ends = {"kg/d": "_kg_per_day", "kg": "_kg", "min": "_min", "%": "_percent", "mm": "_mm", "d": "_d", "kWh": "_kwh"}
    for name, output in farrowtide.catalogue().items():
        if output.unit in ends:
            assert name.removesuffix("_per_litter").endswith(ends[output.unit]), name


def test_pounds_are_pounds():
    output = farrowtide.catalogue()["weight_loss_kg"]
    assert output.shown(45.359237, units="us") == "100.0"  # the pound is 0.45359237 kg by definition
    assert output.shown_unit("us") == "lb"
    assert set(US_UNITS) == {"kg", "kg/d", "L", "L/d", "L/min", "mm", "g", "degC", "K"}


@pytest.mark.parametrize(
    ("value", "signed", "shown"),
    [(1.234, True, "+1.23"), (-1.234, True, "\N{MINUS SIGN}1.23"), (-0.001, True, "0.00"), (0.0, True, "0.00"),
     (np.nan, False, "\N{EN DASH}"), (1234.5, False, "1,234.50")],
)  # fmt: skip
def test_numbers_are_printed_plainly(value, signed, shown):
    assert farrowtide.catalogue()["feed_intake_kg_per_day"].shown(value, signed=signed) == shown


@given(st.floats(-1e3, 1e3), st.sampled_from(sorted(farrowtide.catalogue())))
def test_zero_is_printed_without_a_sign(value, name):
    shown = farrowtide.catalogue()[name].shown(value, signed=True)
    assert (shown[0] in "+\N{MINUS SIGN}") == any(digit in shown for digit in "123456789")


@pytest.mark.parametrize("units", ["si", "us"])
def test_no_difference_that_matters_is_printed_as_zero(units):
    for output in farrowtide.catalogue().values():
        assert any(digit in output.shown(output.negligible, units=units) for digit in "123456789"), output.name


@pytest.mark.parametrize(
    ("low", "high", "shown"),
    [(-1.0, 2.0, "\N{MINUS SIGN}1.0 to +2.0"), (-0.02, 0.2, "0.0 to +0.2"), (-0.012, 0.004, "within \N{PLUS-MINUS SIGN}0.02"),
     (0.0, 0.0, "0.0 to 0.0"), (1.012, 1.031, "+1.01 to +1.03"), (1.04, 1.06, "+1.0 to +1.1"), (2.0, 2.0, "+2.0 to +2.0"), (-1e-9, 0, "within \N{PLUS-MINUS SIGN}0.0001")],
)  # fmt: skip
def test_intervals_too_small_for_the_printed_decimals_say_within_what_they_lie(low, high, shown):
    assert farrowtide.catalogue()["weight_loss_kg"].shown_range(low, high, signed=True) == shown


def test_unknown_output_is_refused_with_a_suggestion(small_room):
    with pytest.raises(farrowtide.UserError, match="Did you mean 'weaned_per_litter'"):
        farrowtide.compare(small_room, replications=2, outputs=["weaned_per_liter"])


def test_practice_outputs_can_be_named_shortly_limited_and_aimed_at():
    known = farrowtide.catalogue().values()
    for word, name in {
        "stillborn": "stillborn_percent",
        "farrowing rate": "farrowing_rate_percent",
        "removal": "removal_percent",
        "off feed d1": "sows_off_feed_d1_percent",
        "delay": "feed_delay_h",
        "offered": "feed_offered_kg_per_litter",
        "below 85": "rooms_below_85_integrity_percent",
        "set point": "room_above_set_point_k",
    }.items():
        assert parsing.output_named(word, known).name == name
        assert parsing.limit(f"{word} <= 3", known).output.name == name
        assert list(parsing.half_widths([f"{word}=1"], known)) == [name]
        assert farrowtide.explain(name).startswith(f"{name} [")


def test_mornings_are_not_told_of_troughs_that_hardly_anybody_looked_into(small_room):
    """Under full access a trough is judged on 1 morning in 20: the others would be told by it."""
    names = ["empty_mornings_percent", "untouched_mornings_percent"]
    compared = farrowtide.compare(small_room.case("January"), replications=3, outputs=names)
    values = compared.means.set_index(["alternative", "output"])["mean"]
    assert values["full access"][names].isna().all()
    assert values["2 hand feeds"][names].between(0, 100).all()
    judged = compared.differences.set_index(["alternative", "output"]).loc["full access"].loc[names]
    assert set(judged["verdict"]) == {"not known"}
    assert judged["rooms_needed"].isna().all()
    shown = table(compared, compared.cases[0], [output for output in compared.outputs if output.name in names], "si")
    assert {row.cells["full access"].first for row in shown} == {"no value"}


# --- How values and differences are told ---


def output(unit="kg", **fields):
    return Output("x", unit, "Weight of sows", lambda rooms: rooms, **fields)


@pytest.mark.parametrize(
    ("unit", "decimals", "value", "as_value", "as_difference"),
    [
        ("kg", 1, 45.359237, "100.0", "+100.0"),
        ("g", 0, 28.349523125, "1.0", "+1.0"),
        ("L", 1, 3.785411784, "1.0", "+1.0"),
        ("L/min", 1, 3.785411784, "1.00", "+1.00"),
        ("mm", 1, 25.4, "1.00", "+1.00"),
        ("K", 2, 1.0, "1.80", "+1.80"),
        ("degC", 1, 20.0, "68", "+36.0"),
        ("degC", 0, 20.0, "68", "+36"),
        ("min", 1, 20.0, "20.0", "+20.0"),
    ],
)
def test_us_units_have_decimals_of_their_own(unit, decimals, value, as_value, as_difference):
    shown = output(unit, decimals=decimals)
    assert shown.shown(value, units="us") == as_value
    assert shown.shown(value, units="us", signed=True) == as_difference


def test_a_range_gets_decimals_until_its_ends_differ_and_four_at_most():
    kg = output(decimals=1)
    assert kg.shown_range(1.01, 1.04) == "1.01 to 1.04"
    assert kg.shown_range(1.00001, 1.00002) == "1.0000 to 1.0000"
    assert kg.shown_range(0.001, 0.003, signed=True) == "+0.001 to +0.003"  # on one side of zero
    assert kg.shown_range(0.001, 0.003) == "within \N{PLUS-MINUS SIGN}0.003"
    assert kg.shown_range(0.0, 0.003, signed=True) == "within \N{PLUS-MINUS SIGN}0.003"
    assert kg.shown_range(-0.02, 0.003, signed=True) == "within \N{PLUS-MINUS SIGN}0.02"
    assert kg.shown_range(-0.01, 0.047, signed=True) == "within \N{PLUS-MINUS SIGN}0.05"
    assert kg.shown_range(-0.05, 0.05, signed=True) == "\N{MINUS SIGN}0.1 to +0.1"
    assert kg.shown_range(0.000001, 0.000002, signed=True) == "within \N{PLUS-MINUS SIGN}0.0001"
    assert kg.shown_range(2.04, 2.04, signed=True) == "+2.0 to +2.0"
    assert kg.shown_range(0.02, 0.04, units="us", signed=True) == "0.0 to +0.1"


def test_a_range_of_temperatures_near_freezing_is_not_near_zero_in_us_units():
    assert output("degC", decimals=1).shown_range(0.01, 0.02, units="us") == "32.02 to 32.04"
    assert output("degC", decimals=1).shown_range(0.01, 0.02, units="us", signed=True) == "+0.02 to +0.04"


def test_a_difference_is_told_in_words_with_its_unit():
    assert output().phrase(1.25) == "weight of sows is 1.2 kg higher"
    assert output().phrase(0.5) == "weight of sows is 0.5 kg higher"
    assert output().phrase(-0.5) == "weight of sows is 0.5 kg lower"
    assert output().phrase(-0.45359237, units="us") == "weight of sows is 1.0 lb lower"
    assert output("%").phrase(2.0) == "the share of weight of sows is 2.0 percentage points higher"
    assert output("%").difference_unit("us") == "percentage points"
    said = output(phrases=("sows lose {} more", "sows lose {} less"))
    assert (said.phrase(3.0), said.phrase(-3.0)) == ("sows lose 3.0 kg more", "sows lose 3.0 kg less")


@pytest.mark.parametrize(
    ("unit", "difference", "told"),
    [("min", 119.9, "119.9 min higher"), ("min", 120.0, "2 h higher"), ("min", -150.4, "2 h 30 min lower"),
     ("min", -119.0, "119.0 min lower"), ("kg", 120.0, "120.0 kg higher")],
)  # fmt: skip
def test_two_hours_and_more_are_told_in_hours(unit, difference, told):
    assert output(unit).phrase(difference) == f"weight of sows is {told}"


def test_a_pair_counts_as_equal_up_to_a_tenth_of_what_matters_or_to_half_where_few_animals_make_it():
    usual, hinging = output(negligible=2.0), output(negligible=2.0, hinges_on_few=True)
    for animals in (3, 24, math.inf):
        assert (usual.tiny_among(animals), usual.apart_among(animals)) == (0.2, "by a tenth of what matters or more")
        assert (hinging.tiny_among(animals), hinging.apart_among(animals)) == (1.0, "by half of what matters or more")
    assert (usual.tiny, usual.apart) == (0.2, "by a tenth of what matters or more")
    assert (hinging.tiny, hinging.apart) == (1.0, "by half of what matters or more")


def test_where_one_animal_makes_a_difference_a_pair_counts_as_equal_up_to_what_she_makes_in_the_mean_of_the_room():
    removed = output("%", negligible=0.5, of_one_animal=50.0)
    assert removed.tiny_among(4) == 12.5
    assert removed.apart_among(4) == "by 12.5 percentage points or more"
    assert removed.tiny_among(10_000) == removed.tiny_among(math.inf) == 0.05  # of what matters
    assert removed.apart_among(10_000) == "by a tenth of what matters or more"
    assert tiny_differences([removed, output(negligible=2.0)], 4).tolist() == [12.5, 0.2]


def test_rooms_needed_are_those_of_960_or_2400_animals_and_120_or_480_for_a_mean():
    outputs = [output(), output(of_one_parity_class=True)]
    assert needs(outputs, 48).tolist() == [20, 50]
    assert needs(outputs, 6).tolist() == [40, 100]  # no more of small rooms
    assert needs_of_means(outputs, 12).tolist() == [10, 40]
    assert needs_of_means(outputs, 48).tolist() == [3, 10]


def test_an_output_of_which_neither_direction_is_better_has_no_best():
    assert [good_direction(output(good=good)) for good in ("higher", "lower")] == ["higher", "lower"]
    with pytest.raises(farrowtide.UserError, match="x: neither direction is better in itself"):
        good_direction(output())

"""Flags of days made by hand, the limits that lead to a rate of alarms, and the tables of a morning."""

from __future__ import annotations

import dataclasses

import numpy as np
import pandas as pd
import pytest
from sows_by_hand import day, stays

from farrowtide.analysis.watching.alarms import (
    ALARMS,
    EMPTY,
    FEED_LOW,
    LONG_FARROWING,
    NO_WATER,
    UNTOUCHED,
    WATER_LOW,
    Evidence,
    Thresholds,
    chosen_thresholds,
    evidence,
    rates,
    together,
)
from farrowtide.analysis.watching.expected import Expected
from farrowtide.analysis.watching.reference import Reference
from farrowtide.analysis.watching.rooms import SimulatedRooms
from farrowtide.analysis.watching.watching import band_table, flag_table, present, room_table

NAN = np.nan
DAYS = 4
LIMITS = Thresholds(1.0, {FEED_LOW: 1.0, WATER_LOW: 1.5})


@pytest.fixture(scope="module")
def expected():
    """Of sows of which 200 eat 3.02 to 7 kg and drink 20 L in the mean on each day; all days have the correlation 0.5."""
    spread = np.tile(np.arange(1, 201)[:, None] / 200, (1, DAYS))
    healthy = stays(eaten_kg=3 + 4 * spread, water_l=7.4375 + 25 * spread)
    found = {name: Expected(name, healthy) for name in ("eaten_kg", "water_l")}
    for each in found.values():
        each.correlation = np.full((DAYS, DAYS), 0.5) + 0.5 * np.eye(DAYS)
    return found


def facts_of(expected, **columns):
    return evidence(stays(**columns), expected).facts


def test_a_drinker_gives_no_water_up_to_a_tenth_of_what_is_expected(expected):
    found = facts_of(expected, water_l=[[1.9, 2.0, 2.1, NAN]])
    assert found[NO_WATER].tolist() == [[True, True, False, False]]


def test_a_trough_is_untouched_up_to_a_twentieth_of_what_was_offered(expected):
    found = facts_of(
        expected, eaten_kg=[[0.2, 0.21, 0, 0], [0, NAN, 0, 0]], offered_kg=[[4, 4, 0, 0.5], [NAN, 4, 4, 4]]
    )
    assert found[UNTOUCHED].tolist() == [[True, False, False, True], [False, False, True, True]]


def test_what_is_left_is_what_was_offered_less_what_was_eaten_unless_it_is_recorded(expected):
    found = facts_of(
        expected,
        offered_kg=[[4, 4, 0, 4], [4, 4, 4, 4], [0, 0, 0, 0], [0.5, 0.5, 0.5, NAN]],
        eaten_kg=[[4, 4, 0, 4], [4, 2, 3, 3], [0, 0, 0, 0], [0.5, 0.5, NAN, 0.5]],
        left_kg=[[NAN, NAN, NAN, NAN], [0, 0.2, 0, 1], [0, 0, 0, 0], [NAN, NAN, NAN, 0]],
    )
    assert found[EMPTY].tolist() == [
        [False, True, False, False],
        [False, True, True, False],
        [False, False, False, False],
        [False, True, False, False],
    ]


def test_a_farrowing_of_more_than_five_hours_is_told_on_two_days(expected):
    found = facts_of(expected, eaten_kg=np.ones((3, DAYS)), duration_min=[301, 300, pd.NA])
    assert found[LONG_FARROWING].tolist() == [[True, True, False, False], [False] * 4, [False] * 4]


def test_feed_is_as_low_as_the_better_of_two_days_and_water_as_its_day(expected):
    """A day alone is judged by sd 1, the day after one other by a mean of half its score and a variance of 1 - 0.5^2."""
    of = stays(eaten_kg=[[4.0, 3.5, 4.5, 4.0]], water_l=[[15.0, 12.0, 25.0, 12.0]])
    feed, water = (expected[name].scores(of)[0] for name in ("eaten_kg", "water_l"))
    found = evidence(of, expected)
    first = [-feed[0], (feed[0] / 2 - feed[1]) / np.sqrt(0.75)]
    second = [-feed[1], (feed[0] / 2 - feed[2]) / np.sqrt(0.75)]
    assert np.isnan(found.low[FEED_LOW][0, 0])
    assert found.low[FEED_LOW][0, 1:3] == pytest.approx(np.minimum(first, second))
    assert found.low[WATER_LOW][0, :2] == pytest.approx([-water[0], (water[0] / 2 - water[1]) / np.sqrt(0.75)])
    assert found.means["water_l"][0, 1] == pytest.approx(water[0] / 2)
    assert found.sds["eaten_kg"][0, 1] == pytest.approx(np.sqrt(0.75))
    assert found.second_mean[0, 1:3] == pytest.approx([0, feed[0] / 2])
    assert found.second_sd[0, 1:3] == pytest.approx([1, np.sqrt(0.75)])
    assert found.scores["eaten_kg"][0] == pytest.approx(feed)


def test_evidence_of_parts_together_is_that_of_the_whole(expected):
    of = stays(
        eaten_kg=[[4, 5, 6, 7], [3, NAN, 3, 3], [6, 5, 4, 4]],
        water_l=[[20, 1, 15, NAN]] * 3,
        offered_kg=np.full((3, 4), 5),
    )
    whole = evidence(of, expected)
    joined = together([evidence(of[np.array(rows)], expected) for rows in ([0], [1, 2])])
    alone = together([whole])
    for field in dataclasses.fields(Evidence):
        one, other = getattr(whole, field.name), getattr(joined, field.name)
        np.testing.assert_equal(getattr(alone, field.name), one)
        for each in one if isinstance(one, dict) else [...]:
            np.testing.assert_allclose(other[each].astype(float), one[each].astype(float), atol=1e-12)


def days_of(feed_low, water_low=None, recorded=None, **facts):
    """Evidence of days whose feed is so low, whose water is not unless it is said, and of which nothing else is told."""
    feed_low = np.array([feed_low], dtype=float)
    water = np.full(feed_low.shape, -9.0) if water_low is None else np.array([water_low], dtype=float)
    none = np.zeros(feed_low.shape, dtype=bool)
    known = ~none if recorded is None else np.array([recorded])
    return Evidence(
        low={FEED_LOW: feed_low, WATER_LOW: water},
        facts={name: np.array([facts.get(name, none[0])]) for name in (NO_WATER, UNTOUCHED, LONG_FARROWING, EMPTY)},
        scores={},
        means={},
        sds={},
        second_mean=feed_low,
        second_sd=feed_low,
        recorded=known,
    )


def test_a_day_is_flagged_beyond_the_limit_and_has_an_alarm_if_it_is_recorded():
    of = days_of([1.0, 1.1, 1.1, NAN], recorded=[True, True, False, True], empty_trough=[True] * 4)
    assert LIMITS.flag(of, FEED_LOW).tolist() == [[False, True, True, False]]
    assert LIMITS.flag(of, EMPTY).all()
    assert LIMITS.alarms(of).tolist() == [[False, True, False, False]]
    assert not LIMITS.alarms(of, (WATER_LOW,)).any()


def test_any_alarm_flags_a_day():
    of = days_of([2, 0, 0, 0, 0], [0, 2, 0, 0, 0], no_water=[False, False, True, False, False],
                 untouched_trough=[False, False, False, True, False])  # fmt: skip
    assert LIMITS.alarms(of).tolist() == [[True, True, True, True, False]]


def thousand_days(**facts):
    """Feed that is lowest on the last days, water on the first."""
    order = np.arange(1.0, 1001.0)
    return days_of(order, order[::-1], **facts)


def found_by(of, per_100, signals):
    limits = chosen_thresholds(of, per_100, signals)
    return limits, rates(of, limits, signals).found


def test_so_many_of_a_hundred_days_are_below_the_limits_as_was_chosen():
    """The highest limits with fewer than 50 of 1000 days below them: 49 of feed alone, 24 each of feed and water."""
    of = thousand_days()
    feed, rate = found_by(of, 5.0, "feed")
    assert feed.limits == {FEED_LOW: 951}
    assert (feed.chosen, feed.sow_days) == (5.0, 0)
    assert rate == pytest.approx(4.9)
    assert found_by(of, 5.0, "water")[0].limits == {WATER_LOW: 951}
    assert found_by(of, 40.0, "feed")[0].limits == {FEED_LOW: 601}
    both, rate = found_by(of, 5.0, "both")
    assert both.limits == {FEED_LOW: 976, WATER_LOW: 976}
    assert rate == pytest.approx(4.8)


def test_days_with_an_alarm_without_a_limit_leave_fewer_to_the_bands():
    dry = np.arange(1000) < 30
    feed, rate = found_by(thousand_days(untouched_trough=dry), 5.0, "feed")
    assert feed.limits == {FEED_LOW: 981}
    assert rate == pytest.approx(4.9)
    assert found_by(thousand_days(no_water=dry), 5.0, "feed")[0].limits == {FEED_LOW: 951}
    most, rate = found_by(thousand_days(no_water=dry), 2.0, "both")
    assert most.limits == {FEED_LOW: 1000, WATER_LOW: 1000}
    assert rate == pytest.approx(3.0)


def test_a_rate_that_cannot_be_reached_flags_half_of_the_days():
    assert found_by(thousand_days(), 80.0, "feed")[1] == pytest.approx(50.0)


def test_days_without_a_prediction_are_days_without_an_alarm_and_days_without_a_record_do_not_count():
    """Of 100 days that count, 50 have a score: 1 to 50. Four of them are less than 5 in 100."""
    low = np.concatenate([np.full(50, NAN), np.arange(1.0, 51.0), np.full(20, 99.0)])
    of = days_of(low, recorded=np.arange(120) < 100, empty_trough=np.arange(120) >= 99)
    limits = chosen_thresholds(of, 5.0, "feed")
    assert limits.limits == {FEED_LOW: 46}
    found = rates(of, limits, "feed")
    assert (found.chosen, found.limits, found.sow_days) == (5.0, {FEED_LOW: 46}, 100)
    assert found.found == pytest.approx(4.0)
    assert found.each == {NO_WATER: 0, UNTOUCHED: 0, FEED_LOW: pytest.approx(4.0), LONG_FARROWING: 0, EMPTY: 1.0}


def test_present_are_sows_that_have_farrowed_and_are_not_yet_weaned():
    """On day 3 after the first one's farrowing, with three days simulated."""
    of = stays(
        eaten_kg=np.ones((6, 3)),
        farrowed_on=[day(0), day(-1), day(3), day(4), day(0), day(0)],
        weaned_on=[pd.NaT, pd.NaT, pd.NaT, pd.NaT, day(3), day(4)],
    )
    assert list(present(of, day(3)).sows["sow"]) == ["S1", "S3", "S6"]


def test_of_two_stays_of_a_sow_the_later_is_present():
    of = stays(eaten_kg=[[1], [2], [3], [4]], sow=["a", "b", "a", "c"], farrowed_on=[day(2), day(9), day(1), day(1)])
    found = present(of, day(2))
    assert list(found.sows["sow"]) == ["a", "c"]
    assert found.values["eaten_kg"].tolist() == [[1], [4]]


@pytest.fixture(scope="module")
def reference(expected):
    rooms = stays(eaten_kg=np.full((8, DAYS), 5.0), room=["R1"] * 4 + ["R2"] * 4)
    return Reference(expected, LIMITS, "both", SimulatedRooms(rooms), len(rooms))


def test_bands_reach_from_limit_to_limit_about_the_prediction(expected):
    """Two standard deviations: the amounts at these scores, of which the first day has a mean of 0 and an sd of 1."""
    of = stays(eaten_kg=[[5.0, 4.2, NAN, NAN], [NAN, NAN, NAN, 3.02]], room=["B", pd.NA], parity=[1, 4])
    table = band_table(of, evidence(of, expected), expected, Thresholds(1.0, {FEED_LOW: 2.0, WATER_LOW: 1.5}))
    assert table[["sow", "room", "parity", "lactation_day"]].to_numpy().tolist() == [
        ["S1", "B", 1, 1],
        ["S1", "B", 1, 2],
        ["S2", "", 4, 4],
    ]
    assert list(table["date"]) == [day(1), day(2), day(4)]
    assert table["eaten_kg"].tolist() == [5.0, 4.2, 3.02]
    mean, sd = expected["eaten_kg"].scores(of)[0, 0] / 2, np.sqrt(0.75)
    for column, scores in (("low", (-2, mean - 2 * sd)), ("expected", (0, mean)), ("high", (2, mean + 2 * sd))):
        amounts = expected["eaten_kg"].amounts(of, np.tile([*scores, NAN, NAN], (2, 1)))[0, :2]
        assert table[f"eaten_kg_{column}"].tolist()[:2] == pytest.approx(amounts)
    assert table["water_l"].isna().all()
    assert table["water_l_low"].iloc[0] < table["water_l_expected"].iloc[0] < table["water_l_high"].iloc[0]


def test_bands_of_a_quantity_without_a_limit_are_left_out(expected):
    of = stays(eaten_kg=np.full((1, DAYS), 5.0))
    table = band_table(of, evidence(of, expected), expected, Thresholds(1.0, {WATER_LOW: 1.0}))
    assert "water_l_low" in table
    assert "eaten_kg_low" not in table


def test_the_flags_of_a_day_stand_beside_its_band_in_the_order_of_the_list(expected):
    of = stays(
        eaten_kg=[[5, 3.02, 0.1, 5]], offered_kg=np.full((1, 4), 6), water_l=[[20, 20, 0.5, 20]], duration_min=301
    )
    table = band_table(of, evidence(of, expected), expected, LIMITS)
    assert table["flags"].tolist() == [
        "long_farrowing",
        "long_farrowing",
        "no_water, untouched_trough, water_below_band, feed_below_band",
        "",
    ]


def test_the_list_has_alarms_first_then_rooms_and_sows_in_order(reference):
    of = stays(
        eaten_kg=[[5, 5, 5, 5], [5, 5, 5, 5], [5, 5, 5, 5]],
        water_l=[[20, 20, NAN, NAN], [20, 1, NAN, NAN], [1, 1, NAN, NAN]],
        room=["B", "B", "A"],
        parity=[1, 2, 3],
        duration_min=[400, 200, 200],
    )
    table = flag_table(of, day(2), reference)
    assert table[["sow", "room", "parity", "lactation_day", "flag", "alarm", "mornings"]].to_numpy().tolist() == [
        ["S3", "A", 3, 2, NO_WATER, True, 2],
        ["S2", "B", 2, 2, NO_WATER, True, 1],
        ["S3", "A", 3, 2, WATER_LOW, True, 2],
        ["S2", "B", 2, 2, WATER_LOW, True, 1],
        ["S1", "B", 1, 2, LONG_FARROWING, False, 2],
    ]
    assert "rank" not in table


def test_mornings_are_counted_from_the_last_one_without_the_flag(reference):
    of = stays(eaten_kg=np.full((1, DAYS), 5.0), water_l=[[1, 20, 1, 1]])
    mornings = {
        last: flag_table(of, day(last), reference).set_index("flag")["mornings"].get(NO_WATER) for last in (1, 2, 3, 4)
    }
    assert mornings == {1: 1, 2: None, 3: 1, 4: 2}


def test_a_day_that_is_not_recorded_has_no_flag_but_that_of_a_long_farrowing(reference):
    of = stays(eaten_kg=[[4, NAN, NAN, NAN]], offered_kg=[[4] * 4], left_kg=[[0] * 4], duration_min=400)
    assert flag_table(of, day(2), reference)["flag"].tolist() == [LONG_FARROWING]


@pytest.mark.parametrize("last", [-1, 0, DAYS + 1])
def test_there_is_no_flag_outside_of_the_days_of_a_stay(reference, last):
    of = stays(eaten_kg=np.full((1, DAYS), 5.0), water_l=np.zeros((1, DAYS)), duration_min=400)
    table = flag_table(of, day(last), reference)
    assert table.empty
    assert list(table) == ["sow", "room", "parity", "lactation_day", "flag", "alarm", "mornings"]


def test_alarms_that_were_not_chosen_are_not_listed(reference):
    of = stays(eaten_kg=np.full((1, DAYS), 0.0), water_l=np.zeros((1, DAYS)), offered_kg=np.full((1, DAYS), 4.0))
    by_feed = dataclasses.replace(reference, signals="feed", thresholds=Thresholds(1.0, {FEED_LOW: 1.0}))
    assert flag_table(of, day(2), by_feed)["flag"].tolist() == [UNTOUCHED, FEED_LOW]
    by_water = dataclasses.replace(reference, signals="water", thresholds=Thresholds(1.0, {WATER_LOW: 1.0}))
    assert flag_table(of, day(2), by_water)["flag"].tolist() == [NO_WATER, WATER_LOW]
    assert set(flag_table(of, day(2), reference)["flag"]) == set(ALARMS)


def test_a_flag_has_the_amounts_and_bands_that_its_reason_tells(reference, expected):
    """Feed of the day is also told beside what would be expected without the day before."""
    of = stays(
        eaten_kg=[[6, 5, 5, 5], [5, 3.4, 3.2, 5]],
        water_l=[[20] * 4, [20, 21, 22, 23]],
        offered_kg=[[7] * 4, [6, 6.5, 7, 7.5]],
        duration_min=[200, 250],
    )
    row = flag_table(of, day(3), reference).set_index(["sow", "flag"]).loc[("S2", FEED_LOW)]
    said = row[["eaten_kg", "water_l", "offered_kg", "eaten_kg_before", "water_l_before", "duration_min"]]
    assert said.tolist() == [3.2, 22, 7, 3.4, 21, 250]
    bands = band_table(of, evidence(of, expected), expected, LIMITS).set_index(["sow", "lactation_day"])
    for name in ("eaten_kg", "water_l"):
        for end in ("low", "expected", "high"):
            assert row[f"{name}_{end}"] == pytest.approx(bands.loc[("S2", 3), f"{name}_{end}"])
    for end in ("low", "high"):
        assert row[f"eaten_kg_before_{end}"] == pytest.approx(bands.loc[("S2", 2), f"eaten_kg_{end}"])
    feed = expected["eaten_kg"].scores(of)[1]
    for end, sign in (("low", -1), ("high", 1)):
        score = feed[0] / 2 + sign * np.sqrt(0.75)
        amount = expected["eaten_kg"].amounts(of, np.full((2, DAYS), score))[0, 0]
        assert row[f"eaten_kg_from_two_days_before_{end}"] == pytest.approx(amount)


def test_a_flag_of_the_first_day_has_no_day_before(reference):
    of = stays(eaten_kg=[[6.0, 5.0, 5.0, 5.0]], water_l=np.zeros((1, DAYS)))
    first, second = (flag_table(of, day(number), reference).iloc[0] for number in (1, 2))
    assert first["water_l"] == 0
    assert not [name for name in first.index if "before" in name]
    assert second["eaten_kg_before"] == 6
    assert second["eaten_kg_before_low"] < second["eaten_kg_before_high"]


def test_a_sow_can_have_a_flag_on_the_last_day_that_is_watched(reference):
    of = stays(eaten_kg=np.full((1, DAYS), 5.0), water_l=[[20, 20, 20, 1]])
    assert NO_WATER in set(flag_table(of, day(DAYS), reference)["flag"])


def test_each_room_has_its_own_outputs(reference):
    of = stays(eaten_kg=np.full((9, DAYS), 5.0), room=["B"] * 4 + [pd.NA] * 4 + ["A"])
    of.values["eaten_kg"][:4] = 4.0
    table = room_table(of, day(2), reference)
    eaten = table[table["output"] == "eaten_kg"].set_index("room")["value"]
    assert eaten.to_dict() == {"": 5.0, "B": 4.0}
    assert list(table["room"].unique()) == ["", "B"]
    assert list(table.index) == list(range(len(table)))
    few = room_table(of[np.array([8])], day(2), reference)
    assert few.empty
    assert list(few) == ["room", "output", "off_track"]

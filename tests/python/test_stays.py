"""Stays of a few sows, and how records become stays."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from sows_by_hand import day, records, stays

from farrowtide.analysis.watching.stays import MEASURED, stays_of

NAN = np.nan


def test_sows_of_third_and_later_parities_are_one_class():
    of = stays(eaten_kg=np.ones((4, 2)), parity=[1, 2, 3, 7])
    assert of.parity_class.tolist() == [0, 1, 2, 2]
    assert (len(of), of.days) == (4, 2)


def test_a_day_is_recorded_where_feed_or_water_is():
    of = stays(eaten_kg=[[4, NAN, NAN]], water_l=[[NAN, 20, NAN]], left_kg=[[1, 1, 1]])
    assert of.recorded.tolist() == [[True, True, False]]


@pytest.mark.parametrize("which", [np.array([False, True, True]), np.array([1, 2])])
def test_chosen_stays_keep_their_days(which):
    of = stays(eaten_kg=[[1, 2], [3, 4], [5, 6]])[which]
    assert list(of.sows["sow"]) == ["S2", "S3"]
    assert list(of.sows.index) == [0, 1]
    assert list(of.sows) == list(stays(eaten_kg=[[1]]).sows)
    assert of.values["eaten_kg"].tolist() == [[3, 4], [5, 6]]


def test_what_is_known_on_a_date_ends_with_that_day():
    of = stays(eaten_kg=[[1, 2, 3]] * 3, farrowed_on=[day(0), day(2), day(3)])
    assert of.days_on(day(2)).tolist() == [2, 0, -1]
    known = of.until(day(2))
    assert list(known.sows["sow"]) == ["S1", "S2"]
    np.testing.assert_array_equal(known.values["eaten_kg"], [[1, 2, NAN], [NAN, NAN, NAN]])


def test_days_from_the_first_after_farrowing_to_weaning_are_of_the_stay():
    rows = [{"sow": "S1", "room": "A", "date": day(number), "eaten_kg": 10 + number} for number in range(-1, 6)]
    of_sow = {"sow": "S1", "parity": 2, "farrowed_on": day(0)}
    weaned = stays_of(records([of_sow | {"weaned_on": day(3)}], rows), 5)
    np.testing.assert_array_equal(weaned.values["eaten_kg"], [[11, 12, 13, NAN, NAN]])
    running = stays_of(records([of_sow], rows), 4)
    np.testing.assert_array_equal(running.values["eaten_kg"], [[11, 12, 13, 14]])
    assert set(weaned.values) == set(MEASURED)
    assert list(weaned.sows) == list(records([of_sow], rows).farrowings)
    assert np.isnan(weaned.values["water_l"]).all()


def test_a_stay_without_a_weaning_is_read_for_sixty_days():
    """As in the rules of records."""
    rows = [{"sow": "S1", "date": day(number), "eaten_kg": 5} for number in (60, 61)]
    of = stays_of(records([{"sow": "S1", "parity": 2, "farrowed_on": day(0)}], rows), 70)
    assert np.flatnonzero(~np.isnan(of.values["eaten_kg"][0])).tolist() == [59]


def test_each_day_of_a_sow_with_two_stays_is_of_one_of_them():
    farrowings = [
        {"sow": "S1", "parity": 2, "farrowed_on": day(150)},
        {"sow": "S1", "parity": 1, "farrowed_on": day(0), "weaned_on": day(2)},
    ]
    rows = [{"sow": "S1", "date": day(number), "water_l": number} for number in (1, 2, 3, 151)]
    of = stays_of(records(farrowings, rows), 3)
    np.testing.assert_array_equal(of.values["water_l"], [[151, NAN, NAN], [1, 2, NAN]])


def test_a_day_without_a_temperature_has_that_of_its_room():
    farrowings = [
        {"sow": sow, "room": room, "farrowed_on": day(0), "parity": 2}
        for sow, room in (("S1", "A"), ("S2", "B"), ("S3", pd.NA))
    ]
    sows = [{"sow": sow, "date": day(number), "eaten_kg": 5} for sow in ("S1", "S2", "S3") for number in (1, 2)]
    sows[0]["temperature_deg_c"] = 25.0
    rooms = [
        {"date": day(1), "room": "A", "temperature_deg_c": 20.0},
        {"date": day(2), "room": "A", "water_l": 90.0},
        {"date": day(2), "room": "A", "temperature_deg_c": 21.0},
        {"date": day(1), "temperature_deg_c": 30.0},
    ]
    of = stays_of(records(farrowings, sows + rooms), 2)
    np.testing.assert_array_equal(of.values["temperature_deg_c"], [[25, 21], [NAN, NAN], [NAN, NAN]])
    alone = stays_of(records(farrowings, sows), 2)
    np.testing.assert_array_equal(alone.values["temperature_deg_c"], [[25, NAN], [NAN, NAN], [NAN, NAN]])

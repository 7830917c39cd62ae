"""Statistics of measures.py on a handful of sows whose values are counted by hand."""

from types import SimpleNamespace

import measures
import pandas as pd
import pytest


@pytest.fixture
def result():
    """Two rooms of two sows on lactation days 0 to 2; a line before farrowing must not count."""
    days = pd.DataFrame(
        [
            (room, sow, day, 1, eaten, fat)
            for room, sow, eaten_kg, backfat_mm in [
                (0, 1, [1, 2, 6], [20, 19, 17]),
                (0, 2, [1, 4, 6], [20, 20, 19]),
                (1, 1, [0, 3, 3], [20, 18, 18]),
                (1, 2, [0, 3, 9], [20, 16, 15]),
            ]
            for day, eaten, fat in zip(range(3), eaten_kg, backfat_mm, strict=True)
        ]
        + [(0, 1, 1, 0, 99, 99)],
        columns=["replicate", "sow", "day", "farrowed", "eaten_kg", "backfat_mm"],
    ).assign(parity=2)
    sows = pd.DataFrame(
        {"replicate": [0, 0, 1, 1], "parity": [1, 2, 1, 2], "weaning_to_oestrus_d": [4.0, 25.0, 5.0, float("nan")]}
    )
    return SimpleNamespace(sow_days=days, sows=sows)


def test_intake_of_some_days_is_held_against_that_of_others(result):
    found = measures.intake_of_days_ratio(result, {"days": [1, 1], "from": [2, 2]})
    assert list(found) == [pytest.approx(3 / 6), pytest.approx(3 / 6)]


def test_sows_count_that_lost_more_than_a_share_of_their_backfat(result):
    assert list(measures.lost_backfat_percent(result, {"days": [0, 2], "over": 10})) == [50, 50]
    assert list(measures.lost_backfat_percent(result, {"days": [0, 2], "over": 4})) == [100, 100]


def test_sows_without_oestrus_in_time_are_left_out_of_the_mean_interval(result):
    assert list(measures.oestrus_interval_d(result, {"to": 14})) == [4, 5]
    assert list(measures.oestrus_interval_d(result, {"to": 30})) == [14.5, 5]
    assert list(measures.oestrus_interval_d(result, {"to": 30, "parity": [1, 1]})) == [4, 5]

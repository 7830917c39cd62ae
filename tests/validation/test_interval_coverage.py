"""Intervals on outputs of real rooms hold as often as the page says, in a small pool of the smallest room."""

import math
from dataclasses import replace

import interval_coverage
import numpy as np
import pandas as pd
import pytest

from farrowtide.outputs.catalogue import HEADLINES, catalogue

STUDIES = 1500


@pytest.fixture(scope="module")
def three_sows() -> interval_coverage.Pool:
    return next(interval_coverage.pools(share=0.25))


@pytest.mark.parametrize("n", [20, 40, 200])
def test_headlines_hold_wherever_an_interval_is_printed(three_sows, n):
    for output in HEADLINES:
        count = interval_coverage.count_pairs(three_sows, output, n, STUDIES)
        if count is not None and count.shown:
            assert count.ours > 0.93 - 3 * math.sqrt(0.95 * 0.05 / (count.known * STUDIES)), (output.name, count)


def test_twenty_rooms_are_too_few_for_any_interval(three_sows):
    assert all(interval_coverage.count_pairs(three_sows, output, 20, 50).known == 0 for output in HEADLINES[:3])
    assert interval_coverage.count_pairs(three_sows, HEADLINES[0], 50, 50).known == 1


def test_students_interval_alone_would_not_hold(three_sows):
    mortality = catalogue()["preweaning_mortality_percent"]
    count = interval_coverage.count_pairs(three_sows, mortality, 20, STUDIES)
    assert count.student < 0.6
    assert count.known == 0


def test_differences_that_one_sow_of_the_room_makes_wait_until_such_sows_were_seen():
    """In one of four rooms sows are removed a little more often; in one of fifty, one sow of 24 is not any more."""
    removed = catalogue()["removal_percent"]
    chance = np.random.default_rng(5).random(4000)
    after = np.select([chance < 0.02, chance < 0.27], [-76 / 24, 0.3], 0.0)
    pool = interval_coverage.Pool("made", 24, *(pd.DataFrame({removed.name: x}) for x in (0.0 * after, after)))
    as_others = replace(removed, of_one_animal=0.0)
    assert interval_coverage.count_pairs(pool, as_others, 40, STUDIES).ours < 0.7
    assert not interval_coverage.count_pairs(pool, removed, 40, STUDIES).shown
    after_200 = interval_coverage.count_pairs(pool, removed, 200, STUDIES)
    assert after_200.ours > 0.93
    assert after_200.known > 0.3


def test_the_page_marks_what_is_outside_the_target():
    good, bad, hardly = (
        interval_coverage.Count(20, 0.5, ours, known) for ours, known in ((0.95, 1.0), (0.88, 1.0), (0.2, 0.01))
    )
    assert [count.misses for count in (good, bad, hardly)] == [False, True, False]
    cells = [interval_coverage._cell(count) for count in (good, bad, hardly)]
    assert cells == ["50.0 | 95.0 (100)", "50.0 | **88.0** (100)", "50.0 | \N{EN DASH} (1)"]

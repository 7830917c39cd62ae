"""The default-herd page: its intervals are right, every published row can be read, and a miss cannot pass unsaid."""

import default_herd
import numpy as np
import pandas as pd
import pictures
import pytest
from default_herd import Estimate, Read, estimate
from scipy import stats

PUBLISHED = default_herd.published()
SECTIONS = PUBLISHED["sections"]
ROWS = [row for section in SECTIONS for row in section["rows"]]


def test_one_animal_a_room_gives_the_t_interval():
    values = pd.Series(np.random.default_rng(1).normal(6, 1, 30))
    found = estimate(values, pd.Series(range(30)))
    low, high = stats.t.interval(0.95, 29, values.mean(), stats.sem(values))
    assert (found.mean, found.low, found.high) == pytest.approx((values.mean(), low, high))


def test_animals_of_one_room_are_not_independent():
    rng = np.random.default_rng(2)
    room = np.repeat(np.arange(50), 24)
    values = pd.Series(rng.normal(0, 1, 50)[room])  # all sows of a room alike: 50 observations, not 1200
    found = estimate(values, pd.Series(room))
    low, high = stats.t.interval(0.95, 49, values.mean(), stats.sem(values[::24]))
    assert (found.low, found.high) == pytest.approx((low, high))


def test_rows_are_complete():
    assert len({row["key"] for row in ROWS}) == len(ROWS)
    for row in ROWS:
        assert row["kind"] in ("fitted", "restated", "independent"), row["key"]
        assert row["source"].strip(), row["key"]
        assert row["range"][0] <= row["range"][1], row["key"]


def test_every_row_is_read_and_shown(tmp_path, monkeypatch):
    monkeypatch.setattr(pictures, "GENERATED", tmp_path)
    herd = default_herd.Herd(PUBLISHED["scenario"], rooms=6)
    found = default_herd.read(herd, SECTIONS)
    assert all(each.found.low <= each.found.mean <= each.found.high for each in found.values())
    drawn = default_herd.default_herd_pictures.draw(herd, found)
    text = default_herd.page(SECTIONS, found, drawn, 6)
    assert all(row["row"] in text for row in ROWS)
    assert sorted(path.name for path in tmp_path.glob("*.svg")) == sorted(f"{each.name}.svg" for each in drawn.values())
    before = {path: path.read_bytes() for path in tmp_path.glob("*.svg")}
    default_herd.default_herd_pictures.draw(herd, found)
    assert all(path.read_bytes() == written for path, written in before.items())


@pytest.mark.parametrize(
    ("mean", "outside", "said"),
    [(6.0, "", ""), (7.5, "", "lacks"), (6.0, "why", "still has"), (7.5, "why", "")],
)
def test_a_miss_needs_its_sentence_and_a_hit_must_not_have_one(mean, outside, said):
    row = {"key": "x", "range": [5.5, 6.5], "error": 0.4, "outside": outside}
    wrong = default_herd.unexplained({"x": Read(row, Estimate(mean, mean, mean))})
    assert said in "".join(wrong)
    assert bool(wrong) == bool(said)

"""Comparisons of real runs: same animals, every case, the same whatever the way, and what Ctrl-C leaves."""

import numpy as np
import pandas as pd
import pytest

import farrowtide
from farrowtide.study import course

CASES = ("January", "July", "small trough")


def test_an_alternative_that_changes_nothing_differs_in_nothing(small_room):
    same = {"feeding": {"kind": "hand", "times": ["07:00", "15:00"]}}
    found = farrowtide.compare(small_room, {"one": same, "other": same}, replications=4)
    assert (found.differences["difference"] == 0).all()
    assert set(found.differences["verdict"]) == {"identical in every room"}
    assert found.differences[["ci_low", "ci_high"]].isna().all(axis=None)  # never an interval of zero width


def test_alternatives_meet_the_same_animals(small_room):
    runs = [farrowtide.run(small_room.alternative(name), replications=3) for name in small_room.alternatives]
    assert len(runs) == 5
    for other in runs[1:]:
        for column in ("parity", "total_born", "weight_after_farrowing_kg", "appetite_effect_log"):
            np.testing.assert_array_equal(runs[0].sows[column], other.sows[column])
        for column in ("birth_weight_kg", "male", "threshold_crushed"):
            np.testing.assert_array_equal(runs[0].piglets[column], other.piglets[column])
        assert (runs[0].sows["feed_intake_kg_per_day"] != other.sows["feed_intake_kg_per_day"]).any()


def test_every_alternative_stands_in_every_case(comparison):
    found = comparison.differences.groupby(["case", "alternative"]).size()
    assert set(found.index) == {(case, name) for case in CASES for name in comparison.alternatives[1:]}
    assert (comparison.differences["n"] <= 40).all()
    assert list(comparison.differences.columns) == [
        "case", "output", "unit", "alternative", "reference", "mean_alternative", "mean_reference", "difference",
        "ci_low", "ci_high", "n", "n_differing", "p_holm", "verdict", "rooms_needed", "reason",
    ]  # fmt: skip


def test_differences_are_those_of_the_replicates(comparison):
    july = comparison.replicates.query("case == 'July'").pivot(index="replicate", columns="alternative")[
        "weight_loss_kg"
    ]
    pairs = july["1 hand feed"] - july["2 hand feeds"]
    found = comparison.differences.query(
        "case == 'July' and alternative == '1 hand feed' and output == 'weight_loss_kg'"
    )
    assert found["difference"].item() == pytest.approx(pairs.mean())
    assert found["n"].item() == len(pairs) == 40


def test_one_feed_a_day_starves_sows_whose_trough_does_not_hold_it(comparison):
    """A trough of 3.2 kg filled once a day holds less than a sow eats in a day, and 8 kg much more."""
    found = comparison.differences.query("alternative == '1 hand feed' and output == 'feed_intake_kg_per_day'")
    by_case = found.set_index("case")
    assert by_case.at["small trough", "verdict"] == "lower (worse)"
    assert by_case.at["small trough", "difference"] < -1
    assert by_case.at["January", "difference"] > -0.4


def test_threads_and_block_size_change_nothing(small_room, comparison, monkeypatch):
    monkeypatch.setattr(course, "REPLICATES", 5)
    again = farrowtide.compare(small_room, replications=40, seed=3, threads=1)
    pd.testing.assert_frame_equal(again.replicates, comparison.replicates, check_exact=True)
    pd.testing.assert_frame_equal(again.differences, comparison.differences, check_exact=True)
    pd.testing.assert_frame_equal(again.intake_days, comparison.intake_days, check_exact=True)


def test_progress_counts_every_room_once(small_room):
    told = []
    farrowtide.compare(small_room, replications=3, progress=lambda done, total, said: told.append((done, total)))
    assert told == sorted(told)
    assert told[-1] == (45, 45)  # three cases of five alternatives


def test_interruption_keeps_the_blocks_that_every_alternative_has(small_room, monkeypatch):
    monkeypatch.setattr(course, "REPLICATES", 4)
    monkeypatch.setattr(course.os, "cpu_count", lambda: 1)

    def stop_in_the_second_block(done, total, said):
        if done > 65:
            raise KeyboardInterrupt

    with pytest.raises(farrowtide.Interrupted) as caught:
        farrowtide.compare(small_room, replications=12, seed=3, progress=stop_in_the_second_block)
    finished = caught.value.finished
    assert (finished.replications, finished.wanted_replications, finished.interrupted) == (4, 12, True)
    whole = farrowtide.compare(small_room, replications=4, seed=3)
    pd.testing.assert_frame_equal(finished.differences, whole.differences, check_exact=True)


def test_outputs_and_reference_can_be_chosen(small_room):
    found = farrowtide.compare(small_room, replications=2, outputs=["weaned_per_litter"], reference="full access")
    assert set(found.differences["output"]) == {"weaned_per_litter"}
    assert set(found.differences["reference"]) == {"full access"}


@pytest.mark.parametrize(
    ("options", "message"),
    [
        ({"reference": "3 feeds"}, "no alternative is called '3 feeds'"),
        ({"replications": 0}, "at least 1"),
        ({"alternatives": {"only": {}}}, "at least two"),
        ({"alternatives": {"a": {}, "b": {"room.crats": 2}}}, "Did you mean crates"),
    ],
)
def test_mistakes_are_told_before_anything_runs(small_room, options, message):
    with pytest.raises(farrowtide.UserError, match=message):
        farrowtide.compare(small_room, **options)


def test_the_command_in_the_provenance_repeats_the_comparison(small_room):
    alternatives = {"few": {"room.crates": 2}, "more": {"room.crates": 3}}
    found = farrowtide.compare(small_room, alternatives, replications=2, outputs=["weaned_per_litter"])
    again = eval(found.provenance["command"], {"farrowtide": farrowtide})
    pd.testing.assert_frame_equal(again.differences, found.differences, check_exact=True)


def test_the_worst_decile_and_the_margins_are_those_of_the_rooms(comparison):
    decile = comparison.worst_decile(["weaned_per_litter"]).set_index(["case", "alternative"])["quantile"]
    rooms = comparison.replicates.groupby(["case", "alternative"])["weaned_per_litter"]
    for (case, alternative), values in rooms:
        assert ((values <= decile[case, alternative]).mean()) == pytest.approx(0.1, abs=1 / len(values))
    kept = comparison.no_worse_than({"feed_intake_kg_per_day": 20.0})
    assert set(kept["verdict"]) == {"no worse"}
    assert set(comparison.equivalent({"feed_intake_kg_per_day": 1e-9})["verdict"]) <= {"different", "not shown"}

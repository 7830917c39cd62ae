"""How a study goes on and ends, with tables made by hand in place of rooms: in order, until its rule says so, and what is told."""

import math
import os
from dataclasses import replace

import numpy as np
import pytest
from made_tables import WEANED, Made, spread, table_of

import farrowtide
from farrowtide.errors import InternalError
from farrowtide.statistics.paired import PairedMoments
from farrowtide.study import execution, stopping
from farrowtide.study.blocks import Block, Kept
from farrowtide.study.course import Course, counting_rooms
from farrowtide.study.plan import plan
from farrowtide.study.rules import AllRooms, UntilPrecise
from farrowtide.study.watch import KINDS, Watch, differing_keys


@pytest.fixture(scope="module")
def room():
    return farrowtide.load({"title": "t", "room": {"crates": 1}})


@pytest.fixture(scope="module")
def study(room):
    return plan(room, {"a": {}, "b": {"handling.day": 5}}, replications=50, seed=5)


@pytest.fixture(scope="module")
def precise(room):
    return plan(room, {"a": {}, "b": {"handling.day": 5}}, replications=400, seed=5, precision={"weaned": 0.5})


def carried_out(study, executor, **options):
    """What the course of a study hands on in each round: first replicate and alternatives; and how it ended."""
    rounds = []

    def take(tables):
        rounds.append((tables[0]["replicate"][0].as_py(), [table["alternative"][0].as_py() for table in tables]))

    progress = options.pop("progress", None)
    course = Course(study, executor=executor, **options)
    return rounds, course.carry_out(take, lambda interrupted: interrupted, progress=progress), course


# --- Courses ---


def test_a_course_hands_on_every_round_of_all_arms_and_counts_their_rooms(study):
    told = []
    rounds, interrupted, course = carried_out(study, Made(), progress=lambda *seen: told.append(seen))
    assert rounds == [(0, ["a", "b"]), (20, ["a", "b"]), (40, ["a", "b"])]
    assert interrupted is False
    assert told[-1] == (100, 100, "")
    assert [done for done, _, _ in told] == sorted(done for done, _, _ in told)
    assert {total for _, total, _ in told} == {100}
    assert course.reached is None


def test_rounds_may_be_of_another_size(study):
    rounds = []
    course = Course(study, executor=Made())
    course.carry_out(
        lambda tables: rounds.append([table.num_rows for table in tables]), lambda interrupted: None, replicates=30
    )
    assert rounds == [[30, 30], [20, 20]]


def test_what_ctrl_c_leaves_are_the_rounds_that_were_taken(study, tmp_path):
    def stopped_at(last, folder=None):
        taken = []

        def take(tables):
            if len(taken) == last:
                raise KeyboardInterrupt
            taken.append(tables)

        with pytest.raises(farrowtide.Interrupted) as caught:
            Course(study, executor=Made(), folder=folder).carry_out(take, lambda interrupted: (interrupted, len(taken)))
        return caught.value.finished, caught.value.folder

    assert stopped_at(0) == (None, None)
    assert stopped_at(1) == ((True, 1), None)
    assert stopped_at(2, tmp_path / "study") == ((True, 2), tmp_path / "study")


def test_rooms_of_which_every_one_broke_off_are_no_study(study):
    def all_broken(block):
        return table_of(block, set_aside=range(block.first, block.first + block.count))

    def all_but_one(block):
        return table_of(block, set_aside=range(block.first + (block.first == 40), block.first + block.count))

    with pytest.raises(InternalError, match="every room broke off: the model broke"):
        carried_out(study, Made(all_broken))
    with pytest.warns(farrowtide.PlausibilityWarning, match="the room broke off and is left out"):
        _, _, course = carried_out(study, Made(all_but_one))
    assert len(course.watch.set_aside()) == 98
    assert course.watch.set_aside()[0] == {
        "case": "as written", "alternative": "a", "replicate": 0, "seed": 5, "fault": "the model broke",
    }  # fmt: skip


def test_a_course_needs_threads_and_rooms(study):
    Course(study, threads=0)
    with pytest.raises(farrowtide.UserError, match="threads = -1: must be at least 0"):
        Course(study, threads=-1)
    with pytest.raises(ValueError, match="must come from a folder"):
        Course(study, simulates=False)


class OneAfterTheFirst:
    """Runs all arms in the first round, the last arm in the second, and then none."""

    eliminates, counts_rounds = True, True

    def __init__(self, plan):
        self._plan, self.seen = plan, []

    def see(self, tables):
        self.seen.append(len(tables))

    def going_on(self):
        return {0: self._plan.arms, 1: self._plan.arms[1:]}.get(len(self.seen), [])

    def expected_rooms(self):
        return 30

    def status(self):
        return "so far"


def test_arms_that_a_rule_eliminates_are_not_run_any_longer(study):
    made, told = Made(), []
    rounds, _, _ = carried_out(study, made, rule=OneAfterTheFirst(study), progress=lambda *seen: told.append(seen))
    assert rounds == [(0, ["a", "b"]), (20, ["b"])]
    assert made.asked == [("a", 0), ("b", 0), ("b", 20)]
    assert told[-1] == (60, 60, "so far"), "more than was expected"
    assert (0, 30, "so far") in told


def test_a_study_that_is_precise_ends_and_keeps_nothing_of_workers_that_were_ahead(precise, tmp_path):
    """A standard deviation of 1 gives a half-width of 0.5 with about 18 rooms: the 40 that are the least, and 20 more."""
    made = Made(lambda block: table_of(block, spread), workers=8)
    rounds, _, course = carried_out(precise, made, folder=tmp_path)
    assert [first for first, _ in rounds] == [0, 20, 40]
    assert len(made.asked) > 6
    kept = sorted(file.name[:13] for file in (tmp_path / "blocks").iterdir())
    assert kept == [f"{arm:04}-{first:08}" for arm in (0, 1) for first in (0, 20, 40)]
    assert (course.reached.stop, course.reached.replications, course.reached.held_since) == (True, 60, 40)


def test_a_study_of_which_every_block_is_there_is_read_again_without_a_room(study, tmp_path):
    small = replace(study, wanted=2, kept=Kept())
    course = Course(small, threads=1, folder=tmp_path)
    course.carry_out(lambda tables: None, lambda interrupted: None)
    read = []
    Course(small, folder=tmp_path, resume=True, simulates=False).carry_out(read.append, lambda interrupted: None)
    assert [[table.num_rows for table in tables] for tables in read] == [[2, 2]]
    longer = Course(replace(small, wanted=22), folder=tmp_path, resume=True, simulates=False)
    with pytest.raises(execution.UnfinishedError):
        longer.carry_out(lambda tables: None, lambda interrupted: None)


def test_rounds_feed_every_thread_four_blocks_where_nothing_depends_on_their_size(study, precise, monkeypatch):
    monkeypatch.setattr(os, "cpu_count", lambda: 16)
    assert Course(study, threads=64)._replicates() == 256
    assert Course(study)._replicates() == 64
    assert Course(study, threads=1)._replicates() == 20
    assert Course(study, executor=Made())._replicates() == 20
    assert Course(precise, threads=64)._replicates() == 20


def test_who_wants_the_number_of_rooms_only_is_told_no_more():
    told = []
    assert counting_rooms(None) is None
    counting_rooms(lambda done, expected: told.append((done, expected)))(3, 9, "more")
    assert told == [(3, 9)]


# --- Rules ---


def seen_by(rule, study, weaned, rounds=1, each=20):
    for first in range(0, rounds * each, each):
        rule.see([table_of(Block(arm, first, each, Kept()), weaned) for arm in study.arms])
    return rule


def test_all_rooms_are_those_that_are_wanted_of_every_arm(study):
    rule = AllRooms(study)
    assert (rule.going_on(), rule.expected_rooms(), rule.status()) == (study.arms, 100, "")
    assert (rule.eliminates, rule.counts_rounds) == (False, False)


def test_the_rooms_expected_until_it_is_precise_are_those_of_the_formula_with_the_look_ahead(precise):
    """The standard deviation of 20 pairs, half of them 1 and half -1, is sqrt(20 / 19); n = (t s / h)^2, at least 40."""
    rule = UntilPrecise(precise)
    assert (rule.going_on(), rule.expected_rooms(), rule.status()) == (precise.arms, 800, "")
    seen_by(rule, precise, spread)
    assert rule.expected_rooms() == 2 * (40 + 5)
    assert rule.going_on() == precise.arms
    assert rule.status() == "piglets weaned per litter ±0.48 of 0.5"
    seen_by(rule, precise, spread)
    assert rule.expected_rooms() == 2 * 45
    assert rule.going_on() == precise.arms
    assert seen_by(rule, precise, spread).going_on() == []
    narrow = UntilPrecise(replace(precise, precision={WEANED: 1e-3}))
    assert seen_by(narrow, precise, spread).expected_rooms() == 2 * 400, "no more than are wanted"


def test_an_output_of_one_parity_class_needs_a_hundred_rooms(precise):
    """As many as its interval needs, and the look-ahead of 5 % of them."""
    name = "feed_intake_p1_kg_per_day"
    rule = UntilPrecise(replace(precise, precision={name: 0.5}))
    tables = [table_of(Block(arm, 0, 20, Kept()), spread) for arm in precise.arms]
    rule.see([table.rename_columns(["case", "alternative", "replicate", name]) for table in tables])
    assert rule.expected_rooms() == 2 * (100 + 5)


def test_a_precision_that_is_not_known_yet_is_told_so(precise):
    rule = seen_by(UntilPrecise(precise), precise, lambda arm, replicate: 10.0)
    assert rule.status() == "piglets weaned per litter not known yet, 0.5 asked"
    assert rule.expected_rooms() == 800


def test_a_precision_of_what_hardly_any_room_has_is_refused_after_40_replications(precise):
    def in_the_first(rooms):
        return lambda arm, replicate: spread(arm, replicate) if replicate < rooms else math.nan

    rule = seen_by(UntilPrecise(precise), precise, in_the_first(1))
    with pytest.raises(farrowtide.UserError, match=f"{WEANED}: too few rooms have a value to reach a precision in it"):
        seen_by(rule, precise, lambda arm, replicate: math.nan)
    two = seen_by(UntilPrecise(precise), precise, in_the_first(2))
    seen_by(two, precise, lambda arm, replicate: math.nan)


# --- When to stop ---


@pytest.mark.parametrize("targets", [{}, {"y": 0.0}, {"y": 1.0, "z": -1.0}, {"y": math.inf}, {"y": math.nan}])
def test_targets_are_numbers_above_0(targets):
    with pytest.raises(ValueError, match="at least one, each above 0"):
        stopping.Precision(targets)


def test_a_spread_needs_two_and_a_look_ahead_may_be_none():
    assert stopping.Precision({"y": 1.0}, least=2, look_ahead=0).look_ahead_from(400) == 0
    for options in ({"least": 1}, {"look_ahead": -1}):
        with pytest.raises(ValueError, match="must be 2 or more"):
            stopping.Precision({"y": 1.0}, **options)


@pytest.mark.parametrize(("n", "further"), [(40, 5), (100, 5), (119, 5), (120, 6), (400, 20), (401, 20)])
def test_the_look_ahead_grows_with_the_replications_above_100(n, further):
    """5 x n / 100, as Hoad, Robinson & Davies (2010) have it."""
    assert stopping.Precision({"y": 1.0}).look_ahead_from(n) == further


def pairs(*gaps):
    paired = PairedMoments(["July"], ["old", "new"], "old", ["y"])
    paired.add_differences(np.array(gaps, dtype=float)[:, None, None, None])
    return paired


def test_without_a_look_ahead_it_stops_once_the_targets_are_met():
    reached = stopping.Precision({"y": 1.0}, least=10, look_ahead=0).after(pairs(*[1, -1] * 5))
    assert (reached.met, reached.held_since, reached.stop, reached.ends) == (True, 10, True, True)
    early = stopping.Precision({"y": 1.0}, least=11, look_ahead=0).after(pairs(*[1, -1] * 5))
    assert (early.met, early.held_since, early.stop, early.ends, early.expected) == (False, None, False, False, 11)


@pytest.mark.parametrize(("apart", "of", "expected"), [(2, 60, 150), (3, 61, 102), (1, 50, 250)])
def test_an_interval_is_expected_once_five_pairs_differ(apart, of, expected):
    """At the rate so far: 2 in 60 are 5 in 150, 3 in 61 are 5 in 101.67."""
    gaps = [1.0, -1.0, 1.0][:apart] + [0.0] * (of - apart)
    assert stopping.Precision({"y": 1e9}).after(pairs(*gaps)).expected == expected


def test_a_target_out_of_reach_is_not_expected_and_none_where_no_pair_differs():
    assert stopping.Precision({"y": 1e-12}).after(pairs(*[1, -1] * 30)).expected is None
    reached = stopping.Precision({"y": 1.0}).after(pairs(*[0] * 60))
    assert (reached.expected, reached.expected_end) == (None, None)


def test_what_is_not_known_after_a_thousand_pairs_ends_the_study_with_their_number():
    paired = pairs(*[1.0, -1.0], *[0.0] * 997)
    precision = stopping.Precision({"y": 1.0})
    assert precision.after(paired).unknown == {}
    paired.add_differences(np.zeros((1, 1, 1, 1)))
    reached = precision.after(paired)
    assert (reached.unknown, reached.stop, reached.ends) == ({"y": 2}, False, True)


def test_the_fewest_pairs_that_differ_are_those_of_the_worst_alternative():
    gaps = np.zeros((1000, 1, 2, 2))
    gaps[:3, 0, 0, 0] = gaps[:2, 0, 1, 0] = 1.0  # in 3 and 2 rooms
    gaps[::2, 0, :, 1], gaps[1::2, 0, :, 1] = 1.0, -1.0
    paired = PairedMoments(["July"], ["old", "a", "b"], "old", ["rare", "usual"])
    paired.add_differences(gaps)
    reached = stopping.Precision({"rare": 1.0, "usual": 1.0}).after(paired)
    assert reached.unknown == {"rare": 2}
    assert not reached.met


# --- What is seen ---


def watched(study, weaned, rounds=1, each=20, **options):
    watch = Watch(study)
    for first in range(0, rounds * each, each):
        watch.add([table_of(Block(arm, first, each, Kept(**options)), weaned) for arm in study.arms])
    return watch


def apart(arm, replicate):
    return 10.0 + study_place(arm) + replicate


def study_place(arm):
    return "abcd".index(arm.alternative)


def kinds(watch):
    return [warning.kind for warning in watch.warnings()]


@pytest.mark.parametrize(
    ("rooms", "said"), [(1, "only 1 room was run"), (19, "only 19 rooms were run"), (20, None), (21, None)]
)
def test_fewer_than_20_rooms_are_said_to_be_few(rooms, said, study):
    found = [one for one in watched(study, apart, each=rooms).warnings() if one.kind == "few rooms"]
    assert len(found) == (said is not None)
    assert all(one.problem.startswith(said) for one in found)
    assert "20" in KINDS["few rooms"]


def test_rooms_of_several_rounds_are_counted_together(study):
    assert kinds(watched(study, apart, rounds=2, each=10)) == []
    assert kinds(Watch(study)) == ["few rooms"]


def test_alternatives_with_the_same_value_in_every_room_are_named_with_what_they_differ_in(room):
    four = plan(
        room,
        {"a": {}, "b": {"handling.day": 5}, "c": {"handling.day": 7}, "d": {"room.crates": 2}},
        replications=40,
    )
    groups = {"a": 0.0, "b": 0.0, "c": 1.0, "d": 2.0}
    (found,) = watched(four, lambda arm, replicate: groups[arm.alternative] + replicate, rounds=2).warnings()
    assert (found.kind, found.place, found.where) == ("identical alternatives", "a = b", ())
    assert found.problem == "identical in every output of all 40 rooms"
    assert found.advice == "They differ in handling.day, which has no effect here."
    last = lambda arm, replicate: groups[arm.alternative] * (replicate == 39) + replicate  # noqa: E731
    assert kinds(watched(four, last, rounds=2)) == ["identical alternatives"]
    groups["b"] = 0.5
    assert kinds(watched(four, last, rounds=2)) == []


def test_groups_of_the_same_difference_are_told_once(room):
    four = plan(
        room,
        {"a": {}, "b": {"handling.day": 5}, "c": {"room.crates": 2}, "d": {"room.crates": 2, "handling.day": 5}},
        replications=20,
    )
    (found,) = watched(four, lambda arm, replicate: (study_place(arm) // 2) + replicate).warnings()
    assert found.place == "a = b (and 1 more group, which differ in the same)"
    same = plan(room, {"a": {}, "b": {}}, replications=20)
    (found,) = watched(same, lambda arm, replicate: replicate).warnings()
    assert (found.place, found.advice) == ("a = b", "They are the same.")


def test_what_is_seen_in_one_case_only_is_told_with_the_case():
    cases = {"cool": {"temperature.farrowing": 20}, "warm": {"temperature.farrowing": 24}}
    room = farrowtide.load({"title": "t", "room": {"crates": 1}, "cases": cases})
    both = plan(room, {"a": {}, "b": {"handling.day": 5}})
    watch = Watch(both)
    for number, arm in enumerate(both.arms):
        watch.add([table_of(Block(arm, 0, 20, Kept()), apart, set_aside=[7] * (number == 2))])
    (found,) = watch.warnings()
    assert (found.kind, found.place, found.where) == ("room set aside", "replicate 7", ("a in warm",))


def test_rooms_on_another_seed_or_from_one_stream_are_not_watched(study):
    labels = ("case", "alternative", "seed", "one_stream")
    watch = Watch(study)
    for change, rooms in (({"seed": 6}, 0), ({"one_stream": True}, 0), ({}, 20)):
        arms = [replace(arm, **change) for arm in study.arms]
        watch.add([table_of(Block(arm, 0, 20, Kept(labels=labels)), apart, set_aside=[1]) for arm in arms])
        assert len(watch.set_aside()) == (2 if rooms else 0)
    assert not watch.nothing_left


def test_tables_without_rows_or_labels_say_nothing(study):
    watch = Watch(study)
    table = table_of(Block(study.arms[0], 0, 20, Kept()), set_aside=range(20))
    watch.add([table.slice(0, 0), table.drop_columns(["case"])])
    assert watch.set_aside() == []
    assert not watch.nothing_left
    watch.add([table])
    assert watch.nothing_left


def test_keys_differ_where_their_values_in_effect_do(room):
    late, larger = room.override({"handling.day": 5}), room.override({"room.crates": 2})
    assert differing_keys([room, late]) == ["handling.day"]
    assert set(differing_keys([room, late, larger])) == {"handling.day", "room.crates"}
    assert differing_keys([room, room.override({"room.crates": 1})]) == []

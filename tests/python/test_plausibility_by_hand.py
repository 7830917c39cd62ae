"""What is counted in tables of a few rows, and the warnings that follow from a few numbers, by hand."""

import math

import numpy as np
import pytest

from farrowtide.outputs.plausibility.findings import found_in
from farrowtide.outputs.plausibility.observed import Count, Observed, observe
from farrowtide.outputs.plausibility.ranges import Range, ranges
from farrowtide.outputs.rooms import labels_of
from farrowtide.scenarios.plausibility.facts import Expected

NAN = math.nan
AS_PLANNED = Expected(moves=True, night=None)
BOTH = Range("both", "rooms", "what", "K", "C", "source", "advice", low=-3.0, high=5.0)
LOW = Range("low", "sows", "what", "mm", "C", "source", "advice", low=4.0)
HIGH = Range("high", "sows", "what", "kg", "C", "source", "advice", high=15.0)


# --- Ranges ---


def test_a_value_at_a_limit_is_inside():
    assert BOTH.outside(np.array([-3.0, -3.1, 5.0, 5.1, NAN])).tolist() == [False, True, False, True, False]
    assert LOW.outside(np.array([4.0, 3.9, 99.0])).tolist() == [False, True, False]
    assert HIGH.outside(np.array([15.0, 15.1, -99.0])).tolist() == [False, True, False]


def test_an_excess_is_the_distance_from_the_nearer_limit():
    assert [BOTH.excess(value) for value in (-5.0, 0.0, 4.0, 9.0)] == [2.0, -3.0, -1.0, 4.0]
    assert [LOW.excess(3.0), LOW.excess(6.0), HIGH.excess(17.0), HIGH.excess(14.0)] == [1.0, -2.0, 2.0, -1.0]


def test_limits_are_told_as_what_lies_outside():
    assert [limits.limits for limits in (BOTH, LOW, HIGH)] == ["under -3 or over 5 K", "under 4 mm", "over 15 kg"]


# --- What is counted ---


def columns(rows):
    return {name: np.array(values) for name, values in rows.items()}


def sows(**given):
    """Two sows in each of replicates 5 and 6, about which there is nothing to say unless it is given."""
    usual = {
        "replicate": [5, 5, 6, 6],
        "sow": [1, 2, 1, 2],
        "weight_loss_percent": [5.0] * 4,
        "farrowing_duration_min": [240.0] * 4,
        "zero_feed_days": [0] * 4,
        "left_as": ["weaned"] * 4,
        "piglets_moved_in": [0] * 4,
        "born_alive": [12] * 4,
    }
    rows = {**usual, **given}
    return columns(rows | {"left_as": [labels_of("sows", "left_as").index(word) for word in rows["left_as"]]})


def sow_days(**given):
    """Two days of each of three sows, of replicates 5, 5 and 6; the last two have the same number."""
    usual = {
        "replicate": [5, 5, 5, 5, 6, 6],
        "sow": [1, 1, 2, 2, 2, 2],
        "day": [0, 1, 1, 2, 1, 2],
        "backfat_mm": [20.0] * 6,
        "weight_kg": [220.0] * 6,
        "eaten_kg": [5.0] * 6,
        "piglets": [12] * 6,
        "water_l": [25.0] * 6,
    }
    return columns({**usual, **given})


def piglets(**given):
    usual = {
        "replicate": [5, 5, 6, 6],
        "sow": [1, 2, 1, 1],
        "birth_weight_kg": [1.5] * 4,
        "weaning_weight_kg": [6.5] * 4,
        "age_at_weaning_d": [20.0] * 4,
    }
    return columns({**usual, **given})


def room_hours(temperature=20.0, humidity=60.0, set_point=20.0):
    """Two days of replicate 1 and one of replicate 2; a number for all hours, or one for each day."""
    return {
        "replicate": np.repeat([1, 1, 2], 24),
        "temperature_deg_c": np.repeat(np.broadcast_to(np.array(temperature, float), 3), 24),
        "relative_humidity_percent": np.repeat(np.broadcast_to(np.array(humidity, float), 3), 24),
        "set_point_deg_c": np.repeat(np.broadcast_to(np.array(set_point, float), 3), 24),
    }


def test_a_plain_room_has_counts_and_nothing_outside():
    seen = observe({"sows": sows(), "sow_days": sow_days(), "piglets": piglets(), "rooms": room_hours()})
    assert seen.counts.keys() == ranges().keys()
    of = {"piglets": 4, "sows": 4, "farrowings": 4, "sow-days": 6, "room-days": 3, "room-hours": 72, "rooms": 2}
    for name, count in seen.counts.items():
        expected = 3 if ranges()[name].of == "sows" and name not in ("weight_loss", "days_without_feed") else None
        assert count == Count(0, expected or of[ranges()[name].of.removesuffix(" weaned")]), name


@pytest.mark.parametrize(
    ("name", "table", "outside", "of", "worst", "replicate", "sow"),
    [
        # 0.42 kg a day at most: of 10.5, 8.4 and 6 kg in 20 days one gained more; one died.
        ("piglet_gain", {"piglets": piglets(weaning_weight_kg=[9.89, 12.0, NAN, 7.5])}, 1, 3, 0.525, 5, 2),
        ("piglet_weaning_weight", {"piglets": piglets(weaning_weight_kg=[1.5, 1.4, NAN, 1.2])}, 2, 3, 1.2, 6, 1),
        # Limits of 4 and 45 mm, 110 and 400 kg; the extreme day of a sow counts.
        ("lowest_backfat", {"sow_days": sow_days(backfat_mm=[4.0, 9.0, 9.0, 3.5, 3.0, 9.0])}, 2, 3, 3.0, 6, 2),
        ("highest_backfat", {"sow_days": sow_days(backfat_mm=[45.0, 9.0, 9.0, 46.0, 9.0, NAN])}, 1, 3, 46.0, 5, 2),
        ("lowest_weight", {"sow_days": sow_days(weight_kg=[150, 109, 110, 150, NAN, 150])}, 1, 3, 109.0, 5, 1),
        ("highest_weight", {"sow_days": sow_days(weight_kg=[150, 400, 150, 150, 401, 150])}, 1, 3, 401.0, 6, 2),
        ("weight_loss", {"sows": sows(weight_loss_percent=[-26.0, 30.0, 35.0, NAN])}, 2, 3, 35.0, 6, 1),
        ("farrowing_duration", {"sows": sows(farrowing_duration_min=[1440.0, 1446.0, NAN, 240.0])}, 1, 3, 24.1, 5, 2),
        ("days_without_feed", {"sows": sows(zero_feed_days=[4, 5, 0, 6])}, 2, 4, 6.0, 6, 2),
        ("daily_intake", {"sow_days": sow_days(eaten_kg=[15.0, 16.0, 0.0, 5.0, 5.0, 15.5])}, 2, 6, 16.0, 5, 1),
        ("piglets_on_a_sow", {"sow_days": sow_days(piglets=[12, 22, 23, 23, 0, 12])}, 2, 6, 23.0, 5, 2),
        ("daily_water", {"sow_days": sow_days(water_l=[25.0, 25.0, 100.0, 101.0, 0.0, 25.0])}, 1, 6, 101.0, 5, 2),
        # Less than 3 L on more than one day of lactation, which begins on day 1.
        ("days_without_water", {"sow_days": sow_days(water_l=[0.0, 0.0, 2.9, 0.0, 3.0, 0.0])}, 1, 3, 2.0, 5, 2),
        ("room_temperature", {"rooms": room_hours(temperature=[15.0, 14.0, 32.0])}, 2, 3, 32.0, 2, -1),
        ("hourly_temperature", {"rooms": room_hours(temperature=[5.0, 40.0, 41.0])}, 24, 72, 41.0, 2, -1),
        ("humidity", {"rooms": room_hours(humidity=[95.0, 96.0, 60.0])}, 1, 3, 96.0, 1, -1),
        # 3 degrees above or below, in the mean of a room: of the first, 2 and 4.
        ("set_point_not_reached", {"rooms": room_hours(temperature=[22.0, 24.0, 16.5])}, 1, 2, -3.5, 2, -1),
    ],
)  # fmt: skip
def test_what_lies_outside_is_counted_and_the_most_extreme_named(name, table, outside, of, worst, replicate, sow):
    count = observe({"sows": sows(), **table}).counts[name]
    assert (count.outside, count.of, count.replicate, count.sow) == (outside, of, replicate, sow)
    assert count.worst == pytest.approx(worst)


def test_tables_without_rows_have_nothing_to_count():
    tables = {"sows": sows(), "sow_days": sow_days(), "piglets": piglets(), "rooms": room_hours()}
    seen = observe({name: {column: values[:0] for column, values in table.items()} for name, table in tables.items()})
    assert all(count == Count() for count in seen.counts.values())
    assert (seen.sows, seen.reached) == (0, [0.0, 0.0, 0.0])
    of_sows = observe({"sows": sows()})
    assert of_sows.counts.keys() == {"weight_loss", "farrowing_duration", "days_without_feed"}
    assert (of_sows.worked_min, of_sows.on_duty_min, of_sows.reached) == ([0.0] * 24, [0.0] * 24, [0.0] * 3)
    assert of_sows.tasks == {}


def test_sows_piglets_tasks_and_hours_are_summed():
    kinds, outcomes = labels_of("tasks", "kind"), labels_of("tasks", "outcome")
    tasks = [("wean", "done"), ("wean", "late"), ("wean", "undone"), ("wean", "late"), ("wash", "undone")]
    seen = observe(
        {
            "sows": sows(left_as=["weaned late", "died", "weaned", "weaned"], piglets_moved_in=[2, 0, 1, 0]),
            "tasks": columns(
                {
                    "kind": [kinds.index(kind) for kind, _ in tasks],
                    "outcome": [outcomes.index(outcome) for _, outcome in tasks],
                }
            ),
            "work_hours": columns({"hour": [7, 7, 23], "minutes": [10.0, 5.0, 1.0]}),
            "duty_hours": columns({"hour": [7, 23], "on_duty_min": [60.0, 30.0]}),
            "rooms": room_hours(temperature=[20.0, 20.0, 21.0], set_point=19.0),
        },
        [(7, "the model broke")],
    )
    assert (seen.sows, seen.weaned_late, seen.moved, seen.born_alive) == (4, 1, 3, 48)
    assert seen.tasks == {"wean": [4, 2, 1], "wash": [1, 0, 1]}
    assert {hour: minutes for hour, minutes in enumerate(seen.worked_min) if minutes} == {7: 15.0, 23: 1.0}
    assert {hour: minutes for hour, minutes in enumerate(seen.on_duty_min) if minutes} == {7: 60.0, 23: 30.0}
    assert len(seen.worked_min) == len(seen.on_duty_min) == 24
    assert seen.reached == [20.0 * 48 + 21.0 * 24, 19.0 * 72, 72.0]
    assert seen.set_aside == [(7, "the model broke")]
    assert Observed.from_json(seen.as_json()) == seen


def test_counts_of_parts_keep_the_most_extreme_value():
    """Over 15 kg: 16 in one part, 18 in another, none in a third; of two alike the first stays."""
    count = Count()
    for part in (
        Count(0, 5),
        Count(2, 10, 16.0, 3, 1),
        Count(1, 10, 18.0, 4, 2),
        Count(1, 10, 18.0, 5, 6),
        Count(0, 7),
    ):
        count.add(part, HIGH)
    assert count == Count(4, 42, 18.0, 4, 2)


def test_parts_are_added():
    one = Observed(
        counts={"daily_intake": Count(1, 10, 16.0, 0, 1)}, tasks={"wean": [4, 1, 0]}, weaned_late=1, sows=6, moved=3,
        born_alive=70, set_aside=[(1, "a")], worked_min=[1.0] * 24, on_duty_min=[2.0] * 24, reached=[20.0, 19.0, 1.0],
    )  # fmt: skip
    other = Observed(
        counts={"daily_intake": Count(2, 10, 17.0, 4, 2), "humidity": Count(0, 3)},
        tasks={"wean": [2, 0, 2], "wash": [1, 1, 0]}, weaned_late=2, sows=5, moved=1, born_alive=60,
        set_aside=[(4, "b")], worked_min=[0.5] * 24, on_duty_min=[3.0] * 24, reached=[44.0, 40.0, 2.0],
    )  # fmt: skip
    one.add(other)
    assert one == Observed(
        counts={"daily_intake": Count(3, 20, 17.0, 4, 2), "humidity": Count(0, 3)},
        tasks={"wean": [6, 1, 2], "wash": [1, 1, 0]}, weaned_late=3, sows=11, moved=4, born_alive=130,
        set_aside=[(1, "a"), (4, "b")], worked_min=[1.5] * 24, on_duty_min=[5.0] * 24, reached=[64.0, 59.0, 3.0],
    )  # fmt: skip


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("sows", -1), ("sows", 2**53), ("sows", 1.5), ("moved", "many"), ("worked_min", [0.0] * 23),
        ("on_duty_min", [0.0] * 25), ("worked_min", [NAN] * 24), ("reached", [1.0, 2.0]), ("reached", [1.0] * 4),
        ("tasks", {"wean": [1, 2]}), ("tasks", {"wean": [1, 2, 3, 4]}), ("tasks", {"wean": [-1, 0, 0]}),
        ("tasks", {"dance": [1, 0, 0]}), ("counts", {"happiness": Count()}),
        ("counts", {"humidity": Count(1, 1, math.inf, 0, 0)}), ("set_aside", [(-1, "a")]),
    ],
)  # fmt: skip
def test_kept_observations_of_another_form_are_refused(field, value):
    assert Observed.from_json(Observed(sows=2**53 - 1, set_aside=[(0, "a")]).as_json()).sows == 2**53 - 1
    with pytest.raises(ValueError, match=field):
        Observed.from_json(Observed(**{field: value}).as_json())


# --- Warnings ---


def problems(**arms):
    """Of arms by name, each an Observed, or one with what is expected of it; by kind, with the arms that are named."""
    seen = {name: arm if isinstance(arm, tuple) else (arm, AS_PLANNED) for name, arm in arms.items()}
    return [(one.kind, one.problem, one.where) for one in found_in(seen)]


def test_nothing_seen_is_nothing_to_warn_about():
    assert problems(a=Observed(), b=Observed()) == []


def test_a_room_that_broke_off_is_told_for_each_arm():
    broken, whole = Observed(set_aside=[(3, "it broke"), (5, "it broke too")]), Observed()
    text = "the room broke off and is left out of every number: it broke"
    assert problems(a=broken, b=whole) == [
        ("room set aside", text, ("a",)), ("room set aside", f"{text} too", ("a",))
    ]  # fmt: skip
    assert [one.place for one in found_in({"": (broken, AS_PLANNED)})] == ["replicate 3", "replicate 5"]
    assert [one.where for one in found_in({"": (broken, AS_PLANNED)})] == [(), ()]


def test_sows_that_were_weaned_late_are_told_of_the_arms_that_had_them():
    found = problems(a=Observed(weaned_late=2, sows=1200), b=Observed(sows=60), c=Observed(weaned_late=3, sows=60))
    ((kind, problem, where),) = found
    assert (kind, where) == ("weaned late", ("a", "c"))
    assert problem.startswith("5 of 1,260 sows were still nursing when the room had to be empty")


def test_what_lies_outside_a_range_is_told_with_the_shares_of_arms_and_the_most_extreme():
    """Of 1,000 sow-days of each 32 and 200 are over 15 kg, and none of the third."""
    a, b, c = (
        Observed(counts={"daily_intake": count})
        for count in (Count(32, 1000, 19.0, 7, 1), Count(200, 1000, 18.0, 2, 3), Count(0, 1000))
    )
    words = "over 15 kg in 232 of 2,000 sow-days (3.2 to 20 %), the most extreme 19 kg (replicate 7, sow 1, a)"
    assert problems(a=a, b=b, c=c) == [("outside plausible range", words, ("a", "b"))]
    assert problems(b=b, a=a) == [("outside plausible range", words, ())]
    assert problems(a=a)[0][1] == (
        "over 15 kg in 32 of 1,000 sow-days (3.2 %), the most extreme 19 kg (replicate 7, sow 1)"
    )
    assert problems(c=c) == []
    assert problems(a=a, d=Observed())[0][1:] == (problems(a=a)[0][1], ())  # in d nothing was counted


@pytest.mark.parametrize(("outside", "told"), [(12, "1.2 %"), (98, "9.8 %"), (125, "12 %"), (999, "100 %")])
def test_shares_have_two_digits(outside, told):
    seen = Observed(counts={"daily_intake": Count(outside, 1000, 19.0, 7, 1)})
    assert f"({told})" in problems(a=seen)[0][1]


def test_a_set_point_that_was_not_reached_is_told_with_the_means_of_that_arm():
    counts = {"set_point_not_reached": Count(1, 4, 3.5, 2, -1)}
    far = {"set_point_not_reached": Count(2, 4, -6.0, 1, -1)}
    a = Observed(counts=counts, reached=[235.0, 200.0, 10.0])
    b = Observed(counts=far, reached=[280.0, 400.0, 20.0])
    (problem,) = [problem for _, problem, _ in problems(a=a, b=b)]
    assert problem.endswith(
        "the most extreme -6 K (replicate 1, b); there, 14.0 degC was reached and 20.0 degC was set"
    )
    assert "in 3 of 8 rooms (25 to 50 %)" in problem


@pytest.mark.parametrize(
    ("numbers", "told"),
    [
        ([10, 0, 5], None),
        ([10, 0, 6], "6 of 10 that were asked for were never done"),
        ([10, 9, 0], None),
        ([10, 10, 0], "10 of 10 that were asked for were done late"),
        ([2000, 1900, 0], "1,900 of 2,000 that were asked for were done late"),
    ],
)
def test_work_is_not_done_if_more_than_half_never_is_or_more_than_nine_in_ten_late(numbers, told):
    found = problems(a=Observed(tasks={"processing": numbers}))
    assert found == ([("work not done", told, ())] if told else [])


def test_work_not_done_is_summed_over_the_arms_that_missed_it():
    arms = {
        "a": Observed(tasks={"processing": [10, 0, 8]}),
        "b": Observed(tasks={"processing": [20, 0, 0], "daily look": [8, 8, 0]}),
        "c": Observed(tasks={"processing": [30, 0, 30]}),
    }
    assert problems(**arms) == [
        ("work not done", "38 of 40 that were asked for were never done", ("a", "c")),
        ("work not done", "8 of 8 that were asked for were done late", ("b",)),
    ]


def test_moves_that_nobody_planned_are_told_as_a_share():
    unplanned = Expected(moves=False, night=None)
    few, many = Observed(moved=32, born_alive=1000), Observed(moved=99, born_alive=1000)
    found = problems(a=(few, unplanned), b=(many, unplanned), c=(many, AS_PLANNED), d=(Observed(), unplanned))
    ((kind, problem, where),) = found
    assert (kind, where) == ("piglets moved without fostering", ("a", "b"))
    assert problem.startswith("3.2 to 9.9 % of the piglets were moved though no moves are planned")


def hours(**minutes):
    """Minutes by hour of the day: at_7=60."""
    return [float(minutes.get(f"at_{hour}", 0)) for hour in range(24)]


@pytest.mark.parametrize(
    ("night", "worked", "told"),
    [
        ((22.0, 6.0), {"at_22": 20, "at_5": 27, "at_6": 60, "at_21": 60}, "9.8 %"),  # 47 of 480 min
        ((22.0, 6.0), {"at_23": 30, "at_0": 18}, "10 %"),  # a tenth is little
        ((22.0, 6.0), {"at_23": 30, "at_0": 19}, None),
        ((0.0, 6.0), {"at_0": 18, "at_6": 60, "at_23": 60}, "5 %"),  # 18 of 360 min
        ((7.0, 7.0), {"at_7": 72}, "5 %"),  # day and night: 72 of 1,440 min
        (None, {}, None),
    ],
)
def test_people_on_duty_at_night_are_idle_if_they_work_a_tenth_of_it_or_less(night, worked, told):
    seen = Observed(worked_min=hours(**worked), on_duty_min=[60.0] * 24)
    found = problems(a=(seen, Expected(moves=True, night=night)))
    words = f"people on duty at night work {told} of the time they are paid for"
    assert found == ([("idle at night", words, ())] if told else [])


def test_a_night_without_anybody_on_duty_is_not_idle():
    nobody = (Observed(), Expected(moves=True, night=(22.0, 6.0)))
    idle = (Observed(on_duty_min=[60.0] * 24), Expected(moves=True, night=(22.0, 6.0)))
    ((_, problem, where),) = problems(a=nobody, b=idle)
    assert "work 0 % of the time" in problem
    assert where == ("b",)

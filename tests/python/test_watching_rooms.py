"""Outputs of rooms of four sows beside those of three or four simulated rooms, and the faults that explain them."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from scipy.stats import norm
from sows_by_hand import day, stays

from farrowtide.analysis.watching.faults import Fault
from farrowtide.analysis.watching.rooms import LEVEL, SimulatedRooms, causes, judged, median_farrowing, outputs_on
from farrowtide.analysis.watching.stays import MEASURED
from farrowtide.report.wording.watching import output

NAN = np.nan
NOTHING = {name: np.zeros((3, 1)) for name in MEASURED}  # means of each class and day


def rooms_of(eaten_kg=(5.0,), temperature_deg_c=None, *, means=NOTHING, **columns):
    """Simulated rooms of four sows that ate so much on day 1."""
    of_rooms = {"eaten_kg": eaten_kg} | ({} if temperature_deg_c is None else {"temperature_deg_c": temperature_deg_c})
    names = np.repeat([f"R{number}" for number in range(len(next(iter(of_rooms.values()))))], 4)
    values = {name: np.repeat(np.array(of_room, dtype=float), 4)[:, None] for name, of_room in of_rooms.items()}
    return SimulatedRooms(stays(room=names, **values, **columns), means)


def room_of(**of):
    """A room of four sows."""
    return stays(**{name: np.full((4, 1), value) for name, value in of.items() if name in MEASURED},
                 **{name: value for name, value in of.items() if name not in MEASURED})  # fmt: skip


def row(name, room, simulated):
    return judged(room, day(1), simulated).set_index("output").loc[name]


def test_a_room_is_judged_by_the_mean_of_its_last_three_days():
    """Less what is expected, half a kilogram; the last sow farrowed three days later than the others."""
    of = stays(
        eaten_kg=[[9, 1, 2, 3, 9], [9, 2, 2, 2, 9], [9, NAN, NAN, 4, 9], [3, 9, 9, 9, 9]],
        farrowed_on=[day(0), day(0), day(0), day(3)],
    )
    found = outputs_on(of, day(4), {"eaten_kg": np.full((4, 5), 0.5)})
    assert found["eaten_kg"] == pytest.approx((1 + 2 + 3 + 2 + 2 + 2 + 4 + 3) / 8 - 0.5)


def test_three_sows_with_a_record_say_nothing_of_their_room():
    of = stays(eaten_kg=[[5.0]] * 3 + [[NAN]], duration_min=[200, 210, 220, pd.NA])
    found = outputs_on(of, day(1), {"eaten_kg": np.zeros((4, 1))})
    assert np.isnan(found["eaten_kg"])
    assert np.isnan(found["duration_min"])


def test_farrowings_of_a_room_are_those_that_have_been():
    """Of the first four, 10 stillborn of 50 born are 20 %."""
    of = stays(
        eaten_kg=np.ones((5, 1)),
        farrowed_on=[day(0)] * 3 + [day(2), day(3)],
        duration_min=[100, 200, 300, 600, 900],
        born_alive=[9, 10, 11, 10, 12],
        stillborn=[1, 2, 3, 4, 20],
    )
    found = outputs_on(of, day(2), {})
    assert found == {"duration_min": 300, "stillborn_percent": pytest.approx(20.0)}
    earlier = outputs_on(of, day(1), {})
    assert np.isnan(list(earlier.values())).all()


@pytest.mark.parametrize(
    ("alive", "stillborn", "percent"), [(pd.NA, pd.NA, NAN), (0, 0, NAN), ([0, 0, 0, 0], [1, 0, 0, 0], 100)]
)
def test_a_room_without_a_piglet_has_no_share_of_stillborn(alive, stillborn, percent):
    of = stays(eaten_kg=np.ones((4, 1)), born_alive=alive, stillborn=stillborn)
    np.testing.assert_equal(outputs_on(of, day(1), {})["stillborn_percent"], percent)


@pytest.mark.parametrize(("farrowed", "median"), [([0], 0), ([5, 1], 1), ([9, 2, 4], 4), ([9, 2, 4, 3], 3)])
def test_of_an_even_number_of_farrowings_the_median_is_the_earlier_of_the_middle_two(farrowed, median):
    of = stays(eaten_kg=np.ones((len(farrowed), 1)), farrowed_on=[day(number) for number in farrowed])
    assert median_farrowing(of) == day(median)


def test_a_day_is_compared_with_the_mean_of_its_parity_class_or_of_all():
    """No gilt of the simulated rooms has a second day, and no sow of second parity is among them."""
    of = stays(eaten_kg=[[3, NAN], [4, NAN], [6, 7], [NAN, 8]], parity=[1, 1, 3, 5])
    simulated = SimulatedRooms(of)
    assert simulated.mean_of_class["eaten_kg"].tolist() == [[3.5, 7.5], [pytest.approx(13 / 3), 7.5], [6, 7.5]]
    means = simulated.means(stays(eaten_kg=[[1], [1]], parity=[4, 1]))
    assert means["eaten_kg"].tolist() == [[6], [3.5]]


def test_simulated_rooms_are_read_on_the_day_after_their_own_median_farrowing():
    of = stays(
        eaten_kg=[[1, 2]] * 4 + [[3, 4]] * 4, room=["R1"] * 4 + ["R2"] * 4, farrowed_on=[day(0)] * 4 + [day(9)] * 4
    )
    simulated = SimulatedRooms(of, {name: np.zeros((3, 2)) for name in MEASURED})
    assert simulated.on_day(1)["eaten_kg"].tolist() == [1, 3]
    assert simulated.on_day(2)["eaten_kg"].tolist() == [1.5, 3.5]


def test_a_small_room_is_compared_with_as_many_sows_spread_over_a_list():
    of = stays(eaten_kg=[[1], [2], [90], [4], [5], [90], [7]] + [[6]] * 4, room=["R1"] * 7 + ["R2"] * 4)
    simulated = SimulatedRooms(of, NOTHING)
    assert simulated.on_day(1, 4)["eaten_kg"].tolist() == [(1 + 90 + 5 + 7) / 4, 6]
    assert simulated.on_day(1, 6)["eaten_kg"].tolist()[1] == 6
    everybody = [(1 + 2 + 90 + 4 + 5 + 90 + 7) / 7, 6]
    for sows in (None, 7, 99):
        assert simulated.on_day(1, sows)["eaten_kg"].tolist() == pytest.approx(everybody)


@pytest.mark.parametrize(("eaten_kg", "off"), [(7.97, False), (7.98, True), (2.03, False), (2.02, True)])
def test_a_room_is_off_track_outside_of_the_predictive_interval_of_one_room(eaten_kg, off):
    """Three rooms of 4, 5 and 6 kg have an sd of 1 kg; that of a new room about their mean is sqrt(1 + 1/3)."""
    found = row("eaten_kg", room_of(eaten_kg=eaten_kg), rooms_of([4.0, 5.0, 6.0]))
    z = norm.ppf((1 + LEVEL) / 2)
    assert found["off_track"] == off
    assert found["value"] == pytest.approx(eaten_kg)
    assert found["expected"] == pytest.approx(5.0)
    assert found[["low", "high"]].tolist() == pytest.approx([5 - z * np.sqrt(4 / 3), 5 + z * np.sqrt(4 / 3)], rel=1e-4)
    assert found["deviation_sd"] == pytest.approx((eaten_kg - 5) / np.sqrt(4 / 3), rel=1e-4)


@pytest.mark.parametrize(("deg_c", "off"), [(21.5, False), (21.75, True), (18.5, False), (18.25, True)])
def test_a_difference_that_does_not_matter_is_on_track_however_sure(deg_c, off):
    """Up to 1.5 K of rooms that are all at 20 degC; the limit counts as 2.58 standard deviations."""
    found = row("temperature_deg_c", room_of(temperature_deg_c=deg_c), rooms_of([5.0] * 3, [20.0] * 3))
    assert found["off_track"] == off
    assert found[["low", "high"]].tolist() == [18.5, 21.5]
    assert found["deviation_sd"] == pytest.approx((deg_c - 20) / 1.5 * norm.ppf(0.995), rel=1e-4)


def test_a_room_is_told_in_what_was_measured():
    """Gilts eat 4 kg and sows 6 kg as expected; a room of one gilt and three sows ate 6 kg instead of 5.5 kg."""
    means = NOTHING | {"eaten_kg": np.array([[4.0], [5.0], [6.0]])}
    simulated = rooms_of(
        [5.9, 6.0, 6.1], means=means, duration_min=np.repeat([190, 200, 210], 4), stillborn=np.repeat([0, 3, 6], 4)
    )
    found = judged(room_of(eaten_kg=6.0, parity=[1, 3, 3, 3], duration_min=230, stillborn=4), day(1), simulated)
    values = found.set_index("output")[["value", "expected"]]
    assert values.loc["eaten_kg"].tolist() == pytest.approx([6.0, 5.5])
    assert values.loc["duration_min"].tolist() == pytest.approx([230, 200])
    assert values.loc["stillborn_percent"].tolist() == pytest.approx([25.0, 100 * (0 + 3 / 15 + 6 / 18) / 3])
    assert list(found["output"]) == ["eaten_kg", "duration_min", "stillborn_percent"]


def test_the_list_tells_each_output_as_it_can_be_measured():
    measured = dict.fromkeys(MEASURED, 3.14159)
    simulated = SimulatedRooms(stays(room=np.repeat(["R1", "R2"], 4), **{name: np.ones((8, 1)) for name in MEASURED}))
    found = judged(room_of(**measured, duration_min=230.4, born_alive=[9, 10, 11, 9], stillborn=2), day(1), simulated)
    told = {row.output: output(row).split(", expected")[0] for row in found.itertuples()}
    assert told == {
        "eaten_kg": "feed eaten per sow 3.14 kg/d",
        "water_l": "water drunk per sow 3.1 L/d",
        "offered_kg": "feed offered per sow 3.14 kg/d",
        "left_kg": "feed left in the trough 3.14 kg",
        "temperature_deg_c": "room temperature 3.1 degC",
        "duration_min": "farrowing duration 230 min",
        "stillborn_percent": "stillborn piglets 17.0 %",
    }


def test_days_without_a_record_are_not_in_the_expectation():
    """A sow without a record of the day is one of whom nothing was to be expected."""
    means = NOTHING | {"eaten_kg": np.array([[4.0], [5.0], [6.0]])}
    room = stays(eaten_kg=[[6.0]] * 4 + [[NAN]], parity=[3, 3, 3, 3, 1])
    assert row("eaten_kg", room, rooms_of([6.0, 6.0], means=means))["expected"] == pytest.approx(6.0)


def test_a_room_is_judged_by_two_simulated_rooms_and_not_by_one():
    room = room_of(eaten_kg=5.0)
    assert judged(room, day(1), rooms_of([5.0])).empty
    assert "eaten_kg" in set(judged(room, day(1), rooms_of([5.0, 5.0]))["output"])


def test_a_room_is_compared_on_the_day_after_its_own_median_farrowing():
    room = stays(eaten_kg=[[5.0, 8.0]] * 4, farrowed_on=day(7))
    simulated = SimulatedRooms(
        stays(eaten_kg=[[5.0, 8.0]] * 8, room=["R1"] * 4 + ["R2"] * 4), {name: np.zeros((3, 2)) for name in MEASURED}
    )
    found = judged(room, day(9), simulated).set_index("output").loc["eaten_kg"]
    assert found["value"] == found["expected"] == 6.5


def fault(name):
    return Fault(name, f"what {name} is", f"where to look for {name}", lambda *_: None)


def explained(deviations, simulated, **moved):
    """The causes of deviations; each fault by the outputs of one room that has it."""
    found = pd.DataFrame({"output": list(deviations), "deviation_sd": list(deviations.values())})
    with_fault = [(fault(name), rooms_of(*outputs)) for name, outputs in moved.items()]
    return causes(found, 1, 4, simulated, with_fault)


UNRELATED = rooms_of([4.5, 6.0, 4.5], [20.0, 21.0, 22.0])  # sd 0.866 kg and 1 K, about 5 kg and 21 degC
SD_KG = np.sqrt(0.75)


def test_a_cause_is_as_large_as_fits_best_up_to_twice_what_was_simulated():
    """Rooms of 20 to 22 degC have an sd of 1 K; the fault is 2 K."""
    for deviation, size, share in ((0.5, 0.25, 1.0), (3.0, 1.5, 1.0), (5.0, 2.0, 1 - 1 / 25)):
        found = explained({"temperature_deg_c": deviation}, UNRELATED, hot=([5.0], [23.0]))
        assert found.to_dict("records") == [
            {
                "fault": "hot",
                "label": "what hot is",
                "look": "where to look for hot",
                "explained": pytest.approx(share),
                "size": pytest.approx(size),
            }
        ]


def test_a_fault_in_the_other_direction_or_in_none_is_no_cause():
    found = explained({"temperature_deg_c": -3.0}, UNRELATED, hot=([5.0], [23.0]), none=([5.0], [21.0]))
    assert found.empty
    assert list(found) == ["fault", "label", "look", "explained", "size"]
    assert explained({"temperature_deg_c": 0.0}, UNRELATED, hot=([5.0], [23.0])).empty


def test_the_cause_that_explains_more_is_named_first():
    """Of deviations of 1.5 and 2 sd, 6.25 in squares: heat explains 2.25, both together all but twice 0.25 squared."""
    found = explained(
        {"temperature_deg_c": 1.5, "eaten_kg": 2.0}, UNRELATED, hot=([5.0], [22.0]), both=([5 + SD_KG], [22.0])
    )
    assert found["fault"].tolist() == ["both", "hot"]
    assert found["explained"].tolist() == pytest.approx([1 - 0.125 / 6.25, 2.25 / 6.25])
    assert found["size"].tolist() == pytest.approx([1.75, 1.5])


@pytest.mark.parametrize(("other", "named"), [(1.9, True), (2.1, False)])
def test_a_cause_is_named_that_explains_a_fifth(other, named):
    found = explained({"temperature_deg_c": 1.0, "eaten_kg": other}, UNRELATED, hot=([5.0], [22.0]))
    assert (len(found) == 1) == named


def test_outputs_that_go_together_count_as_correlated():
    """Rooms in which both always rise together have, shrunken by a fifth, the correlation 0.8: of the deviation (2, 1) the
    squared Mahalanobis distance is (4 + 1 - 2 * 0.8 * 2) / 0.36 = 5, and that of the rest (0.5, -0.5) half of it."""
    found = explained(
        {"temperature_deg_c": 2.0, "eaten_kg": 1.0}, rooms_of([4.0, 5.0, 6.0], [20.0, 21.0, 22.0]), both=([6.0], [22.0])
    )
    assert found[["explained", "size"]].to_numpy()[0] == pytest.approx([0.5, 1.5])


def test_an_output_that_hardly_varies_counts_as_if_it_did_by_what_matters():
    """1.5 K are 2.58 standard deviations of rooms that are all alike."""
    sd_k = 1.5 / norm.ppf(0.995)
    found = explained({"temperature_deg_c": 1.0}, rooms_of([5.0] * 3, [21.0] * 3), warm=([5.0], [21 + 0.8 * sd_k]))
    assert found["size"].tolist() == pytest.approx([1.25], rel=1e-4)

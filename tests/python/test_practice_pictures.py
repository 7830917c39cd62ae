"""Pictures for practice: the room's temperature wanted and reached, and intake beside the usual curve."""

import numpy as np
import pandas as pd
import pytest

import farrowtide
from farrowtide.analysis.climate import drawn_alike, temperature_curves
from farrowtide.report.usual_intake import usual_intake

ROOM = {"title": "two cases", "start": "2026-07-06", "room": {"crates": 2}}
CASES = {"summer": {"climate.kind": "balance"}, "chamber": {"climate": {"kind": "imposed", "temperature": "20 degC"}}}
COOL, WARM = (
    {"temperature": {"kind": "constant", "set_point": 18}},
    {"temperature": {"kind": "constant", "set_point": 24}},
)
ALTERNATIVES = {"warm": WARM, "cool": COOL, "cool, processed late": COOL | {"handling.day": 5}}


@pytest.fixture(scope="module")
def scenario():
    return farrowtide.load(ROOM | {"cases": CASES, "alternatives": ALTERNATIVES})


@pytest.fixture(scope="module")
def compared(scenario):
    return farrowtide.compare(scenario, replications=4, reference="cool")


def test_days_of_a_room_are_the_means_of_its_hours_from_the_mean_due_date(scenario, compared):
    rooms = farrowtide.run(scenario.case("summer").alternative("cool"), replications=4, record=["rooms"]).rooms
    assert next(iter(scenario.set_points_by_day)) == compared.room_days["group_day"].min() == -4
    hours = rooms.assign(group_day=rooms["hour"] // 24 - 4).groupby(["replicate", "group_day"])
    days = compared.room_days[compared.room_days["alternative"] == "cool"].set_index(["replicate", "group_day"])
    assert np.allclose(days["reached_deg_c"], hours["temperature_deg_c"].mean())
    assert np.allclose(days["wanted_deg_c"], 18)
    assert set(compared.room_days["case"]) == {"summer"}, "what is imposed is not wanted and reached"


def test_the_picture_of_temperature_has_curves_bands_and_words_from_the_numbers(compared):
    picture = compared.plot_temperature(units="us")
    (axis,) = (axis for axis in picture.figure.axes if axis.get_title(loc="left"))
    lines = {line.get_label(): line for line in axis.get_lines()}
    assert {"cool and 1 more", "warm"} <= set(lines)
    curves = temperature_curves(compared.room_days).set_index("alternative")
    reached = curves.loc["cool", "reached_deg_c"] * 9 / 5 + 32
    assert np.allclose(lines["cool and 1 more"].get_ydata(), reached)
    assert (curves["p10_deg_c"] <= curves["reached_deg_c"]).all()
    assert (curves["reached_deg_c"] <= curves["p90_deg_c"]).all()
    above = (reached - 64.4).mean()
    assert f"on average {above:.1f} degF above what is wanted" in picture.alt
    assert "degF" in axis.get_ylabel()


def test_only_what_is_alike_every_day_of_every_case_is_drawn_as_one():
    rows = [
        (case, name, day, 20.0, 20.0 + (name == "c") * (day == 1) * (case == "x") * 0.6 + (name == "b") * 0.4)
        for case in "xy"
        for name in "abc"
        for day in (0, 1)
    ]
    curves = pd.DataFrame(rows, columns=["case", "alternative", "group_day", "wanted_deg_c", "reached_deg_c"])
    assert drawn_alike(curves, ["a", "b", "c"]) == {"a": ["a", "b"], "c": ["c"]}


def test_an_alternative_without_a_climate_is_left_out_and_one_with_other_days_is_a_line_of_its_own():
    base = farrowtide.load({"title": "t", "room": {"crates": 1}})
    alternatives = {
        "here": {},
        "chamber": {"climate": {"kind": "imposed", "temperature": "20 degC"}},
        "early": {"loading.days_before_due": 7},
    }
    compared = farrowtide.compare(base, alternatives, replications=2)
    assert drawn_alike(temperature_curves(compared.room_days), list(alternatives)) == {
        "here": ["here"],
        "early": ["early"],
    }
    assert "chamber" not in compared.plot_temperature().alt


def test_an_imposed_climate_has_no_picture_of_temperature():
    chamber = farrowtide.load(
        ROOM | CASES["chamber"] | {"alternatives": {"a": {"handling.day": 3}, "b": {"handling.day": 5}}}
    )
    compared = farrowtide.compare(chamber, replications=1)
    with pytest.raises(farrowtide.UserError, match="imposed"):
        compared.plot_temperature()


def test_the_usual_intake_has_the_handbooks_means():
    """NRC 2012 by its table for 21 d: 6.61 kg/d from parity 2 on and 5.95 in parity 1, with 5 % of waste."""
    day = np.arange(1.0, 22.0)
    for parity_class, with_waste in (("P1", 5.95), ("P2", 6.61), ("P3+", 6.61)):
        assert usual_intake().kg_per_day(day, parity_class).mean() == pytest.approx(with_waste / 1.05, rel=0.01)


def test_the_usual_intake_stands_behind_the_curves_in_the_unit_of_the_picture(compared):
    picture = compared.plot_intake(units="us")
    line = picture.figure.axes[0].get_lines()[0]
    parity_class = picture.figure.axes[0].get_title(loc="left").split(", ")[-1]
    expected = usual_intake().kg_per_day(line.get_xdata(), parity_class) / 0.45359237
    assert np.allclose(line.get_ydata(), expected)
    assert usual_intake().source in picture.caption
    assert "Usual on day" in picture.alt

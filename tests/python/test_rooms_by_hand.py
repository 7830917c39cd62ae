"""What tables of small rooms must say, worked out by hand: gaps that mutants of the engine have shown."""

import numpy as np
import pytest

import farrowtide
from farrowtide.engine.result import ALL_TABLES


def tables(**keys):
    scenario = farrowtide.load({"title": "t", "room": {"crates": 5}, **keys})
    return farrowtide.run(scenario, record=ALL_TABLES)


def weather_led(outdoor_deg_c, *, deep_pit=False, **keys):
    """Set points of a room under weather that never changes."""
    hours = 40 * 24
    climate = {"outdoor_hours": [outdoor_deg_c] * hours, "outdoor_humidity_hours": [50] * hours}
    policy = {"kind": "weather_led", "later": 20, "above": 20, "per_degree": 0.5, **keys}
    room = {"crates": 2, "deep_pit": deep_pit}
    return tables(room=room, climate=climate, temperature=policy).rooms["set_point_deg_c"].to_numpy()


@pytest.mark.parametrize(("outdoor_deg_c", "last_deg_c"), [(20, 20), (20.5, 19.75), (24, 18), (30, 17)])
def test_a_set_point_led_by_the_weather_falls_by_its_mean(outdoor_deg_c, last_deg_c):
    """Half a degree for each degree above 20 degC, and not below 17 degC."""
    assert weather_led(outdoor_deg_c)[-1] == pytest.approx(last_deg_c, abs=1e-9)


@pytest.mark.parametrize("name", ["min", "least"])
def test_a_deep_pit_raises_no_minimum_that_the_user_has_set_under_either_name(name):
    assert weather_led(30, deep_pit=True, **{name: 17})[-1] == pytest.approx(17, abs=1e-9)
    assert weather_led(30, deep_pit=True)[-1] > weather_led(30)[-1]


def test_traits_that_are_described_stand_in_the_rows_of_sows():
    described = [{"parity": parity, "functional_teats": teats} for parity, teats in ((1, 13), (4, 16))]
    sows = tables(room={"crates": 2}, herd={"sows": described}).sows
    assert sows[["parity", "functional_teats"]].to_dict("records") == described


def test_the_temperature_of_a_sows_day_is_the_mean_of_its_hours():
    found = tables(room={"crates": 2}, start="2026-07-06")
    hourly = found.rooms["temperature_deg_c"].to_numpy()
    by_day = hourly.reshape(-1, 24).mean(axis=1)
    days = found.sow_days
    assert np.ptp(by_day) > 1
    np.testing.assert_allclose(days["room_temperature_deg_c"], by_day[days.groupby("sow").cumcount()], atol=1e-9)


def test_a_task_names_its_sow_if_it_is_for_one_sow():
    found = tables()
    tasks, visits = found.tasks, found.visits
    assert set(visits.loc[visits["kind"] == "records", "sow"]) == {-1}
    several = tasks[tasks["animals"] > 1]
    of_the_room = tasks[tasks["kind"] == "records"]
    of_one = tasks[tasks["kind"].isin(["train gilt", "move", "exam"]) & (tasks["animals"] == 1)]
    assert len(several) > 20
    assert len(of_the_room) > 20
    assert len(of_one)
    assert (several["sow"] == -1).all()
    assert (of_the_room["sow"] == -1).all()
    assert of_one["sow"].between(1, 5).all()


def test_the_day_of_death_is_that_of_the_record_of_deaths():
    found = tables()
    died = found.piglets.dropna(subset="age_at_death_d").set_index(["sow", "birth_order"])
    recorded = found.deaths[found.deaths["age_h"] > 0].set_index(["sow", "birth_order"])
    assert len(recorded) > 2
    assert set(recorded.index) <= set(died.index)
    np.testing.assert_allclose(recorded["age_h"] / 24, died.loc[recorded.index, "age_at_death_d"], atol=1e-6)


@pytest.mark.parametrize(("place", "pen"), [("crate", 0), ("pen", 1)])
def test_the_record_of_deaths_says_where_the_sow_was(place, pen):
    deaths = tables(room={"crates": 5, "farrowing_place": place}).deaths
    reared = deaths[deaths["age_h"] > 0]
    assert len(reared) > 2
    assert (reared["pen"] == pen).all()


def test_milk_of_an_imposed_gain_is_that_of_the_published_regression():
    """Noblet and Etienne 1989: kcal of milk = 4.92 g of litter gain - 90 kcal a piglet, as in the coefficients."""
    days = tables(room={"crates": 3}, imposed={"litter_gain": [2.5] * 21}, herd={"mortality": "off"}).sow_days
    whole = days[(days["day"] >= 2) & (days["day"] <= 17)]
    expected_mcal = 4.92 * whole["litter_gain_kg"] - 0.09 * whole["piglets"]
    assert len(whole) > 20
    np.testing.assert_allclose(whole["milk_mcal"], expected_mcal, rtol=0.01)


def test_piglets_with_another_sow_have_moved_and_the_others_have_not():
    sows = [{"total_born": born, "farrows_on_day": 4} for born in (6, 20, 8, 19)]
    piglets = tables(room={"crates": 4}, herd={"sows": sows}, fostering={"kind": "fill_teats"}).piglets
    reared = piglets[piglets["reared_by"] > 0]
    moved = reared["reared_by"] != reared["sow"]
    assert moved.sum() >= 3
    assert (reared.loc[moved, "moves"] >= 1).all()
    assert (reared.loc[~moved, "moves"] == 0).all()


def test_induction_that_makes_labour_longer_does_so_in_induced_sows_only():
    """The coefficient multiplies each interval between births; nobody is on rounds, and the room is cool."""

    def durations(multiplier):
        scenario = farrowtide.load(
            {
                "title": "t",
                "room": {"crates": 12},
                "climate": {"kind": "imposed", "temperature": 20},
                "induction": {"kind": "single", "gestation_day": 115},
                "attendance": {"kind": "none"},
            }
        )
        coefficients = {"sow.induction.duration_multiplier_single": multiplier}
        return farrowtide.run(scenario.with_coefficients(coefficients), replications=4).sows

    usual, longer = durations(1.0), durations(1.4)
    ratio = (longer["farrowing_duration_min"] / usual["farrowing_duration_min"]).to_numpy()
    induced = usual["induced"].to_numpy(dtype=bool)
    assert 5 <= induced.sum() < len(induced) - 5
    np.testing.assert_allclose(ratio[~induced], 1, rtol=0.001)  # they share the staff
    assert (ratio[induced] >= 1).all()
    assert np.median(ratio[induced]) == pytest.approx(1.4, rel=0.05)

"""What is not known, as numbers with a range."""

import numpy as np
import pytest

import farrowtide
from farrowtide.scenarios.parameters import parameter, parameters, with_parameters


@pytest.fixture(scope="module")
def scenario(meals_file):
    return farrowtide.load(meals_file)


def test_what_is_done_on_a_farm_is_not_drawn(scenario):
    found = parameters(scenario)
    assert "herd.milk_level" in found
    assert "sow.milk.potential.level" in found
    assert "sow.herd.lactation_length" not in found  # the default of group.lactation_days


def test_the_median_is_the_value_and_95_of_100_lie_in_the_range_of_a_published_one(scenario):
    published = next(each for each in parameters(scenario).values() if each.grade == "A" and len(each.value) == 1)
    drawn = np.array([published.at(u)[0] for u in np.linspace(0.0005, 0.9995, 1000)])
    assert published.at(0.5) == published.value
    assert drawn.min() >= published.low[0]
    assert drawn.max() <= published.high[0]
    half = (published.high[0] - published.value[0]) / 2
    # Of a normal distribution with 95 % between the ends, 67.3 % lie within half of the way: erf(0.98 / sqrt(2)),
    # which cutting off the 5 % makes 70.8 %.
    above = drawn[drawn > published.value[0]]
    assert np.mean(above < published.value[0] + half) == pytest.approx(0.708, abs=0.005)


def test_a_level_and_an_entry_of_a_table_are_set(scenario):
    entry = parameter(scenario, "sow.milk.feed_response.slope[1]")
    changed = with_parameters(scenario, {"herd.milk_level": 0.95, entry.name: entry.high})
    assert parameter(changed, "herd.milk_level").value == (0.95,)
    assert parameter(changed, entry.name).value == entry.high
    other = "sow.milk.feed_response.slope[0]"
    assert parameter(changed, other).value == parameter(scenario, other).value


@pytest.mark.parametrize(
    ("name", "message"),
    [
        ("herd.milk_lvel", "Did you mean herd.milk_level?"),
        ("sow.milk.feed_response.slope[9]", "entries 0 to 2"),
        ("sow.energy_balance.usual_backfat", "has no range"),
    ],
)
def test_a_wrong_name_says_what_is_right(scenario, name, message):
    with pytest.raises(farrowtide.UserError, match=message.replace("[", r"\[").replace("?", r"\?")):
        parameter(scenario, name)


def test_any_draw_makes_a_scenario(scenario):
    found = parameters(scenario)
    generator = np.random.default_rng(1)
    for _ in range(20):
        with_parameters(scenario, {name: each.at(generator.uniform(0.001, 0.999)) for name, each in found.items()})

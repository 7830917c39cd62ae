"""A study before it is run: the command that repeats it."""

import pytest

import farrowtide
from farrowtide.study import provenance
from farrowtide.study.plan import plan

TWO_BY_TWO = {
    "title": "two by two",
    "room": {"crates": 1},
    "cases": {"cool": {"temperature.farrowing": 20}, "warm": {"temperature.farrowing": 24}},
    "alternatives": {"early": {"handling.day": 3}, "late": {"handling.day": 5}},
    "study": {"replications": 30, "seed": 8, "reference": "late", "outputs": ["weaned_per_litter"]},
}


@pytest.fixture(scope="module")
def two_by_two():
    return farrowtide.load(TWO_BY_TWO)


def test_a_comparison_to_a_precision_of_a_mapping_is_repeated_by_its_command(two_by_two):
    study = plan(two_by_two, replications=40, precision={"weaned": 9.0})
    command = provenance.of_comparison(study, 40, checks=0, interrupted=False)["command"]
    assert command == (
        f"farrowtide.compare({two_by_two.expression}, replications=40, seed=8, reference='late', "
        "precision={'weaned_per_litter': 9.0})"
    )

"""Moist air against psychrolib, which follows the ASHRAE Handbook of Fundamentals. Independent."""

import numpy as np
import psychrolib
import pytest

from farrowtide import _core

TEMPERATURES = np.arange(0, 46)
HUMIDITIES = np.arange(5, 101, 5)


@pytest.fixture(scope="module")
def air():
    return _core.Psychrometrics(_core.Coefficients.built_in())


@pytest.fixture(scope="module")
def reference():
    psychrolib.SetUnitSystem(psychrolib.SI)
    return psychrolib


@pytest.fixture(scope="module")
def pressure_pa():
    return _core.Coefficients.built_in().find("room.moisture.pressure").value[0]


POINTS = [(float(t), float(h)) for t in TEMPERATURES for h in HUMIDITIES]


def test_the_wet_bulb_is_within_a_twentieth_of_a_kelvin(air, reference, pressure_pa):
    both_solve = []
    for t, h in POINTS:
        ours, theirs = air.wet_bulb_deg_c(t, h), reference.GetTWetBulbFromRelHum(t, h / 100, pressure_pa)
        if theirs < 0 <= ours:
            both_solve.append((t, h, ours))
        else:
            assert abs(ours - theirs) < 0.05, (t, h)
    # Just above freezing a wet bulb and an iced one solve the equation; the reference then takes the iced one.
    assert len(both_solve) < 0.01 * len(POINTS)
    for t, h, ours in both_solve:
        ratio = reference.GetHumRatioFromRelHum(t, h / 100, pressure_pa)
        assert reference.GetHumRatioFromTWetBulb(t, ours, pressure_pa) == pytest.approx(ratio, rel=0.005)


def test_the_humidity_ratio_is_within_half_a_percent(air, reference, pressure_pa):
    for t, h in POINTS:
        theirs = reference.GetHumRatioFromRelHum(t, h / 100, pressure_pa)
        assert air.humidity_ratio(t, h) == pytest.approx(theirs, rel=0.005), (t, h)

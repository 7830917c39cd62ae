"""The kernel against SimPy: the reduced ward of tests/benchmark/ward.py, with the test of Kolmogorov and Smirnov for each
output of 400 wards, and against its expectation where nobody helps. Independent; fixed seeds. The first test compiles
the ward."""

import math
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
import ward
from scipy import stats

WARDS = 400
SETTINGS = ward.Settings()


def late_births_only(view):
    return view.born >= 8 and view.since_last_birth_min >= 30


CASES = {
    "one attendant": (SETTINGS, None),
    "two attendants": (replace(SETTINGS, attendants=2), None),
    "help late in a litter": (SETTINGS, late_births_only),
}
ALPHA = 1e-3 / len(CASES) / len(ward.Outcome._fields)  # a false alarm in a thousand among all cases and outputs


@cache
def simpy_wards(case):
    settings, policy = CASES[case]
    return ward.in_simpy(settings, WARDS, 2, policy)


def p_values(some, others):
    columns = zip(np.transpose(some), np.transpose(others), strict=True)
    return dict(zip(ward.Outcome._fields, (stats.ks_2samp(*pair).pvalue for pair in columns), strict=True))


@pytest.mark.parametrize("case", CASES)
def test_kernel_agrees_with_simpy(case):
    settings, policy = CASES[case]
    found = p_values(ward.in_cpp(settings, WARDS, 1, policy), simpy_wards(case))
    assert min(found.values()) > ALPHA, found


@pytest.mark.parametrize(
    ("changed", "noticed_in"),
    [
        ({"help_mean_min": 18}, "busy_min"),
        ({"birth_gap_mean_min": 27}, "farrowing_mean_min"),
        ({"help_after_min": 35}, "helps"),
        ({"attendants": 2}, "help_wait_mean_min"),
    ],
)
def test_a_changed_ward_is_noticed(changed, noticed_in):
    found = p_values(ward.in_cpp(replace(SETTINGS, **changed), WARDS, 1), simpy_wards("one attendant"))
    assert found[noticed_in] < ALPHA, found


def test_policy_in_python_gives_the_same_numbers():
    assert ward.in_cpp_with_python_policy(SETTINGS, WARDS, 1) == ward.in_cpp(SETTINGS, WARDS, 1)


@pytest.mark.parametrize("form", [ward.in_cpp, ward.in_simpy])
def test_farrowing_without_help_lasts_as_expected(form):
    found = form(SETTINGS, WARDS, 1, lambda view: False)
    farrowing_min = [outcome.farrowing_mean_min for outcome in found]
    gaps = SETTINGS.piglets_mean - 1 + math.exp(-SETTINGS.piglets_mean)  # of a Poisson litter of at least one
    assert abs(np.mean(farrowing_min) - SETTINGS.birth_gap_mean_min * gaps) < 4 * stats.sem(farrowing_min)
    assert not any(outcome.helps or outcome.busy_min or outcome.help_wait_mean_min for outcome in found)

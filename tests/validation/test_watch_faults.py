"""Two faults of tests/validation/watching.py in fewer rooms: the script runs all."""

from __future__ import annotations

import numpy as np
import watching

from farrowtide.analysis.watching.alarms import evidence


def test_a_blocked_drinker_is_found_within_three_days_and_other_sows_are_not():
    watcher, _ = watching.monitor(24)
    case = next(watching.cases(watching.unblocked(watching.scenario()), 8))
    limits = watcher.at(watching.OF_TABLE, "both")
    said = evidence(case.stays, watcher.expected)
    sows, found, hours = watching.found_of(case, said, limits, "both")
    assert sows >= 8
    assert found > 0.9
    assert 7 <= hours <= 55  # the lists of the first two mornings after the fault began
    alarmed = limits.alarms(said)[np.isnan(case.onset)]
    ill_or_not = 0.1  # far above 1 in 100, because ill sows are among them
    assert alarmed.sum() / said.recorded[np.isnan(case.onset)].sum() < ill_or_not


def test_days_of_another_run_begin_with_the_fault():
    stays, _ = watching.simulate(watching.scenario(), 0, 1)
    other = watching.Stays(stays.stays.sows, {name: array + 100 for name, array in stays.stays.values.items()})
    both, onset = watching.spliced(stays.stays, other)
    first = (onset[0] / 24).astype(int) - 1
    eaten, before = both.values["eaten_kg"][0], stays.stays.values["eaten_kg"][0]
    assert np.array_equal(eaten[:first], before[:first])
    assert np.allclose(eaten[first:], before[first:] + 100, equal_nan=True)

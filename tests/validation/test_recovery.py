"""One farm of the recovery study, with fewer animals: tests/validation/recovery.py runs all."""

from __future__ import annotations

import numpy as np
import recovery

import farrowtide
from farrowtide.analysis.calibration import fitting
from farrowtide.scenarios.parameters import with_parameters


def test_a_drawn_farm_is_recovered(monkeypatch):
    """Five standard deviations: a fit that works passes, one that is off by a tenth of a range does not."""
    monkeypatch.setattr(fitting, "_LITTERS", 96)
    monkeypatch.setattr(fitting, "_BLOCKS", 8)
    moved = recovery.usual()
    true_values = moved.leading(recovery.truth(3)[None, :])[0]
    names = ["herd.intake_level", "herd.stillbirth_level", "sow.farrowing.intervals.level"]
    values = moved.values(recovery.truth(3))
    farm = with_parameters(recovery.scenario(), {name: values[name] for name in names})
    found = farrowtide.calibrate(recovery.scenario(), recovery.records_of(farm, 3, groups=8), move=names)
    table = found.parameters.set_index("parameter")
    for name in names:
        truth = true_values[moved.names.index(name)]
        sd = (table.loc[name, "ci_high"] - table.loc[name, "ci_low"]) / 3.92
        assert abs(table.loc[name, "estimate"] - truth) < 5 * sd
        assert table.loc[name, "sd_share"] < 0.7


def test_truths_do_not_depend_on_what_is_fitted():
    assert np.array_equal(recovery.truth(4), recovery.truth(4))
    assert not np.array_equal(recovery.truth(4), recovery.truth(5))

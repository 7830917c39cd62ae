"""What a type checker knows of the public functions: checked by mypy in `.ci/run`, not run."""

from pathlib import Path
from typing import assert_type

import pandas as pd

import farrowtide
from farrowtide.report.pictures.picture import Picture

scenario = farrowtide.load("room.yaml")
assert_type(scenario.override({"handling.day": 3}), farrowtide.Scenario)

result = farrowtide.run(Path("room.yaml"))
assert_type(result, farrowtide.Result)
assert_type(result.sows, pd.DataFrame)
assert_type(result.trace(), list[str])

comparison = farrowtide.compare("room.yaml", {"early": {"handling.day": 3}, "late": {"handling.day": 5}})
assert_type(comparison, farrowtide.Comparison)
assert_type(comparison.differences, pd.DataFrame)
assert_type(comparison.verdict(), dict[str, str])
assert_type(comparison.plot_intake(), Picture)
assert_type(comparison.plot_differences(units="us"), Picture)
assert_type(comparison.write_report("folder"), Path)

sweep = farrowtide.sweep(scenario, {"handling.day": [3, 5]})
assert_type(sweep, farrowtide.Sweep)
assert_type(sweep.means, pd.DataFrame)

assert_type(farrowtide.pick(scenario, "labour", 1.0), farrowtide.Picked)
assert_type(farrowtide.parts(scenario).plot(), Picture)
assert_type(farrowtide.doubt(comparison).plot(), Picture)

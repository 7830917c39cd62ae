"""The tables of a calibration, from which its page is made."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import pandas as pd

from farrowtide.errors import PlausibilityWarning
from farrowtide.scenarios.scenario import Scenario


@dataclass(frozen=True)
class CalibrationTables:
    """What `calibrate` found.

    `parameters` has a row for each level and coefficient that moved (see `farrowtide.analysis.calibration.judging`),
    `statistics` one for each statistic of the records, `directions` one for each independent combination of parameters,
    `draws` a column for each parameter and a row for each of the equally likely draws. `stays` names usual parameters that
    stayed because the records hold nothing on them, and what they would need. `file` is the content of the calibration
    file. `settled` is False where the fit stopped before it stayed in place.
    """

    scenario: Scenario
    parameters: pd.DataFrame
    statistics: pd.DataFrame
    directions: pd.DataFrame
    draws: pd.DataFrame
    stays: dict[str, str]
    left_out: list[str]  # statistics of the records that the scenario has none of
    groups_used: list[str]
    groups_kept_aside: list[str]
    inflation: float
    weight_of_model: float
    settled: bool
    interrupted: bool
    rooms: int
    file: dict[str, Any]
    provenance: dict[str, Any]
    warnings: list[PlausibilityWarning] = field(default_factory=list)

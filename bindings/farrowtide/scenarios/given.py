"""What a function that asks for a scenario is given: the scenario, or the file that holds it."""

from __future__ import annotations

import os
from typing import TypeAlias

from farrowtide.errors import UserError
from farrowtide.scenarios.scenario import Scenario, load

GivenScenario: TypeAlias = Scenario | str | os.PathLike[str]


def as_scenario(given: GivenScenario) -> Scenario:
    """The scenario itself; that of a file where its path is given. Raises UserError for anything else, and as `load`."""
    if isinstance(given, Scenario):
        return given
    if isinstance(given, (str, os.PathLike)):
        return load(given)
    raise UserError(
        f"expected a Scenario or the path of its file, got a {type(given).__name__}; load it first with "
        "farrowtide.load(...)"
    )

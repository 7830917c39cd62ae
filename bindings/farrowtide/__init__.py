"""Discrete-event simulation of farrowing-room management: compare policies on the same animals.

>>> import farrowtide
>>> scenario = farrowtide.load("scenarios/teaching/three_sows.yaml")
>>> farrowtide.run(scenario, replications=1).sows            # doctest: +SKIP

The model is a model, not advice: decide with the herd veterinarian and under local rules.
"""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from farrowtide._core import InternalError, Mistake, ScenarioError, UserError
    from farrowtide.comparison import Comparison, compare
    from farrowtide.describing import Description, describe
    from farrowtide.explaining import explain
    from farrowtide.outputs import Output, catalogue
    from farrowtide.reproducing import reproduce
    from farrowtide.running import Interrupted, Result, run
    from farrowtide.scenario import Scenario, load
    from farrowtide.sweeping import Picked, Sweep, grid, pick, sweep

# Name -> module that has it; loaded when first asked for, so that `farrowtide --help` need not wait for pandas.
_HOMES = {
    "Comparison": "comparison",
    "Description": "describing",
    "InternalError": "_core",
    "Interrupted": "running",
    "Mistake": "_core",
    "Output": "outputs",
    "Picked": "sweeping",
    "Result": "running",
    "Scenario": "scenario",
    "ScenarioError": "_core",
    "Sweep": "sweeping",
    "UserError": "_core",
    "catalogue": "outputs",
    "compare": "comparison",
    "describe": "describing",
    "explain": "explaining",
    "grid": "sweeping",
    "load": "scenario",
    "pick": "sweeping",
    "reproduce": "reproducing",
    "run": "running",
    "sweep": "sweeping",
}

__all__ = [
    "Comparison",
    "Description",
    "InternalError",
    "Interrupted",
    "Mistake",
    "Output",
    "Picked",
    "Result",
    "Scenario",
    "ScenarioError",
    "Sweep",
    "UserError",
    "catalogue",
    "compare",
    "describe",
    "explain",
    "grid",
    "load",
    "pick",
    "reproduce",
    "run",
    "sweep",
]


def __getattr__(name: str) -> object:
    if name == "__version__":
        return importlib.import_module("farrowtide._core").engine_version
    if name not in _HOMES:
        raise AttributeError(f"module 'farrowtide' has no attribute '{name}'")
    return getattr(importlib.import_module(f"farrowtide.{_HOMES[name]}"), name)


def __dir__() -> list[str]:
    return sorted([*__all__, "__version__"])

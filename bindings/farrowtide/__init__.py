"""Discrete-event simulation of farrowing-room management: compare policies on the same animals.

>>> import farrowtide
>>> scenario = farrowtide.load(farrowtide.example("teaching/three_sows.yaml"))
>>> farrowtide.run(scenario, replications=1).sows            # doctest: +SKIP

The results come from a model and are not advice: decide with the herd veterinarian and under local rules.
"""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from farrowtide import labour as labour
    from farrowtide import pairing as pairing
    from farrowtide import policies as policies
    from farrowtide import records as records
    from farrowtide import selecting as selecting
    from farrowtide.engine.result import Interrupted
    from farrowtide.errors import InternalError, Mistake, PlausibilityWarning, ScenarioError, UserError
    from farrowtide.outputs.catalogue import catalogue
    from farrowtide.outputs.explaining import explain
    from farrowtide.outputs.output import Output
    from farrowtide.report.description.document import Description, describe
    from farrowtide.report.protocol.document import Protocol, protocol
    from farrowtide.report.protocol.sheets import Sheets
    from farrowtide.results.auditing import Audit, audit
    from farrowtide.results.calibration import Calibration, calibrate
    from farrowtide.results.comparison import Comparison, compare
    from farrowtide.results.doubt import Doubt, doubt
    from farrowtide.results.parts import Parts, parts
    from farrowtide.results.pick import Picked, pick
    from farrowtide.results.replay import Replay, replay
    from farrowtide.results.reproduce import reproduce
    from farrowtide.results.run import Result, run
    from farrowtide.results.sheets import sheets
    from farrowtide.results.story import Story, story
    from farrowtide.results.sweep import Sweep, sweep
    from farrowtide.results.watching import Watched, watch
    from farrowtide.scenarios.scenario import Scenario, load
    from farrowtide.scenarios.shipped import example
    from farrowtide.study.grid import grid
    from farrowtide.teaching.homework import Homework, check_homework

# Names and the modules that define them. They are loaded on first use, so that `farrowtide --help` does not wait for
# pandas.
_MODULES = ("labour", "pairing", "policies", "records", "selecting")
_HOMES = {
    "Audit": "results.auditing",
    "Calibration": "results.calibration",
    "Comparison": "results.comparison",
    "Description": "report.description.document",
    "Doubt": "results.doubt",
    "Homework": "teaching.homework",
    "InternalError": "errors",
    "Interrupted": "engine.result",
    "Mistake": "errors",
    "Output": "outputs.output",
    "Parts": "results.parts",
    "Picked": "results.pick",
    "PlausibilityWarning": "errors",
    "Protocol": "report.protocol.document",
    "Replay": "results.replay",
    "Result": "results.run",
    "Scenario": "scenarios.scenario",
    "ScenarioError": "errors",
    "Sheets": "report.protocol.sheets",
    "Story": "results.story",
    "Sweep": "results.sweep",
    "UserError": "errors",
    "Watched": "results.watching",
    "audit": "results.auditing",
    "calibrate": "results.calibration",
    "catalogue": "outputs.catalogue",
    "check_homework": "teaching.homework",
    "compare": "results.comparison",
    "describe": "report.description.document",
    "doubt": "results.doubt",
    "example": "scenarios.shipped",
    "explain": "outputs.explaining",
    "grid": "study.grid",
    "load": "scenarios.scenario",
    "parts": "results.parts",
    "pick": "results.pick",
    "protocol": "report.protocol.document",
    "replay": "results.replay",
    "reproduce": "results.reproduce",
    "run": "results.run",
    "sheets": "results.sheets",
    "story": "results.story",
    "sweep": "results.sweep",
    "watch": "results.watching",
}

__all__ = [
    "Audit",
    "Calibration",
    "Comparison",
    "Description",
    "Doubt",
    "Homework",
    "InternalError",
    "Interrupted",
    "Mistake",
    "Output",
    "Parts",
    "Picked",
    "PlausibilityWarning",
    "Protocol",
    "Replay",
    "Result",
    "Scenario",
    "ScenarioError",
    "Sheets",
    "Story",
    "Sweep",
    "UserError",
    "Watched",
    "audit",
    "calibrate",
    "catalogue",
    "check_homework",
    "compare",
    "describe",
    "doubt",
    "example",
    "explain",
    "grid",
    "load",
    "parts",
    "pick",
    "protocol",
    "replay",
    "reproduce",
    "run",
    "sheets",
    "story",
    "sweep",
    "watch",
]


def __getattr__(name: str) -> object:
    if name == "__version__":
        return importlib.import_module("farrowtide._core").engine_version
    if name in _MODULES:
        return importlib.import_module(f"farrowtide.{name}")
    if name not in _HOMES:
        raise AttributeError(f"module 'farrowtide' has no attribute '{name}'")
    return getattr(importlib.import_module(f"farrowtide.{_HOMES[name]}"), name)


def __dir__() -> list[str]:
    return sorted([*__all__, *_MODULES, "__version__"])

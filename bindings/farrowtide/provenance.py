"""Where a result comes from: everything needed to make it again."""

from __future__ import annotations

import shlex
from typing import Any

from farrowtide import _core
from farrowtide.scenario import Scenario


def engine() -> dict[str, Any]:
    """Versions of the engine, of its results (the same seed gives the same numbers) and of its coefficients."""
    return {
        "engine_version": _core.engine_version,
        "results_version": _core.results_version,
        "commit": _core.commit or "not recorded",
        "coefficient_hash": _core.Coefficients.built_in().hash,
    }


def of_run(scenario: Scenario, *, replications: int, seed: int, command: str) -> dict[str, Any]:
    """The engine's versions with the scenario's fingerprints, the seed and the way to repeat the run."""
    return engine() | {
        "scenario": scenario.source_name,
        "scenario_hash": scenario.hash,
        "coefficient_hash": scenario.coefficient_hash,
        "overlaid_coefficients": scenario.overlaid_coefficients,
        "seed": seed,
        "replications": replications,
        "command": command,
    }


def command(verb: str, scenario: Scenario, **options: object) -> str:
    """The command line that repeats a run; options that don't change numbers (threads, folders) are left out."""
    words = ["farrowtide", verb, scenario.source_name]
    for name, value in options.items():
        for one in value if isinstance(value, (list, tuple)) else [value]:
            words += [f"--{name.replace('_', '-')}", str(one)]
    return shlex.join(words)

"""Where a result comes from: everything needed to make it again."""

from __future__ import annotations

import json
import shlex
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from farrowtide import _core
from farrowtide.scenarios.scenario import Scenario


def engine() -> dict[str, Any]:
    """Versions of the engine, of its results (the same seed gives the same numbers) and of its coefficients."""
    return {
        "engine_version": _core.engine_version,
        "results_version": _core.results_version,
        "commit": _core.commit or "not recorded",
        "coefficient_hash": _core.Coefficients.built_in().hash,
    }


def of_run(scenario: Scenario, *, replications: int, seed: int, checks: int, command: str) -> dict[str, Any]:
    """The engine's versions with the scenario's fingerprints, the seed and the way to repeat the run."""
    return engine() | {
        "scenario": scenario.source_name,
        "scenario_hash": scenario.hash,
        "coefficient_hash": scenario.coefficient_hash,
        "overlaid_coefficients": scenario.overlaid_coefficients,
        "own_policies": scenario.own_policies,
        "seed": seed,
        "replications": replications,
        "conservation_checks_passed": checks,
        "command": command,
    }


def write(folder: Path, made: Mapping[str, Any]) -> None:
    """provenance.json, beside the tables it is of."""
    text = json.dumps(made, indent=2, ensure_ascii=False) + "\n"
    (folder / "provenance.json").write_text(text, encoding="utf-8")


def command(verb: str, scenario: Scenario, **options: Any) -> str:
    """What repeats a run: a command line where the scenario is a file as it stands, Python where it was changed.

    Options that don't change numbers (threads, folders) are left out by the caller; those that are None here.
    """
    given = {name: value for name, value in options.items() if value is not None}
    if scenario.command_words is None:
        arguments = ", ".join([scenario.expression, *(f"{name}={value!r}" for name, value in given.items())])
        return f"farrowtide.{verb}({arguments})"
    words = ["farrowtide", verb, *scenario.command_words]
    for name, value in given.items():
        for one in value if isinstance(value, list) else [value]:
            words += [f"--{name.removesuffix('s') if isinstance(value, list) else name}", str(one)]
    return shlex.join(words)

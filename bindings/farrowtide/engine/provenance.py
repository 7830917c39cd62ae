"""Provenance of a result: everything needed to reproduce it."""

from __future__ import annotations

import json
import shlex
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from farrowtide import _core
from farrowtide.cautions import CAUTION, withheld_by
from farrowtide.inert_text import visible
from farrowtide.scenarios.scenario import Scenario
from farrowtide.whole_files import write_text


def engine() -> dict[str, Any]:
    """The versions of the engine, of its results (same version and seed, same numbers) and of its coefficients."""
    return {
        "engine_version": _core.engine_version,
        "results_version": _core.results_version,
        "commit": _core.commit or "not recorded",
        "coefficient_hash": _core.Coefficients.built_in().hash,
    }


def of_run(
    scenario: Scenario,
    *,
    replications: int,
    seed: int,
    checks: int,
    command: str,
    withheld_care: Mapping[str, list[str]] | None = None,
) -> dict[str, Any]:
    """The versions of the engine, the scenario with its hashes, the seed, the command that repeats the run, the caution.

    `checks` is the number of conservation checks passed; `withheld_care` is the care that each alternative withholds,
    None for that of this scenario.
    """
    if withheld_care is None:
        withheld_care = withheld_by([(scenario.chosen_alternative or "as written", scenario.withheld_care)])
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
        "caution": CAUTION,
        "withheld_care": dict(withheld_care),
        **({"calibration": scenario.calibration.origin} if scenario.calibration else {}),
    }


def write(folder: Path, provenance: Mapping[str, Any]) -> None:
    """Writes provenance.json into the folder of the tables that it describes."""
    text = visible(json.dumps(provenance, indent=2, ensure_ascii=False)) + "\n"
    write_text(folder / "provenance.json", text)


def run_command(scenario: Scenario, *, replications: int, seed: int, first_replicate: int) -> str:
    """What repeats a run; on the command line, replicates other than the first can only be run one by one."""
    if first_replicate == 0:
        return command("run", scenario, replications=replications, seed=seed)
    if replications == 1 and scenario.command_words is not None:
        return command("run", scenario, replicate=first_replicate, seed=seed)
    options = f"replications={replications}, seed={seed}, first_replicate={first_replicate}"
    return f"farrowtide.run({scenario.expression}, {options})"


def command(verb: str, scenario: Scenario, **options: Any) -> str:
    """What repeats a run: a command line for a scenario that is an unchanged file, Python source otherwise.

    Options that are None are left out. Callers leave out those that do not change numbers (threads, folders).
    """
    options = {name: value for name, value in options.items() if value is not None}
    if scenario.command_words is None:
        arguments = ", ".join([scenario.expression, *(f"{name}={value!r}" for name, value in options.items())])
        return f"farrowtide.{verb}({arguments})"
    words = ["farrowtide", verb, *scenario.command_words]
    for name, value in options.items():
        option = f"--{name.removesuffix('s') if isinstance(value, list) else name}"
        for item in value if isinstance(value, list) else [value]:
            words += [option, str(item)]
    return shlex.join(words)

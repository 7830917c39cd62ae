"""Where a result comes from: everything needed to make it again."""

from __future__ import annotations

import json
import shlex
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from farrowtide import _core
from farrowtide.scenario import Scenario, as_plain

if TYPE_CHECKING:
    from farrowtide.plans import Plan


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


def of_comparison(study: Plan, replications: int, *, checks: int, interrupted: bool) -> dict[str, Any]:
    """Of a comparison: `recipe` makes it again anywhere, without the files it was made from."""
    recipe = {"verb": "compare", "alternatives": as_plain(study.given_alternatives)}
    return _of_study(study, replications, checks, recipe, _comparing, interrupted)


def of_sweep(
    study: Plan, replications: int, vary: Mapping[str, Any], *, checks: int, interrupted: bool
) -> dict[str, Any]:
    """Of a sweep, likewise."""
    recipe = {"verb": "sweep", "vary": as_plain({key: list(values) for key, values in vary.items()})}
    said = ", ".join([study.scenario.expression, repr(recipe["vary"])])

    def sweeping(study: Plan, options: dict[str, Any]) -> str:
        return _called(f"farrowtide.sweep({said}", study, options)

    return _of_study(study, replications, checks, recipe, sweeping, interrupted)


def _of_study(
    study: Plan,
    replications: int,
    checks: int,
    recipe: dict[str, Any],
    told: Callable[[Plan, dict[str, Any]], str],
    interrupted: bool,
) -> dict[str, Any]:
    outputs = [output.name for output in study.outputs] if study.given_outputs else None
    options = {"replications": study.wanted, "seed": study.seed, "reference": study.reference, "outputs": outputs}
    made = of_run(
        study.scenario, replications=replications, seed=study.seed, checks=checks, command=told(study, options)
    )
    # Rooms that Ctrl-C left out are not made again.
    ended = {"replications": replications, "precision": {}} if interrupted else {"precision": dict(study.precision)}
    return made | {"recipe": recipe | options | ended | {"scenario": study.scenario.recipe}}


def _called(start: str, study: Plan, options: dict[str, Any]) -> str:
    given = options | ({"precision": dict(study.precision)} if study.precision else {})
    said = [f"{name}={value!r}" for name, value in given.items() if value is not None]
    return f"{', '.join([start, *said])})"


def _comparing(study: Plan, options: dict[str, Any]) -> str:
    if study.given_alternatives is None:
        precision = [f"{name}={value!r}" for name, value in study.precision.items()]
        return command("compare", study.scenario, **options, precision=precision or None)
    return _called(f"farrowtide.compare({study.scenario.expression}, {study.given_alternatives!r}", study, options)

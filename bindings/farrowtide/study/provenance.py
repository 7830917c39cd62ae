"""The provenance of a study: all that is needed to reproduce its results."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

from farrowtide.cautions import with_both_doubts, withheld_by
from farrowtide.engine.provenance import command, of_run
from farrowtide.scenarios.scenario import Scenario, as_plain
from farrowtide.study.plan import Plan


def of_comparison(study: Plan, replications: int, *, checks: int, interrupted: bool) -> dict[str, Any]:
    """The provenance of a comparison; its `recipe` reproduces it anywhere, without the files it was made from."""
    recipe = {"verb": "compare", "alternatives": as_plain(study.given_alternatives)}
    return _of_study(study, replications, checks, recipe, _comparing, interrupted)


def with_doubt(of_a_comparison: Mapping[str, Any], draws: int) -> dict[str, Any]:
    """The provenance of a comparison with so many draws of what is not known."""
    command = of_a_comparison["command"]
    in_words = command.startswith("farrowtide ")
    added = f"{command} --doubt --doubt-draws {draws}" if in_words else f"farrowtide.doubt({command}, draws={draws})"
    return dict(of_a_comparison) | {
        "command": added,
        "caution": with_both_doubts(of_a_comparison["caution"]),
        "recipe": of_a_comparison["recipe"] | {"doubt_draws": draws},
    }


def of_parts(study: Plan, replications: int, *, checks: int, interrupted: bool) -> dict[str, Any]:
    """The provenance of a programme taken apart, likewise."""
    outputs = [output.name for output in study.outputs if output.group == "headline"] if study.given_outputs else None
    options: dict[str, Any] = {"replications": replications if interrupted else study.wanted, "seed": study.seed}
    options |= {"outputs": outputs}
    origin = of_run(
        study.scenario,
        replications=replications,
        seed=study.seed,
        checks=checks,
        command=command("parts", study.scenario, **options),
        withheld_care=study.withheld_care,
    )
    stopped = {"wanted_replications": study.wanted} if interrupted else {}
    return origin | {"recipe": {"verb": "parts", **options, "scenario": study.scenario.recipe}} | stopped


def of_sweep(
    study: Plan, replications: int, vary: Mapping[str, Any], *, checks: int, interrupted: bool
) -> dict[str, Any]:
    """The provenance of a sweep, likewise."""
    recipe = {"verb": "sweep", "vary": as_plain({key: list(values) for key, values in vary.items()})}

    def sweeping(study: Plan, options: dict[str, Any]) -> str:
        return _call(f"farrowtide.sweep({study.scenario.expression}, {recipe['vary']!r}", study, options)

    return _of_study(study, replications, checks, recipe, sweeping, interrupted)


def of_pick(
    study: Plan, output: str, indifference: float, *, case: str, confidence: float, replications: int, checks: int
) -> dict[str, Any]:
    """The provenance of a selection among the alternatives of a plan, in one case."""
    options: dict[str, Any] = {"case": case if case in study.scenario.cases else None, "confidence": confidence}
    options |= {"replications": study.wanted, "seed": study.seed}
    if study.given_alternatives is None:
        command_line = command("pick", study.scenario, output=output, indifference=indifference, **options)
    else:
        given = {"alternatives": study.given_alternatives, **options}
        arguments = "".join(f", {name}={value!r}" for name, value in given.items() if value is not None)
        command_line = f"farrowtide.pick({study.scenario.expression}, {output!r}, {indifference!r}{arguments})"
    origin = of_run(
        study.scenario,
        replications=replications,
        seed=study.seed,
        checks=checks,
        command=command_line,
        withheld_care=study.withheld_care,
    )
    recipe = {"verb": "pick", "output": output, "indifference": indifference, **options}
    recipe |= {"alternatives": as_plain(study.given_alternatives), "scenario": study.scenario.recipe}
    return origin | {"recipe": recipe}


def _of_study(
    study: Plan,
    replications: int,
    checks: int,
    recipe: dict[str, Any],
    command_of: Callable[[Plan, dict[str, Any]], str],
    interrupted: bool,
) -> dict[str, Any]:
    """Where Ctrl-C stopped the study, command and recipe ask for the replications that it has, in `wanted_replications`
    stands for how many it was started.
    """
    stopped = {"wanted_replications": study.wanted} if interrupted else {}
    if interrupted:
        study = replace(study, wanted=replications, precision={})
    outputs = [output.name for output in study.outputs] if study.given_outputs else None
    options: dict[str, Any] = {
        "replications": study.wanted,
        "seed": study.seed,
        "reference": study.reference,
        "outputs": outputs,
    }
    origin = of_run(
        study.scenario,
        replications=replications,
        seed=study.seed,
        checks=checks,
        command=command_of(study, options),
        withheld_care=study.withheld_care,
    )
    precision = {"precision": dict(study.precision)}
    return origin | {"recipe": recipe | options | precision | {"scenario": study.scenario.recipe}} | stopped


def _call(start: str, study: Plan, options: dict[str, Any]) -> str:
    given = options | ({"precision": dict(study.precision)} if study.precision else {})
    arguments = [f"{name}={value!r}" for name, value in given.items() if value is not None]
    return f"{', '.join([start, *arguments])})"


def _comparing(study: Plan, options: dict[str, Any]) -> str:
    if study.given_alternatives is not None:
        return _call(f"farrowtide.compare({study.scenario.expression}, {study.given_alternatives!r}", study, options)
    if study.scenario.command_words is None:
        return _call(f"farrowtide.compare({study.scenario.expression}", study, options)
    precision = [f"{name}={value!r}" for name, value in study.precision.items()]
    return command("compare", study.scenario, **options, precision=precision or None)


def of_pairs(
    scenario: Scenario,
    verb: str,
    function: str,
    *,
    replications: int,
    seed: int,
    checks: int,
    **options: Any,
) -> dict[str, Any]:
    """The provenance of a `function` of `farrowtide.pairing`, which is `verb` on the command line."""
    given = {"replications": replications, "seed": seed, **options}
    pair = options.get("alternative") and [options["reference"], options["alternative"]]
    names = pair or scenario.alternatives
    origin = of_run(
        scenario,
        replications=replications,
        seed=seed,
        checks=checks,
        command=_pairing_command(scenario, verb, function, **given),
        withheld_care=withheld_by((name, scenario.alternative(name).withheld_care) for name in names),
    )
    return origin | {"recipe": {"verb": verb, **given, "scenario": scenario.recipe}}


def _pairing_command(scenario: Scenario, verb: str, function: str, **options: Any) -> str:
    """A command line where the scenario is an unchanged file, otherwise Python."""
    if scenario.command_words is not None:
        return command(verb, scenario, **options)
    arguments = "".join(f", {name}={value!r}" for name, value in options.items() if value is not None)
    return f"farrowtide.pairing.{function}({scenario.expression}{arguments})"

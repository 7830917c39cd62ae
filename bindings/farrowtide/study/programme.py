"""A programme taken apart: each practice added alone to the scenario as written, and taken alone out of all together."""

from __future__ import annotations

from collections.abc import Sequence

from farrowtide.errors import UserError
from farrowtide.limits import MOST_SEED, require_whole
from farrowtide.outputs.catalogue import chosen
from farrowtide.outputs.catalogue.work import LABOUR
from farrowtide.outputs.output import Output
from farrowtide.scenarios.given import GivenScenario, as_scenario
from farrowtide.scenarios.prices import Prices
from farrowtide.study.blocks import Arm, Kept
from farrowtide.study.grid import AS_WRITTEN
from farrowtide.study.plan import ONLY_CASE, Plan
from farrowtide.study.watch import differing_keys

FULL = "full programme"


def added(practice: str) -> str:
    """The arm in which the practice alone is added to the scenario as written."""
    return f"with {practice}"


def left_out(practice: str) -> str:
    """The arm in which the practice alone is taken out of the full programme."""
    return f"{FULL} without {practice}"


def plan_of_parts(
    scenario: GivenScenario,
    *,
    replications: int | None = None,
    seed: int | None = None,
    outputs: Sequence[str] | None = None,
) -> Plan:
    """The 2k + 2 arms of k practices, which are those of `study.parts`; what is None is taken from the file.

    Labour is always among the outputs. Raises UserError.
    """
    scenario = as_scenario(scenario)
    practices = scenario.study.parts
    if len(practices) < 2:
        raise UserError(
            f"{scenario.source_name}: nothing to take apart: name two alternatives or more that are practices in "
            "`study.parts`"
        )
    study = scenario.study
    wanted = study.replications if replications is None else replications
    require_whole("replications", wanted, 1)
    seed = study.seed if seed is None else seed
    require_whole("seed", seed, 0, MOST_SEED)
    named = list(outputs or study.outputs)
    return Plan(
        verb="parts",
        scenario=scenario,
        arms=[
            Arm(case, name, in_case.together(applied), seed)
            for case, in_case in (
                {name: scenario.case(name) for name in scenario.cases} or {ONLY_CASE: scenario}
            ).items()
            for name, applied in applied_in(practices).items()
        ],
        reference=AS_WRITTEN,
        outputs=_with_labour(named, scenario.prices),
        seed=seed,
        wanted=wanted,
        kept=Kept(),
        given_outputs=outputs is not None,
    )


def applied_in(practices: Sequence[str]) -> dict[str, list[str]]:
    """Arm -> the practices that it applies."""
    return {
        AS_WRITTEN: [],
        **{added(practice): [practice] for practice in practices},
        FULL: list(practices),
        **{left_out(practice): [other for other in practices if other != practice] for practice in practices},
    }


def _with_labour(names: Sequence[str], prices: Prices | None) -> list[Output]:
    """The outputs that are shown, with labour, and all others."""
    if not names:
        return chosen([], only=False, prices=prices)
    known = [output.name for output in chosen(names, only=True, prices=prices)]
    return chosen(known if LABOUR.name in known else [*known, LABOUR.name], only=False, prices=prices)


def keys_of_practices(study: Plan) -> dict[str, list[str]]:
    """Practice -> the keys whose values it changes, alone or within the programme, in any case."""
    keys: dict[str, list[str]] = {}
    for practice in study.scenario.study.parts:
        pairs = [
            (study.rooms[case, arm], study.rooms[case, other])
            for case in study.cases
            for arm, other in ((AS_WRITTEN, added(practice)), (FULL, left_out(practice)))
        ]
        keys[practice] = list(dict.fromkeys(key for pair in pairs for key in differing_keys(pair)))
    return keys

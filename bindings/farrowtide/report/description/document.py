"""The description of a study, so that it can be repeated: the STRESS-DES checklist and the ODD protocol, filled in.

Both are generated from the scenario, the engine's own lists (tasks, draws, tables, coefficients, keys, equations) and
the declared outputs; text that cannot be generated is in templates/description.md.jinja.
"""

from __future__ import annotations

import platform
import re
from dataclasses import dataclass, replace
from functools import cached_property, partial
from importlib import metadata, resources
from pathlib import Path
from typing import Any

import jinja2
import numpy as np
import pandas as pd

from farrowtide import _core
from farrowtide.analysis.comparison import ComparisonTables
from farrowtide.cautions import for_comparison_only, marked
from farrowtide.engine.provenance import command
from farrowtide.engine.result import ALL_TABLES, CAUSES
from farrowtide.errors import UserError
from farrowtide.inert_text import markdown, markdown_code, visible
from farrowtide.outputs.catalogue import chosen
from farrowtide.outputs.composition import computed_from
from farrowtide.outputs.one_line import one_line
from farrowtide.outputs.output import Output
from farrowtide.outputs.units import MISSING, count
from farrowtide.report.description import lists
from farrowtide.report.description.variants import alike, roster, start_of, timetables
from farrowtide.report.wording.evidence import SUPPORT
from farrowtide.report.wording.study import policies_as_written, precision_reached, unit_of_replication
from farrowtide.scenarios.given import GivenScenario, as_scenario
from farrowtide.scenarios.reference import keys, on_one_line
from farrowtide.scenarios.scenario import Scenario
from farrowtide.statistics.inference import DIFFERENCES, DIFFERENCES_OF_CLASS, LEAST_APART
from farrowtide.study.blocks import Arm, Kept
from farrowtide.study.plan import ONLY_CASE, Plan, plan
from farrowtide.study.provenance import of_comparison
from farrowtide.whole_files import make_folder, write_text

FIXED_NUMBER = "The number of replications was fixed before the run."
_LIBRARIES = ("numpy", "pandas", "scipy")


@dataclass(frozen=True)
class Description:
    """A document in Markdown. Its paths refer to the source tree of the version that it names."""

    title: str
    text: str

    def __repr__(self) -> str:
        return one_line("Description", self.title, count(len(self.sections), "section"))

    @cached_property
    def sections(self) -> dict[str, str]:
        """Heading -> the text below it, up to the next heading of any level."""
        parts = re.split(r"^#+ (.+)$", self.text, flags=re.MULTILINE)
        return {heading: body.strip() for heading, body in zip(parts[1::2], parts[2::2], strict=True)}

    def write(self, path: Path) -> Path:
        """Writes the document, creating its folder."""
        make_folder(path.parent)
        write_text(path, self.text)
        return path


@dataclass(frozen=True)
class _Study:
    """A plan, with its results if it was run."""

    plan: Plan
    provenance: dict[str, Any]
    stopping: str
    done: int | None = None  # replications; None: not run
    differences: pd.DataFrame | None = None

    @property
    def base(self) -> Scenario:
        """The reference in the first case."""
        return self.plan.rooms[self.plan.cases[0], self.plan.reference]


def describe(scenario: GivenScenario, study: ComparisonTables | Plan | None = None) -> Description:
    """Describes the study of a scenario by the STRESS-DES checklist and the ODD protocol.

    `study`: a comparison of this scenario that was run, or a plan of one; None: the one that its file asks for. Nothing
    is simulated. Raises UserError where the study is of another scenario.

    STRESS-DES: Monks et al. 2019, J Simulation 13:55-67. ODD: Grimm et al. 2020, JASSS 23(2) 7.
    """
    scenario = as_scenario(scenario)
    if study is not None and study.scenario.hash != scenario.hash:
        raise UserError(f"the study is of {study.scenario.source_name}, not of {scenario.source_name}")
    environment = jinja2.Environment(undefined=jinja2.StrictUndefined, trim_blocks=True, lstrip_blocks=True)
    environment.filters |= {"cell": _cell, "text": markdown, "code": markdown_code, "command": _command}
    template = (
        resources.files("farrowtide.report").joinpath("templates/description.md.jinja").read_text(encoding="utf-8")
    )
    text = environment.from_string(template).render(_facts(_study(scenario, study)))
    return Description(scenario.title, text)


def _study(scenario: Scenario, study: ComparisonTables | Plan | None) -> _Study:
    if study is None:
        several = len(scenario.alternatives) > 1
        study = plan(scenario) if several else _plan_without_alternatives(scenario)
    return _planned(study) if isinstance(study, Plan) else _completed(study)


def _planned(plan: Plan) -> _Study:
    provenance = of_comparison(plan, 0, checks=0, interrupted=False)
    if len(plan.names) == 1:
        provenance["command"] = command("run", plan.scenario, replications=plan.wanted, seed=plan.seed)
    targets = ", ".join(f"{name} within {half:g}" for name, half in plan.precision.items())
    rule = f"Replications are added until the half-widths of the paired 95 % confidence intervals stay within the target ({targets})."
    return _Study(plan, provenance, rule if targets else FIXED_NUMBER)


def _completed(comparison: ComparisonTables) -> _Study:
    planned = plan(
        comparison.scenario,
        comparison.provenance["recipe"]["alternatives"],
        replications=comparison.wanted_replications,
        seed=comparison.seed,
        outputs=None,
        reference=comparison.reference,
    )
    stopping = (
        precision_reached(comparison.precision, prices=comparison.scenario.prices)
        if comparison.precision
        else FIXED_NUMBER
    )
    return _Study(
        replace(planned, outputs=comparison.outputs),
        comparison.provenance,
        "It was stopped by the user." if comparison.interrupted else stopping,
        comparison.replications,
        comparison.differences,
    )


def _plan_without_alternatives(scenario: Scenario) -> Plan:
    """The plan of a scenario that has nothing to compare."""
    cases = {name: scenario.case(name) for name in scenario.cases} or {ONLY_CASE: scenario}
    study = scenario.study
    return Plan(
        verb="run",
        scenario=scenario,
        arms=[Arm(case, ONLY_CASE, in_case, study.seed) for case, in_case in cases.items()],
        reference=ONLY_CASE,
        outputs=chosen(study.outputs, only=False, prices=scenario.prices),
        seed=study.seed,
        wanted=study.replications,
        kept=Kept(),
    )


def _facts(study: _Study) -> dict[str, Any]:
    """The values that the template uses."""
    plan = study.plan
    scenario, rooms = plan.scenario, plan.rooms
    coefficients = scenario._core.coefficients
    families = {family: alike(rooms, partial(_policy_of, family)) for family in study.base.policies}
    package = metadata.metadata("farrowtide")
    return {
        "study": study,
        "plan": plan,
        "scenario": scenario,
        "base": study.base,
        "family_rows": families,
        "differing": [family for family, groups in families.items() if len(groups) > 1],
        "support": SUPPORT,
        "changes": _changes(plan),
        "rosters": alike(rooms, roster),
        "timetables": timetables(rooms),
        "farm": study.base.farm,
        "times": _core.timetable(study.base._core),
        "unit": unit_of_replication(study.base),
        "starts": [start if who == "all" else f"{start} ({who})" for start, who in alike(rooms, start_of).items()],
        "precision": _precision(study),
        "outputs": [(output, computed_from(output, scenario.prices)) for output in plan.outputs],
        "headlines": [output for output in plan.outputs if output.group == "headline"],
        "tasks": lists.tasks(coefficients),
        "tables": {name: (lists.meaning(name), _core.tables()[name]) for name in ALL_TABLES},
        "causes": CAUSES,
        "purposes": _core.purposes(),
        "orders": [(order, lists.ORDERS[order]) for order in _core.event_orders()],
        "views": lists.views(),
        "keys": keys(study.base),
        "value": {key: value for key, value, *_ in keys(study.base)},
        "grades": lists.grades(coefficients, coefficients.paths),
        "number_groups": lists.number_groups(coefficients),
        "overlaid": [lists.overlaid(coefficients, path) for path in coefficients.overlaid_paths],
        "coefficient_count": len(coefficients),
        "submodels": lists.submodels(),
        "labels": {(table, info.name): info.labels for table, infos in _core.tables().items() for info in infos},
        "package": package,
        "addresses": package.get_all("Project-URL") or [],
        "versions": {name: metadata.version(name) for name in _LIBRARIES},
        "python": platform.python_version(),
        "system": f"{platform.system()}, {platform.machine()}",
        "compiler": _core.compiler,
        "floor": DIFFERENCES,
        "floor_of_class": DIFFERENCES_OF_CLASS,
        "least_apart": LEAST_APART,
        "caution": study.provenance["caution"],
        "for_comparison_only": for_comparison_only(study.provenance["withheld_care"]),
        "marked": lambda name: marked(name, study.provenance["withheld_care"]),
    }


def _policy_of(family: str, scenario: Scenario) -> str:
    return policies_as_written(scenario)[family]


def _precision(study: _Study) -> list[tuple[Output, str]]:
    """The largest half-width of the intervals of each headline output, missing where a difference has none; empty where
    nothing was compared.
    """
    if study.differences is None:
        return []
    halves = study.differences.assign(half=lambda rows: (rows["ci_high"] - rows["ci_low"]) / 2)
    widest = halves["half"].fillna(np.inf).groupby(halves["output"]).max()
    return [
        (output, f"{widest[output.name]:.2g}" if np.isfinite(widest[output.name]) else MISSING)
        for output in study.plan.outputs
        if output.group == "headline"
    ]


def _changes(plan: Plan) -> dict[str, dict[str, dict[str, str]]]:
    """ "cases" or "alternatives" -> name -> key -> value, as written."""
    written = dict(_core.written(plan.scenario._core))
    if plan.given_alternatives is not None:
        written["alternatives"] = plan.given_alternatives
    return {
        kind: {
            name: {key: on_one_line(value) for key, value in (values or {}).items()} for name, values in named.items()
        }
        for kind in ("cases", "alternatives")
        if (named := written.get(kind))
    }


def _command(text: str) -> str:
    """A command on one line of a block of code, which it cannot end."""
    return visible(text).replace("\n", "\\n")


def _cell(text: Any) -> str:
    """The text as a cell of a table: one line, bars escaped."""
    return " ".join(str(text).split()).replace("|", "\\|")

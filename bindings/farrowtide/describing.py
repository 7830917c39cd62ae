"""What a study is, for readers who must be able to repeat it: the STRESS-DES checklist, filled, and a description after ODD.

Both are made from the scenario, the engine's own lists (tasks, draws, tables, coefficients, keys, equations) and the
declared outputs; what only people can say stands once, in templates/description.md.jinja.
"""

from __future__ import annotations

import inspect
import json
import platform
import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from importlib import metadata, resources
from pathlib import Path
from typing import TYPE_CHECKING, Any

import jinja2
import numpy as np
import pandas as pd

from farrowtide import _core, plans, provenance, wording
from farrowtide import outputs as declared
from farrowtide.plans import Plan
from farrowtide.running import TABLES, Result

if TYPE_CHECKING:
    from farrowtide.comparison import Comparison
    from farrowtide.scenario import Scenario

FIXED_NUMBER = "The number of replications was fixed before the run."
_WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_LEFT_TO_THE_FILE = ("replications", "seed", "outputs", "reference")
_LIBRARIES = ("numpy", "pandas", "scipy")
# What the engine's words for orders and due times mean; a word without an entry here is an error when rendering.
_ORDERS = {
    "environment": "calendar, shifts, midnight of the rooms",
    "animal": "onset, birth, death: what biology does",
    "release": "work done, seats given back, every wake-up that another process causes",
    "decision": "patience running out, policies",
    "task": "work asked for",
    "record": "rows written; after it nothing more happens in that second",
}
_DUE = {
    "after feeding time": "{staff.due.feed} after the feed's clock time",
    "end of shift": "end of the shift it was asked in",
    "within processing time": "{staff.due.processing} after it was asked",
    "same day": "midnight",
    "before next group": "when the room must be washed and dry",
}


@dataclass(frozen=True)
class Description:
    """One document in Markdown. Paths in it are those of the source tree of the version that it names."""

    title: str
    text: str

    @cached_property
    def sections(self) -> dict[str, str]:
        """Heading -> what stands below it, up to the next heading of any level."""
        parts = re.split(r"^#+ (.+)$", self.text, flags=re.MULTILINE)
        return {heading: body.strip() for heading, body in zip(parts[1::2], parts[2::2], strict=True)}

    def write(self, path: Path) -> Path:
        """Writes the document, making its folder."""
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(self.text, encoding="utf-8")
        return path


@dataclass(frozen=True)
class _Study:
    """A plan, and what came of it if it was run."""

    plan: Plan
    made: dict[str, Any]
    stopping: str
    done: int | None = None  # replications; None: not run
    differences: pd.DataFrame | None = None

    @property
    def base(self) -> Scenario:
        """The reference in the first case."""
        return self.plan.rooms[self.plan.cases[0], self.plan.reference]


def describe(scenario: Scenario, study: Comparison | Plan | None = None) -> Description:
    """The STRESS-DES checklist and the ODD description of a scenario's study.

    `study`: a comparison of this scenario that was run, or a plan of one; None: what its file asks for. Nothing is run
    here. Raises UserError where the study is of another scenario.

    STRESS-DES: Monks et al. 2019, J Simulation 13:55-67. ODD: Grimm et al. 2020, JASSS 23(2) 7.
    """
    if study is not None and study.scenario.hash != scenario.hash:
        raise _core.UserError(f"the study is of {study.scenario.source_name}, not of {scenario.source_name}")
    environment = jinja2.Environment(undefined=jinja2.StrictUndefined, trim_blocks=True, lstrip_blocks=True)
    environment.filters["cell"] = _cell
    template = resources.files("farrowtide").joinpath("templates/description.md.jinja").read_text(encoding="utf-8")
    text = environment.from_string(template).render(_facts(_study(scenario, study)))
    return Description(scenario.title, text)


def _study(scenario: Scenario, study: Comparison | Plan | None) -> _Study:
    if study is None:
        several = len(scenario.alternatives) > 1
        study = plans.plan(scenario, None, **dict.fromkeys(_LEFT_TO_THE_FILE)) if several else _alone(scenario)
    return _asked(study) if isinstance(study, Plan) else _done(study)


def _asked(plan: Plan) -> _Study:
    made = provenance.of_comparison(plan, 0, checks=0, interrupted=False)
    if len(plan.names) == 1:
        made["command"] = provenance.command("run", plan.scenario, replications=plan.wanted, seed=plan.seed)
    targets = ", ".join(f"{name} within {half:g}" for name, half in plan.precision.items())
    rule = f"Replications are added until the paired 95 % intervals are as narrow as asked ({targets}), and stay so."
    return _Study(plan, made, rule if targets else FIXED_NUMBER)


def _done(comparison: Comparison) -> _Study:
    plan = plans.plan(
        comparison.scenario,
        comparison.provenance["recipe"]["alternatives"],
        replications=comparison.wanted_replications,
        seed=comparison.seed,
        outputs=None,
        reference=comparison.reference,
    )
    stopping = wording.precision_reached(comparison) if comparison.precision else FIXED_NUMBER
    return _Study(
        replace(plan, outputs=comparison.outputs),
        comparison.provenance,
        "It was stopped by hand." if comparison.interrupted else stopping,
        comparison.replications,
        comparison.differences,
    )


def _alone(scenario: Scenario) -> Plan:
    """Of a scenario that has nothing to compare."""
    cases = {name: scenario.case(name) for name in scenario.cases} or {plans.ONLY_CASE: scenario}
    study = scenario.study
    return Plan(
        scenario=scenario,
        rooms={(case, plans.ONLY_CASE): there for case, there in cases.items()},
        reference=plans.ONLY_CASE,
        outputs=declared.chosen(study.outputs, only=False),
        seed=study.seed,
        wanted=study.replications,
        precision={},
        given_alternatives=None,
        given_outputs=False,
    )


def _facts(study: _Study) -> dict[str, Any]:
    """Everything the template may name."""
    plan = study.plan
    scenario, variants = plan.scenario, plan.rooms
    coefficients = scenario._core.coefficients
    families = {family: _alike(variants, lambda one, f=family: one.policies[f]) for family in study.base.policies}
    package = metadata.metadata("farrowtide")
    return {
        "study": study,
        "plan": plan,
        "scenario": scenario,
        "base": study.base,
        "family_rows": families,
        "differing": [family for family, groups in families.items() if len(groups) > 1],
        "support": wording.SUPPORT,
        "changes": _changes(plan),
        "rosters": _alike(variants, _roster),
        "timetables": _timetables(variants),
        "farm": study.base.farm,
        "times": _core.timetable(study.base._core),
        "unit": wording.unit_of_replication(study.base),
        "starts": [start if who == "all" else f"{start} ({who})" for start, who in _alike(variants, _start).items()],
        "precision": _precision(study),
        "outputs": [(output, computed_from(output)) for output in plan.outputs],
        "headlines": [output for output in plan.outputs if output.group == "headline"],
        "tasks": _tasks(coefficients),
        "tables": {name: (_meaning(name), _core.tables()[name]) for name in TABLES},
        "purposes": _core.purposes(),
        "orders": [(order, _ORDERS[order]) for order in _core.event_orders()],
        "views": _views(),
        "keys": _keys(study.base),
        "value": {key: value for key, value, *_ in _keys(study.base)},
        "grades": _grades(coefficients, coefficients.paths),
        "number_groups": _number_groups(coefficients),
        "overlaid": [_overlaid(coefficients, path) for path in coefficients.overlaid_paths],
        "coefficient_count": len(coefficients),
        "submodels": submodels(),
        "labels": {(table, info.name): info.labels for table, infos in _core.tables().items() for info in infos},
        "package": package,
        "addresses": package.get_all("Project-URL") or [],
        "versions": {name: metadata.version(name) for name in _LIBRARIES},
        "python": platform.python_version(),
        "system": f"{platform.system()}, {platform.machine()}",
        "compiler": _core.compiler,
        "caution": wording.CAUTION,
    }


# What is the same in several alternatives and cases ---------------------------------------------------------------


def _alike(variants: Mapping[tuple[str, str], Scenario], read: Callable[[Scenario], str]) -> dict[str, str]:
    """What is read off the alternatives and cases -> in which of them; in the order of the file."""
    found: dict[str, list[tuple[str, str]]] = {}
    for pair, scenario in variants.items():
        found.setdefault(read(scenario), []).append(pair)
    return {value: _who(pairs, list(variants)) for value, pairs in found.items()}


def _who(pairs: list[tuple[str, str]], everything: list[tuple[str, str]]) -> str:
    if len(pairs) == len(everything):
        return "all"
    rest = list(pairs)
    names = []
    for position in (1, 0):  # whole alternatives, then whole cases, then one by one
        for value in dict.fromkeys(pair[position] for pair in everything):
            whole = [pair for pair in everything if pair[position] == value]
            if set(whole) <= set(rest):
                names.append(value)
                rest = [pair for pair in rest if pair not in whole]
    return "; ".join([*names, *(f"{name} in {case}" for case, name in rest)])


def _roster(scenario: Scenario) -> str:
    at_night = _core.timetable(scenario._core)["night_people"]
    shifts = [_shift(shift) for shift in _core.roster(scenario._core)]
    return "; ".join([*shifts, *([f"every night between the shifts: {at_night} at work"] if at_night else [])])


def _timetables(variants: Mapping[tuple[str, str], Scenario]) -> dict[str, str]:
    """The numbers of farm and timetable that are not the same everywhere, in words -> where; empty if there are none."""
    found = {pair: one.farm | _core.timetable(one._core) for pair, one in variants.items()}
    differing = [name for name in next(iter(found.values())) if len({numbers[name] for numbers in found.values()}) > 1]

    def told(one: Scenario) -> str:
        numbers = one.farm | _core.timetable(one._core)
        return ", ".join(f"{name.replace('_', ' ')} {numbers[name]}" for name in differing)

    return _alike(variants, told) if differing else {}


def _start(scenario: Scenario) -> str:
    return next(value for key, value, *_ in _keys(scenario) if key == "start")


def _precision(study: _Study) -> list[tuple[declared.Output, str]]:
    """Of each headline the widest half of an interval of its differences; empty where nothing was compared."""
    if study.differences is None:
        return []
    halves = study.differences.assign(half=lambda rows: (rows["ci_high"] - rows["ci_low"]) / 2)
    widest = halves.groupby("output")["half"].max()
    return [
        (output, f"{widest[output.name]:.2g}" if np.isfinite(widest[output.name]) else declared.MISSING)
        for output in study.plan.outputs
        if output.group == "headline"
    ]


def _changes(plan: Plan) -> dict[str, dict[str, dict[str, str]]]:
    """cases, alternatives -> name -> key -> value, as written."""
    written = dict(_core.written(plan.scenario._core))
    if plan.given_alternatives is not None:
        written["alternatives"] = plan.given_alternatives
    return {
        kind: {name: {key: _said(value) for key, value in (changed or {}).items()} for name, changed in found.items()}
        for kind in ("cases", "alternatives")
        if (found := written.get(kind))
    }


# Words ------------------------------------------------------------------------------------------------------------


def _cell(text: Any) -> str:
    """In a table: one line, no bar."""
    return " ".join(str(text).split()).replace("|", "\\|")


def _said(value: Any) -> str:
    """A value of a scenario on one line."""
    if isinstance(value, dict):
        return "{" + ", ".join(f"{key}: {_said(part)}" for key, part in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(_said, value)) + "]"
    return "none" if value is None else str(value)


def _clock(hours: float) -> str:
    minutes = round(hours * 60)
    return f"{minutes // 60:02d}:{minutes % 60:02d}"


def _shift(shift: Mapping[str, Any]) -> str:
    days = "every day" if len(shift["weekdays"]) == 7 else ", ".join(_WEEKDAYS[day] for day in shift["weekdays"])
    words = f"{days} {_clock(shift['from_h'])}-{_clock(shift['until_h'])}: {shift['people']} at work"
    if shift["break_min"]:
        begins = "in the middle" if shift["break_from_h"] is None else f"from {_clock(shift['break_from_h'])}"
        words += f", break of {shift['break_min']:g} min {begins}"
    return words + (f", each missing on {100 * shift['absence']:g} % of days" if shift["absence"] else "")


def _measured(found: _core.Coefficient) -> str:
    """Value or values with their unit."""
    numbers = ", ".join(f"{value:g}" for value in found.value)
    return numbers if found.unit == "-" else f"{numbers} {found.unit}"


# The engine's lists -----------------------------------------------------------------------------------------------


def _tasks(coefficients: _core.Coefficients) -> list[dict[str, Any]]:
    """Every kind of task with its coefficient, and in words when it is late."""

    def due(rule: str) -> str:
        return re.sub(r"\{(.+?)\}", lambda found: _measured(coefficients.find(found[1])), _DUE[rule])

    return [
        task | {"due": due(task["due"]), "minutes": coefficients.find(task["time"])}
        for task in _core.tasks(coefficients)
    ]


def _meaning(table: str) -> str:
    return inspect.getdoc(inspect.getattr_static(Result, table)) or ""


def _views() -> dict[str, tuple[str, list[str]]]:
    """What policies may know: view -> what it is, its fields."""
    kinds = [
        (name, kind) for name, kind in inspect.getmembers(_core, inspect.isclass) if re.fullmatch(r"[A-Z]\w+View", name)
    ]
    return {
        name: (
            (inspect.getdoc(kind) or "").split("\n")[0],
            [field for field, value in inspect.getmembers(kind) if isinstance(value, property)],
        )
        for name, kind in kinds
    }


def _grades(coefficients: _core.Coefficients, paths: Iterable[str]) -> dict[str, int]:
    grades = [coefficients.find(path).grade for path in paths]
    return {grade: grades.count(grade) for grade in ("A", "B", "C")}


def _number_groups(coefficients: _core.Coefficients) -> dict[str, tuple[dict[str, int], list[str]]]:
    """First two words of the path -> numbers by grade, sources."""
    groups: dict[str, list[str]] = {}
    for path in coefficients.paths:
        groups.setdefault(".".join(path.split(".")[:2]), []).append(path)
    return {
        group: (_grades(coefficients, paths), list(dict.fromkeys(coefficients.find(path).source for path in paths)))
        for group, paths in groups.items()
    }


def _overlaid(coefficients: _core.Coefficients, path: str) -> tuple[str, str, str]:
    """Path, built-in value, value here."""
    return path, _measured(_core.Coefficients.built_in().find(path)), _measured(coefficients.find(path))


def submodels() -> dict[str, list[dict[str, str]]]:
    """Chapter of the model page -> its equations and rules: name, anchor, what it is, valid, source, grade."""
    page = resources.files("farrowtide").joinpath("templates/MODEL.md").read_text(encoding="utf-8")
    chapters = {}
    for chapter in re.split(r"^## ", page, flags=re.MULTILINE)[1:]:
        title, *_ = chapter.split("\n", 1)
        if entries := [_submodel(text) for text in re.split(r"^### ", chapter, flags=re.MULTILINE)[1:]]:
            chapters[title] = entries
    return chapters


def _submodel(text: str) -> dict[str, str]:
    name, about = text.split("\n", 1)
    facts = dict(re.findall(r"^\*\*(\w+):\*\* (.+?)\.?\s*$", about, flags=re.MULTILINE))
    return {
        "name": name,
        "anchor": name.lower(),
        "is": about.strip().split("\n\n")[0],
        "used": "*The room does not use this yet; tests do.*" not in about,
        "valid": facts.get("Valid", ""),
        "source": facts.get("Source", "as its coefficients"),
        "grade": facts.get("Grade", "").partition(" ")[0],
    }


# How outputs are computed -----------------------------------------------------------------------------------------


class _Columns:
    """An empty table that notes which of its columns are read."""

    def __init__(self, name: str, read: list[str]) -> None:
        self._name, self._read = name, read

    def __getitem__(self, key: Any) -> Any:
        if not isinstance(key, str):
            return self  # some of its rows
        self._read.append(f"{self._name}.{key}")
        return pd.Series([], dtype=int if key == "replicate" else float)

    def __len__(self) -> int:
        return 0


class _Noting(declared.Rooms):
    """Rooms that note what an output asks of them."""

    def __init__(self) -> None:
        self.read: list[str] = []
        self.asked: list[str] = []
        super().__init__({name: _Columns(name, self.read) for name in TABLES}, first=0, count=1)
        self.read.clear()

    def _ask(self, how: str, table: str, column: str | None, answer: Callable[[], np.ndarray]) -> np.ndarray:
        before = list(self.read), len(self.asked)
        found = answer()
        self.read[:], self.asked[before[1] :] = before[0], []  # what it needs for this is no news
        self.asked.append(f"{how}({table}.{column})" if column else f"{how}({table})")
        return found

    def number(self, table: str, where: np.ndarray | None = None) -> np.ndarray:
        how = "rows" if where is None else "rows where"
        return self._ask(how, table, None, lambda: super(_Noting, self).number(table, where))

    def total(self, table: str, column: str, where: np.ndarray | None = None) -> np.ndarray:
        return self._ask("sum", table, column, lambda: super(_Noting, self).total(table, column, where))

    def mean(self, table: str, column: str, where: np.ndarray | None = None) -> np.ndarray:
        return self._ask("mean", table, column, lambda: super(_Noting, self).mean(table, column, where))

    def median(self, table: str, column: str) -> np.ndarray:
        return self._ask("median", table, column, lambda: super(_Noting, self).median(table, column))

    def sum_of(self, table: str, values: np.ndarray, where: np.ndarray) -> np.ndarray:
        return self._ask("sum where", table, None, lambda: super(_Noting, self).sum_of(table, values, where))


def computed_from(output: declared.Output) -> str:
    """What an output is made of, found by measuring it on empty tables: "sum(tasks.minutes), rows(sows)"."""
    rooms = _Noting()
    output.measure(rooms)
    by = f"; by {', '.join(dict.fromkeys(rooms.read))}" if rooms.read else ""
    return ", ".join(rooms.asked) + by


# The keys of the scenario -----------------------------------------------------------------------------------------

_NOT_INPUT = ("title", "question", "study", "cases", "alternatives")


def _keys(scenario: Scenario) -> list[tuple[str, str, str, str]]:
    """Every key that bears on the run: dotted key, value, "given" or "standard", meaning."""
    written = {name: value for name, value in _core.written(scenario._core).items() if name not in _NOT_INPUT}
    schema = json.loads(_core.json_schema())
    schema["properties"] = {name: part for name, part in schema["properties"].items() if name not in _NOT_INPUT}
    return list(_below("", schema, written))


def _below(path: str, schema: Mapping[str, Any], written: Mapping[str, Any]) -> Iterable[tuple[str, str, str, str]]:
    known = dict(schema.get("properties", {}))
    for rule in schema.get("allOf", ()):  # the keys of the policy that was chosen
        ((key, wanted),) = rule["if"]["properties"].items()
        if written.get(key, known[key].get("default")) == wanted["const"]:
            known |= rule["then"].get("properties", {})
    for key, part in known.items():
        value = written.get(key)
        if part.get("type") == "object":
            yield from _below(f"{path}{key}.", part, value or {})
        elif key in written:
            yield f"{path}{key}", _said(value), "given", part["description"]
        else:
            yield f"{path}{key}", _standard(part), "standard", part["description"]
    for key, value in written.items():
        if key not in known:
            yield f"{path}{key}", _said(value), "given", "A parameter of a policy of the user's own."


def _standard(part: Mapping[str, Any]) -> str:
    """The value of a key that is left out, with the unit in which it is meant."""
    if (default := part.get("default")) is None:
        return "not set"
    if isinstance(default, bool):
        return json.dumps(default)
    unit = re.search(r"Unit: ([^,. ]+)", part["description"])
    return _said(default) + (f" {unit[1]}" if unit and unit[1] != "-" else "")

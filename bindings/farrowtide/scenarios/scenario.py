"""Scenarios: the farm and the alternatives to compare. The engine reads and checks them; a `Scenario` is immutable."""

from __future__ import annotations

import datetime
import json
import os
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from farrowtide import _core
from farrowtide.errors import UserError, listed_names
from farrowtide.inert_text import html_table, visible_line
from farrowtide.scenarios import calibration as calibrations
from farrowtide.scenarios.policies.families import Policy
from farrowtide.scenarios.policies.loading import PolicyFile, classes, origin
from farrowtide.scenarios.prices import Prices, prices_of
from farrowtide.whole_files import read_bytes

if TYPE_CHECKING:
    from farrowtide.scenarios.recipe import ScenarioRecipe

_LARGEST_BYTES = 4 << 20  # of a file, as in the engine
_LONGEST_STAY_D = 120  # from loading to weaning, with room for alternatives that change it
# names of what was not in a file
_MAPPING, _MAPPING_OF_COEFFICIENTS = "mapping", "coefficients given as a mapping"
_MAPPING_OF_CALIBRATION = "calibration given as a mapping"


@dataclass(frozen=True)
class _Step:
    """One change of a scenario."""

    method: str  # of Scenario
    arguments: Any  # as the engine takes them: plain values that JSON and pickle can hold

    @property
    def source_code(self) -> str:
        """The arguments as Python source."""
        match self.method:
            case "without_alternatives":
                return ""
            case "override":
                return repr({key: json.loads(value) for key, value in self.arguments})
            case "with_weather":
                return repr(self.arguments[1]) + (", so_far=True" if len(self.arguments) > 3 else "")
            case "with_coefficients":
                text, name = self.arguments
                return repr(_as_mapping(text) if name == _MAPPING_OF_COEFFICIENTS else name)
            case "with_calibration":
                text, name = self.arguments
                return repr(_as_mapping(text) if name == _MAPPING_OF_CALIBRATION else name)
        return repr(self.arguments)


class Scenario:
    """A scenario without errors. Methods that change something return a new scenario, which is checked as a whole.

    Make one with `farrowtide.load`. Scenarios can be pickled: the pickle holds the text that was read and the changes
    made since, and both are applied again when it is loaded.
    """

    def __init__(self, core: _core.Scenario, source: _Source, steps: tuple[_Step, ...] = ()) -> None:
        self._core = core
        self._source = source
        self._steps = steps

    @property
    def expression(self) -> str:
        """Python source that makes this scenario, for the provenance."""
        return self._source.expression + "".join(f".{step.method}({step.source_code})" for step in self._steps)

    @property
    def command_words(self) -> list[str] | None:
        """The command-line arguments that name this scenario; None if it was changed or not read from files."""
        return None if self._steps else self._source.command_words

    def override(self, values: Mapping[str, Any]) -> Scenario:
        """Returns the scenario with the whole value at each of these dotted keys replaced.

        >>> scenario.override({"feeding": {"kind": "full_access"}, "room.crates": 12})  # doctest: +SKIP

        Values may carry a unit, as in a file ("72 degF"). Raises ScenarioError with every mistake.
        """
        replacements = [[key, as_json(value, key)] for key, value in values.items()]
        return self._after(_Step("override", replacements))

    def alternative(self, name: str) -> Scenario:
        """Returns the scenario with one of its alternatives applied. Raises UserError if there is no such name."""
        return self._after(_Step("alternative", name))

    def together(self, names: Iterable[str]) -> Scenario:
        """Returns the scenario with several of its alternatives applied at once; with none, the scenario as written.

        Raises ScenarioError where two of them change the same key, and UserError if there is no such name.
        """
        chosen = list(names)
        return self._after(_Step("together", chosen))

    def without_alternatives(self) -> Scenario:
        """Returns the scenario as written, without its own alternatives."""
        return self._after(_Step("without_alternatives", None)) if self.alternatives else self

    def case(self, name: str) -> Scenario:
        """Returns the scenario in one of its cases. Raises UserError if there is no such name."""
        return self._after(_Step("case", name))

    def before_choices(self) -> tuple[Scenario, str | None, str | None]:
        """The scenario before its last steps chose a case and an alternative, and their names; None where not chosen."""
        steps, chosen = list(self._steps), dict[str, str]()
        for method in ("alternative", "case"):
            if steps and steps[-1].method == method:
                chosen[method] = steps.pop().arguments
        return _build(self._source, tuple(steps)), chosen.get("case"), chosen.get("alternative")

    def with_coefficients(self, overlay: str | os.PathLike[str] | Mapping[str, Any]) -> Scenario:
        """Returns the scenario with other coefficients: a YAML file, or a mapping from dotted path to value.

        Values are in the unit of the coefficient and in its range; an entry of a file may say `outside_range: true`.
        The provenance of every result records the overlay. Raises ScenarioError with every mistake.
        """
        if isinstance(overlay, Mapping):
            text_and_name = [as_json(overlay, "coefficients"), _MAPPING_OF_COEFFICIENTS]
            return self._after(_Step("with_coefficients", text_and_name))
        file = os.fspath(overlay)
        text = _text_of(file)
        if isinstance(text, str) and not text.strip("\ufeff \t\r\n"):
            raise UserError(f"{file}: is empty: it names no coefficient")
        return self._after(_Step("with_coefficients", [text, file]))

    def with_weather(self, file: str | os.PathLike[str], *, so_far: bool = False) -> Scenario:
        """Returns the scenario with the outdoor weather of a CSV file from its start on, instead of the preset climate.

        The columns are `time` (ISO 8601, local, without an offset), `temperature_deg_c` and, optionally,
        `relative_humidity_percent` (1 to 100); without it, the dew point is that of the preset `climate.outdoor`. Several
        rows in an hour are averaged, and gaps of up to three hours are interpolated, of which a warning tells. The hours
        become part of the scenario, so that nothing needs the file again; its start cannot be changed afterwards. With
        `so_far`, the last whole day of the file is repeated for the days that are still to come. Raises UserError with the
        line of what cannot be read, and where the file does not cover the start, and ScenarioError where it ends before the
        last group is weaned.
        """
        from farrowtide.scenarios.declarations import declaration
        from farrowtide.scenarios.weather import humidity_percent, read_weather

        farm, name = self.farm, os.fspath(file)
        groups = farm["lead_in_groups"] + farm["groups"] + farm["lead_out_groups"]
        days = _LONGEST_STAY_D + groups * farm["group_every_days"]
        weather = read_weather(Path(name), self.start, days)
        weather = weather.continued(days) if so_far else weather
        humidity = weather.relative_humidity_percent
        if humidity is None:
            settings = {path: value for path, value, *_ in _core.settings_in_effect(self._core)}
            climate = next(key for key in declaration().keys if key.name == "climate")
            presets = next(key for key in climate.keys if key.name == "outdoor").options
            preset = presets.index(settings["climate.outdoor"])
            humidity = humidity_percent(weather.temperature_deg_c, self._core.coefficients, preset)
        values = [
            ["climate.outdoor_hours", as_json(weather.temperature_deg_c, "temperature_deg_c")],
            ["climate.outdoor_humidity_hours", as_json(humidity, "relative_humidity_percent")],
        ]
        return self._after(_Step("with_weather", [values, name, weather.filled, *([so_far] if so_far else [])]))

    @property
    def weather(self) -> tuple[str, list[str]] | None:
        """The file of `with_weather` and the hours that were interpolated in it; None without such a file."""
        steps = [step.arguments for step in self._steps if step.method == "with_weather"]
        return (steps[-1][1], list(steps[-1][2])) if steps else None

    def with_calibration(self, file: str | os.PathLike[str] | Mapping[str, Any]) -> Scenario:
        """Returns the scenario with the levels and coefficients of a calibration file, or of a mapping like one.

        `calibration` then gives the draws of what they may be, and the provenance of every result names the file. Raises
        FileError with every mistake of the file, and ScenarioError where a value is out of its range.
        """
        if isinstance(file, Mapping):
            text_and_name = [as_json(file, "calibration"), _MAPPING_OF_CALIBRATION]
            return self._after(_Step("with_calibration", text_and_name))
        name = os.fspath(file)
        return self._after(_Step("with_calibration", [calibrations.text_of(name), name]))

    @property
    def calibration(self) -> calibrations.Calibrated | None:
        """The calibration that it was given last: names and draws of the parameters, hash. None without."""
        given = (step.arguments for step in reversed(self._steps) if step.method == "with_calibration")
        text_and_name = next(given, None)
        return calibrations.read(*text_and_name) if text_and_name else None

    def _after(self, step: _Step) -> Scenario:
        changed = Scenario(_applied(self._core, step), self._source, (*self._steps, step))
        if self.weather and step.method != "with_weather" and changed.start != self.start:
            raise UserError(
                f"{step.method} {step.arguments!r:.60}: moves the start to {changed.start}, but the weather of "
                f"{self.weather[0]} was read from {self.start}; choose the start or the case (--case) before the weather"
            )
        return changed

    @property
    def recipe(self) -> dict[str, Any]:
        """Plain values from which `from_recipe` makes this scenario again, on any machine.

        It holds the code of policies read from files; policies given as classes are only named.
        """
        return {
            "source": self._source.name,
            "text": self._source.text,
            "policies": [
                {"path": policy.path, "text": policy.text} if isinstance(policy, PolicyFile) else origin(policy)
                for policy in self._source.policies
            ],
            "steps": [[step.method, step.arguments] for step in self._steps],
            "hash": self.hash,
        }

    def __reduce__(self) -> tuple[Any, ...]:
        return _build, (self._source, self._steps)

    @property
    def title(self) -> str:
        """The title that the scenario gives itself."""
        return self._core.title

    @property
    def question(self) -> str:
        """The question that the study answers; empty if the scenario asks none."""
        return self._core.question

    @property
    def start(self) -> datetime.date:
        """The date of day 0."""
        values = {path: value for path, value, *_ in _core.settings_in_effect(self._core)}
        return datetime.date.fromisoformat(values["start"])

    @property
    def source_name(self) -> str:
        """The name used in messages: the path of the file, or "mapping"."""
        return self._core.source_name

    @property
    def hash(self) -> str:
        """A hash of the text and all changes: 16 hexadecimal digits."""
        return self._core.hash

    @property
    def coefficient_hash(self) -> str:
        """A hash of all coefficients: 16 hexadecimal digits."""
        return self._core.coefficients.hash

    @property
    def overlaid_coefficients(self) -> list[str]:
        """The dotted paths of the coefficients that an overlay changed."""
        return list(self._core.coefficients.overlaid_paths)

    @property
    def policies(self) -> dict[str, str]:
        """A sentence for each family of policies that describes the chosen one."""
        return self._core.policies

    @property
    def set_points_by_day(self) -> dict[int, tuple[float, float]]:
        """Lowest and highest set point [degC] that is run on each day from the group's mean due date.

        Without the effect of the weather; empty where the climate is imposed.
        """
        return self._core.set_points_by_day

    @property
    def withheld_care(self) -> list[str]:
        """The care that its policies withhold, in phrases such as "sick sows are not treated"; usually none.

        An alternative that withholds care is for comparison only.
        """
        return self._core.withheld_care

    @property
    def chosen_alternative(self) -> str | None:
        """The one of its own alternatives that was chosen last; None: the scenario as written."""
        return next((step.arguments for step in reversed(self._steps) if step.method == "alternative"), None)

    @property
    def chosen_case(self) -> str | None:
        """The one of its own cases that was chosen last; None: none of them."""
        return next((step.arguments for step in reversed(self._steps) if step.method == "case"), None)

    @property
    def own_policies(self) -> list[dict[str, str]]:
        """The user's own policies that the scenario may use: family, name, class, file and hash of each one's source."""
        return [origin(policy) for policy in classes(self._source.policies)]

    @property
    def farm(self) -> dict[str, int]:
        """The farm in numbers: rooms, rooms_per_group, groups (those that count), group_every_days, lead_in_groups,
        lead_out_groups, sows_per_room.
        """
        return self._core.farm

    @property
    def unit_of_replication(self) -> str:
        """What is replicated: "room" or "farm"."""
        return "room" if self.farm["groups"] == self.farm["rooms_per_group"] == 1 else "farm"

    @property
    def litters_per_replication(self) -> int:
        """The sows of a replicate that count."""
        return self.farm["groups"] * self.farm["rooms_per_group"] * self.farm["sows_per_room"]

    @property
    def alternatives(self) -> list[str]:
        """The names of the alternatives, in the order of the file."""
        return list(self._core.alternatives)

    @property
    def cases(self) -> list[str]:
        """The names of the cases, in the order of the file."""
        return list(self._core.cases)

    @property
    def prices(self) -> Prices | None:
        """The prices given in the file; None if it gives none, so that nothing is counted in money."""
        return prices_of(self._core)

    @property
    def study(self) -> _core.StudySettings:
        """The replications, seed, reference alternative and headline outputs given in the file."""
        return self._core.study

    def __repr__(self) -> str:
        return f"<Scenario '{self.title}' from {self.source_name}, {self.hash}>"

    def _repr_html_(self) -> str:
        named = {
            "question": self.question,
            "cases": listed_names(self.cases),
            "alternatives": listed_names(self.alternatives),
        }
        rows = [(label, text) for label, text in named.items() if text]
        return html_table(self.title, [*rows, *self.policies.items()])


@dataclass(frozen=True)
class _Source:
    """The source of a scenario, before any change."""

    name: str  # in messages
    text: str
    policies: tuple[type[Policy] | PolicyFile, ...]
    expression: str
    command_words: list[str] | None


def load(
    source: str | os.PathLike[str] | Mapping[str, Any],
    *,
    policies: Iterable[type[Policy] | str | os.PathLike[str]] = (),
) -> Scenario:
    """Reads a scenario from a YAML file, or from a mapping of the same structure.

    `policies` are policies of your own that the scenario may name, as classes or as Python files; see
    `farrowtide.policies`. Raises ScenarioError, whose `mistakes` list every mistake with its place, and UserError if
    the file cannot be read or a policy cannot be used.
    """
    own = tuple(policy if isinstance(policy, type) else _policy_file(os.fspath(policy)) for policy in policies)
    if isinstance(source, Mapping):
        return _build(_source(_MAPPING, as_json(source, "scenario"), own, repr(dict(source))), ())
    name = os.fspath(source)
    return _build(_source(name, _text_of(name), own), ())


def from_text(text: str, name: str, like: Scenario | None = None) -> Scenario:
    """The scenario of a file's text, of which messages say that it is `name`; it may use the own policies of `like`.

    Raises ScenarioError with every mistake.
    """
    return _build(_source(name, text, like._source.policies if like else ()), ())


def _source(
    name: str, text: str, own: tuple[type[Policy] | PolicyFile, ...], source_code: str | None = None
) -> _Source:
    """The source of a scenario: a file, or what is written as `source_code` in Python."""
    files = [policy.path for policy in own if isinstance(policy, PolicyFile)]
    argument = f", policies=[{', '.join(map(_source_code_of, own))}]" if own else ""
    in_words = source_code is None and len(files) == len(own)
    words = [name, *(word for file in files for word in ("--policies", file))] if in_words else None
    return _Source(name, text, own, f"farrowtide.load({source_code or repr(name)}{argument})", words)


def from_recipe(recipe: ScenarioRecipe, *, run_policies: bool) -> Scenario:
    """Makes the scenario of a `Scenario.recipe` again. Code in it runs only if `run_policies` says so.

    Raises UserError if it would run otherwise, where the recipe only names a policy whose code it does not hold, and if
    the result is not the same scenario.
    """
    from farrowtide.scenarios.recipe import PolicyName, PolicyText

    files = tuple(PolicyFile(policy.path, policy.text) for policy in recipe.policies if isinstance(policy, PolicyText))
    if files and not run_policies:
        raise UserError(
            f"made with policies in Python, which it holds and would run: {', '.join(file.path for file in files)} "
            "(--run-policies, if you trust its source)"
        )
    if named := [policy.class_ for policy in recipe.policies if isinstance(policy, PolicyName)]:
        raise UserError(f"made with policies given as classes, whose code is not in it: {', '.join(named)}")
    mapping = _as_mapping(recipe.text) if recipe.source == _MAPPING else None
    source = _source(recipe.source, recipe.text, files, mapping and repr(mapping))
    scenario = _build(source, tuple(_Step(method, arguments) for method, arguments in recipe.steps))
    if scenario.hash != recipe.hash:
        raise UserError(f"{recipe.source}: this version reads it as a different scenario")
    return scenario


def _as_mapping(text: str) -> Any:
    """The mapping that the text was made of; None where it was read from a file, which may be called like a mapping."""
    try:
        return json.loads(text)
    except (ValueError, RecursionError):
        return None


def _build(source: _Source, steps: tuple[_Step, ...]) -> Scenario:
    core = _core.Scenario.parse(source.text, source.name, classes(source.policies))
    for step in steps:
        core = _applied(core, step)
    return Scenario(core, source, steps)


def _applied(core: _core.Scenario, step: _Step) -> _core.Scenario:
    match step.method:
        case "override":
            return core.override([tuple(pair) for pair in step.arguments])
        case "with_weather":
            return core.override([tuple(pair) for pair in step.arguments[0]])
        case "without_alternatives":
            return core.without_alternatives()
        case "with_coefficients":
            return core.with_coefficients(core.coefficients.with_overlay(*step.arguments))
        case "with_calibration":
            return _calibrated(core, calibrations.read(*step.arguments))
        case "alternative":
            return core.alternative(step.arguments)
        case "together":
            return core.together(step.arguments)
        case "case":
            return core.case(step.arguments)
        case unknown:
            raise UserError(f"'{unknown}' is not a change of a scenario")


def _calibrated(core: _core.Scenario, found: calibrations.Calibrated) -> _core.Scenario:
    core = core.override([(key, as_json(value, key)) for key, value in found.levels.items()])
    overlay = as_json(found.coefficients, "coefficients")
    return core.with_coefficients(core.coefficients.with_overlay(overlay, found.source))


def _source_code_of(policy: type[Policy] | PolicyFile) -> str:
    return repr(policy.path) if isinstance(policy, PolicyFile) else policy.__qualname__


def _policy_file(file: str) -> PolicyFile:
    text = _text_of(file)
    if isinstance(text, bytes):
        raise UserError(f"{file}: the file is not UTF-8 text")
    return PolicyFile(file, text.removeprefix("\N{ZERO WIDTH NO-BREAK SPACE}"))


def _text_of(file: str) -> str:
    if visible_line(file) != file:
        raise UserError(f"{visible_line(file)}: rename the file; its name holds control characters or is not UTF-8")
    text = read_bytes(Path(file), _LARGEST_BYTES)
    try:
        return text.decode("utf-8")
    except UnicodeDecodeError:
        return text  # type: ignore[return-value]  # the engine also takes bytes and reports where they are not text


def as_json(value: Any, key: str) -> str:
    """The value as JSON, which the engine's YAML parser also reads. Raises UserError, which names `key`."""
    try:
        text = json.dumps(value, ensure_ascii=False, allow_nan=False, default=_plain)
        text.encode()  # halves of surrogate pairs are no text
    except RecursionError:
        raise UserError(f"{key}: is nested too deeply") from None
    except (TypeError, ValueError) as problem:
        raise UserError(f"{key}: {problem}") from None
    return text


def as_plain(value: Any) -> Any:
    """The value in plain lists, dicts, numbers and strings, as JSON holds it."""
    return json.loads(as_json(value, "value"))


def _plain(value: Any) -> Any:
    """Converts NumPy scalars and arrays, dates and paths to what JSON can hold."""
    if hasattr(value, "tolist"):
        return value.tolist()
    if hasattr(value, "isoformat"):
        return value.isoformat()
    if isinstance(value, os.PathLike):
        return os.fspath(value)
    raise TypeError(f"a {type(value).__name__} cannot be written in a scenario")

"""Scenarios: what the farm is, what is compared. Read and checked by the engine; immutable here."""

from __future__ import annotations

import json
import os
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from farrowtide import _core
from farrowtide.errors import UserError
from farrowtide.scenarios.policies.families import Policy
from farrowtide.scenarios.policies.loading import PolicyFile, classes, origin


@dataclass(frozen=True)
class _Step:
    """One change of a scenario: what is told to the engine, and the Python that says the same."""

    method: str
    given: Any  # plain values, which JSON and pickle hold
    said: str


class Scenario:
    """A checked scenario. Every method that changes something returns a new one, checked anew as a whole.

    It can be pickled: what was read and what was changed since are kept, and done again on the other side.
    """

    def __init__(self, core: _core.Scenario, source: _Source, steps: tuple[_Step, ...] = ()) -> None:
        self._core = core
        self._source = source
        self._steps = steps

    @property
    def expression(self) -> str:
        """The Python that makes it, for the provenance."""
        return self._source.expression + "".join(f".{step.method}({step.said})" for step in self._steps)

    @property
    def command_words(self) -> list[str] | None:
        """What names it on the command line; None where no words do."""
        return None if self._steps else self._source.command_words

    def override(self, values: Mapping[str, Any]) -> Scenario:
        """The scenario with the values at these dotted keys replaced in whole.

        >>> scenario.override({"feeding": {"kind": "full_access"}, "room.crates": 12})  # doctest: +SKIP

        Values may carry a unit as in a file ("72 degF"). Raises ScenarioError with every mistake.
        """
        given = [[key, as_json(value, key)] for key, value in values.items()]
        return self._after(_Step("override", given, repr(dict(values))))

    def alternative(self, name: str) -> Scenario:
        """The scenario with one of its own alternatives chosen."""
        return self._after(_Step("alternative", name, repr(name)))

    def without_alternatives(self) -> Scenario:
        """The scenario as it stands, its own alternatives left out."""
        return self._after(_Step("without_alternatives", None, "")) if self.alternatives else self

    def case(self, name: str) -> Scenario:
        """The scenario in one of its own cases."""
        return self._after(_Step("case", name, repr(name)))

    def with_coefficients(self, overlay: str | os.PathLike[str] | Mapping[str, Any]) -> Scenario:
        """The scenario with other coefficients: a YAML file, or a mapping from dotted path to value.

        The overlay is recorded in the provenance of every result.
        """
        if isinstance(overlay, Mapping):
            given = [as_json(overlay, "coefficients"), "coefficients given as a mapping"]
            return self._after(_Step("with_coefficients", given, repr(dict(overlay))))
        file = os.fspath(overlay)
        return self._after(_Step("with_coefficients", [_text_of(file), file], repr(file)))

    def _after(self, step: _Step) -> Scenario:
        return Scenario(_done(self._core, step), self._source, (*self._steps, step))

    @property
    def recipe(self) -> dict[str, Any]:
        """All that makes it again anywhere, as plain values: `from_recipe` reads it.

        Policies given as classes, and not as files, are named only: their code is not in it.
        """
        return {
            "source": self._source.name,
            "text": self._source.text,
            "policies": [
                {"path": one.path, "text": one.text} if isinstance(one, PolicyFile) else origin(one)
                for one in self._source.policies
            ],
            "steps": [[step.method, step.given, step.said] for step in self._steps],
            "hash": self.hash,
        }

    def __reduce__(self) -> tuple[Any, ...]:
        return _made_again, (self._source, self._steps)

    @property
    def title(self) -> str:
        return self._core.title

    @property
    def question(self) -> str:
        return self._core.question

    @property
    def source_name(self) -> str:
        """What messages call it: the file's path, or "mapping"."""
        return self._core.source_name

    @property
    def hash(self) -> str:
        """16 hex digits over the text and the overrides."""
        return self._core.hash

    @property
    def coefficient_hash(self) -> str:
        """16 hex digits over every coefficient."""
        return self._core.coefficients.hash

    @property
    def overlaid_coefficients(self) -> list[str]:
        """Dotted paths of the coefficients that an overlay changed."""
        return list(self._core.coefficients.overlaid_paths)

    @property
    def policies(self) -> dict[str, str]:
        """What the policy of each family does, in a sentence."""
        return self._core.policies

    @property
    def own_policies(self) -> list[dict[str, str]]:
        """The policies beyond the built-in ones that it may use: family, name, class, file and hash of their source."""
        return [origin(policy) for policy in classes(self._source.policies)]

    @property
    def farm(self) -> dict[str, int]:
        """Rooms and groups: rooms, rooms_per_group, groups (that count), group_every_days, lead_in_groups,
        lead_out_groups, sows_per_room."""
        return self._core.farm

    @property
    def alternatives(self) -> list[str]:
        """Names of the alternatives, in the order of the file."""
        return list(self._core.alternatives)

    @property
    def cases(self) -> list[str]:
        """Names of the cases, in the order of the file."""
        return list(self._core.cases)

    @property
    def study(self) -> _core.StudySettings:
        """Replications, seed, reference and headline outputs that the file asks for."""
        return self._core.study

    def __repr__(self) -> str:
        return f"<Scenario '{self.title}' from {self.source_name}, {self.hash}>"


@dataclass(frozen=True)
class _Source:
    """What a scenario was read from, before any change."""

    name: str  # what messages call it
    text: str
    policies: tuple[type[Policy] | PolicyFile, ...]
    expression: str
    command_words: list[str] | None


def load(
    source: str | os.PathLike[str] | Mapping[str, Any],
    *,
    policies: Iterable[type[Policy] | str | os.PathLike[str]] = (),
) -> Scenario:
    """Reads a scenario from a YAML file, or from a mapping of the same shape.

    `policies`: policies of your own that it may name, as classes or as Python files; see `farrowtide.policies`.
    Raises ScenarioError, whose `mistakes` are all that is wrong with their places, and UserError where there is no
    such file or a policy is not fit.
    """
    given = list(policies)
    kept = tuple(one if isinstance(one, type) else _policy_file(os.fspath(one)) for one in given)
    files = [one.path for one in kept if isinstance(one, PolicyFile)]
    called = f", policies=[{', '.join(map(_named, kept))}]" if kept else ""
    if isinstance(source, Mapping):
        text, name, said, words = as_json(source, "scenario"), "mapping", repr(dict(source)), None
    else:
        name = os.fspath(source)
        text, said = _text_of(name), repr(name)
        words = [name, *(word for file in files for word in ("--policies", file))] if len(files) == len(kept) else None
    return _made_again(_Source(name, text, kept, f"farrowtide.load({said}{called})", words), ())


def from_recipe(recipe: Mapping[str, Any], policies: Iterable[type[Policy]] = ()) -> Scenario:
    """The scenario of `Scenario.recipe`. `policies`: classes that it names without holding their code.

    Raises UserError where it does not give the same scenario.
    """
    files = tuple(PolicyFile(one["path"], one["text"]) for one in recipe["policies"] if "text" in one)
    source = _Source(recipe["source"], recipe["text"], (*files, *policies), f"<{recipe['source']}>", None)
    made = _made_again(source, tuple(_Step(*step) for step in recipe["steps"]))
    if made.hash != recipe["hash"]:
        raise UserError(f"{recipe['source']}: this version reads it as another scenario")
    return made


def _made_again(source: _Source, steps: tuple[_Step, ...]) -> Scenario:
    core = _core.Scenario.parse(source.text, source.name, classes(source.policies))
    for step in steps:
        core = _done(core, step)
    return Scenario(core, source, steps)


def _done(core: _core.Scenario, step: _Step) -> _core.Scenario:
    match step.method:
        case "override":
            return core.override([tuple(pair) for pair in step.given])
        case "without_alternatives":
            return core.without_alternatives()
        case "with_coefficients":
            return core.with_coefficients(core.coefficients.with_overlay(*step.given))
        case "alternative":
            return core.alternative(step.given)
        case "case":
            return core.case(step.given)
        case unknown:
            raise UserError(f"a scenario has no step '{unknown}'")


def _named(policy: type[Policy] | PolicyFile) -> str:
    return repr(policy.path) if isinstance(policy, PolicyFile) else policy.__qualname__


def _policy_file(file: str) -> PolicyFile:
    text = _text_of(file)
    if isinstance(text, bytes):
        raise UserError(f"{file}: is not UTF-8")
    return PolicyFile(file, text.removeprefix("\N{ZERO WIDTH NO-BREAK SPACE}"))


def _text_of(file: str) -> str:
    try:
        text = Path(file).read_bytes()
    except OSError as error:
        raise UserError(f"Can't read the file '{file}': {error.strerror}.") from None
    try:
        return text.decode("utf-8")
    except UnicodeDecodeError:
        return text  # type: ignore[return-value]  # the engine takes bytes, too, and tells where they are no text


def as_json(value: Any, key: str) -> str:
    """JSON, which the engine's one YAML reader reads: there is no second parser to disagree with it."""
    try:
        return json.dumps(value, ensure_ascii=False, allow_nan=False, default=_plain)
    except (TypeError, ValueError) as problem:
        raise UserError(f"{key}: {problem}") from None


def as_plain(value: Any) -> Any:
    """As JSON has it."""
    return json.loads(as_json(value, "value"))


def _plain(value: Any) -> Any:
    """NumPy scalars and arrays, dates and paths as JSON has them."""
    if hasattr(value, "tolist"):
        return value.tolist()
    if hasattr(value, "isoformat"):
        return value.isoformat()
    if isinstance(value, os.PathLike):
        return os.fspath(value)
    raise TypeError(f"a {type(value).__name__} cannot be written in a scenario")

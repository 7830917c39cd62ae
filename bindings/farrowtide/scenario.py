"""Scenarios: what the farm is, what is compared. Read and checked by the engine; immutable here."""

from __future__ import annotations

import json
import os
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

from farrowtide import _core
from farrowtide.policies import Policy, classes, origin


class Scenario:
    """A checked scenario. Every method that changes something returns a new one, checked anew as a whole."""

    def __init__(
        self,
        core: _core.Scenario,
        expression: str,
        own_policies: Sequence[type[Policy]] = (),
        command_words: Sequence[str] | None = None,
    ) -> None:
        self._core = core
        self.expression = expression  # the Python that makes it, for the provenance
        self.command_words = command_words  # what names it on the command line; None where no words do
        self._own_policies = tuple(own_policies)

    def override(self, values: Mapping[str, Any]) -> Scenario:
        """The scenario with the values at these dotted keys replaced in whole.

        >>> scenario.override({"feeding": {"kind": "full_access"}, "room.crates": 12})  # doctest: +SKIP

        Values may carry a unit as in a file ("72 degF"). Raises ScenarioError with every mistake.
        """
        core = self._core.override([(key, _as_json(value, key)) for key, value in values.items()])
        return self._with(core, f".override({dict(values)!r})")

    def alternative(self, name: str) -> Scenario:
        """The scenario with one of its own alternatives chosen."""
        return self._with(self._core.alternative(name), f".alternative({name!r})")

    def case(self, name: str) -> Scenario:
        """The scenario in one of its own cases."""
        return self._with(self._core.case(name), f".case({name!r})")

    def with_coefficients(self, overlay: str | os.PathLike[str] | Mapping[str, Any]) -> Scenario:
        """The scenario with other coefficients: a YAML file, or a mapping from dotted path to value.

        The overlay is recorded in the provenance of every result.
        """
        if isinstance(overlay, Mapping):
            text, source = _as_json(overlay, "coefficients"), "coefficients given as a mapping"
        else:
            text, source = Path(overlay).read_text(encoding="utf-8"), os.fspath(overlay)
        said = dict(overlay) if isinstance(overlay, Mapping) else source
        core = self._core.with_coefficients(self._core.coefficients.with_overlay(text, source))
        return self._with(core, f".with_coefficients({said!r})")

    def _with(self, core: _core.Scenario, step: str) -> Scenario:
        return Scenario(core, self.expression + step, self._own_policies)

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
        return [origin(policy) for policy in self._own_policies]

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
    own = classes(given)
    said = [_Said(one.__qualname__) if isinstance(one, type) else os.fspath(one) for one in given]
    called = f", policies={said!r}" if given else ""
    if isinstance(source, Mapping):
        core = _core.Scenario.parse(_as_json(source, "scenario"), "mapping", own)
        return Scenario(core, f"farrowtide.load({dict(source)!r}{called})", own)
    file = os.fspath(source)
    in_files = not any(isinstance(one, _Said) for one in said)
    words = [file, *(word for one in said for word in ("--policies", one))] if in_files else None
    return Scenario(_core.Scenario.load(file, own), f"farrowtide.load({file!r}{called})", own, words)


class _Said(str):
    """A text that is written without quotes."""

    __repr__ = str.__str__


def _as_json(value: Any, key: str) -> str:
    """JSON, which the engine's one YAML reader reads: there is no second parser to disagree with it."""
    try:
        return json.dumps(value, ensure_ascii=False, allow_nan=False, default=_plain)
    except (TypeError, ValueError) as problem:
        raise _core.UserError(f"{key}: {problem}") from None


def _plain(value: Any) -> Any:
    """NumPy scalars and arrays, dates and paths as JSON has them."""
    if hasattr(value, "tolist"):
        return value.tolist()
    if hasattr(value, "isoformat"):
        return value.isoformat()
    if isinstance(value, os.PathLike):
        return os.fspath(value)
    raise TypeError(f"a {type(value).__name__} cannot be written in a scenario")

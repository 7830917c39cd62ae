"""The steps of a protocol: which of them apply to a scenario, in words, and the keys that each comes from."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cache
from typing import Any

from farrowtide.report.protocol.phrases import Phrases, load_yaml, placeholders
from farrowtide.report.protocol.values import Values, declared
from farrowtide.report.wording.evidence import grade
from farrowtide.scenarios.declarations import declaration

NOT_GRADED = "\N{EN DASH}"
_WORDS = ("do", "when", "then")


@dataclass(frozen=True)
class Step:
    """A line of the protocol."""

    name: str  # "feeding.hand"
    number: str  # "3.2"
    do: str
    when: str
    then: str  # may be empty
    who: str
    evidence: str  # A, B, C or NOT_GRADED
    keys: tuple[str, ...]


@dataclass(frozen=True)
class Chapter:
    """The steps about one subject, and the cautions that go with them."""

    name: str
    title: str
    cautions: tuple[str, ...]
    steps: tuple[Step, ...]


@dataclass(frozen=True)
class Look:
    """A line of the audit sheet."""

    name: str
    look: str
    right: str
    minutes: int
    keys: tuple[str, ...]


@cache
def catalogue() -> dict[str, Any]:
    """The steps and looks as declared."""
    declared_steps: dict[str, Any] = load_yaml("steps.yaml")
    return declared_steps


def chapters(values: Values) -> list[Chapter]:
    """The chapters that have steps in this scenario."""
    found: list[Chapter] = []
    for name, steps in [*catalogue()["chapters"].items(), ("own", {})]:
        of_chapter = [*_steps(values, name, steps)] if name != "own" else [*_own(values)]
        if not of_chapter:
            continue
        number = len(found) + 1
        numbered = [_step(f"{number}.{place}", *step) for place, step in enumerate(of_chapter, 1)]
        topics = dict.fromkeys(topic for _, facts, *_ in of_chapter for topic in facts.get("caution", ()))
        cautions = tuple(values.phrases(f"cautions.{topic}") for topic in topics)
        found.append(Chapter(name, values.phrases(f"chapters.{name}"), cautions, tuple(numbered)))
    return found


_Made = tuple[str, dict[str, Any], dict[str, str], tuple[str, ...]]  # name, facts, words, keys


def _step(number: str, name: str, facts: dict[str, Any], words: dict[str, str], keys: tuple[str, ...]) -> Step:
    return Step(name, number, words["do"], words["when"], words["then"], words["who"], facts["evidence"], keys)


def _steps(values: Values, chapter: str, steps: dict[str, dict[str, Any]]) -> Iterator[_Made]:
    for name, facts in steps.items():
        for place in _places(values, facts.get("for_each")):
            made = _applied(values, f"steps.{chapter}.{name}", facts, _WORDS, place)
            if made:
                words, keys = made
                words["who"] = values.phrases(f"who.{facts['who']}")
                yield f"{chapter}.{name}{place}", facts | {"evidence": _evidence(values, keys)}, words, keys


def _places(values: Values, listed: str | None) -> list[str]:
    """The numbers of the entries of a list of the scenario; one empty text where the step is not about a list."""
    if not listed:
        return [""]
    numbers = (re.match(rf"{re.escape(listed)}\.(\d+)\.", path) for path in values.settings)
    return list(dict.fromkeys(match[1] for match in numbers if match))


def _applied(
    values: Values, name: str, facts: dict[str, Any], parts: Iterable[str], place: str = ""
) -> tuple[dict[str, str], tuple[str, ...]] | None:
    """The words of an entry and the keys that they come from; None where it does not apply."""
    values.used = {}
    only = [condition.replace("#", place) for condition in facts.get("only", ())]
    unless = facts.get("unless", ())
    if not all(map(values.holds, only)):
        return None
    if unless and all(map(values.holds, unless)):
        return None
    before = dict(values.used)
    words = {}
    for part in parts:
        text = values.phrases.texts.get(f"{name}.{part}", "").replace("#", place)
        if any(key.partition("|")[0] not in values.settings for key in placeholders(text)):
            return None
        words[part] = Phrases.filled(text, values.shown)
    keys = [key for key in (*before, *values.used) if key in values.settings or _matters(values, key)]
    return words, tuple(dict.fromkeys(keys))


def _matters(values: Values, key: str) -> bool:
    """Whether a key that is not set could be: it is declared for what was chosen."""
    return declared(values, key) is not None


def _evidence(values: Values, keys: tuple[str, ...]) -> str:
    """The weakest grade of the keys of a step: each of the policy's effect, or of its default where it is of no policy."""
    grades = [grade([key]) or getattr(declared(values, key), "grade", "") for key in keys]
    return max(filter(None, grades), default=NOT_GRADED)


def _own(values: Values) -> Iterator[_Made]:
    """A step for each policy that is the user's own, about which the engine knows nothing."""
    for family in declaration().keys:
        kind = f"{family.name}.kind"
        known = {variant.name for key in family.keys if key.name == "kind" for variant in key.variants}
        if not known or kind not in values.settings or values.settings[kind].value in known:
            continue
        keys = tuple(path for path in values.settings if path.startswith(f"{family.name}."))
        own = {"own.kind": values.settings[kind].value, "own.family": values.phrases(_title_of(family.name))}
        words = {
            part: Phrases.filled(values.phrases.texts[f"steps.own.policy.{part}"], lambda key, _, own=own: own[key])  # type: ignore[misc]
            for part in _WORDS
        }
        words["who"] = values.phrases("who.manager")
        yield f"own.{family.name}", {"evidence": NOT_GRADED}, words, keys


def _title_of(family: str) -> str:
    return f"chapters.{'farrowing' if family == 'attendance' else family}"


def looks(values: Values) -> list[Look]:
    """The lines of the audit sheet that apply."""
    found = []
    for name, facts in catalogue()["audit"].items():
        if made := _applied(values, f"audit.{name}", facts, ("look", "right")):
            words, keys = made
            found.append(Look(name, words["look"], words["right"], facts["minutes"], keys))
    return found

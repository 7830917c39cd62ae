"""Random scenarios as hypothesis strategies, drawn from the declaration of every key.

Each value is valid by itself: within its range (often at an end of it), one of its choices, in any of its units. Keys
that depend on each other are drawn together, except in one scenario of eight, which leaves it to the reader to refuse
what only a combination of keys makes invalid.
"""

from __future__ import annotations

import datetime
import math
from collections.abc import Callable
from typing import Any

from dependent_keys import CRATES, DEPENDENT, SOWS, Together
from hypothesis import HealthCheck, Phase, given, seed, settings
from hypothesis import strategies as st
from random_values import NAMES, SEEDS, numbers, simple

from farrowtide import catalogue
from farrowtide.scenarios.declarations import Declaration, declaration, path_of

# The largest size of a study that can be run thousands of times; every other range is drawn as declared.
AFFORDABLE = {
    "moves.from": 4,
    "moves.to": 4,
    "staff.shifts.people": 6,
    "farm.groups": 2,
    "farm.rooms": 8,
    "farm.rooms_per_group": 2,
    "farm.warm_up_groups": 1,
}
# What no alternative changes; of prices, one may change what the others count, too.
_OF_THE_STUDY = ("title", "question", "study", "prices", "cases", "alternatives")

# Whether dependent keys are drawn each for itself, in the whole of a scenario.
_CARELESS = st.shared(st.sampled_from([False] * 7 + [True]), key="careless")
_SELDOM = st.sampled_from([False, False, False, True])
_HALF_THE_TIME = st.booleans()

_HOURS = ("hour_of_work", "hour_on_duty")
_AMOUNTS = st.sampled_from([0, 0.35, 22, 1000])


@st.composite
def _prices(draw: st.DrawFn) -> dict[str, Any]:
    """Of any things, of which one is not free; the price of an hour is that of an hour worked or of one on duty."""
    section = next(key for key in declaration().keys if key.name == "prices")
    free = [key.name for key in section.keys if key.name not in ("currency", "change", "matters_per_litter", *_HOURS)]
    drawn = {name: draw(_AMOUNTS) for name in draw(st.lists(st.sampled_from(free), unique=True))}
    change = {name: draw(_AMOUNTS) for name in ("per_crate", "per_crate_and_year", "once", "training_hours")}
    drawn |= {draw(st.sampled_from(_HOURS)): draw(_AMOUNTS) + 0.01}
    return drawn | {"currency": draw(st.sampled_from(["EUR", "$", "=1+1"])), "change": change | {"lasts_years": 8}}


# Values that the declaration says too little about to be drawn from it.
_BY_PATH = {
    "study.reference": st.just(""),  # set to one of the alternatives
    "study.parts": st.just([]),  # set to none or one of them: two that change the same key would be refused
    "study.outputs": st.lists(st.sampled_from(sorted(catalogue())), max_size=3, unique=True),
    "study.seed": SEEDS,
    "farm.group_every": st.sampled_from([1, 7, 14, 21, 28, 42, 60]),
    "start": st.dates(datetime.date(1900, 1, 1), datetime.date(2199, 12, 31)).map(lambda date: date.isoformat()),
    "room.crates": CRATES,
    "prices": _prices(),
}
# The fewest and the most entries of lists, of which sows that are described and sows that are named agree.
_LENGTHS = {
    "herd.sows": st.tuples(SOWS, CRATES),
    "moves": SOWS.map(lambda sows: (0, 3 if sows > 1 else 0)),
    "staff.shifts": st.just((0, 3)),
}


def judge_one(number: int, judge: Callable[[dict[str, Any]], None]) -> None:
    """Calls `judge` with random scenario `number`; if that raises, with ever simpler ones that raise the same.

    One run of hypothesis for each scenario: it begins with the simplest one, and within a run the later examples would be
    variations of the earlier ones.
    """
    seen: list[dict[str, Any]] = []

    @seed(number)
    @settings(
        max_examples=2,
        database=None,
        deadline=None,
        phases=[Phase.generate, Phase.shrink],
        suppress_health_check=list(HealthCheck),
        report_multiple_bugs=False,
    )
    @given(scenarios())
    def judged(drawn: dict[str, Any]) -> None:
        seen.append(drawn)
        if len(seen) > 1:  # not the simplest one
            judge(drawn)

    judged()


def scenarios() -> st.SearchStrategy[dict[str, Any]]:
    """Scenarios as mappings for `farrowtide.load`: a farm, and up to two cases and three alternatives."""
    return _scenarios()


@st.composite
def _scenarios(draw: st.DrawFn) -> dict[str, Any]:
    scenario = draw(_ROOT)
    for key, most in (("cases", 2), ("alternatives", 3)):
        if names := draw(st.lists(NAMES, max_size=most, unique=True)):
            scenario[key] = {name: draw(_changes()) for name in names}
    if "alternatives" in scenario:
        of_alternatives = st.sampled_from(list(scenario["alternatives"]))
        scenario.setdefault("study", {})["reference"] = draw(of_alternatives)
        scenario["study"]["parts"] = draw(st.lists(of_alternatives, max_size=1))
    return scenario


@st.composite
def _changes(draw: st.DrawFn) -> dict[str, Any]:
    """What a case or an alternative replaces: whole sections, or keys by dotted path where they do not depend on a kind."""
    changed = draw(_FARM)
    if draw(st.booleans()):
        return changed
    dotted: dict[str, Any] = {}
    for section, value in changed.items():
        if isinstance(value, dict) and (section not in _WITH_KINDS or (draw(_CARELESS) and "kind" not in value)):
            dotted |= {f"{section}.{name}": v for name, v in value.items()}
        else:
            dotted[section] = value
    return dotted


def _mapping(keys: list[Declaration], path: str = "", *, always: str = "") -> st.SearchStrategy[dict[str, Any]]:
    """A section: required keys, any of the others, and those that belong to the chosen variants."""
    own = {key.name: key for key in keys}
    renamed = {key.name: st.sampled_from([key.name, *key.aliases]) for key in keys if key.aliases}
    of_variants = {(key.name, variant.name): _mapping(variant.keys, path) for key in keys for variant in key.variants}
    alone = {(key.name,): _by_itself(value(key, path_of(key, path))) for key in keys}
    groups = {names: together for names, together in DEPENDENT.get(path, {}).items() if own.keys() >= set(names)}
    together = groups | {names: one for names, one in alone.items() if not any(names[0] in group for group in groups)}
    given = {names: _how_often(own, names) for names in (*alone, *groups)}

    @st.composite
    def drawn_mapping(draw: st.DrawFn) -> dict[str, Any]:
        drawn: dict[str, Any] = {}
        for names, way in (alone if draw(_CARELESS) else together).items():
            declared = [own[name] for name in names]
            if always in names or any(key.required for key in declared) or draw(given[names]):
                drawn |= way(draw, *declared)
            for key in declared:
                if key.variants:
                    drawn |= draw(of_variants[key.name, drawn.get(key.name, key.default)])
        return {draw(renamed[name]) if name in renamed else name: value for name, value in drawn.items()}

    return drawn_mapping()


def _by_itself(values: st.SearchStrategy[Any]) -> Together:
    return lambda draw, key: {key.name: draw(values)}


def _how_often(own: dict[str, Declaration], names: tuple[str, ...]) -> st.SearchStrategy[bool]:
    return _HALF_THE_TIME if any(own[name].kind == "section" or own[name].variants for name in names) else _SELDOM


def value(key: Declaration, path: str) -> st.SearchStrategy[Any]:
    """The values of a key: all that its declaration allows, up to an affordable size."""
    if path in _BY_PATH:
        return _BY_PATH[path]
    match key.kind:
        case "integer":
            return numbers(key, high=AFFORDABLE.get(path, math.inf))
        case "section":
            return _mapping(key.keys, path, always="crates" if path == "room" else "")
        case "list":
            entry = _mapping(key.keys, path)
            return _LENGTHS[path].flatmap(lambda limits: st.lists(entry, min_size=limits[0], max_size=limits[1]))
    return simple(key)


_WITH_KINDS = {key.name for key in declaration().keys if any(inner.variants for inner in key.keys)}
_ROOT = _mapping([key for key in declaration().keys if key.kind != "anything"], always="room")
_FARM = _mapping([key for key in declaration().keys if key.name not in _OF_THE_STUDY])

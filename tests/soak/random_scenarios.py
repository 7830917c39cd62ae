"""Random scenarios as hypothesis strategies, drawn from the declaration of every key.

Each value is valid by itself: within its range (often at an end of it), one of its choices, in any of its units. What
only a combination of keys makes invalid is left to the reader, which refuses it.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from hypothesis import HealthCheck, Phase, given, seed, settings
from hypothesis import strategies as st

from farrowtide import catalogue
from farrowtide.scenarios.declarations import Declaration, declaration, path_of

# The largest size of a study that can be run thousands of times; every other range is drawn as declared.
AFFORDABLE = {
    "room.crates": 6,
    "herd.sows": 4,
    "moves": 3,
    "moves.from": 4,
    "moves.to": 4,
    "staff.shifts": 3,
    "staff.shifts.people": 6,
    "farm.groups": 2,
    "farm.rooms": 8,
    "farm.rooms_per_group": 2,
    "farm.warm_up_groups": 1,
}
_OF_THE_STUDY = ("title", "question", "study", "cases", "alternatives")  # what no alternative changes
_SOME_MORE = 4  # entries of a list beyond the fewest, where its number is not limited
_LARGEST_INTEGER = 2**31 - 1

# What one of a unit is in kg, m, L, s, J or K; units of one dimension are offered together.
_SIZES = {
    **{"kg": 1.0, "g": 1e-3, "mg": 1e-6, "t": 1e3, "lb": 0.45359237, "oz": 0.45359237 / 16},
    **{"m": 1.0, "cm": 1e-2, "mm": 1e-3, "in": 0.0254, "ft": 0.3048},
    **{"L": 1.0, "mL": 1e-3, "m3": 1e3, "gal": 3.785411784, "ft3": 28.316846592},
    **{"s": 1.0, "min": 60.0, "h": 3600.0, "d": 86400.0, "wk": 604800.0},
    **{"J": 1.0, "kJ": 1e3, "MJ": 1e6, "kcal": 4184.0, "Mcal": 4.184e6, "kWh": 3.6e6},
    **{"K": 1.0, "degC": 1.0, "degF": 5 / 9, "-": 1.0, "%": 0.01},
}


def converted(value: float, declared: str, unit: str) -> float:
    """A value in the declared unit of a key, in another of its units; they differ before a "/" only."""
    if (declared, unit) == ("degC", "degF"):
        return value * 9 / 5 + 32
    return value * _SIZES[declared.split("/")[0]] / _SIZES[unit.split("/")[0]]


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
        if names := draw(st.lists(_NAME, max_size=most, unique=True)):
            scenario[key] = {name: draw(_changes()) for name in names}
    if "alternatives" in scenario:
        scenario.setdefault("study", {})["reference"] = draw(st.sampled_from(list(scenario["alternatives"])))
    return scenario


@st.composite
def _changes(draw: st.DrawFn) -> dict[str, Any]:
    """What a case or an alternative replaces: whole sections, or keys by dotted path where they do not depend on a kind."""
    changed = draw(_FARM)
    if draw(st.booleans()):
        return changed
    dotted: dict[str, Any] = {}
    for section, value in changed.items():
        dotted |= (
            {f"{section}.{name}": v for name, v in value.items()}
            if isinstance(value, dict) and "kind" not in value
            else {section: value}
        )
    return dotted


def _mapping(keys: list[Declaration], path: str = "") -> st.SearchStrategy[dict[str, Any]]:
    """A section: required keys, any of the others, and those that belong to the chosen variants."""
    own = [(key, st.sampled_from([key.name, *key.aliases]), value(key, path_of(key, path))) for key in keys]
    of_variants = {(key.name, variant.name): _mapping(variant.keys, path) for key in keys for variant in key.variants}

    @st.composite
    def drawn_mapping(draw: st.DrawFn) -> dict[str, Any]:
        drawn: dict[str, Any] = {}
        for key, names, values in own:
            choice = key.default
            if key.required or draw(_HALF_THE_TIME if key.kind == "section" or key.variants else _SELDOM):
                choice = drawn[draw(names)] = draw(values)
            if key.variants:
                drawn |= draw(of_variants[key.name, choice])
        return drawn

    return drawn_mapping()


def value(key: Declaration, path: str) -> st.SearchStrategy[Any]:
    """The values of a key: all that its declaration allows, up to an affordable size."""
    if path in _BY_PATH:
        return _BY_PATH[path]
    match key.kind:
        case "number":
            return _number(key)
        case "integer":
            return _integer(key, path)
        case "boolean":
            return st.booleans()
        case "string":
            return _NAME
        case "choice":
            return st.sampled_from(key.options)
        case "time_of_day":
            return _MINUTE.map(_clock)
        case "times_of_day":
            return _entries(key, path, _MINUTE, unique=True).map(lambda minutes: [_clock(m) for m in sorted(minutes)])
        case "date":
            return st.dates().map(lambda date: date.isoformat())
        case "numbers":
            return _entries(key, path, _number(key))
        case "integers":
            return _entries(key, path, _integer(key, path), unique=True).map(sorted)
        case "strings":
            return st.lists(st.sampled_from(key.options), min_size=key.min_items, unique=True)
        case "section":
            return _mapping(key.keys, path)
        case "list":
            return _entries(key, path, _mapping(key.keys, path))
    raise ValueError(f"{path}: nothing is known of keys of the kind '{key.kind}'")


def _entries(
    key: Declaration, path: str, entry: st.SearchStrategy[Any], *, unique: bool = False
) -> st.SearchStrategy[list[Any]]:
    most = min(key.max_items or key.min_items + _SOME_MORE, AFFORDABLE.get(path, _LARGEST_INTEGER))
    return st.lists(entry, min_size=key.min_items, max_size=most, unique=unique)


def _integer(key: Declaration, path: str) -> st.SearchStrategy[int]:
    low = -_LARGEST_INTEGER if key.low is None else int(key.low)
    high = _LARGEST_INTEGER if key.high is None else int(key.high)
    high = min(high, AFFORDABLE.get(path, high))
    return st.sampled_from([low, high]) | st.integers(low, high)


def _number(key: Declaration) -> st.SearchStrategy[float | str]:
    """A bare number or one with a unit; an end of the range, or four figures within it."""
    low, high = ends(key)
    within = st.floats(low, high).map(lambda number: min(max(float(f"{number:.4g}"), low), high))
    bare = st.sampled_from([low, high]) | within
    units = [unit for unit in key.units if unit.split("/")[0] in _SIZES and key.unit.split("/")[0] in _SIZES]
    if not units:
        return bare
    with_unit = st.builds(
        lambda number, unit: f"{converted(number, key.unit, unit)!r} {unit}", within, st.sampled_from(units)
    )
    return bare | with_unit


def ends(key: Declaration) -> tuple[float, float]:
    """The ends of the range of a number, which every number has."""
    if key.low is None or key.high is None:
        raise ValueError(f"{key.name}: a number without a range")
    return key.low, key.high


def _clock(minute: int) -> str:
    return f"{minute // 60:02d}:{minute % 60:02d}"


_SELDOM = st.sampled_from([False, False, False, True])
_HALF_THE_TIME = st.booleans()
_MINUTE = st.integers(0, 24 * 60 - 1)
_NAME = st.sampled_from(["a", "b", "2 feeds", "[/b]", "=1+1", "20 °C, günstig", "x.y"]) | st.text(
    st.characters(codec="utf-8", categories=("L", "N", "P", "S", "Zs")), min_size=1, max_size=12
)
_SIXTY_DAYS = 60  # longer than any stay


def _weather(low: float, high: float) -> st.SearchStrategy[list[float]]:
    """A day that goes from its midnight to its noon value and back, again and again: a series lasts as long as a stay."""
    value = st.floats(low, high)
    days = st.tuples(value, value).map(lambda ends: [_between(*ends, abs(hour - 12) / 12) for hour in range(24)])
    return days.map(lambda day: day * _SIXTY_DAYS)


def _between(midnight: float, noon: float, share: float) -> float:
    return round(noon + (midnight - noon) * share, 2)


# Values that the declaration says too little about to be drawn from it.
_BY_PATH = {
    "study.reference": st.just(""),  # set to one of the alternatives
    "study.outputs": st.lists(st.sampled_from(sorted(catalogue())), max_size=3, unique=True),
    "study.seed": st.integers(0, _LARGEST_INTEGER),
    "climate.outdoor_hours": _weather(-50, 55),
    "climate.outdoor_humidity_hours": _weather(1, 100),
    "farm.group_every": st.sampled_from([1, 7, 14, 21, 28, 42, 60]),
    "start": st.dates().filter(lambda date: 1900 <= date.year < 2200).map(lambda date: date.isoformat()),
}
_ROOT = _mapping([key for key in declaration().keys if key.kind != "anything"])
_FARM = _mapping([key for key in declaration().keys if key.name not in _OF_THE_STUDY])

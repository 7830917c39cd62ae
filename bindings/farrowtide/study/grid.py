"""Every combination of values at some keys, as alternatives."""

from __future__ import annotations

import itertools
import json
import math
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from farrowtide.errors import UserError
from farrowtide.limits import MOST_COMBINATIONS

AS_WRITTEN = "as written"  # the scenario itself, the default reference
_LONGEST_VALUE = 40  # characters of a value in a name


def grid(vary: Mapping[str, Sequence[Any]]) -> dict[str, dict[str, Any]]:
    """Every combination of the values at these dotted keys, named after them: {name: {key: value}}.

    >>> list(grid({"room.crates": [12, 24], "handling.day": [3]}))
    ['crates 12, day 3', 'crates 24, day 3']
    """
    refuse_keys_of_the_study(vary, "vary")
    empty = [key for key, values in vary.items() if isinstance(values, str) or not len(values)]
    if not vary or empty:
        raise UserError(f"{empty[0] if empty else 'vary'}: a list of values is needed")
    combinations = math.prod(len(values) for values in vary.values())
    if combinations > MOST_COMBINATIONS:
        raise UserError(f"vary: {combinations:,} combinations; at most {MOST_COMBINATIONS:,} alternatives are compared")
    named = {key: _short(key, vary) for key in vary}
    alternatives: dict[str, dict[str, Any]] = {}
    for values in itertools.product(*vary.values()):
        values_at = dict(zip(vary, values, strict=True))
        name = ", ".join(f"{named[key]} {_shown(value)}" for key, value in values_at.items())
        if values_at in alternatives.values():
            raise UserError(f"'{name}' is given twice")
        same = sum(other == name or other.startswith(f"{name} (") for other in alternatives)
        alternatives[f"{name} ({same + 1})" if same else name] = values_at
    return alternatives


def refuse_keys_of_the_study(keys: Iterable[str], what: str) -> None:
    """Raises UserError where a key describes the study as a whole, which has one for all of its alternatives."""
    for key in keys:
        if key.partition(".")[0] in ("title", "question", "study", "cases", "alternatives"):
            raise UserError(f"{what}: '{key}' is not a key of the farm: the study as a whole has one")


def _short(key: str, keys: Mapping[str, Any]) -> str:
    """The shortest end of a dotted key that no other key has."""
    parts = key.split(".")
    ends = [".".join(parts[-length:]) for length in range(1, len(parts) + 1)]
    return next((end for end in ends if sum(other.endswith(f".{end}") or other == end for other in keys) == 1), key)


def _shown(value: Any) -> str:
    text = value if isinstance(value, str) else json.dumps(value, ensure_ascii=False, default=str).replace('"', "")
    return text if len(text) <= _LONGEST_VALUE else f"{text[: _LONGEST_VALUE - 1]}\N{HORIZONTAL ELLIPSIS}"

"""The errors that users see, and suggestions for misspelt names."""

from __future__ import annotations

import difflib
from collections.abc import Iterable

from farrowtide._core import InternalError, Mistake, ScenarioError, UserError

__all__ = ["InternalError", "Mistake", "ScenarioError", "UserError", "did_you_mean"]


def did_you_mean(word: str, known: Iterable[str]) -> str:
    """Returns " Did you mean 'x'?" with the closest of the known names, or "" if none is similar."""
    nearest = difflib.get_close_matches(word, list(known), n=1)
    return f" Did you mean '{nearest[0]}'?" if nearest else ""

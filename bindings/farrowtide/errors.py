"""What a user is told: the engine's errors, and the nearest name where there is none of that name."""

from __future__ import annotations

import difflib
from collections.abc import Iterable

from farrowtide._core import InternalError, Mistake, ScenarioError, UserError

__all__ = ["InternalError", "Mistake", "ScenarioError", "UserError", "did_you_mean"]


def did_you_mean(word: str, known: Iterable[str]) -> str:
    """ " Did you mean 'x'?" with the nearest of the known names; empty where none is near."""
    nearest = difflib.get_close_matches(word, list(known), n=1)
    return f" Did you mean '{nearest[0]}'?" if nearest else ""

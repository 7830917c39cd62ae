"""The most of what can be asked for; beyond, nothing is begun."""

from __future__ import annotations

import operator

from farrowtide.errors import UserError

MOST_REPLICATES = 2**31  # their numbers are whole numbers of 32 bits
MOST_SEED = 2**64 - 1
MOST_THREADS = 1024  # and workers
MOST_COMBINATIONS = 2_000  # of the values that a sweep varies, each an alternative
LEAST_DRAWS, MOST_DRAWS = 40, 20_000  # of what is not known


def require_whole(name: str, value: int, least: int, most: int | None = None) -> None:
    """Raises UserError unless the value is a whole number (of any type that counts as one) within these ends."""
    try:
        number = operator.index(value)
    except TypeError:
        raise UserError(f"{name} = {value!r}: must be a whole number") from None
    if number < least:
        raise UserError(f"{name} = {number}: must be at least {least}")
    if most is not None and number > most:
        raise UserError(f"{name} = {number}: must be at most {most:,}")

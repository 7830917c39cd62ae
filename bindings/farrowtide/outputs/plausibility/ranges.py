"""The plausible ranges of what is measured, with their grades and sources, as read from ranges.toml."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib import resources

import numpy as np


@dataclass(frozen=True)
class Range:
    """The plausible range of a measure; None: no limit."""

    name: str
    of: str
    what: str
    unit: str
    grade: str
    source: str
    advice: str
    low: float | None = None
    high: float | None = None
    counted_below: float | None = None  # of a measure that counts days with less than this

    def outside(self, values: np.ndarray) -> np.ndarray:
        """Which values lie outside; missing values do not."""
        below = values < self.low if self.low is not None else np.zeros(len(values), bool)
        return below | (values > self.high) if self.high is not None else below

    def excess(self, value: float) -> float:
        """How far a value lies outside, in the unit; negative inside."""
        above = value - self.high if self.high is not None else -np.inf
        below = self.low - value if self.low is not None else -np.inf
        return float(max(above, below))

    @property
    def limits(self) -> str:
        """The range in words, as what lies outside: "under 4 mm", "over 15 kg", "under 15 or over 30 degC"."""
        below = [] if self.low is None else [f"under {self.low:g}"]
        above = [] if self.high is None else [f"over {self.high:g}"]
        return f"{' or '.join(below + above)} {self.unit}"


@cache
def ranges() -> dict[str, Range]:
    """All ranges, by name."""
    text = resources.files("farrowtide.outputs.plausibility").joinpath("ranges.toml").read_text(encoding="utf-8")
    return {name: Range(name, **entry) for name, entry in tomllib.loads(text).items()}

"""What lactating sows usually eat by day, as published."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib import resources

import numpy as np


@dataclass(frozen=True)
class UsualIntake:
    """A published curve of feed eaten by day of lactation; the entries of usual_intake.toml."""

    name: str
    source: str
    design: str
    energy_at_zero_mcal_per_day: float
    energy_asymptote_mcal_per_day: float
    half_time_d: float
    shape: float
    diet_energy_mcal_per_kg: float
    parity_factor: dict[str, float]

    def kg_per_day(self, day: np.ndarray, parity_class: str) -> np.ndarray:
        """Feed eaten [kg/d] on these days of lactation by a sow of one of PARITY_CLASSES."""
        x = (day / self.half_time_d) ** self.shape
        rise = self.energy_asymptote_mcal_per_day - self.energy_at_zero_mcal_per_day
        energy = self.energy_at_zero_mcal_per_day + rise * x / (1 + x)
        eaten: np.ndarray = self.parity_factor[parity_class] * energy / self.diet_energy_mcal_per_kg
        return eaten


@cache
def usual_intake() -> UsualIntake:
    """The curve of usual_intake.toml."""
    text = resources.files("farrowtide.report").joinpath("usual_intake.toml").read_text(encoding="utf-8")
    return UsualIntake(**tomllib.loads(text))

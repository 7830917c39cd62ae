"""A sow's energy, day by day, in plain Python: written from the model's description, not from the engine's source.

Milk potential, reserve limit, heat, protein limit, balance, lysine, weight, backfat, litter gain. Energy in Mcal, weight
in kg, piglets' gain in kg/d.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp

import coefficient_files

SOW = coefficient_files.read("sow")
WEIGHED_TODAY = SOW.effective_temperature.today_weight


@dataclass(frozen=True)
class Fed:
    """What happened to the sow on a day, as far as her energy depends on it."""

    day: int
    eaten_kg: float
    temperature: float
    temperature_yesterday: float
    piglets: int = 0
    share_of_day: float = 1.0  # of the farrowing day, what was left after the last birth


@dataclass(frozen=True)
class Day:
    """What the sow made of it; `weight` and `backfat` at the end of the day."""

    maintenance: float
    body_energy: float
    weight_change: float
    weight: float
    backfat: float
    potential: float = 0.0
    milk: float = 0.0
    litter_gain: float = 0.0
    reserve_factor: float = 1.0
    heat_factor: float = 1.0
    protein_factor: float = 1.0
    lysine_weight_change: float = 0.0


class Sow:
    """Her body, and what her milk remembers of the days before."""

    def __init__(
        self,
        *,
        parity: int,
        weight: float,
        backfat: float,
        milk_effect: float,
        lactation_d: int,
        energy_per_kg: float,
        lysine_g_per_kg: float,
    ) -> None:
        self.parity, self.weight, self.backfat = parity, weight, backfat
        # The effect has mean 0 on the log scale; over sows the milk of the herd is not to depend on its spread.
        self.milk_multiplier = exp(milk_effect - SOW.sow_effects.milk_sd**2 / 2)
        self.lactation_d = max(lactation_d, SOW.milk.curve.shortest_renormalised)
        self.energy_per_kg, self.lysine_g_per_kg = energy_per_kg, lysine_g_per_kg
        self.smoothed_demand = self.smoothed_lysine_shortfall = 0.0
        c = SOW.body_composition
        self.protein = c.protein_intercept + c.protein_per_kg * c.empty_body_share * weight + c.protein_per_mm * backfat
        self.protein_at_farrowing: float | None = None

    def before_farrowing(self, fed: Fed) -> Day:
        need = SOW.pre_farrow.energy_need_multiple_of_maintenance * self._maintenance()
        return Day(need, **self._body(fed.eaten_kg * self.energy_per_kg - need, 0.0))

    def lactating(self, fed: Fed) -> Day:
        if self.protein_at_farrowing is None:
            self.protein_at_farrowing = self.protein
        maintenance, eaten = self._maintenance(), fed.eaten_kg * self.energy_per_kg
        potential = self._potential(max(1, fed.day), fed.piglets) * fed.share_of_day
        reserve, heat = self._reserve_limit(maintenance, potential, eaten), self._heat(fed)
        protein = self._protein_limit()
        milk = potential * reserve * heat * protein
        litter_gain = self._litter_gain(milk, fed)
        lysine = self._lysine(litter_gain, fed)
        body = self._body(eaten - maintenance - milk / SOW.energy_balance.milk_efficiency, lysine)
        return Day(
            maintenance,
            **body,
            potential=potential,
            milk=milk,
            litter_gain=litter_gain,
            reserve_factor=reserve,
            heat_factor=heat,
            protein_factor=protein,
            lysine_weight_change=lysine,
        )

    def _maintenance(self) -> float:
        return SOW.energy_balance.maintenance * self.weight**0.75

    def _potential(self, day: int, piglets: int) -> float:
        form = SOW.milk.potential
        by_parity = form.parity_factor[min(self.parity, len(form.parity_factor)) - 1]
        gain_g = (form.level - form.litter_size_slope * (piglets - form.litter_size_centre)) * by_parity
        gain_g *= form.herd_factor * self.milk_multiplier
        mean = (form.energy_per_litter_gain * gain_g - form.energy_per_piglet) * piglets / 1000
        of_whole = sum(self._curve(each) for each in range(1, self.lactation_d + 1)) / self.lactation_d
        return mean * self._curve(day) / of_whole

    def _curve(self, day: int) -> float:
        c = SOW.milk.curve
        return (c.a - c.b * self.lactation_d) * exp(-c.c * day) * exp(-exp(c.d - c.e * day))

    def _reserve_limit(self, maintenance: float, potential: float, eaten: float) -> float:
        k_milk, k_body = SOW.energy_balance.milk_efficiency, SOW.energy_balance.body_to_milk_efficiency
        demand = (maintenance + potential / k_milk - eaten) * k_milk / k_body
        limit = SOW.milk.reserve_limit
        self.smoothed_demand += (1 - exp(-1 / limit.memory)) * (demand - self.smoothed_demand)
        most = limit.energy * self.weight**0.75
        return max(0.0, 1 - limit.strength * max(0.0, self.smoothed_demand - most) / most)

    @staticmethod
    def _heat(fed: Fed) -> float:
        felt = WEIGHED_TODAY * fed.temperature + (1 - WEIGHED_TODAY) * fed.temperature_yesterday
        return max(0.0, 1 - SOW.milk.heat.slope * max(0.0, felt - SOW.milk.heat.above))

    def _protein_limit(self) -> float:
        limit, lost = SOW.milk.protein_limit, 1 - self.protein / self.protein_at_farrowing
        return max(limit.least, 1 - limit.fall * max(0.0, lost - limit.above) / limit.step)

    def _body(self, balance: float, other_weight_change: float) -> dict[str, float]:
        c = SOW.energy_balance
        if balance > 0:
            energy = c.gain_efficiency * balance
            by_energy = energy / c.energy_per_kg_gained
        else:
            energy = balance * c.milk_efficiency / c.body_to_milk_efficiency
            protein = c.protein_share_of_energy
            by_energy = energy * (c.weight_per_protein_energy * protein + c.weight_per_lipid_energy * (1 - protein))
        self.protein += c.protein_share_of_energy * energy / c.protein_energy
        change = by_energy + other_weight_change
        self.weight += change
        self.backfat += c.backfat_per_kg * by_energy
        return {"body_energy": energy, "weight_change": change, "weight": self.weight, "backfat": self.backfat}

    @staticmethod
    def _litter_gain(milk: float, fed: Fed) -> float:
        form = SOW.milk.potential
        upkeep = form.energy_per_piglet * fed.piglets * fed.share_of_day
        return max(0.0, (1000 * milk + upkeep) / form.energy_per_litter_gain) / 1000

    def _lysine(self, litter_gain: float, fed: Fed) -> float:
        """Weight change by body protein that goes into milk for want of lysine, its energy spared as lipid."""
        c, body = SOW.lysine, SOW.energy_balance
        need_g = c.need_per_gain * litter_gain + c.need_intercept
        shortfall_g = c.digestible_share * (need_g - self.lysine_g_per_kg * fed.eaten_kg)
        self.smoothed_lysine_shortfall += (1 - exp(-1 / c.memory)) * (shortfall_g - self.smoothed_lysine_shortfall)
        short = self.smoothed_lysine_shortfall
        steep = c.protein_loss_curvature * max(0.0, short - c.free_shortfall) ** 2
        protein = max(0.0, min(c.protein_loss_limit * short, steep)) / 1000
        self.protein -= protein
        return (
            body.tissue_per_lipid * protein * body.protein_energy / body.lipid_energy
            - body.tissue_per_protein * protein
        )

"""A sow's energy, day by day, in plain Python: written from the model's description, not from the engine's source.

Milk potential, feed, heat, protein limit, balance, lysine, weight, backfat, litter gain. Energy in Mcal, weight
in kg, piglets' gain in kg/d.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, log

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
    feed_factor: float = 1.0
    heat_factor: float = 1.0
    protein_factor: float = 1.0
    lysine_factor: float = 1.0
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
            self.smoothed_demand = SOW.milk.feed_response.usual_demand * self.weight**0.75
        maintenance, eaten = self._maintenance(), fed.eaten_kg * self.energy_per_kg
        potential = self._potential(max(1, fed.day), fed.piglets) * fed.share_of_day
        feed, heat = self._feed_factor(maintenance, potential, eaten), self._heat(fed)
        protein, lysine_factor = self._protein_limit(), self._lysine_factor(potential, fed)
        milk = potential * feed * heat * protein * lysine_factor
        litter_gain = self._litter_gain(milk, fed)
        lysine = self._lysine(litter_gain, fed)
        body = self._body(eaten - maintenance - milk / SOW.energy_balance.milk_efficiency, lysine)
        return Day(
            maintenance,
            **body,
            potential=potential,
            milk=milk,
            litter_gain=litter_gain,
            feed_factor=feed,
            heat_factor=heat,
            protein_factor=protein,
            lysine_factor=lysine_factor,
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

    def _feed_factor(self, maintenance: float, potential: float, eaten: float) -> float:
        k_milk, k_body = SOW.energy_balance.milk_efficiency, SOW.energy_balance.body_to_milk_efficiency
        demand = (maintenance + potential / k_milk - eaten) * k_milk / k_body
        form = SOW.milk.feed_response
        self.smoothed_demand += (1 - exp(-1 / form.memory)) * (demand - self.smoothed_demand)
        drawn, usual = (self._drawn(x) for x in (self.smoothed_demand / self.weight**0.75, form.usual_demand))
        return exp(-self._of_parity(form.slope) * (drawn - usual))

    @staticmethod
    def _drawn(demand: float) -> float:
        smoothing = SOW.milk.feed_response.smoothing
        return smoothing * log(1 + exp(demand / smoothing))

    @staticmethod
    def _heat(fed: Fed) -> float:
        felt = WEIGHED_TODAY * fed.temperature + (1 - WEIGHED_TODAY) * fed.temperature_yesterday
        form = SOW.milk.heat
        return (1 + exp((felt - form.above) / form.smoothing)) ** (-form.slope * form.smoothing)

    def _of_parity(self, table: list[float]) -> float:
        return table[min(self.parity, len(table)) - 1]

    def _protein_limit(self) -> float:
        limit, lost = SOW.milk.protein_limit, 1 - self.protein / self.protein_at_farrowing
        return max(limit.least, 1 - limit.fall * max(0.0, lost - limit.above) / limit.step)

    def _body(self, balance: float, other_weight_change: float) -> dict[str, float]:
        c, body = SOW.energy_balance, SOW.body_composition
        fatness = (self.backfat / c.usual_backfat) ** c.protein_backfat_exponent
        share = c.protein_share_of_energy
        protein_to_lipid = share / (1 - share) * self._of_parity(c.protein_parity_factor) / fatness
        energy = balance * (c.gain_efficiency if balance > 0 else c.milk_efficiency / c.body_to_milk_efficiency)
        lipid = energy / (1 + protein_to_lipid)
        tissue = (energy - lipid) * c.weight_per_protein_energy + lipid * c.weight_per_lipid_energy
        by_energy = energy / c.energy_per_kg_gained if balance > 0 else tissue
        self.protein += (energy - lipid) / c.protein_energy
        change = by_energy + other_weight_change
        self.weight += change
        # lipid = a + b (empty weight) + c P2, for tissue of that composition.
        self.backfat += (
            lipid / c.lipid_energy - body.lipid_per_kg * body.empty_body_share * tissue
        ) / body.lipid_per_mm
        return {"body_energy": energy, "weight_change": change, "weight": self.weight, "backfat": self.backfat}

    @staticmethod
    def _litter_gain(milk: float, fed: Fed) -> float:
        form = SOW.milk.potential
        upkeep = form.energy_per_piglet * fed.piglets * fed.share_of_day
        return max(0.0, (1000 * milk + upkeep) / form.energy_per_litter_gain) / 1000

    def _lysine_factor(self, potential: float, fed: Fed) -> float:
        c, usual = SOW.lysine, self._litter_gain(potential, Fed(fed.day, 0, 0, 0, fed.piglets))
        short = max(0.0, self.smoothed_lysine_shortfall) / c.digestible_share
        response = c.gain_response * self._of_parity(c.gain_factor)
        return exp(-response / (1 - response * c.need_per_gain) * short / usual)

    def _lysine(self, litter_gain: float, fed: Fed) -> float:
        """Weight change by body protein that goes into milk for want of lysine, its energy spared as lipid."""
        c, body = SOW.lysine, SOW.energy_balance
        need_g = c.need_per_gain * litter_gain + c.need_intercept
        shortfall_g = c.digestible_share * (need_g - self.lysine_g_per_kg * fed.eaten_kg)
        self.smoothed_lysine_shortfall += (1 - exp(-1 / c.memory)) * (shortfall_g - self.smoothed_lysine_shortfall)
        short = self.smoothed_lysine_shortfall
        steep = c.protein_loss_curvature * max(0.0, short - c.free_shortfall) ** 2
        protein = max(0.0, min(c.protein_loss_limit * short, steep)) * self._of_parity(c.loss_factor) / 1000
        self.protein -= protein
        return (
            body.tissue_per_lipid * protein * body.protein_energy / body.lipid_energy
            - body.tissue_per_protein * protein
        )

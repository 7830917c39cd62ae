"""Which levels and coefficients a calibration moves, by what the records hold."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from farrowtide.analysis.calibration.summary import Statistic
from farrowtide.errors import UserError, quoted
from farrowtide.scenarios.parameters import Parameter, parameter
from farrowtide.scenarios.scenario import Scenario


@dataclass(frozen=True)
class Movable:
    """A parameter that is moved where the records hold one of these quantities (beginnings of their names)."""

    name: str
    informed_by: tuple[str, ...]
    needs: str  # in words


# A few that differ between farms and that records can speak of; the records set keys that describe the herd directly
# (litter size, parities, weights), and those are not moved. The choice is common practice, no source.
USUAL = (
    Movable("herd.intake_level", ("eaten", "offered"), "feed by day"),
    Movable("sow.appetite.curve.half_time", ("eaten", "offered"), "feed by day"),
    Movable("sow.appetite.curve.parity_factor[0]", ("eaten",), "feed eaten by day of first-parity sows"),
    Movable("sow.water.demand.ratio_at_reference", ("water",), "water by day"),
    Movable("herd.milk_level", ("piglet weight",), "litter weight at weaning"),
    Movable("herd.mortality_level", ("mortality",), "piglets that died"),
    Movable("herd.stillbirth_level", ("stillborn",), "stillborn piglets"),
    Movable("herd.health_level", ("treated",), "treatments"),
    Movable("sow.signs.nursing_sensitivity", ("treated",), "treatments"),
    Movable("sow.farrowing.intervals.level", ("duration",), "farrowing duration"),
    Movable("sow.after_weaning.interval.later_parity_late_share", ("served",), "date of the next service"),
)


def usual(scenario: Scenario, statistics: Sequence[Statistic]) -> list[Parameter]:
    """The usual parameters on which these statistics bear."""
    names = {statistic.quantity.name for statistic in statistics if statistic.quantity.fitted}
    return [parameter(scenario, each.name) for each in USUAL if _informed(each, names)]


def not_informed(statistics: Sequence[Statistic]) -> list[Movable]:
    """The usual parameters that stay, because the records hold nothing on them."""
    names = {statistic.quantity.name for statistic in statistics if statistic.quantity.fitted}
    return [each for each in USUAL if not _informed(each, names)]


def named(scenario: Scenario, names: Sequence[str]) -> list[Parameter]:
    """The parameters of these names. Raises UserError where one is unknown, named twice, or part of another."""
    found = [parameter(scenario, name) for name in names]
    paths = [each.name.partition("[")[0] for each in found]
    for each, path in zip(found, paths, strict=True):
        if [other.name for other in found].count(each.name) > 1 or (
            path != each.name and path in [f.name for f in found]
        ):
            raise UserError(f"{each.name} is named twice among what may move: {quoted(names)}")
    return found


def _informed(each: Movable, names: set[str]) -> bool:
    return any(name.startswith(beginning) for name in names for beginning in each.informed_by)

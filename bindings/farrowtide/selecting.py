"""Selection: the best alternative, limits, equivalence, Pareto sets, quantiles and what an alternative may cost, from the
results of a comparison.
"""

from farrowtide.analysis.break_even import break_even
from farrowtide.analysis.limits import BestWithin, best_within
from farrowtide.analysis.margins import equivalent, no_worse_than
from farrowtide.analysis.pareto import pareto, surely_dominated
from farrowtide.analysis.quantiles import quantiles, worst_decile
from farrowtide.analysis.selection import Selection
from farrowtide.outputs.output import good_direction
from farrowtide.statistics.quantiles import rooms_for_quantile

__all__ = [
    "BestWithin",
    "Selection",
    "best_within",
    "break_even",
    "equivalent",
    "good_direction",
    "no_worse_than",
    "pareto",
    "quantiles",
    "rooms_for_quantile",
    "surely_dominated",
    "worst_decile",
]

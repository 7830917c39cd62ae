"""Pairing: the precision gained by comparing alternatives on the same animals, and what each animal gains or loses."""

from farrowtide.analysis.each_sow import SOW_MEASURES, side_by_side
from farrowtide.analysis.variance_reduction import meaning, shown_factor, shown_number, variance_reduction
from farrowtide.results.each_sow import EachSow, each_sow
from farrowtide.results.pairing import PairingTable, pairing_table
from farrowtide.statistics.variance_reduction import best_factor, variance_factor

__all__ = [
    "SOW_MEASURES",
    "EachSow",
    "PairingTable",
    "best_factor",
    "each_sow",
    "meaning",
    "pairing_table",
    "shown_factor",
    "shown_number",
    "side_by_side",
    "variance_factor",
    "variance_reduction",
]

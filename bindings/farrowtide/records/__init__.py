"""A farm's own records: read and checked, turned into a scenario, or taken from a simulated farm."""

from farrowtide.records.describing import Described, describe
from farrowtide.records.reading import read
from farrowtide.records.simulated import simulated
from farrowtide.records.tables import Records, Source

__all__ = ["Described", "Records", "Source", "describe", "read", "simulated"]

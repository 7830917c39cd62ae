"""Policies of your own: a class for each, found by its `name` after the family's `kind:` in a scenario.

>>> class Doubling(farrowtide.policies.Feeding):
...     "Little on the first day, twice as much every day up to a most."
...     name = "doubling"
...     parameters = {"most": Parameter(7.0, unit="kg/d", low=1, high=12, help="Most feed a day.")}
...
...     def rounds(self):
...         return ["07:00", "15:00"]
...
...     def decide(self, view):
...         return min(self.most, 2.0 ** max(0, view.day)) / 2

`farrowtide.load("farm.yaml", policies=[Doubling])`, or `--policies FILE` on the command line, makes `feeding: {kind:
doubling, most: 6 kg/d}` a policy like any other: checked, compared and named in the report and its provenance.

A policy decides and does nothing else: from what it is shown it says what is to be done, and people do it when they
have the time. It keeps nothing from one call to the next, draws nothing, and so gives the same answer to the same view;
only then do the same seed and version give the same numbers on any number of threads. Attributes cannot be set after it
was made. Methods without a view are asked once, when a scenario is read; the others for each sow, drinker or hour.

Python is asked under its lock, so threads would queue for each other: `libsim/policy/README.md` says what that costs.
"""

from farrowtide._core import (
    CareView,
    DrinkerView,
    FeedingView,
    FosteringView,
    GiltView,
    HandlingView,
    LabourView,
    LitterView,
    PigletView,
    TemperatureView,
    TroughDecision,
    TroughView,
)
from farrowtide.scenarios.policies.families import (
    Attendance,
    Care,
    Feeding,
    Fostering,
    Handling,
    Loading,
    Parameter,
    Policy,
    Temperature,
    Water,
)

__all__ = [
    "Attendance",
    "Care",
    "CareView",
    "DrinkerView",
    "Feeding",
    "FeedingView",
    "Fostering",
    "FosteringView",
    "GiltView",
    "Handling",
    "HandlingView",
    "LabourView",
    "LitterView",
    "Loading",
    "Parameter",
    "PigletView",
    "Policy",
    "Temperature",
    "TemperatureView",
    "TroughDecision",
    "TroughView",
    "Water",
]

"""Policies of your own in Python. A scenario names one by its `name`, after the `kind:` of its family.

>>> class Doubling(farrowtide.policies.Feeding):
...     "Little feed on the first day, twice as much each day up to a maximum."
...     name = "doubling"
...     parameters = {"maximum": Parameter(7.0, unit="kg/d", low=1, high=12, help="Most feed in a day.")}
...
...     def rounds(self):
...         return ["07:00", "15:00"]
...
...     def decide(self, view):
...         return min(self.maximum, 2.0 ** max(0, view.day)) / 2

With `farrowtide.load("farm.yaml", policies=[Doubling])`, or `--policies FILE` on the command line, `feeding: {kind:
doubling, maximum: 6 kg/d}` is a policy like any other: checked, compared, and named in reports and provenance.

A policy only decides: it answers from what it is shown, and staff carry the decision out when they have time. It must
give the same answer to the same view, on any number of threads. Policies are therefore stateless (attributes cannot be
set) and draw no random numbers. Methods without a view are asked once, when a scenario is read; the class of each
family says when the others are asked, what their view holds and what they may return.

Only one thread can run Python at a time; `libsim/policy/README.md` says what that costs.
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

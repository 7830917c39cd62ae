"""The families of policies: what a class of each must answer. The public module is `farrowtide.policies`."""

from __future__ import annotations

import abc
import re
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any, ClassVar

from farrowtide._core import (
    CareView,
    DrinkerView,
    FeedingView,
    FosteringView,
    GiltView,
    HandlingView,
    LabourView,
    TemperatureView,
    TroughDecision,
    TroughView,
)
from farrowtide.errors import UserError
from farrowtide.scenarios.policies.errors import complaint

_CLOCK_TIME = re.compile(r"\d\d:\d\d")


@dataclass(frozen=True)
class Parameter:
    """A key of the policy in a scenario. What it is follows from its default: a float is a number in `unit`, an int a
    whole number, a bool yes or no, a text one of `options`, a text like "07:00" a time of day and a list of those rising
    times of day; times reach the policy as hours since midnight. `coefficient`: a path of the coefficient library that
    gives the default of a number, in place of one given here. `low` and `high` are included.
    """

    default: Any = None
    unit: str = "-"
    low: float | None = None
    high: float | None = None
    options: Sequence[str] = ()
    help: str = ""
    coefficient: str = ""

    @property
    def kind(self) -> str:
        """What the engine reads it as."""
        if isinstance(self.default, bool):
            return "yes_no"
        if isinstance(self.default, int):
            return "whole"
        if isinstance(self.default, str):
            return "time_of_day" if _CLOCK_TIME.fullmatch(self.default) else "choice"
        if isinstance(self.default, (list, tuple)):
            return "times_of_day"
        if isinstance(self.default, float) or (self.default is None and self.coefficient):
            return "number"
        raise UserError(f"Parameter({self.default!r}): a number, a bool, a text, a list of times, or a coefficient")


class Policy(abc.ABC):
    """What the families have in common. Subclass a family, not this."""

    family: ClassVar[str]
    name: ClassVar[str]  # after `kind:`
    help: ClassVar[str] = ""  # a sentence; the class's docstring if it is left out
    parameters: ClassVar[Mapping[str, Parameter]] = MappingProxyType({})

    def check(self) -> None:
        """Raise ValueError where the parameters do not fit each other; a mistake of the scenario, told with its place."""
        return

    def describe(self) -> str:
        """One sentence for reports: the help and the parameters, unless you say it better."""
        values = ", ".join(f"{name} {getattr(self, name)}" for name in self.parameters)
        return f"{type(self).help.rstrip('.')}{f' ({values})' if values else ''}, own policy"

    @classmethod
    def _made(cls, values: Mapping[str, Any]) -> Policy | tuple[Policy, str]:
        """An object with these parameters; with the complaint of its own check where there is one."""
        policy = object.__new__(cls)
        for name, value in values.items():
            object.__setattr__(policy, name, tuple(value) if isinstance(value, list) else value)
        try:
            policy.check()
        except ValueError as problem:
            return policy, str(problem)
        except Exception as error:
            raise UserError(complaint("of_error", policy, "check", error, "")) from None
        return policy

    def __setattr__(self, name: str, value: Any) -> None:
        raise AttributeError(f"a policy keeps nothing: '{name}' cannot be set")


class Loading(Policy):
    """When sows come into the room, where first-parity sows stand, and who teaches them to drink and eat."""

    family = "loading"

    @abc.abstractmethod
    def days_before_due(self) -> int:
        """Days from loading to the group's mean due date."""

    def gilt_places(self) -> str:
        """'side_by_side' or 'spread'."""
        return "side_by_side"

    @abc.abstractmethod
    def teach(self, view: GiltView) -> bool:
        """Whether somebody shows her this morning where to drink and eat."""


class Feeding(Policy):
    """When feed comes to the troughs, and how much each sow gets."""

    family = "feeding"

    @abc.abstractmethod
    def rounds(self) -> Iterable[str | float]:
        """Clock times of the rounds, rising: "07:00" or hours since midnight. Every day the same."""

    def pre_farrow_rounds(self) -> Iterable[str | float]:
        """Those at which sows about to farrow are fed; they move the hour of farrowing."""
        return self.rounds()

    @abc.abstractmethod
    def decide(self, view: FeedingView) -> float | str | None:
        """Feed for her at this round [kg]; 'full' for feed always at hand; None: the round passes her by.

        Much feed before farrowing goes with more of the post-partum disorder: the herd veterinarian advises.
        """

    def dropped_by_machine(self) -> bool:
        """Whether a machine drops the feed, at its time and without people."""
        return False

    def machine_look_at(self) -> str | float | None:
        """The clock time at which staff look once a day at the troughs that a machine fills."""
        return None

    def checks_troughs(self) -> bool:
        """Whether staff look at each trough in the morning, once she has farrowed."""
        return False

    def at_trough_check(self, view: TroughView) -> TroughDecision | None:
        """What follows from the look: TroughDecision(allowance_kg_per_day=..., flag=..., clean=...), or None."""
        return None

    def wet(self) -> bool:
        """Whether the feed comes wet, or water with it."""
        return False


class Water(Policy):
    """Which drinkers are looked at when, and how little flow calls for repair."""

    family = "water"

    @abc.abstractmethod
    def check_flow(self, view: DrinkerView) -> bool:
        """Whether its flow is looked at this morning."""

    @abc.abstractmethod
    def action_limit_l_per_min(self) -> float:
        """A drinker found to give less is put right [L/min]; one that is clogged always is."""


class Temperature(Policy):
    """The room's set point. Lower it only where the creep stays warm; heat lamps are a fire and burn hazard."""

    family = "temperature"

    @abc.abstractmethod
    def set_point_deg_c(self, view: TemperatureView) -> float:
        """What the room is set to in this hour [degC], 10 to 32."""


class Attendance(Policy):
    """Who is there when sows farrow, how often they look, and when they help.

    An exam is a skilled internal procedure: the herd veterinarian and local rules decide who makes it. Lone night work
    is a hazard of its own.
    """

    family = "attendance"

    @abc.abstractmethod
    def round_every_min(self) -> float | None:
        """Time between rounds while staff are on [min]; None: nobody goes round and nobody helps."""

    @abc.abstractmethod
    def help_birth(self, view: LabourView) -> bool:
        """Whether she is examined."""

    def look_at(self, view: LabourView) -> bool:
        """Whether this round goes to her."""
        return True

    def night_people(self) -> int:
        """People in the room from the end of the last shift to the begin of the first."""
        return 0

    @abc.abstractmethod
    def care_intensity(self) -> float:
        """How much is done for each newborn, 0-1: dried, cleared, warmed, brought to the udder."""


class Care(Policy):
    """Which signs are looked for in which sows, and what follows from them.

    What a treatment is, and whether a sow gets it, is the herd veterinarian's decision.
    """

    family = "care"

    @abc.abstractmethod
    def look_for(self, view: CareView) -> Collection[str]:
        """Signs looked for this morning: temperature, nursing, not_eaten_or_drunk, udder, legs."""

    @abc.abstractmethod
    def treat(self, view: CareView) -> bool:
        """Asked whenever a sign was seen, right or wrong, and at every reading of the temperature."""

    def temperature_after_h(self, view: CareView) -> float | None:
        """When her rectal temperature is taken, counted from the last birth [h]; None: not taken."""
        return None

    def stand_up_rounds(self) -> Iterable[str | float]:
        """Clock times at which every sow is made to stand up."""
        return ()

    def wean_today(self, view: CareView) -> bool:
        """Asked each morning: whether her litter is weaned today. Local law sets the least age."""
        return False


class Fostering(Policy):
    """Which piglets go to which sow. Moves carry disease: the herd veterinarian advises."""

    family = "fostering"

    @abc.abstractmethod
    def times(self) -> Iterable[str | float]:
        """Clock times at which moves are planned."""

    @abc.abstractmethod
    def plan(self, view: FosteringView) -> Iterable[tuple[int, int]]:
        """Pairs: place of a piglet in view.piglets, place of the litter it goes to in view.litters."""

    def nurse_sows(self) -> int:
        """Sows that may be brought in to nurse, when a plan leaves surplus piglets."""
        return 0


class Handling(Policy):
    """On which days litters are processed. Pain relief where local law asks for it; the herd veterinarian advises."""

    family = "handling"

    @abc.abstractmethod
    def share_of_processing(self, view: HandlingView) -> float:
        """Part of the litter's processing done today, 0-1; the parts of a litter's days add up to 1."""

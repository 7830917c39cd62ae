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

from __future__ import annotations

import abc
import hashlib
import inspect
import os
import re
import sys
import traceback
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType, ModuleType
from typing import Any, ClassVar

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
    UserError,
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
    "Temperature",
    "TemperatureView",
    "TroughDecision",
    "TroughView",
    "Water",
]

NOT_RECORDED = "not recorded"
_CLOCK_TIME = re.compile(r"\d\d:\d\d")
_NAME = re.compile(r"[a-z][a-z0-9_]*")


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
            raise UserError(_complaint("of_error", policy, "check", error, "")) from None
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


@dataclass(frozen=True)
class PolicyFile:
    """A Python file as it was read: workers elsewhere need not have it."""

    path: str
    text: str


def classes(given: Iterable[type[Policy] | PolicyFile]) -> list[type[Policy]]:
    """The policy classes among these: classes as they are, of a Python file all that it defines. Raises UserError."""
    found: list[type[Policy]] = []
    for one in given:
        found += [one] if isinstance(one, type) else _classes_in(one)
    for policy in found:
        _refuse_unfit(policy)
    return found


def origin(policy: type[Policy]) -> dict[str, str]:
    """For the provenance: which policy it is, and 16 hex digits over the source that it was read from."""
    # Whole files, of the classes below it, too: what they use beside the class may change what it decides.
    own = [one for one in policy.__mro__ if issubclass(one, Policy) and one.__module__ != __name__]
    try:
        files = dict(_source_of(one) for one in own)
        where, digest = next(iter(files)), _digest("".join(files.values()))
    except (OSError, TypeError, KeyError):
        where, digest = "not in a file", NOT_RECORDED
    return {"family": policy.family, "name": policy.name, "class": policy.__qualname__, "file": where, "hash": digest}


def _source_of(policy: type[Policy]) -> tuple[str, str]:
    """The name of its file, and all that stands there; what was typed, in a notebook or a shell that remembers it."""
    read = getattr(sys.modules[policy.__module__], "_read_from", None)
    if read:
        return Path(read.path).name, read.text
    file = Path(inspect.getfile(policy))
    return file.name, file.read_text(encoding="utf-8") if file.is_file() else inspect.getsource(policy)


def _digest(text: str) -> str:
    return hashlib.sha256(text.encode("utf-8", errors="surrogatepass")).hexdigest()[:16]


def _classes_in(file: PolicyFile) -> list[type[Policy]]:
    # The same text from the same place is the same module: it is run once, in each worker of a study, too.
    name = f"farrowtide_own_{_digest(file.path + file.text)}"
    module = sys.modules.get(name) or _module(name, file)
    own = [value for value in vars(module).values() if isinstance(value, type) and issubclass(value, Policy)]
    found = [value for value in dict.fromkeys(own) if value.__module__ == name and "name" in vars(value)]
    if not found:
        raise UserError(f"{file.path}: no policy: a class below one of farrowtide.policies, with a `name`")
    return found


def _module(name: str, file: PolicyFile) -> ModuleType:
    module = ModuleType(name)
    module.__file__ = os.path.abspath(file.path)
    vars(module)["_read_from"] = file
    sys.modules[name] = module
    try:
        exec(compile(file.text, module.__file__, "exec", dont_inherit=True), vars(module))
    except Exception as error:
        del sys.modules[name]
        raise UserError(f"{_place(error, module.__file__)}: {type(error).__name__}: {error}") from None
    return module


def _refuse_unfit(policy: type[Policy]) -> None:
    """What would fail later, told now and by the class's name."""
    if not (isinstance(policy, type) and issubclass(policy, Policy)) or not hasattr(policy, "family"):
        raise UserError(f"{policy!r} is no policy: a class below one of farrowtide.policies")
    where = f"{_file_of(policy)}: {policy.__qualname__}"
    if not _NAME.fullmatch(getattr(policy, "name", "")):
        raise UserError(f"{where}: `name` is needed: small letters, digits and _")
    if missing := sorted(policy.__abstractmethods__):
        raise UserError(f"{where} lacks {', '.join(missing)}")
    if "help" not in vars(policy) and (policy.__doc__ or not policy.help):
        policy.help = inspect.cleandoc(policy.__doc__ or policy.name).splitlines()[0]
    if not isinstance(policy.parameters, Mapping):
        raise UserError(f"{where}: `parameters` is a mapping from a key to its Parameter")
    for key, parameter in policy.parameters.items():
        if not _NAME.fullmatch(key) or hasattr(policy, key) or key == "kind":
            raise UserError(f"{where}: a parameter cannot be called '{key}'")
        if not isinstance(parameter, Parameter):
            raise UserError(f"{where}: parameters['{key}'] is a {type(parameter).__name__}, not a Parameter")
        ends = [end for end in (parameter.low, parameter.high) if end is not None]
        if parameter.kind == "whole" and not all(isinstance(end, int) for end in ends):
            raise UserError(f"{where}: parameters['{key}'] is a whole number, and so are its ends")
        if parameter.kind in ("number", "whole") and parameter.default is not None:
            low, high = parameter.low, parameter.high
            if (low is not None and parameter.default < low) or (high is not None and parameter.default > high):
                raise UserError(f"{where}: the default of parameters['{key}'] lies outside its own range")


def _file_of(policy: type) -> str:
    try:
        return Path(inspect.getfile(policy)).name
    except (OSError, TypeError):
        return "own policy"


def _place(error: BaseException, file: str) -> str:
    """`file:line` where the error came up, in that file if it was on the way."""
    if isinstance(error, SyntaxError) and error.filename == file:
        return f"{_shown(file)}:{error.lineno}"
    lines = [frame.lineno for frame in traceback.extract_tb(error.__traceback__) if frame.filename == file]
    return f"{_shown(file)}:{lines[-1]}" if lines else _shown(file)


def _shown(file: str) -> str:
    """As it is called from here, where it lies below this folder."""
    near = os.path.relpath(file) if os.path.isabs(file) else file
    return file if near.startswith(os.pardir) else near


def _complaint(what: str, policy: Policy, method: str, about: Any, wanted: str) -> str:
    """What is wrong with a policy's method, for the engine: `about` is the exception, or the unfit answer."""
    called = f"{type(policy).__qualname__}.{method}"
    code = getattr(getattr(type(policy), method, None), "__code__", None)
    file = code.co_filename if code else _file_of(type(policy))
    if what == "of_error":
        return f"{_place(about, file)}: {called}: {type(about).__name__}: {about}"
    line = f":{code.co_firstlineno}" if code else ""
    return f"{_shown(file)}{line}: {called} gave {about!r:.60}: {wanted} is expected"

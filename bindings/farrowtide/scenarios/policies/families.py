"""The families of policies and the questions that a class of each must answer. Public as `farrowtide.policies`."""

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
from farrowtide.scenarios.policies.errors import error_in, said_by

CLOCK_TIME = re.compile(r"([01]\d|2[0-3]):[0-5]\d", re.ASCII)


@dataclass(frozen=True)
class Parameter:
    """A key of a policy in a scenario, with its default, unit, valid range and help.

    The type follows from `default`: a float is a number in `unit`; an int is a whole number; a bool is true or false;
    "07:00" is a time of day and a list of such texts are rising times of day, which reach the policy as hours since
    midnight; any other text is one of `options`. `coefficient`, in place of `default`, is the path of a coefficient
    whose value is the default of a number. `low` and `high` are the inclusive limits of a number; None means no limit.
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
        """The type of the key, as the engine calls it. Raises UserError if the default has no such type."""
        if isinstance(self.default, bool):
            return "boolean"
        if isinstance(self.default, int):
            return "integer"
        if isinstance(self.default, str):
            return "time_of_day" if CLOCK_TIME.fullmatch(self.default) else "choice"
        if isinstance(self.default, (list, tuple)):
            return "times_of_day"
        if isinstance(self.default, float) or (self.default is None and self.coefficient):
            return "number"
        raise UserError(
            f"Parameter({self.default!r}): the default must be a number, a bool, a text or a list of times; "
            "or name a coefficient"
        )


class Policy(abc.ABC):
    """The base of all families. Subclass a family, not this class."""

    family: ClassVar[str]
    name: ClassVar[str]  # in a scenario, after `kind:`
    help: ClassVar[str] = ""  # one sentence; the first line of the docstring if it is left out
    parameters: ClassVar[Mapping[str, Parameter]] = MappingProxyType({})

    def check(self) -> None:
        """Override it to raise ValueError if parameters contradict each other: a mistake of the scenario."""
        return

    def describe(self) -> str:
        """One sentence for reports: the help and the values of the parameters, unless overridden."""
        values = ", ".join(f"{name} {getattr(self, name)}" for name in self.parameters)
        return f"{type(self).help.rstrip('.')}{f' ({values})' if values else ''}, own policy"

    @classmethod
    def _from_values(cls, values: Mapping[str, Any]) -> Policy | tuple[Policy, str]:
        """A policy with these values of its parameters, and the message of `check` if that refuses them."""
        policy = object.__new__(cls)
        for name, value in values.items():
            object.__setattr__(policy, name, tuple(value) if isinstance(value, list) else value)
        try:
            policy.check()
        except ValueError as problem:
            return policy, said_by(problem)
        except KeyboardInterrupt:
            raise
        except BaseException as error:  # SystemExit, too: the program does not end because a policy says so
            raise UserError(error_in(policy, "check", error)) from None
        return policy

    def __setattr__(self, name: str, value: Any) -> None:
        raise AttributeError(f"policies are stateless: '{name}' cannot be set")


class Loading(Policy):
    """When sows come into the room, where first-parity sows stand, and which of them are shown how to drink and eat.

    `days_before_due` and `gilt_places` are asked once, when the scenario is read; `teach` is asked when
    the sows are loaded and each morning after for each first-parity sow. The GiltView holds `days_in_room` (0 on the day of loading),
    `times_taught` and `eaten_since_yesterday_kg`; whether a sow has learned is visible only in what she eats.
    """

    family = "loading"

    @abc.abstractmethod
    def days_before_due(self) -> int:
        """Days from loading to the group's mean due date, 0 to 30."""

    def gilt_places(self) -> str:
        """Where first-parity sows stand: "side_by_side" or "spread" over the room, where each task costs a walk."""
        return "side_by_side"

    @abc.abstractmethod
    def teach(self, view: GiltView) -> bool:
        """Whether staff show her now where to drink and eat."""


class Feeding(Policy):
    """When feed is given, and how much each sow gets.

    `decide` is asked at each round for each sow, and `at_trough_check` each morning before the first feed for each sow
    that has farrowed, if `checks_troughs` is true. The other methods are asked once, when the scenario is read.

    The FeedingView holds `parity`; `farrowed`, true after the last birth; `day`, the lactation day after farrowing and
    minus the days to her due date before; `round_h`, the clock time of the round [h since midnight]; `backfat_mm`, P2
    at loading; `in_trough_kg`, now; `own_allowance_kg_per_day`, set at her last trough check, or None, and
    `own_allowance_day`, the lactation day of that check. The TroughView holds `parity`, `day`, `offered_kg` since the
    last check, `left_kg` of it, `own_allowance_kg_per_day` and `own_allowance_day`.
    """

    family = "feeding"

    @abc.abstractmethod
    def rounds(self) -> Iterable[str | float]:
        """Rising clock times of the rounds, the same every day: "07:00", or hours since midnight."""

    def pre_farrow_rounds(self) -> Iterable[str | float]:
        """The rounds at which sows are fed before farrowing; they influence the hour of farrowing."""
        return self.rounds()

    @abc.abstractmethod
    def decide(self, view: FeedingView) -> float | str | None:
        """Feed offered at this round, 0 to 20 kg; "full" for feed always available; None to pass her by.

        Large amounts of feed before farrowing raise the risk of post-partum disorder: ask the herd veterinarian.
        """

    def dropped_by_machine(self) -> bool:
        """Whether a machine drops the feed, on time and without staff."""
        return False

    def machine_look_at(self) -> str | float | None:
        """The clock time at which staff look once a day at troughs filled by a machine; None: they do not look."""
        return None

    def checks_troughs(self) -> bool:
        """Whether staff check the trough of each sow that has farrowed in the morning."""
        return False

    def at_trough_check(self, view: TroughView) -> TroughDecision | None:
        """What follows from the check: TroughDecision(allowance_kg_per_day=..., flag=...), or None."""
        return None

    def removes_stale_feed(self) -> bool:
        """Whether stale feed is removed from a trough, once a day, before fresh feed is poured."""
        return True

    def reads_feeders(self) -> bool:
        """Whether a feeder that is always full shows staff what she took; portions always do."""
        return False

    def wet(self) -> bool:
        """Whether feed is given wet, or water with it."""
        return False


class Water(Policy):
    """Which drinkers are checked, and below which flow they are repaired.

    `check_flow` is asked each morning for each drinker; `action_limit_l_per_min` once, when the scenario is read. The
    DrinkerView holds `day` of the group (0 is loading); `crate`, from 1; `crates` in the room; `looked_at`, whether the
    drinker was checked since loading; `sow_flagged`, whether somebody saw the sow not eat or drink, or saw
    that her drinker gives nothing.
    """

    family = "water"

    @abc.abstractmethod
    def check_flow(self, view: DrinkerView) -> bool:
        """Whether the flow of this drinker is checked this morning."""

    @abc.abstractmethod
    def action_limit_l_per_min(self) -> float:
        """The flow below which a checked drinker is repaired, 0 to 10 L/min; a clogged drinker always is."""


class Temperature(Policy):
    """The set point of the room's climate control.

    `set_point_deg_c` is asked at every full hour. The TemperatureView holds `group_day` (0 is the group's mean due
    date, negative before), `hour` of the day (0-23), `deep_pit` (whether the room has one) and `outdoor_mean_deg_c` of
    yesterday, None on the first day. Lower the set point only where the creep stays warm; heat lamps are a fire and
    burn hazard.
    """

    family = "temperature"

    @abc.abstractmethod
    def set_point_deg_c(self, view: TemperatureView) -> float:
        """The set point for this hour, 10 to 32 degC."""


class Attendance(Policy):
    """Who is present when sows farrow, how often they look, when they assist, and how newborn piglets are cared for.

    `look_at` and `help_birth` are asked at each round for each sow in labour; the other methods once, when the scenario
    is read. The LabourView holds `parity`, `births` and `exams` so far, `since_first_birth_min`, `since_last_birth_min`
    and `since_last_look_min`, which is None if nobody has seen her in labour.

    An internal examination is a skilled procedure: the herd veterinarian and local rules decide who makes it. Working
    alone at night is an additional hazard.
    """

    family = "attendance"

    @abc.abstractmethod
    def round_every_min(self) -> float | None:
        """Time between rounds while staff are on duty, 1 to 1440 min; None: no rounds and no assistance."""

    @abc.abstractmethod
    def help_birth(self, view: LabourView) -> bool:
        """Whether she is examined and assisted."""

    def look_at(self, view: LabourView) -> bool:
        """Whether this round visits her."""
        return True

    def night_people(self) -> int:
        """People in the room from the end of the last shift to the start of the first, 0 to 20."""
        return 0

    @abc.abstractmethod
    def care_intensity(self) -> float:
        """The extent of care for each newborn piglet (drying, clearing, warming, helping to the udder), 0 to 1."""


class Care(Policy):
    """Which signs of illness are looked for, and what follows from them.

    `look_for` and `wean_today` are asked each morning for each sow that has farrowed; `temperature_after_h` once she
    has farrowed; `treat` whenever a sign is seen, rightly or wrongly, and at every reading of her temperature;
    `alarm_deg_c` and `stand_up_rounds` once, when the scenario is read.

    The CareView holds `parity`; `lactation_day`; `piglets` that nurse her; `since_farrowing_h`, from the last birth;
    `farrowing_duration_min`; `assisted`, whether any birth was; `stillborn` piglets; `seen`, the signs seen so far;
    `eaten_kg` and `drunk_l`, what staff saw this morning of her eating and drinking since the morning before, and
    `expected_kg` and `expected_l`, what is expected of such a sow; `off_feed_or_water`, whether she seems far below it;
    `trough_left_kg` this morning; `days_off_feed`,
    consecutive mornings on which she had eaten next to nothing; `just_found`, the sign that `treat` is asked about,
    None for a temperature below the alarm; `rectal_deg_c`, the last reading or None; `since_treatment_h`, since the
    last treatment was requested, or None.

    The treatment itself, and whether a sow gets it, is the herd veterinarian's decision.
    """

    family = "care"

    @abc.abstractmethod
    def look_for(self, view: CareView) -> Collection[str]:
        """The signs looked for this morning: any of nursing, not_eaten, udder, legs.

        "temperature" is allowed and has no effect here: the temperature is taken at `temperature_after_h`.
        """

    @abc.abstractmethod
    def treat(self, view: CareView) -> bool:
        """Whether treatment is requested."""

    def temperature_after_h(self, view: CareView) -> float | None:
        """When her rectal temperature is taken, 0 to 720 h after the last birth; None: it is not taken."""
        return None

    def alarm_deg_c(self) -> float | None:
        """Rectal temperature from which a reading is a sign of illness, 38 to 42 degC; None: the model's."""
        return None

    def stand_up_rounds(self) -> Iterable[str | float]:
        """Rising clock times of the rounds on which sows are made to stand up: "10:00", or hours since midnight."""
        return ()

    def stands_up(self, view: CareView) -> bool:
        """Whether she is made to stand up on a round; also asked before farrowing, when `lactation_day` is negative."""
        return True

    def wean_today(self, view: CareView) -> bool:
        """Whether her litter is weaned today. Local law sets the minimum age."""
        return False


class Fostering(Policy):
    """Which piglets are moved to which sow.

    `plan` is asked at each of the `times`, for the whole room; the other methods once, when the scenario is read.

    The FosteringView holds `litters` in the order of the sows' numbers, `piglets` that may be moved, litter by litter
    in order of birth, `born_alive` in the room so far, and `moved`, the piglets moved so far. A LitterView holds `sow`,
    `parity`, `teats` (functional), `nursing` (piglets), `lactation_day`, `since_farrowing_h`, `mean_kg` of the piglets,
    `scouring`, `sow_ill` (as staff know) and `brought_to_nurse`. A PigletView holds `litter` (its index in `litters`),
    `weight_kg`, `age_h`, `moves` so far and `scouring`.

    Moves can spread disease: ask the herd veterinarian.
    """

    family = "fostering"

    @abc.abstractmethod
    def times(self) -> Iterable[str | float]:
        """Rising clock times at which moves are planned: "10:00", or hours since midnight."""

    @abc.abstractmethod
    def plan(self, view: FosteringView) -> Iterable[tuple[int, int]]:
        """Pairs (index in view.piglets, index of another litter in view.litters), each piglet at most once."""

    def nurse_sows(self) -> int:
        """The maximum number of nurse sows brought in when a plan leaves surplus piglets, 0 to 100."""
        return 0


class Handling(Policy):
    """On which days litters are processed.

    `share_of_processing` is asked each morning for each litter. The HandlingView holds `lactation_day` and the number
    of `piglets` that nurse the sow. Pain relief where local law asks for it; ask the herd veterinarian.
    """

    family = "handling"

    @abc.abstractmethod
    def share_of_processing(self, view: HandlingView) -> float:
        """The share of the litter's processing done today, 0 to 1; a litter's shares must add up to 1."""

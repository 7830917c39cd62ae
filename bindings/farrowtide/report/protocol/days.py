"""What is to be done in a room on each day of a group: work in order, and crate by crate."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Iterator
from dataclasses import replace
from functools import cached_property
from typing import Any

from farrowtide import _core
from farrowtide.outputs.units import clock
from farrowtide.report.protocol.phrases import BLANK, Phrases
from farrowtide.report.protocol.plans import Allowance, Feed, set_point
from farrowtide.report.protocol.sheet_rows import Crate, CrateOfDay, Day, Work
from farrowtide.report.protocol.values import Values

_HOURS_A_DAY = 24
_CHANGE = "08:00"  # sows are in their crates, and are weaned, at this time: as in libsim/model/farrowing_room.cpp
_LOOKS = ("pre-farrow look", "daily look")
_MIDDAY = 12  # a farrowing ends at any hour: on average at midday


class Planner:
    """Plans the days of a group in one room from the settings of a scenario."""

    def __init__(self, values: Values, crates: Iterable[Crate]) -> None:
        self.values, self.crates = values, tuple(crates)
        self.known = all(crate.due is not None for crate in self.crates)
        self.plan = Allowance(values)
        self.before = _core.timetable(values.scenario._core)["loading_days_before_due"]
        self.lactation = int(values.number("group.lactation_days"))

    @property
    def days(self) -> range:
        """The days of the group, from loading to the last weaning."""
        latest = max((crate.due or 0 for crate in self.crates), default=0)
        extra = max(0, latest) if self.values.holds("group.weaning: each_sow") else 0
        return range(-self.before, self.lactation + extra + 1)

    def day(self, group_day: int) -> Day:
        """The sheet of a day."""
        date = self.date_of(group_day)
        present = [crate for crate in self.crates if not self._has_left(crate, group_day)]
        order = sorted(self._occupied(group_day, present), key=lambda work: (work.time, self._rank(work)))
        return Day(
            day=group_day,
            date=date.isoformat() if date else BLANK,
            weekday=self._weekday(date) if date else BLANK,
            set_point=set_point(self.values, group_day) or self.values.phrases("sheets.not_set"),
            on_duty=tuple(self._on_duty(date)) or (self.values.phrases("sheets.no_shift"),),
            due=tuple(str(crate.number) for crate in present if crate.due == group_day),
            work=tuple(order),
            crates=tuple(self._crate(crate, group_day) for crate in present),
            minutes=sum(work.minutes for work in order if work.sows is not None) if self.known else None,
        )

    def date_of(self, group_day: int) -> datetime.date | None:
        """The date of a day of the group; None where the file does not say when it begins."""
        setting = self.values.settings["start"]
        begins = datetime.date.fromisoformat(setting.value)
        return begins + datetime.timedelta(days=group_day + self.before) if setting.given else None

    def feed_of(self, day: int, parity: int | None) -> Feed:
        """The planned feed of a day of lactation."""
        return self.plan.of_day(day, parity or 1)

    def _weekday(self, date: datetime.date) -> str:
        return self.values.phrases(f"choices.{('mon', 'tue', 'wed', 'thu', 'fri', 'sat', 'sun')[date.weekday()]}")

    def _shifts(self, date: datetime.date | None) -> list[dict[str, Any]]:
        shifts = _core.roster(self.values.scenario._core)
        return [shift for shift in shifts if date is None or date.weekday() in shift["weekdays"]]

    def _on_duty(self, date: datetime.date | None) -> Iterator[str]:
        for place, shift in enumerate(_core.roster(self.values.scenario._core)):
            if shift not in self._shifts(date):
                continue
            key = f"staff.shifts.{place}"
            days = f"{self.values.shown(f'{key}.days', 'days')} " if date is None else ""
            hours = f"{self.values.shown(f'{key}.from')}\N{EN DASH}{self.values.shown(f'{key}.until')}"
            yield f"{days}{hours}: {self.values.shown(f'{key}.people', 'number')}"

    @cached_property
    def _ranks(self) -> dict[str, int]:
        return {task["name"]: task["rank"] for task in _core.tasks(self.values.scenario._core.coefficients)}

    @cached_property
    def _minutes(self) -> dict[str, float]:
        """The mean time of each task, of one sow."""
        coefficients = self.values.scenario._core.coefficients
        triangles = {task["name"]: coefficients.find(task["time"]).value for task in _core.tasks(coefficients)}
        minutes = {name: sum(triangle) / len(triangle) for name, triangle in triangles.items()}
        return minutes | {"processing": self._minutes_of_processing(minutes["processing"])}

    def _minutes_of_processing(self, of_piglet: float) -> float:
        """Of a litter of the herd's mean size at one visit; after the first visit each piglet is caught once more."""
        visits = max(1, len(self._processing_days))
        catching = self.values.scenario._core.coefficients.find("staff.task_time.catch_piglet").value
        caught = sum(catching) / len(catching) * (visits - 1)
        return self.values.number("herd.total_born_mean") * (of_piglet + caught) / visits

    def _rank(self, work: Work) -> int:
        """As in the model, but for what is read from a trough, which has to be done before it is filled."""
        if work.task in ("load sow", "trough check"):
            return 0
        before_feeding = work.task in _LOOKS and self.values.holds("care.checks: has not_eaten")
        return 0 if before_feeding else self._ranks[work.task]

    def _has_left(self, crate: Crate, group_day: int) -> bool:
        each = crate.due is not None and self.values.holds("group.weaning: each_sow")
        return each and group_day - (crate.due or 0) > self.lactation

    def _one(self, task: str, time: str, sows: int | None, keys: Iterable[str]) -> Work:
        text = Phrases.filled(self.values.phrases.texts[f"tasks.{task}"], self._value)
        minutes = self._minutes[task] * (1 if sows is None else sows)
        shown = tuple(key for key in keys if key in self.values.settings)
        return Work(time, task, text, sows, minutes, shown)

    def _value(self, key: str, form: str) -> str:
        return self.values.shown(key, form) if key in self.values.settings else BLANK

    def _occupied(self, group_day: int, crates: list[Crate]) -> Iterator[Work]:
        """The work of a day but what falls before the sows are in their crates or after all are weaned."""
        loading = group_day == -self.before
        weaning = group_day == self.lactation and self.values.holds("group.weaning: group_together")
        for work in self._work(group_day, crates):
            empty = (loading and work.time < _CHANGE) or (weaning and work.time > _CHANGE)
            if not empty or work.task in ("load sow", "train gilt", "records", "wean"):
                yield work

    def _work(self, group_day: int, crates: list[Crate]) -> Iterator[Work]:
        values, in_room = self.values, group_day + self.before
        start = self._start(group_day)
        ages = [group_day - crate.due for crate in crates if crate.due is not None]
        waiting, nursing = self._number(age <= 0 for age in ages), self._number(age > 0 for age in ages)
        if in_room == 0:
            yield self._one("load sow", start, len(crates), ["loading.days_before_due"])
        gilts = self._number(crate.parity == 1 for crate in crates)
        if values.holds("loading.teach: everyone") and in_room == 0 and gilts != 0:
            yield self._one("train gilt", start, gilts, ["loading.teach"])
        if values.holds("loading.teach: slow_to_eat") and in_room > 0 and group_day <= 0 and gilts != 0:
            yield self._one("train gilt", start, None, ["loading.teach", "loading.again"])
        if in_room > 0:
            for task, sows in (("pre-farrow look", waiting), ("daily look", nursing)):
                if sows != 0 and (self.known or (group_day <= 0) == (task == "pre-farrow look")):
                    yield self._one(task, start, sows, ["care.until_day"] if task == "daily look" else [])
            due = sum(self._drinker_due(crate, in_room) for crate in crates)
            if due:
                yield self._one("drinker check", start, due, ["water.kind", "water.every", "water.action_limit"])
        yield from self._feeding(len(crates), ages, start)
        yield from self._care(group_day, crates, ages)
        if values.holds("attendance.kind: not none") and (not self.known or any(abs(age) <= 1 for age in ages)):
            yield self._one("farrowing round", start, None, ["attendance.kind", "attendance.round_every"])
        yield from self._moves(in_room, ages)
        yield self._one("records", start, 1, [])
        weaned = self._number(self._weans(age, group_day) for age in ages)
        if weaned if self.known else group_day == self.lactation:
            yield self._one("wean", _CHANGE, weaned, ["group.weaning", "group.lactation_days"])

    def _moves(self, in_room: int, ages: list[int]) -> Iterator[Work]:
        """Moves by the policy as long as a litter is open to them, and those that the file prescribes."""
        values = self.values
        if values.holds("fostering.closed_after_day: set"):
            last = values.number("fostering.closed_after_day")
            if not self.known or any(0 <= age <= last for age in ages):
                for time in values.listed("fostering.times"):
                    yield self._one("foster move", time, None, ["fostering.kind", "fostering.times"])
        places = dict.fromkeys(path.split(".")[1] for path in values.settings if path.startswith("moves."))
        for place in places:
            if values.number(f"moves.{place}.day") == in_room:
                text = values.phrases.texts["steps.fostering.move.do"].replace("#", place)
                keys = tuple(path for path in values.settings if path.startswith(f"moves.{place}."))
                minutes = self._minutes["foster move"] * values.number(f"moves.{place}.piglets")
                at = values.text(f"moves.{place}.time")
                yield Work(at, "foster move", Phrases.filled(text, self._value), 1, minutes, keys)

    def _feeding(self, sows: int, ages: list[int], start: str) -> Iterator[Work]:
        values, nursing = self.values, self._number(age > 0 for age in ages)
        before, after = values.listed("feeding.pre_farrow.times"), values.listed("feeding.times")
        opened = [self.plan.is_open(age, farrowed=age > 0) for age in ages]
        by_hand = [age for age, is_open in zip(ages, opened, strict=True) if not is_open]
        if values.holds("feeding.kind: hand, full_access"):
            for time in sorted({*before, *after}):
                fed = self._number(time in (after if age > 0 else before) for age in by_hand)
                if fed != 0:
                    yield self._one("feed by hand", time, fed, ["feeding.pre_farrow.times", "feeding.times"])
        if values.holds("feeding.kind: full_access") and (any(opened) or not self.known):
            for time in after:
                looked_at = self._number(opened)
                yield self._one("full-access top-up", time, looked_at, ["feeding.kind", "feeding.times"])
        if values.holds("feeding.kind: drops"):
            yield self._one("feed by drop", values.text("feeding.look"), sows, ["feeding.look"])
        if values.holds("feeding.kind: hand") and values.holds("feeding.night_top_up: set") and nursing != 0:
            time = values.text("feeding.night_top_up")
            top_up = self._one("feed by hand", time, None, ["feeding.night_top_up", "feeding.top_up"])
            yield replace(top_up, text=Phrases.filled(values.phrases.texts["tasks.night top-up"], self._value))
        if values.holds("feeding.allowance.rule: by_trough") and nursing != 0 and self.plan.last_planned_day > 0:
            yield self._one("trough check", start, nursing, ["feeding.allowance.rule"])

    def _care(self, group_day: int, crates: list[Crate], ages: list[int]) -> Iterator[Work]:
        values, start = self.values, self._start(group_day)
        for time in values.listed("care.stand_up"):
            whom = values.raw("care.stand_up_whom")
            first = self._number(crate.parity == 1 for crate in crates)
            sows = {"everyone": len(crates), "first_parity": first}.get(whom)
            yield self._one("stand up", time, sows, ["care.stand_up", "care.stand_up_whom"])
        measured = self._number(self._is_measured(age) for age in ages)
        if self._takes_temperature and measured != 0 and (self.known or group_day > 0):
            yield self._one("temperature check", start, measured, ["care.kind", "care.checks", "care.after"])
        days = self._processing_days
        processed = self._number(age in days for age in ages)
        if processed if self.known else days and group_day > 0:
            yield self._one("processing", start, processed, ["handling.kind", "handling.day", "handling.days"])

    def _number(self, of: Iterable[bool]) -> int | None:
        """How many there are; None where the herd is not known."""
        return sum(of) if self.known else None

    def _start(self, group_day: int) -> str:
        """When the first shift of the day begins; a blank where the file plans none."""
        hours = [shift["from_h"] for shift in self._shifts(self.date_of(group_day))]
        return clock(min(hours)) if hours else BLANK

    @cached_property
    def _takes_temperature(self) -> bool:
        asked = self.values.holds("care.checks: has temperature") or self.values.holds("care.kind: by_temperature")
        return asked and self.values.holds("care.after: set")

    @cached_property
    def _last_check(self) -> float:
        return self.values.number("care.until_day") if self.values.holds("care.until_day: set") else 0

    def _is_measured(self, age: int) -> bool:
        day = (_MIDDAY + self.values.number("care.after")) // _HOURS_A_DAY if self._takes_temperature else None
        return age == day

    @cached_property
    def _processing_days(self) -> list[int]:
        if self.values.holds("handling.kind: bundled"):
            return [int(self.values.number("handling.day"))]
        return [int(day) for day in self.values.numbers("handling.days")]

    def _drinker_due(self, crate: Crate, in_room: int) -> bool:
        """The rule of the water policy; drinkers on suspicion after the first check are not planned."""
        every = int(self.values.number("water.every")) if "water.every" in self.values.settings else 0
        match self.values.raw("water.kind"):
            case "every_drinker":
                return every > 0 and in_room % every == 0
            case "in_turn":
                return crate.number % every == in_room % every
            case "on_suspicion":
                return in_room == 1
        return False

    def _weans(self, age: int, group_day: int) -> bool:
        return age == self.lactation if self.values.holds("group.weaning: each_sow") else group_day == self.lactation

    def _crate(self, crate: Crate, group_day: int) -> CrateOfDay:
        text = self.values.phrases
        age = group_day - crate.due if crate.due is not None else None
        if age is None:
            state = feed = BLANK
        elif age < 0:
            state, feed = text("sheets.due_in", days=-age), self._in_words(self.plan.before_farrowing(-age))
        elif age == 0:
            state, feed = text("sheets.due"), self._in_words(self.plan.before_farrowing(0))
            if (after := self._lactation_feed(0, crate)) != feed:
                feed = f"{feed}; {text('sheets.after_farrowing', amount=after)}"
        else:
            state, feed = text("sheets.lactation", day=age), self._lactation_feed(age, crate)
        return CrateOfDay(crate, state, feed, tuple(self._to_do(crate, group_day, age)))

    def _lactation_feed(self, day: int, crate: Crate) -> str:
        return self._in_words(self.feed_of(day, crate.parity) if self.plan.known else None)

    def _in_words(self, feed: Feed | None) -> str:
        if feed is None:
            return BLANK
        if feed.kg_per_day is None:
            return self.values.phrases("sheets.full")
        amount = self.number_of(feed.kg_per_day)
        meals = [self.number_of(kg) for _, kg in feed.meals]
        return f"{amount} ({' + '.join(meals)})" if len(meals) > 1 else amount

    @property
    def unit(self) -> str:
        """In which amounts of feed are shown."""
        return self.values.quantity(1.0, "kg").partition(" ")[2]

    def number_of(self, kg: float) -> str:
        """An amount of feed without its unit."""
        return self.values.quantity(kg, "kg").partition(" ")[0]

    def _to_do(self, crate: Crate, group_day: int, age: int | None) -> Iterator[str]:
        values, text, in_room = self.values, self.values.phrases, group_day + self.before
        first_parity = crate.parity == 1
        if values.holds("loading.teach: everyone") and in_room == 0 and first_parity:
            yield text("sheets.teach")
        if values.holds("loading.teach: slow_to_eat") and in_room > 0 and first_parity and (age or 0) <= 0:
            yield text("sheets.teach_if_slow")
        if in_room > 0 and self._drinker_due(crate, in_room):
            yield text("sheets.drinker")
        if times := values.listed("care.stand_up"):
            whom = values.raw("care.stand_up_whom")
            if whom == "everyone" or (whom == "first_parity" and first_parity):
                yield text("sheets.stand", times=", ".join(times))
            elif whom == "flagged":
                yield text("sheets.stand_if", times=", ".join(times))
        if age is None:
            return
        if self._is_measured(age):
            yield text("sheets.measure")
        if set(values.listed("care.checks")) - {"temperature"} and 0 < age <= self._last_check:
            yield text("sheets.check_if" if values.holds("care.whom: at_risk") else "sheets.check")
        if age in self._processing_days:
            yield text("sheets.process")
        if self._weans(age, group_day):
            yield text("sheets.wean")

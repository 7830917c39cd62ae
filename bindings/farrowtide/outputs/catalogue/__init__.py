"""The declared outputs in the order in which they are printed; each is defined in the module of its subject."""

from __future__ import annotations

import copyreg
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np

from farrowtide import _core
from farrowtide.errors import UserError
from farrowtide.outputs.catalogue import body, climate, farrowing, feed, health, litters, money, work
from farrowtide.outputs.output import Output
from farrowtide.outputs.parsing import output_named
from farrowtide.outputs.rooms import Rooms
from farrowtide.scenarios.prices import Prices

# The outputs that are judged first unless a study names others, and the further ones.
HEADLINES = (
    feed.FEED_INTAKE,
    body.WEIGHT_LOSS,
    litters.LITTER_WEIGHT,
    litters.MORTALITY,
    farrowing.LONG_FARROWINGS,
    work.LABOUR,
    litters.WEANED,
)
FURTHER = (
    farrowing.STILLBORN,
    farrowing.ATTENDED,
    farrowing.ATTENDED_ON_DUTY,
    farrowing.DURATION,
    feed.EARLY_INTAKE,
    feed.OFF_FEED_D1,
    feed.OFF_FEED_D2,
    feed.ZERO_FEED_DAYS,
    feed.LOW_FEED_DAYS,
    feed.DELAY,
    feed.OFFERED,
    feed.UNDELIVERED,
    feed.REMOVED,
    feed.EMPTY_MORNINGS,
    feed.UNTOUCHED_MORNINGS,
    feed.WASTED,
    body.WEIGHT_LOSS_SHARE,
    body.BACKFAT_LOSS,
    litters.LITTER_GAIN,
    litters.WEANING_WEIGHT,
    health.GILTS_READY,
    health.ILL,
    health.ILL_TREATED,
    health.TREATED_AFTER,
    health.TREATED,
    health.TREATED_NOT_ILL,
    health.HEALTHY_TREATED,
    health.LOST,
    health.OFF_FEED,
    litters.SCOURED,
    litters.MOVED,
    litters.INTEGRITY,
    litters.KEPT_WHOLE,
    litters.BELOW_INTEGRITY,
    feed.WATER,
    body.OESTRUS,
    body.FARROWING_RATE,
    body.NEXT_LITTER,
    body.REMOVAL,
    work.UTILISATION,
    work.LATE,
    work.UNDONE,
    climate.HEATER,
    climate.SET_POINT,
    climate.ROOM_TEMPERATURE,
    climate.ABOVE_SET_POINT,
)


# Fields that a scenario's prices decide.
_OF_PRICES = ("unit", "decimals", "negligible", "note", "further_tables", "of_one_animal")


# What people in a room see first: the first days, and the first parity in them. Outputs that a comparison has are shown.
FIRST_DAYS = (
    "gilts_ready_percent",
    "births_attended_percent",
    "stillborn_percent",
    "sows_off_feed_d1_percent",
    "sows_off_feed_d1_p1_percent",
    "sows_off_feed_d2_percent",
    "sows_off_feed_d2_p1_percent",
    "feed_intake_d1_7_kg_per_day",
    "feed_intake_d1_7_p1_kg_per_day",
    "empty_mornings_percent",
    "untouched_mornings_percent",
    "sows_ill_percent",
    "treated_after_onset_h",
    "room_wanted_deg_c",
    "room_temperature_deg_c",
)


def _named(name: str, changed: Mapping[str, Any]) -> Output:
    return replace(_declared()[name], **changed)


def _reduced(output: Output) -> tuple[Callable[[str, Mapping[str, Any]], Output], tuple[str, Mapping[str, Any]]]:
    """A declared output is pickled by its name."""
    known = _declared().get(output.name)
    own = ("group", *_OF_PRICES) if known and known.unit == money.CURRENCY else ("group",)
    changed = {field: getattr(output, field) for field in own}
    if known is None or replace(known, **changed) != output:
        raise UserError(f"'{output.name}' is not one of the declared outputs, which alone can be pickled")
    return _named, (output.name, changed)


copyreg.pickle(Output, _reduced)


def catalogue(prices: Prices | None = None) -> dict[str, Output]:
    """All outputs by name: headlines, further outputs, priced quantities, those by parity class, work by task.

    `prices`: of a scenario (`Scenario.prices`), whose outputs in money come first.
    """
    in_money = money.in_money(prices) if prices else []
    return {output.name: output for output in in_money} | _catalogue()


@cache
def _catalogue() -> dict[str, Output]:
    kinds = next(info.labels for info in _core.tables()["tasks"] if info.name == "kind")
    practices = (output for subject in (feed, farrowing, health, body) for output in subject.practices_by_parity())
    declared = (*HEADLINES, *FURTHER, *money.UNPRICED, *feed.by_parity(), *practices, *work.by_task(kinds))
    return {output.name: output for output in declared}


@cache
def _declared() -> dict[str, Output]:
    """All outputs of any scenario."""
    return _catalogue() | {output.name: output for output in money.declared()}


def chosen(names: Sequence[str], *, only: bool, prices: Prices | None = None) -> list[Output]:
    """The named outputs as headlines, in this order, followed by all others unless `only`. Raises UserError.

    A word may stand for an output as in output_named. Without names, all outputs with the default headlines. `prices` as
    in catalogue.
    """
    known = catalogue(prices)
    names = [output_named(name, known.values()).name for name in names]
    if not names:
        return list(known.values())
    headlines = [replace(known[name], group="headline") for name in dict.fromkeys(names)]
    others = [output for name, output in known.items() if name not in names]
    further = [replace(output, group="further") if output.group == "headline" else output for output in others]
    return headlines if only else headlines + further


def measure(rooms: Rooms) -> dict[str, np.ndarray]:
    """Measures every output whose tables were recorded: one value per replicate."""
    outputs = catalogue(rooms.prices).values()
    recorded = [output for output in outputs if all(map(rooms.__contains__, (output.table, *output.further_tables)))]
    return {output.name: output.measure(rooms) for output in recorded}

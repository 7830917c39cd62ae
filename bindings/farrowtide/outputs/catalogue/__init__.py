"""The declared outputs in the order in which they are printed; each is defined in the module of its subject."""

from __future__ import annotations

import copyreg
from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import cache

import numpy as np

from farrowtide import _core
from farrowtide.errors import UserError
from farrowtide.outputs.catalogue import body, climate, farrowing, feed, health, litters, work
from farrowtide.outputs.output import Output
from farrowtide.outputs.parsing import output_named
from farrowtide.outputs.rooms import Rooms

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


def _named(name: str, group: str) -> Output:
    return replace(catalogue()[name], group=group)


def _reduced(output: Output) -> tuple[Callable[[str, str], Output], tuple[str, str]]:
    """A declared output is pickled by its name."""
    if output.name not in catalogue() or replace(catalogue()[output.name], group=output.group) != output:
        raise UserError(f"'{output.name}' is not one of the declared outputs, which alone can be pickled")
    return _named, (output.name, output.group)


copyreg.pickle(Output, _reduced)


def catalogue() -> dict[str, Output]:
    """All outputs by name: headlines, further outputs, those by parity class, work by task."""
    return dict(_catalogue())


@cache
def _catalogue() -> dict[str, Output]:
    kinds = next(info.labels for info in _core.tables()["tasks"] if info.name == "kind")
    practices = (output for subject in (feed, farrowing, health, body) for output in subject.practices_by_parity())
    declared = (*HEADLINES, *FURTHER, *feed.by_parity(), *practices, *work.by_task(kinds))
    return {output.name: output for output in declared}


def chosen(names: Sequence[str], *, only: bool) -> list[Output]:
    """The named outputs as headlines, in this order, followed by all others unless `only`. Raises UserError.

    A word may stand for an output as in output_named. Without names, all outputs with the default headlines.
    """
    known = catalogue()
    names = [output_named(name, known.values()).name for name in names]
    if not names:
        return list(known.values())
    headlines = [replace(known[name], group="headline") for name in dict.fromkeys(names)]
    others = [output for name, output in known.items() if name not in names]
    further = [replace(output, group="further") if output.group == "headline" else output for output in others]
    return headlines if only else headlines + further


def measure(rooms: Rooms) -> dict[str, np.ndarray]:
    """Measures every output whose table was recorded: one value per replicate."""
    return {name: output.measure(rooms) for name, output in catalogue().items() if output.table in rooms}

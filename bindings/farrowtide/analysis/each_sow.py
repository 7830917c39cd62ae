"""The same sows under two alternatives: what each of them gains or loses."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import pandas as pd

from farrowtide import _core
from farrowtide.engine.result import YES_OR_NO
from farrowtide.errors import PlausibilityWarning, UserError, did_you_mean
from farrowtide.outputs.catalogue import body
from farrowtide.outputs.output import Output
from farrowtide.outputs.rooms import PARITY_CLASSES, Rooms, parity_class
from farrowtide.outputs.summaries import STAFF_MIN
from farrowtide.scenarios.scenario import Scenario
from farrowtide.statistics.inference import DIFFERENCES, interval
from farrowtide.statistics.moments import ROUNDING, Moments


def _of_sows(column: str) -> Callable[[Rooms], np.ndarray]:
    return lambda rooms: rooms.mean("sows", column)


# What a single sow can gain or lose. `negligible` is our own choice for one sow, as for the outputs.
SOW_MEASURES = (
    Output("feed_intake_kg_per_day", "kg/d", "Feed eaten", _of_sows("feed_intake_kg_per_day"), "higher", 2, 0.05),
    Output("weight_loss_kg", "kg", "Weight lost", _of_sows("weight_loss_kg"), "lower", 1, 0.5),
    Output("litter_weight_at_weaning_kg", "kg", "Litter weight at weaning", _of_sows("litter_weight_at_weaning_kg"),
           "higher", 1, 0.5),
    Output("weaned", "piglets", "Piglets weaned", _of_sows("weaned"), "higher", 2, 0.5),
    Output("farrowing_duration_min", "min", "Farrowing duration", _of_sows("farrowing_duration_min"), "lower", 0, 5.0),
    Output(STAFF_MIN, "min", "Work for her alone", _of_sows(STAFF_MIN), "lower", 1, 1.0),
)  # fmt: skip
# Of columns in which a rare sow that changes by much makes the mean difference, as in the outputs of rooms.
_OF_ONE_SOW = {
    "weaning_to_oestrus_d": body.OESTRUS.of_one_animal,
    "removal_risk": body.REMOVAL.of_one_animal / 100,
}
_IDENTITY = ["replicate", "group", "room", "sow"]
_FATE = ["parity", "total_born"]  # what she brings with her: the same under every policy


@dataclass(frozen=True)
class EachSowTables:
    """The same sows under a reference and an alternative; see `farrowtide.pairing.each_sow`.

    table     one row per sow: replicate, group, room, sow, parity, total_born, parity_class, and for each measure three
              columns: its name with `_reference`, `_alternative` and `_difference` (alternative minus reference).
    left_out  sows that are not the same in both (another parity or litter) and are therefore not in the table.
    """

    scenario: Scenario
    case: str | None
    reference: str
    alternative: str
    measures: list[Output]
    replications: int
    seed: int
    table: pd.DataFrame
    left_out: int
    provenance: dict[str, Any]
    wanted_replications: int
    warnings: list[PlausibilityWarning] = field(default_factory=list)  # what to know before trusting a number

    @property
    def interrupted(self) -> bool:
        """Whether it was stopped before all replications were done."""
        return self.replications < self.wanted_replications

    def gains(self) -> pd.DataFrame:
        """How many sows gain and lose, one row per measure.

        `better_percent`, `worse_percent` and `same_percent` of the `sows` (`same`: the difference is negligible; where
        no direction is better, "better" is higher); the 10th percentile, median and 90th percentile of the sows'
        differences; and their mean with its 95 % interval over rooms, NaN where too few of the rooms differ (`rooms_apart`)
        for one. The spread over sows is described, not tested: the sows of a room share its people and air, so the room
        is the unit.
        """
        return pd.DataFrame([_gains(self.table, measure) for measure in self.measures])

    def most(self, measure: str, number: int = 10) -> pd.DataFrame:
        """The sows with the largest difference in a measure, either way, the largest first."""
        known = [measured.name for measured in self.measures]
        if measure not in known:
            raise UserError(f"'{measure}' was not measured (measured: {', '.join(known)})")
        columns = [f"{measure}_{side}" for side in ("reference", "alternative", "difference")]
        size = self.table[columns[-1]].abs()
        largest = size[size > 0].sort_values(ascending=False, kind="stable").index[:number]
        return self.table.loc[largest, [*_IDENTITY, "parity_class", "total_born", *columns]].reset_index(drop=True)


def chosen_measures(names: Sequence[str] | None) -> list[Output]:
    """The measures of these names; None: the default ones. Raises UserError."""
    known = {measure.name: measure for measure in SOW_MEASURES}
    if names is None:
        return list(known.values())
    columns = {info.name: info for info in _core.tables()["sows"]}
    for name in names:
        if name in known:
            continue
        if name not in columns:
            near = did_you_mean(name, [*known, *columns])
            raise UserError(
                f"the table of sows has no column '{name}', and '{STAFF_MIN}' is the only other measure.{near}"
            )
        if columns[name].labels or name in _IDENTITY:
            raise UserError(f"'{name}' identifies or classifies a sow, so it cannot be compared")
        unit = "-" if columns[name].unit == YES_OR_NO else columns[name].unit
        known[name] = Output(name, unit, name, _of_sows(name), None, 2, 0.0, of_one_animal=_OF_ONE_SOW.get(name, 0.0))
    return [known[name] for name in dict.fromkeys(names)]


def side_by_side(before: pd.DataFrame, after: pd.DataFrame, measures: Sequence[str]) -> tuple[pd.DataFrame, int]:
    """One row per sow that is the same in both tables, and the number of rows of either that have no counterpart."""
    sides = []
    for frame, side in ((before, "reference"), (after, "alternative")):
        renamed = {name: f"{name}_{side}" for name in measures}
        numbers = frame[list(measures)].astype(float).rename(columns=renamed)
        sides.append(pd.concat([frame[[*_IDENTITY, *_FATE]], numbers], axis=1))
    table = sides[0].merge(sides[1], on=[*_IDENTITY, *_FATE], validate="one_to_one")
    left_out = len(before) + len(after) - 2 * len(table)
    for name in measures:
        table[f"{name}_difference"] = table[f"{name}_alternative"] - table[f"{name}_reference"]
    table["parity_class"] = np.array(PARITY_CLASSES)[parity_class(table["parity"].to_numpy())]
    ordered = [f"{name}_{side}" for name in measures for side in ("reference", "alternative", "difference")]
    return table[[*_IDENTITY, *_FATE, "parity_class", *ordered]], left_out


def _gains(table: pd.DataFrame, measure: Output) -> dict[str, Any]:
    known = table[["replicate", f"{measure.name}_difference"]].dropna()
    differences = known[f"{measure.name}_difference"].to_numpy()
    gained = -differences if measure.good == "lower" else differences
    by_room = known.groupby("replicate")[f"{measure.name}_difference"].mean().to_numpy()
    sows_of_room = max(len(known), 1) / max(len(by_room), 1)
    rooms = Moments.of(by_room, tiny=measure.tiny_among(sows_of_room))
    low, high = interval(rooms, needs=DIFFERENCES.needs(sows_of_room))
    limit = max(measure.negligible, ROUNDING)
    better, worse = (100 * float((sign * gained >= limit).mean()) if len(gained) else np.nan for sign in (1, -1))
    p10, median, p90 = np.quantile(differences, (0.1, 0.5, 0.9)) if len(gained) else (np.nan,) * 3
    return {
        "measure": measure.name,
        "unit": measure.unit,
        "sows": len(differences),
        "better_percent": better,
        "worse_percent": worse,
        "same_percent": 100 - better - worse,
        "p10": p10,
        "median": median,
        "p90": p90,
        "mean": float(rooms.mean),
        "ci_low": float(low),
        "ci_high": float(high),
        "rooms": int(rooms.n),
        "rooms_apart": int(rooms.apart),
    }

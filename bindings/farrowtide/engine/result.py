"""The result of a run: its tables as data frames."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from farrowtide import _core
from farrowtide.engine import provenance
from farrowtide.errors import PlausibilityWarning, UserError
from farrowtide.inert_text import html_table
from farrowtide.outputs.catalogue import catalogue, measure
from farrowtide.outputs.one_line import one_line
from farrowtide.outputs.plausibility.findings import found_in
from farrowtide.outputs.plausibility.observed import Observed, observe
from farrowtide.outputs.rooms import Columns, Rooms
from farrowtide.outputs.units import count
from farrowtide.scenarios.plausibility.arms import expected_of, of_scenario
from farrowtide.scenarios.scenario import Scenario
from farrowtide.whole_files import make_folder, replacing

YES_OR_NO = "yes/no"  # the unit of columns of the engine that hold 1 and 0
TABLES = ("sows", "sow_days", "piglets", "rooms", "tasks", "work_hours", "duty_hours", "events")
CAUSES = ("visits", "stretches", "roster", "deaths")  # recorded together, and only where they are asked for
ALL_TABLES = (*TABLES, *CAUSES)


class Interrupted(KeyboardInterrupt):
    """Ctrl-C during a run or a study.

    `finished` is what the function would have returned, of the complete replications; None if there are none. `folder`
    is the study folder, from which the study can be resumed; None where there is none.
    """

    def __init__(self, finished: Any, folder: Path | None = None) -> None:
        kept = "interrupted" if finished is not None else "interrupted before any round of rooms was complete"
        if folder is not None:
            advice = f"; finished blocks are kept: resume the study in {folder} (--resume)"
        elif finished is None:
            advice = "; nothing is kept: run it again (compare, sweep, pick: --study FOLDER keeps finished rooms)"
        else:
            advice = (
                "; the results are those of the replications that are finished (compare, sweep, pick: with --study FOLDER "
                "they are kept and --resume goes on)"
            )
        super().__init__(kept + advice)
        self.finished = finished
        self.folder = folder

    def with_finished(self, finished: Any) -> Interrupted:
        """The same of something else that is finished."""
        return Interrupted(finished, self.folder)


class Result:
    """The tables of one run, as data frames. Column names carry the unit; `columns` describes each column.

    Numbers are read-only views of the engine's memory, which lives as long as any of them; every access gives a new
    frame, and changing one (`result.sows["weaned"] *= 0`) changes no result. Replicates are numbered from
    `first_replicate`; times are hours since 00:00 on the scenario's start date, which `dates` converts. A table that was
    not recorded raises UserError.
    """

    def __init__(
        self,
        core: _core.RunResult | KeptRun,
        scenario: Scenario,
        *,
        seed: int,
        first_replicate: int = 0,
        recorded: Collection[str] = TABLES,
    ) -> None:
        self._core = core
        self._recorded = {"sows", *recorded}
        self.scenario = scenario
        self.seed = seed
        self.first_replicate = first_replicate
        self._frames: dict[str, pd.DataFrame] = {}

    def __repr__(self) -> str:
        return one_line(
            "Result",
            self.scenario.title,
            f"{count(self.replications, 'replication')} from {self.first_replicate}, seed {self.seed}",
            f"tables {', '.join(name for name in ALL_TABLES if name in self._recorded)}",
        )

    def _repr_html_(self) -> str:
        outputs = [
            output for output in catalogue().values() if output.group == "headline" and output.table in self._recorded
        ]
        means = self.outputs.mean()
        rows = [(output.label, output.shown(means[output.name]), output.shown_unit()) for output in outputs]
        return html_table(f"{self.scenario.title}: means of {count(self.replications, 'replication')}", rows)

    def __reduce__(self) -> tuple[Any, ...]:
        """A pickle holds the tables, and the sentences of the trace where events were recorded."""
        replicates = range(self.first_replicate, self.first_replicate + self.replications)
        kept = KeptRun(
            replications=self.replications,
            events=self._core.events,
            checks=self.checks,
            set_aside=self.set_aside,
            tables={name: {k: np.array(v) for k, v in self._core.columns(name).items()} for name in ALL_TABLES},
            traces={n: self._core.trace(n) for n in replicates} if "events" in self._recorded else {},
        )
        return _unpickled, (type(self), kept, self.scenario, self.seed, self.first_replicate, sorted(self._recorded))

    @property
    def replications(self) -> int:
        """The number of complete replications; fewer than requested if the run was interrupted."""
        return self._core.replications

    @property
    def checks(self) -> int:
        """The number of checks of conservation laws (animals, feed, energy, time) during the run; all passed."""
        return self._core.checks

    @property
    def sows(self) -> pd.DataFrame:
        """One row per sow and lactation."""
        return self._frame("sows")

    @property
    def sow_days(self) -> pd.DataFrame:
        """One row per sow and day."""
        return self._frame("sow_days")

    @property
    def piglets(self) -> pd.DataFrame:
        """One row per piglet born."""
        return self._frame("piglets")

    @property
    def rooms(self) -> pd.DataFrame:
        """The climate: one row per room and hour."""
        return self._frame("rooms")

    @property
    def tasks(self) -> pd.DataFrame:
        """One row per task requested of the staff."""
        return self._frame("tasks")

    @property
    def work_hours(self) -> pd.DataFrame:
        """Minutes worked: one row per replicate, hour of the day and kind of task, summed over the days that count."""
        return self._frame("work_hours")

    @property
    def duty_hours(self) -> pd.DataFrame:
        """Minutes on duty: one row per replicate and hour of the day, summed over staff and the days that count."""
        return self._frame("duty_hours")

    @property
    def events(self) -> pd.DataFrame:
        """One row per event."""
        return self._frame("events")

    @property
    def visits(self) -> pd.DataFrame:
        """One row per visit that a task asked for, to a sow, an empty crate or the room, and what came of it."""
        return self._frame("visits")

    @property
    def stretches(self) -> pd.DataFrame:
        """One row per uninterrupted stretch of work by one person with one sow."""
        return self._frame("stretches")

    @property
    def roster(self) -> pd.DataFrame:
        """One row per period with the same number of people at work, or on break."""
        return self._frame("roster")

    @property
    def deaths(self) -> pd.DataFrame:
        """One row per death of a live-born piglet: what its hazard was made of at that moment."""
        return self._frame("deaths")

    def columns(self, table: str) -> pd.DataFrame:
        """The name, unit and meaning of each column of a table."""
        described = [(info.name, info.unit, info.help) for info in _core.tables()[table]]
        return pd.DataFrame(described, columns=["column", "unit", "meaning"])

    def dates(self, hours: pd.Series) -> pd.Series:
        """The dates and clock times (datetime64, to the second) of hours since 00:00 on the scenario's start date.

        For instance `result.dates(result.piglets["birth_time_h"])`; NaT where the time is missing. A time that is
        counted from something else, as `found_h` from the last birth, is a duration and has no date.
        """
        since_start = pd.to_timedelta((hours * 3600).round(), unit="s")
        return (pd.Timestamp(self.scenario.start) + since_start).astype("datetime64[s]")

    @cached_property
    def _outputs(self) -> pd.DataFrame:
        replicates = pd.RangeIndex(self.first_replicate, self.first_replicate + self.replications, name="replicate")
        return pd.DataFrame(measure(self.as_rooms()), index=replicates)

    @property
    def outputs(self) -> pd.DataFrame:
        """One row per replicate, one column per output of `farrowtide.catalogue(scenario.prices)`; NaN where there is no value."""
        return self._outputs.copy(deep=False)

    @property
    def tables(self) -> dict[str, pd.DataFrame]:
        """The recorded tables, by name."""
        return {name: getattr(self, name) for name in ALL_TABLES if name in self._recorded}

    @cached_property
    def set_aside(self) -> list[tuple[int, str]]:
        """The rooms that broke off on a fault of the engine, as replicate and fault; they have no rows in any table."""
        return self._core.set_aside

    @cached_property
    def observed(self) -> Observed:
        """What in the recorded tables lies outside plausible ranges."""
        return observe(self._columns(), self.set_aside)

    @cached_property
    def warnings(self) -> list[PlausibilityWarning]:
        """What to know before trusting these numbers: about the scenario, and about what its rooms showed."""
        return [*of_scenario(self.scenario), *self.room_warnings]

    @cached_property
    def room_warnings(self) -> list[PlausibilityWarning]:
        """Of these, the ones about what its rooms showed."""
        return found_in({"": (self.observed, expected_of(self.scenario))})

    def as_rooms(self) -> Rooms:
        """The recorded tables in the form from which outputs are measured."""
        return self._rooms

    @cached_property
    def _rooms(self) -> Rooms:
        return Rooms(self._columns(), first=self.first_replicate, count=self.replications, prices=self.scenario.prices)

    def _columns(self) -> dict[str, Columns]:
        """The recorded tables by column, categories as codes."""
        return {name: self._core.columns(name) for name in ALL_TABLES if name in self._recorded}

    def trace(self, replicate: int = 0) -> list[str]:
        """Every event of a replicate in plain language, in order of time. `replicate` is a number of this run."""
        self._require("events")
        last = self.first_replicate + self.replications - 1
        if not self.first_replicate <= replicate <= last:
            raise UserError(f"replicate {replicate} is not in this run, which has {self.first_replicate} to {last}")
        return self._core.trace(replicate)

    @property
    def provenance(self) -> dict[str, Any]:
        """Everything needed to reproduce this result."""
        options: dict[str, Any] = {"replications": self.replications, "seed": self.seed}
        command = provenance.run_command(self.scenario, first_replicate=self.first_replicate, **options)
        recipe = {
            "verb": "run",
            **options,
            "first_replicate": self.first_replicate,
            "tables": sorted(self._recorded),
            "scenario": self.scenario.recipe,
        }
        return provenance.of_run(self.scenario, command=command, checks=self.checks, **options) | {"recipe": recipe}

    def _frame(self, table: str) -> pd.DataFrame:
        """A frame of its own for every caller: what is done to it changes neither the result nor another's frame."""
        self._require(table)
        if table not in self._frames:
            self._frames[table] = frame(self._core.columns(table), _core.tables()[table])
        return self._frames[table].copy(deep=False)

    def _require(self, table: str) -> None:
        if table not in self._recorded:
            raise UserError(f"the table '{table}' was not recorded (add it: run(..., record=[..., '{table}']))")


@dataclass(frozen=True)
class KeptRun:
    """What a pickled Result holds in place of the engine's memory."""

    replications: int
    events: int
    checks: int
    set_aside: list[tuple[int, str]]
    tables: dict[str, dict[str, np.ndarray]]
    traces: dict[int, list[str]]

    def columns(self, table: str) -> dict[str, np.ndarray]:
        """The columns of a table by name."""
        return self.tables[table]

    def trace(self, replicate: int) -> list[str]:
        """The events of a replicate in plain language."""
        return self.traces[replicate]


def _unpickled(
    kind: type[Result], kept: KeptRun, scenario: Scenario, seed: int, first_replicate: int, recorded: list[str]
) -> Result:
    return kind(kept, scenario, seed=seed, first_replicate=first_replicate, recorded=recorded)


def write_tables(result: Result, folder: Path) -> None:
    """Writes a Parquet file for each recorded table, and provenance.json."""
    make_folder(folder)
    for name, table in result.tables.items():
        with replacing(folder / f"{name}.parquet") as out:
            table.to_parquet(out, index=False)
    provenance.write(folder, result.provenance)


def frame(columns: dict[str, np.ndarray], described: Sequence[_core.ColumnInfo]) -> pd.DataFrame:
    """A data frame of the columns: numbers not copied, words as categories (code -1 is missing), yes and no as booleans."""
    series = {info.name: _series(columns[info.name], info) for info in described}
    return pd.DataFrame(series, copy=False)


def _series(values: np.ndarray, info: _core.ColumnInfo) -> Any:
    if info.labels:
        return pd.Categorical.from_codes(values, pd.Index(info.labels))
    return values.astype(bool) if info.unit == YES_OR_NO else values

"""The records of one sow and her litter in one replicate."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import pandas as pd

from farrowtide.analysis.story.waiting import Staff
from farrowtide.engine.result import Result
from farrowtide.errors import UserError

RECORDED = ("sow_days", "piglets", "rooms", "tasks", "events", "visits")  # what a story is made of


@dataclass(frozen=True)
class SowRecords:
    """`number`: of the sow, in `replicate` of a result that recorded RECORDED. Raises UserError for an unknown sow."""

    result: Result
    replicate: int
    number: int

    def __post_init__(self) -> None:
        known = self._of_replicate(self.result.sows)["sow"]
        if self.number not in set(known):
            raise UserError(
                f"sow {self.number} is not in replicate {self.replicate} (sows: {known.min()} to {known.max()})"
            )

    @cached_property
    def sow(self) -> pd.Series:
        """Her row."""
        return self._hers(self.result.sows).iloc[0]

    @cached_property
    def days(self) -> pd.DataFrame:
        """Her days from loading on."""
        return self._hers(self.result.sow_days).reset_index(drop=True)

    @cached_property
    def visits(self) -> pd.DataFrame:
        """The visits that tasks asked for to her."""
        return self._hers(self.result.visits).reset_index(drop=True)

    @cached_property
    def events(self) -> pd.DataFrame:
        """What happened to her and the piglets with her, with the engine's `words` for it."""
        events = self._of_replicate(self.result.events)
        words = [line.partition(": ")[2] for line in self.result.trace(self.replicate)]
        return self._hers(events.assign(words=words)).reset_index(drop=True)

    @cached_property
    def moves_out(self) -> pd.DataFrame:
        """Moves of piglets born to her to other sows."""
        events = self._of_replicate(self.result.events)
        return events[(events["what"] == "piglet moved") & (events["amount"] == self.number)].reset_index(drop=True)

    @cached_property
    def piglets(self) -> pd.DataFrame:
        """The piglets born to her."""
        return self._hers(self.result.piglets).reset_index(drop=True)

    @cached_property
    def deaths(self) -> pd.DataFrame:
        """The deaths of piglets that were born to her or nursed her."""
        deaths = self._of_replicate(self.result.deaths)
        return deaths[(deaths["sow"] == self.number) | (deaths["reared_by"] == self.number)].reset_index(drop=True)

    @cached_property
    def staff(self) -> Staff:
        """The people of the replicate."""
        return Staff(self._of_replicate(self.result.stretches), self._of_replicate(self.result.roster))

    @cached_property
    def day_0(self) -> int:
        """The calendar day of her last birth, or of lactation day 0 of a nurse sow, counted from the start."""
        loaded = self.events.loc[self.events["what"] == "sow loaded", "time_h"]
        if self.days.empty or loaded.empty:
            return 0
        return int(loaded.iloc[0] // 24) - int(self.days["day"].iloc[0])

    def lactation_day(self, time_h: float) -> int:
        """The lactation day of a moment; negative before farrowing."""
        return int(time_h // 24) - self.day_0

    def piglet(self, dam: int, birth_order: int) -> dict[str, Any] | None:
        """The row of a piglet of the replicate; None where it was not born."""
        piglets = self._of_replicate(self.result.piglets)
        row = piglets[(piglets["sow"] == dam) & (piglets["birth_order"] == birth_order)]
        return None if row.empty else {str(name): value for name, value in row.iloc[0].items()}

    def happened(self, *kinds: str) -> pd.DataFrame:
        """Her events of these kinds."""
        return self.events[self.events["what"].isin(kinds)]

    def _of_replicate(self, table: pd.DataFrame) -> pd.DataFrame:
        return table[table["replicate"] == self.replicate]

    def _hers(self, table: pd.DataFrame) -> pd.DataFrame:
        return table[(table["replicate"] == self.replicate) & (table["sow"] == self.number)]

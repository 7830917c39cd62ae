"""What the default herd does, beside published herds and trials: python tests/validation/default_herd.py

Reads default_herd.yaml, writes default_herd.md and its pictures to .site/generated. Fails if a value outside the
published range has no sentence why, or if one that has a sentence has come inside.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

import default_herd_pictures
import numpy as np
import pandas as pd
import pictures
import yaml
from scipy import stats

import farrowtide
from farrowtide.statistics.inference import student_interval
from farrowtide.statistics.moments import Moments

HERE = Path(__file__).parent
PAGE = pictures.GENERATED / "default_herd.md"
ROOMS = 400
SEED = 1
STANDARD, LONG = 21, 28  # lactation, d
CLASSES = ("P1", "P2", "P3+")


@dataclass(frozen=True)
class Estimate:
    """A mean with its 95 % interval."""

    mean: float
    low: float
    high: float


def estimate(values: pd.Series, room: pd.Series) -> Estimate:
    """Mean over animals; rooms, not animals, are independent."""
    rooms = values.dropna().groupby(room).agg(["sum", "size"])
    mean = rooms["sum"].sum() / rooms["size"].sum()
    n = len(rooms)
    error = np.sqrt(n / (n - 1) * ((rooms["sum"] - mean * rooms["size"]) ** 2).sum()) / rooms["size"].sum()
    half = stats.t.ppf(0.975, n - 1) * error
    return Estimate(mean, mean - half, mean + half)


def deviation(values: pd.Series, room: pd.Series) -> Estimate:
    """Standard deviation over animals."""
    squares = estimate((values - values.mean()) ** 2, room)
    return Estimate(squares.mean**0.5, squares.low**0.5, squares.high**0.5)


class Herd:
    """The simulated herd, weaned at 28 days and again at 21: what is read off its tables."""

    def __init__(
        self, scenario: dict[str, Any], rooms: int, advance: Callable[[int], None] = lambda rooms: None
    ) -> None:
        self._results = {}
        for lactation_days in (STANDARD, LONG):
            weaned_then = farrowtide.load(scenario).override({"group.lactation_days": lactation_days})
            record = ["sow_days", "piglets"] if lactation_days == LONG else ["piglets"]
            self._results[lactation_days] = farrowtide.run(weaned_then, replications=rooms, seed=SEED, record=record)
            advance(rooms)

    @cached_property
    def sows(self) -> pd.DataFrame:
        return self._sows(LONG)

    @cached_property
    def days(self) -> pd.DataFrame:
        """Sow-days of lactation."""
        days = self._results[LONG].sow_days
        days = days[(days.farrowed == 1) & days.day.between(1, LONG - 1)]  # whole days
        return days.assign(parity_class=_parity_class(days.parity))

    @cached_property
    def live_born(self) -> pd.DataFrame:
        piglets = self._results[LONG].piglets
        return piglets[piglets.fate != "stillborn"]

    @cached_property
    def dead(self) -> pd.DataFrame:
        return self.live_born[self.live_born.fate == "died"]

    def weaned(self, lactation_days: int) -> pd.DataFrame:
        piglets = self._results[lactation_days].piglets
        return piglets[piglets.fate == "weaned"]

    # What rows of default_herd.yaml read

    def column(self, column: str, parity_class: str | None = None) -> Estimate:
        """Mean of a column of `sows`."""
        sows = self._of_class(self.sows, parity_class)
        return estimate(sows[column], sows.replicate)

    def column_deviation(self, column: str) -> Estimate:
        return deviation(self.sows[column], self.sows.replicate)

    def intake(self, first: int, last: int, parity_class: str | None = None) -> Estimate:
        """Feed eaten a day."""
        days = self._of_class(self.days[self.days.day.between(first, last)], parity_class)
        return estimate(days.eaten_kg, days.replicate)

    def stillborn(self) -> Estimate:
        piglets = self._results[LONG].piglets
        return estimate(100.0 * (piglets.fate == "stillborn"), piglets.replicate)

    def died(self) -> Estimate:
        return self.died_by_birth_weight(0, np.inf)

    def died_by_birth_weight(self, from_kg: float, below_kg: float) -> Estimate:
        """Of the live-born that weighed so much."""
        born = self.live_born[self.live_born.birth_weight_kg.between(from_kg, below_kg, inclusive="left")]
        return estimate(100.0 * (born.fate == "died"), born.replicate)

    def share_of_deaths(self, first: float, before: float) -> Estimate:
        """Deaths at these ages, of all deaths."""
        within = self.dead.age_at_death_d.between(first, before, inclusive="left")
        return estimate(100.0 * within, self.dead.replicate)

    def share_of_causes(self, causes: list[str]) -> Estimate:
        return estimate(100.0 * self.dead.cause.isin(causes), self.dead.replicate)

    def litters_with_a_death(self, first: float, before: float) -> Estimate:
        within = self.live_born.age_at_death_d.between(first, before, inclusive="left")
        litters = within.groupby([self.live_born.replicate, self.live_born.sow]).any().reset_index()
        return estimate(100.0 * litters.age_at_death_d, litters.replicate)

    def weaning_weight(self, lactation_days: int) -> Estimate:
        weaned = self.weaned(lactation_days)
        return estimate(weaned.weaning_weight_kg, weaned.replicate)

    def weaning_weight_deviation(self, lactation_days: int) -> Estimate:
        weaned = self.weaned(lactation_days)
        return deviation(weaned.weaning_weight_kg, weaned.replicate)

    def waited(self, first: int, last: int, parity_classes: list[str]) -> Estimate:
        """Sows in oestrus so many whole days after weaning at 21 days, of those that came into it."""
        sows = self._sows(STANDARD)
        sows = sows[sows.parity_class.isin(parity_classes) & sows.weaning_to_oestrus_d.notna()]
        return estimate(100.0 * np.floor(sows.weaning_to_oestrus_d).between(first, last), sows.replicate)

    # What only pictures need: places on the axis, mean, and the ends of its interval

    def intake_by_day(self, parity_class: str) -> tuple[np.ndarray, ...]:
        days = self._of_class(self.days, parity_class)
        rooms = days.pivot_table(index="replicate", columns="day", values="eaten_kg")
        moments = Moments.of(rooms.to_numpy())
        return rooms.columns.to_numpy(), moments.mean, *student_interval(moments)

    def died_by_age(self) -> tuple[np.ndarray, ...]:
        """Cumulative pre-weaning mortality by age [%]."""
        ages = np.arange(LONG + 1)
        dead = pd.DataFrame({age: 100.0 * (self.live_born.age_at_death_d < age) for age in ages})
        moments = Moments.of(dead.groupby(self.live_born.replicate).mean().to_numpy())
        return ages, moments.mean, *student_interval(moments)

    def _sows(self, lactation_days: int) -> pd.DataFrame:
        sows = self._results[lactation_days].sows
        return sows.assign(parity_class=_parity_class(sows.parity))

    @staticmethod
    def _of_class(rows: pd.DataFrame, parity_class: str | None) -> pd.DataFrame:
        return rows if parity_class is None else rows[rows.parity_class == parity_class]


def _parity_class(parity: pd.Series) -> np.ndarray:
    return np.array(CLASSES)[np.clip(parity, 1, len(CLASSES)) - 1]


# --- the page --------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Read:
    """A published row, and what the herd makes of it."""

    row: dict[str, Any]
    found: Estimate

    @property
    def published(self) -> tuple[float, float]:
        low, high = self.row["range"]
        return low, high

    @property
    def published_text(self) -> str:
        text = " to ".join(dict.fromkeys(f"{end:g}" for end in self.published))
        return text + (f" \N{PLUS-MINUS SIGN} {self.row['error']:g}" if "error" in self.row else "")

    @property
    def allowed(self) -> tuple[float, float]:
        low, high = self.published
        error = self.row.get("error", 0)
        return low - error, high + error

    @property
    def inside(self) -> bool:
        low, high = self.allowed
        return low <= self.found.mean <= high

    def cells(self) -> list[str]:
        found = f"{self._shown(self.found.mean)} ({self._shown(self.found.low)} to {self._shown(self.found.high)})"
        where = "inside" if self.inside else "**below**" if self.found.mean < self.allowed[0] else "**above**"
        what = f"{self.row['row']} [{self.row['unit']}]"
        return [what, found, self.published_text, where, self.row["kind"], self.row["source"]]

    def _shown(self, value: float) -> str:
        text = f"{value:.{self.row.get('decimals', 1)}f}"
        return text.replace("-", "\N{MINUS SIGN}") if float(text) else text.removeprefix("-")


HEAD = ["", "simulated (95 % CI)", "published", "herd", "kind", "source"]
INTRODUCTION = """\
<!-- Written by `python tests/validation/default_herd.py`; edit default_herd.yaml. -->
# The default herd compared with published herds

The default room: 24 sows of mixed parities, loaded in April, two people from 07:00 to 16:00, no fostering. Set here:
full access to feed, and each sow weaned after 28 days; oestrus and one weaning weight are those of the same sows weaned
after 21 days. {rooms} rooms with seed {seed}. Confidence intervals are those of the simulated mean, with rooms as
independent units. Published ranges span the means of the sources named; ± is the tolerance of such rows in the
validation trials, or the published error. A value inside the range resembles some published herd; that does not prove
the model. Kinds: `fitted` rows were used to choose a coefficient, `restated` rows read entered numbers back,
`independent` rows were not used.
"""


def read(herd: Herd, sections: list[dict[str, Any]]) -> dict[str, Read]:
    rows = [row for section in sections for row in section["rows"]]
    return {row["key"]: Read(row, getattr(herd, row["read"])(**row.get("with", {}))) for row in rows}


def page(sections: list[dict[str, Any]], found: dict[str, Read], drawn: dict[str, pictures.Drawn], rooms: int) -> str:
    parts = [INTRODUCTION.format(rooms=rooms, seed=SEED), _summary(list(found.values()))]
    for section in sections:
        picture = drawn[section["picture"]]
        parts += [
            f"## {section['title']}\n",
            f"![{picture.alt}]({picture.name}.svg)\n",
            f"{picture.caption}\n",
        ]
        here = [found[row["key"]] for row in section["rows"]]
        parts += [_cells(HEAD), _cells(["---"] * len(HEAD)), *(_cells(each.cells()) for each in here), ""]
        why = [f"- {each.row['row'].capitalize()}: {each.row['outside']}" for each in here if each.row.get("outside")]
        parts += [*why, ""] if why else []
    return "\n".join(parts)


def _summary(found: list[Read]) -> str:
    counts = []
    for kind in ("fitted", "restated", "independent"):
        rows = [each for each in found if each.row["kind"] == kind]
        counts.append(f"{kind} {sum(each.inside for each in rows)} of {len(rows)}")
    return f"Inside the published range, or within its tolerance: {', '.join(counts)}.\n"


def _cells(texts: list[str]) -> str:
    return f"| {' | '.join(texts)} |"


def unexplained(found: dict[str, Read]) -> list[str]:
    """Rows whose sentence is missing, or no longer true."""
    wrong = []
    for key, each in found.items():
        if each.inside == bool(each.row.get("outside")):
            state = "is inside and still has" if each.inside else f"is {each.found.mean:.4g}, outside, and lacks"
            wrong.append(f"{key} {state} a sentence why")
    return wrong


def published() -> dict[str, Any]:
    """What default_herd.yaml says."""
    return yaml.safe_load((HERE / "default_herd.yaml").read_text(encoding="utf-8"))


def main() -> int:
    sections = published()["sections"]
    with pictures.progress("rooms", 2 * ROOMS) as advance:
        herd = Herd(published()["scenario"], ROOMS, advance)
        found = read(herd, sections)
        drawn = default_herd_pictures.draw(herd, found)
    PAGE.write_text(page(sections, found, drawn, ROOMS), encoding="utf-8")
    wrong = unexplained(found)
    print(*wrong, sep="\n", end="\n" if wrong else "", file=sys.stderr)
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())

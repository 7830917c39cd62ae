"""The sheets of a room: one for each day of the group, a card for each crate, an audit of 20 minutes."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict, dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

from farrowtide.cautions import CAUTION
from farrowtide.errors import UserError
from farrowtide.outputs.one_line import one_line
from farrowtide.outputs.units import count
from farrowtide.report.protocol.days import Planner
from farrowtide.report.protocol.document import (
    Heading,
    heading,
    html_template,
    markdown_template,
    write_both,
)
from farrowtide.report.protocol.lines import Look, looks
from farrowtide.report.protocol.phrases import BLANK, Language, Phrases, phrases_of
from farrowtide.report.protocol.sheet_rows import Crate, Day
from farrowtide.report.protocol.values import Values
from farrowtide.scenarios.scenario import Scenario

PARTS = ("days", "cards", "audit")
_MOST_COLUMNS = 12  # days of lactation in a row of a crate card


@dataclass(frozen=True)
class Card:
    """The card of a crate: `feed` is the planned amount by day of lactation, in rows that fit on the card."""

    crate: Crate
    due: str
    feed: tuple[tuple[tuple[int, str], ...], ...]


@dataclass(frozen=True)
class Sheets:
    """What hangs in a room. Parts that were not asked for are empty."""

    heading: Heading
    herd: str  # what is known of the sows, in a sentence
    cautions: tuple[str, ...]
    days: tuple[Day, ...]
    cards: tuple[Card, ...]
    audit: tuple[Look, ...]
    unit: str  # of feed
    phrases: Phrases

    def __repr__(self) -> str:
        return one_line("Sheets", self.heading.title, count(len(self.days), "day"), count(len(self.cards), "card"))

    @cached_property
    def markdown(self) -> str:
        """The sheets in Markdown."""
        return markdown_template("sheets.md.jinja").render(sheets=self, text=self.phrases)

    @cached_property
    def html(self) -> str:
        """The sheets as a page to print."""
        return html_template("sheets.html.jinja").render(sheets=self, text=self.phrases)

    def in_plain_values(self) -> dict[str, Any]:
        """As JSON holds it."""
        plain = {key: value for key, value in asdict(self).items() if key != "phrases"}
        return plain | {"caution": CAUTION}

    def write(self, folder: Path) -> list[Path]:
        """Writes sheets.html and sheets.md, creating the folder."""
        return write_both(folder, "sheets", self.html, self.markdown)


def sheets_of(
    scenario: Scenario,
    crates: Iterable[Crate],
    herd: str,
    *,
    days: Iterable[int] | None = None,
    parts: Iterable[str] = PARTS,
    language: Language = None,
    units: str = "as_written",
    date: str = "",
    version: str = "",
) -> Sheets:
    """The sheets of a room with these sows; `herd` says what is known of them. `days`: of the group; None: all.

    Raises UserError where a day is not one of the group's.
    """
    values = Values(scenario, phrases_of(language), units)
    planner = Planner(values, crates)
    chosen = sorted(set(planner.days if days is None else days))
    outside = [day for day in chosen if day not in planner.days]
    if outside:
        raise UserError(
            f"day {outside[0]}: is not a day of the group ({planner.days[0]} to {planner.days[-1]}, from loading to weaning)"
        )
    of_cautions = (
        "general",
        "sows",
        "medicines",
        "heat_lamps",
        "processing",
        "obstetrics",
        "lone_work",
        "water",
        "weaning",
        "euthanasia",
    )
    return Sheets(
        heading(values, date=date, version=version),
        herd,
        tuple(values.phrases(f"cautions.{topic}") for topic in of_cautions),
        tuple(map(planner.day, chosen)) if "days" in parts else (),
        tuple(_card(planner, crate) for crate in planner.crates) if "cards" in parts else (),
        tuple(looks(values)) if "audit" in parts else (),
        planner.unit,
        values.phrases,
    )


def _card(planner: Planner, crate: Crate) -> Card:
    date = planner.date_of(crate.due) if crate.due is not None else None
    day = BLANK if crate.due is None else str(crate.due)
    cells = [(day, _amount(planner, day, crate)) for day in range(planner.lactation + 1)]
    rows = [tuple(cells[place : place + _MOST_COLUMNS]) for place in range(0, len(cells), _MOST_COLUMNS)]
    return Card(crate, f"{day} ({date.isoformat()})" if date else day, tuple(rows))


def _amount(planner: Planner, day: int, crate: Crate) -> str:
    if not planner.plan.known or (crate.parity is None and planner.plan.by_parity):
        return ""
    feed = planner.feed_of(day, crate.parity)
    if feed.kg_per_day is None:
        return planner.values.phrases("sheets.open")
    return planner.number_of(feed.kg_per_day)

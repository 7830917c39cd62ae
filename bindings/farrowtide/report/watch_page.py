"""The list of a morning as one page to print, and its tables."""

from __future__ import annotations

from pathlib import Path

from farrowtide.analysis.watching.watching import WatchTables
from farrowtide.engine import provenance
from farrowtide.inert_text import write_csv
from farrowtide.outputs.units import recorded
from farrowtide.report.page import provenance_rows
from farrowtide.report.templating import template
from farrowtide.report.wording import watching as words
from farrowtide.report.wording.cells import rows
from farrowtide.whole_files import make_folder, write_text

PAGE = "morning.html"
_MOST_SOWS, _MOST_ROOMS, _MOST_CAUSES, _MOST_NAMED = 12, 2, 2, 24  # that fit on one page


def write_report(watched: WatchTables, folder: Path, *, units: str = "si") -> Path:
    """Writes the page, CSV tables and provenance.json; the same list gives the same bytes."""
    make_folder(folder)
    write_text(folder / PAGE, render(watched, units=units))
    reasons = [words.reason(row) for row in rows(watched.flags)] if len(watched.flags) else []
    for name, table in (
        ("flags", watched.flags.assign(reason=reasons)),
        ("bands", watched.bands),
        ("rooms", watched.rooms),
        ("causes", watched.causes),
    ):
        write_csv(table, folder / f"{name}.csv")
    provenance.write(folder, watched.provenance | recorded(units))
    return folder / PAGE


def render(watched: WatchTables, *, units: str = "si") -> str:
    """The page as text."""
    alarms = list(rows(words.alarms(watched))) if len(watched.flags) else []
    off = words.rooms_off_track(watched, units)
    return template("morning.html.jinja").render(
        title=f"Morning round, {watched.morning:%A} {watched.morning.day} {watched.morning:%B %Y}",
        scenario=watched.scenario.title,
        summary=words.summary(watched),
        sows=[
            {
                "room": row.room,
                "sow": row.sow,
                "parity": row.parity,
                "day": row.lactation_day,
                "since": words.since(row.mornings),
                "reason": words.reason(row, units),
                "look": words.LOOK[row.flag],
            }
            for row in alarms[:_MOST_SOWS]
        ],
        more_sows=max(len(alarms) - _MOST_SOWS, 0),
        told=[
            (words.TITLES[name], words.expected_told(watched, name), _shortened(sows), words.LOOK[name])
            for name, sows in words.also_told(watched).items()
        ],
        rooms=off[:_MOST_ROOMS],
        more_rooms=max(len(off) - _MOST_ROOMS, 0),
        most_causes=_MOST_CAUSES,
        no_cause=words.NO_CAUSE,
        silent=_shortened(words.silent(watched)),
        rate=words.rate(watched.thresholds, watched.signals),
        not_a_diagnosis=words.NOT_A_DIAGNOSIS,
        caution=watched.provenance["caution"],
        provenance=provenance_rows(watched.provenance),
    )


def _shortened(names: list[str]) -> str:
    more = len(names) - _MOST_NAMED
    return ", ".join(names[:_MOST_NAMED]) + (f" and {more} more (flags.csv)" if more > 0 else "")

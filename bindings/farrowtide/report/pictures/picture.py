"""A picture, and the style that all pictures share.

Colours are from the Okabe-Ito palette, those with a contrast of 3:1 or more on white. Each has its own dash and marker,
so that no information is carried by colour alone. The same data give the same bytes.
"""

from __future__ import annotations

import hashlib
import io
import json
import os
import re
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeAlias, TypeVar
from xml.sax.saxutils import escape

import matplotlib
import numpy as np
from markupsafe import Markup
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.text import Text

from farrowtide.analysis.comparison import ComparisonTables
from farrowtide.errors import UserError
from farrowtide.inert_text import visible
from farrowtide.report.data_links import of_svg
from farrowtide.whole_files import replacing, write_text

# Whatever a file of settings in the working directory says, which Matplotlib reads.
_DEFAULTS = {name: value for name, value in matplotlib.rcParamsDefault.items() if not name.startswith("backend")}
STYLE: Any = _DEFAULTS | {
    "axes.edgecolor": "0.4",
    "axes.grid": True,
    "axes.labelsize": 8,
    "axes.spines.right": False,
    "axes.spines.top": False,
    "axes.titlelocation": "left",
    "axes.titlesize": 8.5,
    "font.size": 8,
    "grid.color": "0.9",
    "grid.linewidth": 0.6,
    "legend.fontsize": 7.5,
    "legend.frameon": False,
    "lines.linewidth": 1.4,
    "svg.fonttype": "path",
    "svg.hashsalt": "farrowtide",
    "text.parse_math": False,
    "xtick.color": "0.25",
    "ytick.color": "0.25",
    "xtick.labelsize": 7.5,
    "ytick.labelsize": 7.5,
}
COLOURS = ("#000000", "#0072B2", "#D55E00", "#009E73", "#CC79A7")
DASHES = ("-", (0, (5, 1.5)), (0, (1.5, 1)), (0, (4, 1, 1, 1)), (0, (7, 1, 1, 1, 1, 1)))
_MARKERS = "osD^v<>PX"
DRAWN_WITH = f"matplotlib {matplotlib.__version__}"
_PAGE_WIDTH = 7.1  # inches: the text width of A4 and of Letter with their usual margins
PER_ROW = 2  # panels side by side
_INDENT = re.compile("^ +", re.MULTILINE)
_METADATA = re.compile("<metadata>.*?</metadata>\n?", re.DOTALL)
_ID = re.compile(' id="([^"]*)"')
_REFERENCE = re.compile(r'(?:href="#|url\(#)([^")]+)')  # to an id
_SUFFIXES = (".svg", ".png", ".pdf")
# A coordinate in a path or of a marker; a hundredth of a point is finer than any screen or printer.
_LONG_NUMBER = re.compile(r"""(?<=[ "])(-?\d+\.\d\d)\d+(?=[ "]|$)""", re.MULTILINE)
Panels: TypeAlias = np.ndarray[Any, Any]  # of Axes
Subject = TypeVar("Subject")


@dataclass(frozen=True)
class Picture:
    """A figure with its title, a caption that says what is drawn and how, and a text for readers who cannot see it."""

    figure: Figure
    title: str
    caption: str
    alt: str
    provenance: dict[str, Any] | None = None  # which a saved SVG carries

    def svg(self) -> str:
        """The picture as SVG without a date, with its title, and with ids that no other picture has."""
        return self._as_svg({})

    def _as_svg(self, metadata: dict[str, str]) -> str:
        out = io.StringIO()
        with self._drawable():
            self.figure.savefig(out, format="svg", metadata={"Date": None, "Creator": None} | metadata)
        head, end_of_metadata, drawing = out.getvalue().partition("</metadata>\n")
        before, metadata_element, said = head.partition("<metadata>")
        told = f"<title>{escape(self.title)}</title>\n<desc>{escape(self.alt)}</desc>\n"
        about = _INDENT.sub("", f"{before}{told}{metadata_element}{said}")
        return visible(f"{about}{end_of_metadata}{_shortened(drawing, _hash_of(told))}")

    @contextmanager
    def _drawable(self) -> Iterator[None]:
        """In the common style, with letters shown that would act on the text around them."""
        with matplotlib.rc_context(STYLE):  # also for the texts that are made when they are looked for
            for text in self.figure.findobj(Text):
                if (shown := visible(text.get_text())) != text.get_text():
                    text.set_text(shown)
            yield

    def data_uri(self) -> Markup:
        """The picture as the source of an <img>, without a file."""
        svg = self.svg()
        return of_svg(_METADATA.sub("", svg[svg.index("<svg") :]))

    def savefig(self, path: str | os.PathLike[str], *, dots_per_inch: int = 200) -> None:
        """Writes SVG, PNG or PDF, according to the suffix of the path; an SVG carries what reproduces it.

        Raises UserError for any other suffix.
        """
        suffix = Path(path).suffix
        if suffix not in _SUFFIXES:
            raise UserError(f"{path}: a picture is written as {', '.join(_SUFFIXES[:-1])} or {_SUFFIXES[-1]}")
        if suffix == ".svg":
            metadata = {"Description": json.dumps(self.provenance, ensure_ascii=False)} if self.provenance else {}
            write_text(Path(path), self._as_svg(metadata))
            return
        with self._drawable(), replacing(Path(path)) as out:
            self.figure.savefig(out, format=suffix.removeprefix("."), dpi=dots_per_inch)

    save = savefig  # its earlier name

    def _repr_svg_(self) -> str:
        return self.svg()


def _shortened(drawing: str, own: str) -> str:
    """The drawing without indents, digits that nobody sees and ids that nothing refers to.

    The other ids begin with `own`, so that pictures can stand on one page.
    """
    short = _INDENT.sub("", _LONG_NUMBER.sub(r"\1", drawing))
    named = {name: f"{own}{number}" for number, name in enumerate(dict.fromkeys(_REFERENCE.findall(short)))}
    short = _ID.sub(lambda found: f' id="{named[found[1]]}"' if found[1] in named else "", short)
    return _REFERENCE.sub(lambda found: found[0].replace(found[1], named[found[1]]), short)


def _hash_of(told: str) -> str:
    """What ids of a picture begin with: of what it tells, since a figure that is drawn again may move a little."""
    return f"p{hashlib.sha256(told.encode()).hexdigest()[:6]}-"


@dataclass(frozen=True)
class Grid:
    """Panels side by side and below each other."""

    figure: Figure
    axes: Panels  # rows x columns

    @property
    def left(self) -> list[Axes]:
        """The first panel of each row."""
        return list(self.axes[:, 0])

    @property
    def bottom(self) -> list[Axes]:
        """The last row."""
        return list(self.axes[-1])

    def legend_above(self, columns: int) -> None:
        """One legend for all panels, that of the first, with at most so many names in a line."""
        handles, names = self.axes[0, 0].get_legend_handles_labels()
        self.figure.legend(handles, names, loc="outside upper left", ncols=min(columns, len(names)))


@contextmanager
def panel_for_each(
    subjects: Sequence[Subject], height: float, *, per_row: int = PER_ROW, **options: Any
) -> Iterator[tuple[Grid, list[tuple[Axes, Subject]]]]:
    """A grid with a panel of this height [in] for each subject; panels left over in the last row stay empty."""
    columns = min(len(subjects), per_row)
    with panels(-(-len(subjects) // columns), columns, height, **options) as (figure, axes):
        for axis in axes.flat[len(subjects) :]:
            axis.set_axis_off()
        yield Grid(figure, axes), list(zip(axes.flat, subjects, strict=False))


@contextmanager
def panels(rows: int, columns: int, height: float, **options: Any) -> Iterator[tuple[Figure, Panels]]:
    """A figure of the page's width with rows x columns axes of this height [in], in the common style."""
    with matplotlib.rc_context(STYLE):
        figure = Figure(figsize=(_PAGE_WIDTH, rows * height + 0.35), layout="constrained")
        yield figure, figure.subplots(rows, columns, squeeze=False, **options)


def look_of(comparison: ComparisonTables, name: str) -> dict[str, Any]:
    """Colour, dash and marker of an alternative; the reference comes first, in black."""
    order = [comparison.reference, *(other for other in comparison.alternatives if other != comparison.reference)]
    index = order.index(name)
    return {
        "color": COLOURS[index % len(COLOURS)],
        "linestyle": DASHES[(index + index // len(COLOURS)) % len(DASHES)],
        "marker": _MARKERS[index % len(_MARKERS)],
    }

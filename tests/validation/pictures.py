"""The look of the pictures on the validation pages, and how they are written: the same data give the same bytes.

Colours are of the Okabe-Ito set, each with its own dash and marker; what was published is black and hollow.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import matplotlib
import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from farrowtide.report.pictures.picture import STYLE  # the package's own look

GENERATED = Path(__file__).parents[2] / ".site" / "generated"
WIDTH_IN = 7.1  # the text width of A4 and of Letter
LOOKS: tuple[dict[str, Any], ...] = (
    {"color": "#0072B2", "linestyle": "-", "marker": "o"},
    {"color": "#D55E00", "linestyle": (0, (5, 1.5)), "marker": "s"},
    {"color": "#009E73", "linestyle": (0, (1.5, 1)), "marker": "^"},
    {"color": "#CC79A7", "linestyle": (0, (4, 1, 1, 1)), "marker": "v"},
)
PUBLISHED_MARKERS = "DPX*h"


@contextmanager
def panels(rows: int, columns: int, height_in: float, **options: Any) -> Iterator[tuple[Figure, np.ndarray]]:
    """A figure as wide as a page, with rows x columns axes of this height."""
    with matplotlib.rc_context(STYLE):
        figure = Figure(figsize=(WIDTH_IN, rows * height_in + 0.4), layout="constrained")
        yield figure, figure.subplots(rows, columns, squeeze=False, **options)


def write_svg(figure: Figure, name: str, title: str) -> Path:
    """Writes .site/generated/<name>.svg, without a date."""
    GENERATED.mkdir(parents=True, exist_ok=True)
    path = GENERATED / f"{name}.svg"
    with matplotlib.rc_context(STYLE):
        figure.savefig(path, metadata={"Date": None, "Creator": None, "Title": title})
    return path


@dataclass(frozen=True)
class Drawn:
    """A written picture: its file's name without ending, what it shows, and the same for those who don't see it."""

    name: str
    caption: str
    alt: str


def written(figure: Figure, name: str, title: str, caption: str, alt: str) -> Drawn:
    """Writes the picture and tells about it."""
    write_svg(figure, name, title)
    return Drawn(name, caption, alt)


def both_temperature_scales(axis: Axes, ticks_deg_c: Sequence[float]) -> None:
    """Marks on a temperature axis in deg C and, below, in deg F."""
    axis.set_xticks(ticks_deg_c, [f"{tick:g} °C\n{1.8 * tick + 32:.0f} °F" for tick in ticks_deg_c])


def line_with_band(axis: Axes, x: Any, mean: Any, low: Any, high: Any, look: dict, label: str | None = None) -> None:
    """A line with its 95 % band."""
    axis.fill_between(x, low, high, color=look["color"], alpha=0.2, linewidth=0)
    axis.plot(x, mean, label=label, **{"markersize": 3.5} | look)


def published_points(axis: Axes, x: Any, y: Any, index: int, label: str, **options: Any) -> None:
    """Published values: black, hollow, each source with its own marker."""
    look = {"color": "black", "markerfacecolor": "white", "markeredgewidth": 1, "linestyle": "none", "zorder": 5}
    axis.errorbar(x, y, label=label, marker=PUBLISHED_MARKERS[index], markersize=5.5, elinewidth=1, **look, **options)


@contextmanager
def progress(what: str, total: int) -> Iterator[Callable[[int], None]]:
    """A bar with the time left, where standard error is a terminal; yields what tells it how many more rooms are done."""
    from rich.console import Console
    from rich.progress import Progress

    with Progress(console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task(what, total=total)
        yield lambda rooms: bar.advance(task, rooms)

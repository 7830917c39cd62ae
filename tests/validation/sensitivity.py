"""Turns one condition at a time, on the same animals, and draws what follows: python tests/validation/sensitivity.py [KEY...]

Writes sensitivity_<key>.svg and sensitivity.json to .site/generated. The studies stand in sensitivity_studies.py.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Callable

import numpy as np
import pandas as pd
import pictures
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from sensitivity_studies import STUDIES, Panel, Published, Study

import farrowtide
from farrowtide.statistics.inference import student_interval
from farrowtide.statistics.moments import Moments

ROOMS = 200
SEED = 1


class Found:
    """What a study measured: outputs by room for every line and level, the same animals everywhere."""

    def __init__(self, by_room: dict[tuple[str, float], pd.DataFrame]) -> None:
        self._by_room = by_room

    def rooms(self, output: str, line: str, level: float) -> np.ndarray:
        """One value per room."""
        return self._by_room[line, level][output].to_numpy()

    def mean(self, output: str, line: str, level: float) -> float:
        """Mean over rooms."""
        return float(self.rooms(output, line, level).mean())

    def change_percent(self, output: str, line: str, level: float, other: float) -> float:
        """From one level to the other, of means."""
        return 100 * (self.mean(output, line, other) / self.mean(output, line, level) - 1)


def measure(study: Study, rooms: int, advance: Callable[[int], None] = lambda rooms: None) -> Found:
    """Runs every line at every level."""
    by_room = {}
    for line, animals in study.lines.items():
        base = farrowtide.load({"title": study.title, **study.base}).override(animals)
        for level, overrides in study.levels.items():
            result = farrowtide.run(base.override(overrides), replications=rooms, seed=SEED, record=study.tables)
            by_room[line, level] = _outputs_by_room(result, study)
            advance(rooms)
    return Found(by_room)


def _outputs_by_room(result: farrowtide.Result, study: Study) -> pd.DataFrame:
    """The declared outputs, and a few more."""
    sums = result.sows.groupby("replicate")[["litter_gain_kg_per_day", "weaned", "total_born"]].sum()
    found = result.outputs.assign(
        piglet_gain_g_per_day=1000 * sums.litter_gain_kg_per_day / sums.weaned,
        total_loss_percent=100 - 100 * sums.weaned / sums.total_born,
        water_l_per_day=result.sows.groupby("replicate").water_l_per_day.mean(),
    )
    if "piglets" in study.tables:
        lived = result.piglets[result.piglets.fate != "stillborn"]
        found["died_d0_1_percent"] = 100.0 * (lived.age_at_death_d < 2).groupby(lived.replicate).mean()
    return found


# --- pictures --------------------------------------------------------------------------------------------------------


def draw(study: Study, found: Found) -> Figure:
    """A panel per output: mean with its 95 % band, and what was published."""
    columns = 2
    with pictures.panels(-(-len(study.panels) // columns), columns, 2.25) as (figure, axes):
        for axis, panel in zip(axes.flat, study.panels, strict=True):
            _draw_panel(axis, study, panel, found)
        entries = {}
        for axis, panel in zip(axes.flat, study.panels, strict=True):
            handles, names = axis.get_legend_handles_labels()
            entries |= {name: handle for name, handle in zip(names, handles, strict=True) if name not in panel.names}
        figure.legend(
            entries.values(),
            entries.keys(),
            loc="outside lower center",
            ncols=2,
            handlelength=3,
            title="Bands: 95 % interval. Hollow: published; 'from': the change found, laid on the simulated line there.",
            title_fontsize=7.5,
        )
    return figure


def _draw_panel(axis: Axes, study: Study, panel: Panel, found: Found) -> None:
    levels = list(study.levels)
    for index, (output, line) in enumerate(panel.lines):
        rooms = np.column_stack([found.rooms(output, line, level) for level in levels])
        moments = Moments.of(rooms)
        low, high = student_interval(moments)
        look = pictures.LOOKS[index + 2 if panel.names else list(study.lines).index(line)]
        pictures.line_with_band(
            axis, levels, moments.mean, low, high, look, panel.names[index] if panel.names else line
        )
    if panel.names:
        axis.legend()
    for published in panel.published:
        output, line = panel.lines[published.line]
        x, y = _laid_on(published, levels, [found.mean(output, line, level) for level in levels])
        pictures.published_points(axis, x, y, study.sources.index(published.source), published.source)
    axis.set(title=f"{panel.title}, {panel.unit}", xscale=study.scale)
    low, high = axis.get_ylim()
    axis.set_ylim(min(0, low), high + 0.05 * (high - min(0, low)))
    _label_levels(axis, study)


def _laid_on(published: Published, levels: list[float], means: list[float]) -> tuple[np.ndarray, np.ndarray]:
    """Values as they are; a change starts on the line at the trial's first level, which isn't drawn."""
    x, y = np.array(published.x), np.array(published.y)
    start = np.interp(x[0], levels, means)
    return {"absolute": (x, y), "ratio": (x[1:], start * y[1:]), "difference": (x[1:], start + y[1:])}[published.way]


def _label_levels(axis: Axes, study: Study) -> None:
    axis.set_xlabel(study.axis)
    if study.key == "temperature":
        pictures.both_temperature_scales(axis, list(study.ticks))
    else:
        axis.set_xticks(list(study.ticks), list(study.ticks.values()))
        axis.minorticks_off()


def main(keys: list[str]) -> None:
    studies = [study for study in STUDIES if not keys or study.key in keys]
    total = ROOMS * sum(len(study.lines) * len(study.levels) for study in studies)
    said_path = pictures.GENERATED / "sensitivity.json"
    said = json.loads(said_path.read_text(encoding="utf-8")) if said_path.exists() else {}
    with pictures.progress("rooms", total) as advance:
        for study in studies:
            found = measure(study, ROOMS, advance)
            pictures.write_svg(draw(study, found), f"sensitivity_{study.key}", study.title)
            said[study.key] = {"title": study.title, "says": study.says(found)}
    ordered = {study.key: said[study.key] for study in STUDIES if study.key in said}
    said_path.write_text(json.dumps(ordered, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main(sys.argv[1:])

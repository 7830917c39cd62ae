"""The report of a calibration: one HTML page, the calibration file, and the tables as CSV."""

from __future__ import annotations

import io
from pathlib import Path
from typing import Any

from ruamel.yaml import YAML
from ruamel.yaml.comments import CommentedMap, CommentedSeq

from farrowtide.analysis.calibration.tables import CalibrationTables
from farrowtide.engine import provenance
from farrowtide.inert_text import visible, write_csv
from farrowtide.outputs.units import warning_in
from farrowtide.report.page import provenance_rows
from farrowtide.report.pictures.calibration import parameters, statistics
from farrowtide.report.templating import template
from farrowtide.report.wording.calibration import in_words
from farrowtide.report.wording.cells import rows
from farrowtide.scenarios.parameters import parameters as all_parameters
from farrowtide.whole_files import make_folder, write_text

FILE = "calibration.yaml"
_HEAD = """\
# Levels and coefficients of a farm, from its records; written by `farrowtide calibrate`, read with --calibration FILE.
# Draws are equally likely values of what is named above them. A model's parameters, not measurements of the farm.
"""


def write_report(calibration: CalibrationTables, folder: Path, *, units: str = "si") -> Path:
    """Writes calibration.yaml, report.html and CSV tables; the same calibration gives the same bytes."""
    make_folder(folder)
    write_text(folder / FILE, in_yaml(calibration.file))
    write_text(folder / "report.html", render(calibration, units=units))
    for name in ("parameters", "statistics", "directions"):
        write_csv(getattr(calibration, name), folder / f"{name}.csv")
    provenance.write(folder, calibration.provenance | {"units": units})
    return folder / FILE


def in_yaml(file: dict[str, Any]) -> str:
    """The calibration file as text, with each draw on one line."""
    posterior = file["posterior"]
    draws = CommentedSeq(_on_one_line(draw) for draw in posterior["draws"])
    content = CommentedMap(file | {"posterior": CommentedMap(names=posterior["names"], draws=draws)})
    yaml = YAML(typ="rt")
    yaml.width = 10_000
    out = io.StringIO()
    yaml.dump(content, out)
    return visible(_HEAD + out.getvalue())


def _on_one_line(numbers: list[float]) -> CommentedSeq:
    line = CommentedSeq(numbers)
    line.fa.set_flow_style()
    return line


def render(calibration: CalibrationTables, *, units: str = "si") -> str:
    """The page as text."""
    records = calibration.file["records"]
    return template("calibration.html.jinja").render(
        title=f"Calibration: {calibration.scenario.title}",
        interrupted=calibration.interrupted,
        settled=calibration.settled,
        farrowings=f"{records['farrowings']:,}",
        farrowings_used=f"{records['farrowings_used']:,}",
        groups_used=len(calibration.groups_used),
        groups_kept=len(calibration.groups_kept_aside),
        rooms=f"{calibration.rooms:,}",
        unit=calibration.scenario.unit_of_replication,
        sentences=in_words(
            calibration.parameters, calibration.statistics, calibration.stays, len(calibration.groups_used)
        ),
        picture_of_parameters=parameters(calibration.parameters),
        picture_of_statistics=statistics(calibration.statistics),
        parameters=calibration.parameters.to_dict(orient="records"),
        directions=calibration.directions.to_dict(orient="records"),
        statistics=[shown(row) for row in rows(calibration.statistics)],
        others=len(all_parameters(calibration.scenario)) - len(calibration.parameters),
        weight_of_model=calibration.weight_of_model,
        inflation=calibration.inflation,
        left_out=calibration.left_out,
        warnings=[warning_in(units, warning) for warning in calibration.warnings],
        caution=calibration.provenance["caution"],
        provenance=[*provenance_rows(calibration.provenance), ("Records", _records(records))],
    )


def shown(row: Any) -> dict[str, Any]:
    """A row of the table of statistics as it is printed."""
    number = f"{{:.{int(row.decimals)}f}}".format
    kept = row.kept == row.kept  # not missing
    return {
        "label": row.label,
        "unit": row.unit,
        "fitted": row.fitted,
        "recorded": number(row.recorded),
        "error": f"{row.standard_error:.{int(row.decimals) + 1}f}",
        "before": number(row.before),
        "after": number(row.after),
        "residual": f"{round(row.residual, 1) + 0.0:+.1f}",  # never "-0.0"
        "disagrees": bool(row.disagrees),
        "kept": number(row.kept) if kept else "",
        "interval": f"{number(row.kept_low)} to {number(row.kept_high)}" if kept else "",
        "inside": bool(row.kept_inside),
    }


def _records(of: dict[str, Any]) -> str:
    return f"{of['farrowings']:,} farrowings and {of['days']:,} days ({of['hash']})"

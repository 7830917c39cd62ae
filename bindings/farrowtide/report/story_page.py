"""A story as one HTML page that can be read offline and printed."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from typing import Any

import pandas as pd

from farrowtide.cautions import for_comparison_only, marked
from farrowtide.errors import PlausibilityWarning
from farrowtide.outputs.units import warning_in
from farrowtide.report.page import provenance_rows
from farrowtide.report.pictures.story import sow_by_day
from farrowtide.report.story_lines import PHASES, Line, Number
from farrowtide.report.templating import template
from farrowtide.scenarios.scenario import Scenario


def render(
    *,
    scenario: Scenario,
    heading: str,
    about: str,
    policies: Sequence[str],
    lines: Sequence[Line],
    numbers: Sequence[Number],
    days: Mapping[str, pd.DataFrame],
    warnings: Sequence[PlausibilityWarning],
    provenance: Mapping[str, Any],
    units: str,
) -> str:
    """The page as text. `policies`: the one that the story is of, and the one beside it if there is one."""
    by_phase = {phase: [line for line in lines if line.phase == phase] for phase in PHASES}
    return template("story.html.jinja").render(
        title=scenario.title,
        heading=heading,
        about=about,
        policies=[marked(name, provenance["withheld_care"]) for name in policies],
        phases={phase: some for phase, some in by_phase.items() if some},
        numbers=numbers,
        picture=sow_by_day(days, units),
        warnings=[warning_in(units, warning) for warning in warnings],
        caution=provenance["caution"],
        for_comparison_only=for_comparison_only(provenance["withheld_care"]),
        provenance=provenance_rows(dict(provenance)),
        provenance_json=json.dumps({**provenance, "units": units}, ensure_ascii=False),
    )

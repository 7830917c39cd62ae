"""The list of warnings as Markdown, from the checks that issue them."""

from __future__ import annotations

from farrowtide.outputs.plausibility import findings
from farrowtide.outputs.plausibility.ranges import ranges
from farrowtide.scenarios.plausibility.checks import CHECKS
from farrowtide.study import watch


def warnings_page() -> str:
    """The kinds of warning about scenarios and results, and the plausible ranges."""
    about_scenarios = {kind: (check.__doc__ or "").strip() for kind, check in CHECKS.items()}
    return "\n".join(
        [
            *_section("About a scenario, before anything is run", about_scenarios),
            *_section("About a result", findings.KINDS | watch.KINDS),
            "## Plausible ranges",
            "",
            "Outside these limits, a result is warned about. Grades as of coefficients: A published, B derived, C common",
            "practice or assumption.",
            "",
            "| Counted | Measure | Warned about | Grade | Source | What to do |",
            "|---|---|---|---|---|---|",
            *(
                f"| {limits.of} | {limits.what} | {limits.limits} | {limits.grade} | {limits.source} | {limits.advice} |"
                for limits in ranges().values()
            ),
            "",
        ]
    )


def _section(title: str, kinds: dict[str, str]) -> list[str]:
    rows = [f"| {kind} | {meaning} |" for kind, meaning in kinds.items()]
    return [f"## {title}", "", "| Kind | Meaning |", "|---|---|", *rows, ""]

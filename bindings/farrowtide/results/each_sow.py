"""The same sows under two alternatives: run, drawn and written."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from farrowtide.analysis.each_sow import EachSowTables, chosen_measures, side_by_side, sows_of
from farrowtide.engine import provenance
from farrowtide.engine.result import Interrupted
from farrowtide.engine.running import run
from farrowtide.report.wording.each_sow import findings
from farrowtide.scenarios.scenario import Scenario
from farrowtide.study.plan import reference_of
from farrowtide.study.provenance import of_pairs


class EachSow(EachSowTables):
    __doc__ = EachSowTables.__doc__

    def write(self, folder: Path) -> None:
        """Writes each_sow.csv, gains.csv, the picture and provenance.json."""
        folder.mkdir(parents=True, exist_ok=True)
        for name, table in (("each_sow", self.table), ("gains", self.gains())):
            table.to_csv(folder / f"{name}.csv", index=False, lineterminator="\n")
        (folder / "each_sow.svg").write_text(self.plot().svg(), encoding="utf-8")
        provenance.write(folder, self.provenance)

    def findings(self) -> list[str]:
        """A sentence for each measure."""
        return findings(self)

    def plot(self) -> Any:
        """Every sow's difference from the largest loss to the largest gain, a panel per measure."""
        from farrowtide.report.pictures.each_sow import each_sow

        return each_sow(self)


def each_sow(
    scenario: Scenario,
    reference: str,
    alternative: str,
    measures: Sequence[str] | None = None,
    *,
    case: str | None = None,
    replications: int | None = None,
    seed: int | None = None,
    threads: int = 0,
    progress: Callable[[int, int], None] | None = None,
) -> EachSow:
    """Runs two alternatives of a scenario on the same sows and lays each sow beside herself.

    `measures`: columns of the table of sows, or "staff_min", the minutes of tasks that were for her alone (rounds of the
    room left out); None takes intake, weight loss, litter weight, piglets weaned, farrowing duration and these minutes. `case`: one of the
    file's. Raises UserError; KeyboardInterrupt on Ctrl-C.
    """
    chosen = chosen_measures(measures)
    there = scenario.case(case) if case else scenario
    wanted = scenario.study.replications if replications is None else replications
    seed = scenario.study.seed if seed is None else seed
    found = []
    for done, name in ((0, reference), (wanted, alternative)):
        reference_of(scenario.alternatives, name, "")  # refuses a name that is none
        tell = None if progress is None else lambda here, before=done: progress(before + here, 2 * wanted)
        try:
            result = run(
                there.alternative(name),
                replications=wanted,
                seed=seed,
                threads=threads,
                record=("tasks",),
                progress=tell,
            )
        except Interrupted:
            raise KeyboardInterrupt from None  # half of a pair says nothing
        found.append((result.checks, sows_of(result)))
    (_, before), (_, after) = found
    table, left_out = side_by_side(before, after, [measure.name for measure in chosen])
    options = {
        "reference": reference,
        "alternative": alternative,
        "case": case,
        "measures": measures and list(measures),
    }
    checks = sum(checks for checks, _ in found)
    made = of_pairs(scenario, "each-sow", "each_sow", replications=wanted, seed=seed, checks=checks, **options)
    return EachSow(scenario, case, reference, alternative, chosen, wanted, seed, table, left_out, made)

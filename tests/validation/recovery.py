"""Whether calibration finds a truth that is known: python tests/validation/recovery.py [--farms N]

Draws farms from what is thought of the parameters beforehand, simulates the records of each with rooms that no fit sees,
calibrates the default scenario to them and counts how often the intervals hold the truth. The truth of every farm is drawn
before any fit. Then one farm is run in a way that the scenario does not know of. Writes .site/generated/recovery.md; what
was found for each farm is kept in results/recovery/, so that a run that was stopped goes on.
"""

from __future__ import annotations

import argparse
import json
import math
import multiprocessing
import sys
import time
import warnings
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pictures

import farrowtide
from farrowtide import _core
from farrowtide.analysis.calibration import choosing
from farrowtide.analysis.calibration.moving import Moved
from farrowtide.records import Records, simulated
from farrowtide.report.wording.calibration import disagreements, in_words
from farrowtide.scenarios.parameters import parameter, with_parameters
from farrowtide.scenarios.scenario import Scenario
from farrowtide.whole_files import write_text

PAGE = pictures.GENERATED / "recovery.md"
KEPT = Path(__file__).parents[2] / "results" / "recovery"
FARM: dict[str, Any] = {"title": "A farm", "room": {"crates": 24}}
# Not known to the scenario that is fitted: drinkers that give a fifth of the usual flow, and sows looked at once only.
RUN_OTHERWISE: dict[str, Any] = {
    "room.drinker_flow": "0.5 L/min",
    "care": {"kind": "by_signs", "until_day": 1, "whom": "at_risk"},
}
FARMS, GROUPS = 20, 16
SEED_OF_TRUTH, SEED_OF_RECORDS, SEED_OF_FIT = 20_261_129, 5_000, 1
TARGET_PERCENT = 80.0, 97.0
LEVEL = 0.90  # of the intervals


def scenario() -> Scenario:
    return farrowtide.load(FARM)


def usual() -> Moved:
    """All of the usual parameters: the farms record everything."""
    return Moved([parameter(scenario(), each.name) for each in choosing.USUAL])


def truth(farm: int) -> np.ndarray:
    """The parameters of a farm, as standard normal numbers."""
    return np.random.default_rng([SEED_OF_TRUTH, farm]).standard_normal(len(choosing.USUAL))


def records_of(farm_scenario: Scenario, number: int, groups: int = GROUPS) -> Records:
    """What the farm writes down, in rooms of a seed of its own."""
    run = farrowtide.run(
        farm_scenario, replications=groups, seed=SEED_OF_RECORDS + number, threads=1, record=("sow_days", "piglets")
    )
    return simulated(run, farm_scenario)


def recovered(farm: int) -> dict[str, Any]:
    """Calibrates to the records of a farm, and says where the truth lies among the draws."""
    moved, z = usual(), truth(farm)
    records = records_of(with_parameters(scenario(), moved.values(z)), farm)
    begun, begun_cpu = time.perf_counter(), time.process_time()
    found = farrowtide.calibrate(scenario(), records, seed=SEED_OF_FIT, threads=1)
    spent, spent_cpu = time.perf_counter() - begun, time.process_time() - begun_cpu
    true_values = moved.leading(z[None, :])[0]
    rows = []
    for j, row in enumerate(found.parameters.itertuples()):
        leading = moved.draw_column(j, found.draws)
        rows.append(
            {
                "parameter": row.parameter,
                "truth": true_values[j],
                "estimate": row.estimate,
                "below": float((leading < true_values[j]).mean()),
                "sd_share": row.sd_share,
                "quarter": (row.range_high - row.range_low) / 4,
            }
        )
    judged = found.statistics[found.statistics["kept"].notna()]
    return {
        "farm": farm,
        "seconds": spent,
        "cpu_seconds": spent_cpu,
        "rooms": found.rooms,
        "settled": found.settled,
        "farrowings": found.file["records"]["farrowings_used"],
        "parameters": rows,
        "kept_inside": int(judged["kept_inside"].sum()),
        "kept": len(judged),
        "disagreements": len(disagreements(found.statistics)),
    }


def run_otherwise(_: int = 0) -> dict[str, Any]:
    """A farm that differs from the scenario in what no parameter stands for."""
    records = records_of(scenario().override(RUN_OTHERWISE), 999)
    found = farrowtide.calibrate(scenario(), records, seed=SEED_OF_FIT, threads=1)
    judged = found.statistics[found.statistics["kept"].notna()]
    return {
        "parameters": found.parameters.to_dict(orient="records"),
        "statistics": found.statistics.drop(columns="decimals").to_dict(orient="records"),
        "sentences": in_words(found.parameters, found.statistics, found.stays, len(found.groups_used)),
        "kept_inside": int(judged["kept_inside"].sum()),
        "kept": len(judged),
    }


# --- telling ----------------------------------------------------------------------------------------------------------

INTRODUCTION = """\
<!-- Written by `python tests/validation/recovery.py`. -->
# Whether calibration finds what is known

Engine {version}, results version {results}. {farms} farms with {parameters} parameters each are drawn from what is thought of
them beforehand (their ranges), before anything is fitted. Each simulated farm records everything in {groups} groups of
24 sows; the last fifth of the groups is kept aside, and the scenario is fitted to the other {farrowings} farrowings without
knowing the truth. An interval of {level:.0f} % should hold the truth in {level:.0f} of 100 cases; the target is {low:g} to
{high:g} % over all parameters and farms. What is wrong in the model itself does not show here, because the records come from
the same model.
"""


LESS = """\
{planned} farms are planned; {done} were fitted when this page was written. Those that are missing had not been begun or finished,
none was left out for its result.
"""


def page(farms: Sequence[Mapping[str, Any]], wrong: Mapping[str, Any]) -> str:
    rows = [row for farm in farms for row in farm["parameters"]]
    names = list(dict.fromkeys(row["parameter"] for row in rows))
    low, high = TARGET_PERCENT
    head = INTRODUCTION.format(
        version=_core.engine_version,
        results=_core.results_version,
        farms=len(farms),
        parameters=len(names),
        groups=GROUPS,
        farrowings=round(float(np.mean([farm["farrowings"] for farm in farms]))),
        level=100 * LEVEL,
        low=low,
        high=high,
    )
    inside = _share_inside(rows)
    error = 100 * math.sqrt(LEVEL * (1 - LEVEL) / len(farms))
    verdict = "within" if low <= inside <= high else "**outside**"
    kept, kept_inside = (sum(farm[key] for farm in farms) for key in ("kept", "kept_inside"))
    disagreeing = sum(farm["disagreements"] for farm in farms)
    seconds = sorted(farm["seconds"] for farm in farms)
    cpu = float(np.median([farm["cpu_seconds"] for farm in farms]))
    lines = [
        head,
        *([] if len(farms) >= FARMS else [LESS.format(done=len(farms), planned=FARMS)]),
        f"**{inside:.1f} %** of {len(rows)} intervals hold the truth: {verdict} the target. Of the statistics of the groups",
        f"kept aside, {100 * kept_inside / kept:.1f} % of {kept} lie in their 95 % interval. Quantities on which the model was said to disagree",
        f"with the records of these farms, with which nothing is wrong: {disagreeing} in {len(farms)} farms.",
        "",
        f"A fit with one thread took {cpu:.0f} s of processor time in the median, and {seconds[len(seconds) // 2]:.0f} s of wall time",
        f"(longest {seconds[-1]:.0f} s) on a machine of two processors that had other work to do;",
        f"{sum(farm['settled'] for farm in farms)} of {len(farms)} fits settled.",
        "",
        f"Of a single parameter, {len(farms)} farms give the coverage with a standard error of {error:.0f} points. *Bias* is the mean of",
        "estimate less truth, in quarters of the parameter's range, with its standard error; *left* is the",
        "standard deviation after the fit as a share of that before it.",
        "",
        "| parameter | intervals that hold [%] | bias [quarters of the range] | left |",
        "|---|---|---|---|",
        *(_row(name, [row for row in rows if row["parameter"] == name]) for name in names),
        "",
        *_wrong_lines(wrong),
    ]
    return "\n".join(lines) + "\n"


def _share_inside(rows: Sequence[Mapping[str, Any]]) -> float:
    tail = (1 - LEVEL) / 2
    return 100 * float(np.mean([tail <= row["below"] <= 1 - tail for row in rows]))


def _row(name: str, rows: Sequence[Mapping[str, Any]]) -> str:
    apart = np.array([(row["estimate"] - row["truth"]) / row["quarter"] for row in rows])
    error = apart.std(ddof=1) / math.sqrt(len(apart)) if len(apart) > 1 else math.nan
    left = float(np.median([row["sd_share"] for row in rows]))
    bias = f"{apart.mean():+.2f} \N{PLUS-MINUS SIGN} {error:.2f}"
    return f"| `{name}` | {_share_inside(rows):.0f} | {bias} | {left:.2f} |"


def _wrong_lines(wrong: Mapping[str, Any]) -> list[str]:
    moved = [
        f"| `{row['parameter']}` | {row['before']:.3g} | {row['estimate']:.3g} ({row['ci_low']:.3g} to {row['ci_high']:.3g}) | "
        f"{row['sd_share']:.2f} |"
        for row in wrong["parameters"]
    ]
    worst = sorted(wrong["statistics"], key=lambda row: -abs(row["residual"]))[:8]
    shown = [
        f"| {row['label']} [{row['unit']}] | {row['recorded']:.2f} | {row['before']:.2f} | {row['after']:.2f} | {row['residual']:+.1f} |"
        for row in worst
    ]
    return [
        "## A farm that is run otherwise",
        "",
        "Drinkers give 0.5 L/min and only sows at risk are looked at, on one day: the scenario that is fitted has 2.4 L/min and",
        "looks at every sow for three days. No parameter stands for either. What the calibration says:",
        "",
        *(f"- {sentence}" for sentence in wrong["sentences"]),
        "",
        _of_drinkers(wrong),
        "",
        f"Of {wrong['kept']} statistics of the groups kept aside, {wrong['kept_inside']} lie in their 95 % interval.",
        "",
        "| parameter | default | estimate (95 % interval) | left |",
        "|---|---|---|---|",
        *moved,
        "",
        "The statistics that agree least after the fit; residuals in standard errors.",
        "",
        "| statistic | recorded | before | after | residual |",
        "|---|---|---|---|---|",
        *shown,
    ]


def _of_drinkers(wrong: Mapping[str, Any]) -> str:
    apart = [
        row["label"]
        for row in wrong["statistics"]
        if row["disagrees"] and row["quantity"].startswith(("eaten", "water"))
    ]
    if apart:
        return f"The drinkers show in {', '.join(apart)}."
    return (
        "**The drinkers are not found.** In the model such a flow costs these sows so little feed and water that their records are "
        "like those of the scenario; flow has to be measured, not inferred."
    )


# --- command ----------------------------------------------------------------------------------------------------------


def _in_worker(task: tuple[str, int]) -> tuple[str, dict[str, Any]]:
    warnings.simplefilter("ignore")
    name, farm = task
    kept = KEPT / f"{name}.json"
    if not kept.exists():
        found = run_otherwise() if farm < 0 else recovered(farm)
        KEPT.mkdir(parents=True, exist_ok=True)
        write_text(kept, json.dumps(found))
    return name, json.loads(kept.read_text(encoding="utf-8"))


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--farms", type=int, default=FARMS)
    parser.add_argument("--page-only", action="store_true", help="write the page from the farms that are kept")
    asked = parser.parse_args()
    farms = asked.farms
    if asked.page_only:
        return _write_page({file.stem: json.loads(file.read_text(encoding="utf-8")) for file in KEPT.glob("*.json")})
    tasks = [("otherwise", -1), *((f"farm_{farm}", farm) for farm in range(farms))]
    with multiprocessing.get_context("spawn").Pool(3) as pool, pictures.progress("farms", len(tasks)) as advance:
        found = {}
        for name, result in pool.imap_unordered(_in_worker, tasks):
            found[name] = result
            advance(1)
    return _write_page(found)


def _write_page(found: dict[str, dict[str, Any]]) -> int:
    wrong = found.pop("otherwise")
    farms = sorted(found.values(), key=lambda farm: farm["farm"])
    write_text(PAGE, page(farms, wrong))
    inside = _share_inside([row for farm in farms for row in farm["parameters"]])
    return 0 if TARGET_PERCENT[0] <= inside <= TARGET_PERCENT[1] else 1


if __name__ == "__main__":
    sys.exit(main())

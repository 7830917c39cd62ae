"""What it is worth that alternatives meet the same animals, and what each of these animals gains or loses.

Two alternatives of one seed share every draw by its address (which animal, which purpose, which time), so that chance cancels
in their difference. `variance_reduction` measures by how much from a comparison as it is; `pairing_table` runs the
other two ways beside it: the same seed with one stream of random numbers, as a program with a single generator has it,
and independent seeds. `each_sow` lays the same sow under both alternatives side by side.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from scipy import special

from farrowtide import _core, provenance
from farrowtide import outputs as declared
from farrowtide.comparison import ONLY_CASE
from farrowtide.intervals import CONFIDENCE, interval
from farrowtide.outputs import Output, Rooms
from farrowtide.running import Interrupted, Result, run
from farrowtide.scenario import Scenario

_RECORDED = ("tasks", "work_hours", "duty_hours", "rooms")  # what the declared outputs read, beside the sows
_ROUNDING = 1e-12  # of the values themselves: a spread below it is arithmetic, not chance
_LEAST_PAIRS = 3
MOST_FACTOR = 100_000  # as printed
NO_CHANCE = "no chance left"  # the difference is the same in every room

_SPREADS = ("sd_reference", "sd_alternative", "correlation")
FACTOR_COLUMNS = ["factor", "factor_low", "factor_high"]


def variance_factor(above: np.ndarray, below: np.ndarray) -> tuple[float, float, float]:
    """Sum of the variances of the columns of `above`, shape (n, k), over that of `below`, shape (n,), with its interval.

    95 % interval from the jackknife of the logarithm over rows (Miller 1968, Ann Math Stat 39:567, from memory), which
    asks for no normal distribution. Infinite without an interval where `below` does not vary, NaN where nothing varies
    or below three rows.
    """
    n = len(below)
    if n < _LEAST_PAIRS:
        return np.nan, np.nan, np.nan
    varies = [_varies(column) for column in above.T]
    if not _varies(below):
        return (np.inf if any(varies) else np.nan), np.nan, np.nan
    log = np.log(above.var(axis=0, ddof=1).sum() / below.var(ddof=1)) if any(varies) else -np.inf
    with np.errstate(divide="ignore", invalid="ignore"):
        without_one = np.log(_variances_without_one(above).sum(axis=1) / _variances_without_one(below))
        pseudo = n * log - (n - 1) * without_one
    if not np.isfinite(pseudo).all():  # all variation comes from one room
        return float(np.exp(log)), np.nan, np.nan
    half = special.stdtrit(n - 1, (1 + CONFIDENCE) / 2) * pseudo.std(ddof=1) / np.sqrt(n)
    return float(np.exp(log)), float(np.exp(pseudo.mean() - half)), float(np.exp(pseudo.mean() + half))


def _varies(values: np.ndarray) -> bool:
    return values.std() > _ROUNDING * max(np.abs(values).max(), 1)


def _variances_without_one(values: np.ndarray) -> np.ndarray:
    """Variance of each column without each row in turn, of the shape of `values`."""
    n = len(values)
    squares = (values - values.mean(axis=0)) ** 2
    return np.maximum(squares.sum(axis=0) - n / (n - 1) * squares, 0) / (n - 2)


def variance_reduction(replicates: pd.DataFrame, outputs: Sequence[Output], reference: str) -> pd.DataFrame:
    """What pairing is worth in a comparison, from its own replicates: one row per case, alternative and output.

    `replicates` as in Comparison: case, alternative, replicate and a column per output. `variance_paired` is of the difference within
    a room, `variance_independent` of the difference between rooms that share nothing (the sum of the two variances of
    `sd_reference` and `sd_alternative`), `correlation` that of the two in a room,
    `factor` is the second over the first with its 95 % interval over the `n` rooms that have both values; `meaning` says
    it in words.
    """
    rows = []
    for case, part in replicates.groupby("case", sort=False):
        values = {name: rooms.set_index("replicate") for name, rooms in part.groupby("alternative", sort=False)}
        for name in (name for name in values if name != reference):
            for output in outputs:
                both = pd.concat([values[reference][output.name], values[name][output.name]], axis=1).dropna()
                rows.append((case, name, output.name, output.unit, *_paired_row(both.to_numpy())))
    variances = ["variance_paired", "variance_independent"]
    columns = ["case", "alternative", "output", "unit", "n", *variances, *_SPREADS, *FACTOR_COLUMNS]
    found = pd.DataFrame(rows, columns=columns)
    return found.assign(meaning=[meaning(row.n, row.factor) for row in found.itertuples()])


def _paired_row(both: np.ndarray) -> tuple[Any, ...]:
    differences = both[:, 1] - both[:, 0]
    variances = _variance(differences), _variance(both).sum()
    return len(both), *variances, *_spreads(both), *variance_factor(both, differences)


def _spreads(both: np.ndarray) -> tuple[float, float, float]:
    """Standard deviations of the two columns and their correlation, NaN where one does not vary."""
    before, after = np.sqrt(_variance(both))
    varies = len(both) > 1 and all(_varies(column) for column in both.T)
    return before, after, np.corrcoef(both.T)[0, 1] if varies else np.nan


def best_factor(sd_reference: float, sd_alternative: float) -> float:
    """The most that pairing can give where the two spread this much: that of a correlation of 1."""
    apart = (sd_reference - sd_alternative) ** 2
    return (sd_reference**2 + sd_alternative**2) / apart if apart > 0 else np.inf


def _variance(values: np.ndarray) -> Any:
    return values.var(axis=0, ddof=1) if len(values) > 1 else np.full(values.shape[1:], np.nan)


def meaning(n: int, factor: float, unit: str = "room", other: str = "unpaired") -> str:
    """What a variance-reduction factor of n rooms says in words."""
    if np.isnan(factor):
        return f"nothing varies between {unit}s" if n >= _LEAST_PAIRS else f"too few {unit}s to say"
    if np.isinf(factor):
        return f"no chance is left in the difference: it is the same in every {unit}"
    return f"{n:,} {unit}s paired say as much as {shown_number(n, factor)} {other}"


def shown_number(n: int, factor: float) -> str:
    """As many unpaired rooms as n paired are worth, as printed."""
    if not np.isfinite(factor):
        return declared.MISSING
    return f"over {n * MOST_FACTOR:,}" if factor > MOST_FACTOR else f"{_two_digits(n * factor):,.0f}"


def shown_factor(factor: float, low: float, high: float) -> tuple[str, str]:
    """A factor and its interval as printed; the second is empty where there is none."""
    if not np.isfinite(factor):
        return (declared.MISSING if np.isnan(factor) else NO_CHANCE), ""
    ends = "" if np.isnan(low) else f"{_short(low)} to {_short(high)}"
    return _short(factor), ends


def _short(factor: float) -> str:
    if factor > MOST_FACTOR:
        return f"over {MOST_FACTOR:,}"
    factor = _two_digits(factor)
    return f"{factor:,.0f}" if factor >= 10 else f"{factor:.1f}" if factor >= 1 else f"{factor:.2f}"


def _two_digits(value: float) -> float:
    """To two significant digits: an interval says no more."""
    return float(f"{value:.2g}")


def _command(scenario: Scenario, verb: str, function: str, **options: Any) -> str:
    """A command line where the scenario is a file as it stands, Python where it was changed."""
    if scenario.command_words is not None:
        return provenance.command(verb, scenario, **options)
    said = "".join(f", {name}={value!r}" for name, value in options.items() if value is not None)
    return f"farrowtide.pairing.{function}({scenario.expression}{said})"


# --- the three ways ----------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class PairingTable:
    """What pairing by address is worth against the two other ways, run for the purpose; see `pairing_table`.

    table  one row per case, alternative and output: the variance of the difference from the reference, `variance_keyed`
           (same seed, draws by address), `variance_one_stream` (same seed, draws in the order of asking) and
           `variance_independent` (another seed); `factor_independent` and `factor_one_stream`: these two over the
           first, each with its 95 % interval over the `n` rooms (`_low`, `_high`); `factor_one_stream_independent`: what
           the same seed with one stream is worth against independent seeds. `sd_reference`, `sd_alternative` and
           `correlation` are those of keyed pairs.
    """

    scenario: Scenario
    reference: str
    outputs: list[Output]
    replications: int
    seed: int
    table: pd.DataFrame
    provenance: dict[str, Any]

    def write(self, folder: Path) -> None:
        """Writes pairing.csv and provenance.json."""
        folder.mkdir(parents=True, exist_ok=True)
        self.table.to_csv(folder / "pairing.csv", index=False, lineterminator="\n")
        provenance.write(folder, self.provenance)


def pairing_table(
    scenario: Scenario,
    *,
    replications: int | None = None,
    seed: int | None = None,
    threads: int = 0,
    outputs: Sequence[str] | None = None,
    reference: str | None = None,
    cases: Sequence[str] | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> PairingTable:
    """Runs the reference and every other alternative of a scenario in three ways and compares the variances of differences.

    `outputs`: names of declared outputs, None for the headlines of the file's study, which else are the usual ones; `cases`: some of the file's, None
    for all. `replications` and `seed` stand in the file's `study`; `progress(done, total)` counts rooms. Raises
    UserError; KeyboardInterrupt on Ctrl-C.
    """
    study = scenario.study
    wanted = study.replications if replications is None else replications
    seed = study.seed if seed is None else seed
    chosen = declared.chosen(outputs, only=True) if outputs else _headlines(study.outputs)
    rooms = _rooms(scenario, cases)
    names = scenario.alternatives
    reference = _reference(scenario, reference)
    total = wanted * len(rooms) * (3 * len(names) - 1)
    crew = _Crew(chosen, wanted, threads, total, progress)
    frames = []
    for case, there in rooms.items():
        before = {one: crew.run(there.alternative(reference), seed, one_stream=one) for one in (False, True)}
        for name in (name for name in names if name != reference):
            other = there.alternative(name)
            keyed = crew.run(other, seed, one_stream=False)
            one_stream = crew.run(other, seed, one_stream=True) - before[True]
            independent = crew.run(other, (seed + 1) % 2**64, one_stream=False) - before[False]
            found = _three_ways(chosen, before[False], keyed, one_stream, independent)
            frames.append(found.assign(case=case, alternative=name, reference=reference))
    table = pd.concat(frames, ignore_index=True)
    first = ["case", "alternative", "reference"]
    table = table[first + [column for column in table if column not in first]]
    lists = {"outputs": outputs and list(outputs), "cases": cases and list(cases)}
    command = _command(
        scenario, "pairing", "pairing_table", replications=wanted, seed=seed, reference=reference, **lists
    )
    recipe = {"verb": "pairing", "replications": wanted, "seed": seed, "reference": reference, **lists}
    made = provenance.of_run(scenario, replications=wanted, seed=seed, checks=crew.checks, command=command)
    made |= {"recipe": recipe | {"scenario": scenario.recipe}}
    return PairingTable(scenario, reference, chosen, wanted, seed, table, made)


def _headlines(names: Sequence[str]) -> list[Output]:
    return [output for output in declared.chosen(names, only=False) if output.group == "headline"]


def _rooms(scenario: Scenario, cases: Sequence[str] | None) -> dict[str, Scenario]:
    """The cases, each with its scenario."""
    if len(scenario.alternatives) < 2:
        raise _core.UserError(f"{scenario.source_name}: nothing to compare: name at least two `alternatives`")
    wanted = scenario.cases if cases is None else cases
    return {name: scenario.case(name) for name in wanted} or {ONLY_CASE: scenario}


def _reference(scenario: Scenario, wanted: str | None) -> str:
    """The one asked for; else the file's; else the first."""
    names = scenario.alternatives
    if wanted is not None and wanted not in names:
        raise _core.UserError(f"no alternative is called '{wanted}' (alternatives: {', '.join(names)})")
    usual = scenario.study.reference
    return wanted or (usual if usual in names else names[0])


class _Crew:
    """Runs rooms, tells how far it is, and keeps nothing but the outputs."""

    def __init__(
        self,
        outputs: Sequence[Output],
        replications: int,
        threads: int,
        total: int,
        progress: Callable[[int, int], None] | None,
    ) -> None:
        self._names = [output.name for output in outputs]
        self._replications = replications
        self._threads = threads
        self._total = total
        self._progress = progress
        self._done = 0
        self.checks = 0

    def run(self, scenario: Scenario, seed: int, *, one_stream: bool) -> pd.DataFrame:
        """One row per replicate, one column per output."""
        tell = None if self._progress is None else lambda done: self._progress(self._done + done, self._total)
        core, stopped_by = _core.run(
            scenario._core,
            replications=self._replications,
            first_replicate=0,
            seed=seed,
            threads=self._threads,
            tables=list(_RECORDED),
            progress=tell,
            one_stream=one_stream,
        )
        if stopped_by is not None:
            raise stopped_by
        self._done += self._replications
        self.checks += core.checks
        return Result(core, scenario, seed=seed, recorded=_RECORDED).outputs[self._names]


def _three_ways(
    outputs: Sequence[Output],
    reference: pd.DataFrame,
    alternative: pd.DataFrame,
    one_stream: pd.DataFrame,
    independent: pd.DataFrame,
) -> pd.DataFrame:
    """Variances of the difference, in keyed pairs and as given for the other two ways, and their ratios; a row per output."""
    rows = []
    for output in outputs:
        frames = (reference, alternative, one_stream, independent)
        whole = pd.concat([frame[output.name] for frame in frames], axis=1).dropna().to_numpy()
        keyed, (in_order, unpaired) = whole[:, 1] - whole[:, 0], whole.T[2:]
        row = {"output": output.name, "unit": output.unit, "n": len(whole), "variance_keyed": _variance(keyed)}
        row |= {"variance_one_stream": _variance(in_order), "variance_independent": _variance(unpaired)}
        row |= dict(zip(_SPREADS, _spreads(whole[:, :2]), strict=True))
        row |= _factor("factor_independent", unpaired, keyed)
        row |= _factor("factor_one_stream", in_order, keyed)
        row |= _factor("factor_one_stream_independent", unpaired, in_order)
        rows.append(row)
    return pd.DataFrame(rows)


def _factor(name: str, above: np.ndarray, below: np.ndarray) -> dict[str, float]:
    factor, low, high = variance_factor(above[:, np.newaxis], below)
    return {name: factor, f"{name}_low": low, f"{name}_high": high}


# --- the same sow under both -------------------------------------------------------------------------------------------

STAFF_MIN = "staff_min"


def _of_sows(column: str) -> Callable[[Rooms], np.ndarray]:
    return lambda rooms: rooms.mean("sows", column)


# What a single sow can gain or lose. `negligible` of one sow is our own choice, as for the outputs.
SOW_MEASURES = (
    Output("feed_intake_kg_per_day", "kg/d", "Feed eaten", _of_sows("feed_intake_kg_per_day"), "higher", 2, 0.05),
    Output("weight_loss_kg", "kg", "Weight lost", _of_sows("weight_loss_kg"), "lower", 1, 0.5),
    Output("litter_weight_at_weaning_kg", "kg", "Litter weight at weaning", _of_sows("litter_weight_at_weaning_kg"),
           "higher", 1, 0.5),
    Output("weaned", "piglets", "Piglets weaned", _of_sows("weaned"), "higher", 2, 0.5),
    Output("farrowing_duration_min", "min", "Farrowing duration", _of_sows("farrowing_duration_min"), "lower", 0, 5.0),
    Output(STAFF_MIN, "min", "Work for her alone", _of_sows(STAFF_MIN), "lower", 1, 1.0),
)  # fmt: skip
_IDENTITY = ["replicate", "group", "room", "sow"]
_FATE = ["parity", "total_born"]  # what she brings with her: the same under every policy


@dataclass(frozen=True)
class EachSow:
    """The same sows under a reference and an alternative; see `each_sow`.

    table     one row per sow: replicate, group, room, sow, parity, total_born, parity_class, and for each measure three columns,
              its name with `_reference`, `_alternative` and `_difference` (alternative minus reference).
    left_out  sows that are not the same in both (another parity or litter), which are not in the table.
    """

    scenario: Scenario
    case: str | None
    reference: str
    alternative: str
    measures: list[Output]
    replications: int
    seed: int
    table: pd.DataFrame
    left_out: int
    provenance: dict[str, Any]

    def write(self, folder: Path) -> None:
        """Writes each_sow.csv, gains.csv, the picture and provenance.json."""
        folder.mkdir(parents=True, exist_ok=True)
        for name, table in (("each_sow", self.table), ("gains", self.gains())):
            table.to_csv(folder / f"{name}.csv", index=False, lineterminator="\n")
        (folder / "each_sow.svg").write_text(self.plot().svg(), encoding="utf-8")
        provenance.write(folder, self.provenance)

    def gains(self) -> pd.DataFrame:
        """Who gains and who loses, a row per measure.

        `better_percent`, `worse_percent`, `same_percent` of the `sows` (`same`: by less than what is negligible; where no direction is
        better, "better" is higher), tenths, median and nine tenths of the sows' differences, and their mean with
        its 95 % interval over rooms. The spread over sows is described, not tested: sows of a room share its people and
        air, so the room is the unit.
        """
        return pd.DataFrame([_gains(self.table, measure) for measure in self.measures])

    def most(self, measure: str, number: int = 10) -> pd.DataFrame:
        """The sows with the largest difference in a measure, either way, the largest first."""
        known = [one.name for one in self.measures]
        if measure not in known:
            raise _core.UserError(f"'{measure}' was not measured (measured: {', '.join(known)})")
        columns = [f"{measure}_{side}" for side in ("reference", "alternative", "difference")]
        size = self.table[columns[-1]].abs()
        largest = size[size > 0].sort_values(ascending=False, kind="stable").index[:number]
        return self.table.loc[largest, [*_IDENTITY, "parity_class", "total_born", *columns]].reset_index(drop=True)

    def findings(self) -> list[str]:
        """A sentence for each measure."""
        return [_gains_in_words(self, row) for row in self.gains().itertuples()]

    def plot(self) -> Any:
        """Every sow's difference from the largest loss to the largest gain, a panel per measure."""
        from farrowtide import pairing_figures

        return pairing_figures.each_sow(self)


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
    chosen = _measures(measures)
    there = scenario.case(case) if case else scenario
    wanted = scenario.study.replications if replications is None else replications
    seed = scenario.study.seed if seed is None else seed
    found = []
    for done, name in ((0, reference), (wanted, alternative)):
        _reference(scenario, name)  # refuses a name that is none
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
        found.append((result.checks, _sows_of(result)))
    (_, before), (_, after) = found
    table, left_out = side_by_side(before, after, [measure.name for measure in chosen])
    options = {
        "reference": reference,
        "alternative": alternative,
        "case": case,
        "measures": measures and list(measures),
    }
    command = _command(scenario, "each-sow", "each_sow", replications=wanted, seed=seed, **options)
    checks = sum(checks for checks, _ in found)
    made = provenance.of_run(scenario, replications=wanted, seed=seed, checks=checks, command=command)
    recipe = {"verb": "each-sow", "replications": wanted, "seed": seed, **options}
    made |= {"recipe": recipe | {"scenario": scenario.recipe}}
    return EachSow(scenario, case, reference, alternative, chosen, wanted, seed, table, left_out, made)


def _measures(names: Sequence[str] | None) -> list[Output]:
    known = {measure.name: measure for measure in SOW_MEASURES}
    if names is None:
        return list(known.values())
    columns = {info.name: info for info in _core.tables()["sows"]}
    chosen = []
    for name in dict.fromkeys(names):
        if name not in known and name not in columns:
            raise _core.UserError(
                f"the table of sows has no column '{name}', and '{STAFF_MIN}' is the only other measure"
            )
        column = columns.get(name)
        if name not in known and (column.labels or name in ("replicate", "group", "room", "sow")):
            raise _core.UserError(f"'{name}' says which or of what kind a sow is: there is no difference in it")
        chosen.append(known.get(name) or Output(name, column.unit, name, _of_sows(name), None, 2, 0.0))
    return chosen


def _sows_of(result: Result) -> pd.DataFrame:
    """The table of sows that farrowed here, with the minutes of work for each alone."""
    sows = result.sows[result.sows["nurse"] == 0]
    tasks = result.tasks
    minutes = tasks[tasks["sow"] > 0].groupby(["replicate", "sow"])["minutes"].sum()
    keys = pd.MultiIndex.from_frame(sows[["replicate", "sow"]])
    return sows.assign(**{STAFF_MIN: minutes.reindex(keys, fill_value=0.0).to_numpy()})


def side_by_side(before: pd.DataFrame, after: pd.DataFrame, measures: Sequence[str]) -> tuple[pd.DataFrame, int]:
    """The sows that are the same in both tables, one row each, and the number of those in either that are not."""
    sides = []
    for frame, side in ((before, "reference"), (after, "alternative")):
        renamed = {name: f"{name}_{side}" for name in measures}
        numbers = frame[list(measures)].astype(float).rename(columns=renamed)
        sides.append(pd.concat([frame[[*_IDENTITY, *_FATE]], numbers], axis=1))
    table = sides[0].merge(sides[1], on=[*_IDENTITY, *_FATE], validate="one_to_one")
    left_out = len(before) + len(after) - 2 * len(table)
    for name in measures:
        table[f"{name}_difference"] = table[f"{name}_alternative"] - table[f"{name}_reference"]
    classes = np.array(declared.PARITY_CLASSES)[declared.parity_class(table["parity"])]
    table.insert(len(_IDENTITY) + len(_FATE), "parity_class", classes)
    ordered = [f"{name}_{side}" for name in measures for side in ("reference", "alternative", "difference")]
    return table[[*_IDENTITY, *_FATE, "parity_class", *ordered]], left_out


def _gains(table: pd.DataFrame, measure: Output) -> dict[str, Any]:
    known = table[["replicate", f"{measure.name}_difference"]].dropna()
    differences = known[f"{measure.name}_difference"].to_numpy()
    gained = -differences if measure.good == "lower" else differences
    by_room = known.groupby("replicate")[f"{measure.name}_difference"].mean().to_numpy()
    mean, _, low, high, rooms = (value[0] for value in interval(by_room[:, np.newaxis]))
    limit = max(measure.negligible, _ROUNDING)
    better, worse = (100 * float((sign * gained >= limit).mean()) if len(gained) else np.nan for sign in (1, -1))
    tenth, median, nine_tenths = np.quantile(differences, (0.1, 0.5, 0.9)) if len(gained) else (np.nan,) * 3
    return {
        "measure": measure.name,
        "unit": measure.unit,
        "sows": len(differences),
        "better_percent": better,
        "worse_percent": worse,
        "same_percent": 100 - better - worse,
        "p10": tenth,
        "median": median,
        "p90": nine_tenths,
        "mean": mean,
        "ci_low": low,
        "ci_high": high,
        "rooms": int(rooms),
    }


def _gains_in_words(found: EachSow, row: Any) -> str:
    measure = next(one for one in found.measures if one.name == row.measure)
    good, bad = ("better", "worse") if measure.good else ("higher", "lower")
    size = f" (by {measure.negligible:g} {measure.unit} or more)" if measure.negligible else ""
    middle = " and ".join(measure.shown(value, signed=True) for value in (row.p10, row.p90))
    return (
        f"{measure.label}: under {found.alternative} {row.better_percent:.0f} % of sows are {good} and "
        f"{row.worse_percent:.0f} % {bad}{size}; 80 % of them between {middle} {measure.unit}."
    )

"""The rules of the table of farrowings. Their limits are common practice, no source; they only say what looks wrong."""

from __future__ import annotations

import numpy as np
import pandas as pd

from farrowtide.records.findings import Findings, Verdict
from farrowtide.records.rules import Rule, apply

_REJECTED, _LEFT_OUT, _DOUBTFUL = Verdict.REJECTED, Verdict.LEFT_OUT, Verdict.DOUBTFUL
_SHORTEST_CYCLE_D = 100  # between two farrowings of a sow
_PARITY_GAIN_PER_CYCLE_D = 120  # parity rises no faster than once in so many days

_MIXED_UP = [
    Rule(
        "duration_min",
        lambda t: (t["total_born"] >= 6) & (t["duration_min"] > 0) & (t["duration_min"] < t["total_born"]),
        "is less than a minute for each of {total_born} piglets; it looks like hours (a mapping file names units)",
        _LEFT_OUT,
    ),
    Rule(
        "litter_weight_at_birth_kg",
        lambda t: (t["born_alive"] >= 4) & (t["birth_weight_kg"] < 0.4),
        "is {birth_weight_kg} kg for each of {born_alive} piglets; it looks like the weight of one piglet",
        _LEFT_OUT,
    ),
    Rule(
        "litter_weight_at_birth_kg",
        lambda t: t["birth_weight_kg"] > 2.4,
        "is {birth_weight_kg} kg for each of {born_alive} piglets; it looks like lb (a mapping file names units)",
        _LEFT_OUT,
    ),
    Rule(
        "litter_weight_kg",
        lambda t: (t["weaned"] >= 4) & (t["litter_weight_kg"] < 20) & (t["weaning_weight_kg"] < 2),
        "is {weaning_weight_kg} kg for each of {weaned} piglets; it looks like the weight of one piglet",
        _LEFT_OUT,
    ),
    # A piglet gains at most about 0.38 kg a day; the same weight in lb is 2.2 times that of a usual piglet.
    Rule(
        "litter_weight_kg",
        lambda t: t["weaning_weight_kg"] > 2.5 + 0.42 * t["lactation_d"].fillna(35),
        "is {weaning_weight_kg} kg for each of {weaned} piglets; it looks like lb (a mapping file names units)",
        _LEFT_OUT,
    ),
    Rule(
        "weight_at_weaning_kg",
        lambda t: t["weight_at_weaning_kg"] > 1.5 * t["weight_at_loading_kg"],
        "is far above the {weight_at_loading_kg} kg at loading; it looks like lb (a mapping file names units)",
        _LEFT_OUT,
    ),
    Rule(
        "weight_at_loading_kg",
        lambda t: t["weight_at_loading_kg"] > 2 * t["weight_at_weaning_kg"],
        "is far above the {weight_at_weaning_kg} kg at weaning; it looks like lb (a mapping file names units)",
        _LEFT_OUT,
    ),
    Rule(
        "served_on",
        lambda t: (t["served_on"] < t["weaned_on"]) | (t["weaned_on"].isna() & (t["served_on"] < t["farrowed_on"])),
        "is before she was weaned ({weaned_on})",
        _LEFT_OUT,
    ),
]

_IMPOSSIBLE = [
    Rule("farrowed_on", lambda t: t["loading_to_farrowing_d"] < 0, "is before she was loaded ({loaded_on})", _REJECTED),
    Rule("weaned_on", lambda t: t["lactation_d"] < 0, "is before she farrowed ({farrowed_on})", _REJECTED),
    Rule(
        "weaned_on",
        lambda t: t["lactation_d"] > 60,
        "is {lactation_d} days after she farrowed ({farrowed_on}); more than 60",
        _REJECTED,
    ),
    Rule(
        "loaded_on",
        lambda t: t["loading_to_farrowing_d"] > 60,
        "is {loading_to_farrowing_d} days before she farrowed ({farrowed_on}); more than 60",
        _REJECTED,
    ),
    Rule("born_alive", lambda t: t["total_born"] == 0, "no piglet was born, alive or dead", _REJECTED),
    Rule(
        "died",
        lambda t: t["died"] > t["most_nursed"],
        "more died than the {most_nursed} born alive and moved in",
        _REJECTED,
    ),
    Rule(
        "moved_out",
        lambda t: t["moved_out"] > t["most_nursed"],
        "more were moved out than the {most_nursed} born alive and moved in",
        _REJECTED,
    ),
    Rule(
        "weaned",
        lambda t: t["weaned"] > t["nursed"],
        "more were weaned than the {nursed} she nursed (born alive + moved in - moved out - died)",
        _REJECTED,
    ),
]

_DOUBTS = [
    Rule("farrowed_on", lambda t: t["farrowed_on"] > t["today"], "is in the future", _DOUBTFUL),
    Rule(
        "weaned_on",
        lambda t: (t["weaned_on"] > t["today"]) & (t["farrowed_on"] <= t["today"]),
        "is in the future",
        _DOUBTFUL,
    ),
    Rule(
        "served_on",
        lambda t: (t["served_on"] > t["today"]) & (t["farrowed_on"] <= t["today"]),
        "is in the future",
        _DOUBTFUL,
    ),
    Rule(
        "loaded_on",
        lambda t: t["loading_to_farrowing_d"] > 21,
        "is {loading_to_farrowing_d} days before she farrowed ({farrowed_on})",
        _DOUBTFUL,
    ),
    Rule(
        "weaned_on",
        lambda t: (t["lactation_d"] < 10) & (t["weaned"] > 0),
        "is only {lactation_d} days after she farrowed ({farrowed_on})",
        _DOUBTFUL,
    ),
    Rule(
        "weaned_on",
        lambda t: t["weaned_on"].isna() & (t["weaned"] > 0),
        "is missing, but {weaned} piglets were weaned",
        _DOUBTFUL,
    ),
    Rule(
        "litter_weight_kg",
        lambda t: t["litter_weight_kg"].notna() & ~(t["weaned"] > 0),
        "is given, but no number of piglets weaned",
        _DOUBTFUL,
    ),
    Rule(
        "weaned",
        lambda t: (t["weaned"] < t["nursed"]) & t["weaned_on"].notna() & t["all_moves_recorded"],
        "{unaccounted} piglets are unaccounted for (born alive + moved in - moved out - died = {nursed})",
        _DOUBTFUL,
    ),
    Rule(
        "weaned",
        lambda t: t["weaned"] > 20,
        "are very many piglets for one sow",
        _DOUBTFUL,
    ),
    Rule(
        "born_alive", lambda t: t["total_born"] > 30, "{total_born} piglets in all are a very large litter", _DOUBTFUL
    ),
    Rule(
        "stillborn",
        lambda t: (t["stillborn"] >= 6) & (t["stillborn"] > t["born_alive"]),
        "more piglets were stillborn than born alive ({born_alive}); the columns may be exchanged",
        _DOUBTFUL,
    ),
    Rule(
        "duration_min",
        lambda t: t["duration_min"] > 1440,
        "is a very long farrowing",
        _DOUBTFUL,
    ),
    Rule(
        "weight_at_weaning_kg",
        lambda t: t["weight_at_weaning_kg"] > t["weight_at_loading_kg"] + 15,
        "is above the weight at loading with the unborn litter ({weight_at_loading_kg} kg)",
        _DOUBTFUL,
    ),
    Rule(
        "weight_at_weaning_kg",
        lambda t: t["weight_at_weaning_kg"] < 0.6 * t["weight_at_loading_kg"],
        "is far below the weight at loading ({weight_at_loading_kg} kg)",
        _DOUBTFUL,
    ),
    Rule(
        "backfat_at_weaning_mm",
        lambda t: (t["backfat_at_weaning_mm"] - t["backfat_at_loading_mm"]).abs() > 10,
        "differs by more than 10 mm from that at loading ({backfat_at_loading_mm} mm)",
        _DOUBTFUL,
    ),
    Rule(
        "served_on",
        lambda t: ((t["served_on"] - t["weaned_on"]).dt.days > 90) & (t["served_on"] <= t["today"]),
        "is more than 90 days after weaning ({weaned_on})",
        _DOUBTFUL,
    ),
    Rule(
        "parity",
        lambda t: (t["parity"] == 1) & (t["weight_at_loading_kg"] > 330),
        "is a first parity, but she weighs {weight_at_loading_kg} kg; the weight may be in lb",
        _DOUBTFUL,
    ),
]

_BETWEEN_ROWS = [
    Rule(
        "farrowed_on",
        lambda t: t["since_before_d"] < _SHORTEST_CYCLE_D,
        "is {since_before_d} days after her farrowing in line {line_before}",
        _DOUBTFUL,
    ),
    Rule(
        "parity",
        lambda t: t["parity"] < t["parity_before"],
        "falls from {parity_before} at her earlier farrowing in line {line_before}",
        _DOUBTFUL,
    ),
    Rule(
        "parity",
        lambda t: t["parity"] == t["parity_before"],
        "is the same at her earlier farrowing in line {line_before}",
        _DOUBTFUL,
    ),
    Rule(
        "parity",
        lambda t: (
            (t["parity"] - t["parity_before"] > 1)
            & (t["parity"] - t["parity_before"] > t["since_before_d"] / _PARITY_GAIN_PER_CYCLE_D)
        ),
        "rises from {parity_before} in {since_before_d} days (line {line_before})",
        _DOUBTFUL,
    ),
]

_GROUPS = [
    Rule(
        "group",
        lambda t: t["group_loaded_apart_d"] > 30,
        "was loaded over {group_loaded_apart_d} days; the name may stand for several groups",
        _DOUBTFUL,
    ),
]

RULES = [*_IMPOSSIBLE, *_MIXED_UP, *_DOUBTS, *_BETWEEN_ROWS, *_GROUPS]


def check_farrowings(table: pd.DataFrame, findings: Findings, today: pd.Timestamp) -> None:
    """Applies every rule to typed farrowings; values that are left out are emptied in `table`."""
    helped = table.assign(today=today)
    _add_sums(helped)
    apply(_IMPOSSIBLE, helped, findings)
    _reject_repeats(helped, findings)
    apply(_MIXED_UP, helped, findings)
    apply(_DOUBTS, helped, findings)
    _add_farrowing_before(helped, findings)
    apply(_BETWEEN_ROWS, helped, findings)
    _add_span_of_group(helped, findings)
    apply(_GROUPS, helped, findings)
    for name in table.columns:
        table[name] = helped[name]


def _add_sums(table: pd.DataFrame) -> None:
    """What follows from the values of one row. Moves and deaths that are not recorded count as none."""
    moves = table[["moved_in", "moved_out", "died"]]
    table["total_born"] = table["born_alive"] + table["stillborn"]
    table["most_nursed"] = table["born_alive"] + moves["moved_in"].fillna(0)
    known = table["most_nursed"] - moves["moved_out"].fillna(0) - moves["died"].fillna(0)
    # More may have been weaned than are known to have been nursed where nobody wrote down what was moved in.
    table["nursed"] = known.where(moves["moved_in"].notna() | table["weaned"].isna() | (table["weaned"] <= known))
    table["all_moves_recorded"] = moves.notna().all(axis=1)
    table["unaccounted"] = table["nursed"] - table["weaned"]
    table["lactation_d"] = (table["weaned_on"] - table["farrowed_on"]).dt.days
    table["loading_to_farrowing_d"] = (table["farrowed_on"] - table["loaded_on"]).dt.days
    table["birth_weight_kg"] = table["litter_weight_at_birth_kg"] / table["born_alive"].where(table["born_alive"] > 0)
    table["weaning_weight_kg"] = table["litter_weight_kg"] / table["weaned"].where(table["weaned"] > 0)


def _reject_repeats(table: pd.DataFrame, findings: Findings) -> None:
    """Rejects every row but the first of a sow and day: the same again, or another version of it."""
    used = table[~findings.rejected]
    key = ["sow", "farrowed_on"]
    repeats = used.index[used.duplicated(key)].to_numpy()
    if len(repeats) == 0:
        return
    first = used.drop_duplicates(key).reset_index().set_index(key)["index"]
    firsts = first.loc[list(used.loc[repeats, key].itertuples(index=False, name=None))].to_numpy()
    same = [
        all(cells[repeat] == cells[earlier] for cells in findings.cells.values())
        for repeat, earlier in zip(repeats, firsts, strict=True)
    ]
    reasons = [
        f"the row is the same as line {findings.grid.lines[earlier]}"
        if alike
        else f"line {findings.grid.lines[earlier]} has the same sow and day, with other values"
        for earlier, alike in zip(firsts, same, strict=True)
    ]
    findings.add(repeats, "sow", reasons, Verdict.REJECTED)


def _add_farrowing_before(table: pd.DataFrame, findings: Findings) -> None:
    """The parity and the line of the same sow's farrowing before, and the days since."""
    used = table.loc[~findings.rejected, ["sow", "farrowed_on", "parity"]].sort_values(["sow", "farrowed_on"])
    before = used.groupby("sow", sort=False).shift()
    has_one = before["farrowed_on"].notna()
    lines = pd.Series(np.asarray(findings.grid.lines)[used.index], index=used.index)
    table["since_before_d"] = (used["farrowed_on"] - before["farrowed_on"]).dt.days
    table["parity_before"] = before["parity"]
    table["line_before"] = lines.groupby(used["sow"], sort=False).shift()[has_one].astype(int).astype(str)


def _add_span_of_group(table: pd.DataFrame, findings: Findings) -> None:
    """Days between the first and the last loading of the sow's group, in the group's first row."""
    used = table[~findings.rejected & table["group"].notna()]
    loaded = used.groupby("group")["loaded_on"]
    span_d = (loaded.max() - loaded.min()).dt.days
    table["group_loaded_apart_d"] = used.drop_duplicates("group")["group"].map(span_d.to_dict()).astype(float)

"""The rules of the table of days. Their limits are common practice, no source; they only say what looks wrong."""

from __future__ import annotations

import numpy as np
import pandas as pd

from farrowtide.records.findings import Findings, Verdict
from farrowtide.records.rules import Rule, apply

_MEASURED = ["offered_kg", "eaten_kg", "left_kg", "water_l", "temperature_deg_c"]
_SCALE_KG_PER_DAY = 0.1  # by which weighed feed may be wrong

_ROW = [
    Rule("sow", lambda t: t["sow"].isna() & t["room"].isna(), "neither a sow nor a room is named", Verdict.REJECTED),
    Rule("date", lambda t: t[_MEASURED].isna().all(axis=1), "nothing is recorded of this day", Verdict.REJECTED),
    Rule("date", lambda t: t["date"] > t["today"], "is in the future", Verdict.DOUBTFUL),
    Rule(
        "water_l",
        lambda t: (t["water_l"] > 0) & (t["eaten_kg"] > 1) & (t["water_l"] < 0.5 * t["eaten_kg"]),
        "is very little water for {eaten_kg} kg eaten",
        Verdict.DOUBTFUL,
    ),
    Rule(
        "temperature_deg_c",
        lambda t: t["temperature_deg_c"] < 5,
        "is very cold for a farrowing room",
        Verdict.DOUBTFUL,
    ),
]

_WITH_FARROWINGS = [
    Rule(
        "sow",
        lambda t: t["sow"].notna() & t["her_farrowing_rejected"],
        "the row of her farrowing is rejected",
        Verdict.REJECTED,
    ),
    Rule(
        "sow",
        lambda t: t["sow"].notna() & ~t["has_farrowed"] & ~t["her_farrowing_rejected"],
        "there is no farrowing of this sow",
        Verdict.REJECTED,
    ),
    Rule(
        "room",
        lambda t: t["sow"].isna() & ~t["room_known"],
        "there is no farrowing in this room",
        Verdict.REJECTED,
    ),
    Rule(
        "date",
        lambda t: t["sow"].notna() & t["outside_stay"],
        "is on no day of her stay in the farrowing room",
        Verdict.DOUBTFUL,
    ),
]

_FEED = [
    Rule(
        "eaten_kg",
        lambda t: t["eaten_beyond_kg"].notna(),
        "with the days before it, {eaten_beyond_kg} kg more is eaten than was offered",
        Verdict.DOUBTFUL,
    ),
]
RULES = [*_ROW, *_WITH_FARROWINGS, *_FEED]
_LONGEST_BEFORE_D, _LONGEST_AFTER_D = 30, 60  # of a stay whose loading or weaning is not recorded


def check_days(
    table: pd.DataFrame,
    findings: Findings,
    today: pd.Timestamp,
    farrowings: pd.DataFrame,
    sows_rejected: set[str],
) -> None:
    """Applies every rule to typed days; `farrowings` are those that are used."""
    helped = table.assign(today=today)
    apply(_ROW, helped, findings)
    _reject_repeats(helped, findings)
    helped["has_farrowed"] = helped["sow"].isin(farrowings["sow"])
    helped["her_farrowing_rejected"] = helped["sow"].isin(sows_rejected) & ~helped["has_farrowed"]
    rooms = farrowings["room"].dropna()
    helped["room_known"] = helped["room"].isin(rooms) | rooms.empty
    helped["outside_stay"] = _outside_stay(helped, farrowings)
    apply(_WITH_FARROWINGS, helped, findings)
    _add_feed_so_far(helped, findings)
    apply(_FEED, helped, findings)
    for name in table.columns:
        table[name] = helped[name]


def _reject_repeats(table: pd.DataFrame, findings: Findings) -> None:
    used = table[~findings.rejected]
    key = [used["sow"].fillna(""), used["room"].where(used["sow"].isna()).fillna(""), used["date"]]
    keys = pd.Series(list(zip(*key, strict=True)), index=used.index, dtype="object")
    repeats = keys.index[keys.duplicated()].to_numpy()
    if len(repeats) == 0:
        return
    first = keys.drop_duplicates()
    row_of = dict(zip(first, first.index, strict=True))
    reasons = [f"line {findings.grid.lines[row_of[keys[row]]]} is of the same sow or room and day" for row in repeats]
    findings.add(repeats, "date", reasons, Verdict.REJECTED)


def _outside_stay(table: pd.DataFrame, farrowings: pd.DataFrame) -> np.ndarray:
    """Whether a day of a sow is in none of her stays."""
    known = farrowings.dropna(subset=["farrowed_on"])
    stays = pd.DataFrame(
        {
            "sow": known["sow"].astype("object"),
            "from": known["loaded_on"].fillna(known["farrowed_on"] - pd.Timedelta(days=_LONGEST_BEFORE_D)),
            "until": known["weaned_on"].fillna(known["farrowed_on"] + pd.Timedelta(days=_LONGEST_AFTER_D)),
        }
    )
    of_sow = table.loc[table["sow"].notna(), ["sow", "date"]].reset_index().merge(stays, on="sow")
    inside = of_sow.loc[(of_sow["date"] >= of_sow["from"]) & (of_sow["date"] <= of_sow["until"]), "index"]
    return ~table.index.isin(inside)


def _add_feed_so_far(table: pd.DataFrame, findings: Findings) -> None:
    """What was eaten beyond what was offered since the first of successive days that have both, on the first such day.

    A trough may hold feed of the day before, so that one day alone says nothing.
    """
    whose = table["sow"].where(table["sow"].notna(), "room " + table["room"].astype("object"))
    both = table[["offered_kg", "eaten_kg"]].notna().all(axis=1) & ~findings.rejected & whose.notna()
    feed = pd.DataFrame({"whose": whose, "date": table["date"], "more": table["eaten_kg"] - table["offered_kg"]})[both]
    feed = feed.sort_values(["whose", "date"])
    new = (feed["whose"] != feed["whose"].shift()) | (feed["date"].diff().dt.days != 1)
    run = new.cumsum()
    beyond = feed.groupby(run)["more"].cumsum()
    broken = beyond > _SCALE_KG_PER_DAY * (feed.groupby(run).cumcount() + 1)
    first = broken & ~run[broken].duplicated().reindex(broken.index, fill_value=False)
    table["eaten_beyond_kg"] = beyond.where(first)

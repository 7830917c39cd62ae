# ---
# jupyter:
#   jupytext:
#     formats: ipynb,py:percent
#     text_representation:
#       extension: .py
#       format_name: percent
#   kernelspec:
#     display_name: Python 3
#     language: python
#     name: python3
# ---

# %% [markdown]
# # A short-staffed weekend
#
# On weekdays two people look after 60 crates; at weekends fewer. Which work is left undone, what
# does it cost, and is it a question of hands or of hours?
#
# It takes a quarter of an hour to read and some seconds to run. These are results of a model, not
# advice for a herd: care of farrowing, newborn and sick animals may not be put off to Monday, and
# working alone is a hazard; the herd veterinarian, local rules and the manager decide.
#
# ## 1. Predict
#
# The rosters at weekends: two people from 07:00 to 16:00 as on weekdays, one person for the same
# hours, or one person until 12:00. Sows are fed at 07:00 and 15:00, each a little more or less by
# what she left in her trough (`allowance: by_trough`). The group is due on a Friday, so that many
# sows farrow on Saturday and Sunday. Write down your answers before you run anything.
#
# 1. One person instead of two: which work suffers most, and how many piglets does it cost?
# 2. One person until noon: by how much does the daily intake of sows fall, as a mean of the whole
#    lactation?
# 3. The half-day person may change one thing in the plan. What would you change?
# 4. Is it better for the group to be due on a Monday?
#
# ## 2. What is left undone at weekends

# %%
import warnings

import matplotlib.pyplot as plt
import numpy as np
import pandas as pd

import farrowtide

warnings.simplefilter("ignore", farrowtide.PlausibilityWarning)  # printed below where they matter
WEEKDAYS = {"days": ["mon", "tue", "wed", "thu", "fri"], "from": "07:00", "until": "16:00", "people": 2}


def roster(people: int, until: str) -> list[dict]:
    """Two people on weekdays, and these at weekends; a break at 12:00 where the shift is longer."""
    weekend = {"days": ["sat", "sun"], "from": "07:00", "until": until, "people": people}
    pause = {"break_from": "12:00"} if until > "12:00" else {"break": 0}
    return [WEEKDAYS | {"break_from": "12:00"}, weekend | pause]


def feeds(*times: str) -> dict:
    """Hand feeds at these times, before farrowing too; the allowance of each sow follows her trough."""
    return {
        "kind": "hand",
        "times": list(times),
        "allowance": {"rule": "by_trough"},
        "pre_farrow": {"times": list(times)},
    }


scenario = farrowtide.load(farrowtide.example("staffing/fourth_feed_when_short.yaml"))
friday = (
    scenario.case("2 people")
    .without_alternatives()
    .override({"start": "2026-03-02", "feeding": feeds("07:00", "15:00")})
)
print(f"loaded on a {friday.start:%A}, due 4 days later")
rosters = {
    "two people": {"staff.shifts": roster(2, "16:00")},
    "one person": {"staff.shifts": roster(1, "16:00")},
    "one until noon": {"staff.shifts": roster(1, "12:00")},
}
tasks = {
    name: farrowtide.run(friday.override(change), replications=12, seed=1, record=["tasks"]).tasks
    for name, change in rosters.items()
}


def not_done_percent(asked: pd.DataFrame) -> pd.DataFrame:
    """Late or undone, by kind of task and part of the week in which it was asked for."""
    weekday = (asked["asked_h"] // 24 + friday.start.weekday()) % 7
    part = np.where(weekday >= 5, "weekend", "week")
    return 100 * (asked["outcome"] != "done").groupby([asked["kind"], part], observed=True).mean().unstack()


missed = pd.concat({name: not_done_percent(asked) for name, asked in tasks.items()}, axis=1)
shown = missed[(missed > 5).any(axis=1)].dropna()  # washing is asked for once, after weaning
shown.round(1)

# %%
figure, axis = plt.subplots(figsize=(8, 3.4), layout="constrained")
for place, (name, colour) in enumerate(zip(rosters, ("#0072B2", "#E69F00", "#D55E00"), strict=True)):
    axis.barh(np.arange(len(shown)) + 0.27 * (place - 1), shown[name]["weekend"], 0.25, color=colour, label=name)
axis.set(
    yticks=range(len(shown)), yticklabels=shown.index, xlabel="late or undone at weekends, % of what was asked for"
)
axis.invert_yaxis()
axis.legend(frameon=False, loc="lower right")
plt.show()

# %% [markdown]
# One person gets nearly everything done, except the rounds of farrowing sows: feeding, checking and
# treating come first, and a round that is due meanwhile is left out. The half day loses whatever
# was planned for the afternoon: every second feed, moves of piglets, and much of the processing.

# %%
weekend = missed.xs("weekend", axis=1, level=1)
assert weekend["two people"].max() < 2
assert weekend["one person"].idxmax() == "farrowing round"
assert weekend.loc["feed by hand", "one person"] < 5
assert 45 < weekend.loc["feed by hand", "one until noon"] < 55, "one feed of two"

# %% [markdown]
# ## 3. What it costs, and another plan
#
# Besides the rosters, two plans for the half-day person. In one, all work is planned before noon on
# all days: feeds at 07:00 and 11:00, moves of piglets at 09:00 and 11:00. In the other, sows have
# full access to feed.

# %%
noon = rosters["one until noon"] | {"fostering.times": ["09:00", "11:00"]}
plans = rosters | {
    "until noon, all work before noon": noon | {"feeding": feeds("07:00", "11:00")},
    "until noon, full access": noon | {"feeding": {"kind": "full_access", "pre_farrow": {"times": ["07:00", "11:00"]}}},
}
OUTPUTS = [
    "feed_intake_kg_per_day",
    "litter_weight_at_weaning_kg",
    "births_attended_percent",
    "stillborn_percent",
    "preweaning_mortality_percent",
    "weaned_per_litter",
    "labour_min_per_litter",
]


def costs(group: farrowtide.Scenario) -> farrowtide.Comparison:
    return farrowtide.compare(group, plans, reference="two people", replications=16, seed=1, outputs=OUTPUTS)


def table(compared: farrowtide.Comparison) -> pd.DataFrame:
    """Differences from two people; in brackets what is not clear or too small to matter."""
    found = compared.differences
    matters = found["verdict"].str.match("higher|lower")
    told = [
        f"{value:+.2f}" if clear else f"({value:+.2f})"
        for value, clear in zip(found["difference"], matters, strict=True)
    ]
    return (
        found.assign(told=told)
        .pivot(index="output", columns="alternative", values="told")
        .loc[OUTPUTS, list(plans)[1:]]
    )


due_friday = costs(friday)
table(due_friday)

# %% [markdown]
# Differences in brackets are not clear, or too small to matter.
#
# One person instead of two costs next to nothing that can be seen here. The large loss of feed
# comes from *hours*, not from hands: a feed is planned for 15:00, when nobody is there. The same
# half-day person with everything planned before noon loses little, and with full access nothing.
# Warnings say so, and `farrowtide check FILE` prints them before anything is run:

# %%
warned = [str(warning) for warning in due_friday.warnings if "nobody is on duty" in str(warning)]
print("\n\n".join(warned))

# %%
found = due_friday.differences.set_index(["alternative", "output"])
late_feed = found.loc[("one until noon", "feed_intake_kg_per_day")]
assert late_feed["ci_high"] < -0.3, "the afternoon feed"
assert found.loc[("until noon, all work before noon", "feed_intake_kg_per_day"), "difference"] > -0.15
assert found.loc[("until noon, full access", "feed_intake_kg_per_day"), "ci_low"] > 0
one = found.loc["one person"]
assert one.loc["weaned_per_litter", "verdict"] == one.loc["feed_intake_kg_per_day", "verdict"] == "too small to matter"
assert any("15:00" in text and "not done on 6 of 24 days" in text for text in warned)

# %% [markdown]
# The same lesson holds for reading any comparison of rosters: ask first whether the *plan* fits the
# roster. What is blamed on too few people is often a time of day.
#
# ## 4. Due on which day?
#
# The half-day roster with its plan before noon once more, for groups that are due on a Monday, a
# Wednesday or a Friday. How many tasks for farrowing sows and newborn litters are late or undone,
# in a stay?

# %%
starts = {"Monday": "2026-03-05", "Wednesday": "2026-03-07", "Friday": "2026-03-02"}
by_due_day = {}
for day, start in starts.items():
    group = friday.override(plans["until noon, all work before noon"] | {"start": start})
    asked = farrowtide.run(group, replications=12, seed=1, record=["tasks"]).tasks
    missing = asked[asked["outcome"] != "done"]
    by_due_day[day] = missing["kind"].value_counts() / 12
around_birth = ["farrowing round", "newborn care", "processing", "remove dead", "temperature check"]
per_room = pd.DataFrame(by_due_day).loc[around_birth]
per_room.round(1)

# %%
assert per_room.sum().is_monotonic_increasing, "worse from Monday to Friday"
assert per_room.loc["farrowing round", "Friday"] > 3 * per_room.loc["farrowing round", "Monday"]

# %% [markdown]
# A group that is due on a Monday has fewer sows in labour and fewer newborn litters at the weekend.
# Gestation lasts some days more or less, so no date keeps the weekend free. The model makes little
# of a missed round: few sows need help in just that hour, and what help is worth to the piglets is
# partly an assumption. That the difference in deaths is “not clear” is therefore no permission to
# stay at home.
#
# ## 5. Think about it
#
# 1. A room of 24 crates hardly notices one person less (set `room.crates`). Up to how many crates
#    would you say so, and which row of the first table would you watch?
# 2. People are ill sometimes. Give each shift `absence: 0.1` and compare the rosters again. Which
#    roster suffers most, and why?
# 3. With full access sows ate more in the short-staffed room than by hand in the fully staffed one.
#    What does that change cost that this table does not show?

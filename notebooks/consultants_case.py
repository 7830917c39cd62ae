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
# # A consultant's case: from records to a protocol
#
# A farm with 8 crates feeds its sows by hand twice a day and asks: *more feeds, or full access?*
# You have its records of a winter. You check them, describe the farm from them, calibrate the model
# to them, compare, say how sure you are, and write it down.
#
# It takes half an hour to read and under a minute to run. The farm is invented, and its records are
# simulated. These are results of a model, not advice for a herd: nothing is changed on a farm
# before the herd veterinarian and the manager agree.

# %%
from pathlib import Path

import numpy as np

import farrowtide

folder = Path("results/consultants_case")
starter = farrowtide.load(farrowtide.example("feeding/meals_a_day.yaml")).case("January").override({"room.crates": 8})

# %% [markdown]
# ## The farm
#
# This cell makes the records of 12 groups. What you will have to find out, the herd's level of
# appetite (1: the default herd), is drawn at random and printed only at the end of section 3.
# Somebody typed two values wrongly.

# %%
truth = {"herd.intake_level": round(np.random.default_rng(273).uniform(0.8, 1.2), 2)}
farm = starter.alternative("2 hand feeds").override(truth)
winter = farrowtide.run(farm, replications=12, seed=71, record=["sows", "sow_days", "piglets"])
farrowtide.records.simulated(winter, farm).write(folder, remark="Simulated from an invented farm, not real records")

lines = (folder / "farrowings.csv").read_text(encoding="utf-8").splitlines()
headings = lines[1].split(",")


def mistype(line: int, column: str, value: str) -> None:
    """Writes another value into one cell."""
    cells = lines[line].split(",")
    cells[headings.index(column)] = value
    lines[line] = ",".join(cells)


mistype(10, "farrowed_on", "2025-01-16")
mistype(20, "litter_weight_kg", "6.4")
(folder / "farrowings.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")

# %% [markdown]
# ## 1. Check
#
# **Predict:** one typing error makes its row useless, the other does not. Which is which: a
# farrowing a year too early, or the weight of one piglet in place of the litter's?

# %%
records = farrowtide.records.read(folder / "farrowings.csv", folder / "days.csv")
own, followed = records.rejected.query("column != 'sow'"), records.rejected.query("column == 'sow'")
print(f"{len(followed)} days of that sow are rejected too: {followed['reason'].iloc[0]}")
own[["line", "column", "value", "reason"]]

# %%
records.doubtful[["line", "column", "value", "reason"]]

# %%
assert own["line"].tolist() == [11]
assert 21 in records.doubtful["line"].tolist()

# %% [markdown]
# Tell the farm both, and let it look into its own books. Do not correct records yourself.
#
# ## 2. Describe
#
# What records say of herd and rooms goes into a scenario, each value with its standard error. The
# rest stays as in the starter.

# %%
described = farrowtide.records.describe(records, like=starter)
described.write(folder / "farm.yaml")
described.said[["key", "value", "standard_error", "records", "meaning"]]

# %% [markdown]
# ## 3. Calibrate
#
# **Predict:** the description holds litter size, parities and weights. Do these sows eat more, less
# or the same as the default herd, and can it know that?
#
# One level may move. A fifth of the groups, the latest, is kept aside: the fit does not see it and
# is judged by it.

# %%
as_described = farrowtide.load(folder / "farm.yaml")
calibration = farrowtide.calibrate(as_described.alternative("2 hand feeds"), records, move=["herd.intake_level"])
calibration.parameters[["parameter", "range_low", "range_high", "estimate", "ci_low", "ci_high", "known"]].round(3)

# %%
kept = calibration.statistics.dropna(subset="kept_low")
print(f"groups kept aside: {kept['kept_inside'].sum()} of {len(kept)} statistics within their 95 % interval")
kept.loc[~kept["kept_inside"].astype(bool), ["label", "unit", "kept", "kept_low", "kept_high"]].round(2)

# %% [markdown]
# About one in twenty lies outside by chance. Now look at what you could not see. A real farm has no
# such cell.

# %%
level = calibration.parameters.set_index("parameter").loc["herd.intake_level"]
print(
    f"appetite found: {level.estimate:.2f} ({level.ci_low:.2f} to {level.ci_high:.2f}); true: {truth['herd.intake_level']}"
)
assert level.ci_high < 1, "the records say that these sows eat less than the default herd"
assert abs(level.estimate - truth["herd.intake_level"]) < 0.06

# %% [markdown]
# Low appetite is a number, not a cause. Before anybody changes the feeding: is the feed stale, the
# drinker slow, the room warm, are sows ill? Look in the room, with the herd veterinarian.
#
# ## 4. Compare, with doubt
#
# **Predict** for this farm: does a third feed matter? Does full access? By how much does the answer
# become less sure when not only chance but also what is not known of farm and model is counted?

# %%
calibrated = as_described.with_calibration(calibration.write_report(folder / "calibration"))
choices = {
    "2 hand feeds": {"feeding": {"kind": "hand", "times": ["07:00", "15:00"]}},
    "3 hand feeds": {"feeding": {"kind": "hand", "times": ["07:00", "11:00", "15:00"]}},
    "full access": {"feeding": {"kind": "full_access", "from_day": 0}},
}
outputs = ["feed_intake_kg_per_day", "weight_loss_kg", "weaned_per_litter", "labour_min_per_litter"]
january = calibrated.case("January")
compared = farrowtide.compare(january, choices, reference="2 hand feeds", replications=40, seed=5, outputs=outputs)
compared.verdict()

# %%
doubt = farrowtide.doubt(compared, draws=40)
intervals = doubt.intervals.query("output in @outputs").set_index(["output", "alternative"])
intervals[["unit", "difference", "ci_low", "ci_high", "both_low", "both_high"]].round(2)

# %% [markdown]
# `ci_low` and `ci_high` hold chance alone, which more rooms would narrow. `both_low` and
# `both_high` also hold what is not known of farm and model, which they would not. Which parameters
# does the answer hang on most?

# %%
intake = intervals.loc["feed_intake_kg_per_day", "full access"]
assert intake.both_high - intake.both_low > intake.ci_high - intake.ci_low
doubt.plot()

# %% [markdown]
# ## 5. Report and protocol
#
# The report holds tables, pictures, the caution and how to make it again. It opens offline.

# %%
print(doubt.write_report(folder / "report"))

# %% [markdown]
# **Predict:** which lines of the daily work change if the farm goes over to full access? The
# protocol is a draft, with dots for what herd veterinarian and manager have to fill in, and a line
# for their approval.

# %%
before, after = (
    farrowtide.protocol(january.override({"feeding": choices[name]["feeding"]}))
    for name in ("2 hand feeds", "full access")
)
print(*after.write(folder / "protocol"), sep="\n")
known = before.markdown.splitlines()
print("\n".join(line for line in after.markdown.splitlines() if line not in known))

# %% [markdown]
# ## What you would tell the farm
#
# Write three sentences: what is better, by how much and how sure; what it hangs on, and what should
# be measured first; what you would *not* conclude. Then compare them with the report.

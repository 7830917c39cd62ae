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
# # How far to foster
#
# Farms differ in how many piglets they foster and up to what age. Here the same rooms are run with seven limits on the
# share of piglets moved, from none to all, and three age windows: up to 24 h, 48 h, or day 7.
#
# These are results of a model, not advice for a herd. Moves spread disease and cost growth; nurse sows, early weaning and
# the treatment of sick litters are for the herd veterinarian and local rules to decide.
#
# ## Guess first
#
# 1. When are most piglets weaned: with no moves, with at most 15 % moved, or without a limit?
# 2. Does a window up to day 7 save more piglets than one up to 24 h?
# 3. If 85 % of piglets must stay with their dam, how much of the gain remains?

# %%
from pathlib import Path

import matplotlib.pyplot as plt

import farrowtide

repository = next(folder for folder in (Path.cwd(), Path.cwd().parent) if (folder / "scenarios").is_dir())
scenario = farrowtide.load(repository / "scenarios/fostering/how_far.yaml")
shares = [0, 0.05, 0.10, 0.15, 0.25, 0.50, 1.00]
windows = {"up to 24 h": ("24 h", 1), "up to 48 h": ("48 h", 2), "up to day 7": ("7 d", 7)}
alternatives = {
    f"{window}, {share:.0%}": {
        "fostering": {
            "kind": "fill_and_equalise",
            "max_moved": share,
            "window": {"until": until},
            "closed_after_day": last_day,
        }
    }
    for window, (until, last_day) in windows.items()
    for share in shares
}
outputs = {
    "preweaning_mortality_percent": "preweaning mortality, percentage points",
    "litter_gain_kg_per_day": "litter gain, kg/d",
    "litter_integrity_percent": "litter integrity, percentage points",
}
none_moved = "up to 24 h, 0%"
sweep = farrowtide.compare(scenario, alternatives, reference=none_moved, replications=40, outputs=list(outputs))

# %% [markdown]
# Each point is the difference from the same rooms without fostering; bars are 95 % confidence intervals, which cover
# sampling variation only.

# %%
figure, axes = plt.subplots(1, 3, figsize=(11, 3.6), layout="constrained")
looks = zip(windows, ("#0072B2", "#D55E00", "#009E73"), ("o", "s", "^"), strict=True)
found = sweep.differences.set_index(["output", "alternative"])
for window, colour, marker in looks:
    for axis, (output, label) in zip(axes, outputs.items(), strict=True):
        names = [f"{window}, {share:.0%}" for share in shares]
        rows = [found.loc[(output, name)] if name != none_moved else None for name in names]
        middle = [0 if row is None else row["difference"] for row in rows]
        half = [0 if row is None else (row["ci_high"] - row["ci_low"]) / 2 for row in rows]
        axis.errorbar([100 * share for share in shares], middle, yerr=half, label=window, color=colour, marker=marker)
        axis.set(xlabel="limit on piglets moved, %", title=label)
        axis.axhline(0, color="0.6", linewidth=0.8)
figure.legend(*axes[0].get_legend_handles_labels(), loc="outside lower center", ncols=3)
figure.show()

# %% [markdown]
# ## Checking the limit
#
# With a limit of 15 %, no plan moves more than 15 of 100 piglets born alive, whatever the window. Piglets of a sow that
# dies are also moved, so the check uses rooms without sow deaths. The largest share in any single room:

# %%
healthy = scenario.override({"herd.health": "off"})
limited = farrowtide.compare(
    healthy,
    {name: change for name, change in alternatives.items() if name.endswith(" 15%")},
    replications=40,
    outputs=["litter_integrity_percent"],
)
moved = 100 - limited.replicates.set_index("alternative")["litter_integrity_percent"]
moved.groupby("alternative").max().round(2)

# %%
assert (moved <= 15).all()

# %% [markdown]
# ## Interpretation
#
# - The cost of a move (lost growth by age at the move, disease transferred, resident piglets disturbed) is partly published
#   and partly assumed; see "Colostrum, survival, moving, scours" on the [model page](../.site/generated/model.md). Trials
#   of growth and disease support the *direction* of the effect of late moves; where the curves flatten depends on
#   assumptions.
# - The base hazards of death are scaled to herds whose fostering practice is unknown: read differences, not levels.
# - Moving does not make a piglet stronger in the model. Lower mortality of fostered piglets in farm records reflects
#   selection.

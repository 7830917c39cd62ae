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
# # What a fourth feed displaces
#
# On paper a fourth hand feed takes a few minutes a day and is nearly free. Which work gives way to it? Here a room of 60
# sows is run with one, two and three people, with three and with four feeds, on the same animals.
#
# These are results of a model, not advice for a herd: examination and help at farrowing, treatment, fostering and changes
# of feed are for the herd veterinarian, local rules and licensed practice to decide.
#
# ## Guess first
#
# With one person for 60 crates, which work is left undone first: feeding, checking sows, cleaning troughs, fostering, or
# help at farrowing?

# %%
from pathlib import Path

import matplotlib.pyplot as plt
import numpy as np
import pandas as pd
from scipy import stats

import farrowtide

repository = next(folder for folder in (Path.cwd(), Path.cwd().parent) if (folder / "scenarios").is_dir())
scenario = farrowtide.load(repository / "scenarios/staffing/fourth_feed_when_short.yaml")
runs = {
    (case, name): farrowtide.run(scenario.case(case).alternative(name), replications=20, record=["tasks", "sow_days"])
    for case in scenario.cases
    for name in scenario.alternatives
}

# %% [markdown]
# ## Which tasks are late or undone
#
# Percentage of requested tasks that were late or undone: mean over rooms with its 95 % confidence interval. Tasks in one
# room share the same staff, so the room is the statistical unit. Three and four feeds are simulated on the same animals,
# so their difference is more precise than two overlapping intervals suggest.


# %%
def not_done(result: farrowtide.Result) -> pd.DataFrame:
    """Percentage late or undone: a row per room, a column per kind of task."""
    tasks = result.tasks
    missed = tasks["outcome"] != "done"
    return 100 * missed.groupby([tasks["replicate"], tasks["kind"]], observed=True).mean().unstack()


def half_interval(rooms: pd.DataFrame) -> pd.Series:
    """Half-width of the 95 % t interval of each column's mean; rooms in which a task was never requested are left out."""
    n = rooms.count()
    return stats.t.ppf(0.975, n - 1) * rooms.std() / np.sqrt(n)


def with_interval(rooms: pd.DataFrame, decimals: int) -> pd.Series:
    mean, half = rooms.mean(), half_interval(rooms)
    return mean.map(f"{{:.{decimals}f}}".format) + " ± " + half.map(f"{{:.{decimals}f}}".format)


missed = {f"{case}, {name}": not_done(result) for (case, name), result in runs.items()}
means = pd.DataFrame({name: rooms.mean() for name, rooms in missed.items()})
pd.DataFrame({name: with_interval(rooms, 0) for name, rooms in missed.items()})[(means > 1).any(axis=1)]

# %%
shown = means[(means > 5).any(axis=1)].index
height = np.arange(len(shown))
figure, axes = plt.subplots(1, 3, figsize=(10, 0.5 + 0.35 * len(shown)), sharex=True, sharey=True, layout="constrained")
looks = list(zip(scenario.alternatives, ("#0072B2", "#D55E00"), ("o", "s"), (-0.12, 0.12), strict=True))
for axis, case in zip(axes, scenario.cases, strict=True):
    for name, colour, marker, offset in looks:
        rooms = missed[f"{case}, {name}"].reindex(columns=shown)
        bars = {"xerr": half_interval(rooms), "elinewidth": 1.2, "markersize": 4}
        axis.errorbar(rooms.mean(), height + offset, color=colour, marker=marker, linestyle="none", label=name, **bars)
    axis.set(title=case, xlabel="late or undone, % of tasks", yticks=height)
    axis.set_yticklabels(shown)
    axis.grid(axis="y", color="0.9")
axes[0].set_xlim(-4, None)
figure.legend(*axes[0].get_legend_handles_labels(), loc="outside lower center", ncols=2)
figure.show()

# %% [markdown]
# ## What that costs the animals

# %%
outputs = [
    "feed_intake_kg_per_day",
    "stillborn_percent",
    "preweaning_mortality_percent",
    "weaned_per_litter",
    "litter_weight_at_weaning_kg",
    "labour_min_per_litter",
]
pd.DataFrame({f"{case}, {name}": with_interval(result.outputs[outputs], 2) for (case, name), result in runs.items()})

# %% [markdown]
# ## The effect of the fourth feed, by number of people
#
# Paired differences, four feeds minus three, with 95 % confidence intervals. Pairing removes most of the variation between
# rooms, so these are more precise than two columns of the table above would suggest.

# %%
compared = farrowtide.compare(scenario, replications=40, outputs=outputs)
found = compared.differences
found["told"] = [f"{row.difference:+.2f} ({row.ci_low:+.2f} to {row.ci_high:+.2f})" for row in found.itertuples()]
found.pivot(index="output", columns="case", values="told").loc[outputs]

# %%
compared.plot_differences("1 person")

# %%
compared.plot_differences("3 people")

# %% [markdown]
# Few task times are published; the others are common practice or assumptions, so the number of people at which work is left
# undone is that of this model. The order of work, with feeding before checks, cleaning and fostering, is common practice,
# no source. All of these numbers are on the page of [coefficients](../.site/generated/coefficients.md).

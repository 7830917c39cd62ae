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
# # What a fourth feed pushes out
#
# A fourth hand feed costs a few minutes a day, and a spreadsheet says that it is nearly free. Whose minutes are they? Here
# a room of 60 sows is run with one, two and three people, with three feeds and with four, on the same animals.
#
# Results are of a model, not advice for a herd: exams and help at farrowing, treatment, fostering and changes of feed are
# for the herd veterinarian, local rules and licensed practice.
#
# ## Guess first
#
# With one person for 60 crates: which work is left undone first? Feeding, looking at sows, cleaning troughs, fostering, or
# help at births?

# %%
import matplotlib.pyplot as plt
import pandas as pd

import farrowtide

scenario = farrowtide.load("../scenarios/staffing/fourth_feed_when_short.yaml")
runs = {
    (case, name): farrowtide.run(scenario.case(case).alternative(name), replications=10, record=["tasks", "sow_days"])
    for case in scenario.cases
    for name in scenario.alternatives
}

# %% [markdown]
# ## Which tasks fall off the table
#
# Share of the tasks asked for that were left undone, or done late, percent.


# %%
def not_done(result: farrowtide.Result) -> pd.Series:
    tasks = result.tasks
    return 100 * (tasks["outcome"] != "done").groupby(tasks["kind"], observed=True).mean()


missed = pd.DataFrame({f"{case}, {name}": not_done(result) for (case, name), result in runs.items()})
missed[(missed > 1).any(axis=1)].round(0)

# %%
shown = missed[(missed > 5).any(axis=1)]
figure, axes = plt.subplots(1, 3, figsize=(10, 0.5 + 0.35 * len(shown)), sharex=True, sharey=True, layout="constrained")
looks = list(zip(scenario.alternatives, ("#0072B2", "#D55E00"), ("o", "s"), strict=True))
for axis, case in zip(axes, scenario.cases, strict=True):
    for name, colour, marker in looks:
        axis.plot(shown[f"{case}, {name}"], shown.index, color=colour, marker=marker, linestyle="none", label=name)
    axis.set(title=case, xlabel="late or undone, % of the tasks", xlim=(-2, None))
    axis.grid(axis="y", color="0.9")
figure.legend(*axes[0].get_legend_handles_labels(), loc="outside lower center", ncols=2)
figure.show()

# %% [markdown]
# ## What that costs

# %%
outputs = [
    "feed_intake_kg_per_day",
    "stillborn_percent",
    "preweaning_mortality_percent",
    "weaned_per_litter",
    "litter_weight_at_weaning_kg",
    "labour_min_per_litter",
]
pd.DataFrame({f"{case}, {name}": result.outputs[outputs].mean() for (case, name), result in runs.items()}).round(2)

# %% [markdown]
# ## The fourth feed, people by people
#
# The difference that the fourth feed makes, in the same rooms:

# %%
compared = farrowtide.compare(scenario, replications=40, outputs=outputs)
table = compared.differences.pivot(index="output", columns="case", values="difference").loc[outputs]
table.round(2)

# %%
compared.plot_differences("1 person")

# %%
compared.plot_differences("3 people")

# %% [markdown]
# Task times are published where there are any and practice or assumption elsewhere, so the number of people at which work
# falls off the table is that of this model. That feeding goes before cleaning, checks and fostering is the order of rank of
# the trade (common practice, no source); what being late costs an animal stands with each task in
# [the coefficients](../libsim/coefficients/README.md).

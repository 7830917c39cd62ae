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
# # Homework: how often to feed
#
# Goes with the lesson on feeding frequency. Half an hour; the comparisons take some seconds. These
# are results of a model, not advice for a herd: a change of feeding is for the herd veterinarian
# and local rules to decide.
#
# **Predict** before you run a cell: by how much more does a sow eat with a third hand feed, and
# with full access? Does it matter how large the trough is?

# %%
import farrowtide

assignment = "feeding_frequency"
scenario = farrowtide.load(farrowtide.example("feeding/meals_a_day.yaml")).override({"room.crates": 12})
outputs = ["feed_intake_kg_per_day", "weight_loss_kg", "labour_min_per_litter"]
january, small_trough = (
    farrowtide.compare(scenario.case(case), replications=40, seed=3, outputs=outputs)
    for case in ("January", "small trough")
)

# %% [markdown]
# Each row is a difference from two hand feeds on the same sows, with its 95 % confidence interval.

# %%
shown = ["output", "alternative", "mean_reference", "difference", "ci_low", "ci_high", "n", "verdict"]
january.differences[shown].round(3)

# %%
small_trough.differences[shown].round(3)

# %% [markdown]
# ## Your answers
#
# Replace each `None` by a value, such as `12.5` or `True`, and save the file. Then, in a terminal:
#
# `farrowtide check-homework feeding_frequency.py`
#
# tells for each answer whether it is right, and gives a hint where it is not. Nothing in this file
# is run by that.

# %%
# kg a day that a sow eats more with full access than with two hand feeds, in January.
more_intake_kg_per_day_with_full_access = None

# Does a third hand feed change the intake in January by so much that it matters? True or False.
third_feed_changes_intake = None

# The same with small troughs. True or False.
third_feed_changes_intake_with_small_troughs = None

# Minutes of labour for each litter that full access saves in January.
labour_saved_min_per_litter_with_full_access = None

# kg from end to end of the confidence interval of the difference in weight loss, full access in January.
width_kg_of_interval_of_weight_loss = None

# About how many rooms does it take to make that interval half as wide?
rooms_for_half_that_width = None

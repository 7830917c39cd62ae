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
# # Homework: limits of fostering
#
# Goes with the lesson *Fostering limits*. Half an hour; the comparison takes some seconds. Litters
# have 18.5 piglets born on average, and free teats are filled, no more. These are results of a
# model, not advice for a herd: moves spread disease and cost growth, and are for the herd
# veterinarian and local rules to decide.
#
# **Predict:** if at most 5 % of piglets may be moved, how much of what moving saves is left? And
# with 15 %?
#
# ## One room: teats and piglets

# %%
import farrowtide

assignment = "fostering_limits"
scenario = farrowtide.load(farrowtide.example("fostering/how_far.yaml")).override({"herd.total_born_mean": 18.5})
room = farrowtide.run(scenario.alternative("nobody moved"), seed=3)
room.sows[["sow", "born_alive", "functional_teats"]].set_index("sow").transpose()

# %% [markdown]
# ## Forty rooms: four limits

# %%
limits = {"nobody moved": 0, "at most 5 %": 0.05, "at most 15 %": 0.15, "no limit": 1}
alternatives = {name: {"fostering": {"kind": "fill_teats", "max_moved": most}} for name, most in limits.items()}
outputs = ["preweaning_mortality_percent", "weaned_per_litter", "litter_integrity_percent"]
compared = farrowtide.compare(
    scenario, alternatives, reference="nobody moved", replications=40, seed=3, outputs=outputs
)
compared.differences[["output", "alternative", "mean_reference", "difference", "ci_low", "ci_high", "verdict"]].round(3)

# %% [markdown]
# ## Your answers
#
# Replace each `None` by a value, such as `12.5` or `True`, and save the file. Then, in a terminal:
#
# `farrowtide check-homework fostering_limits.py`
#
# tells for each answer whether it is right, and gives a hint where it is not. Nothing in this file
# is run by that.

# %%
# Piglets born alive beyond the functional teats of their own dam, in the whole room.
surplus_piglets = None

# Functional teats without a piglet of the sow's own, in the whole room.
free_teats = None

# Surplus piglets that find a free teat if at most 15 % of those born alive are moved.
can_be_placed = None

# Does it change anything here whether at most 15 % or all piglets may be moved? True or False.
limit_of_15_percent_binds = None

# Of the percentage points of mortality that moving without a limit saves, the share that a limit of 5 % keeps, in %.
share_of_gain_kept_percent = None

# Percentage points of litter integrity that moving without a limit costs.
integrity_lost_points = None

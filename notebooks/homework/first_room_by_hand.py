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
# # Homework: one room by hand
#
# Goes with *Your first farrowing room*. Paper, a pencil, half an hour. The room is the one of the
# lesson with another seed: sows of the same parity, weight and litter size, with an appetite,
# births and piglets of their own. These are results of a model, not advice for a herd: a change of
# feeding is for the herd veterinarian and local rules to decide.

# %%
import farrowtide

assignment = "first_room_by_hand"
scenario = farrowtide.load(farrowtide.example("teaching/three_sows.yaml"))
room = farrowtide.run(scenario, seed=8)
trace = room.trace()

# %% [markdown]
# **Births.**

# %%
print("\n".join(line for line in trace if "farrow" in line or " born" in line))

# %% [markdown]
# **Meals.** The trace counts days from loading. Lactation day 0 of a sow is the day on which she
# farrows; in tables, `day` is the lactation day. Which lines belong to lactation day 5 of sow 1?

# %%
print(
    "\n".join(
        line for line in trace if "sow 1: eats" in line and line.startswith(("day 4 ", "day 5 ", "day 8 ", "day 9 "))
    )
)

# %% [markdown]
# **The trough.** One number is missing: what is left at the midnight that ends day 5.

# %%
days = room.sow_days.query("sow == 1 and 4 <= day <= 5").set_index("day")
print(f"in the trough at the end of day 4: {days.loc[4, 'in_trough_at_midnight_kg']:.3f} kg")
days.loc[[5], ["offered_kg", "eaten_kg", "wasted_kg", "removed_kg"]].round(3)

# %% [markdown]
# **The litters.**

# %%
room.sows[["sow", "total_born", "stillborn", "died_before_weaning"]]

# %% [markdown]
# ## Your answers
#
# Replace each `None` by a value, such as `12.5` or `True`, and save the file. Then, in a terminal:
#
# `farrowtide check-homework first_room_by_hand.py`
#
# tells for each answer whether it is right, and gives a hint where it is not. Nothing in this file
# is run by that.

# %%
# The number of the sow that begins to farrow first.
first_to_farrow = None

# Minutes from the first to the last birth of sow 2, stillborn piglets included.
farrowing_min_of_sow_2 = None

# kg that sow 1 eats on her lactation day 5: the sum of her meals in the trace.
eaten_kg_of_sow_1_on_day_5 = None

# kg in the trough of sow 1 at the midnight that ends her lactation day 5.
left_kg_of_sow_1_after_day_5 = None

# Piglets weaned by the three sows together. None of them was moved.
weaned_in_the_room = None

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
# # Homework: one replication, and peeking
#
# Goes with the lessons on one replication and on peeking. Half an hour; some seconds to run. These
# are results of a model, not advice for a herd: a change of feeding is for the herd veterinarian
# and local rules to decide.
#
# ## One room is no answer
#
# A hundred colleagues each compare full access with two hand feeds, in one room of three sows each.
# **Predict:** how many find full access worse, that is, that sows lose *more* weight, if each room
# has other sows? And with the same sows? (Other sows: of the same parity, weight, litter size and
# farrowing day, with an appetite, births and piglets of their own. On a farm parities and litter
# sizes differ as well, so chance is larger still.)

# %%
import numpy as np
from scipy import stats

import farrowtide

assignment = "one_replication_and_peeking"
scenario = farrowtide.load(farrowtide.example("teaching/three_sows.yaml"))
compared = farrowtide.compare(scenario, replications=100, seed=11, outputs=["weight_loss_kg"])
loss_kg = compared.replicates.pivot(index="replicate", columns="alternative", values="weight_loss_kg")
hand, full = loss_kg["2 hand feeds"].to_numpy(), loss_kg["full access"].to_numpy()
other_sows = full - np.roll(hand, 1)  # each room against the one before it
same_sows = full - hand
print(f"standard deviation: other sows {other_sows.std(ddof=1):.2f} kg, same sows {same_sows.std(ddof=1):.2f} kg")

# %%
# Your code: count, for other sows and for the same sows, the rooms in which full access comes out worse.

# %% [markdown]
# ## Looking again and again
#
# Each row below is a study of **nothing**: 40 differences in weight loss between rooms that are fed
# alike, with other sows. A difference that is found is a false alarm. Colleague A tests once, after
# all 40 rooms. Colleague B tests after 5, 10, 15 and so on up to 40 rooms, and stops at the first p
# < 0.05. **Predict:** how often does each find what is not there?

# %%
draw = np.random.default_rng(1)
studies = draw.choice(hand, (1000, 40)) - draw.choice(hand, (1000, 40))


def p_values(rooms: int) -> np.ndarray:
    """Of each study, when its first so many rooms are finished."""
    return stats.ttest_1samp(studies[:, :rooms], 0, axis=1).pvalue


print(f"first study: p = {p_values(5)[0]:.2f} after 5 rooms, {p_values(40)[0]:.2f} after 40")

# %%
# Your code: in how many of the 1,000 studies does A find something, in how many does B?

# %% [markdown]
# ## Your answers
#
# Replace each `None` by a value, such as `12.5` or `True`, and save the file. Then, in a terminal:
#
# `farrowtide check-homework one_replication_and_peeking.py`
#
# tells for each answer whether it is right, and gives a hint where it is not. Nothing in this file
# is run by that.

# %%
# Of 100 rooms with other sows, those in which full access comes out worse.
other_sows_find_it_worse = None

# The same of 100 rooms with the same sows.
same_sows_find_it_worse = None

# How many times as many rooms does it take with other sows for the same precision?
times_as_many_rooms = None

# Of the 1,000 studies, the share in % in which colleague A finds something.
false_alarms_percent_looking_once = None

# Of the 1,000 studies, the share in % in which colleague B finds something.
false_alarms_percent_peeking = None

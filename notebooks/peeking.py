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
# # Peeking
#
# May you look at the results after every few rooms, and stop as soon as the difference is
# significant? You will do so in thousands of studies in which there is nothing to find.
#
# It takes a quarter of an hour to read and some seconds to run. These are results of a model, not
# advice for a herd.
#
# ## 1. Green troughs
#
# Somebody claims that sows eat more from troughs that are painted green. The model knows nothing of
# colours: a room with green troughs is a room like any other, so the true difference is exactly
# zero. Each study takes pairs of rooms at random, calls one of the two green, and compares their
# feed intake, up to 200 pairs. It looks after 20 pairs, after 40, and so on: ten looks.
#
# ## 2. Predict
#
# Write down your answers before you run anything. Of 100 such studies, how many find a significant
# difference (p < 0.05)
#
# 1. if they look once, at 200 pairs;
# 2. if they look ten times and stop at the first significant difference;
# 3. if they stop as soon as the confidence interval is *narrow* enough, wherever it lies?
#
# ## 3. Run the studies

# %%
import warnings

import matplotlib.pyplot as plt
import numpy as np
import pandas as pd
from scipy import stats

import farrowtide

warnings.simplefilter("ignore", farrowtide.PlausibilityWarning)  # about single sows; see .warnings of a result
scenario = farrowtide.load(farrowtide.example("teaching/three_sows.yaml"))
by_hand = scenario.alternative("2 hand feeds")
rooms = farrowtide.run(by_hand, replications=800, seed=1, record=["sows", "sow_days"])
intake_kg = rooms.outputs["feed_intake_kg_per_day"].to_numpy()
print(
    f"{len(intake_kg)} rooms of three sows, intake {intake_kg.mean():.2f} kg/d, standard deviation {intake_kg.std(ddof=1):.2f}"
)

# %% [markdown]
# 800 rooms are a pool from which any number of studies can be drawn, with replacement. After every
# look, a study knows the mean of its differences so far, and the half-width of its 95 % confidence
# interval by Student's t.

# %%
STUDIES, PAIRS, EVERY = 4000, 200, 20
rng = np.random.default_rng(1)
green, grey = (rng.choice(intake_kg, size=(STUDIES, PAIRS)) for _ in range(2))
pairs = np.arange(EVERY, PAIRS + 1, EVERY)


def looks(differences: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Mean and its standard error at each look: a row per study, a column per look."""
    mean = differences.cumsum(axis=1)[:, pairs - 1] / pairs
    mean_square = (differences**2).cumsum(axis=1)[:, pairs - 1] / pairs
    return mean, np.sqrt((mean_square - mean**2) / (pairs - 1))


mean, error = looks(green - grey)
half = stats.t.ppf(0.975, pairs - 1) * error
significant = np.abs(mean) > half
once = significant[:, -1].mean()
peeking = significant.any(axis=1).mean()
print(f"looked once, at {PAIRS} pairs: {once:.1%} of the studies find a difference")
print(f"looked {len(pairs)} times:          {peeking:.1%} find one")

# %% [markdown]
# This is one of the studies that peeking would have stopped, had nobody waited for the end. An
# interval that holds in 95 of 100 studies holds at *one* look that was fixed beforehand. Who looks
# again and again gives chance ten opportunities.

# %%
misled = np.flatnonzero(significant.any(axis=1) & ~significant[:, -1])[0]
figure, axis = plt.subplots(figsize=(7, 3), layout="constrained")
for wrong, colour, marker, label in (
    (False, "#0072B2", "o", "holds the true difference"),
    (True, "#D55E00", "s", "misses it"),
):
    at = significant[misled] == wrong
    axis.errorbar(pairs[at], mean[misled, at], yerr=half[misled, at], fmt=marker, color=colour, capsize=3, label=label)
axis.axhline(0, color="0.3", linewidth=0.8)
axis.set(xlabel="pairs of rooms so far", ylabel="green minus grey, kg/d", xticks=pairs)
axis.legend(frameon=False, ncols=2, title="95 % confidence interval of one study at each look")
plt.show()

# %% [markdown]
# ## 4. Theory knows it
#
# How often repeated looks mislead was calculated long ago for normal values of known spread:
# Armitage, McPherson & Rowe (1969), Repeated significance tests on accumulating data, J R Stat Soc
# A 132:235 (values from memory). Rooms of a model are not quite normal and their spread is
# estimated, so expect agreement to 2 or 3 percentage points.

# %%
published = {1: 0.050, 2: 0.083, 3: 0.107, 4: 0.126, 5: 0.142, 10: 0.193}
by_looks = {number: significant[:, :number].any(axis=1).mean() for number in range(1, len(pairs) + 1)}
normal_mean, _ = looks(rng.standard_normal((STUDIES, PAIRS)))
normal = np.abs(normal_mean) * np.sqrt(pairs) > stats.norm.ppf(0.975)
pd.DataFrame(
    {
        "published": published,
        "normal values": {number: normal[:, :number].any(axis=1).mean() for number in published},
        "rooms": {number: by_looks[number] for number in published},
    }
).rename_axis("looks").round(3)

# %%
for number, share in published.items():
    chance = 4 * np.sqrt(share * (1 - share) / STUDIES)
    assert abs(normal[:, :number].any(axis=1).mean() - share) < chance
    assert abs(by_looks[number] - share) < 0.03

figure, axis = plt.subplots(figsize=(7, 3), layout="constrained")
axis.plot(by_looks.keys(), [100 * share for share in by_looks.values()], "o", color="#D55E00", label="rooms")
axis.plot(published.keys(), [100 * share for share in published.values()], "kx", label="published")
axis.axhline(5, color="0.6", linewidth=0.8)
axis.set(xlabel="looks", ylabel="studies that find a difference, %", ylim=(0, None), xticks=list(by_looks))
axis.legend(frameon=False)
plt.show()

# %% [markdown]
# At p < 0.05 there is no safe number of looks beyond one: who may look for ever finds a difference
# for certain.
#
# ## 5. Two honest ways to stop early
#
# **A stricter limit at each look.** Ten looks at p < 0.0106 together err in 5 of 100 studies
# (Pocock 1977, Biometrika 64:191, from memory).
#
# **Stop on the width, not on the answer.** `compare --precision` adds rooms until the confidence
# interval is narrow enough. The width says nothing about the side on which zero lies, so stopping
# by it hardly favours a difference. The rule asks for 40 rooms at least, and the width must hold
# for one further round of 20, because a spread that looks too small by chance stops a study too
# early.

# %%
pocock = (np.abs(mean) > stats.t.ppf(1 - 0.0106 / 2, pairs - 1) * error).any(axis=1).mean()
narrow = (half <= 0.2) & (pairs >= 40)
held = narrow[:, 1:] & narrow[:, :-1]
stop = np.where(held.any(axis=1), held.argmax(axis=1) + 1, len(pairs) - 1)
by_width = significant[np.arange(STUDIES), stop].mean()
print(f"ten looks at p < 0.0106:    {pocock:.1%} of the studies find a difference")
print(f"stopped by width ± 0.2 kg/d: {by_width:.1%}, after {pairs[stop].mean():.0f} pairs on average")
assert 0.03 < pocock < 0.07
assert 0.03 < by_width < 0.07 < 0.15 < peeking
assert held.any(axis=1).mean() > 0.9, "most studies must stop by their width, or the rule is not tried"

# %% [markdown]
# And the command itself, where there is a difference: full access to feed against two hand feeds,
# on the same sows.

# %%
found = farrowtide.compare(
    scenario, precision={"feed_intake_kg_per_day": 0.05}, outputs=["feed_intake_kg_per_day"], seed=1
)
row = found.differences.iloc[0]
print(f"{found.replications} rooms: {row['difference']:+.2f} kg/d ({row['ci_low']:+.2f} to {row['ci_high']:+.2f})")
assert (row["ci_high"] - row["ci_low"]) / 2 <= 0.05

# %% [markdown]
# Precision is a question of what you want to know: how many kg/d would change your decision? Ask
# for an interval that is narrower than that, before the first room is run. To choose among many
# alternatives, `farrowtide pick` looks again and again at a limit that allows for it.
#
# ## 6. Think about it
#
# 1. `compare` with two identical alternatives finds a difference of exactly zero in every room.
#    Why? Then why were the rooms here paired at random?
# 2. A report lists 60 outputs, each tested once at p < 0.05. How many significant ones do you
#    expect where nothing differs? What has that in common with peeking? (`compare` adjusts p for
#    the outputs that it judges: Holm.)
# 3. A farm tries a new feed "until we see a difference". Its records cannot be run again. What
#    should it write down on the first day?

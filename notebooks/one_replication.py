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
# # One replication is no answer
#
# A simulation has ended, its table shows two decimals, and a decision is due. Why should nobody
# decide by it?
#
# It takes a quarter of an hour to read and some seconds to run. These are results of a model, not
# advice for a herd: examination and help at farrowing are for the herd veterinarian, local rules
# and licensed practice to decide, and working alone at night is a hazard.
#
# ## 1. Predict
#
# What does one person at night do for the piglets in a room of 24 crates? 150 students each
# simulate one room without and with that person, on the same sows. You are one of them: choose a
# number from 0 to 149 before you see any result.
#
# Write down your answers, too.
#
# 1. Stillborn piglets: of the 150 students, how many find that night cover makes it *worse*?
# 2. Deaths of live-born piglets before weaning: how many find *more* deaths with night cover?
# 3. How many of the 150 would have to share their rooms to know the change in deaths to ± 0.1
#    percentage points?

# %%
import warnings

import matplotlib.pyplot as plt
import numpy as np
from scipy import stats

import farrowtide

warnings.simplefilter("ignore", farrowtide.PlausibilityWarning)  # see .warnings of a result
my_room = 3  # replace by the number that you chose

# %% [markdown]
# ## 2. What you found, and what the others found

# %%
scenario = farrowtide.load(farrowtide.example("staffing/night_cover.yaml"))
STUDENTS = 150
rooms = {
    name: farrowtide.run(scenario.alternative(name), replications=STUDENTS, record=["sows", "piglets"])
    for name in ("day shift only", "one person at night")
}
labels = {"stillborn_percent": "stillborn", "preweaning_mortality_percent": "died before weaning"}
by_day, with_night = (result.outputs[list(labels)].rename(columns=labels) for result in rooms.values())
change = with_night - by_day  # percentage points; a row per room
change.loc[[my_room]].round(2).rename_axis("room")

# %%
worse = (change > 0).sum()
print(worse.to_string())
change.describe().loc[["mean", "std", "min", "max"]].round(2)

# %%
figure, axes = plt.subplots(2, 1, figsize=(7, 3.4), sharex=True, layout="constrained")
for axis, (name, values) in zip(axes, change.items(), strict=True):
    axis.hist(values, bins=np.arange(-3.5, 2.01, 0.25), color="#0072B2", alpha=0.6)
    axis.axvline(0, color="0.3", linewidth=0.8)
    axis.axvline(values.mean(), color="0.3", linestyle="--", linewidth=1.2, label="mean of all")
    axis.axvline(values[my_room], color="#D55E00", linewidth=2, label="your room")
    axis.set(title=name, ylabel="rooms")
axes[1].set_xlabel("with a person at night minus without, percentage points")
axes[0].legend(frameon=False)
plt.show()

# %% [markdown]
# Of the stillborn, nobody has the wrong direction. One reason is the pairing: both rooms have the
# same sows. The other is the model: there, help brings piglets out earlier or revives them, and
# cannot make one stillborn (what it may cost later, less colostrum and more illness of the sow,
# counts among deaths before weaning). On a farm clumsy help can harm. And the *size* runs from
# nothing to three percentage points. Of the deaths before weaning, more than a third of the
# students report the opposite of the others, and each of them has two decimals.
#
# A single room also cannot say how far it is off: the spread between rooms takes at least two of
# them.

# %%
assert worse["stillborn"] == 0
assert 0.3 < worse["died before weaning"] / STUDENTS < 0.5
assert change["stillborn"].min() < -2.5

# %% [markdown]
# ## 3. How many rooms, then?
#
# The half-width of a 95 % confidence interval of the mean is `t * s / sqrt(n)`, with s the standard
# deviation between n rooms and t about 2. For half the width you need four times the rooms.

# %%
deaths = change["died before weaning"]
n = np.arange(5, STUDENTS + 1)
so_far = np.array([[deaths[:rooms].mean(), deaths[:rooms].std()] for rooms in n])
half = stats.t.ppf(0.975, n - 1) * so_far[:, 1] / np.sqrt(n)
figure, axis = plt.subplots(figsize=(7, 3), layout="constrained")
axis.fill_between(
    n, so_far[:, 0] - half, so_far[:, 0] + half, color="#0072B2", alpha=0.25, label="95 % confidence interval"
)
axis.plot(n, so_far[:, 0], color="#0072B2", label="mean")
axis.axhline(0, color="0.3", linewidth=0.8)
axis.set(xlabel="rooms", ylabel="change in deaths, percentage points", xlim=(0, STUDENTS))
axis.legend(frameon=False)
plt.show()

# %%
needed = int(np.ceil((1.96 * deaths.std() / 0.1) ** 2))
print(f"± {half[-1]:.2f} percentage points with {STUDENTS} rooms; ± 0.1 takes about {needed}")
assert half[-1] < 0.1 < half[n == 40][0], "more than 40 rooms, fewer than 150"

# %% [markdown]
# `farrowtide compare --precision mortality=0.1` finds that number itself. The lesson on
# [peeking](peeking.py) tells why it watches the width of the interval and not the difference.
#
# ## 4. Three hundred piglets are not three hundred replications
#
# One room holds about 300 live-born piglets. May one take them for 300 independent cases, and read
# the certainty from a single room? Each student computes the usual interval of a share from the
# deaths in the own room. **Predict:** how many of the 150 intervals, said to hold in 95 of 100,
# hold the mean of all rooms?

# %%
sows = rooms["day shift only"].sows.groupby("replicate")[["born_alive", "died_before_weaning"]].sum()
share = sows["died_before_weaning"] / sows["born_alive"]
if_independent = 1.96 * np.sqrt(share * (1 - share) / sows["born_alive"])
truth = sows["died_before_weaning"].sum() / sows["born_alive"].sum()
holds = (share - truth).abs() < if_independent
print(
    f"{sows['born_alive'].mean():.0f} live-born piglets in a room, {holds.sum()} of {STUDENTS} intervals hold {truth:.1%}"
)
print(
    f"standard deviation between rooms {share.std():.2%}, if piglets were independent {(if_independent / 1.96).mean():.2%}"
)
assert holds.mean() < 0.85, "piglets would be independent"

# %% [markdown]
# Piglets of one litter share a dam, a birth and a crate, and all litters of a room share the people
# and the air: their deaths are correlated. To count them as independent is called pseudoreplication
# (Hurlbert 1984, Ecol Monogr 54:187). It is why `n` counts rooms in every table of `farrowtide
# compare`.
#
# ## 5. Try it with fewer students
#
# How sure would the first ten students be together, or the next ten? With
# [ipywidgets](https://ipywidgets.readthedocs.io) installed, drag the sliders; without it, some
# answers are printed.


# %%
def report(first: int, students: int) -> None:
    theirs = deaths[first : first + students]
    ends = stats.t.ppf(0.975, students - 1) * theirs.std() / np.sqrt(students)
    print(f"students {first} to {first + students - 1}: {theirs.mean():+.2f} ± {ends:.2f} percentage points")


try:
    from ipywidgets import interact

    interact(report, first=(0, STUDENTS - 60), students=(2, 60))
except ImportError:
    for number in (2, 5, 10, 20):
        report(0, number)
        report(20, number)

# %% [markdown]
# ## 6. Think about it
#
# 1. Somebody runs ten seeds and shows you the best. What is wrong, if every one of the ten is a
#    correct simulation?
# 2. A farm had no night cover last month and has it this month. Which differences between its two
#    rooms are there, besides those that you have met here?
# 3. `farrowtide compare` says “too small to matter” of the deaths. What has to be known for that,
#    besides the interval?

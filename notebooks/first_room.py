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
# # Your first farrowing room
#
# Three sows, one room, every event. You will predict, look, and repeat the engine's sums by hand.
# At the end you will see why one room tells you little and two hundred tell you a lot, provided
# that they are the *right* two hundred.
#
# It takes about half an hour to read and half a minute to run. These are results of a model, not
# advice for a herd: obstetrics, heat lamps, room temperature and changes of feed are for the herd
# veterinarian and local rules to decide.
#
# ## 1. The room

# %%
import warnings

import farrowtide

warnings.simplefilter("ignore", farrowtide.PlausibilityWarning)  # see .warnings of a result
scenario = farrowtide.load(farrowtide.example("teaching/three_sows.yaml"))

# %% [markdown]
# ## 2. Predict before you look
#
# The room holds three sows. Sow 1 farrows for the first time (185 kg, 12 piglets to be born), sow 2
# for the third (230 kg, 15 piglets), sow 3 for the sixth (260 kg, 16 piglets). One person feeds
# them by hand at 07:00 and 15:00.
#
# Write down your answers before you run the cells. A wrong guess is useful, because a surprise is
# remembered.
#
# 1. Which sow takes longest to farrow?
# 2. On which lactation day does sow 1 first eat more than 4 kg?
# 3. Which sow loses the largest share of her body weight by weaning?
# 4. Which task takes most of the staff's time?

# %%
room = farrowtide.run(scenario, seed=7)
room.sows[["sow", "parity", "total_born", "farrowing_duration_min", "weight_loss_kg", "weight_loss_percent", "weaned"]]

# %%
days = room.sow_days[(room.sow_days["sow"] == 1) & (room.sow_days["day"] >= 1)]
days[days["eaten_kg"] > 4][["day", "eaten_kg"]].head(1)

# %%
room.tasks.groupby("kind", observed=True)["minutes"].sum().sort_values(ascending=False).head(5).round(0)

# %% [markdown]
# Were you right? Another seed keeps what the scenario says of each sow (parity, weight, backfat,
# piglets to be born, day of farrowing) and draws the rest anew: her appetite, her births, her
# piglets. So the answers can change. Keep that in mind for part 4; “other sows” are such sows
# there.
#
# ## 3. Follow one sow by hand
#
# The trace contains every event. Here is sow 1 from the start of farrowing to the end of the next
# day.

# %%
trace = [line for line in room.trace() if "sow 1:" in line]
start = next(i for i, line in enumerate(trace) if "begins to farrow" in line)
print("\n".join(trace[start : start + 24]))

# %% [markdown]
# **Sum 1: farrowing duration.** Add the birth intervals of all her piglets. The sum must equal the
# duration that the engine reports. Do a few on paper, then let Python do all of them.

# %%
litter = room.piglets[room.piglets["sow"] == 1]
by_hand_min = litter["birth_interval_min"].sum()
reported_min = room.sows.loc[room.sows["sow"] == 1, "farrowing_duration_min"].item()
print(f"sum of the intervals {by_hand_min:.1f} min, reported {reported_min:.1f} min")
assert abs(by_hand_min - reported_min) < 0.5  # times of birth are rounded to the second

# %% [markdown]
# **Sum 2: a day's meals.** Now sow 2 on lactation day 4. Add up her meals in kg with a pencil, then
# compare the sum with the engine's own table for that day.

# %%
day = room.sow_days[(room.sow_days["sow"] == 2) & (room.sow_days["day"] == 4)].iloc[0]
calendar_day = 4 + int(room.piglets.loc[room.piglets["sow"] == 2, "birth_time_h"].max() // 24)
print("\n".join(line for line in room.trace() if line.startswith(f"day {calendar_day} ") and "sow 2: eats" in line))

# %%
meals = room.events[(room.events["sow"] == 2) & (room.events["what"] == "meal eaten")]
that_day = meals[meals["time_h"] // 24 == calendar_day]
print(
    f"{len(that_day)} meals, {that_day['amount'].sum():.2f} kg by hand; table: {day.meals:.0f} meals, {day.eaten_kg:.2f} kg"
)
assert len(that_day) == day.meals
assert abs(that_day["amount"].sum() - day.eaten_kg) < 1e-6

# %% [markdown]
# **Sum 3: the trough.** No feed may disappear. Back to sow 1: feed in her trough at midnight plus
# feed offered since then must equal feed eaten, wasted, removed, and left in the trough at the next
# midnight. Check one day with a pencil.

# %%
feed = room.sow_days[room.sow_days["sow"] == 1].set_index("day")
columns = ["offered_kg", "eaten_kg", "wasted_kg", "removed_kg", "in_trough_at_midnight_kg"]
feed.loc[0:5, columns].round(2)

# %%
left_before = feed["in_trough_at_midnight_kg"].shift(fill_value=0)
gone = feed["eaten_kg"] + feed["wasted_kg"] + feed["removed_kg"]
unexplained = left_before + feed["offered_kg"] - gone - feed["in_trough_at_midnight_kg"]
print(f"largest unexplained amount on any day: {unexplained.abs().max():.6f} kg")
assert unexplained.abs().max() < 1e-6

# %% [markdown]
# **Sum 4: the litter.** Born alive minus died equals weaned. No piglet is moved between litters in
# this room.

# %%
sows = room.sows
assert (sows["born_alive"] - sows["died_before_weaning"] == sows["weaned"]).all()
assert (sows["born_alive"] + sows["stillborn"] == sows["total_born"]).all()
sows[["sow", "total_born", "stillborn", "born_alive", "died_before_weaning", "weaned"]]

# %% [markdown]
# The engine makes these checks itself in every room and stops if one fails.
#
# ## 4. One room or two hundred
#
# Do sows lose less weight with full access to feed than with two hand feeds? Compare one room of
# each. A colleague does the same with other sows, and so do 198 more. **Predict:** how many of the
# 200 will find that full access is *worse*?

# %%
comparison = farrowtide.compare(scenario, replications=200, seed=7)
loss_kg = comparison.replicates.pivot(index="replicate", columns="alternative", values="weight_loss_kg")
other_sows = loss_kg["full access"].to_numpy() - loss_kg["2 hand feeds"].shift(
    fill_value=loss_kg["2 hand feeds"].iloc[-1]
)
print(f"{(other_sows > 0).sum()} of 200 colleagues find full access worse")

# %% [markdown]
# Each colleague compared *different* sows, like a farm that tries one method this month and the
# other the next. Most of what they saw was the difference between sows. On a farm parities and
# litter sizes differ as well, so chance is larger still. A model can do what no farm can: run the
# **same** sows twice.

# %%
same_sows = loss_kg["full access"] - loss_kg["2 hand feeds"]
print(f"{(same_sows > 0).sum()} of 200 rooms with the same sows are worse with full access")
print(f"standard deviation of the difference: other sows {other_sows.std():.1f} kg, same sows {same_sows.std():.1f} kg")
rooms_saved = (other_sows.std() / same_sows.std()) ** 2
print(f"with other sows, the same precision takes {rooms_saved:.0f} times as many rooms")
assert same_sows.std() < other_sows.std()

# %%
import matplotlib.pyplot as plt

figure, axis = plt.subplots(figsize=(7, 3), layout="constrained")
bins = range(-30, 31, 2)
axis.hist(other_sows, bins=bins, histtype="step", color="#D55E00", linewidth=1.5, linestyle="--", label="other sows")
axis.hist(same_sows, bins=bins, histtype="stepfilled", color="#0072B2", alpha=0.6, label="same sows")
axis.axvline(0, color="0.3", linewidth=0.8)
axis.set(xlabel="weight loss with full access minus weight loss with two hand feeds, kg", ylabel="number of rooms")
axis.legend(frameon=False)
plt.show()

# %% [markdown]
# The picture below shows the daily feed intake in these rooms, from the day after farrowing to
# weaning, a line for each parity class and way of feeding. The bands are 95 % confidence intervals
# of the mean.

# %%
comparison.plot_intake()

# %% [markdown]
# This is why `farrowtide compare` pairs rooms, and why the room is its statistical unit: sows in
# one room share staff, air and time, so they are not independent. The table gives each difference
# with its confidence interval.

# %%
shown = ["output", "unit", "mean_reference", "difference", "ci_low", "ci_high", "n", "verdict"]
headlines = ["feed_intake_kg_per_day", "weight_loss_kg", "weaned_per_litter", "labour_min_per_litter"]
comparison.differences.set_index("output").loc[headlines].reset_index()[shown].round(2)

# %% [markdown]
# ## 5. What this does not tell you
#
# A confidence interval covers **sampling variation** only. With more rooms its width shrinks
# towards zero, for a room that follows the model's coefficients exactly. Whether those coefficients
# hold for *your* sows is a different uncertainty, which more rooms do not reduce. Every coefficient
# has a range and a source:

# %%
print(farrowtide.explain("sow.appetite.curve.shape"))

# %% [markdown]
# ## 6. Exercise
#
# Does the *difference* in weight loss between the two ways of feeding change by more than 1 kg if
# `shape` has the largest value of its range above? Write down your prediction, then replace both
# `None`: the first by that value, the second, once you have seen the change, by `True` or `False`.
# The last lines check both.

# %%
shape = None
changes_by_more_than_1_kg = None

if shape is not None:
    doubtful = scenario.with_coefficients({"sow.appetite.curve.shape": shape})
    answer = farrowtide.compare(doubtful, replications=200, seed=7, outputs=["weight_loss_kg"]).differences
    before = comparison.differences.query("output == 'weight_loss_kg'")["difference"].item()
    change_kg = answer["difference"].item() - before
    print(
        f"difference before {before:.2f} kg, now {answer['difference'].item():.2f} kg: a change of {change_kg:+.2f} kg"
    )
if shape is not None and changes_by_more_than_1_kg is not None:
    assert f" to {shape:g}\n" in farrowtide.explain("sow.appetite.curve.shape"), "not the end of the range"
    assert changes_by_more_than_1_kg == (abs(change_kg) > 1), "compare the change with 1 kg, whatever its sign"
    print("Both are right.")

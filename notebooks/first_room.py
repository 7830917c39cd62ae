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
# Three sows, one room, every event. You will predict, then look, then do the engine's sums by hand, and at the end see why
# one room tells you little and two hundred tell you a lot, provided that they are the *right* two hundred.
#
# It takes about half an hour to read and half a minute to run. Results are of a model, not advice for a herd: obstetrics,
# heat lamps, room temperature and feeding changes belong to the herd veterinarian and to local rules.
#
# ## 1. Two lines to a picture

# %%
import farrowtide

scenario = farrowtide.load("../scenarios/teaching/three_sows.yaml")
farrowtide.compare(scenario, replications=100).plot_intake()

# %% [markdown]
# Each line is what sows of a parity class eat a day, from the day after farrowing to weaning, under two ways to feed the
# **same** sows. The bands are about chance: they hold the mean of all such rooms in 95 of 100 studies.
#
# ## 2. Predict before you look
#
# The room holds three sows. Sow 1 farrows for the first time (185 kg, 12 piglets to be born), sow 2 for the third (230 kg,
# 15 piglets), sow 3 for the sixth (260 kg, 16 piglets). They get feed by hand at 07:00 and 15:00, by one person.
#
# Write down your answers. Guessing wrong is the point: a surprise is remembered.
#
# 1. Which sow needs the longest for her farrowing?
# 2. On which day after farrowing does sow 1 first eat more than 4 kg?
# 3. Which sow loses the most of her body by weaning?
# 4. Which job takes the most of the staff's time?

# %%
room = farrowtide.run(scenario, seed=7)
room.sows[["sow", "parity", "total_born", "farrowing_duration_min", "weight_loss_kg", "weight_loss_percent", "weaned"]]

# %%
days = room.sow_days[(room.sow_days["sow"] == 1) & (room.sow_days["day"] >= 1)]
days[days["eaten_kg"] > 4][["day", "eaten_kg"]].head(1)

# %%
room.tasks.groupby("kind", observed=True)["minutes"].sum().sort_values(ascending=False).head(5).round(0)

# %% [markdown]
# Were you right? With another seed other sows are drawn and the answers can change. Remember that for part 4.
#
# ## 3. Follow one sow by hand
#
# Every event stands in the trace. Here is sow 1 from the start of her farrowing to the end of the next day.

# %%
trace = [line for line in room.trace() if "sow 1:" in line]
start = next(i for i, line in enumerate(trace) if "begins to farrow" in line)
print("\n".join(trace[start : start + 24]))

# %% [markdown]
# **Sum 1: the farrowing.** Add the minutes "after the last" of all her piglets. You must get the duration that the engine
# reports. Do it on paper for a few, then let Python do all of them.

# %%
litter = room.piglets[room.piglets["sow"] == 1]
by_hand_min = litter["birth_interval_min"].sum()
reported_min = room.sows.loc[room.sows["sow"] == 1, "farrowing_duration_min"].item()
print(f"sum of the intervals {by_hand_min:.1f} min, reported {reported_min:.1f} min")
assert abs(by_hand_min - reported_min) < 0.5  # births are told to the second

# %% [markdown]
# **Sum 2: a day's meals.** Now sow 2, on her fourth day of lactation. Add the kilograms of her meals with a pencil, then compare
# with the engine's own table of the day.

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
# **Sum 3: the trough.** No feed may vanish. Back to sow 1. What lay in her trough at midnight and what she was given since must equal what
# she ate, wasted, had taken out and has lying there at the next midnight. Check one day with a pencil.

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
# **Sum 4: the litter.** Born alive, less those that died, are weaned. Nobody is moved between litters in this room.

# %%
sows = room.sows
assert (sows["born_alive"] - sows["died_before_weaning"] == sows["weaned"]).all()
assert (sows["born_alive"] + sows["stillborn"] == sows["total_born"]).all()
sows[["sow", "total_born", "stillborn", "born_alive", "died_before_weaning", "weaned"]]

# %% [markdown]
# The engine makes these checks itself, in every room that it runs, and stops if one fails.
#
# ## 4. One room or two hundred
#
# Do sows lose less weight with feed always at hand than with two hand feeds? Take one room with each and compare. A colleague
# does the same with other sows, and so do 198 more. **Predict:** how many of the 200 will find that feed always at hand is
# *worse*?

# %%
comparison = farrowtide.compare(scenario, replications=200, seed=7)
loss_kg = comparison.replicates.pivot(index="replicate", columns="alternative", values="weight_loss_kg")
other_sows = loss_kg["full access"].to_numpy() - loss_kg["2 hand feeds"].shift(
    fill_value=loss_kg["2 hand feeds"].iloc[-1]
)
print(f"{(other_sows > 0).sum()} of 200 colleagues find feed always at hand worse")

# %% [markdown]
# Each colleague compared *different* sows, as a farm does that tries one way this month and the other way the next. Most of
# what they saw was the difference between sows. In a model we can do what no farm can: run the **same** sows twice.

# %%
same_sows = loss_kg["full access"] - loss_kg["2 hand feeds"]
print(f"{(same_sows > 0).sum()} of 200 rooms with the same sows are worse with feed always at hand")
print(
    f"standard deviation of the difference: {other_sows.std():.1f} kg other sows, {same_sows.std():.1f} kg the same sows"
)
rooms_saved = (other_sows.std() / same_sows.std()) ** 2
print(f"with other sows it takes {rooms_saved:.0f} times as many rooms to know the difference as well")
assert same_sows.std() < other_sows.std()

# %%
import matplotlib.pyplot as plt

figure, axis = plt.subplots(figsize=(7, 3), layout="constrained")
bins = range(-30, 31, 2)
axis.hist(other_sows, bins=bins, histtype="step", color="#D55E00", linewidth=1.5, linestyle="--", label="other sows")
axis.hist(same_sows, bins=bins, histtype="stepfilled", color="#0072B2", alpha=0.6, label="the same sows")
axis.axvline(0, color="0.3", linewidth=0.8)
axis.set(xlabel="weight loss with feed always at hand, less that with two hand feeds, kg", ylabel="rooms of 200")
axis.legend(frameon=False)
plt.show()

# %% [markdown]
# That is why `farrowtide compare` pairs rooms, and why its unit is the room: three sows in one room share their staff, their
# air and their hour, so they are not three independent trials. The table says how large the difference is, and how sure.

# %%
shown = ["output", "unit", "mean_reference", "difference", "ci_low", "ci_high", "n", "verdict"]
headlines = ["feed_intake_kg_per_day", "weight_loss_kg", "weaned_per_litter", "labour_min_per_litter"]
comparison.differences.set_index("output").loc[headlines].reset_index()[shown].round(2)

# %% [markdown]
# ## 5. What this does not tell you
#
# An interval holds the play of **chance** only: run more rooms and it shrinks to nothing, about a room that obeys the model's
# numbers exactly. Whether the numbers hold for *your* sows is another kind of doubt, and more rooms do not help against it.
# Every number has a range and a source; ask for one:

# %%
print(farrowtide.explain("sow.appetite.curve.half_time"))

# %% [markdown]
# ## 6. Homework, checked by machine
#
# Set `half_time_d` to the largest value of the range above and find out whether the *difference* in weight loss between the
# two ways to feed changes by more than 1 kg. Predict first.

# %%
half_time_d = 6
doubtful = scenario.with_coefficients({"sow.appetite.curve.half_time": half_time_d})
answer = farrowtide.compare(doubtful, replications=200, seed=7, outputs=["weight_loss_kg"]).differences
before = comparison.differences.query("output == 'weight_loss_kg'")["difference"].item()
change_kg = answer["difference"].item() - before
print(
    f"the difference was {before:.2f} kg and is {answer['difference'].item():.2f} kg: it changed by {change_kg:+.2f} kg"
)
assert half_time_d <= 6, "outside the range of the evidence"

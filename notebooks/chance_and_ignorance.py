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
# # Chance against ignorance
#
# A confidence interval of ± 0.02 kg/d looks like knowledge. More rooms make it as narrow as you
# like. What do they not make any better?
#
# It takes a quarter of an hour to read and about half a minute to run. These are results of a
# model, not advice for a herd: changes of feed are for the herd veterinarian and local rules to
# decide.
#
# ## 1. Predict
#
# Three sows are fed by hand twice a day, or have full access to feed; what differs is how much they
# eat. Write down your answers before you run anything.
#
# 1. 40 rooms give an interval of about ± 0.07 kg/d. How wide is it with 160 rooms?
# 2. Nobody knows exactly how much appetite the sows of a farm have. Suppose a tenth less than the
#    model's sows, or a tenth more: do the intervals of these two worlds overlap?
# 3. With that and all other doubtful numbers of the model counted, how wide is the interval?
#
# ## 2. Chance: which rooms happened to be simulated

# %%
import warnings

import matplotlib.pyplot as plt
import pandas as pd

import farrowtide

warnings.simplefilter("ignore", farrowtide.PlausibilityWarning)  # see .warnings of a result
scenario = farrowtide.load(farrowtide.example("teaching/three_sows.yaml"))


def study(world: farrowtide.Scenario, rooms: int) -> farrowtide.Comparison:
    return farrowtide.compare(world, replications=rooms, outputs=["feed_intake_kg_per_day"])


def interval(compared: farrowtide.Comparison) -> pd.Series:
    """Full access minus two hand feeds, kg/d."""
    row = compared.differences.iloc[0][["difference", "ci_low", "ci_high"]].astype(float)
    return pd.Series([*row, (row["ci_high"] - row["ci_low"]) / 2], index=[*row.index, "half_width"])


few, many = study(scenario, 40), study(scenario, 160)
chance = pd.DataFrame({"40 rooms": interval(few), "160 rooms": interval(many)}).T
chance.round(3)

# %% [markdown]
# Four times as many rooms halve the interval. That is the law of the square root, and it never
# stops: with enough rooms, chance is gone. What is left then is what *this model with these
# coefficients* says.
#
# ## 3. Ignorance: which world the rooms stand in
#
# Every coefficient has a range and a grade of evidence. This one is the appetite of the herd:

# %%
NAME = "sow.appetite.curve.herd_factor"
print(farrowtide.explain(NAME))

# %% [markdown]
# A tenth less and a tenth more are well inside the range: two worlds that our evidence does not
# rule out. 160 rooms in each:

# %%
appetites = {"a tenth less appetite": 0.9, "a tenth more appetite": 1.1}
worlds = pd.DataFrame(
    {name: interval(study(scenario.with_coefficients({NAME: value}), 160)) for name, value in appetites.items()}
).T
worlds.round(3)

# %% [markdown]
# Each interval is a correct 95 % confidence interval, and they do not even touch. More rooms would
# make both narrower, and would not bring them together.
#
# `farrowtide.doubt` (on the command line `compare --doubt`) draws all numbers that have a range at
# once, some hundreds, and runs the comparison in each of the worlds so drawn.

# %%
doubt = farrowtide.doubt(few, draws=40)
both = doubt.intervals.iloc[0]
print(f"40 rooms, chance alone:       {both['ci_low']:+.2f} to {both['ci_high']:+.2f} kg/d")
print(f"chance and what is not known: {both['both_low']:+.2f} to {both['both_high']:+.2f} kg/d")
print(f"sure of the direction: {both['p_sign']:.0%}")

# %%
bars = {
    "chance and what is not known": (both["both_low"], both["both_high"], "#E69F00"),
    **{f"160 rooms, {name}": (row["ci_low"], row["ci_high"], "#D55E00") for name, row in worlds.iterrows()},
    **{name: (row["ci_low"], row["ci_high"], "#0072B2") for name, row in chance.iloc[::-1].iterrows()},
}
figure, axis = plt.subplots(figsize=(8, 2.6), layout="constrained")
for place, (low, high, colour) in enumerate(bars.values()):
    axis.plot([low, high], [place, place], color=colour, linewidth=8, solid_capstyle="butt")
axis.axvline(0, color="0.3", linewidth=0.8)
axis.set_yticks(range(len(bars)), list(bars))
axis.set_xlabel("full access minus two hand feeds, kg/d (95 % intervals)")
plt.show()

# %%
halved = chance.loc["40 rooms", "half_width"] / chance.loc["160 rooms", "half_width"]
assert 1.5 < halved < 2.7, "the square root of 4, give or take the chance of 40 rooms"
assert "0.8 to 1.2" in farrowtide.explain(NAME)
assert worlds["ci_low"].max() > worlds["ci_high"].min(), "the intervals of the two worlds are apart"
assert both["both_high"] - both["both_low"] > 5 * (both["ci_high"] - both["ci_low"])

# %% [markdown]
# The direction is still fairly sure (`p_sign`: the probability that the true difference has the
# printed sign, if the ranges are right and the model has the right form), the size is not. With 40
# draws, `p_sign` itself is known to a few percentage points only; reports use 200.
#
# ## 4. What would help instead
#
# Rooms cost seconds. Knowledge comes from records and trials, so it pays to know which numbers the
# answer hangs on. `size` is how far the difference moves when one number crosses the middle three
# quarters of its range.

# %%
causes = doubt.causes
causes[["parameter", "grade", "value", "low", "high", "size"]].head(4).round(2)

# %%
print(few.verdict()["How sure"])
assert causes["size"].max() > 2 * chance.loc["160 rooms", "half_width"], "one number weighs more than all of chance"
assert "herd.intake_level" in causes["parameter"].head(3).tolist(), "which is the same appetite"

# %% [markdown]
# (`herd.intake_level` is the same appetite, as a key of a scenario.) The appetite of your own sows
# can be weighed: `farrowtide calibrate` takes a farm's records and narrows that range. Another
# 10,000 rooms would not.
#
# And a third kind of doubt is in neither interval: the model may leave out what matters on your
# farm, or describe it by the wrong equation. The only remedy is to compare it with what was
# measured (the page *Published trials and the model* of the documentation). How doubt is computed
# is told on its page *What is not known*.
#
# ## 5. Think about it
#
# 1. A report says "+0.33 kg/d (95 % confidence interval 0.31 to 0.34; 1,000 rooms)". Which question
#    does that interval answer, and which would a farmer think that it answers?
# 2. `piglets weaned` would differ by about nothing here, with a narrow interval. Is a narrow
#    interval around zero a proof that feeding does not matter to piglets?
# 3. Which of the numbers in the last table could you measure on a farm within a month, and how?

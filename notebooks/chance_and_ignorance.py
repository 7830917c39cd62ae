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
# A confidence interval of ± 0.02 kg/d looks like knowledge. More rooms make it as narrow as you like. What do they not make
# any better?
#
# It takes a quarter of an hour to read and about half a minute to run. These are results of a model, not advice for a herd:
# changes of feed are for the herd veterinarian and local rules to decide.
#
# ## 1. Predict
#
# Three sows are fed by hand twice a day, or have full access to feed; what differs is how much they eat. Write down your
# answers before you run anything.
#
# 1. 40 rooms give an interval of about ± 0.07 kg/d. How wide is it with 360 rooms?
# 2. Nobody knows exactly how much appetite a farm's sows have, or how much a large litter adds to it. With those and all other
#    doubtful numbers of the model counted, how wide is the interval from 40 rooms? And from 360?
#
# ## 2. Chance: which rooms happened to be simulated

# %%
import warnings

import matplotlib.pyplot as plt
import pandas as pd

import farrowtide

warnings.simplefilter("ignore", farrowtide.PlausibilityWarning)  # about single sows; see .warnings of a result
scenario = farrowtide.load(farrowtide.example("teaching/three_sows.yaml"))
INTAKE = "feed_intake_kg_per_day"
studies = {rooms: farrowtide.compare(scenario, replications=rooms, outputs=[INTAKE]) for rooms in (40, 90, 360)}
chance = pd.DataFrame({rooms: study.differences.iloc[0] for rooms, study in studies.items()}).T
chance["half_width"] = (chance["ci_high"] - chance["ci_low"]) / 2
chance[["difference", "ci_low", "ci_high", "half_width"]].astype(float).rename_axis("rooms").round(3)

# %% [markdown]
# Four times as many rooms halve the interval. That is the law of the square root, and it never stops: with enough rooms, chance is
# gone. What is left then is what *this model with these coefficients* says.
#
# ## 3. Ignorance: which world the rooms stand in
#
# Every coefficient has a range and a grade of evidence. Two that matter here:

# %%
for name in ("sow.appetite.curve.herd_factor", "sow.appetite.litter_size.linear"):
    print(farrowtide.explain(name), end="\n\n")

# %% [markdown]
# `farrowtide.doubt` (on the command line `compare --doubt`) draws all numbers that have a range at once, some hundreds, and
# runs the comparison in each of the worlds so drawn. Each draw is a world that our evidence does not rule out.

# %%
doubts = {rooms: farrowtide.doubt(studies[rooms], draws=40) for rooms in (40, 360)}
both = pd.DataFrame({rooms: doubt.intervals.iloc[0] for rooms, doubt in doubts.items()}).T
both["half_width"] = (both["both_high"] - both["both_low"]) / 2
both[["difference", "both_low", "both_high", "half_width", "p_sign"]].astype(float).rename_axis("rooms").round(3)

# %%
figure, axis = plt.subplots(figsize=(7, 2.6), layout="constrained")
for place, rooms in enumerate(doubts):
    ends = both.loc[rooms, ["both_low", "both_high"]]
    axis.plot(
        ends,
        [place, place],
        color="#E69F00",
        linewidth=10,
        solid_capstyle="butt",
        alpha=0.6,
        label="chance and what is not known" if place else None,
    )
    ends = chance.loc[rooms, ["ci_low", "ci_high"]]
    axis.plot(
        ends,
        [place, place],
        color="#0072B2",
        linewidth=4,
        solid_capstyle="butt",
        label="chance alone" if place else None,
    )
axis.axvline(0, color="0.3", linewidth=0.8)
axis.set(yticks=range(len(doubts)), yticklabels=[f"{rooms} rooms" for rooms in doubts], ylim=(-0.6, 1.6))
axis.set_xlabel("full access minus two hand feeds, kg/d (95 % intervals)")
figure.legend(loc="outside upper center", ncols=2, frameon=False)
plt.show()

# %%
narrower = chance.loc[40, "half_width"] / chance.loc[360, "half_width"]
barely = both.loc[40, "half_width"] / both.loc[360, "half_width"]
print(f"9 times as many rooms: chance falls to 1/{narrower:.1f}, both doubts together to 1/{barely:.2f}")
assert 2.2 < narrower < 4, "the square root of 9, give or take the chance of 40 rooms"
assert 0.8 < barely < 1.25, "what is not known does not shrink with rooms"
assert (both["half_width"] > 5 * chance["half_width"].loc[both.index]).all()

# %% [markdown]
# The direction is still fairly sure (`p_sign`: the probability that the true difference has the printed sign, if the ranges are
# right), the size is not. With 40 draws, `p_sign` itself is known to a few percentage points only; reports use 200.
#
# ## 4. What would help instead
#
# Rooms cost seconds. Knowledge comes from records and trials, so it pays to know which numbers the answer hangs on. `size` is
# how far the difference moves when one number crosses the middle three quarters of its range.

# %%
causes = doubts[360].causes
causes[["parameter", "grade", "value", "low", "high", "size"]].head(4).round(2)

# %%
print(doubts[360].comparison.verdict()["How sure"])
assert causes["size"].max() > 2 * chance["half_width"].loc[360], "one number weighs more than all of chance"

# %% [markdown]
# The appetite of your own sows can be weighed: `farrowtide calibrate` takes a farm's records and narrows that range. Another
# 10,000 rooms would not.
#
# And a third kind of doubt is in neither interval: the model may leave out what matters on your farm, or describe it by the
# wrong equation. The only remedy is to compare it with what was measured
# ([published trials](../.site/generated/validation.md)). How doubt is computed is told on
# [its own page](../.site/pages/doubt.md).
#
# ## 5. Think about it
#
# 1. A report says "+0.33 kg/d (95 % confidence interval 0.31 to 0.34; 1,000 rooms)". Which question does that interval answer, and
#    which would a farmer think that it answers?
# 2. `piglets weaned` would differ by about nothing here, with a narrow interval. Is a narrow interval around zero a proof that
#    feeding does not matter to piglets?
# 3. Which of the numbers in the last table could you measure on a farm within a month, and how?

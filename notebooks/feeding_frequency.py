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
# # Feeding frequency
#
# Two hand feeds a day, or four? Every farm has an opinion. You will find out what the number of
# feeds changes, and what looked like the number of feeds and was something else.
#
# It takes a quarter of an hour to read and some seconds to run. These are results of a model, not
# advice for a herd: changes of feed are for the herd veterinarian and local rules to decide.
#
# ## 1. Predict
#
# Two people work in a room from 07:00 to 16:00. Sows are fed by hand once to four times a day,
# always the same daily allowance, or have full access to feed. Write down your answers before you
# run anything.
#
# 1. In which order do the five ways stand by the feed that sows eat? By how many kg/d does the
#    fourth feed raise it?
# 2. How many meals does a sow eat in a day if she is fed twice? If she is fed four times?
# 3. The trough holds 3.2 kg instead of 8. What changes?
# 4. Four feeds at 06:00, 10:00, 13:00 and 22:00 are spread better over the day. Do sows eat more
#    than with two?
#
# ## 2. How much sows eat

# %%
import warnings

import matplotlib.pyplot as plt
import pandas as pd

import farrowtide

warnings.simplefilter("ignore", farrowtide.PlausibilityWarning)  # printed below where they matter
room = farrowtide.load(farrowtide.example("feeding/meals_a_day.yaml")).override({"room.crates": 12})
cases = {"trough of 8 kg": "January", "trough of 3.2 kg": "small trough"}
found = {trough: farrowtide.compare(room.case(case), replications=40) for trough, case in cases.items()}


def difference(output: str) -> pd.DataFrame:
    """From two hand feeds: a row per trough and way of feeding."""
    tables = {trough: compared.differences.set_index("output").loc[[output]] for trough, compared in found.items()}
    return pd.concat(tables, names=["trough"]).droplevel("output").set_index("alternative", append=True)


intake = difference("feed_intake_kg_per_day")
intake[["mean_reference", "difference", "ci_low", "ci_high", "verdict"]].round(2)

# %%
figure, axes = plt.subplots(1, 2, figsize=(8, 2.6), sharex=True, sharey=True, layout="constrained")
for axis, trough in zip(axes, cases, strict=True):
    rows = intake.loc[trough].iloc[::-1]
    ends = [rows["difference"] - rows["ci_low"], rows["ci_high"] - rows["difference"]]
    axis.errorbar(rows["difference"], rows.index, xerr=ends, fmt="o", color="#0072B2", capsize=3)
    axis.axvline(0, color="0.3", linewidth=0.8)
    axis.set_title(trough)
figure.supxlabel("feed eaten, difference from two hand feeds, kg/d", fontsize="medium")
plt.show()

# %% [markdown]
# With a trough that holds a portion, the difference between two, three and four feeds is too small
# to matter, and one is a little worse. That is so in this model, in which appetite does not depend
# on the number of feeds. Here is why:

# %%
nursing = {
    name: farrowtide.run(room.case("January").alternative(name), replications=20, record=["sow_days"]).sow_days.query(
        "1 <= day <= 20"
    )
    for name in room.alternatives
}
shown = ["appetite_kg", "offered_kg", "eaten_kg", "meals"]
a_day = pd.DataFrame({name: days[shown].mean() for name, days in nursing.items()}).T
a_day.round(2)

# %% [markdown]
# A feed is not a meal. Fed twice, a sow eats about six meals from what lies in the trough, spread
# over the day. Filling the trough more often gives her nothing that she lacked.
#
# And yet she eats less than her appetite, although more is offered than she wants on average. An
# average hides it: on some days the allowance is too small for *this* sow.

# %%
days = nursing["2 hand feeds"]
missing_kg = days["appetite_kg"] - days["eaten_kg"]
too_little = days["offered_kg"] < days["appetite_kg"]
share = missing_kg[too_little].sum() / missing_kg.sum()
print(
    f"offered less than her appetite on {too_little.mean():.0%} of the days; {share:.0%} of what is missing falls on them"
)

# %% [markdown]
# No number of feeds mends that, because the daily allowance is the same. Full access does: nobody
# has to guess an appetite beforehand. What was published agrees as far as it goes: a third meal
# made no difference to first-parity sows (Genest & Dallaire 1995, Can J Anim Sci 75:461), nor to
# 300 sows (ASAS 2022, abstract 247). No trial that we know of fed sows four times a day.

# %%
large = intake.loc["trough of 8 kg"]
assert (large.loc[["3 hand feeds", "4 hand feeds"], "verdict"] == "too small to matter").all()
assert large.loc["1 hand feed", "ci_high"] < 0 < 0.2 < large.loc["full access", "ci_low"]
assert 5.5 < a_day.loc["2 hand feeds", "meals"] < 6.5
assert share > 0.9
assert (
    a_day.loc["2 hand feeds", "eaten_kg"]
    < a_day.loc["2 hand feeds", "appetite_kg"]
    < a_day.loc["2 hand feeds", "offered_kg"]
)

# %% [markdown]
# ## 3. When the number of feeds does matter
#
# In the right-hand picture a third feed adds half a kilogram. Not because sows like three meals: a
# trough of 3.2 kg cannot take half of a day's feed, and what does not fit is not delivered.

# %%
undelivered = difference("feed_undelivered_kg_per_litter")
undelivered_kg = (undelivered["mean_reference"] + undelivered["difference"]).unstack("trough")
undelivered_kg.loc["2 hand feeds"] = undelivered["mean_reference"].groupby("trough").first()
undelivered_kg.sort_index().round(1)

# %%
small = intake.loc["trough of 3.2 kg"]
assert small.loc["3 hand feeds", "ci_low"] > 0.3
assert undelivered_kg["trough of 3.2 kg"].loc[["1 hand feed", "2 hand feeds", "3 hand feeds"]].is_monotonic_decreasing
assert (
    undelivered_kg.loc["2 hand feeds", "trough of 3.2 kg"]
    > 20
    > 1
    > undelivered_kg.loc["2 hand feeds", "trough of 8 kg"]
)
assert undelivered_kg.loc["1 hand feed", "trough of 8 kg"] > 5

# %% [markdown]
# Nor does a trough of 8 kg hold the feed of a whole day, which is why one feed a day was worse.
# That is equipment, not biology: a farm with small troughs and a farm with large ones can both be
# right about the number of feeds. (One feed a day in a small trough starves sows; it is here for
# comparison only.)
#
# ## 4. A feed that nobody gives
#
# Now the well-spread feeds of question 4.

# %%
spread = room.case("January").override({"feeding": {"kind": "hand", "times": ["06:00", "10:00", "13:00", "22:00"]}})
result = farrowtide.run(spread, replications=20, record=["sow_days", "tasks"])
eaten_kg = result.sow_days.query("1 <= day <= 20")["eaten_kg"].mean()
print(f"fed at 06, 10, 13 and 22 h: {eaten_kg:.2f} kg/d; fed twice: {a_day.loc['2 hand feeds', 'eaten_kg']:.2f} kg/d\n")
missed = [str(warning) for warning in result.warnings if "nobody is on duty" in str(warning)]
print("\n".join(missed))

# %%
assert eaten_kg < a_day.loc["2 hand feeds", "eaten_kg"] - 0.3
assert any("at 22:00" in text and "never done" in text for text in missed)

# %% [markdown]
# Nobody is there at 22:00. A quarter of the allowance never reaches the trough, and the comparison
# would have said that four feeds are worse than two. Read warnings before results. `farrowtide
# check FILE` prints them before anything is run.
#
# ## 5. What it costs

# %%
labour = difference("labour_min_per_litter")
labour.loc["trough of 8 kg", ["mean_reference", "difference", "ci_low", "ci_high", "verdict"]].round(1)

# %% [markdown]
# What a fourth feed displaces where people are short is [another lesson](fourth_feed.py).
#
# ## 6. Think about it
#
# 1. A trial compares two feeds with four and finds 0.5 kg/d more. What would you ask about its
#    troughs, its portions, and the hours of its staff?
# 2. Run section 2 in July (`room.case("July")`). Why does full access gain less when it is hot?
# 3. “Too small to matter” and “no difference”: which of the two did the third feed show in January,
#    and what is the limit between them? (`farrowtide explain feed_intake_kg_per_day`)

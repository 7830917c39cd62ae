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
# # One litter's story
#
# Why did these piglets die? You will guess which die, and why, from weight at birth and colostrum,
# read what the simulation recorded, and see the same sow and her litter under another policy.
#
# It takes a quarter of an hour to read and some seconds to run. These are results of a model, not
# advice for a herd: obstetrics, treatments and moves of piglets are for the herd veterinarian and
# local rules to decide.

# %%
import warnings

import farrowtide

warnings.simplefilter("ignore", farrowtide.PlausibilityWarning)  # see .warnings of a result
scenario = farrowtide.load(farrowtide.example("staffing/fourth_feed_when_short.yaml"))
room = scenario.case("1 person")
story = farrowtide.story(room, find="weak-deaths", alternative="3 hand feeds", against="4 hand feeds", replications=4)
born = farrowtide.run(room.alternative("3 hand feeds"), replications=4, record=["piglets"]).piglets
litter = born.query(f"replicate == {story.replicate} and sow == {story.sow}").set_index("birth_order")
print(story.heading)
litter[["birth_weight_kg", "colostrum_g", "attended"]].round(2)

# %% [markdown]
# ## 1. Predict
#
# These are the piglets of one sow; those without colostrum were stillborn. The litter was picked
# because many of its piglets starved or were too weak to live. Write down which of them died, when
# (in the first day, the first week or later), of what, and what made it more likely: weight,
# colostrum, the room, a long farrowing, people who were elsewhere.
#
# ## 2. What the simulation recorded

# %%
story.deaths[["sow", "birth_order", "cause", "age_h", "weight_kg", "birth_weight_ratio", "colostrum_ratio"]].round(2)

# %% [markdown]
# Where `sow` is another one, the piglet had been moved to her from that sow. A ratio says how many
# times higher the hazard of death was than it would have been if that one thing had been normal;
# several multiply, and hunger is added. A ratio near 1 means that it did not matter. A hazard is a
# chance: with the same numbers another piglet lives.
#
# ## 3. The whole stay, beside the other policy
#
# Lines that differ are marked. Late work says what the people were doing.

# %%
print(story.text())

# %% [markdown]
# ## 4. What one litter cannot tell
#
# The same animals differ under another policy by what follows from it, and by chance that falls
# otherwise from there on. Which policy is better is answered by many rooms.

# %%
outputs = ["preweaning_mortality_percent", "labour_min_per_litter"]
compared = farrowtide.compare(room, replications=20, outputs=outputs)
differences = compared.differences.set_index("output")[["alternative", "difference", "ci_low", "ci_high", "verdict"]]
differences.round(2)

# %%
assert differences.loc["preweaning_mortality_percent", "verdict"] == "too small to matter"
assert differences.loc["labour_min_per_litter", "ci_low"] > 0
weaned = next(number for number in story.numbers() if number.label == "Weaned")
assert len(story.deaths) > 10 > int(weaned.other), "a litter that lost many"
assert int(weaned.other) < int(weaned.own), "and more of them under four feeds"

# %% [markdown]
# This litter lost many piglets, and more of them under four feeds. In 20 rooms of 60 sows the
# fourth feed changes deaths by too little to matter. Whoever tells the story of a single litter can
# prove anything with it.
#
# ## 5. Think about it
#
# 1. The litter was found by looking for the one with most weak deaths (`find="weak-deaths"`). How
#    does that choice bias what you learn from it?
# 2. Which of the causes above could people in the room have changed in time, and which only the
#    choice of the sow or her feed months before?
# 3. Look for the litter with `find="crushed"` and predict again. Which ratio surprised you?

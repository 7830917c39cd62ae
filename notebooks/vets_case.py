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
# # A veterinarian's case: one bad litter
#
# One litter in a room of twelve lost nearly all of its piglets. The farm blames the night, when
# nobody is there. You read what happened to this litter hour by hour, see the same sow and her
# litter under another policy, and ask how far moving piglets would have helped.
#
# It takes half an hour to read and some seconds to run. The farm is invented. These are results of
# a model, not advice for a herd, and no diagnosis: examination, obstetrics, medicines, euthanasia,
# nurse sows and moves of piglets are for the herd veterinarian, local rules and licensed practice.
# Here you learn to read a model's record of a litter, not to treat one.

# %%
import farrowtide

scenario = farrowtide.load(farrowtide.example("fostering/how_far.yaml")).override(
    {"room.crates": 12, "herd.total_born_mean": 17}
)
story = farrowtide.story(
    scenario,
    find="worst-litter",
    alternative="nobody moved",
    against="fill teats, at most 15 % moved",
    replications=6,
    seed=4,
)
print(story.heading, story.about, sep="\n")

# %% [markdown]
# ## 1. Predict from what is known at birth
#
# Her litter: weight at birth, and colostrum in the first day. **Write down** which piglets you
# expect to be dead by weaning, and of what: crushed, starved or weak, scours, other. Was it the
# night?

# %%
room = farrowtide.run(
    scenario.alternative("nobody moved"), replications=6, seed=4, record=["sows", "piglets", "sow_days"]
)
hers = f"replicate == {story.replicate} and sow == {story.sow}"
sow = room.sows.query(hers).iloc[0]
print(f"parity {sow.parity}, {sow.total_born} born, {sow.stillborn} stillborn, {sow.functional_teats} functional teats")
litter = room.piglets.query(hers).set_index("birth_order")
litter[["birth_weight_kg", "colostrum_g", "attended"]].round(2)

# %% [markdown]
# ## 2. What happened

# %%
dead = litter.dropna(subset="age_at_death_d")
dead[["birth_weight_kg", "colostrum_g", "cause", "age_at_death_d"]].round(2)

# %%


def out_of_hours(piglets):
    return (piglets["birth_time_h"] % 24 < 7) | (piglets["birth_time_h"] % 24 >= 16)


by_night, usual = out_of_hours(litter), out_of_hours(room.piglets).mean()
print(
    f"{len(dead)} of {sow.born_alive} born alive died; {by_night.sum()} of {len(litter)} births were out of working hours"
)
print(f"of all births in the six rooms {usual:.0%} were")
alive = room.piglets[room.piglets["fate"] != "stillborn"]
died_percent = 100 * alive["age_at_death_d"].notna().groupby(alive["attended"]).mean()
print(f"died: {died_percent[True]:.0f} % of the attended, {died_percent[False]:.0f} % of the others")
assert 0.5 < usual < 0.7, "15 hours of 24 are 62 %"
assert not by_night.any(), "not the night"
assert died_percent[True] > died_percent[False], "nor nobody at birth"
assert len(dead) == sow.died_before_weaning
assert len(dead) == room.sows.query(f"replicate == {story.replicate}")["died_before_weaning"].max()

# %% [markdown]
# Nobody is there in 15 of 24 hours, so more than half of all births fall there anyway. Many births
# at night in a bad litter would prove nothing; here there is none. Nor do deaths follow `attended`:
# staff are called to long farrowings, whose piglets are at greater risk to begin with.
#
# What raised the hazard of each death, as a factor on what it would have been if that one thing had
# been normal. A factor near 1 did not matter. A litter that is frail in the model (`litter_ratio`)
# loses more than others for reasons that the model does not know. The record holds what a necropsy
# never shows; on a farm you would examine the sow and the dead piglets instead.

# %%
ratios = [name for name in story.deaths.columns if name.endswith("_ratio")]
factors = story.deaths.set_index("birth_order")[["cause", "age_h", *ratios]].round(2)
factors[["cause", "age_h", *(name for name in ratios if factors[name].max() >= 1.1)]]

# %% [markdown]
# ## 3. Hour by hour, beside the other policy
#
# Lines that differ are marked.

# %%
print(story.text())

# %% [markdown]
# **Which of your guesses held?** Would you have asked for the sow's temperature, her feed, her
# water? Look for them above.
#
# ## 4. How far would moving have helped?
#
# One litter is one draw of chance, and the policy beside it another. **Predict** for many rooms
# like this one: how many percentage points of mortality does filling teats save, and does it matter
# whether 5 %, 15 % or all piglets may be moved?

# %%
limits = {"nobody moved": 0, "at most 5 %": 0.05, "at most 15 %": 0.15, "no limit": 1}
alternatives = {name: {"fostering": {"kind": "fill_teats", "max_moved": most}} for name, most in limits.items()}
outputs = ["preweaning_mortality_percent", "litter_integrity_percent"]
compared = farrowtide.compare(
    scenario, alternatives, reference="nobody moved", replications=80, seed=4, outputs=outputs
)
compared.differences[["output", "alternative", "mean_reference", "difference", "ci_low", "ci_high", "verdict"]].round(2)

# %%
mortality = compared.differences.query("output == 'preweaning_mortality_percent'").set_index("alternative")
assert mortality.loc["no limit", "difference"] < 0, "with more piglets than teats, filling free teats saves some"
assert mortality.loc["no limit", "difference"] > -len(dead) / sow.born_alive * 100, "but never as many as died here"

# %% [markdown]
# Compare the size of that with the deaths of this litter. A policy changes means; a bad litter is
# mostly something else. Moves spread disease and cost growth, which the model holds in part by
# assumption.
#
# ## 5. A page for the farm
#
# Take it as a ground for questions, not as an answer: which of these causes does the farm see? Then
# go and look, with the herd veterinarian.

# %%
print(story.write("results/bad_litter.html"))

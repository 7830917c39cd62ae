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
# # Fostering limits
#
# Some sows have more piglets than teats, others fewer. How many piglets should be moved at most,
# and until what age?
#
# It takes a quarter of an hour to read and some seconds to run. These are results of a model, not
# advice for a herd. Moves spread disease and cost growth; whether and until when piglets are moved,
# nurse sows, early weaning and the treatment of sick litters are for the herd veterinarian and
# local rules to decide.
#
# ## 1. Predict
#
# A room of 24 crates is run with litters of 13 and of 19 piglets born, on average. Nobody is moved,
# or at most 5 %, 15 % or any number of the piglets up to an age of 24 h, or 15 % of them up to 7
# days. Twice a day free teats are filled and litter sizes evened out; a piglet is moved at most
# once, 12 h after birth at the earliest, and never out of a scouring litter or to a sow that
# farrowed more than 7 days ago. Write down your answers before you run anything.
#
# 1. What gains more: the first 5 % moved, or all that follow?
# 2. Does a window of 7 days save more piglets than one of 24 hours?
# 3. With small litters, is fostering worth more or less than with large ones?
# 4. In the records of a farm, piglets that were moved die less than those that stayed. What does
#    that prove?
#
# ## 2. Share, window and litter size

# %%
import warnings

import matplotlib.pyplot as plt
import pandas as pd

import farrowtide

warnings.simplefilter("ignore", farrowtide.PlausibilityWarning)  # see .warnings of a result
scenario = farrowtide.load(farrowtide.example("fostering/share_window_and_litter_size.yaml"))
limits = {
    "nobody": {"fostering": {"kind": "none"}},
    "5 %": {"fostering.max_moved": 0.05, "fostering.window.until": "24 h"},
    "15 %": {"fostering.max_moved": 0.15, "fostering.window.until": "24 h"},
    "no limit": {"fostering.max_moved": 1, "fostering.window.until": "24 h"},
    "15 %, 7 d": {"fostering.max_moved": 0.15, "fostering.window.until": "7 d"},
}
OUTPUTS = {
    "preweaning_mortality_percent": "deaths before weaning, percentage points",
    "litter_gain_kg_per_day": "litter gain, kg/d",
    "litter_integrity_percent": "piglets with their dam, percentage points",
}
compared = {
    born: farrowtide.compare(
        scenario.override({"herd.total_born_mean": born}),
        limits,
        reference="nobody",
        replications=40,
        outputs=list(OUTPUTS),
    )
    for born in (13, 19)
}
found = pd.concat({born: study.differences for born, study in compared.items()}, names=["born"]).droplevel(1)
found = found.set_index(["output", "alternative"], append=True)
found[["mean_reference", "difference", "ci_low", "ci_high", "verdict"]].xs(
    "preweaning_mortality_percent", level="output"
).round(2)

# %% [markdown]
# Each point is the difference from the same rooms without fostering; bars are 95 % confidence
# intervals, which cover sampling variation only.

# %%
figure, axes = plt.subplots(1, 3, figsize=(10, 3.2), layout="constrained")
for axis, (output, label) in zip(axes, OUTPUTS.items(), strict=True):
    for born, colour, marker, shift in ((13, "#0072B2", "o", -0.1), (19, "#D55E00", "s", 0.1)):
        points = found.loc[born].loc[output]
        place = [number + shift for number in range(len(points))]
        ends = [points["difference"] - points["ci_low"], points["ci_high"] - points["difference"]]
        style = {"fmt": marker, "color": colour, "capsize": 3, "label": f"{born} born a litter"}
        axis.errorbar(place, points["difference"], yerr=ends, **style)
    axis.axhline(0, color="0.6", linewidth=0.8)
    axis.set_xticks(range(len(points)), points.index)
    axis.set_title(label, fontsize="medium")
figure.supxlabel("limit on piglets moved (until 24 h where nothing else is said)", fontsize="medium")
figure.legend(*axes[0].get_legend_handles_labels(), loc="outside upper center", ncols=2)
plt.show()

# %% [markdown]
# - **Share.** With large litters the first 5 % gain most: that is more piglets than there are free
#   teats. What follows evens out litters, and beyond 15 % the plan finds hardly anything more to
#   move.
# - **Window.** Seven days show no gain in deaths over 24 hours; taken room by room, the difference
#   rules out a gain of a quarter of a percentage point. They separate more piglets from their dams
#   and gain a little growth.
# - **Litter size.** With small litters deaths do not change by an amount that matters. With large
#   ones there are more piglets than teats in the whole room, and fostering cannot make teats; it
#   can only use all of them.

# %%
deaths = found["difference"].xs("preweaning_mortality_percent", level="output").unstack("born")
kept = found["difference"].xs("litter_integrity_percent", level="output").unstack("born")
assert 2 * deaths.loc["5 %", 19] < deaths.loc["no limit", 19] < 0, "the first 5 % give more than half"
assert abs(deaths.loc["no limit", 19] - deaths.loc["15 %", 19]) < 0.1
for study in compared.values():
    by_room = study.replicates.pivot(index="replicate", columns="alternative", values="preweaning_mortality_percent")
    longer = by_room["15 %, 7 d"] - by_room["15 %"]
    assert longer.mean() - 2 * longer.sem() > -0.25, "seven days save more"
grown = found["difference"].xs("litter_gain_kg_per_day", level="output").unstack("born")
assert (grown.loc["15 %, 7 d"] > grown.loc["15 %"]).all()
assert (kept.loc["15 %, 7 d"] < kept.loc["15 %"] - 1).all(), "and separate more"
small, large = (found.loc[born].loc["preweaning_mortality_percent"] for born in (13, 19))
assert (small["verdict"] == "too small to matter").all()
assert (large.loc[["5 %", "15 %"], "ci_high"] < 0).all()

sows = farrowtide.run(
    scenario.override({"herd.total_born_mean": 19} | limits["nobody"]), replications=40, record=["sows"]
).sows
free_teats = (sows["functional_teats"] - sows["born_alive"]).clip(lower=0).groupby(sows["replicate"]).sum().mean()
in_5_percent = 0.05 * sows.groupby("replicate")["born_alive"].sum().mean()
print(f"19 born: {free_teats:.0f} free teats in a room before any move; 5 % are {in_5_percent:.0f} piglets")
assert free_teats < in_5_percent

# %% [markdown]
# ## 3. Is the limit kept?
#
# With a limit of 15 %, no plan may move more than 15 of 100 piglets born alive, whatever the
# window. Piglets of a sow that dies are moved in any case, so the check uses rooms in which no sow
# falls ill or dies. The largest share in any room:

# %%
healthy = scenario.override({"herd.health": "off"})
checked = {
    limit: farrowtide.run(healthy.override(limits[limit]), replications=20, record=["sows", "piglets"])
    for limit in ("15 %", "15 %, 7 d")
}
most_percent = {limit: rooms.outputs["piglets_moved_percent"].max() for limit, rooms in checked.items()}
print("; ".join(f"limit {limit}: {share:.1f} % moved" for limit, share in most_percent.items()))
assert all(10 < share <= 15 for share in most_percent.values()), "kept, and nearly used up"

# %% [markdown]
# ## 4. The trap in the records
#
# Here are the piglets of these rooms (until 24 h), as the records of a farm would show them.

# %%
piglets = checked["15 %"].piglets
alive = piglets[piglets["fate"] != "stillborn"]
group = (alive["moves"] > 0).map({True: "moved", False: "stayed"}).rename("piglets that were")
died = alive["age_at_death_d"].notna()
after_24_h = ~(alive["age_at_death_d"] < 1)
records = pd.DataFrame(
    {
        "died, % of those born alive": 100 * died.groupby(group).mean(),
        "died, % of those alive at 24 h": 100 * died[after_24_h].groupby(group).mean(),
        "birth weight, kg": alive["birth_weight_kg"].groupby(group).mean(),
    }
)
records.round(2)

# %%
all_alive, survivors, birth_weight_kg = (records.loc["stayed"] - records.loc["moved"]).tolist()
assert all_alive > 2
assert survivors < 0.5 * all_alive, "most of the gap is gone"
assert birth_weight_kg < 0, "larger piglets were moved"

# %% [markdown]
# Moved piglets die less, and yet being moved makes no piglet stronger in the model. Who is moved
# has survived the first hours, in which many die, and people choose the larger ones. Counted from
# 24 h on, most of the gap is gone. Records compare *different piglets*; section 2 compared the
# *same* rooms with and without moves.
#
# ## 5. What this rests on
#
# The cost of a move (lost growth by age at the move, disease transferred, resident piglets
# disturbed) is partly published and partly assumed; see "Colostrum, survival, moving, scours" on
# the page *The model* of the documentation. Trials of growth and disease support the *direction* of
# the effect of late moves; where the curves flatten depends on assumptions. Keeping 85 % of piglets
# with their dam is common practice, no source. Read differences, not levels.
#
# More shares, windows and sizes at once are drawn by `farrowtide sweep`: give `--vary` once for
# each of the keys `fostering.max_moved`, `fostering.window.until` and `herd.total_born_mean`, with
# its values.
#
# ## 6. Think about it
#
# 1. These herds have few scours. What may change where piglets scour? (Load
#    `farrowtide.example("fostering/in_a_herd_with_scours.yaml")` and compare.)
# 2. With 19 piglets born, nearly one in five dies under any of these limits. Which choices before
#    farrowing would do more than the best fostering?
# 3. How would you set up a trial on a farm, so that the trap of section 4 is avoided?

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
# # Heat week
#
# A week of hot weather comes over a room of nursing sows. What becomes of their appetite, and which
# help reaches them?
#
# It takes a quarter of an hour to read and some seconds to run. These are results of a model, not
# advice for a herd. Sows die of heat, above all around farrowing, and well before a model says so.
# In a real heat wave cool the animals first, and ask the herd veterinarian. Drip cooling wets and
# chills newborn piglets that lie within its reach; a cooler room needs a warm creep; heat lamps are
# a fire and burn hazard.
#
# ## 1. Weather
#
# The outdoor hours of 40 days are made up here: a mild summer, and the same with a week that is 8
# degrees hotter, from day 12 after loading on, when litters are about a week old. Hours from a
# weather station would be read from a CSV file by `scenario.with_weather(file)`.

# %%
import warnings

import matplotlib.pyplot as plt
import numpy as np
import pandas as pd

import farrowtide

warnings.simplefilter("ignore", farrowtide.PlausibilityWarning)  # printed below where they matter
hour = np.arange(40 * 24)
afternoon = np.cos(2 * np.pi * (hour % 24 - 15) / 24)  # 1 at 15:00, -1 at 03:00


def summer(hotter_k: float, first_day: int = 12, days: int = 7) -> dict[str, list[float]]:
    hot = (hour // 24 >= first_day) & (hour // 24 < first_day + days)
    return {
        "climate.outdoor_hours": (20 + 6 * afternoon + hotter_k * hot).round(1).tolist(),
        "climate.outdoor_humidity_hours": (65 - 20 * afternoon).round().tolist(),
    }


file = farrowtide.example("heat/when_to_drop_the_room.yaml")
room = farrowtide.load(file).case("July").alternative("67 degF by day 7").override({"room.crates": 12})
mild, hot = room.override(summer(0)), room.override(summer(8))

# %% [markdown]
# ## 2. Predict
#
# The set point of the room falls from 73 °F (22.8 °C) to 67 °F (19.4 °C) by day 7 after the mean
# due date. Write down your answers before you run anything.
#
# 1. It is 28 °C outside on average, and the set point is 19.4 °C. How warm is the room?
# 2. By how much does a sow's daily intake fall? After how many hot days has it fallen as far as it
#    will, and how many days after the hot week (days 12 to 18) is it back?
# 3. Order these by what they give back of the lost feed: a set point 4 K lower; an evaporative pad
#    at the air inlet; air blown to the snout; drip cooling; feeding at 05:00 and 19:00, by people
#    who work from 05:00 to 11:00 and from 17:00 to 20:00.
#
# ## 3. The room and the sows

# %%
rooms = {
    name: farrowtide.run(weather, replications=20, seed=1, record=["rooms", "sows", "sow_days"])
    for name, weather in (("mild", mild), ("hot", hot))
}
by_day = pd.DataFrame(
    {
        (name, column): result.rooms.groupby(result.rooms["hour"] // 24)[column].mean()
        for name, result in rooms.items()
        for column in ("outdoor_deg_c", "set_point_deg_c", "temperature_deg_c")
    }
).rename_axis("day after loading")
by_day.loc[10:20].round(1)

# %% [markdown]
# A set point is a wish. Ventilation brings in outdoor air: at full speed the room comes close to
# the air outside, plus the heat of the animals, and never below it. The heater can warm the room;
# nothing here can cool it.

# %%
week = by_day.loc[12:18]
assert (week["hot"]["temperature_deg_c"] > week["hot"]["outdoor_deg_c"]).all()
assert (week["hot"]["temperature_deg_c"] - week["hot"]["set_point_deg_c"]).min() > 8


def eaten_kg(result: farrowtide.Result) -> pd.Series:
    """Of each sow by day after loading, while she nurses. Lactation day 0 is the day of her last birth."""
    sows = result.sows.set_index(["replicate", "sow"])
    farrowed_on = (sows["farrowing_start_h"] + sows["farrowing_duration_min"] / 60) // 24
    days = result.sow_days.query("1 <= day <= 20").join(farrowed_on.rename("farrowed_on"), on=["replicate", "sow"])
    days["day after loading"] = (days["day"] + days["farrowed_on"]).astype(int)
    return days.set_index(["replicate", "sow", "day after loading"])["eaten_kg"]


same_sows = pd.DataFrame({name: eaten_kg(result) for name, result in rooms.items()}).dropna()
intake_kg = same_sows.groupby("day after loading").mean().loc[8:24]  # days on which most sows nurse
figure, axes = plt.subplots(1, 2, figsize=(9, 3.2), layout="constrained")
for name, colour, style in (("mild", "#0072B2", "-"), ("hot", "#D55E00", "--")):
    axes[0].plot(by_day.index, by_day[name]["temperature_deg_c"], colour, linestyle=style, label=f"room, {name}")
    axes[1].plot(intake_kg.index, intake_kg[name], colour, linestyle=style, label=name)
axes[0].plot(by_day.index, by_day["hot"]["set_point_deg_c"], "0.3", linestyle=":", label="set point")
axes[0].set(xlabel="day after loading", ylabel="mean of the day, °C")
axes[1].set(xlabel="day after loading", ylabel="feed eaten, kg/d", ylim=(0, None))
for axis in axes:
    axis.axvspan(12, 18, color="0.9")  # the hot week
    axis.legend(frameon=False)
plt.show()

# %%
lost_kg = intake_kg["mild"] - intake_kg["hot"]
print("Eaten less than in the mild summer, kg/d:", lost_kg.loc[10:22].round(2).to_string(), sep="\n")
assert lost_kg.loc[13:18].min() > 1.2 > 0.6 > lost_kg[12] > 0.1, "little on the first hot day, nearly all on the second"
assert 0.3 < lost_kg[19] < 0.5 * lost_kg[18], "not over when the heat is"
assert 0.05 < lost_kg.loc[20:23].mean() < 0.3, "and not quite back in the days after"

# %% [markdown]
# On the first hot day a sow eats little less, from the second on about 1.5 kg less. On the day after
# the heat more than half a kilogram is still missing, and a little for some days more: heat of the
# day before counts, and some of it is remembered longer (an assumption of the model).
#
# ## 4. What helps
#
# Every help is run in the hot summer, on the same sows.

# %%
split_shift = [
    {"from": "05:00", "until": "11:00", "people": 2, "break": 0},
    {"from": "17:00", "until": "20:00", "people": 2, "break": 0},
]
cool_hours = ["05:00", "19:00"]
helps = {
    "nothing": {},
    "set point 4 K lower": {"temperature.farrowing": "18.8 degC", "temperature.later": "15.4 degC"},
    "fed at 05:00 and 19:00": {
        "feeding.times": cool_hours,
        "feeding.pre_farrow.times": cool_hours,
        "staff.shifts": split_shift,
    },
    "pad at the inlet": {"room.inlet": "evaporative_pad"},
    "drip": {"room.sow_cooling": "drip"},
    "air to the snout": {"room.sow_cooling": "snout_air"},
}
OUTPUTS = ["feed_intake_kg_per_day", "weight_loss_kg", "litter_weight_at_weaning_kg"]
helped = farrowtide.compare(hot, helps, reference="nothing", replications=40, outputs=OUTPUTS)
found = helped.differences.set_index(["output", "alternative"])
fed = found.loc["feed_intake_kg_per_day"]
fed[["mean_reference", "difference", "ci_low", "ci_high", "verdict"]].round(2)

# %%
heat = farrowtide.compare(mild, {"mild": {}, "hot": summer(8)}, reference="mild", replications=40, outputs=OUTPUTS)
lost_in_all = -heat.differences.set_index("output").loc["feed_intake_kg_per_day", "difference"]
figure, axis = plt.subplots(figsize=(7, 2.6), layout="constrained")
ends = [fed["difference"] - fed["ci_low"], fed["ci_high"] - fed["difference"]]
axis.errorbar(fed["difference"], fed.index, xerr=ends, fmt="o", color="#0072B2", capsize=3)
axis.axvline(0, color="0.3", linewidth=0.8)
axis.axvline(lost_in_all, color="#D55E00", linestyle="--", label="what the hot week took")
axis.set_xlim(-0.03, None)
axis.set_xlabel("feed eaten, kg/d more than with nothing, mean of the lactation")
axis.legend(frameon=False, loc="lower center")
plt.show()

# %% [markdown]
# How warm was it in the room, in the hot week?


# %%
def in_the_week(change: dict) -> pd.Series:
    hours = farrowtide.run(hot.override(change), replications=5, seed=1, record=["rooms"]).rooms
    return hours[(hours["hour"] // 24).between(12, 18)][["set_point_deg_c", "temperature_deg_c"]].mean()


warmth = pd.DataFrame({name: in_the_week(change) for name, change in helps.items()}).T
warmth.round(1)

# %%
warmer_k = warmth["temperature_deg_c"] - warmth.loc["nothing", "temperature_deg_c"]
assert warmer_k[["set point 4 K lower", "drip", "air to the snout"]].abs().max() < 0.3
assert warmer_k["pad at the inlet"] < -2
cooling = fed.loc[["pad at the inlet", "drip", "air to the snout"], "difference"]
assert fed.loc["set point 4 K lower", "difference"] < 0.5 * cooling.min() < 0.5 * lost_in_all
assert abs(fed.loc["fed at 05:00 and 19:00", "difference"]) < 0.05, "too small to matter"

# %% [markdown]
# - **The set point** does nothing in the hot week: ventilation was at its most already. The little
#   that it gives comes from the mild days before and after.
# - **The pad** cools the air that comes in, for sows and piglets alike. It needs dry air.
# - **Drip and air to the snout** leave the room as warm as it was, and relieve the sow. What each
#   is worth to her was derived from one trial (air) or assumed (drip), and may be half or one and a
#   half times as much; the model knows nothing of piglets that drip cooling wets.
# - **Feeding in the cool hours** shows no clear gain, and *cannot*: this model has one effective
#   temperature a day (*EffectiveTemperature* on the page *The model* of the documentation),
#   whatever the hour at which a sow eats. That is a gap of the model and no evidence against cool
#   hours. Nor is it a change of feeding times alone: with that roster nobody is on duty from 11:00
#   to 17:00. To leave sows alone through the hottest hours is a risk that this comparison does not
#   count. To know what a model leaves out is half of reading it.
#
# ## 5. The same week, earlier
#
# **Predict:** is a hot week around farrowing, when sows eat little anyway, better or worse than one
# in the second week?

# %%
OUTPUTS += ["stillborn_percent", "preweaning_mortality_percent", "sows_ill_percent"]
when = {"mild": {}, "around farrowing": summer(8, first_day=2), "second week": summer(8, first_day=12)}
timed = farrowtide.compare(mild, when, reference="mild", replications=60, outputs=OUTPUTS)
compared = timed.differences.pivot(index="output", columns="alternative", values="difference").loc[OUTPUTS]
compared.assign(unit=timed.differences.groupby("output")["unit"].first()).round(2)

# %%
assert (
    compared.loc["feed_intake_kg_per_day", "second week"]
    < compared.loc["feed_intake_kg_per_day", "around farrowing"]
    < 0
)
at_farrowing = timed.differences.query("alternative == 'around farrowing'").set_index("output")
assert (at_farrowing.loc[["stillborn_percent", "preweaning_mortality_percent"], "ci_low"] > 0).all()
assert compared.loc["preweaning_mortality_percent", "second week"] < 0.5

# %% [markdown]
# In the second week heat costs feed, at farrowing it costs lives. And the worst is not in the
# table. The model lets sows die of heat itself only in air that is hotter than this, by an
# assumption:

# %%
print(farrowtide.explain("room.overheating.death_from"))

# %% [markdown]
# So it hardly counts the sows that die around farrowing in a heat wave. Where a model is silent, it
# says nothing about safety.
#
# ## 6. Think about it
#
# 1. Set `summer(12)`. Which warning does the result carry now (`result.warnings`), and which
#    numbers would you still believe?
# 2. The pad helps less where it is humid. Change the humidity and find out from where on it is not
#    worth having.
# 3. Which of these helps would you switch on two days before the due date, and what would you ask
#    the herd veterinarian first?

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
# # Your own policy in ten lines
#
# A feeding rule of your own is a small class: when feed is given, and how much. You will write one,
# see what happens when it breaks the rules, and compare it with a built-in rule on the same
# animals.
#
# It takes half an hour to read and some seconds to run. These are results of a model, not advice
# for a herd: a change of feeding is for the herd veterinarian and local rules to decide.
#
# ## 1. The rule
#
# Little on the first day, so that sows start slowly; then a fixed step more each day, up to a
# maximum. `view` is what the person at the trough can see, and `decide` returns the kg of *one*
# feed: here half of the day's, at each of two rounds.

# %%
import farrowtide
from farrowtide.policies import Feeding, Parameter


class StepByStep(Feeding):
    "A first ration, then a step more each day, up to a maximum."

    name = "step_by_step"
    parameters = {
        "step": Parameter(0.5, unit="kg/d", low=0.1, high=2, help="More feed than on the day before."),
        "most": Parameter(8.0, unit="kg/d", low=2, high=12, help="Maximum feed per day."),
    }

    def rounds(self):
        return ["07:00", "15:00"]

    def decide(self, view):
        return min(self.most, 2.0 + self.step * max(0, view.day)) / 2


scenario = farrowtide.load(farrowtide.example("feeding/meals_a_day.yaml"), policies=[StepByStep])
january = scenario.case("January").override({"room.crates": 8})

# %% [markdown]
# ## 2. Break it
#
# A rule can be wrong in many ways, and each is told with its place. **Predict** what is said of
# each.
#
# A parameter outside its range, and one that is misspelt:

# %%
for wrong in ({"kind": "step_by_step", "step": "5 kg/d"}, {"kind": "step_by_step", "stepp": "1 kg/d"}):
    try:
        january.override({"feeding": wrong})
    except farrowtide.ScenarioError as error:
        print(error, end="\n\n")
    else:
        raise AssertionError("a wrong parameter was accepted")

# %% [markdown]
# An answer that no person could carry out, and code that fails:


# %%
class Negative(StepByStep):
    "Takes feed out of the trough."

    name = "negative"

    def decide(self, view):
        return -1.0


class Forgetful(StepByStep):
    "Looks at something that nobody can see."

    name = "forgetful"

    def decide(self, view):
        return view.weight_at_weaning_kg / 50


for broken in (Negative, Forgetful):
    own = farrowtide.load(farrowtide.example("feeding/meals_a_day.yaml"), policies=[broken]).case("January")
    try:
        farrowtide.run(own.override({"feeding": {"kind": broken.name}}))
    except farrowtide.UserError as error:
        print(error, end="\n\n")
    else:
        raise AssertionError("a broken rule was run")

# %% [markdown]
# ## 3. Compare it
#
# **Predict:** with steps of half a kg, on which day is the maximum of 8 kg reached? Do sows eat
# less than with two hand feeds as built in, and what does that cost them? What changes with steps
# of 1 kg?

# %%
choices = {
    "built in": {"feeding": {"kind": "hand", "times": ["07:00", "15:00"]}},
    "steps of 0.5 kg": {"feeding": {"kind": "step_by_step"}},
    "steps of 1 kg": {"feeding": {"kind": "step_by_step", "step": "1 kg/d"}},
}
outputs = ["feed_intake_kg_per_day", "feed_intake_d1_7_kg_per_day", "weight_loss_kg", "labour_min_per_litter"]
compared = farrowtide.compare(january, choices, reference="built in", replications=40, outputs=outputs)
compared.differences[["output", "alternative", "mean_reference", "difference", "ci_low", "ci_high", "verdict"]].round(2)

# %%
compared.plot_intake()

# %%
full_on = next(day for day in range(30) if 2.0 + 0.5 * day >= 8.0)
print(f"with steps of 0.5 kg, 8 kg are reached on day {full_on}")
first_week = compared.differences.query("output == 'feed_intake_d1_7_kg_per_day'").set_index("alternative")
assert first_week.loc["steps of 0.5 kg", "difference"] < first_week.loc["steps of 1 kg", "difference"]

# %% [markdown]
# Were you right? Each animal is the same under all three rules, so that the difference is the
# rule's.
#
# ## 4. Yours
#
# Change `decide`: more for first parities (`view.parity`), or less for a sow that left feed
# (`view.in_trough_kg`). What a rule can see:

# %%
print([name for name in dir(farrowtide.policies.FeedingView) if not name.startswith("_")])

# %% [markdown]
# Rules about fostering, care, attendance, water, temperature, loading and handling are written
# alike; the documentation has an example of each. On the command line, `--policies FILE` makes the
# rules in a file of yours known.

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
# # From a comparison to a protocol
#
# A comparison says which way of working is better in the model. Before anybody works that way, it
# has to be written down, filled in, approved and followed. You will go from the one to the other.
#
# It takes a quarter of an hour to read and some seconds to run. These are results of a model, not
# advice for a herd: nobody follows a protocol before the herd veterinarian and the manager have
# filled it in and signed it.

# %%
import warnings

from IPython.display import HTML, Markdown

import farrowtide

warnings.simplefilter("ignore", farrowtide.PlausibilityWarning)  # see .warnings of a result
scenario = farrowtide.load(farrowtide.example("feeding/meals_a_day.yaml"))
january = scenario.case("January")
compared = farrowtide.compare(january, replications=40, seed=1)
compared.verdict()

# %% [markdown]
# ## 1. Predict
#
# Which lines of the daily work change from two hand feeds to the best alternative? Which stay?
# Write down five things that this file does **not** decide and that somebody in the room must know.
#
# ## 2. The protocol of the best

# %%
best = "full access"
assert best in compared.verdict()["Best"].split(",")[0], "another is best now: write its name above"
protocol = farrowtide.protocol(january.alternative(best))
Markdown(protocol.markdown)

# %% [markdown]
# A line of dots is left for the herd veterinarian and the manager. A value with † is not in the
# file: it is a default, to be confirmed. The letter is the grade of the evidence. The keys beside a
# step are where to change it.
#
# ## 3. Change a key, and the page changes
#
# `handling.day` is the day on which litters are processed. Day 5 is an example of a changed key, not
# a recommendation: what may be done at which age, and with which pain relief, is for the herd
# veterinarian and local law to decide.

# %%
before = farrowtide.protocol(january.alternative("2 hand feeds")).markdown.splitlines()
changed = january.alternative("2 hand feeds").override({"handling.day": 5})
after = farrowtide.protocol(changed).markdown.splitlines()
changes = [line for line in after if line not in before and not line.startswith("- Made from")]
print("\n".join(changes))
assert any("Day 5 of the litter" in line for line in changes)

# %% [markdown]
# ## 4. What hangs in the room

# %%
HTML(farrowtide.sheets(january.alternative(best), days=[3], parts=("days",)).html)

# %% [markdown]
# ## 5. Think about it
#
# 1. Take the protocol of two hand feeds into a room, or imagine one. Which step could be left out
#    for a week without anybody noticing? Would the audit sheet (`parts=("audit",)`) find it? If
#    not, what would?
# 2. Which steps carry a †, and who on a farm knows their true value?
# 3. The comparison found full access better. Which line of the protocol would a manager reject
#    first, and what would the comparison say with that line changed?

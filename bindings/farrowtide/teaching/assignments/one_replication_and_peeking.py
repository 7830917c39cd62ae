"""What one room can tell, and what looking again and again does."""

from __future__ import annotations

import numpy as np
from scipy import stats

from farrowtide.results.comparison import compare
from farrowtide.scenarios.scenario import load
from farrowtide.scenarios.shipped import example
from farrowtide.teaching.question import Expected, Question

QUESTIONS = (
    Question(
        "other_sows_find_it_worse",
        "of 100 rooms with other sows, those in which full access comes out worse (more weight lost)",
        "Count the differences above zero: full access minus hand feeding, with the room before.",
    ),
    Question(
        "same_sows_find_it_worse",
        "the same of 100 rooms with the same sows",
        "Count the differences above zero, each within one room.",
    ),
    Question(
        "times_as_many_rooms",
        "how many times as many rooms it takes with other sows for the same precision",
        "A standard error is the standard deviation divided by the square root of the number of rooms.",
        within=0.6,
    ),
    Question(
        "false_alarms_percent_looking_once",
        "of 1,000 studies of nothing, the share in % with p < 0.05 after all 40 rooms",
        "Use all 40 columns of each study, and count p-values below 0.05.",
        within=0.06,
    ),
    Question(
        "false_alarms_percent_peeking",
        "the share in % with p < 0.05 at one look or more, after 5, 10, 15 and so on up to 40 rooms",
        "A study counts once, however often it was below 0.05.",
        within=0.06,
    ),
)
_LOOKS = range(5, 41, 5)  # rooms finished


def expected() -> dict[str, Expected]:
    """The answers, from 100 rooms under two policies and from differences drawn between rooms of one policy."""
    scenario = load(example("teaching/three_sows.yaml"))
    compared = compare(scenario, replications=100, seed=11, outputs=["weight_loss_kg"])
    loss_kg = compared.replicates.pivot(index="replicate", columns="alternative", values="weight_loss_kg")
    hand, full = loss_kg["2 hand feeds"].to_numpy(), loss_kg["full access"].to_numpy()
    other_sows, same_sows = full - np.roll(hand, 1), full - hand
    spreads = float(np.std(other_sows, ddof=1) / np.std(same_sows, ddof=1))
    return {
        "other_sows_find_it_worse": Expected(int((other_sows > 0).sum())),
        "same_sows_find_it_worse": Expected(int((same_sows > 0).sum())),
        "times_as_many_rooms": Expected(
            spreads**2,
            slips={"This is the ratio of standard deviations. How do rooms enter a standard error?": spreads},
        ),
        **_false_alarms(hand),
    }


def _false_alarms(loss_kg: np.ndarray) -> dict[str, Expected]:
    draw = np.random.default_rng(1)
    studies = draw.choice(loss_kg, (1000, 40)) - draw.choice(loss_kg, (1000, 40))
    alarms = np.array([stats.ttest_1samp(studies[:, :rooms], 0, axis=1).pvalue < 0.05 for rooms in _LOOKS])
    peeking = 100 * float(alarms.any(axis=0).mean())
    return {
        "false_alarms_percent_looking_once": Expected(100 * float(alarms[-1].mean())),
        "false_alarms_percent_peeking": Expected(
            peeking,
            slips={
                "These are false alarms for each look, added up: a study counts once.": 100
                * float(alarms.mean(axis=1).sum())
            },
        ),
    }

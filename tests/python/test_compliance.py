"""The share of work that is really done as written."""

import math

import farrowtide

ALWAYS_DONE = {"exam and help", "wean", "wash", "set up"}
ROOM = {"title": "a room", "room": {"crates": 24}, "staff": {"shifts": [{"people": 6}]}}


def run(compliance=None, replications=6):
    share = {} if compliance is None else {"compliance": compliance}
    room = ROOM | {"staff": ROOM["staff"] | share}
    return farrowtide.run(farrowtide.load(room), replications=replications, seed=4)


def test_all_work_is_done_where_nothing_is_said():
    assert run(1.0).outputs.equals(run().outputs)


def test_the_share_of_visits_is_what_is_written():
    """A temperature check is one visit to one sow; six people leave none undone for want of time."""
    share = 0.7
    before, after = (result.tasks[result.tasks["kind"] == "temperature check"] for result in (run(), run(share)))
    assert (before["outcome"] == "undone").mean() < 0.02
    assert len(after) > 100
    done = (after["outcome"] != "undone").mean()
    assert abs(done - share) < 4 * math.sqrt(share * (1 - share) / len(after))


def test_fewer_minutes_are_worked_and_sows_eat_less_often():
    whole, part = run().outputs.mean(), run(0.5).outputs.mean()
    assert part["labour_feed_by_hand_min_per_litter"] < 0.6 * whole["labour_feed_by_hand_min_per_litter"]
    assert part["zero_feed_days_percent"] > whole["zero_feed_days_percent"]
    assert part["feed_intake_kg_per_day"] < whole["feed_intake_kg_per_day"]


def test_work_that_cannot_be_left_out_is_done():
    tasks = run(0.0).tasks
    done = tasks[tasks["outcome"] != "undone"]
    assert set(done["kind"]) <= ALWAYS_DONE
    assert (tasks[tasks["kind"] == "wean"]["outcome"] != "undone").all()

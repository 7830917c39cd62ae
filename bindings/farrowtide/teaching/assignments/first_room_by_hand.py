"""Sums of one room of three sows, by hand."""

from __future__ import annotations

from farrowtide.results.run import run
from farrowtide.scenarios.scenario import load
from farrowtide.scenarios.shipped import example
from farrowtide.teaching.question import Expected, Question

QUESTIONS = (
    Question(
        "first_to_farrow",
        "the number of the sow that begins to farrow first",
        "Look for “begins to farrow” in the trace, and compare day and time.",
    ),
    Question(
        "farrowing_min_of_sow_2",
        "minutes from the first to the last birth of sow 2",
        "Subtract the time of her first birth from that of her last, stillborn piglets included.",
        within=2,  # the trace shows whole minutes
    ),
    Question(
        "eaten_kg_of_sow_1_on_day_5",
        "kg that sow 1 eats on her lactation day 5, from her meals in the trace",
        "Add the kg of all lines in which she eats, from one midnight to the next.",
        within=0.02,  # the trace shows hundredths
    ),
    Question(
        "left_kg_of_sow_1_after_day_5",
        "kg in the trough of sow 1 at the midnight that ends her lactation day 5",
        "What was in the trough and what came in is eaten, wasted, removed, or still there.",
        within=0.006,  # five numbers, each rounded to thousandths
    ),
    Question(
        "weaned_in_the_room",
        "piglets weaned by the three sows together",
        "Born alive minus died, for all three sows.",
    ),
)


def expected() -> dict[str, Expected]:
    """The answers, from the tables of the room."""
    room = run(load(example("teaching/three_sows.yaml")), seed=8)
    sows, days = room.sows, room.sow_days[room.sow_days["sow"] == 1].set_index("day").to_dict("index")
    duration_min = float(sows["farrowing_duration_min"].tolist()[1])
    farrowed_on = int(room.piglets.query("sow == 1")["birth_time_h"].max() // 24)
    new_kg = days[5]["offered_kg"] - sum(days[5][f"{way}_kg"] for way in ("eaten", "wasted", "removed"))
    born_and_not_dead = int((sows["total_born"] - sows["died_before_weaning"]).sum())
    return {
        "first_to_farrow": Expected(int(sows.sort_values("farrowing_start_h")["sow"].tolist()[0])),
        "farrowing_min_of_sow_2": Expected(duration_min, slips={"Minutes are asked, not hours.": duration_min / 60}),
        "eaten_kg_of_sow_1_on_day_5": Expected(
            float(days[5]["eaten_kg"]),
            slips={
                "This is another day: lactation day 0 is the day of farrowing.": float(
                    days[5 - farrowed_on]["eaten_kg"]
                )
            },
        ),
        "left_kg_of_sow_1_after_day_5": Expected(
            float(days[5]["in_trough_at_midnight_kg"]),
            slips={"What was in the trough at the midnight before is missing.": float(new_kg)},
        ),
        "weaned_in_the_room": Expected(
            int(sows["weaned"].sum()), slips={"Stillborn piglets cannot be weaned.": born_and_not_dead}
        ),
    }

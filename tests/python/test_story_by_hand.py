"""What a story is made of, from tables written down here: facts, waits, the records of a sow, and who is found."""

import math
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

import farrowtide
from farrowtide.analysis.story.beside import Pair, paired
from farrowtide.analysis.story.facts import Fact, facts, missed_feeds, waited
from farrowtide.analysis.story.finding import find
from farrowtide.analysis.story.records import SowRecords
from farrowtide.analysis.story.waiting import Moment, Occupation, Staff

HER = 4
NEVER = math.nan
VISIT = ["kind", "outcome", "asked_h", "due_h", "started_h", "done_h", "given_up_h"]
EVENT = ["time_h", "what", "amount", "detail", "piglet", "words"]


def staff(stretches=(), roster=(("at work", 7.0, 16.0, 2),)):
    return Staff(
        pd.DataFrame(list(stretches), columns=["kind", "sow", "from_h", "until_h"]),
        pd.DataFrame(list(roster), columns=["state", "from_h", "until_h", "people"]),
    )


def a_sow(visits=(), events=(), *, piglets=None, deaths=None, moves_out=(), **row):
    """Her records where two people are at work from 7 to 16 h, one of them feeding sow 9 until 10."""
    happened = pd.DataFrame([(*event, 0, "")[:6] for event in events], columns=EVENT)
    return SimpleNamespace(
        number=HER,
        sow=pd.Series(row),
        visits=pd.DataFrame(visits, columns=VISIT),
        staff=staff([("feed by hand", 9, 7.0, 10.0)]),
        happened=lambda *kinds: happened[happened["what"].isin(kinds)],
        piglets=pd.DataFrame(columns=["fate"]) if piglets is None else piglets,
        deaths=pd.DataFrame() if deaths is None else deaths,
        moves_out=pd.DataFrame(moves_out, columns=["time_h", "sow", "piglet", "detail"]),
    )


def told(records, kind):
    return [fact for fact in facts(records) if fact.kind == kind]


# --- Visits ---


@pytest.mark.parametrize(
    ("started_h", "given_up_h", "asked_h", "until"),
    [
        (9.0, NEVER, 8.0, 9.0),
        (NEVER, 12.0, 8.0, 12.0),
        (NEVER, NEVER, 8.0, 16.0),  # until the last of the staff leave
        (NEVER, NEVER, 18.0, 18.0),  # they had left
    ],
)
def test_a_visit_is_waited_for_until_it_begins_or_is_given_up(started_h, given_up_h, asked_h, until):
    visit = SimpleNamespace(started_h=started_h, given_up_h=given_up_h, asked_h=asked_h)
    assert waited(a_sow(), visit) == (asked_h, until)


def test_feeds_are_told_that_were_late_or_not_made():
    """Late by the words of the engine, late by the time, in time to the minute, not made, and not to be made."""
    feeds = a_sow(
        [
            ("feed by hand", "late", 7.0, 7.5, 8.0, 8.25, NEVER),
            ("full-access top-up", "done", 9.0, 9.5, 9.25, 9.75, NEVER),
            ("feed by hand", "done", 11.0, 11.5, 11.25, 11.5, NEVER),
            ("feed by hand", "undone", 13.0, 13.5, NEVER, NEVER, 15.0),
            ("feed by hand", "left out", 14.0, 14.5, NEVER, NEVER, NEVER),
        ]
    )
    found = told(feeds, "feed")
    assert [(fact.time_h, fact.key, fact.numbers["outcome"]) for fact in found] == [
        (8.25, ("feed", 7.0), "late"),
        (9.75, ("feed", 9.0), "late"),
        (13.0, ("feed", 13.0), "undone"),
        (14.0, ("feed", 14.0), "left out"),
    ]
    assert found[0].numbers == {
        "asked_h": 7.0, "due_h": 7.5, "outcome": "late", "fed_h": 8.25, "late_min": 75, "cleaned": False,
    }  # fmt: skip
    assert [fact.wait.minutes for fact in found[:3]] == [60, 15, 120]
    assert found[3].wait is None
    assert missed_feeds(feeds) == {"late": 2, "undone": 1, "left out": 1}


@pytest.mark.parametrize(
    ("cleaning", "outcome", "time_h"),
    [
        (("trough clean", "done", 8.5, 8.5, 9.0, 9.25, NEVER), None, None),  # done when the feed was due
        (("trough clean", "done", 8.5, 8.5, 9.0, 9.5, NEVER), "late", 9.5),
        (("trough clean", "undone", 8.5, 8.5, NEVER, NEVER, 9.5), "undone", 8.0),
        (("trough clean", "left out", 8.5, 8.5, NEVER, NEVER, NEVER), "left out", 8.0),
        (("trough clean", "done", 8.0, 8.5, 9.0, 9.5, NEVER), None, None),  # not for this feed
    ],
)
def test_a_feed_for_which_the_trough_must_be_cleaned_is_made_with_the_cleaning(cleaning, outcome, time_h):
    """The feeder came at 8.25 h and asked at 8.5 for the trough to be cleaned; it was due at 9.25."""
    found = told(a_sow([("feed by hand", "done", 8.0, 9.25, 8.25, 8.5, NEVER), cleaning]), "feed")
    assert [(fact.time_h, fact.numbers["outcome"]) for fact in found] == ([(time_h, outcome)] if outcome else [])
    for fact in found:
        assert fact.numbers["cleaned"]
        assert fact.wait is None or fact.wait.minutes == pytest.approx(15 + (30 if outcome == "late" else 60))


def test_missed_farrowing_rounds_are_one_fact():
    rounds = [
        ("farrowing round", "done", 7.0, 8.0, 7.5, 7.6, NEVER),
        ("farrowing round", "late", 8.0, 8.5, 9.0, 9.1, NEVER),
        ("farrowing round", "undone", 9.0, 9.5, NEVER, NEVER, 10.5),
        ("farrowing round", "left out", 10.0, 10.5, NEVER, NEVER, NEVER),
        ("farrowing round", "called off", 11.0, 11.5, NEVER, NEVER, NEVER),
    ]
    (fact,) = facts(a_sow(rounds))
    assert (fact.time_h, fact.kind, fact.key) == (8.0, "rounds", ("rounds",))
    assert fact.numbers == {"missed": 3, "all": 5, "until_h": 10.0, "left_out": 1}
    assert fact.wait.minutes == 60 + 90
    (not_made,) = facts(a_sow(rounds[3:]))
    assert (not_made.numbers["missed"], not_made.wait) == (1, None)
    assert facts(a_sow(rounds[:1])) == []


def test_other_visits_are_told_by_their_task():
    found = facts(
        a_sow(
            [
                ("newborn care", "late", 8.0, 9.0, 10.0, 10.5, NEVER),
                ("processing", "undone", 9.0, 12.0, NEVER, NEVER, 12.0),
                ("daily look", "left out", 10.0, 12.0, NEVER, NEVER, NEVER),
                ("daily look", "done", 11.0, 12.0, 11.5, 11.6, NEVER),
                ("exam and help", "late", 12.0, 12.1, 13.0, 13.5, NEVER),
            ]
        )
    )
    assert [(fact.time_h, fact.kind, fact.key) for fact in found] == [
        (9.0, "task", ("task", "processing", 9.0)),
        (10.0, "task", ("task", "daily look", 10.0)),
        (10.5, "task", ("task", "newborn care", 8.0)),
    ]
    assert [fact.wait and fact.wait.minutes for fact in found] == [180, None, 120]


# --- Farrowing, exams and treatments ---


def test_a_farrowing_is_told_with_her_litter():
    row = {
        "total_born": 15.0, "born_alive": 13.0, "stillborn": 2.0, "attended_births": 6.0, "births_on_duty": 9.0,
        "functional_teats": 14.0,
    }  # fmt: skip
    piglets = pd.DataFrame({"fate": "weaned", "birth_weight_kg": [1.0, 1.5, 1.7]})
    happened = [(6.0, "sow loaded", 251.5, 3.0), (30.0, "farrowing finished", 240.0, 0.0)]
    loaded, farrowed = facts(a_sow((), happened, piglets=piglets, **row))
    assert (loaded.time_h, loaded.key, loaded.numbers) == (6.0, ("loaded",), {"weight_kg": 251.5, "parity": 3})
    assert (farrowed.time_h, farrowed.kind, farrowed.key) == (30.0, "farrowed", ("farrowed",))
    assert farrowed.numbers == {
        "duration_min": 240.0, "total_born": 15, "born_alive": 13, "stillborn": 2, "attended_births": 6, "births_on_duty": 9,
        "mean_birth_weight_kg": pytest.approx(1.4), "teats": 14,
    }  # fmt: skip


@pytest.mark.parametrize(("waited_min", "explained"), [(3.75, False), (5.625, True)])
def test_an_exam_that_was_waited_for_is_explained(waited_min, explained):
    visits = [
        ("exam and help", "done", 7.0, 7.5, 7.25, 7.5, NEVER),
        ("exam and help", "done", 9.0 - waited_min / 60, 9.5, 9.0, 9.25, NEVER),
    ]
    (fact,) = facts(a_sow(visits, [(9.0, "exam made", 2.0, 1.0)]))
    assert (fact.time_h, fact.kind, fact.key) == (9.0, "exam", ("exam", 2))
    assert fact.numbers == {"exam": 2, "delivered": True, "waited_min": pytest.approx(waited_min)}
    assert (fact.wait is not None) is explained


def test_waits_of_five_minutes_are_explained():
    """In hours whose difference is 5 min exactly in binary digits: from 0 h to 5 / 60 h."""
    visit = (0.0, 1.0, 5 / 60, 0.25, NEVER)
    examined = a_sow([("exam and help", "done", *visit)], [(5 / 60, "exam made", 1.0, 0.0)])
    for fact in (*facts(examined), *facts(a_sow([("treat sow", "done", *visit)]))):
        assert fact.numbers["waited_min"] == 5
        assert fact.wait.minutes == 5


def test_an_exam_on_a_visit_for_something_else_was_not_waited_for():
    (fact,) = facts(a_sow((), [(9.0, "exam made", 1.0, 0.0)]))
    assert fact.numbers == {"exam": 1, "delivered": False}
    assert fact.wait is None


def test_treatments_are_numbered_as_they_were_asked_for():
    found = told(
        a_sow(
            [
                ("treat sow", "called off", 7.0, 8.0, NEVER, NEVER, NEVER),
                ("treat sow", "done", 8.0, 9.0, 8.0625, 8.25, NEVER),
                ("treat sow", "late", 9.0, 9.5, 10.0, 10.25, NEVER),
                ("treat sow", "undone", 11.0, 12.0, NEVER, NEVER, 13.0),
                ("treat sow", "left out", 14.0, 15.0, NEVER, NEVER, NEVER),
            ]
        ),
        "treated",
    )
    assert [(fact.time_h, fact.key, fact.numbers["outcome"], fact.numbers["asked_h"]) for fact in found] == [
        (8.25, ("treated", 1), "done", 8.0),
        (10.25, ("treated", 2), "late", 9.0),
        (11.0, ("treated", 3), "undone", 11.0),
        (14.0, ("treated", 4), "left out", 14.0),
    ]
    np.testing.assert_array_equal([fact.numbers["waited_min"] for fact in found], [3.75, 60, NEVER, NEVER])
    assert [fact.wait and fact.wait.minutes for fact in found] == [None, 60, 120, None]


# --- Piglets and events ---


def test_of_a_stillborn_piglet_that_nobody_attended_is_told_what_the_people_did():
    piglets = pd.DataFrame(
        {
            "fate": ["stillborn", "stillborn", "weaned"], "birth_order": [2, 3, 4], "birth_weight_kg": [1.25, 1.0, 1.5],
            "birth_interval_min": [40.0, 15.0, 10.0], "attended": [0, 1, 0], "birth_time_h": [9.0, 9.5, 9.75],
        }
    )  # fmt: skip
    alone, attended = facts(a_sow(piglets=piglets))
    assert (alone.time_h, alone.kind, alone.key) == (9.0, "stillborn", ("piglet", HER, 2))
    assert alone.numbers == {"piglet": 2, "birth_weight_kg": 1.25, "interval_min": 40.0, "attended": 0}
    assert alone.at == Moment(2, False, (("feed by hand", 9),))
    assert (attended.key, attended.numbers["attended"], attended.at) == (("piglet", HER, 3), 1, None)


def test_a_death_is_told_with_its_numbers_and_who_reared_the_piglet():
    deaths = pd.DataFrame(
        {
            "replicate": 0, "time_h": [50.0, 60.0], "sow": [HER, 7], "birth_order": [5, 6], "reared_by": [8, HER],
            "cause": ["crushed", "other"],
        }
    )  # fmt: skip
    away, here = facts(a_sow(deaths=deaths))
    assert (away.time_h, away.kind, away.key) == (50.0, "died", ("piglet", HER, 5))
    assert away.numbers == {
        "time_h": 50.0, "sow": HER, "birth_order": 5, "reared_by": 8, "cause": "crushed", "nursed_another": 1,
    }  # fmt: skip
    assert (here.key, here.numbers["nursed_another"]) == (("piglet", 7, 6), 0)


def test_piglets_that_are_moved_together_are_one_fact():
    """In: `amount` is the sow that they come from, and `detail` their weight."""
    moved_in = [
        (20.0, "piglet moved", 7.0, 1.0, 3),
        (20.0, "piglet moved", 7.0, 2.0, 5),
        (20.0, "piglet moved", 8.0, 1.5, 1),
        (44.0, "piglet moved", 7.0, 3.0, 6),
    ]
    moved_out = [(30.0, 9, 2, 1.25), (30.0, 9, 4, 1.75)]
    found = facts(a_sow((), moved_in, moves_out=moved_out))
    assert [(fact.time_h, fact.kind, fact.key) for fact in found] == [
        (20.0, "moved in", ("moved in", 7, 3, 5)),
        (20.0, "moved in", ("moved in", 8, 1)),
        (30.0, "moved out", ("moved out", 9, 2, 4)),
        (44.0, "moved in", ("moved in", 7, 6)),
    ]
    assert [fact.numbers for fact in found[:3]] == [
        {"piglets": (3, 5), "other": 7, "weight_kg": 1.5},
        {"piglets": (1,), "other": 8, "weight_kg": 1.5},
        {"piglets": (2, 4), "other": 9, "weight_kg": 1.5},
    ]


def test_events_are_counted_by_kind_and_told_in_order_of_time():
    happened = [
        (20.0, "recovered", 0.5, 1.5, 0, "has recovered"),
        (10.0, "fell ill", 0.0, 0.0, 0, "falls ill"),
        (30.0, "fell ill", 0.0, 0.0, 0, "falls ill again"),
        (25.0, "meal eaten", 1.0, 10.0, 0, "eats"),
        (12.0, "piglet revived", 0.0, 0.0, 7, "is revived"),
    ]
    found = facts(a_sow((), happened))
    assert [(fact.time_h, fact.kind, fact.key) for fact in found] == [
        (10.0, "fell ill", ("fell ill", 1)),
        (12.0, "piglet revived", ("piglet revived", 1)),
        (20.0, "recovered", ("recovered", 1)),
        (30.0, "fell ill", ("fell ill", 2)),
    ]
    assert found[1].numbers == {"amount": 0.0, "detail": 0.0, "piglet": 7, "words": "is revived"}
    assert found[2].numbers["amount"] == 0.5
    assert found[2].numbers["detail"] == 1.5


# --- Waiting ---


def test_waits_of_several_periods_are_summed():
    """7.5 to 8.5 h has 30 min of washing and 15 of feeding sow 3; 9 to 10 h has 15 min of feeding sow 2 and is the break of
    both people in its second half; the stretches from 8.5 and until 9 h lie beside both periods.
    """
    people = staff(
        [
            ("wash", -1, 7.0, 8.0),
            ("feed by hand", 3, 8.25, 8.75),
            ("feed by hand", 2, 8.75, 9.25),
            ("records", -1, 8.5, 9.0),
            ("daily look", 1, 9.4, 9.405),
        ],
        [("at work", 7.0, 9.5, 2), ("at work", 8.0, 9.0, 1), ("on break", 9.5, 10.0, 2), ("at work", 10.0, 16.0, 2)],
    )
    found = people.wait([(7.5, 8.5), (9.0, 10.0)])
    assert (found.minutes, found.nobody_min, found.break_min) == (120, 0, 30)
    assert found.on_duty_min == 60 * 2 + 30 * 1 + 30 * 2
    assert found.most_people == 2
    assert found.busy_min == pytest.approx(30 + 15 + 15 + 0.3)
    assert found.occupations == (
        Occupation("feed by hand", (2, 3), 30),
        Occupation("wash", (), 30),
    )  # by name where equal


def test_half_a_minute_of_work_is_named():
    people = staff([("daily look", 1, 0.0, 0.5 / 60), ("records", -1, 0.0, 0.4 / 60), ("wash", -1, 0.0, 0.75 / 60)])
    found = people.wait([(0.0, 1.0)])
    assert [occupation.kind for occupation in found.occupations] == ["wash", "daily look"]
    assert found.busy_min == pytest.approx(0.5 + 0.4 + 0.75)


@pytest.mark.parametrize(
    ("period", "nobody_min"),
    [((6.0, 8.0), 60), ((7.0, 16.0), 0), ((15.0, 18.0), 120), ((16.0, 17.0), 60), ((5.0, 7.0), 120), ((12.0, 14.0), 0)],
)
def test_nobody_is_there_before_and_after_the_shifts(period, nobody_min):
    """A short shift within a long one does not end it."""
    people = staff((), [("at work", 7.0, 13.5, 2), ("at work", 8.0, 10.0, 1), ("at work", 13.5, 16.0, 1)])
    assert people.wait([period]).nobody_min == nobody_min


def test_those_who_come_as_a_wait_ends_or_leave_as_it_begins_are_not_of_it():
    people = staff((), [("at work", 7.0, 8.0, 4), ("at work", 8.0, 9.0, 2), ("at work", 9.0, 16.0, 5)])
    assert people.wait([(8.0, 9.0)]).most_people == 2
    assert people.wait([(7.5, 8.0)]).most_people == 4
    resting = staff((), [("at work", 7.0, 8.0, 2), ("on break", 8.0, 9.0, 2)])
    assert [resting.moment(time_h).on_break for time_h in (7.5, 8.0, 8.5, 9.0)] == [False, True, True, False]


def test_a_wait_without_people_or_periods_is_empty():
    assert staff((), ()).end_h == 0
    assert staff((), [("at work", 7.0, 16.0, 1), ("at work", 9.0, 12.0, 1), ("on break", 17.0, 18.0, 1)]).end_h == 16
    nothing = staff().wait([])
    assert (nothing.minutes, nothing.most_people, nothing.on_duty_min, nothing.busy_min) == (0, 0, 0, 0)
    assert nothing.occupations == ()


def test_the_people_of_overlapping_shifts_are_together_at_a_moment():
    people = staff(
        [("wash", -1, 8.0, 9.0), ("feed by hand", 3, 8.5, 9.5)], [("at work", 7.0, 12.0, 2), ("at work", 8.0, 9.0, 1)]
    )
    assert people.moment(8.0) == Moment(3, False, (("wash", -1),))
    assert people.moment(8.75) == Moment(3, False, (("wash", -1), ("feed by hand", 3)))
    assert people.moment(9.0) == Moment(2, False, (("feed by hand", 3),))


# --- Records ---


def records(number=HER, replicate=1, **tables):
    """A result whose replicate 1 has sows 4 and 5, and whose replicate 2 has sow 4 as well."""
    keys = {"replicate": [1, 1, 2], "sow": [HER, 5, HER]}
    events = pd.DataFrame(
        [
            (1, HER, 4 * 24 + 15.0, "sow loaded", 250.0, 0),
            (1, 5, 4 * 24 + 16.0, "sow loaded", 240.0, 0),
            (1, HER, 200.0, "fell ill", 0.0, 0),
            (1, 5, 230.0, "piglet moved", float(HER), 2),
            (1, 5, 231.0, "fell ill", float(HER), 0),
            (2, 5, 230.0, "piglet moved", float(HER), 3),
        ],
        columns=["replicate", "sow", "time_h", "what", "amount", "piglet"],
    )
    result = {
        "sows": pd.DataFrame(keys | {"weaned": [11, 12, 13]}),
        "sow_days": pd.DataFrame({"replicate": 1, "sow": HER, "day": range(-5, 3)}),
        "visits": pd.DataFrame(keys | {"kind": ["wean", "wash", "wean"]}),
        "events": events,
        "trace": lambda replicate: [f"day 0 07:00  sow {HER}: words: {i}" for i in range(5)] if replicate == 1 else [],
        "piglets": pd.DataFrame(keys | {"birth_order": [1, 2, 2], "fate": "weaned"}),
        "deaths": pd.DataFrame(
            {
                "replicate": [1, 1, 1, 2],
                "sow": [HER, 5, 5, HER],
                "reared_by": [5, HER, 5, HER],
                "time_h": [1.0, 2.0, 3.0, 4.0],
            }
        ),
        "stretches": pd.DataFrame(
            {"replicate": [1, 2], "kind": "wash", "sow": -1, "from_h": [7.0, 8.0], "until_h": [9.0, 10.0]}
        ),
        "roster": pd.DataFrame(
            {"replicate": [1, 2], "state": "at work", "from_h": 7.0, "until_h": [15.0, 16.0], "people": 1}
        ),
    }
    return SowRecords(SimpleNamespace(**result | tables), replicate, number)


def test_records_are_those_of_the_sow_in_her_replicate():
    found = records()
    assert (found.sow["weaned"], records(5).sow["weaned"], records(replicate=2).sow["weaned"]) == (11, 12, 13)
    assert list(found.visits["kind"]) == ["wean"]
    assert list(found.events["words"]) == ["words: 0", "words: 2"]
    assert list(found.happened("fell ill", "recovered")["time_h"]) == [200.0]
    assert list(found.piglets["birth_order"]) == [1]
    assert list(found.deaths["time_h"]) == [1.0, 2.0]
    assert list(found.moves_out["piglet"]) == [2]
    assert found.staff.end_h == 15
    assert found.staff.moment(9.5).busy == ()
    assert list(found.days["day"]) == list(range(-5, 3))


def test_a_piglet_is_found_by_its_dam_and_birth_order():
    found = records()
    assert found.piglet(5, 2) == {"replicate": 1, "sow": 5, "birth_order": 2, "fate": "weaned"}
    assert found.piglet(HER, 2) is None  # in the other replicate only
    assert found.piglet(5, 1) is None


def test_without_a_loading_or_days_lactation_days_are_counted_from_the_start():
    """Loaded on day 4, five days before day 0, which is day 9."""
    assert records().day_0 == 9
    assert records(sow_days=pd.DataFrame(columns=["replicate", "sow", "day"])).day_0 == 0
    unloaded = records(5, sow_days=pd.DataFrame({"replicate": 1, "sow": [5], "day": [-5]}), replicate=1)
    assert unloaded.day_0 == 9
    events = unloaded.result.events.query("what != 'sow loaded'")
    never = records(events=events, trace=lambda replicate: ["a: b"] * 3)
    assert never.day_0 == 0
    assert never.lactation_day(25.0) == 1


def test_a_sow_that_is_not_there_is_an_error():
    with pytest.raises(farrowtide.UserError, match=r"sow 5 is not in replicate 2 \(sows: 4 to 4\)"):
        records(5, replicate=2)


# --- Finding ---


def of_sows(**columns):
    return SimpleNamespace(sows=pd.DataFrame({"replicate": [0, 0, 1, 1], "sow": [1, 2, 1, 2]} | columns))


@pytest.mark.parametrize(
    ("wanted", "column"),
    [
        ("worst-litter", "died_before_weaning"),
        ("long-farrowing", "farrowing_duration_min"),
        ("weight-loss", "weight_loss_kg"),
    ],
)
def test_of_sows_that_are_alike_the_first_is_found(wanted, column):
    assert find(wanted, of_sows(**{column: [1.0, 3.0, 3.0, math.nan]})) == (0, 2, 3.0)
    assert find(wanted, of_sows(**{column: [1, 2, 3, 0]})) == (1, 1, 3.0)
    assert find(wanted, of_sows(**{column: [0.5, -2.0, -3.0, 0.0]})) == (0, 1, 0.5)
    with pytest.raises(farrowtide.UserError, match="no replicate has the"):
        find(wanted, of_sows(**{column: [0.0, -1.0, math.nan, 0.0]}))


def test_deaths_are_counted_for_the_sow_that_reared_the_piglet():
    deaths = pd.DataFrame(
        {
            "replicate": [0, 0, 0, 1, 1], "sow": 1, "reared_by": [2, 2, 3, 3, 3],
            "cause": ["crushed", "starved or weak", "crushed", "crushed", "crushed"],
        }
    )  # fmt: skip
    assert find("crushed", SimpleNamespace(deaths=deaths)) == (1, 3, 2.0)
    assert find("weak-deaths", SimpleNamespace(deaths=deaths)) == (0, 2, 1.0)


def test_late_feeds_are_those_by_hand_and_by_filling_feeders():
    kinds = ["feed by hand", "full-access top-up", *["wean"] * 3, "feed by hand"]
    visits = pd.DataFrame({"replicate": 0, "sow": [1, 1, 2, 2, 2, 3], "outcome": "late", "kind": kinds})
    assert find("late-feeds", SimpleNamespace(visits=visits)) == (0, 1, 2.0)
    assert find("late-work", SimpleNamespace(visits=visits)) == (0, 2, 3.0)


def test_an_unknown_kind_of_sow_is_an_error():
    with pytest.raises(farrowtide.UserError, match=r"nothing is found by 'best' \(choose: worst-litter, "):
        find("best", of_sows())


# --- Beside each other ---


def test_facts_with_the_same_key_are_paired_in_order_of_time():
    """The own time counts; what happens again is paired by its number."""

    def fact(time_h, *key):
        return Fact(time_h, key[0], key)

    own = [fact(5.0, "loaded"), fact(8.0, "ill"), fact(20.0, "ill"), fact(9.0, "mine")]
    other = [fact(1.0, "loaded"), fact(30.0, "ill"), fact(7.0, "theirs")]
    assert paired(own, other) == [
        Pair(own[0], other[0]),
        Pair(None, other[2]),
        Pair(own[1], other[1]),
        Pair(own[3], None),
        Pair(own[2], None),
    ]

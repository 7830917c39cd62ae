"""What a replay shows of a room that is written down here: hours from the loading on, levels in troughs, illness, people."""

from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

import farrowtide
from farrowtide.analysis.replay import recording

SHOWN, OTHER = 5, 6  # replicates; the first one is shown
SOW, NURSE, LATER = 1, 2, 3  # the third one is in the next group
START_H = 48.0  # 00:00 of the day on which the first sow is loaded

EVENTS = [
    # time_h, sow, what, amount, detail, piglet
    (40.0, -1, "shift began", 1.0, 0.0, 0),
    (48.0, -1, "shift ended", 1.0, 0.0, 0),
    (63.0, SOW, "sow loaded", 250.0, 2.0, 0),
    (64.0, SOW, "feed delivered", 4.1, 0.0, 0),
    (65.0, SOW, "meal eaten", 2.0, 12.0, 0),
    (74.0, NURSE, "sow loaded", 240.0, 3.0, 0),
    (75.0, NURSE, "feed delivered", 2.0, 0.0, 0),
    (76.0, SOW, "labour began", 0.0, 0.0, 0),
    (77.0, NURSE, "meal eaten", 0.5, 4.0, 0),
    (78.0, SOW, "trough cleaned", 0.4, 0.0, 0),
    (79.0, SOW, "feed delivered", 2.0, 0.0, 0),
    (80.0, SOW, "meal eaten", 1.5, 9.0, 0),
    (82.0, SOW, "farrowing finished", 300.0, 0.0, 0),
    (90.0, NURSE, "piglet moved", 1.0, 1.4, 7),
    (98.0, SOW, "meal eaten", 0.4, 5.0, 0),
    (120.0, SOW, "feed delivered", 1.0, 0.0, 0),
    (121.0, SOW, "meal eaten", 2.0, 15.0, 0),
    (150.0, SOW, "feed delivered", 2.0, 0.0, 0),
    (151.0, SOW, "meal eaten", 1.0, 15.0, 0),
    (160.0, SOW, "litter weaned", 10.0, 0.0, 0),
    (160.0, -1, "shift began", 1.0, 0.0, 0),
    (162.0, NURSE, "sow died", 0.0, 0.0, 0),
    (163.0, -1, "shift ended", 1.0, 0.0, 0),
    (164.0, -1, "shift began", 1.0, 0.0, 0),
    (170.0, LATER, "sow loaded", 230.0, 1.0, 0),
    (171.0, LATER, "feed delivered", 1.5, 0.0, 0),
]
# replicate, group, kind, sow, animals, minutes, outcome, asked_h, started_h, done_h
TASKS = [
    (SHOWN, 1, "feed by hand", SOW, 1, 2.0, "done", 62.0, 62.5, 64.0),
    (SHOWN, 1, "wash", -1, 3, 0.0, "undone", 100.0, np.nan, np.nan),
    (SHOWN, 1, "wash", -1, 2, 90.0, "late", 150.0, 161.0, 163.0),
    (SHOWN, 2, "wash", -1, 2, 90.0, "late", 150.0, 171.0, 180.0),
    (OTHER, 1, "wash", -1, 2, 90.0, "late", 150.0, 171.0, 190.0),
]
# sow, offered_kg, eaten_kg, wasted_kg, in_trough_at_midnight_kg: sow 1 has a feeder on her third day only
DAYS = [
    (SOW, 4.1, 2.0, 0.2, 1.9),
    (SOW, 2.0004, 1.5, 0.0, 2.0),
    (SOW, 0.8, 0.4, 0.04, 0.7),
    (SOW, 1.0, 2.0, 0.0, 0.0),
    (NURSE, 2.0, 0.5, 0.1, 1.4),
    (LATER, 1.5, 0.0, 0.0, 1.5),
]


def room_of(events, sows, tasks=TASKS):
    """The tables of a run whose first replicate is SHOWN; another replicate follows."""
    names = ["time_h", "sow", "what", "amount", "detail", "piglet"]
    shown = pd.DataFrame(events, columns=names).assign(replicate=SHOWN)
    other = pd.DataFrame([(10.0, SOW, "sow loaded", 200.0, 1.0, 0)], columns=names).assign(replicate=OTHER)
    stretches = [
        (9.0, 10.0, "wash", -1), (63.0, 64.0, "feed by hand", NURSE), (63.0, 64.0, "feed by hand", SOW),
        (50.0, 52.0, "wash", -1), (50.0, 51.0, "wash", -1), (170.0, 171.0, "feed by hand", LATER),
    ]  # fmt: skip
    roster = [(54.0, 64.0, "at work", 2), (58.0, 60.0, "at work", 1), (60.0, 61.0, "on break", 1)]
    climate = [(1, 48, 20.0, 21.0, 5.0), (1, 49, 20.5, 21.5, 6.0), (2, 168, 19.0, 22.0, 7.0)]
    piglets = [
        (SOW, 1, 80.0, np.nan, np.nan, "stillborn"), (SOW, 2, 80.5, 1.5, np.nan, "died"),
        (SOW, 3, 81.0, np.nan, 3.0, "weaned"), (SOW, 4, 81.5, np.nan, np.nan, "alive"), (LATER, 1, 170.0, 1.0, np.nan, "died"),
    ]  # fmt: skip
    traces = {
        SHOWN: [
            f"day {int(at // 24)} 07:00  {f'sow {sow}' if sow > 0 else 'staff'}: {what}" for at, sow, what, *_ in events
        ]
    }

    def both(rows, columns):
        """The rows in both replicates."""
        table = pd.DataFrame(rows, columns=columns)
        return pd.concat([table.assign(replicate=SHOWN), table.assign(replicate=OTHER)], ignore_index=True)

    task_columns = [
        "replicate",
        "group",
        "kind",
        "sow",
        "animals",
        "minutes",
        "outcome",
        "asked_h",
        "started_h",
        "done_h",
    ]
    day_columns = ["sow", "offered_kg", "eaten_kg", "wasted_kg", "in_trough_at_midnight_kg"]
    return SimpleNamespace(
        first_replicate=SHOWN,
        sows=both(sows, ["sow", "group", "parity", "nurse"]),
        tasks=pd.DataFrame(tasks, columns=task_columns),
        events=pd.concat([shown, other], ignore_index=True),
        trace=traces.__getitem__,
        stretches=both(stretches, ["from_h", "until_h", "kind", "sow"]),
        roster=both(roster, ["from_h", "until_h", "state", "people"]),
        sow_days=pd.DataFrame(DAYS, columns=day_columns).assign(replicate=SHOWN),
        piglets=both(piglets, ["sow", "birth_order", "birth_time_h", "age_at_death_d", "age_at_weaning_d", "fate"]),
        rooms=both(climate, ["group", "hour", "temperature_deg_c", "set_point_deg_c", "outdoor_deg_c"]),
    )


TWO = [(NURSE, 1, 3, True), (SOW, 1, 2, False)]


@pytest.fixture(scope="module")
def shown():
    return recording(room_of([event for event in EVENTS if event[1] != LATER], TWO))


def rows(table, *columns):
    return list(table[list(columns) if columns else list(table)].itertuples(index=False, name=None))


def test_time_runs_from_the_midnight_before_loading_to_the_last_task_or_event(shown):
    """The last event of a sow is at 162 h, and the last task is done at 163 h."""
    assert (shown.start_h, shown.end_h) == (START_H, 163.0 - START_H)
    of_staff = shown.events[shown.events["sow"] < 0]
    assert rows(of_staff, "time_h", "kind") == [(0.0, "shift ended"), (112.0, "shift began"), (115.0, "shift ended")]
    assert list(of_staff["words"]) == list(of_staff["kind"])  # without the day, the time and who
    events_last = recording(room_of([event for event in EVENTS if event[1] != LATER], TWO, TASKS[:2]))
    assert events_last.end_h == 162.0 - START_H


def test_sows_are_in_order_and_a_nurse_sow_nurses_from_loading_on(shown):
    assert rows(shown.sows) == [(SOW, 2, False), (NURSE, 3, True)]
    assert rows(shown.phases, "time_h", "sow", "phase") == [
        (15.0, SOW, "before farrowing"),
        (26.0, NURSE, "nursing"),
        (28.0, SOW, "farrowing"),
        (34.0, SOW, "nursing"),
        (112.0, SOW, "weaned"),
        (114.0, NURSE, "died"),
    ]


def test_each_piglet_leaves_by_death_or_weaning_or_stays_to_the_end(shown):
    """Born at 80.5 h and dead 1.5 d later, at 116.5 h; weaned 3 d after 81 h; a stillborn one leaves when it is born."""
    assert rows(shown.piglets) == [
        (SOW, 1, 32.0, 32.0, "stillborn"),
        (SOW, 2, 32.5, 68.5, "died"),
        (SOW, 3, 33.0, 105.0, "weaned"),
        (SOW, 4, 33.5, 115.0, "alive"),
    ]
    assert rows(shown.moves) == [(42.0, SOW, 7, NURSE)]


def test_a_trough_holds_what_was_delivered_less_what_was_eaten_wasted_and_removed(shown):
    """A tenth of what she ate on the first day was wasted with it: 4.1 - 2.2 kg. Nobody fills a trough below a feeder by hand, and
    its level is not known from the midnight before on. What is delivered at midnight is of the new day; no trough holds
    less than nothing, and on a day without a record nothing is wasted.
    """
    levels = shown.troughs[shown.troughs["sow"] == SOW]
    expected = [
        (16.0, 4.1), (17.0, 1.9), (24.0, 1.9), (30.0, 1.5), (31.0, 3.5), (32.0, 2.0), (48.0, np.nan), (50.0, np.nan),
        (72.0, 0.7), (72.0, 1.7), (73.0, 0.0), (96.0, 0.0), (102.0, 2.0), (103.0, 1.0),
    ]  # fmt: skip
    np.testing.assert_allclose(levels[["time_h", "kg"]], expected, atol=1e-12)
    of_nurse = shown.troughs[shown.troughs["sow"] == NURSE]
    np.testing.assert_allclose(of_nurse[["time_h", "kg"]], [(27.0, 2.0), (29.0, 1.4), (48.0, 1.4)])
    assert list(shown.troughs["sow"]) == [SOW] * 14 + [NURSE] * 3
    assert rows(shown.meals)[:2] == [(17.0, SOW, 2.0, 12.0), (29.0, NURSE, 0.5, 4.0)]


def test_climate_people_and_work_are_on_the_same_clock(shown):
    assert rows(shown.climate) == [(0, 20.0, 21.0, 5.0), (1, 20.5, 21.5, 6.0)]
    assert rows(shown.duty) == [(6.0, 2), (10.0, 3), (12.0, 2), (16.0, 0)]
    assert rows(shown.work) == [
        (-39.0, -38.0, "wash", -1),
        (2.0, 3.0, "wash", -1),
        (2.0, 4.0, "wash", -1),
        (15.0, 16.0, "feed by hand", SOW),
        (15.0, 16.0, "feed by hand", NURSE),
    ]


def test_a_task_stands_where_it_began_and_one_that_never_did_where_it_was_requested(shown):
    columns = ["time_h", "kind", "sow", "animals", "minutes", "outcome"]
    assert rows(shown.tasks, *columns) == [
        (14.5, "feed by hand", SOW, 1, 2.0, "done"),
        (52.0, "wash", -1, 3, 0.0, "undone"),
        (113.0, "wash", -1, 2, 90.0, "late"),
    ]
    np.testing.assert_array_equal(shown.tasks["waited_min"], [30.0, np.nan, 660.0])


def test_a_group_of_several_has_its_own_sows_climate_and_work():
    """Work for no sow may be in any room of the farm and is left out; the group begins on day 7, at 168 h."""
    farm = room_of(EVENTS, [*TWO, (LATER, 2, 1, False)])
    first, second = recording(farm), recording(farm, 2)
    assert set(first.sows["number"]) == {SOW, NURSE}
    assert rows(first.work, "sow") == [(SOW,), (NURSE,)]
    assert (second.start_h, second.end_h) == (168.0, 12.0)
    assert rows(second.events, "time_h", "sow") == [(2.0, LATER), (3.0, LATER)]
    assert rows(second.climate) == [(0, 19.0, 22.0, 7.0)]
    assert rows(second.piglets) == [(LATER, 1, 2.0, 26.0, "died")]
    assert rows(second.work) == [(2.0, 3.0, "feed by hand", LATER)]
    assert rows(second.troughs) == [(3.0, LATER, 1.5), (24.0, LATER, 1.5)]
    with pytest.raises(farrowtide.UserError, match="group = 0: there are only groups 1 to 2"):
        recording(farm, 0)


@pytest.mark.parametrize(
    ("happened", "periods"),
    [
        ([(70.0, "fell ill"), (80.0, "recovered")], [(22.0, 32.0)]),
        ([(70.0, "fell ill"), (75.0, "fell ill"), (80.0, "recovered")], [(22.0, 32.0)]),
        ([(70.0, "fell ill"), (80.0, "recovered"), (90.0, "recovered")], [(22.0, 32.0)]),
        (
            [(70.0, "fell ill"), (80.0, "recovered"), (90.0, "fell ill"), (95.0, "recovered")],
            [(22.0, 32.0), (42.0, 47.0)],
        ),
        ([(70.0, "fell ill"), (80.0, "litter weaned")], [(22.0, 32.0)]),
        ([(70.0, "fell ill"), (80.0, "sow died")], [(22.0, 32.0)]),
        ([(70.0, "fell ill"), (80.0, "labour began")], [(22.0, 115.0)]),  # to the end
        ([(70.0, "recovered")], []),
    ],
)
def test_illness_lasts_to_recovery_or_until_she_leaves(happened, periods):
    events = [*EVENTS[2:4], *((time_h, SOW, what, 0.0, 0.0, 0) for time_h, what in happened)]
    found = recording(room_of(events, [(SOW, 1, 2, False)]))
    assert rows(found.ill) == [(SOW, *period) for period in periods]


def test_a_group_in_which_no_sow_was_fed_is_shown():
    """She dies before her first feed, and no day of hers is recorded."""
    room = room_of([EVENTS[2], (63.5, SOW, "sow died", 0.0, 0.0, 0)], [(SOW, 1, 2, False)])
    room.sow_days = room.sow_days[:0]
    found = recording(room)
    assert rows(found.phases, "time_h", "phase") == [(15.0, "before farrowing"), (15.5, "died")]
    assert found.troughs.empty
    assert found.meals.empty

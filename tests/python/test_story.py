"""The story of a sow: its causes against what the other tables say, the same animals beside each other, and how it is shown."""

import itertools
import json
import math
import re
import shlex
import warnings
from types import SimpleNamespace

import click.testing
import numpy as np
import pandas as pd
import pytest

import farrowtide
from farrowtide.analysis.story.facts import facts
from farrowtide.analysis.story.finding import WANTED, find
from farrowtide.analysis.story.records import RECORDED, SowRecords
from farrowtide.analysis.story.waiting import Moment, Occupation, Staff
from farrowtide.commands.main import main
from farrowtide.commands.story import FINDS
from farrowtide.engine.result import CAUSES, TABLES
from farrowtide.report.wording.story import because, cause, doing, meanwhile, text

pytestmark = pytest.mark.filterwarnings("ignore::farrowtide.PlausibilityWarning")
SAMPLE = 20
RATIOS = ("birth_weight", "colostrum", "below_mates", "temperature", "surplus", "unfed", "farrowing", "stillborn")
RATIOS += ("moves", "splay_legs", "sow", "place", "care", "parity", "litter")


def call(*arguments):
    return click.testing.CliRunner().invoke(main, [str(argument) for argument in arguments])


@pytest.fixture(scope="module")
def staffing(meals_file):
    return farrowtide.load(meals_file.parents[1] / "staffing/fourth_feed_when_short.yaml")


@pytest.fixture(scope="module")
def short_of_staff(staffing):
    """Two rooms of 60 sows with one person, and everything that a story is made of."""
    scenario = staffing.case("1 person").alternative("4 hand feeds")
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", farrowtide.PlausibilityWarning)
        return farrowtide.run(scenario, replications=2, record=RECORDED)


def of_replicate(table, replicate):
    return table[table["replicate"] == replicate]


# --- Late feeds: who was busy with what, from the tasks and the events ---


def duties(events):
    """(from, until, people) from the events, which do not know the roster."""
    periods, people, since = [], 0, 0.0
    for event in events[events["what"].isin(["shift began", "shift ended"])].itertuples():
        if people:
            periods.append((since, event.time_h, people))
        people, since = (int(event.amount) if event.what == "shift began" else 0), event.time_h
    return periods


def one_persons_work(tasks, periods, from_h, until_h):
    """Minutes by kind of task of the only person on duty: of the tasks under way, that which was begun last, because
    what is begun meanwhile has interrupted it.
    """
    tasks = tasks[(tasks["started_h"] < until_h) & ~(tasks["done_h"] <= from_h)]
    times = [*tasks["started_h"], *tasks["done_h"], *(end for begin, until, _ in periods for end in (begin, until))]
    edges = sorted({from_h, until_h, *(time for time in times if from_h < time < until_h)})
    minutes = {}
    for begin, end in itertools.pairwise(edges):
        now = (begin + end) / 2
        under_way = tasks[(tasks["started_h"] <= now) & ~(tasks["done_h"] <= now)]
        if len(under_way) and any(since <= now < until for since, until, _ in periods):
            kind = under_way.loc[under_way["started_h"].idxmax(), "kind"]
            minutes[kind] = minutes.get(kind, 0) + 60 * (end - begin)
    return minutes


def late_feeds(result):
    visits = result.visits
    late = visits[(visits["kind"] == "feed by hand") & (visits["outcome"] == "late")]
    assert len(late) > 200
    return late.sample(SAMPLE, random_state=7)


def test_late_feeds_name_what_the_tasks_say_the_person_did(short_of_staff):
    kinds = set()
    for feed in late_feeds(short_of_staff).itertuples():
        records = SowRecords(short_of_staff, feed.replicate, feed.sow)
        (fact,) = [one for one in facts(records) if one.kind == "feed" and one.numbers["asked_h"] == feed.asked_h]
        tasks = of_replicate(short_of_staff.tasks, feed.replicate)
        periods = duties(of_replicate(short_of_staff.events, feed.replicate))
        cleaned = tasks[
            (tasks["kind"] == "trough clean") & (tasks["sow"] == feed.sow) & (tasks["asked_h"] == feed.done_h)
        ]
        waits = [(feed.asked_h, feed.started_h), *zip(cleaned["asked_h"], cleaned["started_h"], strict=True)]
        expected, on_duty = {}, 0.0
        for begin, end in waits:
            for kind, minutes in one_persons_work(tasks, periods, begin, end).items():
                expected[kind] = expected.get(kind, 0) + minutes
            on_duty += sum(60 * max(0, min(end, until) - max(begin, since)) for since, until, _ in periods)
        named = {occupation.kind: occupation.minutes for occupation in fact.wait.occupations}
        overrun = fact.wait.busy_min - fact.wait.on_duty_min  # a visit is finished after the end of a shift
        assert fact.wait.on_duty_min == pytest.approx(on_duty)
        assert overrun > -1e-6  # the person is never idle while a feed waits
        assert fact.wait.nobody_min + fact.wait.break_min == pytest.approx(fact.wait.minutes - on_duty)
        for kind in {*named, *expected}:
            assert named.get(kind, 0) == pytest.approx(expected.get(kind, 0), abs=0.51 + overrun), (feed, kind)
        most = max(expected, key=expected.get)
        assert doing(most) in cause(fact)
        assert "late, at" in text(fact)
        kinds.add(most)
    assert len(kinds) > 1  # the sample has several causes


def test_an_undone_feed_is_waited_for_until_it_is_given_up(short_of_staff):
    visits = short_of_staff.visits
    undone = visits[(visits["kind"] == "feed by hand") & (visits["outcome"] == "undone")].iloc[0]
    records = SowRecords(short_of_staff, int(undone["replicate"]), int(undone["sow"]))
    (fact,) = [one for one in facts(records) if one.kind == "feed" and one.numbers["asked_h"] == undone["asked_h"]]
    assert undone["given_up_h"] % 24 == 0
    assert fact.wait.minutes == pytest.approx(60 * (undone["given_up_h"] - undone["asked_h"]))
    assert fact.wait.nobody_min == pytest.approx(8 * 60)  # the shift ends at 16:00
    assert text(fact).startswith("is not fed")


# --- Deaths: what the piglets and the climate say ---


def test_deaths_name_what_the_other_tables_say(short_of_staff):
    piglets, rooms = short_of_staff.piglets, short_of_staff.rooms
    dead = piglets[piglets["fate"] == "died"].sample(SAMPLE, random_state=3)
    assert dead["cause"].nunique() > 1
    for piglet in dead.itertuples():
        records = SowRecords(short_of_staff, piglet.replicate, piglet.sow)
        key = ("piglet", piglet.sow, piglet.birth_order)
        (fact,) = [one for one in facts(records) if one.kind == "died" and one.key == key]
        known = fact.numbers
        died_h = piglet.birth_time_h + 24 * piglet.age_at_death_d
        day = of_replicate(rooms, piglet.replicate).set_index("hour").loc[lambda t, h=died_h: t.index // 24 == h // 24]
        assert fact.time_h == pytest.approx(died_h)
        assert known["cause"] == piglet.cause
        assert known["age_h"] == pytest.approx(24 * piglet.age_at_death_d)
        assert known["birth_weight_kg"] == piglet.birth_weight_kg
        assert known["reared_by"] == piglet.reared_by
        assert known["moves"] == piglet.moves
        assert known["room_deg_c"] == pytest.approx(day["temperature_deg_c"].mean())
        assert known["scouring"] <= piglet.scoured
        if known["age_h"] > 48:
            assert known["colostrum_g"] == pytest.approx(piglet.colostrum_g)
        assert f", {'of another cause' if piglet.cause == 'other' else piglet.cause}: " in text(fact)
        assert f"room {known['room_deg_c']:.1f} degC" in text(fact)
        if known["birth_weight_ratio"] > 1.5:
            assert f"light at birth ({piglet.birth_weight_kg:.2f} kg)" in cause(fact)
    assert len(short_of_staff.deaths) == (piglets["fate"] == "died").sum()


def test_the_drivers_of_a_death_make_up_its_hazard(short_of_staff):
    """Taken out of the hazard that killed them, they leave the same for littermates of one sex and stage: what is not
    named of the gestation, the herd and the sex. Starved piglets are left out, whose hunger is added and not multiplied.
    """
    deaths = short_of_staff.deaths.merge(
        short_of_staff.piglets[["replicate", "sow", "birth_order", "male"]], on=["replicate", "sow", "birth_order"]
    )
    deaths = deaths[(deaths["age_h"] < 48) & (deaths["cause"].isin(["crushed", "other"])) & (deaths["pen"] == 0)]
    ratios = deaths[[f"{name}_ratio" for name in RATIOS]]
    assert (ratios.drop(columns=["care_ratio", "parity_ratio", "birth_weight_ratio"]) > 0.05).all().all()
    logs = np.log(ratios).sum(axis=1)
    left = np.log(deaths["hazard_per_day"] / deaths["base_hazard_per_day"]) - logs
    spread = left.groupby([deaths["replicate"], deaths["sow"], deaths["male"], deaths["reared_by"]]).agg(
        ["size", np.ptp]
    )
    several = spread[spread["size"] > 1]
    assert len(several) > 5
    assert several["ptp"].max() < 1e-9


def test_an_orphan_has_no_hazard():
    death = {"orphaned": 1, "cause": "starved or weak", "scouring": 0, "cared_for": 1, "age_h": 100.0}
    death |= {f"{name}_ratio": math.nan for name in RATIOS}
    from farrowtide.analysis.story.facts import Fact

    assert cause(Fact(1.0, "died", ("piglet", 1, 1), death)) == ""


# --- Waiting, by hand ---


def frames(stretches, roster):
    return (
        pd.DataFrame(stretches, columns=["kind", "sow", "from_h", "until_h"]),
        pd.DataFrame(roster, columns=["state", "from_h", "until_h", "people"]),
    )


def test_a_wait_adds_up_by_hand():
    """Two people from 7 to 12 and from 13 to 16 h with a break between; the wait is from 11 to 18 h."""
    stretches, roster = frames(
        [("exam and help", 4, 10.5, 11.5), ("exam and help", 11, 11.0, 11.25), ("wash", -1, 14.0, 15.0)],
        [("at work", 7.0, 12.0, 2), ("at work", 13.0, 16.0, 2), ("on break", 12.0, 13.0, 2)],
    )
    found = Staff(stretches, roster).wait([(11.0, 18.0)])
    assert (found.minutes, found.nobody_min, found.break_min) == (420, 120, 60)
    assert (found.most_people, found.on_duty_min, found.busy_min) == (2, 480, 105)
    assert found.occupations == (Occupation("wash", (), 60), Occupation("exam and help", (4, 11), 45))
    assert because(found) == (
        "because one or more of the 2 people on duty were washing the room (1 h) and assisting sows 4 and 11 (45 min); "
        "nobody was on duty for 2 h; 1 h fell into the break"
    )


def test_a_moment_has_the_people_of_that_time():
    stretches, roster = frames(
        [("feed by hand", 4, 8.0, 9.0)], [("at work", 7.0, 12.0, 2), ("on break", 12.0, 13.0, 2)]
    )
    staff = Staff(stretches, roster)
    assert staff.moment(8.5).busy == (("feed by hand", 4),)
    assert staff.moment(9.0).busy == ()
    assert staff.moment(12.5).on_break
    assert (staff.moment(7.0).people, staff.moment(7.0).on_break) == (2, False)
    assert (staff.moment(12.0).people, staff.moment(12.0).on_break) == (0, True)
    assert not staff.moment(13.0).on_break
    assert staff.moment(3.0).people == 0


def a_sow_with_visits(visits, events=()):
    """Her records where nothing else happened to her, with one person at work from 7 to 16 h."""
    nothing = pd.DataFrame(columns=["fate"])
    events = pd.DataFrame(events, columns=["time_h", "what", "amount", "detail"])
    roster = pd.DataFrame([("at work", 7.0, 16.0, 1)], columns=["state", "from_h", "until_h", "people"])
    return SimpleNamespace(
        visits=pd.DataFrame(visits), staff=Staff(frames([], [])[0], roster), happened=lambda *kinds: events[events["what"].isin(kinds)],
        piglets=nothing, deaths=nothing, moves_out=nothing,
    )  # fmt: skip


def test_a_late_task_is_late_by_the_time_from_its_deadline_to_its_end():
    """Due at 8 h and done at 14.5 h: 6.5 h, which is 390 min."""
    visit = {"kind": "newborn care", "outcome": "late", "asked_h": 7.0, "due_h": 8.0, "started_h": 14.0}
    (fact,) = facts(a_sow_with_visits([visit | {"done_h": 14.5, "given_up_h": math.nan}]))
    assert (fact.kind, fact.numbers["task"], fact.numbers["late_min"]) == ("task", "newborn care", 390)
    assert "6 h 30 min after its deadline" in text(fact)


def test_an_exam_is_waited_for_since_it_was_asked_for():
    """Asked for at 8.5 h and begun at 9; newborn care, which was begun at the same time, had waited since 7."""
    visit = {"outcome": "done", "due_h": 12.0, "started_h": 9.0, "done_h": 9.5, "given_up_h": math.nan}
    visits = [visit | {"kind": "newborn care", "asked_h": 7.0}, visit | {"kind": "exam and help", "asked_h": 8.5}]
    (fact,) = facts(a_sow_with_visits(visits, [(9.0, "exam made", 1.0, 0.0)]))
    assert (fact.kind, fact.numbers) == ("exam", {"exam": 1, "delivered": False, "waited_min": 30})


def test_lactation_days_are_counted_from_the_day_of_the_last_birth():
    """Loaded in the afternoon of day 4, which is five days before: she farrows on day 9."""
    happened = pd.DataFrame(
        {"replicate": 0, "sow": 1, "time_h": [4 * 24 + 15.0, 220.0], "what": ["sow loaded", "born"]}
    )
    result = SimpleNamespace(
        sows=pd.DataFrame({"replicate": [0], "sow": [1]}), events=happened, trace=lambda replicate: ["a: b", "c: d"],
        sow_days=pd.DataFrame({"replicate": 0, "sow": 1, "day": range(-5, 3)}),
    )  # fmt: skip
    records = SowRecords(result, 0, 1)
    assert [records.lactation_day(time_h) for time_h in (4 * 24 + 15.0, 9 * 24, 9 * 24 + 23.9, 10 * 24)] == [
        -5,
        0,
        0,
        1,
    ]


# --- What is recorded ---


def test_causes_are_recorded_only_where_they_are_asked_for(three_sows):
    plain = farrowtide.run(three_sows)
    assert set(plain.tables) == set(TABLES)
    with pytest.raises(farrowtide.UserError, match="'deaths' was not recorded"):
        _ = plain.deaths
    with_causes = farrowtide.run(three_sows, record=[*TABLES, "deaths"])
    assert set(with_causes.tables) == {*TABLES, *CAUSES}
    for name, table in plain.tables.items():
        pd.testing.assert_frame_equal(table, with_causes.tables[name])


def test_visits_add_up_to_their_tasks(short_of_staff):
    """Minutes and number of visits, per task; stretches of work add up to both."""
    keys = ["replicate", "kind", "asked_h", "due_h"]
    visits = short_of_staff.visits
    of_tasks = short_of_staff.tasks.groupby(keys, observed=True)[["minutes", "animals"]].sum()
    seen = visits[visits["outcome"] != "called off"].merge(of_tasks.reset_index()[keys], on=keys)
    of_visits = seen.groupby(keys, observed=True)["minutes"].sum().reindex(of_tasks.index, fill_value=0)
    np.testing.assert_allclose(of_visits, of_tasks["minutes"], atol=1e-6)
    worked = 60 * (short_of_staff.stretches["until_h"] - short_of_staff.stretches["from_h"]).sum()
    assert worked == pytest.approx(short_of_staff.work_hours["minutes"].sum())


# --- Beside another policy ---


@pytest.fixture(scope="module")
def told(staffing):
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", farrowtide.PlausibilityWarning)
        return farrowtide.story(
            staffing, find="worst-litter", replications=2, case="1 person", alternative="3 hand feeds",
            against="4 hand feeds",
        )  # fmt: skip


def test_the_same_animals_stand_beside_each_other(told):
    lines = told.lines()
    loaded = next(line for line in lines if line.kind == "loaded")
    assert not loaded.differs
    assert all(line.other is not None and line.differs == (line.own != line.other) for line in lines)
    assert [line.time_h for line in lines] == sorted(line.time_h for line in lines)
    assert {line.differs for line in lines} == {True, False}
    gone = [line for line in lines if line.differs and "no feeding of hers is planned" in line.other.text]
    assert gone
    assert all(line.own.text.startswith(("is fed", "is not fed")) for line in gone)
    shown = told.text()
    assert shown.count("\N{NOT EQUAL TO} ") == shown.count("4 hand feeds: ") == sum(line.differs for line in lines)
    assert len(told.table) == len(lines)


def test_what_becomes_of_a_piglet_elsewhere_is_told(short_of_staff, told):
    """A piglet that dies under one policy only."""
    for line in told.lines():
        if line.kind == "died" and not any(" dies" in side.text for side in (line.other,)):
            assert "is weaned" in line.other.text or "stillborn" in line.other.text
    records = SowRecords(short_of_staff, 0, 1)
    from farrowtide.report.wording.story import otherwise

    piglet = short_of_staff.piglets.query("replicate == 0 and fate == 'weaned'").iloc[0]
    fact = facts(records)[0].__class__(1.0, "died", ("piglet", piglet["sow"], piglet["birth_order"]))
    words = otherwise(fact, records)
    assert words.startswith(f"piglet {piglet['birth_order']} lives, and is weaned")
    assert f"{piglet['weaning_weight_kg']:.1f} kg" in words


def test_numbers_are_those_of_the_table_of_sows(told):
    rows = {number.label: number for number in told.numbers()}
    sow = told._own.sow
    assert rows["Born alive"].own == str(sow["born_alive"])
    assert float(rows["Weight loss"].own.replace("\N{MINUS SIGN}", "-")) == pytest.approx(
        sow["weight_loss_kg"], abs=0.05
    )
    late = [line for line in told.lines() if "h late, at" in line.own.text or "min late, at" in line.own.text]
    assert rows["Feeds late"].own == str(len(late))
    us = {number.label: number for number in told.numbers(units="us")}
    assert us["Weight loss"].unit == "lb"
    assert any(" degF" in line.own.text for line in told.lines(units="us"))
    assert not any(" degC" in line.own.sentence for line in told.lines(units="us"))


def test_results_tell_stories_of_their_sows(small_room, comparison):
    result = farrowtide.run(small_room.alternative("2 hand feeds"), replications=2, seed=3, record=["sows"])
    story = result.story(find="worst-litter", against="full access")
    died = result.sows.set_index(["replicate", "sow"])["died_before_weaning"]
    assert died.loc[(story.replicate, story.sow)] == died.max()
    of_comparison = comparison.story(
        story.sow, replicate=story.replicate, alternative="2 hand feeds", against="full access"
    )
    assert story._own.sow["weaned"] == of_comparison._own.sow["weaned"] or comparison.scenario.cases
    assert "differs" in story._repr_html_()
    with pytest.raises(farrowtide.UserError, match="replicate 9 is not in this run, which has 0 to 1"):
        result.story(1, replicate=9)


def test_a_row_of_each_sow_is_told(small_room):
    from farrowtide.pairing import each_sow

    pairs = each_sow(small_room, "2 hand feeds", "full access", replications=2)
    row = pairs.most("weight_loss_kg").iloc[0]
    story = pairs.story(row)
    assert (story.sow, story.replicate) == (row["sow"], row["replicate"])
    rows = {number.label: number for number in story.numbers()}
    assert float(rows["Weight loss"].own.replace("\N{MINUS SIGN}", "-")) == pytest.approx(
        row["weight_loss_kg_reference"], abs=0.05
    )


# --- Finding, and the command ---


@pytest.mark.parametrize("wanted", WANTED)
def test_each_kind_of_sow_is_found(wanted, short_of_staff):
    replicate, sow, value = find(wanted, short_of_staff)
    records = SowRecords(short_of_staff, replicate, sow)
    told = facts(records)
    if wanted in ("weak-deaths", "crushed"):
        label = {"weak-deaths": "starved or weak", "crushed": "crushed"}[wanted]
        with_her = [
            f for f in told if f.kind == "died" and f.numbers["reared_by"] == sow and f.numbers["cause"] == label
        ]
        assert len(with_her) == value
    elif wanted == "worst-litter":
        assert sum(fact.kind == "died" and fact.numbers["reared_by"] == sow for fact in told) == value
    elif wanted == "long-farrowing":
        assert [fact.numbers["duration_min"] for fact in told if fact.kind == "farrowed"] == [pytest.approx(value)]
    else:
        assert value > 0


def test_the_sow_of_late_work_is_she_who_has_most_visits_that_were_not_made_in_time():
    """Sow 2 has three such visits; sow 1 has more visits, most of them in time, and those of no sow are of the room."""
    rows = [(1, "done")] * 5 + [(1, "called off"), (1, "late")] + [(2, "late"), (2, "undone"), (2, "left out")]
    rows += [(-1, "late")] * 9
    visits = pd.DataFrame(rows, columns=["sow", "outcome"]).assign(replicate=0, kind="newborn care")
    assert find("late-work", SimpleNamespace(visits=visits)) == (0, 2, 3.0)


def test_the_command_offers_what_can_be_found():
    assert tuple(WANTED) == FINDS


def test_the_command_writes_a_page_that_can_be_reproduced(three_sows, tmp_path):
    file = three_sows.source_name
    page = tmp_path / "one.html"
    done = call("story", file, "--sow", 2, "--replicate", 1, "--out", page)
    assert done.exit_code == 0, done.output
    assert "Caution." in page.read_text(encoding="utf-8")
    assert "http" not in page.read_text(encoding="utf-8").split('<pre id="provenance"')[0].replace(
        "http://www.w3.org", ""
    )
    assert call("reproduce", page).exit_code == 0
    data = json.loads(call("story", file, "--sow", 2, "--replicate", 1, "--json").stdout)
    assert (data["sow"], data["replicate"], data["against"]) == (2, 1, None)
    assert {"time_h", "text", "cause", "differs"} <= data["lines"][0].keys()
    assert data["caution"]


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ([], "name a sow"),
        (["--sow", 1, "--find", "crushed"], "leave out --find"),
        (["--sow", 99], "sow 99 is not in replicate 0 (sows: 1 to"),
        (["--sow", 1, "--against", "no such"], "no alternative is called 'no such'"),
        (["--find", "no such"], "is not one of"),
        (["--find", "crushed", "--replicate", 1, "-n", 4], "leave out --replications"),
    ],
)
def test_mistakes_are_told(arguments, message, small_room, meals_file):
    done = call("story", meals_file, "--set", "room.crates=4", *arguments)
    assert done.exit_code != 0
    assert message in done.output
    assert "Traceback" not in done.output


def test_only_those_who_were_busy_are_said_to_have_been():
    one, both = (Moment(2, False, (("feed by hand", 4), ("exam and help", 9))[:number]) for number in (1, 2))
    assert meanwhile(one) == "at that time 1 of the 2 people on duty was feeding sow 4, the others free"
    assert meanwhile(both).startswith("at that time the 2 people on duty were ")
    assert meanwhile(Moment(1, False, ())) == "at that time the one person on duty was free"


@pytest.mark.parametrize(
    ("verb", "file", "given", "told"),
    [
        ("each-sow", "teaching/three_sows.yaml", ["--alternative", "full access"], "full access beside 2 hand feeds"),
        ("labour", "staffing/fourth_feed_when_short.yaml", ["--case", "1 person"], "3 hand feeds"),
    ],
)
def test_a_table_of_sows_ends_with_the_command_that_tells_the_story_of_one(meals_file, verb, file, given, told):
    printed = call(verb, meals_file.parents[1] / file, "-n", 2, "--seed", 5, *given, "--quiet").stdout
    (asked,) = (line for line in printed.splitlines() if line.startswith("farrowtide story "))
    named = re.search(r"What happened to sow (\d+) of replicate (\d), line by line:", printed)
    story = call(*shlex.split(asked)[1:], "--json", "--quiet")
    assert story.exit_code == 0, story.stderr
    said = json.loads(story.stdout)
    assert [said["sow"], said["replicate"]] == [int(number) for number in named.groups()]
    assert said["provenance"]["seed"] == 5
    assert " beside ".join(filter(None, [said["alternative"], said["against"]])) == told

"""The labour report: counted again by hand from the tables, and what a room short of people shows."""

import json

import click.testing
import numpy as np
import pandas as pd
import pytest
from scipy import special, stats
from test_inference import ends_by_root_finding

import farrowtide
from farrowtide import _core, labour
from farrowtide.commands.main import main
from farrowtide.report import page
from farrowtide.report.pictures.work import work_by_hour

SHORT = {
    "title": "Sixty crates, one person, four feeds",
    "room": {"crates": 60},
    "feeding": {"kind": "hand", "times": ["07:00", "09:30", "12:30", "15:00"]},
    "staff": {"shifts": [{"people": 1}]},
}


@pytest.fixture(scope="module")
def result(small_room):
    return farrowtide.run(small_room, replications=4, seed=9, first_replicate=2)


@pytest.fixture(scope="module")
def short():
    return farrowtide.run(farrowtide.load(SHORT), replications=6, seed=1)


def by_rooms(values):
    """Mean and 95 % interval, counted by root finding."""
    values = np.asarray(values, dtype=float)
    return values.mean(), *ends_by_root_finding(values, 0.95)


def share_by_rooms(values):
    """Mean and 95 % interval: the union of that by scipy's t distribution on the log odds and of `by_rooms` as far as it is in
    range; none where fewer than five rooms are apart.
    """
    values = np.asarray(values, dtype=float)
    if np.count_nonzero((values > 0) & (values < 100)) < 5:
        return values.mean(), np.nan, np.nan
    share, error = values.mean() / 100, stats.sem(values) / 100
    odds = stats.t.interval(0.95, len(values) - 1, loc=special.logit(share), scale=error / share / (1 - share))
    low, high = 100 * special.expit(odds)
    _, lower, higher = by_rooms(values)
    return values.mean(), min(low, lower) if lower > 0 else low, max(high, higher) if higher < 100 else high


@pytest.mark.parametrize("task", ["feed by hand", "newborn care"])
def test_a_task_is_what_a_hand_count_says(short, task):
    minutes, late, undone, waits, interruptions = [], [], [], [], []
    for replicate in range(6):
        rows = [row for row in short.tasks.itertuples() if row.replicate == replicate and row.kind == task]
        litters = sum(
            row.replicate == replicate and row.nurse == 0 and row.total_born > 0 for row in short.sows.itertuples()
        )
        minutes.append(sum(row.minutes for row in rows) / litters)
        late.append(100 * sum(row.outcome == "late" for row in rows) / len(rows))
        undone.append(100 * sum(row.outcome == "undone" for row in rows) / len(rows))
        waits += [60 * (row.started_h - row.asked_h) for row in rows if row.started_h == row.started_h]
        interruptions += [row.interruptions for row in rows]
    told = labour.by_task(short).set_index("task").loc[task]
    for name, rooms in (("min_per_litter", minutes), ("late_percent", late), ("undone_percent", undone)):
        mean, low, high = by_rooms(rooms) if name == "min_per_litter" else share_by_rooms(rooms)
        expected = [mean, np.maximum(0, low), high]
        np.testing.assert_allclose([told[name], told[f"{name}_low"], told[f"{name}_high"]], expected, atol=1e-12)
    np.testing.assert_allclose(told["wait_median_min"], np.median(waits))
    np.testing.assert_allclose(told["wait_p95_min"], np.quantile(waits, 0.95))
    np.testing.assert_allclose(told["interruptions_per_task"], np.mean(interruptions))


def test_minutes_by_task_hour_and_group_are_the_same_minutes(result):
    per_litter = result.outputs["labour_min_per_litter"].mean()
    np.testing.assert_allclose(labour.by_task(result)["min_per_litter"].sum(), per_litter)
    days = result.duty_hours["days"].iloc[0]
    a_day = result.tasks.groupby("replicate")["minutes"].sum().mean() / days
    np.testing.assert_allclose(labour.by_hour(result)["worked_min_per_day"].sum(), a_day)
    groups = labour.minutes_by_group(result)
    np.testing.assert_allclose(groups.sum(axis=1), labour.by_hour(result)["worked_min_per_day"])


def test_an_hour_is_worked_over_on_duty_room_by_room(short):
    hour = 13
    rooms = []
    for replicate in range(6):
        work = short.work_hours[(short.work_hours["replicate"] == replicate) & (short.work_hours["hour"] == hour)]
        duty = short.duty_hours[(short.duty_hours["replicate"] == replicate) & (short.duty_hours["hour"] == hour)]
        rooms.append(100 * work["minutes"].sum() / duty["on_duty_min"].sum())
    told = labour.by_hour(short).loc[hour]
    names = ["utilisation_percent", "utilisation_percent_low", "utilisation_percent_high"]
    np.testing.assert_allclose(told[names].astype(float), by_rooms(rooms))
    assert told["people_on_duty"] == pytest.approx(1)  # from 07 to 16 on every day


def test_nobody_is_on_duty_at_night_and_in_the_break(result):
    hours = labour.by_hour(result).set_index("hour")
    assert (hours.loc[[3, 12, 20], "people_on_duty"] == 0).all()
    assert hours.loc[[3, 12, 20], "utilisation_percent"].isna().all()


def test_every_task_is_in_one_group_and_has_words_for_its_cost():
    kinds = next(info.labels for info in _core.tables()["tasks"] if info.name == "kind")
    assert sorted(task for tasks in labour.TASK_GROUPS.values() for task in tasks) == sorted(kinds)
    costs = _core.costs_of_lateness()
    assert list(costs) == list(kinds)
    assert costs["feed by hand"] == "appetite unmet, stale feed"


def test_absent_people_are_not_on_duty(small_room):
    shifts = {"staff.shifts": [{"people": 2, "absence": 0.5}]}
    often_absent = farrowtide.run(small_room.override(shifts), replications=10, seed=2)
    planned = often_absent.scenario._core.staffed_minutes
    there = often_absent.as_rooms().staffed_min / planned
    person_days = 10 * planned / (8 * 60)  # eight hours each
    assert abs(there.mean() - 0.5) < 4 * np.sqrt(0.5 * 0.5 / person_days)  # binomial
    work = often_absent.tasks.groupby("replicate")["minutes"].sum()
    np.testing.assert_allclose(often_absent.outputs["staff_utilisation_percent"], 100 * work / planned / there)
    assert "% of rostered hours and absent for the rest" in labour.findings(often_absent)[0]


def test_a_room_short_of_people_says_what_falls_off_and_when(short, result):
    tasks = labour.by_task(short).set_index("task")
    assert tasks.loc["feed by hand", "undone_percent"] > 0.2
    hours = labour.by_hour(short)
    busy = list(hours.loc[hours["busy"], "hour"])
    assert busy
    assert busy == list(hours.loc[hours["utilisation_percent"] > 80, "hour"])  # staff.roster.busy_warning
    said = labour.findings(short)
    assert said[1].startswith(f"Busy hours: {busy[0]:02d}:00 to ")
    assert "staff.roster.busy_warning, grade C: assumption" in said[1]
    assert any(line.startswith("Feed by hand: ") and "appetite unmet" in line for line in said)
    assert labour.findings(result)[1].startswith("No hour has more than 80 %")


def test_the_warning_is_a_coefficient_that_an_overlay_moves(small_room):
    overlay = {"staff.roster.busy_warning": 0.7}
    moved = farrowtide.run(small_room.with_coefficients(overlay), replications=1)
    assert labour.busy_percent(moved) == pytest.approx(70)


def test_the_longest_waits_are_those_of_the_table(short):
    waits = labour.longest_waits(short, most=3)
    assert waits["waited_min"].is_monotonic_decreasing
    assert len(waits) == 3
    first = waits.iloc[0]
    rows = short.tasks[short.tasks["sow"] > 0]
    longest = rows.loc[(rows["started_h"] - rows["asked_h"]).idxmax()]
    assert (first["task"], first["replicate"], first["sow"]) == (longest["kind"], longest["replicate"], longest["sow"])
    assert first["waited_min"] == pytest.approx(60 * (longest["started_h"] - longest["asked_h"]))
    assert 24 * first["day"] + int(first["asked_at"][:2]) == int(longest["asked_h"])
    sow = short.sows[(short.sows["replicate"] == first["replicate"]) & (short.sows["sow"] == first["sow"])].iloc[0]
    assert first["parity_class"] == {1: "P1", 2: "P2"}.get(sow["parity"], "P3+")


def test_parity_classes_share_out_the_tasks_for_one_sow(short):
    asked = labour.by_parity(short)["asked_per_room"].sum()
    assert asked == pytest.approx((short.tasks["sow"] > 0).sum() / 6)


def test_one_room_has_no_interval(three_sows):
    one = farrowtide.run(three_sows)
    assert labour.by_task(one)["min_per_litter_low"].isna().all()
    assert labour.shown(3.14, np.nan, np.nan) == ("3.1", "")
    assert "(" not in labour.findings(one)[0]


@pytest.mark.parametrize("replications", [1, 3])
def test_every_missing_limit_in_json_has_a_reason(meals_file, replications):
    done = click.testing.CliRunner().invoke(main, ["labour", str(meals_file), "--json", "-q", "-n", str(replications)])
    tables = json.loads(done.stdout)
    missing = 0
    for table in ("tasks", "hours", "by_parity"):
        for row in tables[table]:
            for low in [name for name in row if name.endswith("_low")]:
                name = low.removesuffix("_low")
                assert (row[low] is None) == (row[f"{name}_high"] is None) == bool(row[f"{name}_reason"]), (table, row)
                missing += row[low] is None
    assert missing
    night = next(row for row in tables["hours"] if row["hour"] == 2)
    assert night["utilisation_percent_reason"] == "no room has a value"


def test_the_tables_of_the_staff_come_together(small_room):
    result = farrowtide.run(small_room, record=["work_hours"])
    assert set(result.tables) == {"sows", "tasks", "work_hours", "duty_hours"}
    with pytest.raises(farrowtide.UserError, match="'work_hours' was not recorded"):
        _ = farrowtide.run(small_room, record=[]).work_hours


def test_the_picture_has_units_and_words(short):
    picture = work_by_hour(short)
    axis = picture.figure.axes[0]
    assert axis.get_ylabel() == "staff minutes per day"
    assert "on duty" in picture.alt
    heights = pd.Series([bar.get_height() for bars in axis.containers for bar in bars])
    assert heights.sum() == pytest.approx(labour.by_hour(short)["worked_min_per_day"].sum())


def test_a_comparison_lays_late_and_undone_side_by_side():
    scenario = farrowtide.load(SHORT)
    crews = {f"{people} people": {"staff.shifts": [{"people": people}]} for people in (1, 3)}
    found = farrowtide.compare(scenario, crews, replications=3, seed=1)
    ((names, rows),) = page.missed_tasks(found, found.cases[0])
    assert names == list(crews)
    feed = next(row for row in rows if row.task == "feed by hand")
    alone = farrowtide.run(scenario.override(crews["1 people"]), replications=3, seed=1)
    expected = labour.by_task(alone).set_index("task").loc["feed by hand"]
    assert feed.cells["1 people"][0] == f"{expected['late_percent']:.1f}"
    assert feed.cells["1 people"][2] == f"{expected['undone_percent']:.1f}"
    assert float(feed.cells["3 people"][2]) < float(feed.cells["1 people"][2])
    assert "When staff are busy" in page.render(found)


def call(*arguments):
    found = click.testing.CliRunner().invoke(main, [str(argument) for argument in arguments], env={"COLUMNS": "80"})
    assert found.exit_code == 0, found.output
    return found


def test_the_command_prints_tables_that_fit_and_writes_a_picture(meals_file, tmp_path):
    found = call("labour", meals_file, "-n", 3, "--set", "room.crates=6", "--out", tmp_path)
    lines = found.stdout.splitlines()
    assert max(len(line) for line in lines if not line.startswith("farrowtide story ")) <= 80
    assert "\N{HORIZONTAL ELLIPSIS}" not in found.stdout  # nothing is cut off
    assert any(line.startswith("Hand feeds a day, 2 hand feeds: 3 rooms") for line in lines)  # the reference
    said = " ".join(found.stdout.split())
    assert "feed by hand" in said
    assert "No hour has more than" in said
    assert "<svg" in (tmp_path / "work_by_hour.svg").read_text()
    assert len(pd.read_csv(tmp_path / "hours.csv")) == 24


def test_the_command_as_json_has_stable_keys(meals_file):
    arguments = ["-n", 2, "--set", "room.crates=4", "--alternative", "full access", "--json"]
    said = json.loads(call("labour", meals_file, *arguments).stdout)
    assert set(said) == {
        "provenance", "caution", "withheld_care", "warnings", "interrupted", "alternative", "findings", "tasks", "hours",
        "longest_waits", "by_parity",
    }  # fmt: skip
    assert said["alternative"] == "full access"
    assert "full-access top-up" in {task["task"] for task in said["tasks"]}

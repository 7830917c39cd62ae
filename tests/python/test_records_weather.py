"""Outdoor weather from a station's file becomes part of the scenario: right hours, told gaps, reproduced without the file."""

import datetime
import json
import math
import pickle
import warnings

import click.testing
import pytest

import farrowtide
from farrowtide.commands.main import main
from farrowtide.errors import PlausibilityWarning
from farrowtide.scenarios.plausibility.arms import of_scenario

START = datetime.datetime(2026, 1, 12)
DAYS = 40


def temperature(hour):
    return round(5 + 8 * math.sin(hour / 24) + 3 * math.sin(2 * math.pi * hour / 24), 1)


def write(file, *, first=-30, hours=24 * DAYS, skip=(), humidity=True, separator=",", change=None):
    heading = ["time", "temperature_deg_c", *(["relative_humidity_percent"] if humidity else [])]
    lines = ["# A station near an invented farm", separator.join(heading)]
    for hour in range(first, hours):
        if hour in skip:
            continue
        time = START + datetime.timedelta(hours=hour)
        row = [time.isoformat(), f"{temperature(hour)}", *(["80"] if humidity else [])]
        lines.append(separator.join((change or {}).get(hour, row)))
    file.write_text("\n".join(lines) + "\n")
    return file


@pytest.fixture
def room(small_room):
    return small_room.alternative("2 hand feeds").override({"room.crates": 2})


def test_hours_begin_at_midnight_of_the_start(tmp_path, room):
    warm = room.with_weather(write(tmp_path / "w.csv"))
    rooms = farrowtide.run(warm, record=["rooms"]).rooms
    outdoor = rooms.drop_duplicates("hour").set_index("hour")["outdoor_deg_c"]
    assert len(outdoor) > 24 * 20
    for hour, deg_c in outdoor.items():
        assert deg_c == pytest.approx(temperature(hour)), hour
    assert not [one for one in of_scenario(warm) if one.kind == "weather filled in"]


def test_gaps_of_three_hours_are_filled_in_and_told(tmp_path, room):
    gapped = room.with_weather(write(tmp_path / "w.csv", skip={0, 50, 51, 52}))
    whole = room.with_weather(write(tmp_path / "whole.csv"))
    file, filled = gapped.weather
    assert (file, filled[1:]) == (
        str(tmp_path / "w.csv"),
        ["2026-01-14 02:00", "2026-01-14 03:00", "2026-01-14 04:00"],
    )
    given = json.loads(dict(gapped.recipe["steps"][-1][1][0])["climate.outdoor_hours"])
    expected = json.loads(dict(whole.recipe["steps"][-1][1][0])["climate.outdoor_hours"])
    step = (temperature(53) - temperature(49)) / 4
    assert given[50:53] == pytest.approx([temperature(49) + step * part for part in (1, 2, 3)])
    assert given[1:50] + given[53:] == expected[1:50] + expected[53:]
    (one,) = [one for one in of_scenario(gapped) if one.kind == "weather filled in"]
    assert one.problem.startswith("4 of the hours are missing and were interpolated, the first at 2026-01-12 00:00")


def test_several_rows_in_an_hour_are_averaged(tmp_path, room):
    row = "2026-01-12T05:00:00,4.0,80\n2026-01-12T05:30:00,7.0"
    file = write(tmp_path / "w.csv", change={5: [row, "80"]})
    hours = json.loads(dict(room.with_weather(file).recipe["steps"][-1][1][0])["climate.outdoor_hours"])
    assert hours[4:7] == [temperature(4), 5.5, temperature(6)]


def test_humidity_follows_from_the_dew_point_where_it_is_not_recorded(tmp_path, room):
    """Against Magnus' formula with the constants of Sonntag 1990 (from memory), which is not what the code calls."""
    dry = room.with_weather(write(tmp_path / "w.csv", humidity=False))
    given = dict(dry.recipe["steps"][-1][1][0])
    hours, humidity = (json.loads(given[f"climate.outdoor_{part}"]) for part in ("hours", "humidity_hours"))

    def saturation(deg_c):
        return math.exp(17.62 * deg_c / (243.12 + deg_c))

    dew_point = min(hours[:24]) - 1  # of the preset
    for deg_c, percent in zip(hours[:24], humidity[:24], strict=True):
        assert percent == pytest.approx(100 * saturation(dew_point) / saturation(deg_c), abs=0.5)


def test_the_scenario_needs_no_file_afterwards(tmp_path, room):
    file = write(tmp_path / "w.csv")
    scenario = room.with_weather(file)
    first = farrowtide.run(scenario, seed=3)
    file.unlink()
    again = pickle.loads(pickle.dumps(scenario))
    assert again.hash == scenario.hash
    assert farrowtide.run(again, seed=3).sows.equals(first.sows)


def test_a_run_with_weather_is_reproduced_without_the_file(tmp_path, meals_file):
    weather = write(tmp_path / "w.csv")
    scenario = tmp_path / "farm.yaml"
    scenario.write_text('title: "Farm"\nroom: {crates: 2}\nalternatives:\n  a: {}\n  b: {room.trough_capacity: 6 kg}\n')
    call = click.testing.CliRunner().invoke
    out = tmp_path / "out"
    made = call(main, ["compare", str(scenario), "-n", "3", "--weather", str(weather), "--out", str(out)])
    assert made.exit_code == 0, made.stderr
    weather.unlink()
    scenario.unlink()
    again = call(main, ["reproduce", str(out / "report.html")])
    assert again.exit_code == 0, again.stderr + again.stdout


def test_the_start_cannot_move_away_from_the_weather(tmp_path, meals_file, room):
    scenario = room.with_weather(write(tmp_path / "w.csv"))
    with pytest.raises(
        farrowtide.UserError, match=r"moves the start to 2026-07-06, but the weather of .*w.csv was read"
    ):
        scenario.override({"start": "2026-07-06"})
    with pytest.raises(farrowtide.UserError, match=r"case 'July'.*--case"):
        farrowtide.load(meals_file).with_weather(tmp_path / "w.csv").case("July")
    result = click.testing.CliRunner().invoke(
        main,
        ["run", str(meals_file), "--case", "January", "--weather", str(tmp_path / "w.csv"), "--set", "room.crates=2"],
    )
    assert result.exit_code == 0, result.stderr


def test_no_story_is_offered_that_would_be_told_in_other_weather(tmp_path, meals_file):
    given = ["labour", str(meals_file), "-n", "1", "--case", "January"]
    indoors = click.testing.CliRunner().invoke(main, given)
    outdoors = click.testing.CliRunner().invoke(main, [*given, "--weather", str(write(tmp_path / "w.csv"))])
    assert indoors.exit_code == outdoors.exit_code == 0, outdoors.stderr
    assert "farrowtide story" in indoors.stdout
    assert "farrowtide story" not in outdoors.stdout


def test_weather_under_an_imposed_climate_has_no_effect_and_is_told(tmp_path, three_sows):
    found = of_scenario(three_sows.override({"start": "2026-01-12"}).with_weather(write(tmp_path / "w.csv")))
    assert [one.kind for one in found].count("key without effect") == 2


WRONG = [
    ({"skip": {50, 51, 52, 53}}, r"w.csv:83: 4 hours are missing before 2026-01-14 06:00; at most 3"),
    ({"first": 5}, r"the scenario starts on 2026-01-12, but the file covers 2026-01-12 05:00 to"),
    ({"first": -900, "hours": -800}, r"starts on 2026-01-12, but the file covers"),
    ({"change": {3: ["2026-01-12T03:00:00", "warm", "80"]}}, r"w.csv:36: temperature_deg_c = warm: is not a number"),
    ({"change": {3: ["2026-01-12T03:00:00", "71", "80"]}}, r"w.csv:36: .*it looks like degF"),
    ({"change": {3: ["2026-01-12T03:00:00", "7", "0.8"]}}, r"w.csv:36: relative_humidity_percent = 0.8"),
    ({"change": {3: ["12.01.2026 03:00", "7", "80"]}}, r"w.csv:36: time = 12.01.2026 03:00: is not a time"),
    ({"change": {3: ["2026-01-12T03:00:00+01:00", "7", "80"]}}, r"w.csv:36: .*no offset"),
    ({"change": {3: ["2026-02-30T03:00", "7", "80"]}}, r"w.csv:36: time = 2026-02-30T03:00"),
    ({"change": {3: ["2026-01-11T03:00", "7", "80"]}}, r"w.csv:36: .*is before the time in the row above"),
]


@pytest.mark.parametrize(("options", "words"), WRONG, ids=[words[:30] for _, words in WRONG])
def test_what_is_wrong_in_a_file_is_told_with_its_line(tmp_path, room, options, words):
    with pytest.raises(farrowtide.UserError, match=words):
        room.with_weather(write(tmp_path / "w.csv", **options))


def test_a_file_without_a_column_or_that_ends_too_early_is_told(tmp_path, room):
    (tmp_path / "w.csv").write_text("time,temperature\n2026-01-12T00:00,4\n")
    with pytest.raises(farrowtide.UserError, match=r"no column 'temperature_deg_c'.*Did you mean 'temperature'\?"):
        room.with_weather(tmp_path / "w.csv")
    with pytest.raises(farrowtide.ScenarioError, match="has outdoor_hours for 240 hours"):
        room.with_weather(write(tmp_path / "w.csv", hours=240))


def test_filled_hours_are_a_warning_of_a_run(tmp_path, room):
    scenario = room.with_weather(write(tmp_path / "w.csv", skip={50}))
    with warnings.catch_warnings():
        warnings.simplefilter("error", PlausibilityWarning)
        with pytest.raises(PlausibilityWarning, match="1 of the hours are missing"):
            farrowtide.run(scenario)

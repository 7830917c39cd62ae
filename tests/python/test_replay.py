"""The replay of a room: what it shows agrees with the records, and its page is small, silent and reproducible."""

import html
import json
import re
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
from click.testing import CliRunner

import farrowtide
from farrowtide.analysis.replay import recording
from farrowtide.commands.main import main
from farrowtide.report import replay_page

MOST_BYTES = 3_000_000
HOURS_A_DAY = 24


@pytest.fixture(scope="module")
def room(meals_file):
    """24 crates in which sows die, so that piglets are moved."""
    found = farrowtide.replay(meals_file, alternative="4 hand feeds", case="July")
    (result,) = found.results.values()
    assert (result.events["what"] == "piglet moved").any()
    return found, result, recording(result)


def midnights(result, shown):
    """The recorded days of sows with the hour at which each ended: the first one ends on the day of loading."""
    days = result.sow_days
    loaded_h = shown.phases.groupby("sow")["time_h"].min()
    first = days["sow"].map(loaded_h) // HOURS_A_DAY
    return days.assign(hour=HOURS_A_DAY * (first + days.groupby("sow").cumcount() + 1))


def test_feed_in_troughs_comes_to_what_is_recorded_at_midnight(room):
    """The last level before each midnight is put together from deliveries, meals and cleaning; the record is the check."""
    _, result, shown = room
    levels = dict(list(shown.troughs.groupby("sow")))
    compared = 0
    for day in midnights(result, shown).itertuples():
        before = levels[day.sow][levels[day.sow]["time_h"] < day.hour]["kg"]
        if len(before) and not np.isnan(before.iloc[-1]):
            assert before.iloc[-1] == pytest.approx(day.in_trough_at_midnight_kg, abs=1e-9)
            compared += day.in_trough_at_midnight_kg > 0
    assert compared > 100


def test_litters_are_those_recorded_at_midnight(room):
    _, result, shown = room
    for hour, rows in midnights(result, shown).groupby("hour"):
        nursing = shown.piglets[
            (shown.piglets["fate"] != "stillborn")
            & (shown.piglets["born_h"] <= hour)
            & (shown.piglets["left_h"] > hour)
        ]
        moved = shown.moves[shown.moves["time_h"] <= hour].groupby(["dam", "rank"])["to"].last()
        pairs = list(zip(nursing["dam"], nursing["rank"], strict=True))
        counts = np.unique([moved.get(pair, pair[0]) for pair in pairs], return_counts=True)
        litter = dict(zip(*counts, strict=True))
        assert {row.sow: row.piglets for row in rows.itertuples()} == {sow: litter.get(sow, 0) for sow in rows["sow"]}


def test_under_full_access_feed_always_lies_in_the_trough(three_sows):
    (result,) = farrowtide.replay(three_sows, alternative="full access").results.values()
    shown = recording(result)
    later = shown.troughs[shown.troughs["time_h"].between(200, 500)]
    assert len(later)
    assert later["kg"].isna().all()
    assert shown.troughs.loc[shown.troughs["time_h"] < 90, "kg"].notna().all()


@pytest.mark.parametrize(("groups", "said"), [([1], "is only group 1"), ([1, 2], "are only groups 1 to 2")])
def test_a_group_that_is_not_there_is_refused_with_those_that_are(groups, said):
    result = SimpleNamespace(first_replicate=0, sows=pd.DataFrame({"replicate": 0, "sow": groups, "group": groups}))
    with pytest.raises(farrowtide.UserError, match=f"group = 3: there {said}"):
        recording(result, 3)


def test_a_group_of_a_farm_is_shown_on_a_clock_of_its_own():
    scenario = farrowtide.load("scenarios/farm/year_of_weekly_groups.yaml")
    settings = {"farm.groups": 4, "farm.warm_up_groups": 1, "room.crates": 3}
    farm = farrowtide.replay(scenario.override(settings), group=3)
    shown = farm.recordings()["as written"]
    result = farm.results["as written"]
    assert set(shown.sows["number"]) == set(result.sows.loc[result.sows["group"] == 3, "sow"])
    assert 0 <= shown.phases["time_h"].min() < HOURS_A_DAY
    assert shown.start_h > 0
    assert shown.end_h < 45 * HOURS_A_DAY
    loaded_h = result.events.loc[result.events["sow"].isin(shown.sows["number"]), "time_h"]
    assert data_of(farm.html())["start"] == result.dates(loaded_h).min().date().isoformat()


def data_of(page):
    return json.loads(re.search(r'id="replay-data">(.*?)</script>', page, re.DOTALL)[1])


def test_the_page_of_24_crates_is_small(room):
    found, result, _ = room
    page = found.html()
    assert result.sows["sow"].nunique() == 24
    assert len(page.encode()) < MOST_BYTES
    assert "</iframe>" in found._repr_html_()


def test_the_page_is_reproduced_byte_for_byte(three_sows, tmp_path):
    found = farrowtide.replay(three_sows, alternative="2 hand feeds", against="full access", replicate=2, seed=9)
    page = found.save(tmp_path, units="us")
    again = farrowtide.reproduce(page)
    assert again.same
    assert again.files == {"replay.html": True}
    page.write_text(page.read_text().replace("&#34;replicate&#34;: 2", "&#34;replicate&#34;: 1"))
    assert not farrowtide.reproduce(page).same


def test_a_run_is_replayed_as_it_was(three_sows):
    result = farrowtide.run(three_sows.alternative("full access"), replications=2, seed=4, first_replicate=5)
    found = result.replay(replicate=6, against="2 hand feeds")
    assert list(found.results) == ["full access", "2 hand feeds"]
    of_run = result.piglets[result.piglets["replicate"] == 6].reset_index(drop=True)
    assert found.results["full access"].piglets["birth_time_h"].equals(of_run["birth_time_h"])
    with pytest.raises(farrowtide.UserError, match="replicate 7 is not in this run"):
        result.replay(replicate=7)


def test_amounts_are_in_the_units_asked_for(three_sows):
    found = farrowtide.replay(three_sows)
    assert data_of(found.html())["units"]["kg"]["name"] == "kg"
    us = data_of(found.html(units="us"))
    assert us["units"]["kg"]["name"] == "lb"
    assert us["units"]["degC"]["name"] == "degF"
    words = us["rooms"][0]["entries"]["words"]
    assert [text for text in words if re.search(r"\d k?g\b|degC", text)] == []
    assert [text for text in words if re.search(r"\d lb\b", text)]


def test_modules_are_joined_in_the_order_of_their_imports():
    earlier = set()
    for name in replay_page._MODULES:
        text = replay_page.module(name)
        imported = set(re.findall(r'from "\./(\w+)\.js"', text))
        assert imported <= earlier
        earlier.add(name)
    assert not re.search(r"^(import|export)\b", replay_page.script(), re.MULTILINE)


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["--replications", "3"], "a replay is of a single replicate (--replicate): leave out --replications"),
        (["--alternative", "2 hand feed"], "Did you mean '2 hand feeds'?"),
        (["--against", "full acces"], "Did you mean 'full access'?"),
        (["--alternative", "full access", "--against", "full access"], "'full access' is the alternative itself"),
        (["--group", "2"], "group = 2: there is only group 1"),
        (["--case", "August"], "August"),
    ],
)
def test_mistakes_are_told_and_nothing_is_written(arguments, said, tmp_path):
    out = tmp_path / "out"
    command = ["replay", "scenarios/teaching/three_sows.yaml", *arguments, "--out", str(out)]
    done = CliRunner().invoke(main, command)
    assert done.exit_code == 2
    assert said in " ".join(done.output.split())
    assert not out.exists()


def test_the_command_writes_the_page_and_names_it(tmp_path):
    command = ["replay", "scenarios/teaching/three_sows.yaml", "--against", "full access", "--out", str(tmp_path)]
    done = CliRunner().invoke(main, [*command, "--json"])
    assert done.exit_code == 0
    delivered = json.loads(done.stdout)
    assert delivered["page"] == str(tmp_path / "replay.html")
    assert delivered["provenance"]["recipe"]["against"] == "full access"
    assert delivered["caution"] in html.unescape((tmp_path / "replay.html").read_text())

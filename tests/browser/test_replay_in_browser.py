"""The replay in a browser: its numbers against the tables, its controls, its words, alone and silent on any screen."""

import json
import random
from pathlib import Path

import pytest

import farrowtide
from farrowtide.inert_text import visible
from farrowtide.outputs.units import value_in

ROOT = Path(__file__).parents[2]
PHONE, DESKTOP = 390, 1280  # CSS pixels
TITLE = "A room </script><script>console.log('ran')</script><!-- \"&amp;\" more"
NAMES = ("2 hand feeds", "full access </script><img src=x onerror=console.log('ran')> \u202e<!--")
MINUTES_A_DAY = 1440


@pytest.fixture(scope="module")
def replayed(tmp_path_factory):
    folder = tmp_path_factory.mktemp("replay")
    text = (ROOT / "scenarios/feeding/meals_a_day.yaml").read_text(encoding="utf-8")
    assert '"full access"' in text
    (folder / "named.yaml").write_text(text.replace('"full access"', json.dumps(NAMES[1])), encoding="utf-8")
    scenario = farrowtide.load(folder / "named.yaml").override({"room.crates": 6, "title": TITLE})
    found = farrowtide.replay(scenario, alternative=NAMES[0], against=NAMES[1], replicate=3, seed=5)
    return found, found.save(folder, units="us")


@pytest.fixture
def opened(open_file, replayed):
    def at(width, **options):
        watched = open_file(replayed[1], width, **options)
        watched.page.wait_for_selector("body[data-ready]")
        return watched

    return at


def go_to(page, minute):
    page.evaluate(
        "minute => { const time = document.getElementById('time'); time.value = minute;"
        "time.dispatchEvent(new Event('input')); }",
        minute,
    )


def shown(page, room, number):
    return page.locator(f"section.room >> nth={room}").locator(f"[data-number={number}]").inner_text()


def from_tables(result, minute):
    """What the page has to show, from the tables as the engine recorded them."""
    hour = minute / 60
    events, piglets, work, roster = result.events, result.piglets, result.stretches, result.roster
    past = events[events["time_h"].round(6) <= hour]
    born = piglets[(piglets["birth_time_h"].round(6) <= hour) & (piglets["fate"] != "stillborn")]
    died = (past["what"] == "piglet died").sum()
    weaned_h = born["birth_time_h"] + 24 * born["age_at_weaning_d"]
    weather = result.rooms.set_index("hour").loc[int(hour)]
    at_work = roster[(roster["state"] == "at work") & (roster["from_h"] <= hour) & (roster["until_h"] > hour)]
    busy = (work["from_h"].round(6) <= hour) & (work["until_h"].round(6) > hour)
    return {
        "piglets": str(len(born) - died - (weaned_h.round(6) <= hour).sum()),
        "died": str(died),
        "eaten": f"{value_in('us', past.loc[past['what'] == 'meal eaten', 'amount'].sum(), 'kg'):.1f} lb",
        "temperature": f"{value_in('us', weather['temperature_deg_c'], 'degC'):.0f} degF (set point "
        f"{value_in('us', weather['set_point_deg_c'], 'degC'):.0f} degF)",
        "people": str(at_work["people"].sum()),
        "work": str(busy.sum()),
    }


@pytest.mark.parametrize("draw", range(3))
def test_numbers_at_a_random_time_are_those_of_the_tables(opened, replayed, draw):
    """The first is within a working day, so that people are busy."""
    page = opened(DESKTOP).page
    chance = random.Random(draw)
    minute = chance.randrange(26 * MINUTES_A_DAY) if draw else 5 * MINUTES_A_DAY + 7 * 60 + chance.randrange(120)
    go_to(page, minute)
    for room, result in enumerate(replayed[0].results.values()):
        wanted = from_tables(result, minute)
        assert {number: shown(page, room, number) for number in wanted} == wanted


def test_litters_troughs_and_marks_of_crates_are_those_of_the_tables(opened, replayed):
    """At a midnight, when both are recorded."""
    page = opened(DESKTOP).page
    go_to(page, 12 * MINUTES_A_DAY)
    page.wait_for_timeout(500)  # descriptions are written when the clock stands still
    labels = (
        page.locator("section.room >> nth=0")
        .locator(".crate")
        .evaluate_all("crates => crates.map(crate => crate.getAttribute('aria-label'))")
    )
    days = replayed[0].results[NAMES[0]].sow_days
    rows = days[days.groupby("sow").cumcount() == 11]
    assert len(rows) == len(labels) == 6
    for row, label in zip(rows.itertuples(), labels, strict=True):
        assert label.startswith(f"sow {row.sow}, parity {row.parity}; nursing")
        assert f"; {row.piglets} piglets" in label
        assert f"; {value_in('us', row.in_trough_at_midnight_kg, 'kg'):.1f} lb in the trough" in label


@pytest.mark.parametrize("width", [PHONE, DESKTOP])
def test_nothing_is_fetched_nothing_is_said_and_names_are_letters(opened, width):
    watched = opened(width)
    watched.page.click("#play")
    watched.page.wait_for_timeout(300)
    watched.page.click("#play")
    assert watched.requests == []
    assert watched.said == []
    assert watched.page.locator("h1").inner_text() == TITLE
    assert watched.page.locator(".room h2").all_inner_texts() == [visible(name) for name in NAMES]
    assert watched.page.locator("img").count() == 0
    assert watched.page.evaluate("document.documentElement.scrollWidth") <= width


@pytest.mark.parametrize("width", [PHONE, DESKTOP])
def test_no_barrier_of_weight(opened, width):
    axe = pytest.importorskip("axe_playwright_python.sync_playwright", reason="pip install farrowtide[browser]")
    page = opened(width).page
    go_to(page, 5 * MINUTES_A_DAY + 470)
    page.wait_for_timeout(500)
    found = axe.Axe().run(page, options={"resultTypes": ["violations"]}).response
    assert found["passes"]
    assert [
        (barrier["id"], barrier["nodes"][0]["html"])
        for barrier in found["violations"]
        if barrier["impact"] in ("serious", "critical")
    ] == []


def test_the_keyboard_moves_plays_and_jumps(opened, replayed):
    page = opened(DESKTOP).page
    page.focus("#time")
    before = int(page.input_value("#time"))
    page.keyboard.press("ArrowRight")
    assert int(page.input_value("#time")) == before + 1
    page.keyboard.press("n")  # to the first sow that begins to farrow
    events = replayed[0].results[NAMES[0]].events
    began_min = 60 * events.loc[events["what"] == "labour began", "time_h"].min()
    assert began_min <= int(page.input_value("#time")) < began_min + 1
    page.keyboard.press(" ")
    page.wait_for_function("minute => Number(document.getElementById('time').value) > minute", arg=began_min + 2)
    page.keyboard.press(" ")
    assert page.inner_text("#play") == "Play"


def test_a_sow_and_her_events_in_both_rooms(opened, replayed):
    page = opened(DESKTOP).page
    page.get_by_role("button", name="sow 4, ").first.click()
    assert page.input_value("#sow") == "4"
    lists = page.locator(".story ol")
    assert lists.count() == 2
    events = replayed[0].results[NAMES[0]].events
    births = ((events["sow"] == 4) & (events["what"] == "piglet born")).sum()
    assert lists.first.get_by_text(" is born, ").count() == births > 0
    lists.first.locator("li", has_text="begins to farrow").locator("button").click()
    assert "farrowing" in page.locator(".story p").first.inner_text()


def test_the_summary_is_written_when_the_clock_stands_still(opened):
    page = opened(DESKTOP).page
    page.click("#play")
    page.wait_for_timeout(600)
    while_playing = page.inner_text("#now")
    page.click("#play")
    page.wait_for_function("words => document.getElementById('now').innerText !== words", arg=while_playing)
    assert page.inner_text("#clock") in page.inner_text("#now")


def test_without_motion_the_clock_steps_once_a_second(opened):
    page = opened(DESKTOP, reduced_motion="reduce").page
    page.evaluate(
        "window.seen = new Set(); new MutationObserver(() => seen.add(document.getElementById('clock').innerText))"
        ".observe(document.getElementById('clock'), {childList: true, characterData: true, subtree: true})"
    )
    page.click("#play")
    page.wait_for_timeout(2500)
    assert 1 <= page.evaluate("seen.size") <= 3


def test_the_page_plays_within_a_notebook(browser, replayed):
    page = browser.new_page(viewport={"width": DESKTOP, "height": 1000}, offline=True)
    page.set_content(replayed[0]._repr_html_())
    inner = page.frame_locator("iframe")
    inner.locator("body[data-ready]").wait_for()
    assert inner.locator(".crate").count() == 12
    page.close()

"""Warnings: each kind where it belongs, none elsewhere; what always fails is refused before it is run."""

import json
import pickle
import re
import warnings
from pathlib import Path

import click.testing
import numpy as np
import pandas as pd
import pytest

import farrowtide
from farrowtide import PlausibilityWarning, UserError
from farrowtide.commands import exit_codes
from farrowtide.commands.main import main
from farrowtide.errors import emit
from farrowtide.outputs.plausibility import findings, observed
from farrowtide.outputs.plausibility.observed import Observed
from farrowtide.outputs.plausibility.ranges import ranges
from farrowtide.report.warnings_page import warnings_page
from farrowtide.results import checking
from farrowtide.results.sweep import sweep
from farrowtide.scenarios.plausibility.arms import merged, of_scenario
from farrowtide.scenarios.plausibility.checks import CHECKS
from farrowtide.scenarios.plausibility.facts import Expected
from farrowtide.study import blocks, watch

pytestmark = pytest.mark.usefixtures("without_drawing")

ROOT = Path(__file__).parents[2]
ROOM = {"title": "A room", "room": {"crates": 6, "trough_capacity": "6 kg"}, "herd": {"health": "off"}}


def call(*arguments):
    return click.testing.CliRunner().invoke(main, [str(argument) for argument in arguments])


def room(**keys):
    return farrowtide.load({**ROOM, **keys})


def kinds(found):
    return {one.kind for one in found}


def only(kind, found):
    (one,) = [one for one in found if one.kind == kind]
    return one


# --- Before anything is run ---


def test_a_plain_room_has_nothing_to_warn_about():
    assert of_scenario(room()) == []


def test_a_feed_after_the_shift_is_never_given(tmp_path):
    file = tmp_path / "feeds.yaml"
    file.write_text('title: Feeds\nfeeding:\n  times: ["07:00", "22:00"]\n', encoding="utf-8")
    one = only("work outside duty", of_scenario(farrowtide.load(file)))
    assert one.place == f'{file}:3: feeding.times = ["07:00", "22:00"]'
    assert "'feed by hand' at 22:00 falls into 16:00 to 07:00" in one.problem
    assert one.problem.endswith("it is never done")


def test_a_feed_before_the_shift_or_in_the_break_is_late():
    shifts = [{"from": "07:00", "until": "16:00", "break_from": "12:00"}]
    early, at_noon = (
        only("work outside duty", of_scenario(room(feeding={"times": [time]}, staff={"shifts": shifts})))
        for time in ("06:30", "12:15")
    )
    assert "begins 30 min late at best, every day" in early.problem
    assert "falls into 12:00 to 13:00" in at_noon.problem
    assert "begins 45 min late at best" in at_noon.problem


def test_a_look_at_the_end_of_the_shift_is_never_made():
    """Sows whose drops nobody looks after stand before stale feed; a few minutes earlier all is well."""
    late, in_time = (of_scenario(room(feeding={"kind": "drops", "look": look})) for look in ("16:00", "15:55"))
    assert "'feed by drop' at 16:00" in only("work outside duty", late).problem
    assert "work outside duty" not in kinds(in_time)


def test_days_without_anybody_are_counted():
    staff = {"shifts": [{"days": ["mon"]}]}
    assert "nobody is on duty on 21 of 24 days" in only("days without staff", of_scenario(room(staff=staff))).problem


def test_a_portion_larger_than_the_trough_says_by_how_much():
    feeding = {"times": ["08:00"], "allowance": {"rule": "flat", "amount": "6.5 kg/d"}}
    one = only("portion larger than the trough", of_scenario(room(feeding=feeding, room={"trough_capacity": "4 kg"})))
    assert "6.5 kg are poured at 08:00" in one.problem
    assert "2.5 kg are not delivered" in one.problem
    roomy = room(feeding=feeding, room={"trough_capacity": "8 kg"})
    assert "portion larger than the trough" not in kinds(of_scenario(roomy))


@pytest.mark.parametrize(
    ("keys", "without_effect"),
    [
        ({"climate": {"kind": "imposed"}, "temperature": {"farrowing": "22 degC"}}, "temperature.farrowing"),
        ({"climate": {"temperature": "22 degC"}}, "climate.temperature"),
        ({"climate": {"kind": "imposed"}, "room": {"deep_pit": True, "trough_capacity": "6 kg"}}, "room.deep_pit"),
        ({"herd": {"health": "off", "scours": "problem"}}, "herd.scours"),
        ({"feeding": {"allowance": {"rule": "flat", "start": "2 kg/d"}}}, "feeding.allowance.start"),
        ({"induction": {"gestation_day": 115}}, "induction.gestation_day"),
        ({"care": {"off_feed_days": 3}}, "care.off_feed_days"),
    ],
)
def test_a_key_without_effect_is_named_with_what_it_depends_on(keys, without_effect):
    found = [one for one in of_scenario(room(**keys)) if one.kind == "key without effect"]
    assert without_effect in [one.place.partition(" = ")[0] for one in found]
    assert all("has no effect, because" in one.problem for one in found)


def test_keys_that_are_not_given_are_never_without_effect():
    assert of_scenario(room(climate={"kind": "imposed"})) == []


def test_night_cover_says_what_is_paid():
    one = only("paid hours at night", of_scenario(room(attendance={"night_people": 1})))
    assert "15.0 h a night: 375 paid hours in 25 nights, 62.5 h a sow" in one.problem


def test_own_policies_are_looked_at_as_built_in_ones():
    class Late(farrowtide.policies.Feeding):
        """Feeds at night."""

        name = "late"

        def rounds(self):
            return ["23:00"]

        def decide(self, view):
            return 9.0

    found = of_scenario(farrowtide.load({**ROOM, "feeding": {"kind": "late"}}, policies=[Late]))
    assert {"work outside duty", "portion larger than the trough"} <= kinds(found)


# --- Which arms ---


def test_a_warning_about_all_arms_is_given_once_and_others_name_theirs():
    one, other = PlausibilityWarning("a", "x", "y", "z"), PlausibilityWarning("b", "x", "y", "z")
    arms = {(case, name): [one] for case in ("cold", "warm") for name in ("few", "many")}
    arms["warm", "few"] = [one, other]
    assert [found.where for found in merged(arms)] == [(), ("few in warm",)]
    arms["cold", "few"] = [one, other]
    assert [found.where for found in merged(arms)] == [(), ("few",)]


# --- Commands ---


def test_check_warns_and_strict_makes_errors_of_it(tmp_path):
    file = tmp_path / "feeds.yaml"
    file.write_text('title: Feeds\nroom: {crates: 4}\nfeeding: {times: ["06:30", "13:00"]}\n', encoding="utf-8")
    lenient, strict = call("check", file), call("check", file, "--strict")
    assert lenient.exit_code == 0
    assert f"warning: {file}:3: feeding.times" in lenient.stderr
    assert strict.exit_code == exit_codes.EXIT_MISTAKE
    listed = json.loads(call("check", file, "--json").stdout)["files"][0]
    assert listed["ok"]
    assert "work outside duty" in [one["kind"] for one in listed["warnings"]]


def test_strict_stops_before_anything_is_run(tmp_path, monkeypatch):
    file = tmp_path / "feeds.yaml"
    file.write_text('title: Feeds\nfeeding: {times: ["06:30", "13:00", "23:00"]}\n', encoding="utf-8")
    monkeypatch.setattr("farrowtide._core.run", lambda *_, **__: pytest.fail("a room was run"))
    refused = call("run", file, "--strict")
    assert refused.exit_code == exit_codes.EXIT_MISTAKE
    assert refused.stderr.count("error (--strict): ") == 2


def test_every_command_that_runs_rooms_says_its_warnings_first_and_in_json(tmp_path):
    file = tmp_path / "night.yaml"
    file.write_text(
        "title: Night\nroom: {crates: 4}\nalternatives: {day: {}, night: {attendance.night_people: 1}}\n",
        encoding="utf-8",
    )
    for command in (
        ["run", file, "--alternative", "night"],
        ["labour", file, "--alternative", "night"],
        ["compare", file, "--out", tmp_path / "report"],
        ["sweep", file, "--alternative", "night", "--vary", "handling.day=3,5"],
        ["pick", file, "--output", "labour_min_per_litter", "--indifference", "5"],
        ["pairing", file],
        ["each-sow", file, "--alternative", "night"],
    ):
        printed = call(*command, "-n", "4")
        assert printed.stdout.startswith("warning: "), command
        assert "paid hours" in printed.stdout, command
        assert "paid hours at night" in [
            one["kind"] for one in json.loads(call(*command, "-n", "4", "--json").stdout)["warnings"]
        ]
    assert '<h2 id="warnings">Warnings</h2>' in (tmp_path / "report/report.html").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("herd: {parity_shares: [0, 0]}", "are all 0"),
        ('staff: {shifts: [{from: "07:00", until: "09:00", break: 120 min}]}', "is as long as the shift"),
        ('staff: {shifts: [{from: "07:00", until: "16:00", break_from: "20:00"}]}', "puts the break outside the shift"),
        (
            f"climate: {{outdoor_hours: {[5] * 24}, outdoor_humidity_hours: {[60] * 24}}}",
            "has outdoor_hours for 24 hours",
        ),
        ("induction: {kind: single}\nherd: {every_sow: {farrows_on_day: 4}}", "cannot be combined with farrows_on_day"),
        ("alternatives: {a: {}, b: {study.replications: 5}}", "is not a key of the farm"),
        ("cases: {a: {title: x}}", "is not a key of the farm"),
    ],
)
def test_check_refuses_what_always_fails(tmp_path, text, message):
    file = tmp_path / "wrong.yaml"
    file.write_text(f"title: Wrong\n{text}\n", encoding="utf-8")
    found = call("check", file)
    assert found.exit_code == exit_codes.EXIT_MISTAKE
    assert message in found.stderr
    assert f"{file}:" in found.stderr


def test_check_runs_a_room_and_tells_what_it_broke_off_with(tmp_path):
    policy = tmp_path / "policy.py"
    policy.write_text(
        "from farrowtide.policies import Handling\n"
        "class Twice(Handling):\n"
        "    name, help = 'twice', 'Processes every litter twice.'\n"
        "    def share_of_processing(self, view):\n"
        "        return 1.0\n",
        encoding="utf-8",
    )
    file = tmp_path / "twice.yaml"
    file.write_text("title: Twice\nroom: {crates: 3}\nhandling: {kind: twice}\n", encoding="utf-8")
    found = call("check", file, "--policies", policy)
    assert found.exit_code == exit_codes.EXIT_MISTAKE
    assert "processes more than the whole of a litter" in found.stderr
    assert call("run", file, "--policies", policy).exit_code == exit_codes.EXIT_MISTAKE


def test_shipped_scenarios_pass_the_check():
    for file in sorted((ROOT / "scenarios").glob("*/*.yaml")):
        if file.parent.name not in ("invalid", "farm"):
            found = checking.check(str(file))
            assert found.ok, (file, found.mistakes, found.failed)


@pytest.mark.parametrize("key", ["study.replications", "title", "alternatives.a.room.crates"])
def test_what_describes_the_study_cannot_be_varied(key, three_sows):
    with pytest.raises(UserError, match="is not a key of the farm"):
        sweep(three_sows, {key: [5, 6]})
    with pytest.raises(UserError, match="is not a key of the farm"):
        farrowtide.compare(three_sows, {"one": {}, "two": {key: 5}})


def test_a_report_that_cannot_be_written_is_refused_before_the_rooms_are_run(tmp_path, monkeypatch, meals_file):
    monkeypatch.setattr("farrowtide._core.run", lambda *_, **__: pytest.fail("a room was run"))
    in_the_way = tmp_path / "results"
    in_the_way.write_text("", encoding="utf-8")
    for command in (["compare", meals_file], ["run", meals_file], ["labour", meals_file]):
        refused = call(*command, "--out", in_the_way / "report")
        assert refused.exit_code == exit_codes.EXIT_MISTAKE
        assert f"because of {in_the_way}" in refused.stderr


# --- Results ---


def test_a_set_point_that_the_room_cannot_reach_says_both_temperatures():
    hot = {"start": "2026-07-06", "climate": {"outdoor": "iowa"}}
    result = farrowtide.run(room(**hot, temperature={"kind": "constant", "set_point": "15 degC"}))
    (one,) = [one for one in result.warnings if "above the set point" in one.place]
    hours = result.rooms
    assert f"{hours['temperature_deg_c'].mean():.1f} degC was reached" in one.problem
    assert "15.0 degC was set" in one.problem


def test_starved_sows_and_hot_chambers_are_warned_about():
    hungry = room(feeding={"allowance": {"rule": "flat", "amount": "0 kg/d"}})
    hot = room(climate={"kind": "imposed", "temperature": "40 degC", "humidity": "100 %"})
    places = {
        name: [one.place for one in farrowtide.run(scenario).warnings]
        for name, scenario in (("hungry", hungry), ("hot", hot))
    }
    assert any("days without feed" in place for place in places["hungry"])
    assert any("mean room temperature" in place for place in places["hot"])
    assert any("relative humidity" in place for place in places["hot"])


def test_hot_and_cold_hours_of_mild_days_are_warned_about():
    # From -30 degC outdoors at midnight to 55 degC at noon.
    day = [round(55 - 85 * abs(hour - 12) / 12, 1) for hour in range(24)]
    weather = {"outdoor_hours": day * 40, "outdoor_humidity_hours": [50] * 24 * 40}
    result = farrowtide.run(room(climate=weather))
    (one,) = [one for one in result.warnings if one.place == "room temperature in an hour"]
    temperatures = result.rooms["temperature_deg_c"]
    outside = ((temperatures < 5) | (temperatures > 40)).sum()
    assert f"in {outside} of {len(temperatures)} room-hours" in one.problem.replace(",", "")


def test_piglets_weaned_at_the_weight_of_newborn_ones_are_warned_about():
    crowded = {"mortality": "off", "runts": True, "every_sow": {"total_born": 25, "functional_teats": 4}}
    result = farrowtide.run(room(herd={**ROOM["herd"], **crowded, "milk_level": 0.5}))
    (one,) = [one for one in result.warnings if one.place == "weaning weight of a piglet"]
    weights = result.piglets["weaning_weight_kg"].dropna()
    assert f"under 1.5 kg in {(weights < 1.5).sum()} of {len(weights)} piglets weaned" in one.problem
    assert f"the most extreme {weights.min():.3g} kg" in one.problem


def test_counts_are_those_of_the_tables():
    teats_without_limit = {"litter.growth.teat_most_gain": 0.55, "litter.growth.most_gain": 0.18}
    scenario = room(group={"lactation_days": 35}).with_coefficients(teats_without_limit)
    result = farrowtide.run(scenario, replications=5, seed=3)  # in which some piglets gain too much
    seen = result.observed
    days = result.sow_days
    assert seen.counts["daily_intake"].of == len(days)
    backfat = days.groupby(["replicate", "sow"])["backfat_mm"].min()
    assert seen.counts["lowest_backfat"].of == backfat.notna().sum()
    assert seen.counts["lowest_backfat"].outside == (backfat < 4).sum()
    weaned = result.piglets.dropna(subset="weaning_weight_kg").merge(
        result.sows, left_on=["replicate", "reared_by"], right_on=["replicate", "sow"], suffixes=("", "_rearing")
    )
    farrowed_day = (weaned["farrowing_start_h"] + weaned["farrowing_duration_min"] / 60) // 24
    age_d = farrowed_day + weaned["lactation_length_d"] + 8 / 24 - weaned["birth_time_h"] / 24
    gain = (weaned["weaning_weight_kg"] - weaned["birth_weight_kg"]) / age_d
    limit = ranges()["piglet_gain"].high
    assert seen.counts["piglet_gain"].of == len(weaned)
    assert seen.counts["piglet_gain"].outside == (gain > limit).sum() > 0
    dry = days[(days["day"] >= 1) & (days["water_l"] < 3)].groupby(["replicate", "sow"]).size()
    assert seen.counts["days_without_water"].outside == (dry >= 2).sum()
    assert seen.counts["days_without_water"].of == days.groupby(["replicate", "sow"]).ngroups
    means = result.rooms.groupby(["replicate", result.rooms["hour"] // 24])["temperature_deg_c"].mean()
    assert seen.counts["room_temperature"].outside == ((means < 15) | (means > 30)).sum()


def test_observations_of_parts_add_up_to_those_of_the_whole(small_room):
    whole = farrowtide.run(small_room, replications=6, seed=3).observed
    added = Observed()
    for first in (0, 2, 4):
        part = farrowtide.run(small_room, replications=2, first_replicate=first, seed=3).observed
        added.add(Observed.from_json(part.as_json()))
    for sums in ("reached", "worked_min", "on_duty_min"):
        assert getattr(added, sums) == pytest.approx(getattr(whole, sums))
        setattr(added, sums, getattr(whole, sums))
    assert added == whole


def test_the_days_of_a_sow_end_where_another_sow_or_room_begins():
    """Sow 1 of room 0 is at 18 mm at the least, sow 2 at 15; the only sow of each of two further rooms at 20 and 12 mm."""
    days = {
        "replicate": np.array([0, 0, 0, 0, 1, 1, 2]),
        "sow": np.array([1, 1, 2, 2, 1, 1, 1]),
        "backfat_mm": np.array([19.0, 18.0, 15.0, 16.0, 21.0, 20.0, 12.0]),
    }
    values, replicates, sows = observed._lowest_backfat({"sow_days": days})
    assert (values.tolist(), replicates.tolist(), sows.tolist()) == ([18, 15, 20, 12], [0, 0, 1, 2], [1, 2, 1, 1])


def test_the_most_extreme_animal_can_be_found_again():
    hungry = room(feeding={"allowance": {"rule": "flat", "amount": "0 kg/d"}})
    result = farrowtide.run(hungry, replications=3, first_replicate=7)
    count = result.observed.counts["days_without_feed"]
    sow = result.sows.set_index(["replicate", "sow"]).loc[(count.replicate, count.sow)]
    assert count.outside > 0
    assert sow["zero_feed_days"] == result.sows["zero_feed_days"].max() == count.worst


def test_work_that_is_never_done_is_named_and_the_end_of_the_run_is_not_neglect():
    seen = Observed(tasks={"daily look": [10, 0, 6], "wash": [1, 0, 1], "processing": [10, 10, 0], "wean": [4, 1, 0]})
    found = findings.found_in({"": (seen, Expected(True, None))})
    assert [(one.place, one.problem) for one in found] == [
        ("task 'daily look'", "6 of 10 that were asked for were never done"),
        ("task 'processing'", "10 of 10 that were asked for were done late"),
    ]


def test_a_warning_about_some_alternatives_names_them_and_one_about_all_names_none():
    late, well = (Observed(tasks={"processing": [10, number, 0]}) for number in (10, 0))
    for seen, named in (({"a": late, "b": well}, ("a",)), ({"a": late, "b": late}, ())):
        (found,) = findings.found_in({name: (each, Expected(True, None)) for name, each in seen.items()})
        assert found.where == named


def test_piglets_of_dead_sows_are_explained_where_nobody_is_moved():
    seen = Observed(moved=32, born_alive=1000)
    (found,) = findings.found_in({"": (seen, Expected(False, None))})
    assert "3.2 % of the piglets were moved though no moves are planned" in found.problem
    assert findings.found_in({"": (seen, Expected(True, None))}) == []


@pytest.mark.parametrize(("asked", "told"), [("litter integrity", True), ("kept whole", True), ("weaned", False)])
def test_a_study_speaks_of_piglets_of_dead_sows_only_where_it_asks_about_moves(asked, told):
    studied = room(alternatives={"a": {}, "b": {"handling.day": 5}}).override({"room.crates": 24, "herd.health": "on"})
    compared = farrowtide.compare(studied, replications=8, outputs=[asked])
    assert compared.replicates["piglets_moved_percent"].max() > 0
    assert (findings.MOVED in {warning.kind for warning in compared.warnings}) == told


def test_night_cover_says_how_little_of_it_is_worked():
    night = farrowtide.run(room(attendance={"night_people": 1}), replications=3)
    hours = [*range(16, 24), *range(7)]
    worked = night.work_hours[night.work_hours["hour"].isin(hours)]["minutes"].sum()
    paid = night.duty_hours[night.duty_hours["hour"].isin(hours)]["on_duty_min"].sum()
    one = only("idle at night", night.warnings)
    assert f"people on duty at night work {100 * worked / paid:.2g} % of the time" in one.problem


def test_alternatives_that_change_nothing_are_said_to_be_identical():
    chamber = room(climate={"kind": "imposed", "temperature": "20 degC"})
    found = farrowtide.compare(chamber, {"cool": {"temperature.farrowing": 20}, "warm": {"temperature.farrowing": 24},
                                         "late": {"handling.day": 9}}, replications=3).warnings  # fmt: skip
    one = only("identical alternatives", found)
    assert one.place == "cool = warm"
    assert one.problem == "identical in every output of all 3 rooms"
    assert "temperature.farrowing" in one.advice


def test_groups_of_identical_alternatives_that_differ_in_the_same_key_have_one_warning():
    chamber = room(climate={"kind": "imposed", "temperature": "20 degC"})
    varied = {"temperature.farrowing": [20, 24], "room.crates": [1, 2, 3]}
    one = only("identical alternatives", sweep(chamber, varied, replications=2).warnings)
    assert one.place.endswith(" (and 2 more groups, which differ in the same)")
    assert one.advice.startswith("They differ in temperature.farrowing,")


def test_few_rooms_are_said_to_be_few(small_room):
    few, enough = (farrowtide.compare(small_room, replications=n, seed=3).warnings for n in (2, 20))
    assert "only 2 rooms were run" in only("few rooms", few).problem
    assert "few rooms" not in kinds(enough)


def test_as_many_rooms_as_are_advised_are_enough_for_intervals(small_room):
    """Of fewer, the verdict says that an interval needs more: then the advice would be followed in vain."""
    few = farrowtide.compare(small_room, replications=2, seed=3)
    advised = int(re.search(r"Run (\d+) or more", only("few rooms", few.warnings).advice)[1])
    enough = farrowtide.compare(small_room, replications=advised, seed=3)
    of_all_sows = [name for name, output in farrowtide.catalogue().items() if not output.of_one_parity_class]
    short = f"an interval needs {advised} rooms"
    assert (few.differences["reason"] == short).any()
    rows = enough.differences
    rows = rows[(rows["n"] == advised) & rows["output"].isin(of_all_sows)]
    assert len(rows) > 100
    assert not rows["reason"].fillna("").str.startswith("an interval needs").any()


def test_the_scenario_as_written_is_not_run_twice(three_sows):
    found = sweep(three_sows, {"climate.temperature": ["68 degF", "22 degC"]}, replications=2)
    assert list(found.alternatives) == ["temperature 68 degF", "temperature 22 degC"]
    assert found.reference == "temperature 68 degF"
    other = sweep(three_sows, {"climate.temperature": ["21 degC", "22 degC"]}, replications=2)
    assert other.reference == "as written"


def test_a_study_keeps_what_it_saw_when_it_is_resumed(three_sows, tmp_path):
    def found(**options):
        return farrowtide.compare(three_sows, replications=25, folder=tmp_path, **options).warnings

    assert found() == found(resume=True)


# --- Rooms that go wrong ---


def test_a_room_that_nobody_weans_is_an_outcome():
    absent = room(staff={"shifts": [{"days": ["tue"]}]})
    result = farrowtide.run(absent)
    assert (result.sows["left_as"] == "weaned late").all()
    assert result.outputs["weaned_per_litter"].notna().all()
    assert result.outputs["sows_lost_percent"].eq(0).all()
    assert "6 of 6 sows were still nursing" in only("weaned late", result.warnings).problem


class _OneFault:
    """The engine, but with one room that broke off."""

    def __init__(self, run):
        self._run = run

    def __call__(self, scenario, **options):
        core, stopped_by = self._run(scenario, **options)
        faulty = 3
        if not options["first_replicate"] <= faulty < options["first_replicate"] + core.replications:
            return core, stopped_by
        tables = {}
        for name in farrowtide.engine.result.TABLES:
            columns = core.columns(name)
            kept = columns["replicate"] != faulty
            tables[name] = {column: np.array(values[kept]) for column, values in columns.items()}
        return (
            farrowtide.engine.result.KeptRun(
                core.replications, core.events, core.checks, [(faulty, "the model broke")], tables, {}
            ),
            stopped_by,
        )


@pytest.mark.filterwarnings("ignore::farrowtide.PlausibilityWarning")
def test_a_study_goes_on_without_a_room_that_broke_off(small_room, tmp_path, monkeypatch):
    whole = farrowtide.compare(small_room, replications=6, seed=3)
    monkeypatch.setattr("farrowtide._core.run", _OneFault(farrowtide._core.run))
    for resume in (False, True):
        found = farrowtide.compare(small_room, replications=6, seed=3, folder=tmp_path, resume=resume)
        assert [(room["alternative"], room["replicate"], room["seed"], room["fault"]) for room in found.set_aside] == [
            (name, 3, 3, "the model broke") for _ in found.cases for name in found.alternatives
        ]
        named = [one for one in found.warnings if one.kind == "room set aside"]
        assert {one.place for one in named} == {"replicate 3"}
        assert len({one.where for one in named}) == len(found.set_aside)
        intake = found.replicates.set_index(["case", "alternative", "replicate"])["feed_intake_kg_per_day"]
        assert intake.xs(3, level="replicate").isna().all()
        expected = whole.replicates.set_index(["case", "alternative", "replicate"])["feed_intake_kg_per_day"]
        pd.testing.assert_series_equal(intake.drop(3, level="replicate"), expected.drop(3, level="replicate"))
        assert (found.differences.loc[found.differences["output"] == "feed_intake_kg_per_day", "n"] == 5).all()


def test_one_room_can_be_run_again_by_its_number(meals_file):
    again = json.loads(
        call("run", meals_file, "--set", "room.crates=4", "--replicate", "5", "--trace", "--json").stdout
    )
    other = json.loads(call("run", meals_file, "--set", "room.crates=4", "--trace", "--json").stdout)
    assert again["trace"]
    assert again["trace"] != other["trace"]


# --- Python ---


def test_warnings_are_python_warnings_and_hold_a_result_where_they_are_errors():
    with pytest.warns(PlausibilityWarning, match="paid hours") as issued:
        farrowtide.compare(
            room(attendance={"night_people": 1}), {"early": {}, "late": {"handling.day": 5}}, replications=2
        )
    assert {warning.filename for warning in issued} == {__file__}
    with warnings.catch_warnings():
        warnings.simplefilter("error", PlausibilityWarning)
        with pytest.raises(PlausibilityWarning) as before:
            farrowtide.run(room(attendance={"night_people": 1}))
        with pytest.raises(PlausibilityWarning) as after:
            farrowtide.run(room(climate={"kind": "imposed", "temperature": "35 degC"}))
    assert before.value.finished is None
    assert after.value.finished.replications == 1


def test_a_study_that_is_stopped_by_a_warning_before_it_has_run_no_room():
    scenario, told = room(climate={"temperature": "22 degC"}), []
    with warnings.catch_warnings():
        warnings.simplefilter("error", PlausibilityWarning)
        with pytest.raises(PlausibilityWarning, match=r"climate.temperature.* has no effect"):
            farrowtide.compare(
                scenario,
                {"early": {}, "late": {"handling.day": 5}},
                replications=1,
                progress=lambda *seen: told.append(seen),
            )
    assert told == []


def test_all_warnings_are_told_where_they_are_errors():
    found = [
        PlausibilityWarning("a", "here", "first", "Do this."),
        PlausibilityWarning("b", "there", "second", "Do that."),
    ]
    with warnings.catch_warnings():
        warnings.simplefilter("error", PlausibilityWarning)
        with pytest.raises(PlausibilityWarning, match="here: first") as raised:
            emit(found)
    assert raised.value.__notes__ == ["there: second. Do that."]
    assert pickle.loads(pickle.dumps(found[0])) == found[0]


@pytest.mark.parametrize(
    ("options", "message"),
    [
        ({"threads": -1}, "threads = -1"),
        ({"first_replicate": -1}, "first_replicate = -1"),
        ({"record": iter(["sows"])}, "a list of names of tables"),
        ({"record": "sows"}, "a list of names of tables"),
    ],
)
def test_impossible_options_of_a_run_are_refused(options, message, three_sows):
    with pytest.raises(UserError, match=message):
        farrowtide.run(three_sows, **options)


def test_impossible_options_of_a_study_are_refused(three_sows, comparison, tmp_path):
    with pytest.raises(UserError, match="threads = -1"):
        farrowtide.compare(three_sows, replications=2, threads=-1)
    with pytest.raises(UserError, match="units = 'zz'"):
        comparison.write_report(tmp_path, units="zz")
    with pytest.raises(UserError, match="units = 'zz'"):
        comparison.outputs[0].shown(1.0, units="zz")
    with pytest.raises(UserError, match="replicate 99 is not in this run, which has 0 to 0"):
        farrowtide.run(three_sows).trace(99)


def test_results_and_comparisons_can_be_pickled(three_sows, comparison):
    result = farrowtide.run(three_sows, replications=2)
    again = pickle.loads(pickle.dumps(result))
    for name, table in result.tables.items():
        pd.testing.assert_frame_equal(again.tables[name], table)
    assert again.trace(1) == result.trace(1)
    assert again.provenance == result.provenance
    kept = pickle.loads(pickle.dumps(comparison))
    pd.testing.assert_frame_equal(kept.differences, comparison.differences)
    assert kept.outputs == comparison.outputs


def test_a_sow_that_dies_before_farrowing_has_no_litter(small_room):
    result = farrowtide.run(farrowtide.load({"title": "x", "room": {"crates": 40}}), replications=40, seed=1)
    farrowed = result.sows[(result.sows["nurse"] == 0) & (result.sows["total_born"] > 0)]
    assert len(farrowed) < (result.sows["nurse"] == 0).sum()
    expected = result.sows.groupby("replicate")["weaned"].sum() / farrowed.groupby("replicate").size()
    np.testing.assert_allclose(result.outputs["weaned_per_litter"], expected)


def test_columns_say_what_a_missing_value_means(meals_file):
    scenario = farrowtide.load(
        {"title": "x", "room": {"crates": 30}, "fostering": {"kind": "fill_teats", "nurse_sows": 2}}
    )
    result = farrowtide.run(scenario, replications=20)
    for name, table in result.tables.items():
        meanings = result.columns(name).set_index("column")["meaning"]
        silent = [column for column in table if table[column].isna().any() and "missing" not in meanings[column]]
        assert silent == [], name


# --- Documentation ---


def test_every_kind_of_warning_is_in_the_list():
    page = warnings_page()
    for kind in (*CHECKS, *findings.KINDS, *watch.KINDS):
        assert f"| {kind} | " in page
    for check in CHECKS.values():
        assert check.__doc__


def test_limits_have_a_grade_a_source_and_a_measure():
    assert ranges().keys() == observed._MEASURES.keys()
    for limits in ranges().values():
        assert limits.grade in ("A", "B", "C")
        assert limits.source
        assert limits.low is not None or limits.high is not None


def test_blocks_of_an_earlier_version_have_nothing_observed(three_sows, tmp_path):
    table = blocks.simulate(blocks.Block(blocks.Arm("case", "name", three_sows, 1), 0, 1, blocks.Kept()))
    assert blocks.observed(table).sows == 3
    assert blocks.observed(table.replace_schema_metadata({})) == Observed()

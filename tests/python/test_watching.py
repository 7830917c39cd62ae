"""Watching a running room: bands given a sow's own days, flags, rooms off track, and audits."""

from __future__ import annotations

import datetime
import json

import numpy as np
import pandas as pd
import pytest
from click.testing import CliRunner

import farrowtide
from farrowtide import _core
from farrowtide.analysis.watching import alarms
from farrowtide.analysis.watching.alarms import evidence, rates
from farrowtide.analysis.watching.auditing import OUTPUTS
from farrowtide.analysis.watching.expected import Distribution, Expected
from farrowtide.analysis.watching.faults import FAULTS
from farrowtide.analysis.watching.reference import TABLES, reference, simulated_stays, unblocked
from farrowtide.analysis.watching.rooms import SimulatedRooms, judged, median_farrowing
from farrowtide.analysis.watching.stays import MEASURED, Stays
from farrowtide.commands.main import main
from farrowtide.records import Records, read, simulated

MORNING = datetime.date(2026, 1, 28)
ROOMS = 24


@pytest.fixture(scope="module")
def scenario(meals_file):
    return farrowtide.load(meals_file).alternative("2 hand feeds")


def rooms_of(scenario, rooms, first=0, seed=1):
    record = ("sow_days", "piglets")
    return farrowtide.run(scenario, replications=rooms, seed=seed, first_replicate=first, record=record)


@pytest.fixture(scope="module")
def records(scenario):
    return simulated(rooms_of(scenario, 1, seed=77), scenario)


@pytest.fixture(scope="module")
def usual(scenario, records):
    return watched(scenario, records)


def watched(scenario, records, **options):
    return farrowtide.watch(scenario, records, **{"morning": MORNING, "replications": ROOMS} | options)


def with_days(records, sow, values, days=1):
    """The records with other amounts of a sow on the last days before the morning."""
    table = records.days.copy()
    first = pd.Timestamp(MORNING) - pd.Timedelta(days=days)
    chosen = (table["sow"] == sow) & (table["date"] >= first)
    for column, factor in values.items():
        table.loc[chosen, column] = table.loc[chosen, column] * factor
    return Records(records.farrowings, table)


def flags_of(watched, sow):
    return set(watched.flags.loc[watched.flags["sow"] == sow, "flag"])


@pytest.fixture(scope="module")
def quiet(usual):
    """Sows without an alarm that have nursed for ten days and more."""
    bands = usual.bands[usual.bands["lactation_day"] >= 10]
    alarmed = set(usual.flags.loc[usual.flags["alarm"], "sow"])
    return [sow for sow in bands["sow"].unique() if sow not in alarmed]


CHANGES = {  # factors by which what a sow eats and drinks is changed, and on how many days before the morning
    "dry": ({"water_l": 0.0}, 1),
    "one day": ({"eaten_kg": 0.3}, 1),
    "two days": ({"eaten_kg": 0.3}, 2),
    "untouched": ({"eaten_kg": 0.0, "water_l": 0.15}, 1),
    "always less": ({"eaten_kg": 0.8, "water_l": 0.8}, 30),
}


@pytest.fixture(scope="module")
def changed(scenario, records, quiet):
    """The list of the same morning where one sow each had one of CHANGES, and the names of these sows."""
    sows = dict(zip(CHANGES, quiet, strict=False))
    for name, (factors, days) in CHANGES.items():
        records = with_days(records, sows[name], factors, days)
    return watched(scenario, records), sows


def test_prediction_is_the_best_linear_one_of_a_random_sow_effect():
    """Henderson 1975, Biometrics 31:423: the sow effect is shrunken by n var_b / (n var_b + var_e)."""
    rng, sows, days, between = np.random.default_rng(5), 6_000, 6, 0.6
    scores = np.sqrt(between) * rng.standard_normal((sows, 1)) + np.sqrt(1 - between) * rng.standard_normal(
        (sows, days)
    )
    values = {name: np.full((sows, days), np.nan) for name in MEASURED} | {"eaten_kg": 5 + scores}
    stays = Stays(pd.DataFrame({"parity": np.full(sows, 3)}), values)
    expected = Expected("eaten_kg", stays)
    found = expected.predicted(expected.scores(stays))
    past = scores[:, :5].mean(axis=1)
    weight = 5 * between / (5 * between + 1 - between)
    assert np.corrcoef(found.mean[:, 5], past)[0, 1] > 0.995
    assert np.polyfit(past, found.mean[:, 5], 1)[0] == pytest.approx(weight, abs=0.03)
    assert found.sd[0, 5] ** 2 == pytest.approx(1 - between * weight, abs=0.02)
    assert np.allclose(expected.amounts(stays, expected.scores(stays)), values["eaten_kg"], atol=1e-6)


def test_amounts_beyond_the_simulated_ones_have_scores_in_proportion():
    """Of 1 to 39 kg the median is 20 kg and 97.5 % lie below 38.05: 1.96 scores for 18.05 kg, at either end."""
    distribution = Distribution(np.arange(1.0, 40.0))
    last, beyond = distribution.scores(np.array([39.0, 39.0 + 18.05]))
    assert beyond - last == pytest.approx(1.96, abs=1e-3)
    first, below = distribution.scores(np.array([1.0, 1.0 - 18.05]))
    assert below - first == pytest.approx(-1.96, abs=1e-3)
    amounts = np.array([0.5, 1.0, 20.0, 39.0, 50.0])
    assert distribution.amounts(distribution.scores(amounts)) == pytest.approx(amounts)


def test_healthy_rooms_have_the_rate_of_alarms_that_was_chosen(scenario):
    """In rooms that the limits were not chosen by; at 5 in 100 the standard error of 50 rooms is about 4 %."""
    healthy = unblocked(scenario)

    def stays(rooms, first):
        result = farrowtide.run(healthy, replications=rooms, seed=1, first_replicate=first, record=TABLES)
        return simulated_stays(result, healthy)

    of = reference(stays(50, 0), 5.0, "both")
    found = rates(evidence(stays(50, 5000).of_healthy, of.expected), of.thresholds).found
    assert found == pytest.approx(5.0, rel=0.2)
    assert of.thresholds.found == pytest.approx(5.0, rel=0.2)


def test_a_dry_drinker_is_flagged_and_nobody_unchanged(usual, changed):
    found, sows = changed
    assert "no_water" in flags_of(found, sows["dry"])
    assert set(found.flags["sow"]) - set(sows.values()) == set(usual.flags["sow"]) - set(sows.values())


def test_two_days_of_little_feed_are_flagged_and_one_is_not(changed):
    found, sows = changed
    assert "feed_below_band" not in flags_of(found, sows["one day"])
    assert "feed_below_band" in flags_of(found, sows["two days"])
    row = found.flags[(found.flags["sow"] == sows["two days"]) & (found.flags["flag"] == "feed_below_band")].iloc[0]
    assert row["eaten_kg"] < row["eaten_kg_from_two_days_before_low"]
    assert row["eaten_kg_before"] < row["eaten_kg_before_low"]


def test_an_untouched_trough_is_told_before_low_water(changed):
    found, sows = changed
    flags = list(found.flags.loc[found.flags["sow"] == sows["untouched"], "flag"])
    assert flags.index("untouched_trough") < flags.index("water_below_band")


def test_a_sow_that_always_eats_less_is_expected_to(usual, changed):
    found, sows = changed
    yesterday = pd.Timestamp(MORNING - datetime.timedelta(days=1))

    def expected(of):
        rows = of.bands[(of.bands["sow"] == sows["always less"]) & (of.bands["date"] == yesterday)]
        return rows["eaten_kg_expected"].item()

    assert expected(found) < 0.92 * expected(usual)
    assert "feed_below_band" not in flags_of(found, sows["always less"])


def test_records_without_water_are_watched_by_feed(scenario, records):
    found = watched(scenario, Records(records.farrowings, records.days.assign(water_l=np.nan)), replications=9)
    assert found.signals == "feed"
    assert not {"no_water", "water_below_band"} & set(found.flags["flag"])


def test_a_hot_room_is_off_track_and_heat_is_named_first(scenario, usual):
    hot = scenario.override({"temperature.later": "80 degF"})
    found = watched(scenario, simulated(rooms_of(hot, 1, seed=77), hot), replications=10)
    assert found.rooms["off_track"].any()
    assert found.causes["fault"].iloc[0] == "hot_room"
    assert not usual.rooms["off_track"].any()
    assert usual.causes.empty


def test_every_fault_is_a_possible_scenario(scenario):
    assert all(fault.of(scenario) is not None for fault in FAULTS)


def test_the_page_is_the_same_on_any_number_of_threads(scenario, records, tmp_path):
    for threads in (1, 2):
        watched(scenario, records, threads=threads, replications=9).write_report(tmp_path / str(threads))
    assert (tmp_path / "1/morning.html").read_bytes() == (tmp_path / "2/morning.html").read_bytes()


@pytest.fixture(scope="module")
def hostile(records, quiet, tmp_path_factory):
    """A folder of records in which a sow that is flagged has a name that would act on what shows it."""
    folder = tmp_path_factory.mktemp("hostile")
    dry = with_days(records, quiet[0], {"water_l": 0})
    name = "=<script>alert(1)</script>"
    Records(*(table.assign(sow=table["sow"].replace(quiet[0], name)) for table in (dry.farrowings, dry.days))).write(
        folder
    )
    return folder, name


def run(*words):
    return CliRunner().invoke(main, [str(word) for word in words])


def test_names_in_records_are_inert_on_the_list(meals_file, hostile, tmp_path):
    folder, name = hostile
    done = run("watch", meals_file, "--alternative", "2 hand feeds", "--days", folder / "days.csv", "--morning", MORNING, "-n", 12,
               "--json", "-q", "--out", tmp_path)  # fmt: skip
    assert done.exit_code == 0
    data = json.loads(done.stdout)
    assert any(name in line and "no water" in line for line in data["list"])
    assert data["false_alarms"]["chosen"] == 1.0
    page = (tmp_path / "morning.html").read_text()
    assert "<script>" not in page
    assert "&lt;script&gt;" in page
    assert "http" not in page.replace("http-equiv", "")
    assert "not a diagnosis" in page
    assert "\n'=<script>" in (tmp_path / "flags.csv").read_text()


def test_mistakes_name_what_is_missing(meals_file, hostile, tmp_path):
    folder, _ = hostile
    (tmp_path / "days.csv").write_bytes((folder / "days.csv").read_bytes())
    alone = run("watch", meals_file, "--days", tmp_path / "days.csv")
    assert alone.exit_code == 2
    assert "--farrowings" in alone.stderr
    (tmp_path / "farrowings.csv").write_text(
        "sow,parity,farrowed_on,born_alive,stillborn,weaned_on\nA,2,16.01.2026,12,1,06.02.2026\n", encoding="utf-8"
    )
    for command in (["watch", "--days", tmp_path / "days.csv"], ["audit"]):
        unread = run(command[0], meals_file, *command[1:], "--farrowings", tmp_path / "farrowings.csv", "-n", 40)
        assert unread.exit_code == 2
        assert "farrowings.csv:2: farrowed_on = 16.01.2026: is not year-month-day" in unread.stderr
    late = run("watch", meals_file, "--days", folder / "days.csv", "--morning", "2027-01-01", "-n", 6)
    assert late.exit_code == 2
    assert "the last recorded day is" in late.stderr
    assert run("watch", meals_file, "--days", folder / "days.csv", "--false-alarms", "0").exit_code == 2


@pytest.fixture(scope="module")
def priced(meals_file):
    return farrowtide.load(meals_file.parent / "what_full_access_may_cost.yaml").alternative("2 hand feeds")


def test_an_audit_finds_light_litters_and_what_they_are_worth(priced, records):
    farrowings = records.farrowings.assign(litter_weight_kg=records.farrowings["litter_weight_kg"] * 0.5)
    found = farrowtide.audit(priced, Records(farrowings, records.days), replications=40)
    table = found.table.set_index("output")
    light = table.loc["litter_weight_kg"]
    assert light["outside"]
    assert light["better"] == "worse"
    price = priced.prices.given["weaned_kg"]
    assert light["worth"] == pytest.approx(price * (light["value"] - light["expected"]) * len(farrowings))
    parts = table.loc[["weaned", "litter_weight_kg", "treatments", "offered_kg"], "worth"]
    assert table.loc["margin", "worth"] == pytest.approx(parts.sum())
    assert table.loc["margin", "outside"]


def test_rooms_run_as_written_are_inside_their_intervals(priced):
    """Of 6 rooms with 14 outputs, which are correlated, one in twenty is outside by chance."""
    result = rooms_of(priced, 6, first=900)
    found = farrowtide.audit(priced, simulated(result, priced), replications=40)
    outputs = found.table[found.table["output"] != "margin"]
    assert outputs["outside"].mean() < 0.12
    assert len(found.groups) == 6


def test_open_groups_are_not_audited(priced, records):
    running = Records(records.farrowings.assign(weaned_on=pd.NaT), records.days)
    with pytest.raises(farrowtide.UserError, match="no group is weaned"):
        farrowtide.audit(priced, running)


def test_what_is_left_in_the_trough_is_read_and_written(records, tmp_path):
    records.write(tmp_path)
    again = read(tmp_path / "farrowings.csv", tmp_path / "days.csv", today=datetime.date(2026, 12, 1))
    assert again.days["left_kg"].notna().all()
    assert len(again.rejected) == 0


def test_a_small_room_is_judged_by_as_many_sows(scenario):
    """Rooms of 6 sows vary more: by the intervals of 24 sows, far more than 1 of them in 10 would be off track."""
    crowd, few = (simulated_stays(rooms_of(of, rooms, first=first), of).stays for of, rooms, first in (
        (scenario, 60, 0), (scenario.override({"room.crates": 6}), 60, 100)))  # fmt: skip
    reference = SimulatedRooms(crowd)
    off, too_narrow = [], []
    for room in few.sows["room"].unique():
        stays = few[(few.sows["room"] == room).to_numpy()]
        date = median_farrowing(stays) + pd.Timedelta(days=10)
        found = judged(stays.until(date), date, reference)
        off.append(found["off_track"].any())
        of_all = reference.on_day(10).std()[found["output"]].to_numpy()
        too_narrow.append((of_all < reference.on_day(10, len(stays)).std()[found["output"]].to_numpy()).mean() > 0.5)
    assert np.mean(off) < 0.15
    assert all(too_narrow)


def test_a_morning_before_the_first_record_is_refused(scenario, records):
    with pytest.raises(farrowtide.UserError, match=r"morning = 0001-01-01: no day before it is recorded \(20"):
        watched(scenario, records, morning=datetime.date(1, 1, 1))


def test_signals_of_earlier_groups_do_not_count(scenario, records):
    """An earlier group in the same file had water meters; the running one has none."""
    earlier = records.farrowings.assign(
        sow=records.farrowings["sow"] + "-before",
        **{name: records.farrowings[name] - pd.Timedelta(days=60) for name in ("loaded_on", "farrowed_on")},
        weaned_on=records.farrowings["farrowed_on"] - pd.Timedelta(days=39),
    )
    days = records.days.assign(sow=records.days["sow"] + "-before", date=records.days["date"] - pd.Timedelta(days=60))
    both = Records(pd.concat([records.farrowings, earlier], ignore_index=True),
                   pd.concat([records.days.assign(water_l=np.nan), days], ignore_index=True))  # fmt: skip
    assert watched(scenario, both, replications=9).signals == "feed"


def test_a_feed_is_not_left_out_where_somebody_works_at_night(meals_file):
    missed = next(fault for fault in FAULTS if fault.name == "missed_feed")
    by_day = farrowtide.load(meals_file).case("January").alternative("2 hand feeds")
    assert missed.of(by_day) is not None
    assert missed.of(by_day.override({"attendance.night_people": 1})) is None
    late = by_day.override({"feeding.times": ["07:00", "23:45"]})
    assert all(fault.of(late) is None for fault in FAULTS if fault.name in ("late_feeds", "missed_feed"))


def test_an_audit_judges_no_output_of_a_part_of_the_days(priced, records):
    part = Records(
        records.farrowings, records.days[records.days["date"] < records.days["date"].min() + pd.Timedelta(days=14)]
    )
    found = farrowtide.audit(priced, part, replications=40).table.set_index("output")
    whole = farrowtide.audit(priced, records, replications=40).table.set_index("output")
    of_days = {"eaten_kg", "water_l", "offered_kg"}
    assert of_days <= set(whole.index)
    assert not of_days & set(found.index[found["value"].notna()])


def faulty(name, scenario):
    (fault,) = [each for each in FAULTS if each.name == name]
    return fault.of(scenario)


def test_a_room_that_is_too_warm_or_cold_is_so_by_the_same_on_every_day():
    planned = farrowtide.load({"title": "t", "temperature": {"kind": "schedule", "farrowing": 23, "later": 19}})
    for name, sign in (("hot_room", 1), ("cold_room", -1)):
        wrong = faulty(name, planned).set_points_by_day
        first, last = min(wrong), max(wrong)
        by_k = wrong[first][0] - planned.set_points_by_day[first][0]
        assert sign * by_k > 0
        assert wrong[last][1] - planned.set_points_by_day[last][1] == pytest.approx(by_k)


def test_late_feeds_are_three_hours_late_and_the_last_half_an_hour():
    planned = farrowtide.load({"title": "t", "feeding": {"kind": "hand", "times": ["07:30", "11:15", "15:45"]}})
    times = {path: value for path, value, *_ in _core.settings_in_effect(faulty("late_feeds", planned)._core)}
    assert json.loads(times["feeding.times"]) == ["10:30", "14:15", "16:15"]


def test_a_trough_is_empty_where_less_than_the_named_share_is_left_on_two_days():
    """Of 4 kg offered each day; left over is a little less or more than what counts as empty."""
    empty, left = (factor * alarms.limits()["empty_share"] * 4 for factor in (0.9, 1.1))
    days = [[empty, empty, empty], [empty, left, empty], [left, left, left]]
    values = {name: np.full((3, 3), np.nan) for name in MEASURED} | {"left_kg": np.array(days)}
    values |= {"offered_kg": np.full((3, 3), 4.0), "eaten_kg": 4.0 - np.array(days)}
    stays = Stays(pd.DataFrame({"parity": [2] * 3, "duration_min": pd.array([200.0] * 3, dtype="Float64")}), values)
    found = alarms._facts(stays, np.full((3, 3), np.nan))[alarms.EMPTY]
    assert found.tolist() == [[False, True, True], [False] * 3, [False] * 3]


def test_an_audit_needs_what_is_recorded_of_half_of_the_sows():
    """Of eight sows, three say nothing of the room, and four do: 2 stillborn of 40 born are 5 %."""
    of = {output.name: output.measure for output in OUTPUTS}
    for known, weaned, percent in ((3, np.nan, np.nan), (4, 11.5, 5.0)):
        farrowings = pd.DataFrame(
            {"weaned": [10.0, 11.0, 12.0, 13.0], "stillborn": [1.0, 0.0, 1.0, 0.0], "born_alive": [9.0, 10.0, 9.0, 10.0]}
        ).head(known).reindex(range(8))  # fmt: skip
        assert of["weaned"](farrowings, pd.DataFrame()) == pytest.approx(weaned, nan_ok=True)
        assert of["stillborn_percent"](farrowings, pd.DataFrame()) == pytest.approx(percent, nan_ok=True)

"""Runs from Python: the same numbers whatever the way, tables without a copy, mistakes told."""

import gc
import json
import pickle
import subprocess
import sys
from datetime import date
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

import farrowtide
from farrowtide import _core
from farrowtide.engine import provenance
from farrowtide.engine.result import ALL_TABLES, CAUSES, TABLES, KeptRun, frame, write_tables
from farrowtide.errors import InternalError
from farrowtide.limits import MOST_REPLICATES, MOST_THREADS
from farrowtide.policies import Handling


def test_columns_are_views_of_the_engines_memory_that_outlive_the_result(three_sows):
    result = farrowtide.run(three_sows, replications=2)
    columns = result._core.columns("sow_days")
    frame = result.sow_days
    for name in ("eaten_kg", "sow"):  # a real number and a whole one
        assert np.shares_memory(columns[name], frame[name].to_numpy())
        assert not frame[name].to_numpy().flags.writeable
    before = frame["eaten_kg"].sum()
    eaten = frame["eaten_kg"].to_numpy()
    del result, columns, frame
    gc.collect()
    assert eaten.sum() == before > 0


def test_categories_carry_words(three_sows):
    result = farrowtide.run(three_sows)
    assert {"weaned", "died", "stillborn"} <= set(result.piglets["fate"].cat.categories)
    assert "feed by hand" in set(result.tasks["kind"])


def test_every_table_tells_unit_and_meaning_of_its_columns(three_sows):
    result = farrowtide.run(three_sows)
    for table in TABLES:
        described = result.columns(table)
        assert list(described["column"]) == list(getattr(result, table).columns)
        assert described["meaning"].str.len().min() > 0


def test_the_command_of_a_run_leaves_out_what_is_not_given(three_sows):
    words = provenance.command("run", three_sows, seed=3, replicate=None, outputs=["a", "b"])
    assert words.endswith(" --seed 3 --output a --output b")
    built = farrowtide.load({"title": "t"})
    assert provenance.command("run", built, seed=3, replicate=None) == f"farrowtide.run({built.expression}, seed=3)"


def test_threads_and_blocks_change_nothing(small_room):
    whole = farrowtide.run(small_room, replications=6, seed=9, threads=1)
    halves = [farrowtide.run(small_room, replications=3, seed=9, threads=2, first_replicate=first) for first in (0, 3)]
    for table in TABLES:
        joined = pd.concat([getattr(half, table) for half in halves], ignore_index=True)
        pd.testing.assert_frame_equal(getattr(whole, table), joined, check_exact=True)


def test_conservation_is_checked_in_every_run_and_counted(small_room):
    one, two = (farrowtide.run(small_room, replications=n, seed=9, record=[]) for n in (1, 2))
    assert 0 < one.checks < two.checks
    assert two.provenance["conservation_checks_passed"] == two.checks


def test_every_death_has_a_cause_and_only_deaths_have(small_room):
    piglets = farrowtide.run(small_room, replications=20).piglets
    assert list(piglets["cause"].cat.categories) == ["-", "crushed", "starved or weak", "scours", "other"]
    assert ((piglets["fate"] == "died") == (piglets["cause"] != "-")).all()
    assert {"crushed", "starved or weak", "other"} <= set(piglets["cause"])  # scours needs an outbreak


def test_the_seed_changes_the_animals(small_room):
    one, other = (farrowtide.run(small_room, seed=seed).piglets["birth_weight_kg"].sum() for seed in (1, 2))
    assert one != other


def test_the_trace_has_a_line_for_every_event(three_sows):
    result = farrowtide.run(three_sows, replications=2, record=["events"])
    assert len(result.trace(0)) + len(result.trace(1)) == len(result.events)
    assert any("piglet 1 is born" in line for line in result.trace(1))


def test_what_was_not_recorded_is_refused(three_sows):
    result = farrowtide.run(three_sows, record=[])
    with pytest.raises(farrowtide.UserError, match="'events' was not recorded"):
        _ = result.events
    with pytest.raises(farrowtide.UserError, match="no table is called 'cows'"):
        farrowtide.run(three_sows, record=["cows"])


FUNCTIONS = {
    "run": farrowtide.run,
    "compare": lambda given: farrowtide.compare(given, replications=1),
    "sweep": lambda given: farrowtide.sweep(given, {"handling.day": [3, 5]}, replications=1),
    "pick": lambda given: farrowtide.pick(given, "labour", 1.0),
    "pairing_table": farrowtide.pairing.pairing_table,
    "each_sow": lambda given: farrowtide.pairing.each_sow(given, "a", "b"),
    "describe": farrowtide.describe,
}


@pytest.mark.parametrize("function", FUNCTIONS.values(), ids=FUNCTIONS)
def test_what_is_neither_a_scenario_nor_the_path_of_a_file_is_refused(function):
    with pytest.raises(farrowtide.UserError, match="expected a Scenario or the path of its file, got a dict"):
        function({"title": "Room"})
    with pytest.raises(farrowtide.UserError, match=r"'no_such\.yaml'"):
        function("no_such.yaml")


@pytest.mark.parametrize("kind", [str, Path])
def test_the_path_of_a_file_does_for_its_scenario(tmp_path, kind):
    file = tmp_path / "room.yaml"
    file.write_text(
        "title: Room\nroom: {crates: 2}\nalternatives: {early: {handling.day: 3}, late: {handling.day: 5}}\n"
    )
    loaded = farrowtide.load(file)
    assert farrowtide.run(kind(file)).sows.equals(farrowtide.run(loaded).sows)
    for name in ("compare", "sweep"):
        assert FUNCTIONS[name](kind(file)).means.equals(FUNCTIONS[name](loaded).means)


def test_what_is_a_yes_or_no_is_boolean_and_counts_as_the_engine_counts(three_sows):
    result = farrowtide.run(three_sows, replications=5, record=list(_core.tables()))
    assert len(result.deaths)
    yes_or_no = {
        (table, info.name)
        for table, infos in _core.tables().items()
        for info in infos
        if set(np.unique(result._core.columns(table)[info.name])) <= {0, 1} and info.unit == "yes/no"
    }
    assert {("sows", "nurse"), ("piglets", "male"), ("sow_days", "ill"), ("deaths", "orphaned")} <= yes_or_no
    for table, name in yes_or_no:
        column = getattr(result, table)[name]
        assert column.dtype == bool
        assert column.sum() == result._core.columns(table)[name].sum()


def test_hours_since_the_start_have_dates(three_sows):
    result = farrowtide.run(three_sows)
    hours = result.piglets["birth_time_h"].copy()
    hours.iloc[0], hours.iloc[1] = 25.5, np.nan
    dates = result.dates(hours)
    assert dates.dtype == "datetime64[s]"
    assert dates.iloc[0] == pd.Timestamp(three_sows.start) + pd.Timedelta("1 day 01:30:00")
    assert dates.isna().tolist() == hours.isna().tolist()
    assert dates.index.equals(hours.index)


def test_the_public_modules_are_attributes_of_the_package():
    script = (
        "import farrowtide\n"
        "for name in ('labour', 'pairing', 'policies', 'selecting'):\n"
        "    assert name in dir(farrowtide)\n"
        "    assert getattr(farrowtide, name).__name__ == f'farrowtide.{name}'\n"
    )
    subprocess.run([sys.executable, "-c", script], check=True)


def test_an_error_in_the_callers_progress_stops_the_run_and_comes_out(small_room):
    def fail(done):
        raise ZeroDivisionError("told")

    with pytest.raises(ZeroDivisionError, match="told"):
        farrowtide.run(small_room, replications=5000, record=[], progress=fail)


def test_a_mapping_is_read_as_the_file_is(three_sows):
    described = {"title": "x", "start": date(2026, 3, 2), "room": {"crates": np.int64(2)}}
    written = farrowtide.load(json.loads(json.dumps(described, default=str)) | {"room": {"crates": 2}})
    assert farrowtide.load(described).hash == written.hash


def test_values_may_carry_units(small_room):
    warm = small_room.override({"temperature.farrowing": "77 degF"})
    same = small_room.override({"temperature.farrowing": 25})
    runs = [farrowtide.run(scenario).rooms["set_point_deg_c"] for scenario in (warm, same)]
    np.testing.assert_allclose(*runs)


def test_every_mistake_is_told_with_its_place(tmp_path):
    file = tmp_path / "wrong.yaml"
    file.write_text("title: x\nroom:\n  crates: -3\n  crats: 4\n", encoding="utf-8")
    with pytest.raises(farrowtide.ScenarioError) as caught:
        farrowtide.load(file)
    places = {(mistake.key, mistake.line, mistake.column) for mistake in caught.value.mistakes}
    assert {("room.crates", 3, 11), ("room.crats", 4, 3)} <= places
    assert isinstance(caught.value, farrowtide.UserError)


@pytest.mark.parametrize("value", [float("nan"), object()])
def test_what_cannot_be_written_in_a_scenario_is_refused(small_room, value):
    with pytest.raises(farrowtide.UserError, match=r"room\.crates"):
        small_room.override({"room.crates": value})


def test_other_coefficients_change_results_and_stand_in_the_provenance(three_sows):
    overlaid = three_sows.with_coefficients({"sow.appetite.curve.half_time": [1.8, 1.5, 1.4]})
    result = farrowtide.run(overlaid)
    assert result.provenance["overlaid_coefficients"] == ["sow.appetite.curve.half_time"]
    assert overlaid.coefficient_hash != three_sows.coefficient_hash
    intake, before = (run.sows["feed_intake_kg_per_day"].mean() for run in (result, farrowtide.run(three_sows)))
    assert intake > before  # an appetite that rises faster


def test_the_command_in_the_provenance_repeats_the_run(small_room):
    changed = small_room.case("July").alternative("full access")
    result = farrowtide.run(changed, seed=5)
    again = eval(result.provenance["command"], {"farrowtide": farrowtide})
    pd.testing.assert_frame_equal(result.sows, again.sows, check_exact=True)


# --- What is asked for ---


@pytest.fixture
def asked(monkeypatch):
    """What the engine is asked for, one run after the other."""
    run, found = _core.run, []

    def noted(scenario, **options):
        found.append(options)
        return run(scenario, **options)

    monkeypatch.setattr(_core, "run", noted)
    return found


@pytest.mark.parametrize(
    ("record", "recorded"),
    [
        ([], ["sows"]),
        (("piglets",), ["sows", "piglets"]),
        ({"work_hours"}, ["sows", "tasks", "work_hours", "duty_hours"]),
        (["deaths", "sow_days"], ["sows", "sow_days", *CAUSES]),
        (TABLES, list(TABLES)),
    ],
)
def test_tables_that_go_together_are_recorded_together(record, recorded, three_sows):
    result = farrowtide.run(three_sows, record=record)
    assert list(result.tables) == recorded
    assert repr(result).endswith(f"; tables {', '.join(recorded)}>")
    for name in ALL_TABLES:
        if name not in recorded:
            with pytest.raises(farrowtide.UserError, match=f"the table '{name}' was not recorded"):
                getattr(result, name)


def test_the_first_unknown_table_by_name_is_told(three_sows):
    with pytest.raises(farrowtide.UserError, match=r"no table is called 'cows' \(tables: sows, sow_days,"):
        farrowtide.run(three_sows, record=["sows", "dogs", "cows"])


@pytest.mark.parametrize(
    ("options", "message"),
    [
        ({"replications": 0}, "replications = 0: must be at least 1"),
        ({"threads": -1}, "threads = -1: must be at least 0"),
        ({"replications": "40"}, "replications = '40': must be a whole number"),
        ({"replications": 2.5}, "replications = 2.5: must be a whole number"),
        ({"threads": "all"}, "threads = 'all': must be a whole number"),
        ({"seed": -1}, "seed = -1: must be at least 0"),
        ({"seed": 2**64}, "seed = 18446744073709551616: must be at most 18,446,744,073,709,551,615"),
        ({"threads": MOST_THREADS + 1}, "threads = 1025: must be at most 1,024"),
        (
            {"first_replicate": MOST_REPLICATES - 1, "replications": 2},
            "replicates 2147483647 to 2147483648: their numbers must be below 2,147,483,648",
        ),
    ],
)
def test_what_is_beyond_a_limit_is_not_begun(options, message, three_sows, asked):
    with pytest.raises(farrowtide.UserError, match=message):
        farrowtide.run(three_sows, **options)
    assert asked == []


def test_what_is_at_a_limit_is_run(three_sows):
    last = farrowtide.run(three_sows, first_replicate=MOST_REPLICATES - 1, threads=MOST_THREADS, record=[])
    assert set(last.sows["replicate"]) == {MOST_REPLICATES - 1}


def test_the_seed_is_that_of_the_file_where_none_is_given(three_sows):
    assert farrowtide.run(three_sows.override({"study.seed": 9})).seed == 9
    assert farrowtide.run(three_sows.override({"study.seed": 9}), seed=0).seed == 0


@pytest.mark.parametrize(("commit", "told"), [("0a1b2c3", "0a1b2c3"), ("", "not recorded")])
def test_the_commit_of_the_engine_is_told_where_it_was_recorded(commit, told, monkeypatch):
    monkeypatch.setattr(_core, "commit", commit)
    assert provenance.engine()["commit"] == told


def test_policies_in_python_are_run_on_one_thread_unless_more_are_asked_for(asked):
    class Own(Handling):
        """As written."""

        name = "own"

        def share_of_processing(self, view):
            return 0.0

    own = farrowtide.load({"title": "t", "room": {"crates": 1}, "handling": {"kind": "own"}}, policies=[Own])
    plain = farrowtide.load({"title": "t", "room": {"crates": 1}})
    for scenario, threads in ((own, 0), (own, 2), (plain, 0), (plain, 2)):
        farrowtide.run(scenario, threads=threads)
    assert [options["threads"] for options in asked] == [1, 2, 0, 2]
    assert {options["one_stream"] for options in asked} == {False}


def engine_that_did(monkeypatch, replications, set_aside=(), stopped_by=None):
    """An engine that has run so many replications of those that it is asked for, without rows."""
    tables = {
        name: {info.name: np.empty(0, np.int32 if info.labels else float) for info in infos}
        for name, infos in _core.tables().items()
    }
    kept = KeptRun(replications, 0, 0, list(set_aside), tables, {})
    monkeypatch.setattr(_core, "run", lambda *_arguments, **_options: (kept, stopped_by))


@pytest.mark.parametrize("stopped_by", [KeyboardInterrupt(), None])
def test_fewer_replications_than_asked_for_were_interrupted(three_sows, monkeypatch, stopped_by):
    """By Ctrl-C, or by a policy that raises the same."""
    engine_that_did(monkeypatch, 2, stopped_by=stopped_by)
    with pytest.raises(farrowtide.Interrupted) as caught:
        farrowtide.run(three_sows, replications=3, record=[])
    assert caught.value.finished.replications == 2
    engine_that_did(monkeypatch, 0, stopped_by=stopped_by)
    with pytest.raises(farrowtide.Interrupted) as caught:
        farrowtide.run(three_sows, replications=3, record=[])
    assert caught.value.finished is None


def test_a_run_of_which_every_room_broke_off_is_an_error(three_sows, monkeypatch):
    engine_that_did(monkeypatch, 2, set_aside=[(0, "the model broke"), (1, "again")])
    with pytest.raises(InternalError, match="the model broke"):
        farrowtide.run(three_sows, replications=2, record=[])


# --- What is held ---


@pytest.fixture(scope="module")
def two_of_three(three_sows):
    return farrowtide.run(three_sows, replications=2, first_replicate=5, seed=3, record=["events"])


def test_replicates_are_numbered_from_the_first_that_was_asked_for(two_of_three):
    assert list(two_of_three.outputs.index) == [5, 6]
    assert two_of_three.outputs.index.name == "replicate"
    assert len(two_of_three.trace(5)) + len(two_of_three.trace(6)) == len(two_of_three.events)
    for other in (4, 7):
        with pytest.raises(farrowtide.UserError, match=f"replicate {other} is not in this run, which has 5 to 6"):
            two_of_three.trace(other)


def test_a_pickle_holds_tables_traces_and_origin(two_of_three, three_sows):
    again = pickle.loads(pickle.dumps(two_of_three))
    assert (again.replications, again.first_replicate, again.seed) == (2, 5, 3)
    assert list(again.tables) == ["sows", "events"]
    assert again.events.equals(two_of_three.events)
    assert again.trace(6) == two_of_three.trace(6) != again.trace(5)
    assert again.provenance == two_of_three.provenance
    assert again.checks == two_of_three.checks
    assert again.outputs.equals(two_of_three.outputs)
    without = farrowtide.run(three_sows, record=["piglets"])
    with pytest.raises(farrowtide.UserError, match="'events' was not recorded"):
        pickle.loads(pickle.dumps(without)).trace(0)


def test_a_change_of_a_frame_changes_no_other(two_of_three):
    for name in ("sows", "outputs"):
        changed = getattr(two_of_three, name)
        changed["more"] = 1
        assert "more" not in getattr(two_of_three, name)


def test_the_provenance_of_a_run_says_what_was_asked_for(two_of_three, three_sows):
    made = two_of_three.provenance
    assert (made["seed"], made["replications"], made["conservation_checks_passed"]) == (3, 2, two_of_three.checks)
    assert made["recipe"] == {
        "verb": "run",
        "replications": 2,
        "seed": 3,
        "first_replicate": 5,
        "tables": ["events", "sows"],
        "scenario": three_sows.recipe,
    }
    assert "first_replicate=5" in made["command"]


def test_a_notebook_shows_the_means_of_the_headline_outputs_that_were_measured(three_sows):
    result = farrowtide.run(three_sows, replications=2, record=[])
    shown = result._repr_html_()
    headline = [each for each in farrowtide.catalogue().values() if each.group == "headline"]
    assert {each.label in shown for each in headline if each.table == "sows"} == {True}
    assert {each.label in shown for each in headline if each.table != "sows"} == {False}
    output = next(each for each in headline if each.name == "feed_intake_kg_per_day")
    assert output.shown(result.sows.groupby("replicate")["feed_intake_kg_per_day"].mean().mean()) in shown
    assert "means of 2 replications" in shown


def test_a_result_warns_of_its_scenario_and_of_its_rooms():
    hot = farrowtide.load({"title": "t", "room": {"crates": 1}, "climate": {"kind": "imposed", "temperature": 35},
                           "attendance": {"night_people": 1}})  # fmt: skip
    with pytest.warns(farrowtide.PlausibilityWarning) as told:
        result = farrowtide.run(hot)
    assert [str(warning.message) for warning in told] == [str(warning) for warning in result.warnings]
    assert result.warnings[-len(result.room_warnings) :] == result.room_warnings != []
    assert len(result.warnings) > len(result.room_warnings)


def test_tables_are_written_with_their_provenance(two_of_three, tmp_path):
    write_tables(two_of_three, tmp_path / "out")
    assert sorted(file.name for file in (tmp_path / "out").iterdir()) == [
        "events.parquet", "provenance.json", "sows.parquet",
    ]  # fmt: skip
    written = pd.read_parquet(tmp_path / "out/sows.parquet")
    assert list(written.columns) == list(two_of_three.sows.columns)
    assert written["sow"].equals(two_of_three.sows["sow"])
    assert json.loads((tmp_path / "out/provenance.json").read_text()) == two_of_three.provenance


def test_a_frame_has_words_for_codes_booleans_for_yes_or_no_and_numbers_as_they_are():
    described = [
        SimpleNamespace(name="fate", unit="-", labels=["weaned", "died"]),
        SimpleNamespace(name="male", unit="yes/no", labels=[]),
        SimpleNamespace(name="teats", unit="-", labels=[]),
    ]
    numbers = np.array([1, 0, 1])
    found = frame({"fate": np.array([1, -1, 0]), "male": numbers, "teats": numbers}, described)
    assert found["fate"].isna().tolist() == [False, True, False]
    assert found["fate"].iloc[[0, 2]].tolist() == ["died", "weaned"]
    assert found["male"].tolist() == [True, False, True]
    assert found["male"].dtype == bool
    assert found["teats"].dtype == numbers.dtype
    assert np.shares_memory(found["teats"].to_numpy(), numbers)


def test_a_date_is_to_the_nearest_second(three_sows):
    result = farrowtide.run(three_sows, record=[])
    start = pd.Timestamp(three_sows.start)
    found = result.dates(pd.Series([0.0, 0.4 / 3600, 0.6 / 3600, 1.0]))
    assert [(date - start).total_seconds() for date in found] == [0, 0, 1, 3600]

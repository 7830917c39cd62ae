"""Studies: the same bytes on every executor, nothing lost but unfinished blocks, and no more replications than needed."""

import hashlib
import json
import multiprocessing
import os
import pickle
import random
import shutil
import signal
import subprocess
import sys
import time
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import duckdb
import numpy as np
import pandas as pd
import polars
import pyarrow as pa
import pytest
import study_victim
from click.testing import CliRunner
from study_victim import compared

import farrowtide
from farrowtide.commands.main import main
from farrowtide.policies import Handling
from farrowtide.results.from_study import comparison_of
from farrowtide.statistics.inference import replications_needed
from farrowtide.statistics.paired import PairedMoments
from farrowtide.study import block_values, blocks, course, execution, executors
from farrowtide.study.plan import plan

ROOT = Path(__file__).parents[2]
FRAMES = ("replicates", "differences", "means", *blocks.REPORT_TABLES)


class Early(Handling):
    """All on the first day."""

    name = "early"

    def share_of_processing(self, view):
        return 1.0 if view.lactation_day == 1 else 0.0


@pytest.fixture(scope="module")
def straight(tmp_path_factory):
    """The victim's study run at one go, with its folder."""
    folder = tmp_path_factory.mktemp("straight") / "study"
    return compared(folder), folder


def assert_same(found, expected):
    for name in FRAMES:
        pd.testing.assert_frame_equal(getattr(found, name), getattr(expected, name), check_exact=True)


def files_of(folder):
    return {file.name: file.read_bytes() for file in sorted((folder / "blocks").iterdir())}


# --- Scenarios on their way to workers ---


def test_a_scenario_survives_pickling_with_all_that_was_changed(tmp_path):
    (tmp_path / "rules.py").write_text(
        "from farrowtide.policies import Water\n\n\nclass Never(Water):\n    name = 'never'\n\n"
        "    def check_flow(self, view):\n        return False\n\n"
        "    def action_limit_l_per_min(self):\n        return 0.5\n"
    )
    scenario = (
        farrowtide.load({"title": "t", "room": {"crates": 3}}, policies=[tmp_path / "rules.py", Early])
        .override({"water": {"kind": "never"}, "handling": {"kind": "early"}})
        .with_coefficients({"staff.roster.busy_warning": 0.75})
    )
    (tmp_path / "rules.py").unlink()
    again = pickle.loads(pickle.dumps(scenario))
    assert (again.hash, again.coefficient_hash, again.expression) == (
        scenario.hash,
        scenario.coefficient_hash,
        scenario.expression,
    )
    assert again.own_policies == scenario.own_policies
    for one, other in zip(*(farrowtide.run(s, replications=2).tables.values() for s in (scenario, again)), strict=True):
        pd.testing.assert_frame_equal(one, other, check_exact=True)


def test_a_study_is_the_same_wherever_its_coefficients_lie_and_another_with_other_ones(tmp_path):
    scenario = farrowtide.load(
        {"title": "t", "room": {"crates": 3}, "alternatives": {"a": {}, "b": {"handling.day": 5}}}
    )
    found = []
    for name, value in (("here.yaml", 0.75), ("there.yaml", 0.75), ("other.yaml", 0.8)):
        (tmp_path / name).write_text(f"staff.roster.busy_warning: {value}\n", encoding="utf-8")
        found.append(plan(scenario.with_coefficients(tmp_path / name), replications=1).identity())
    here, there, other = found
    assert here == there
    assert here != other


def test_rounds_are_of_one_size_where_it_matters_and_enough_for_all_threads_elsewhere(small_room, tmp_path):
    """A study that looks after each round whether it is precise enough must not depend on the machine."""
    plain, precise = (plan(small_room, replications=400, precision=given) for given in (None, {"intake": 0.1}))
    assert course.Course(precise, threads=64)._replicates() == course.REPLICATES
    assert course.Course(plain, threads=64, folder=tmp_path / "study")._replicates() == course.REPLICATES
    assert course.Course(plain, threads=64)._replicates() == 4 * 64


def test_a_block_may_have_work_in_every_hour_of_the_day_and_in_no_other():
    hours = pa.array([0, 23, 24])
    faults = [what for wrong, what in block_values._faults(hours, "hour") if wrong.to_pylist() == [False, False, True]]
    assert len(faults) == 1
    assert not any(wrong.to_pylist()[0] for wrong, _ in block_values._faults(hours, "hour"))


# --- Executors ---


def test_processes_give_the_same_bytes(straight, tmp_path):
    with executors.named("processes", workers=2) as pool:
        found = compared(tmp_path / "study", pool)
    assert_same(found, straight[0])
    assert files_of(tmp_path / "study") == files_of(straight[1])


def test_workers_are_deaf_to_ctrl_c_from_their_start():
    """A Ctrl-C meets all processes of a command, also those that are still importing: as_worker cannot spare those."""
    here = signal.pthread_sigmask(signal.SIG_BLOCK, ())
    with executors.named("processes", workers=1) as pool:
        assert signal.SIGINT in pool.submit(signal.pthread_sigmask, signal.SIG_BLOCK, ()).result()
    assert signal.pthread_sigmask(signal.SIG_BLOCK, ()) == here


def test_threads_of_the_engine_give_the_same_bytes(straight):
    assert_same(compared(threads=4), straight[0])


def test_any_executor_of_the_standard_library_will_do(straight):
    with ProcessPoolExecutor(1, mp_context=multiprocessing.get_context("spawn")) as pool:
        assert_same(compared(executor=pool), straight[0])


@pytest.mark.filterwarnings("ignore")  # of the cluster's own sockets and loops
def test_dask_gives_the_same_bytes(straight, tmp_path):
    with executors.named("dask", workers=2) as pool:
        found = compared(tmp_path / "study", pool)
    assert_same(found, straight[0])
    assert files_of(tmp_path / "study") == files_of(straight[1])


def test_mpi_gives_the_same_bytes_from_the_command_line(tmp_path):
    command = ["compare", str(ROOT / "scenarios/teaching/three_sows.yaml"), "-n", "50", "--quiet"]
    mpi = [
        Path(sys.executable).parent / "mpiexec",
        "-n",
        "3",
        sys.executable,
        "-m",
        "mpi4py.futures",
        "-m",
        "farrowtide",
    ]
    environment = os.environ | {"HYDRA_IFACE": "lo"}
    for where, words in (
        (tmp_path / "mpi", [*mpi, *command, "--executor", "mpi"]),
        (tmp_path / "here", [sys.executable, "-m", "farrowtide", *command]),
    ):
        done = subprocess.run(
            [*words, "--out", where], env=environment, capture_output=True, text=True, timeout=120, check=False
        )
        assert done.returncode == 0, done.stderr
    for name in ("outputs.csv", "differences.csv", "report.html"):
        assert (tmp_path / "mpi" / name).read_bytes() == (tmp_path / "here" / name).read_bytes()


def test_an_error_on_a_worker_comes_out_as_it_is():
    class Failing(ProcessPoolExecutor):
        def submit(self, function, block):
            return super().submit(fail, block)

    with (
        Failing(1, mp_context=multiprocessing.get_context("spawn")) as pool,
        pytest.raises(farrowtide.UserError, match="no luck with 1 feeds"),
    ):
        compared(executor=pool)


def fail(block):
    raise farrowtide.UserError(f"no luck with {block.arm.alternative}")


# --- The folder ---


def test_a_study_gone_on_with_equals_one_at_a_go(straight, tmp_path):
    whole, folder = straight
    told = []

    def stop(done, total, said):
        told.append(done)
        if done > 150:
            raise KeyboardInterrupt

    scenario = farrowtide.load({"title": "victim", "room": {"crates": 2}})
    options = {"replications": study_victim.REPLICATIONS, "seed": 5, "threads": 1, "folder": tmp_path / "study"}
    with pytest.raises(farrowtide.Interrupted) as caught:
        farrowtide.compare(scenario, study_victim.ALTERNATIVES, progress=stop, **options)
    assert caught.value.finished.replications == 20
    assert 0 < len(files_of(tmp_path / "study")) < len(files_of(folder))
    assert_same(compared(tmp_path / "study"), whole)
    assert files_of(tmp_path / "study") == files_of(folder)
    assert (tmp_path / "study/manifest.json").read_bytes() == (folder / "manifest.json").read_bytes()


def test_the_report_of_a_study_is_made_without_simulating(straight, tmp_path, monkeypatch):
    whole, folder = straight

    def simulated(*_arguments, **_options):
        raise AssertionError("a room was simulated")

    for way in ("rooms_of", "simulate"):
        monkeypatch.setattr(execution, way, simulated)
    made = comparison_of(folder)
    assert_same(made, whole)
    assert made.provenance == whole.provenance
    copy = shutil.copytree(folder, tmp_path / "copy")
    next((copy / "blocks").iterdir()).unlink()
    with pytest.raises(
        farrowtide.UserError,
        match=r"is unfinished.*repeat the command that began it, with --resume \(see .*asked\.json\)",
    ):
        comparison_of(copy)


def test_a_folder_that_no_report_can_be_made_of_says_why(straight, tmp_path):
    with pytest.raises(farrowtide.UserError, match="is no study folder"):
        comparison_of(tmp_path)
    copy = shutil.copytree(straight[1], tmp_path / "copy")
    manifest = json.loads((copy / "manifest.json").read_text())
    for key, value, said in (
        ("verb", "sweep", "a study of `sweep`"),
        ("results_version", 1, "results version 1, and this"),
    ):
        changed = {name: held for name, held in manifest.items() if name != "sha256"} | {key: value}
        text = json.dumps(
            changed | {"sha256": hashlib.sha256(json.dumps(changed, sort_keys=True).encode()).hexdigest()}
        )
        (copy / "manifest.json").write_text(text)
        with pytest.raises(farrowtide.UserError, match=said):
            comparison_of(copy)


def test_the_report_of_a_study_has_the_bytes_of_the_one_that_compare_wrote(tmp_path, without_drawing):
    study, out = tmp_path / "study", tmp_path / "out"
    file = ROOT / "scenarios/teaching/three_sows.yaml"
    arguments = [str(file), "-n", "2", "--seed", "4", "--output", "weaned"]
    run = CliRunner().invoke
    assert run(main, ["compare", *arguments, "--study", str(study), "--out", str(out)]).exit_code == 0
    done = run(main, ["report", str(study)])
    assert (done.exit_code, done.stderr) == (0, f"report: {study / 'report/report.html'}\n")
    names = sorted(path.name for path in out.iterdir())
    assert names == sorted(path.name for path in (study / "report").iterdir())
    for name in names:
        assert (out / name).read_bytes() == (study / "report" / name).read_bytes(), name
    # That of another question goes beside it, or is replaced where its folder is named.
    assert run(main, ["report", str(study), "--units", "us"]).exit_code == 0
    assert len(list(study.glob("report-*"))) == 1
    done = run(main, ["report", str(study), "--units", "us", "--out", str(out)])
    assert "the report of another question that was there is replaced" in " ".join(done.stderr.split())


def test_killed_fifty_times_only_unfinished_blocks_are_lost(straight, tmp_path):
    whole, folder = straight
    expected = files_of(folder)
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload(["farrowtide.results.comparison", "study_victim"])
    chance = random.Random(11)
    seen = set()
    for _ in range(50):
        victim = context.Process(target=compared, args=(tmp_path / "study",))
        victim.start()
        time.sleep(chance.uniform(0, 0.15))
        victim.kill()
        victim.join()
        assert victim.exitcode in (-signal.SIGKILL, 0)
        there = files_of(tmp_path / "study") if (tmp_path / "study/blocks").exists() else {}
        finished = {name: content for name, content in there.items() if name.endswith(".parquet")}
        assert finished.items() <= expected.items()
        assert seen <= finished.keys(), "a finished block was lost"
        seen = set(finished)
    assert_same(compared(tmp_path / "study"), whole)
    assert files_of(tmp_path / "study") == expected


def test_a_damaged_block_is_run_again(straight, tmp_path):
    compared(tmp_path / "study")
    file = sorted((tmp_path / "study/blocks").iterdir())[3]
    file.write_bytes(file.read_bytes()[:1000])
    with pytest.warns(UserWarning, match=rf"because damaged or replaced: 1 block \({file.name}\)"):
        again = compared(tmp_path / "study")
    assert_same(again, straight[0])
    assert files_of(tmp_path / "study") == files_of(straight[1])


def test_a_folder_with_something_else_in_it_is_left_alone(small_room, tmp_path):
    (tmp_path / "thesis.txt").write_text("years of work")
    with pytest.raises(farrowtide.UserError, match="other files in it"):
        farrowtide.compare(small_room, replications=2, folder=tmp_path)
    study = tmp_path / "study"
    farrowtide.compare(small_room, replications=2, folder=study)
    with pytest.raises(farrowtide.UserError, match="holds a study; resume it"):
        farrowtide.compare(small_room, replications=2, folder=study)
    with pytest.raises(farrowtide.UserError, match="holds another study, which differs in: seed"):
        farrowtide.compare(small_room, replications=2, folder=study, seed=9, resume=True)
    assert farrowtide.compare(small_room, replications=3, folder=study, resume=True).replications == 3


def test_going_on_with_fewer_replications_loses_none(small_room, tmp_path):
    farrowtide.compare(small_room, replications=60, folder=tmp_path / "study")
    before = files_of(tmp_path / "study")
    assert farrowtide.compare(small_room, replications=40, folder=tmp_path / "study", resume=True).replications == 40
    assert files_of(tmp_path / "study") == before


def test_a_precise_study_keeps_no_blocks_of_workers_that_were_ahead(small_room, tmp_path):
    with executors.named("processes", workers=2) as pool:
        found = farrowtide.compare(small_room, precision={"intake": 0.1}, folder=tmp_path / "study", executor=pool)
    firsts = {int(name.split("-")[1].split(".")[0]) for name in files_of(tmp_path / "study")}
    assert firsts == set(range(0, found.replications, blocks.REPLICATES))


def test_two_processes_cannot_be_at_one_study(small_room, tmp_path):
    def second(done, total, said):
        with pytest.raises(farrowtide.UserError, match="the study is locked by another process"):
            farrowtide.compare(small_room, replications=20, folder=tmp_path / "study", resume=True)
        raise KeyboardInterrupt

    with pytest.raises(farrowtide.Interrupted):
        farrowtide.compare(small_room, replications=20, folder=tmp_path / "study", progress=second)
    assert farrowtide.compare(small_room, replications=20, folder=tmp_path / "study", resume=True).replications == 20


def test_the_folder_is_one_table_to_whatever_reads_parquet(straight):
    whole, folder = straight
    pattern = str(folder / "blocks/*.parquet")
    expected = whole.replicates.groupby("alternative")["feed_intake_kg_per_day"].mean()
    by_pandas = pd.read_parquet(folder / "blocks").groupby("alternative")["feed_intake_kg_per_day"].mean()
    by_polars = polars.read_parquet(pattern).group_by("alternative").agg(polars.col("feed_intake_kg_per_day").mean())
    query = f"select alternative, avg(feed_intake_kg_per_day) from '{pattern}' group by alternative"
    by_duckdb = dict(duckdb.sql(query).fetchall())
    for name, mean in expected.items():
        assert by_pandas[name] == pytest.approx(mean, rel=1e-12)
        assert dict(by_polars.iter_rows())[name] == pytest.approx(mean, rel=1e-12)
        assert by_duckdb[name] == pytest.approx(mean, rel=1e-12)
    durations = f"select count(*) from (select unnest(farrowings) from '{pattern}')"
    assert duckdb.sql(durations).fetchall() == [(len(whole.farrowings),)]
    manifest = json.loads((folder / "manifest.json").read_text())
    assert [room["alternative"] for room in manifest["rooms"]] == whole.alternatives


# --- How many ---


def test_precision_stops_by_itself_where_the_formula_says(small_room):
    target = 0.06
    told = []
    found = farrowtide.compare(
        small_room, precision={"intake": target}, seed=3, progress=lambda done, total, said: told.append((total, said))
    )
    intake = found.differences[found.differences["output"] == "feed_intake_kg_per_day"]
    half_widths = (intake["ci_high"] - intake["ci_low"]) / 2
    assert half_widths.max() <= target
    assert found.precision.half_widths["feed_intake_kg_per_day"] == pytest.approx(half_widths.max(), rel=1e-9)
    # n = (t s / h)^2, s being that of the widest difference in all rooms simulated
    paired = PairedMoments.of(found.replicates, found.reference, ["feed_intake_kg_per_day"])
    needed = int(np.max(replications_needed(paired.moments.sd, target)))
    assert needed <= found.replications
    assert found.replications <= 1.3 * needed + 3 * blocks.REPLICATES
    assert found.precision.stop
    assert not found.interrupted
    assert "of 0.06" in told[-1][1]
    assert (
        found.provenance["command"].endswith("--precision feed_intake_kg_per_day=0.06")
        or "precision" in (found.provenance["command"])
    )


def test_no_precision_is_asked_of_what_has_no_value(small_room):
    old = small_room.override({"herd.parity_shares": [0, 0, 1]})
    with pytest.raises(farrowtide.UserError, match="too few rooms have a value"):
        farrowtide.compare(old, precision={"feed_intake_p1_kg_per_day": 0.1})


def test_precision_gives_up_at_the_most_that_is_allowed(small_room):
    found = farrowtide.compare(small_room, precision={"intake": 0.0001}, replications=45, seed=3)
    assert found.replications == 45
    assert not found.precision.stop
    with pytest.raises(farrowtide.UserError, match="can mean several outputs"):
        farrowtide.compare(small_room, precision={"percent": 1})


def test_going_on_with_another_part_of_a_block_loses_no_room(small_room, tmp_path):
    study = tmp_path / "study"
    for replications in (60, 50, 5):
        again = farrowtide.compare(small_room, replications=replications, folder=study, resume=replications < 60)
        assert again.replications == replications
    arms = len(small_room.alternatives) * len(small_room.cases)
    assert len(pd.read_parquet(study / "blocks")) == 60 * arms


def test_a_policy_that_decides_otherwise_is_another_study(small_room, tmp_path):
    rules = tmp_path / "rules.py"
    body = (
        "from farrowtide.policies import Handling\n\nDAY = {}\n\n\nclass Mine(Handling):\n    name = 'mine'\n\n"
        "    def share_of_processing(self, view):\n        return 1.0 if view.lactation_day == DAY else 0.0\n"
    )

    def study(day, replications):
        rules.write_text(body.format(day))
        scenario = farrowtide.load({"title": "t", "room": {"crates": 2}}, policies=[rules])
        alternatives = {"a": {"handling": {"kind": "mine"}}, "b": {}}
        return farrowtide.compare(
            scenario, alternatives, replications=replications, folder=tmp_path / "study", resume=True
        )

    study(2, 5)
    with pytest.raises(farrowtide.UserError, match="holds another study, which differs in: policies"):
        study(9, 10)
    assert study(2, 10).replications == 10


def test_a_study_of_a_changed_scenario_has_its_report_too(tmp_path):
    scenario = farrowtide.load({"title": "t", "room": {"crates": 1}}).override({"room.crates": 2})
    made = farrowtide.compare(scenario, {"a": {}, "b": {"handling.day": 3}}, replications=2, folder=tmp_path / "study")
    assert_same(comparison_of(tmp_path / "study"), made)

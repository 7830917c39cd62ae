"""Runs in several threads of Python, and in a process that was forked after them, give what they give one after another."""

import contextlib
import os
import pickle
import subprocess
import sys
import threading
import warnings
from pathlib import Path

import pandas as pd
import pytest

import farrowtide
from farrowtide import policies

ROOM = {"title": "threads", "room": {"crates": 3}}
pytestmark = pytest.mark.filterwarnings("ignore::farrowtide.PlausibilityWarning")


class Slow(policies.Handling):
    """As the built-in one, in Python."""

    name = "slow"

    def share_of_processing(self, view):
        return 1 if view.lactation_day == 3 else 0


def at_once(*functions):
    """What each function returns or raises, all of them called at the same time in a thread of its own."""
    begin = threading.Barrier(len(functions))
    done = [None] * len(functions)

    def call(number, function):
        begin.wait()
        try:
            done[number] = function()
        except BaseException as error:
            done[number] = error

    threads = [threading.Thread(target=call, args=pair, daemon=True) for pair in enumerate(functions)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(120)
        assert not thread.is_alive()
    return done


def assert_same(one, other):
    for name, rows in one.tables.items():
        pd.testing.assert_frame_equal(rows, other.tables[name], check_exact=True)


@pytest.mark.parametrize("own", [(), (Slow,)], ids=["built in", "in Python"])
def test_runs_in_threads_give_the_same_rows(own):
    scenario = farrowtide.load(ROOM | ({"handling": {"kind": "slow"}} if own else {}), policies=own)

    def run(seed, threads):
        return lambda: farrowtide.run(scenario, replications=6, seed=seed, threads=threads)

    together = at_once(run(1, 1), run(2, 2), run(3, 3), run(1, 2))
    for seed, result in zip((1, 2, 3, 1), together, strict=True):
        assert_same(run(seed, 1)(), result)


def test_comparisons_in_threads_give_the_same_tables():
    def compare(times):
        changes = {"a": {}, "b": {"feeding.times": times}}
        return lambda: farrowtide.compare(farrowtide.load(ROOM), changes, replications=8, seed=3, threads=2)

    one, other = compare(["07:00"]), compare(["07:00", "11:00", "15:00"])
    for alone, together in zip((one(), other()), at_once(one, other), strict=True):
        pd.testing.assert_frame_equal(alone.replicates, together.replicates, check_exact=True)
        pd.testing.assert_frame_equal(alone.differences, together.differences, check_exact=True)


def test_scenarios_and_policies_are_read_in_threads(tmp_path):
    """A file of policies that takes long to run is run once, and no thread sees half of it."""
    log = tmp_path / "log"
    (tmp_path / "rules.py").write_text(
        "import time\nfrom farrowtide.policies import *\ntime.sleep(0.2)\n"
        f"with open({str(log)!r}, 'a') as log: log.write('run\\n')\n"
        "class Own(Handling):\n    name = 'own'\n    def share_of_processing(self, view): return 0\n"
    )
    load = lambda: farrowtide.load(ROOM | {"handling": {"kind": "own"}}, policies=[tmp_path / "rules.py"])  # noqa: E731
    for scenario in at_once(load, load, load):
        assert isinstance(scenario, farrowtide.Scenario), scenario
    assert log.read_text() == "run\n"


def test_stopping_one_run_leaves_another_alone():
    """Both are in the code of a policy when the first is stopped."""
    stopped, inside = threading.Event(), threading.Event()

    class Endless(policies.Handling):
        """Never answers."""

        name = "endless"

        def share_of_processing(self, view):
            while True:
                pass

    class Patient(policies.Handling):
        """Answers once the other run was stopped."""

        name = "patient"

        def share_of_processing(self, view):
            inside.set()
            while not stopped.is_set():
                pass
            return 1 if view.lactation_day == 3 else 0

    def stop(done):
        if inside.is_set():
            raise KeyboardInterrupt

    def run(policy, progress=None):
        scenario = farrowtide.load(ROOM | {"handling": {"kind": policy.name}}, policies=[policy])
        try:
            return farrowtide.run(scenario, replications=2, seed=1, threads=2, progress=progress)
        finally:
            if policy is Endless:
                stopped.set()

    first, second = at_once(lambda: run(Endless, stop), lambda: run(Patient))
    assert isinstance(first, farrowtide.Interrupted)
    assert first.finished is None
    assert isinstance(second, farrowtide.Result), second
    assert second.replications == 2


@pytest.mark.filterwarnings("ignore:This process:DeprecationWarning")  # of a fork beside threads, from Python 3.12 on
@pytest.mark.parametrize("while_running", [False, True])
def test_a_fork_simulates_what_its_parent_does(while_running):
    """In the child no thread of the engine is left, whatever the parent's were doing."""
    scenario = farrowtide.load(ROOM)
    expected = pickle.dumps(farrowtide.run(scenario, replications=4, seed=2, threads=2).sows)
    running, over = threading.Event(), threading.Event()

    def progress(done):
        running.set()
        if over.is_set():
            raise KeyboardInterrupt

    def go_on():
        with contextlib.suppress(farrowtide.Interrupted):
            farrowtide.run(scenario, replications=100_000, seed=9, threads=2, progress=progress)

    beside = threading.Thread(target=go_on)
    if while_running:
        beside.start()
        assert running.wait(60)
    read, write = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            with warnings.catch_warnings():
                warnings.simplefilter("ignore")
                rows = farrowtide.run(scenario, replications=4, seed=2, threads=2).sows
            with os.fdopen(write, "wb") as pipe:
                pipe.write(pickle.dumps(rows))
        finally:
            os._exit(0)
    os.close(write)
    with os.fdopen(read, "rb") as pipe:
        seen = pipe.read()
    os.waitpid(child, 0)
    over.set()
    if while_running:
        beside.join(60)
    assert seen == expected


def test_no_thread_that_was_started_for_a_study_outlives_it(tmp_path):
    """A thread of Arrow that still holds bytes of Python when the interpreter ends aborts the process."""
    program = f"""
import os, sys, warnings
import numpy, pandas, pyarrow.parquet, scipy.stats
import farrowtide
from farrowtide.commands.main import main
warnings.simplefilter("ignore")
threads = lambda: len(os.listdir("/proc/self/task"))
before = threads()
room, changes, study = farrowtide.load({ROOM!r}), {{"a": {{}}, "b": {{"handling.day": 3}}}}, {str(tmp_path / "study")!r}
for resume in (False, True):
    farrowtide.compare(room, changes, replications=4, threads=2, folder=study, resume=resume)
farrowtide.sweep(room, {{"handling.day": [3, 4]}}, replications=4, threads=2, folder=study + " of a sweep")
print(threads() - before)
"""
    if not Path("/proc/self/task").is_dir():
        pytest.skip("threads are counted in /proc")
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, timeout=300, check=False)
    assert done.returncode == 0, done.stderr
    assert done.stdout.split()[-1] == "0"

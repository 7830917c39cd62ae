"""Runs Python tests in children of a process that has already imported what the tests need beside the package."""

from __future__ import annotations

import contextlib
import importlib
import os
import resource
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import sample

WARM = ("numpy", "pandas", "pyarrow.parquet", "scipy.stats", "matplotlib.figure", "pytest", "jinja2",
        "pydantic", "rich.console", "ruamel.yaml", "click", "SALib.analyze.sobol", "openpyxl", "statsmodels.api", "xlsxwriter")  # fmt: skip


WRONG_NAMES, NO_TEST_RUN = 4, 5  # exit codes of pytest
NOT_BEGUN = 70


def warm_up() -> None:
    for name in WARM:
        with contextlib.suppress(ImportError):
            importlib.import_module(name)


def collected() -> set[str]:
    """The names of all tests there are. One that was renamed would seem to notice whatever it reached."""
    command = [sys.executable, "-m", "pytest", "--collect-only", "-q", "-p", "no:cacheprovider"]
    done = subprocess.run(command, cwd=sample.ROOT, check=True, capture_output=True, text=True)
    return {line for line in done.stdout.splitlines() if "::" in line}


def first_failure(mutant: int, tests: list[str], usual_s: float) -> str | None:
    """The first of the tests to fail with the mutant active, or why they did not end; None when all pass.

    `usual_s`: about how long they take without it. They may take five times as much of a processor, and a minute.
    """
    if not tests:
        return None
    with tempfile.TemporaryDirectory() as folder:
        told = Path(folder) / "failed"
        status = _in_child(mutant, tests, told, usual_s)
        if status == WRONG_NAMES:  # a changed constant that is part of them: that alone is no test that fails
            status = _in_child(mutant, list(dict.fromkeys(name.partition("[")[0] for name in tests)), told, usual_s)
        if status == 0:
            return None
        if status in (None, -signal.SIGXCPU):
            return "too long"
        if status in (NO_TEST_RUN, NOT_BEGUN):
            raise RuntimeError(f"the tests of mutant {mutant} did not run: see build/mutants/last_child.log")
        return told.read_text() if told.exists() else ("a crash" if status < 0 else f"pytest ends with {status}")


def _in_child(mutant: int, words: list[str], told: Path, usual_s: float) -> int | None:
    child = os.fork()
    if child == 0:
        try:
            _run(mutant, words, told, int(60 + 5 * usual_s))
        finally:
            os._exit(NOT_BEGUN)
    return _wait(child, 300 + 20 * usual_s)


def _run(mutant: int, words: list[str], told: Path, most_s: int) -> None:
    os.setsid()
    resource.setrlimit(resource.RLIMIT_CPU, (most_s, most_s + 5))
    quiet = os.open(os.devnull, os.O_RDWR)
    log = os.open(sample.ROOT / "build/mutants/last_child.log", os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
    os.dup2(quiet, 0)
    os.dup2(log, 1)
    os.dup2(log, 2)
    os.environ["FARROWTIDE_MUTANT"] = str(mutant)
    os.environ["FARROWTIDE_FIRST_FAILURE"] = str(told)
    os.chdir(sample.ROOT)
    import pytest
    import sitecustomize

    sitecustomize.active = mutant
    code = pytest.main(["-x", "-q", "-p", "farrowtide_reached", "-p", "no:cacheprovider", *words])
    os._exit(int(code))


def _wait(child: int, most_s: float) -> int | None:
    until = time.monotonic() + most_s
    while time.monotonic() < until:
        done, status = os.waitpid(child, os.WNOHANG)
        if done:
            with contextlib.suppress(ProcessLookupError):
                os.killpg(child, signal.SIGKILL)  # what a test has left behind
            return os.waitstatus_to_exitcode(status)
        time.sleep(0.05)
    os.killpg(child, signal.SIGKILL)
    os.waitpid(child, 0)
    return None

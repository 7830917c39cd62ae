"""Every mutant against the tests that reach it, cheapest kind first, until one notices it."""

from __future__ import annotations

import ast
import json
import os
import random
import resource
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import sample

KINDS = ("unit", "contract", "theory", "statistical", "golden", "python")
FEW = 3
QUICK_S = 1.0  # a test that takes less, when nothing is active
Tests = list[dict[str, Any]]  # of each: test, seconds, reached
Reached = dict[str, Tests]  # by executable


def executables(seed: int) -> list[Path]:
    """Those of C++, in the order of KINDS."""
    found = [
        file for file in (sample.folder(seed) / "cxx/tests").iterdir() if file.is_file() and os.access(file, os.X_OK)
    ]
    return sorted(found, key=lambda file: (KINDS.index(kind_of(file.name)), file.name))


def kind_of(executable: str) -> str:
    return executable.split("_")[0]


def reach_cxx(seed: int) -> None:
    """Runs all C++ tests with every mutant dormant, and notes what each reaches. They must pass."""
    reached = sample.folder(seed) / "reached_cxx"
    reached.mkdir(exist_ok=True)
    for file in executables(seed):
        noted = reached / f"{file.name}.jsonl"
        noted.unlink(missing_ok=True)
        environment = {**os.environ, "FARROWTIDE_REACHED": str(noted), "GTEST_BRIEF": "1"}
        subprocess.run([str(file)], env=environment, check=True, stdout=subprocess.DEVNULL)


def reach_python(seed: int, options: list[str]) -> None:
    """The same for Python tests, with the import hook in place; what other tests reached before this is kept."""
    reached = sample.folder(seed) / "reached_python"
    reached.mkdir(exist_ok=True)
    command = [sys.executable, "-m", "pytest", "-q", "-p", "farrowtide_reached", *options]
    subprocess.run(
        command, env=python_environment(seed) | {"FARROWTIDE_REACHED": str(reached)}, cwd=sample.ROOT, check=True
    )


def python_environment(seed: int) -> dict[str, str]:
    return {
        **os.environ,
        "PYTHONPATH": str(Path(__file__).parent / "hook"),
        "FARROWTIDE_MUTANTS": str(sample.folder(seed) / "plan.json"),
    }


def read_reached_cxx(seed: int) -> Reached:
    return {file.name: lines(sample.folder(seed) / "reached_cxx" / f"{file.name}.jsonl") for file in executables(seed)}


def read_reached_python(seed: int) -> dict[str, tuple[float, set[int]]]:
    """By test: its seconds, and what it and the processes it started reached. Tests that failed without a mutant are left out."""
    tests: dict[str, tuple[float, set[int]]] = {}
    for file in (sample.folder(seed) / "reached_python").glob("*.jsonl"):
        for line in lines(file):
            seconds, reached = tests.get(line["test"], (0.0, set()))
            tests[line["test"]] = max(seconds, line["seconds"]), reached | set(line["reached"])
    return {test: found for test, found in tests.items() if found[0] > 0}  # processes note none; pytest, of what passed


def lines(file: Path, begin: int = 0) -> list[dict[str, Any]]:
    """Those of a file from a byte on; none where there is no file."""
    return [json.loads(line) for line in file.read_bytes()[begin:].splitlines()] if file.exists() else []


def noticed_by_cxx(seed: int, mutant: int, reached: Reached) -> tuple[str, str] | None:
    """The first kind that notices a mutant, with the test; golden ones are tried last."""
    for file, tests in _turns(executables(seed), mutant, reached):
        failed = _fails(file, mutant, tests)
        if failed:
            return kind_of(file.name), f"{file.name}: {failed}"
    return None


def _turns(files: list[Path], mutant: int, reached: Reached) -> Iterator[tuple[Path, Tests]]:
    """What to run: tests that reach a mutant, quick ones first; all quick ones beside them, which may share what they made."""

    def those(file: Path, wanted: Callable[[dict[str, Any]], bool]) -> Tests:
        return [line for line in reached[file.name] if wanted(line)]

    golden = [file for file in files if kind_of(file.name) == "golden"]
    others = [file for file in files if file not in golden and those(file, lambda line: mutant in line["reached"])]
    for file in others:
        yield file, those(file, lambda line: mutant in line["reached"] and line["seconds"] < QUICK_S)
    for file in others:
        yield file, those(file, lambda line: mutant not in line["reached"] and line["seconds"] < QUICK_S)
    for file in others:
        yield file, those(file, lambda line: mutant in line["reached"] and line["seconds"] >= QUICK_S)
    for file in golden:
        yield file, those(file, lambda line: mutant in line["reached"])


def _fails(file: Path, mutant: int, tests: Tests) -> str | None:
    """The first of the tests that fails, "too long" or "a crash"."""
    if not tests:
        return None
    seconds = sum(line["seconds"] for line in tests)

    def limit() -> None:
        most = int(5 + 5 * seconds)
        resource.setrlimit(resource.RLIMIT_CPU, (most, most + 5))
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
        resource.setrlimit(resource.RLIMIT_AS, (4 << 30, 4 << 30))

    environment = {**os.environ, "FARROWTIDE_MUTANT": str(mutant)}
    names = [line["test"] for line in tests]
    command = [str(file), "--gtest_fail_fast", "--gtest_brief=1", f"--gtest_filter={':'.join(names)}"]
    running = subprocess.Popen(
        command,
        env=environment,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        preexec_fn=limit,
        start_new_session=True,
    )
    try:
        out, _ = running.communicate(timeout=240 + 40 * seconds)
    except subprocess.TimeoutExpired:
        os.killpg(running.pid, signal.SIGKILL)
        running.communicate()
        return "too long"
    if running.returncode == 0:
        return None
    if running.returncode < 0:
        return "too long" if -running.returncode in (signal.SIGXCPU, signal.SIGKILL) else "a crash"
    failed = [line for line in out.decode(errors="replace").splitlines() if line.startswith("[  FAILED  ]")]
    return failed[0].split("]")[1].split(",")[0].split("(")[0].strip() if failed else f"exit {running.returncode}"


def run(seed: int, part: str, *, most_s: float, again: bool, backwards: bool) -> None:
    """`part` is "cxx" or "python"; what is already in the file of results is not repeated.

    Of Python tests so many are tried as took `most_s` when nothing was active, one named in survivors.yaml and those about its
    module first; `again` repeats what was not noticed, perhaps with more of them. A second process may work `backwards`
    from the other end.
    """
    results = sample.folder(seed) / f"results_{part}.jsonl"
    before = {line["id"] for line in lines(results) if line["kind"] is None} if again else set()
    todo = [mutant["id"] for mutant in sample.read(seed)["mutants"] if not mutant.get("refused")]
    random.Random(seed).shuffle(todo)  # what is left undone if this is stopped is of no one area
    if backwards:
        todo.reverse()
    noticing = _by_cxx_tests(seed) if part == "cxx" else _by_python_tests(seed, most_s)
    begun_at = results.stat().st_size if again and results.exists() else 0
    for mutant in todo:
        done = {line["id"] for line in lines(results)} - before | {line["id"] for line in lines(results, begun_at)}
        if mutant in done or not noticing.wanted(mutant):
            continue  # another process may have done it from the other end
        begun = time.monotonic()
        _note(results, mutant, noticing.by(mutant), begun)


@dataclass(frozen=True)
class _Noticing:
    """Which mutants a kind of tests is tried on, and how: the kind and the test that noticed it, or None."""

    wanted: Callable[[int], bool]
    by: Callable[[int], tuple[str, str] | None]


def _by_cxx_tests(seed: int) -> _Noticing:
    reached = read_reached_cxx(seed)
    if not any(line["reached"] for tests in reached.values() for line in tests):
        raise RuntimeError("no C++ test has reached a mutant: run reach-cxx")
    return _Noticing(
        lambda mutant: mutant < sample.FIRST_OF_PYTHON, lambda mutant: noticed_by_cxx(seed, mutant, reached)
    )


def _by_python_tests(seed: int, most_s: float) -> _Noticing:
    if "FARROWTIDE_MUTANTS" not in os.environ:  # the import hook is there from the start of a process
        os.execve(sys.executable, [sys.executable, *sys.argv], python_environment(seed))
    import mutants_page
    import python_server

    survivors = {
        line["id"] for line in lines(sample.folder(seed) / "results_cxx.jsonl") if line["kind"] in (None, "golden")
    }
    there = python_server.collected()
    named = mutants_page.named_tests(seed)
    tests = {name: reached for name, reached in read_reached_python(seed).items() if name in there}
    if sample.read(seed)["core"] is None or not any(reached for _, reached in tests.values()):
        raise RuntimeError("no Python test has reached a mutant: run build and reach-python")
    python_server.warm_up()

    def noticed(mutant: int) -> tuple[str, str] | None:
        first = [test for test in there if test.partition("::")[2].partition("[")[0] == named.get(mutant)]
        chosen = list(dict.fromkeys([*first, *covering(mutant, tests, seed, most_s)]))
        found = python_server.first_failure(mutant, chosen, most_s)
        return ("python", found) if found else None

    return _Noticing(lambda mutant: mutant in survivors or mutant >= sample.FIRST_OF_PYTHON, noticed)


def covering(mutant: int, tests: dict[str, tuple[float, set[int]]], seed: int, most_s: float) -> list[str]:
    """The tests that reach a mutant, those of files about its module first.

    What only an import reaches, any test of its module may notice.
    """
    found = {test: seconds for test, (seconds, reached) in tests.items() if mutant in reached}
    # Those that happen to import the module first alone reach what is worked out then.
    if len(found) < FEW or _at_import(mutant, seed):
        wanted = sample.read(seed)["python"].values()
        same = {each for module in wanted if mutant in module["wanted"].values() for each in module["wanted"].values()}
        found = {test: seconds for test, (seconds, reached) in tests.items() if same & reached}
    # What tests of a file share was made by one of them when they were timed, and is made again for each mutant.
    shared: dict[str, float] = {}
    for test, (seconds, _) in tests.items():
        shared[_file(test)] = max(seconds, shared.get(_file(test), 0.0))
    about = _share_about(mutant, tests, seed)
    chosen, total, files = [], 0.0, set()
    for test in sorted(found, key=lambda name: (-about.get(_file(name), 0.0), found[name])):
        total += found[test] + (0.0 if _file(test) in files else shared[_file(test)])
        files.add(_file(test))
        if total < most_s or not chosen:
            chosen.append(test)
    return chosen


def _at_import(mutant: int, seed: int) -> bool:
    """Whether a mutant of Python lies outside the body of every function."""
    site = next(each for each in sample.read(seed)["mutants"] if each["id"] == mutant)
    if not site["file"].endswith(".py"):
        return False
    tree = ast.parse((sample.ROOT / site["file"]).read_text(encoding="utf-8"))
    functions = (each for each in ast.walk(tree) if isinstance(each, (ast.FunctionDef, ast.AsyncFunctionDef)))
    return not any(each.body[0].lineno <= site["line"] <= (each.end_lineno or 0) for each in functions)


def _share_about(mutant: int, tests: dict[str, tuple[float, set[int]]], seed: int) -> dict[str, float]:
    """By file of tests: how much of what it reaches is in the module of a mutant. Those that are about it come first."""
    plan = {each["id"]: each["file"] for each in sample.read(seed)["mutants"]}
    reached: dict[str, set[int]] = {}
    for test, (_, mutants) in tests.items():
        reached.setdefault(_file(test), set()).update(mutants)
    return {
        file: sum(plan.get(each) == plan[mutant] for each in mutants) / len(mutants)
        for file, mutants in reached.items()
        if mutants
    }


def _file(test: str) -> str:
    return test.partition("::")[0]


def _note(results: Path, mutant: int, found: tuple[str, str] | None, begun: float) -> None:
    kind, test = found or (None, None)
    line = {"id": mutant, "kind": kind, "test": test, "seconds": round(time.monotonic() - begun, 1)}
    with results.open("a") as file:
        file.write(json.dumps(line) + "\n")
    print(line, flush=True)

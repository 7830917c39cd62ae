"""Stops every command that writes, at random moments: `./quickstart faults [--moments N] [--seed N] [--commands NAME,...]`."""

from __future__ import annotations

import argparse
import contextlib
import gc
import hashlib
import importlib
import inspect
import io
import json
import os
import random
import shutil
import signal
import statistics
import sys
import tempfile
import time
import warnings
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

import judging
import trials
from programs import PROGRAMS, Program
from trials import Stop

OUT = Path("results/faults")
SIGNALS = (signal.SIGKILL, signal.SIGTERM, signal.SIGINT)
COUNTED = ("stopped", "lost", "half-written", "wrong", "tracebacks", "orphans", "other")
FAULTS = COUNTED[1:]
_MOST_IN_A_ROW = 3  # stops of one study before it is finished
_INTERRUPTED = 130


@dataclass
class Tally:
    """What was found of one command."""

    name: str
    counts: Counter[str] = field(default_factory=Counter)
    findings: list[str] = field(default_factory=list)
    took_s: float = 0.0

    def add(self, kind: str, stop: Stop, said: str) -> None:
        self.counts[kind] += 1
        self.findings.append(f"{self.name}, {stop}: {kind}: {said}")


class Subject:
    """One command with all that it does when nobody stops it."""

    def __init__(self, program: Program, base: Path, *, draws: bool) -> None:
        self.program = program
        self.base = base / hashlib.sha256(program.name.encode()).hexdigest()[:8]
        self.folder, self._log, self._prepared = (self.base / name for name in ("folder", "log", "prepared"))
        for made in (self._log, self._prepared):
            made.mkdir(parents=True)
        program.write_inputs(self._prepared)
        for words in program.before:
            self._must_succeed(trials.run(words, self._prepared, self._log))
        self.inputs, _ = judging.files_in(self._prepared)
        self._load_what_it_loads()
        if not draws:
            draw_empty_pictures()
        gc.freeze()  # or every copy of this process would look through all that is loaded, on its way out
        self.takes_s, self.writes_s, self.steps, self.end = self._uninterrupted()
        self.earlier = self._earlier_run()
        self._known: dict[str, str | None] = {}  # files after a stop -> what is wrong after it is run again

    def begin(self, *, earlier: bool) -> None:
        """An unused folder, with or without the files of an earlier run."""
        shutil.rmtree(self.folder, ignore_errors=True)
        self._write(self.folder, self.earlier if earlier and self.earlier else self.inputs)

    def run(self, words: tuple[str, ...], stop: Stop | None = None, trace: Path | None = None) -> trials.Trial:
        return trials.run(words, self.folder, self._log, stop, trace)

    def wrong_when_run_again(self) -> str | None:
        """What differs from the uninterrupted command once it is run again in the folder as it is."""
        files, temporary = judging.files_in(self.folder)
        state = judging.key_of(files | dict.fromkeys(temporary, b""))
        if state not in self._known:
            self._known[state] = self._wrong()
        return self._known[state]

    def _wrong(self) -> str | None:
        if self.program.writes_once and judging.files_in(self.folder)[0] == self.end:
            return None
        done = self.run(self.program.again)
        files, temporary = judging.files_in(self.folder)
        if done.code != 0 or "Exception ignored" in done.stderr or done.orphans:
            return f"the next run ended with {done.code}, {done.orphans} processes left: {done.stderr[-500:]}"
        if done.stdout != self._stdout:
            return "the next run printed something else"
        if different := sorted(
            name for name in files.keys() | self.end.keys() if files.get(name) != self.end.get(name)
        ):
            return f"after the next run these files differ: {', '.join(different)}"
        if left := [name for name in temporary if name.startswith("study/") and not name.endswith(".lock")]:
            return f"the next run left {', '.join(left)}"
        return None

    def _uninterrupted(self) -> tuple[float, tuple[float, float], int, judging.Tree]:
        """Seconds that it takes, between which of them it writes, how often it changes files, and the files at its end."""
        taken, trace = [], self.base / "trace"
        for _ in range(3):
            self.begin(earlier=False)
            taken.append(self._must_succeed(self.run(self.program.words, trace=trace)).took_s)
        moments = [float(word) for word in trace.read_text(encoding="utf-8").splitlines()[0].split()]
        if not moments:
            raise RuntimeError(f"{self.program.name} was not seen to change a file")
        writes = moments[0], moments[-1]
        self._stdout = (self._log / "stdout").read_text(encoding="utf-8")
        return statistics.median(taken), writes, len(moments), judging.files_in(self.folder)[0]

    def _load_what_it_loads(self) -> None:
        """Loads the modules of the command here, and what they remember, once, so that no trial has to."""
        self.begin(earlier=False)
        trace = self.base / "modules"
        self._must_succeed(self.run(self.program.words, trace=trace))
        for name in trace.read_text(encoding="utf-8").splitlines()[1:]:
            if not name.startswith(("__", "farrowtide.__main__")):
                with warnings.catch_warnings():
                    warnings.simplefilter("ignore")
                    with contextlib.suppress(ImportError):
                        importlib.import_module(name)
        self.begin(earlier=False)
        with contextlib.chdir(self.folder), _silence(), warnings.catch_warnings():
            warnings.simplefilter("ignore")
            command_line = importlib.import_module("farrowtide.commands.main").main
            command_line(self.program.words, standalone_mode=False)

    def _earlier_run(self) -> judging.Tree | None:
        if self.program.earlier is None:
            return None
        self.begin(earlier=False)
        self._must_succeed(self.run((*self.program.words, *self.program.earlier)))
        return judging.files_in(self.folder)[0]

    def _must_succeed(self, done: trials.Trial) -> trials.Trial:
        if done.code != 0:
            raise RuntimeError(f"{self.program.name}, which nobody stopped, ended with {done.code}: {done.stderr}")
        return done

    @staticmethod
    def _write(folder: Path, files: judging.Tree) -> None:
        for name, content in files.items():
            file = folder / name
            file.parent.mkdir(parents=True, exist_ok=True)
            file.write_bytes(content)


def moments(subject: Subject, count: int, chance: random.Random) -> Iterator[Stop]:
    """Three in five over the whole run, one in five while it writes, and one in five at a change of files."""
    first, last = subject.writes_s
    for number in range(count):
        which = SIGNALS[number % len(SIGNALS)]
        kind = number // len(SIGNALS) % 5
        if kind == 3:
            yield Stop(which, chance.uniform(0.9 * first, 1.1 * last))
        elif kind == 4:
            yield Stop(which, step=chance.randrange(subject.steps))
        else:
            yield Stop(which, chance.uniform(0.0, 1.05 * subject.takes_s))


def stopped(program: Program, count: int, seed: int, base: Path, *, draws: bool) -> Tally:
    """Stops a command at `count` moments and judges what each left."""
    began = time.monotonic()
    tally = Tally(program.name)
    subject = Subject(program, base, draws=draws)
    chance = random.Random(f"{seed} {program.name}")
    in_a_row = _MOST_IN_A_ROW
    for stop in moments(subject, round(count * program.share), chance):
        if in_a_row >= _MOST_IN_A_ROW or chance.random() < 0.5:
            subject.begin(earlier=chance.random() < 0.5)
            in_a_row = 0
        if _is_over(subject, stop, in_a_row, tally):
            in_a_row = _MOST_IN_A_ROW
        elif subject.program.again != subject.program.words:  # a study goes on from where it is
            in_a_row += 1
    tally.took_s = time.monotonic() - began
    return tally


def _is_over(subject: Subject, stop: Stop, in_a_row: int, tally: Tally) -> bool:
    """Carries out one trial; whether the next needs an unused folder."""
    before, _ = judging.files_in(subject.folder)
    done = subject.run(subject.program.again if in_a_row else subject.program.words, stop)
    tally.counts["trials"] += 1
    tally.counts["stopped"] += done.code != 0
    files, temporary = judging.files_in(subject.folder)
    for kind, said in (*_faults_of_end(stop, done), *_faults_of_files(subject, before, files, done)):
        tally.add(kind, stop, said)
    tally.counts["temporary files"] += len([name for name in temporary if not name.endswith(".lock")])
    goes_on = subject.program.again != subject.program.words and done.code != 0 and in_a_row + 1 < _MOST_IN_A_ROW
    if goes_on:
        return False
    if wrong := subject.wrong_when_run_again():
        tally.add("wrong", stop, wrong)
    return True


def _faults_of_end(stop: Stop, done: trials.Trial) -> Iterator[tuple[str, str]]:
    if "Traceback" in done.stderr or "internal error" in done.stderr or "Exception ignored" in done.stderr:
        yield "tracebacks", done.stderr[-3000:]
    if done.orphans:
        yield "orphans", "processes lived on"
    if done.code is None:
        yield "other", f"it did not end within {trials.LONGEST_S:.0f} s"
        return
    expected = (0, _INTERRUPTED) if stop.signal == signal.SIGINT else (0, -stop.signal)
    if done.code not in expected:
        yield "other", f"it ended with {done.code} and said: {done.stderr[-500:]}"
    if done.code == _INTERRUPTED and len(done.stderr.splitlines()) < 1:
        yield "other", "it said nothing of having been interrupted"


def _faults_of_files(
    subject: Subject, before: judging.Tree, files: judging.Tree, done: trials.Trial
) -> Iterator[tuple[str, str]]:
    """Each file is as it was, or as the uninterrupted command writes it; after Ctrl-C it may hold what was finished."""
    for name in before.keys() - files.keys():
        yield "lost", f"{name} is gone"
    for name, content in files.items():
        if content in (before.get(name), subject.end.get(name)):
            continue
        if done.code != _INTERRUPTED:
            yield "half-written", f"{name} is neither as it was nor as it is to be"
        elif fault := judging.fault_of(name, content):
            yield "half-written", fault


def _print(tallies: list[Tally]) -> None:
    print(f"{'command':32} {'trials':>7} {'stopped':>8} " + " ".join(f"{kind:>12}" for kind in FAULTS) + f" {'s':>6}")
    total: Counter[str] = Counter()
    for tally in tallies:
        total += tally.counts
        _print_row(tally.name, tally.counts, tally.took_s)
    _print_row("all", total, sum(tally.took_s for tally in tallies))


def _print_row(name: str, counts: Counter[str], took_s: float) -> None:
    cells = " ".join(f"{counts[kind]:12}" for kind in FAULTS)
    print(f"{name:32} {counts['trials']:7} {counts['stopped']:8} {cells} {took_s:6.0f}", flush=True)


@contextlib.contextmanager
def _silence() -> Iterator[None]:
    with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(io.StringIO()):
        yield


def draw_empty_pictures() -> None:
    """Leaves the drawing out, which takes most of the time of a report and changes no file."""
    from matplotlib.figure import Figure

    from farrowtide.report.pictures.picture import Picture

    def empty(*_arguments: object, **_options: object) -> Picture:
        return Picture(Figure(figsize=(1, 1)), "A picture", "not drawn here", "not drawn here")

    for module in list(sys.modules.values()):
        for name, value in list(getattr(module, "__dict__", {}).items()):
            if _draws(value):
                setattr(module, name, empty)


def _draws(value: object) -> bool:
    """Whether it is one of the functions in `report/pictures`."""
    return (
        inspect.isfunction(value)
        and (value.__module__ or "").startswith("farrowtide.report.pictures")
        and value.__annotations__.get("return") == "Picture"
    )


def main() -> int:
    """Runs the command; 1 if there was a finding."""
    parser = argparse.ArgumentParser(prog="./quickstart faults", description=__doc__.partition("\n")[0])
    parser.add_argument("--moments", type=int, default=200, help="stops of each command (default: %(default)s)")
    parser.add_argument("--seed", type=int, default=1, help="another seed chooses others (default: %(default)s)")
    parser.add_argument("--commands", default=",".join(PROGRAMS), help="default: %(default)s")
    parser.add_argument(
        "--draw", action="store_true", help="draw the pictures of reports, too, which takes most of the time"
    )
    parser.add_argument(
        "--nice", type=int, default=15, help="how far everything else goes first (default: %(default)s)"
    )
    parser.add_argument("--json", action="store_true", help="print the counts as JSON")
    arguments = parser.parse_args()
    names = arguments.commands.split(",")
    if unknown := set(names) - PROGRAMS.keys():
        parser.error(f"no command is called {', '.join(sorted(unknown))} ({', '.join(PROGRAMS)})")
    os.nice(arguments.nice)
    tallies = []
    base = Path(tempfile.mkdtemp(prefix="farrowtide-faults-"))  # a TemporaryDirectory would be removed by each child
    try:
        for name in names:
            tallies.append(stopped(PROGRAMS[name], arguments.moments, arguments.seed, base, draws=arguments.draw))
            if not arguments.json:
                _print_row(name, tallies[-1].counts, tallies[-1].took_s)
                print("".join(f"{finding}\n" for finding in tallies[-1].findings), end="", flush=True)
    finally:
        shutil.rmtree(base)
    findings = [finding for tally in tallies for finding in tally.findings]
    if arguments.json:
        print(json.dumps({tally.name: tally.counts for tally in tallies} | {"findings": findings}))
    else:
        _print(tallies)
    return 1 if findings else 0


if __name__ == "__main__":
    sys.exit(main())

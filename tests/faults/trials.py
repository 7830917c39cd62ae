"""Runs a command in a copy of this process, in which everything is loaded already, and stops it at a chosen moment."""

from __future__ import annotations

import atexit
import importlib
import os
import signal
import sys
import threading
import time
import traceback
from dataclasses import dataclass
from pathlib import Path

LONGEST_S = 600.0
_WRITING = os.O_WRONLY | os.O_RDWR | os.O_CREAT
_CHANGES = ("os.rename", "os.remove", "os.mkdir")


@dataclass(frozen=True)
class Stop:
    """A signal after so many seconds or, where `step` is given, before so many changes to files were made."""

    signal: signal.Signals
    after_s: float = 0.0
    step: int | None = None

    def __str__(self) -> str:
        moment = f"{self.after_s:.4f} s" if self.step is None else f"change of files {self.step}"
        return f"{self.signal.name} at {moment}"


@dataclass(frozen=True)
class Trial:
    """How a command ended: its exit code, the negative number of the signal that ended it, or None if it never did."""

    code: int | None
    took_s: float
    stdout: str
    stderr: str
    orphans: int  # processes of it that lived on


def run(words: tuple[str, ...], folder: Path, log: Path, stop: Stop | None = None, trace: Path | None = None) -> Trial:
    """Runs a command in a folder; its output goes to files in `log`.

    `trace`: a file for the moments at which it changed files, and for the modules that it had loaded at its end.
    """
    sys.stdout.flush()
    sys.stderr.flush()
    # A Ctrl-C that comes before the program has begun waits until it has.
    signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    began = time.monotonic()
    child = os.fork()
    if child == 0:
        _become(words, folder, log, stop, trace)
    signal.pthread_sigmask(signal.SIG_UNBLOCK, {signal.SIGINT})
    if stop is not None and stop.step is None:
        time.sleep(max(0.0, began + stop.after_s - time.monotonic()))
        _send(child, stop.signal)
    status = _wait_for(child)
    took = time.monotonic() - began
    return Trial(
        None if status is None else os.waitstatus_to_exitcode(status),
        took,
        (log / "stdout").read_text(encoding="utf-8"),
        (log / "stderr").read_text(encoding="utf-8"),
        _end_orphans(child),
    )


def _become(words: tuple[str, ...], folder: Path, log: Path, stop: Stop | None, trace: Path | None) -> None:
    """The command itself. It ends as a program does, but for taking apart what is loaded, of which there is much here."""
    os.setsid()
    os.chdir(folder)
    for name, descriptor in (("stdout", 1), ("stderr", 2)):
        opened = os.open(log / name, os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
        os.dup2(opened, descriptor)
        os.close(opened)
    os.dup2(os.open(os.devnull, os.O_RDONLY), 0)
    sys.argv = ["farrowtide", *words]
    program = sys.modules["__main__"]  # which workers import, too
    program.__file__, program.__spec__ = str(Path(sys.executable).with_name("farrowtide")), None
    started = time.monotonic()
    if trace is not None:
        _write_trace(trace, started, folder)
    if stop is not None and stop.step is not None:
        _stop_at(stop, folder)
    main = importlib.import_module("farrowtide.__main__").main
    try:
        signal.signal(signal.SIGINT, signal.default_int_handler)
        signal.pthread_sigmask(signal.SIG_UNBLOCK, {signal.SIGINT})
    except KeyboardInterrupt:
        os.write(2, b"interrupted before it began\n")
        os._exit(130)
    code = 1
    try:
        try:
            main()
        except SystemExit as end:
            code = 0 if end.code is None else end.code if isinstance(end.code, int) else 1
            if isinstance(end.code, str):
                print(end.code, file=sys.stderr)
        threading._shutdown()
        atexit._run_exitfuncs()
        sys.stdout.flush()
        sys.stderr.flush()
    except BaseException:
        traceback.print_exc()
    finally:
        os._exit(code)


def _changes_files(event: str, arguments: tuple[object, ...], folder: str) -> bool:
    """Whether an event of Python's audit changes a file in the folder, where the command runs."""
    if event == "open":
        path, _, flags = arguments
        return isinstance(flags, int) and bool(flags & _WRITING) and _is_in(path, folder)
    return event in _CHANGES and _is_in(arguments[0], folder)


def _is_in(path: object, folder: str) -> bool:
    return isinstance(path, (str, os.PathLike)) and os.path.abspath(path).startswith(folder)


def _stop_at(stop: Stop, folder: Path) -> None:
    left = stop.step or 0
    process = os.getpid()

    def look(event: str, arguments: tuple[object, ...]) -> None:
        nonlocal left
        if os.getpid() == process and _changes_files(event, arguments, str(folder)):
            if left == 0:
                os.kill(process, stop.signal)
            left -= 1

    sys.addaudithook(look)


def _write_trace(trace: Path, started: float, folder: Path) -> None:
    moments: list[float] = []
    process = os.getpid()

    def look(event: str, arguments: tuple[object, ...]) -> None:
        if os.getpid() == process and _changes_files(event, arguments, str(folder)):
            moments.append(time.monotonic() - started)

    def write() -> None:
        text = "\n".join([" ".join(f"{at:.6f}" for at in moments), *sys.modules])
        trace.write_text(text, encoding="utf-8")

    sys.addaudithook(look)
    atexit.register(write)


def _send(child: int, number: signal.Signals) -> None:
    """A terminal sends Ctrl-C to all processes of a command; what else stops one meets only the first."""
    try:
        if number == signal.SIGINT:
            os.killpg(child, number)
        else:
            os.kill(child, number)
    except ProcessLookupError:  # it has not begun a group of its own, or it is over
        pass


def _wait_for(child: int) -> int | None:
    end = time.monotonic() + LONGEST_S
    pause = 0.0005
    while time.monotonic() < end:
        done, status = os.waitpid(child, os.WNOHANG)
        if done:
            return status
        time.sleep(pause)
        pause = min(2 * pause, 0.01)
    os.killpg(child, signal.SIGKILL)
    os.waitpid(child, 0)
    return None


def _end_orphans(group: int, patience_s: float = 15.0) -> int:
    """Waits for processes that the command left to end by themselves; counts and ends those that do not."""
    end = time.monotonic() + patience_s
    while time.monotonic() < end:
        try:
            os.killpg(group, 0)
        except ProcessLookupError:
            return 0
        time.sleep(0.005)
    try:
        os.killpg(group, signal.SIGKILL)
    except ProcessLookupError:
        return 0
    return 1

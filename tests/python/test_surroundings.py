"""Odd terminals, locales, homes, clocks, full disks and closed pipes: the same bytes, or one clear error."""

import json
import os
import re
import resource
import shutil
import signal
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner

import farrowtide
from farrowtide import whole_files
from farrowtide.commands import exit_codes
from farrowtide.commands.main import main

ROOT = Path(__file__).parents[2]
ROOM = "title: A room with an ö\nroom: {crates: 1}\nalternatives: {a: {}, b: {handling.day: 5}}\n"
RUN = ["run", "room.yaml", "-n", "1", "--out", "out"]


@pytest.fixture
def here(tmp_path, monkeypatch):
    (tmp_path / "room.yaml").write_text(ROOM, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.fixture(scope="module")
def usual(tmp_path_factory):
    """What the command writes and prints in usual surroundings."""
    folder = tmp_path_factory.mktemp("usual")
    (folder / "room.yaml").write_text(ROOM, encoding="utf-8")
    done = in_shell(folder, '"$@"')
    assert done.returncode == 0, done.stderr
    return files_in(folder / "out"), done.stdout


def in_shell(folder, line, environment=None, words=RUN):
    """Runs the command in a shell, whose line has it as "$@"."""
    program = [sys.executable, "-m", "farrowtide", *words]
    return subprocess.run(
        ["bash", "-c", f"set -o pipefail; {line}", "bash", *program],
        cwd=folder,
        env=os.environ | {"TERM": "xterm"} | (environment or {}),
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        errors="backslashreplace",
        timeout=120,
        check=False,
    )


def files_in(folder):
    return {file.name: file.read_bytes() for file in sorted(folder.iterdir())}


SURROUNDINGS = {
    "a terminal of 20 columns that can do nothing, letters of ASCII": (
        '"$@"',
        {"TERM": "dumb", "COLUMNS": "20", "LC_ALL": "POSIX", "PYTHONIOENCODING": "ascii", "PYTHONUTF8": "0"},
    ),
    "no terminal's name, no home, no zone of time": ('unset TERM HOME; "$@"', {"LC_ALL": "C", "TZ": "Nowhere/Never"}),
    "a home and a folder of temporary files that are not there": (
        '"$@"',
        {"HOME": "/nonexistent", "TMPDIR": "/nonexistent", "LC_ALL": "de_DE.UTF-8"},
    ),
    "files for their owner only, no standard input": ('umask 077; "$@" <&-', {"TZ": "XYZ-14:37"}),
}


@pytest.mark.parametrize("name", SURROUNDINGS)
def test_files_do_not_depend_on_the_surroundings(name, usual, here):
    line, environment = SURROUNDINGS[name]
    done = in_shell(here, line, environment)
    assert done.returncode == 0, done.stderr
    assert "Traceback" not in done.stderr
    assert files_in(here / "out") == usual[0]


@pytest.mark.parametrize("line", ['"$@" <&- >&- 2>&-', '"$@" | head -n 1'])
def test_files_do_not_depend_on_who_listens(line, usual, here):
    done = in_shell(here, line)
    assert "Traceback" not in done.stderr
    assert files_in(here / "out") == usual[0]
    assert usual[1].startswith(done.stdout)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["check", "room.yaml"], r"error: \[Errno 28\] No space left on device\n"),
        (["check", "room.yaml", "--json"], r"error: \[Errno 28\] No space left on device\n"),
        (["check", "nothing.yaml", "--json"], r"Usage: .*\n(.*\n)*.*'nothing.yaml' does not exist.*\n"),
    ],
)
def test_a_full_standard_output_is_one_error(here, words, said):
    done = in_shell(here, '"$@" > /dev/full', words=words)
    assert (done.returncode, done.stdout) == (exit_codes.EXIT_MISTAKE, "")
    assert re.fullmatch(said, done.stderr), done.stderr


@pytest.fixture
def small_disk():
    """A disk on which no file can be larger than 8 kB. The system tells a program so, as where a disk is full."""
    handler = signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (8 << 10, before[1]))
    yield
    resource.setrlimit(resource.RLIMIT_FSIZE, before)
    signal.signal(signal.SIGXFSZ, handler)


@pytest.mark.parametrize(
    ("words", "file"),
    [
        (["run", "room.yaml", "-n", "20", "--out", "out"], "out/"),
        (["compare", "room.yaml", "-n", "2", "--study", "study", "--out", "out"], ""),
        (["new", "feeding"], "farrowtide.schema.json"),
        (["describe", "room.yaml", "--out", "description.md"], "description.md"),
        (["replay", "room.yaml", "--out", "out"], "out/"),
    ],
)
def test_a_full_disk_is_one_error_that_names_the_file(words, file, here, small_disk):
    done = CliRunner().invoke(main, words)
    assert done.exit_code == exit_codes.EXIT_MISTAKE, done.output
    (said,) = done.stderr.splitlines()
    assert said.startswith(f"error: {file}")
    assert said.endswith(": File too large")
    assert not list(here.rglob(".unfinished-*"))
    named = Path(said.removeprefix("error: ").partition(":")[0])
    assert not named.exists()


def test_an_error_of_writing_names_the_file_that_was_to_be(tmp_path):
    (tmp_path / "folder").write_text("none")
    for place in ("none/file", "folder/file"):
        with pytest.raises((FileNotFoundError, NotADirectoryError)) as caught:
            whole_files.write_text(tmp_path / place, "x")
        assert (caught.value.filename, caught.value.filename2) == (str(tmp_path / place), None)


@pytest.mark.parametrize("gone", ["study", "study/blocks", "."])
def test_a_folder_removed_during_the_run_is_one_error(gone, here):
    scenario = farrowtide.load("room.yaml")
    study = here / "folder/study"

    def remove(done, total, said):
        shutil.rmtree(study.parent / gone, ignore_errors=True)

    options = {"replications": 22, "threads": 1, "folder": study}
    with pytest.raises(OSError, match=r"No such file or directory") as caught:
        farrowtide.compare(scenario, progress=remove, **options)
    assert str(study) in caught.value.filename
    assert ".unfinished" not in caught.value.filename
    again = farrowtide.compare(scenario, resume=True, **options)
    assert again.differences.equals(farrowtide.compare(scenario, replications=22, threads=1).differences)


def test_a_current_folder_that_is_gone_is_one_error(here):
    folder = here / "gone"
    folder.mkdir()
    os.chdir(folder)
    folder.rmdir()
    done = CliRunner().invoke(main, ["compare", str(here / "room.yaml"), "-n", "2"])
    os.chdir(here)
    assert done.exit_code == exit_codes.EXIT_MISTAKE
    assert done.stderr == "error: the current folder is not there any more; change to another\n"


@pytest.mark.parametrize("held", ["", "99999999\n", f"{os.getpid()}\n"], ids=["empty", "gone", "of another"])
def test_the_lock_of_a_process_that_is_gone_holds_nobody_up(held, here):
    """Whatever a lock file says: the system holds the lock, and lets it go with the process."""
    (here / "study").mkdir()
    (here / "study/.lock").write_text(held)
    assert farrowtide.compare("room.yaml", replications=2, folder=here / "study").replications == 2


def test_nothing_but_the_date_of_today_comes_from_a_clock():
    """So no jump of the clock changes a result. Today is what dates in records are checked against."""
    package = Path(farrowtide.__file__).parent
    clocks = re.compile(r"(?<!date)time\.time\(|monotonic\(|perf_counter\(|\.now\(|\.today\(|utcnow\(|mtime")
    found = {
        file.relative_to(package): clocks.findall(file.read_text(encoding="utf-8")) for file in package.rglob("*.py")
    }
    assert {str(file): clock for file, clock in found.items() if clock} == {
        "records/reading.py": [".today("],
        "teaching/lessons.py": ["mtime"],  # a notebook is made as old as its lesson
    }


@pytest.mark.parametrize(
    "words",
    [
        ["compare", "room.yaml"],
        ["compare", "room.yaml", "--out", "results/out"],
        ["run", "room.yaml", "--out", "results"],
        ["sweep", "room.yaml", "--vary", "handling.day=4", "--out", "results"],
        ["labour", "room.yaml", "--out", "results/out"],
        ["replay", "room.yaml", "--out", "results/out"],
        ["calibrate", "room.yaml", "--records", "room.yaml"],
    ],
    ids=" ".join,
)
def test_a_place_where_nothing_can_be_written_is_told_before_a_room_is_run(words, here, monkeypatch):
    def simulated(*_arguments, **_options):
        raise AssertionError("a room was simulated")

    monkeypatch.setattr("farrowtide.engine.running._core.run", simulated)
    (here / "results").write_text("a file in the place of a folder")
    done = CliRunner().invoke(main, [*words, "--quiet"])
    assert done.exit_code == exit_codes.EXIT_MISTAKE, done.output
    assert "results" in done.stderr
    assert "a room was simulated" not in done.output


def test_numbers_have_a_decimal_point_in_every_locale(here):
    """A program around the package may have chosen one with a comma, as some notebooks do."""
    source = Path("/usr/share/i18n/locales/de_DE")
    if not (shutil.which("localedef") and source.exists()):
        pytest.skip("no locale can be made here")
    subprocess.run(["localedef", "-i", "de_DE", "-f", "UTF-8", here / "de_DE.UTF-8"], check=False)
    program = (
        "import farrowtide, json, locale, sys\n"
        "if sys.argv[1] != 'C': locale.setlocale(locale.LC_ALL, sys.argv[1])\n"
        "r = farrowtide.run(farrowtide.load('room.yaml').alternative('a'), threads=1)\n"
        "print(json.dumps([locale.localeconv()['decimal_point'], r.trace(0), r.sows.to_csv()]))"
    )
    said = [
        json.loads(
            subprocess.run(
                [sys.executable, "-c", program, name],
                env=os.environ | {"LOCPATH": str(here)},
                capture_output=True,
                text=True,
                check=True,
                timeout=120,
            ).stdout
        )
        for name in ("C", "de_DE.UTF-8")
    ]
    assert [point for point, *_ in said] == [".", ","]
    assert said[0][1:] == said[1][1:]

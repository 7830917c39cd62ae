"""Whatever stands in place of a file, every command ends in one clear error that names it, and so it does where nothing can
be written.

What is in the files is in test_reading.py, test_safety.py and test_records_reading.py; here, each kind of hostile file is given
to each reader.
"""

import contextlib
import errno
import os
import resource
import shutil
import signal
import socket
import tempfile
import traceback
from pathlib import Path

import pytest
from click.testing import CliRunner

from farrowtide.analysis.calibration import fitting
from farrowtide.commands.main import main

ROOT = Path(__file__).parents[2]
ROOM = "title: t\nroom: {crates: 1}\nalternatives: {a: {}, b: {handling.day: 3}}\n"
NOBODY = 65534
pytestmark = [
    pytest.mark.usefixtures("without_drawing"),
    # Of a fork beside threads, from Python 3.12 on.
    pytest.mark.filterwarnings("ignore:This process:DeprecationWarning"),
]


def call(*words):
    return CliRunner().invoke(main, [str(word) for word in words])


def assert_one_error(done, name):
    """A user's error: exit code 2, no traceback, and one message, which names the file."""
    assert done.exit_code == 2, done.output
    assert isinstance(done.exception, SystemExit), done.exception
    assert "Traceback" not in done.output
    assert "internal error" not in done.output
    said = done.stderr
    assert str(name) in said.replace("\n", ""), said
    assert said.count("error:") <= 1, said
    assert len(said) < 100_000
    assert not set(said) & {chr(code) for code in range(32) if chr(code) != "\n"}, repr(said)


# --- In place of a file that is read ---


def bombs(lines):
    """Nine levels of ten aliases each: a thousand million texts in 20 lines."""
    text = 'a0: &a0 ["x","x","x","x","x","x","x","x","x","x"]\n'
    for level in range(1, lines):
        text += f"a{level}: &a{level} [{','.join([f'*a{level - 1}'] * 10)}]\n"
    return text


def sparse(file):
    with file.open("wb") as out:
        out.truncate(100 << 20)


def bound_socket(file):
    here = Path.cwd()
    os.chdir(file.parent)  # the path of a socket is short
    try:
        with socket.socket(socket.AF_UNIX) as made:
            made.bind(file.name)
    finally:
        os.chdir(here)


def loop(file):
    file.symlink_to(file.with_name("other"))
    file.with_name("other").symlink_to(file)


HOSTILE = {
    "a bomb of aliases": lambda file: file.write_text(bombs(9)),
    "an alias of itself": lambda file: file.write_text("title: &a [*a]\n"),
    "brackets without end": lambda file: file.write_text("[" * 100_000),
    "braces without end": lambda file: file.write_text("title: " + '{"a":' * 100_000),
    "indents without end": lambda file: file.write_text("\n".join(" " * depth + "a:" for depth in range(1500))),
    "dashes without end": lambda file: file.write_text("- " * 50_000),
    "brackets of Python": lambda file: file.write_text("x = " + "(" * 5000),
    "100 MB": sparse,
    "one line of 3 MB": lambda file: file.write_text("x" * (3 << 20)),
    "300,000 lines": lambda file: file.write_text("}\n" * 300_000),
    "a NUL": lambda file: file.write_bytes(b"title: a\x00b\nroom: {crates: 1}\n"),
    "only NUL": lambda file: file.write_bytes(b"\x00" * 1000),
    "UTF-16 with a mark": lambda file: file.write_bytes(ROOM.encode("utf-16")),
    "UTF-16 without a mark": lambda file: file.write_bytes(ROOM.encode("utf-16-le")),
    "UTF-32": lambda file: file.write_bytes(ROOM.encode("utf-32")),
    "Latin-1": lambda file: file.write_bytes("title: grün\nromo: 1\n".encode("latin-1")),
    "EBCDIC": lambda file: file.write_bytes(ROOM.encode("cp500")),
    "half a letter": lambda file: file.write_bytes("title: grü".encode()[:-1] + b"\nroom: {crates: 1}\n"),
    "a surrogate": lambda file: file.write_bytes(b"title: \xed\xa0\x80\nroom: {crates: 1}\n"),
    "a picture": lambda file: file.write_bytes(b"\x89PNG\r\n\x1a\n" + bytes(range(256)) * 8),
    "an archive": lambda file: file.write_bytes(b"PK\x03\x04" + bytes(range(256)) * 8),
    "an escape of the terminal": lambda file: file.write_bytes(b"\x1b[2J\x1b]0;x\x07title: t\n"),
    "nothing": lambda file: file.write_bytes(b""),
    "a mark and nothing": lambda file: file.write_bytes(b"\xef\xbb\xbf"),
    "no file": lambda file: None,
    "a link to nothing": lambda file: file.symlink_to("nothing here"),
    "a link to itself": lambda file: file.symlink_to(file),
    "a loop of links": loop,
    "a link to a folder": lambda file: file.symlink_to("/"),
    "a folder": lambda file: file.mkdir(),
    "a pipe": lambda file: os.mkfifo(file),
    "a link to a pipe": lambda file: (os.mkfifo(f"{file}.pipe"), file.symlink_to(f"{file}.pipe")),
    "a socket": bound_socket,
    "a device without end": lambda file: file.symlink_to("/dev/zero"),
    "an empty device": lambda file: file.symlink_to("/dev/null"),
    "a full device": lambda file: file.symlink_to("/dev/full"),
    "memory": lambda file: file.symlink_to("/proc/self/mem"),
    "a terminal": lambda file: file.symlink_to("/dev/tty"),
}
# What is an error to all the others, but as a file of this kind is what it looks like.
ALLOWED = {("--policies", "an empty device")}
READERS = {
    "scenario": lambda file, room: ("check", file),
    "--coefficients": lambda file, room: ("run", room, "--coefficients", file),
    "--weather": lambda file, room: ("run", room, "--weather", file),
    "--calibration": lambda file, room: ("run", room, "--calibration", file),
    "--policies": lambda file, room: ("check", room, "--policies", file),
    "records": lambda file, room: ("records", "check", file),
    "--days": lambda file, room: ("records", "check", records_file(file.parent), "--days", file),
    "--mapping": lambda file, room: ("records", "check", records_file(file.parent), "--mapping", file),
    "reproduce": lambda file, room: ("reproduce", file),
}


def records_file(folder):
    file = folder / "farrowings.csv"
    file.write_text(
        "sow,parity,farrowed_on,born_alive,stillborn,weaned_on,weaned\nA17,3,2026-03-06,13,1,2026-03-27,11\n"
    )
    return file


@pytest.mark.parametrize("reader", READERS)
@pytest.mark.parametrize("kind", HOSTILE)
def test_whatever_stands_in_place_of_a_file_is_one_error(reader, kind, tmp_path):
    file = tmp_path / "hostile.file"
    (tmp_path / "room.yaml").write_text(ROOM)
    HOSTILE[kind](file)
    with alarm(60):
        assert_one_error(call(*READERS[reader](file, tmp_path / "room.yaml")), "hostile.file")


@contextlib.contextmanager
def alarm(seconds):
    """Ends what waits without end."""

    def ring(number, frame):
        raise TimeoutError(f"takes longer than {seconds} s")

    before = signal.signal(signal.SIGALRM, ring)
    signal.alarm(seconds)
    try:
        yield
    finally:
        signal.alarm(0)
        signal.signal(signal.SIGALRM, before)


@pytest.mark.parametrize(
    ("name", "shown"),
    [
        *((name, name) for name in ("s.yaml/s.yaml", "x" * 300, "x/" * 3000 + "s.yaml", "")),
        ("\udcff", "\ufffd"),
        ("a\nb", r"a\nb"),
        ("\x1b[2J", r"\x1b[2J"),
    ],
)
def test_a_name_that_is_none_is_one_error(name, shown, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    Path("s.yaml").write_text(ROOM)
    for words in (("check", name), ("run", "s.yaml", "--coefficients", name), ("records", "check", name)):
        with alarm(60):
            assert_one_error(call(*words), f"File '{shown}' does not exist.")


def test_a_mark_before_a_scenario_an_overlay_and_a_calibration_is_passed_over(tmp_path):
    (tmp_path / "s.yaml").write_bytes(b"\xef\xbb\xbf" + ROOM.encode())
    (tmp_path / "o.yaml").write_bytes(b"\xef\xbb\xbfroom.heater.power: 800\n")
    assert call("check", tmp_path / "s.yaml").exit_code == 0
    done = call("run", tmp_path / "s.yaml", "--coefficients", tmp_path / "o.yaml", "--quiet")
    assert done.exit_code == 0, done.output


# --- In place of the files of a study ---


@pytest.fixture(scope="module")
def study(tmp_path_factory):
    folder = tmp_path_factory.mktemp("study") / "study"
    scenario = folder.with_name("s.yaml")
    scenario.write_text(ROOM)
    assert call("compare", scenario, "-n", 2, "--study", folder, "--out", folder.with_name("out")).exit_code == 0
    return folder


@pytest.mark.parametrize("name", ["manifest.json", "asked.json"])
@pytest.mark.parametrize("kind", HOSTILE)
def test_whatever_stands_in_place_of_a_file_of_a_study_is_one_error(kind, name, study, tmp_path):
    copy = tmp_path / "study"
    copy.mkdir()
    for file in study.rglob("*"):
        made = copy / file.relative_to(study)
        made.mkdir(exist_ok=True) if file.is_dir() else made.write_bytes(file.read_bytes())
    (copy / name).unlink()
    HOSTILE[kind](copy / name)
    with alarm(60):
        assert_one_error(call("report", copy, "--out", tmp_path / "out"), "study")


@pytest.mark.parametrize("kind", ["a folder", "a pipe", "a link to a folder", "a device without end", "a socket"])
def test_no_folder_of_a_study_can_be_made_there(kind, tmp_path):
    (tmp_path / "s.yaml").write_text(ROOM)
    place = tmp_path / "place"
    HOSTILE[kind](place)
    if kind == "a folder":
        (place / "other").write_text("mine")
    if kind == "a link to a folder":
        place.unlink()
        place.symlink_to("/proc/self")
    with alarm(60):
        done = call("compare", tmp_path / "s.yaml", "-n", 2, "--study", place, "--out", tmp_path / "out")
    assert_one_error(done, "place")


# --- As another user, and where nothing can be written ---


def in_a_fork(function):
    """What a function returns in a forked process, in which it may become another user or lose its files."""
    read, write = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            told = function()
        except BaseException:
            told = traceback.format_exc()
        try:
            os.write(write, told.encode(errors="replace")[:60_000])
        finally:
            os._exit(0)
    os.close(write)
    with os.fdopen(read, "rb") as pipe:
        told = pipe.read().decode()
    os.waitpid(child, 0)
    return told


def as_nobody(*words):
    """The exit code and the messages of a command that is run without the rights of root."""

    def run():
        if os.getuid() == 0:
            os.setgroups([])
            os.setgid(NOBODY)
            os.setuid(NOBODY)
        done = call(*words)
        return f"{done.exit_code}\n{done.stderr}"

    return in_a_fork(run)


@pytest.fixture
def open_folder():
    """A folder that every user can reach and write into, unlike those of pytest."""
    with tempfile.TemporaryDirectory() as folder:
        Path(folder).chmod(0o777)
        yield Path(folder)


@pytest.mark.parametrize("reader", READERS)
def test_an_unreadable_file_is_one_error(reader, open_folder):
    file = open_folder / "hostile.file"
    (open_folder / "room.yaml").write_text(ROOM)
    words = READERS[reader](file, open_folder / "room.yaml")
    file.write_text(ROOM)
    file.chmod(0)
    told = as_nobody(*words)
    assert told.startswith("2\n"), told
    assert "hostile.file" in told
    assert "ermission denied" in told or "not readable" in told
    assert "Traceback" not in told


def test_an_unreadable_study_is_one_error(study, open_folder):
    for hidden in ("manifest.json", "blocks", "."):
        copy = open_folder / f"study {hidden}"
        copy.mkdir()
        for file in study.rglob("*"):
            made = copy / file.relative_to(study)
            made.mkdir(exist_ok=True) if file.is_dir() else made.write_bytes(file.read_bytes())
        (copy / hidden).chmod(0)
        told = as_nobody("report", copy, "--out", open_folder / "out")
        (copy / hidden).chmod(0o755)
        assert told.startswith("2\n"), told
        assert "study" in told
        assert "Traceback" not in told


WRITERS = {
    "compare": lambda room, out: ("compare", room, "-n", 2, "--out", out),
    "study": lambda room, out: ("compare", room, "-n", 2, "--study", out, "--out", out.with_name("report")),
    "report": lambda room, out: ("report", room.with_name("study"), "--out", out),
    "run": lambda room, out: ("run", room, "-n", 2, "--out", out),
    "sweep": lambda room, out: ("sweep", room, "-n", 2, "--vary", "handling.day=3,4", "--out", out),
    "parts": lambda room, out: ("parts", room.with_name("programme.yaml"), "-n", 2, "--out", out),
    "pick": lambda room, out: (
        "pick", room, "-n", 20, "--output", "intake", "--indifference", 5, "--study", out),
    "pairing": lambda room, out: ("pairing", room, "-n", 4, "--out", out),
    "each-sow": lambda room, out: ("each-sow", room, "-n", 2, "--alternative", "b", "--out", out),
    "labour": lambda room, out: ("labour", room, "-n", 2, "--out", out),
    "describe": lambda room, out: ("describe", room, "--out", out / "description.md"),
    "new": lambda room, out: ("new", "feeding", "--out", out / "new.yaml"),
    "replay": lambda room, out: ("replay", room, "--alternative", "a", "--out", out / "replay.html"),
    "story": lambda room, out: ("story", room, "--alternative", "a", "--sow", 1, "--out", out / "story.html"),
    "protocol": lambda room, out: ("protocol", room, "--alternative", "a", "--out", out),
    "sheets": lambda room, out: ("sheets", room, "--alternative", "a", "--out", out),
    "lessons": lambda room, out: ("lessons", "--out", out),
    "records simulate": lambda room, out: (
        "records", "simulate", room, "--alternative", "a", "--litters", 4, "--out", out),
    "records check": lambda room, out: ("records", "check", room.with_name("farm") / "farrowings.csv", "--out", out),
    "records describe": lambda room, out: (
        "records", "describe", room.with_name("farm") / "farrowings.csv", "--out", out / "farm.yaml"),
    "audit": lambda room, out: (
        "audit", room, "-n", 40, "--farrowings", room.with_name("farm") / "farrowings.csv", "--out", out),
    "watch": lambda room, out: (
        "watch", room, "-n", 200, "--days", room.with_name("farm") / "days.csv", "--out", out),
    "calibrate": lambda room, out: (
        "calibrate", room, "--records", room.with_name("farm") / "farrowings.csv", "--move", "herd.intake_level",
        "--out", out),
}  # fmt: skip
ONLY_PRINT = {"check", "check-homework", "completion", "doctor", "explain", "outputs", "schema"}


def test_every_command_that_writes_is_tried():
    """All but `reproduce`, which writes in a folder that it removes."""
    words = [writer(Path("room.yaml"), Path("out")) for writer in WRITERS.values()]
    assert {command for command, *_ in words} == main.commands.keys() - ONLY_PRINT - {"reproduce"}
    records = {subcommand for command, subcommand, *_ in words if command == "records"}
    assert records == main.commands["records"].commands.keys()


@pytest.fixture(scope="module")
def inputs(study, tmp_path_factory):
    """A folder with what they read: a room, a programme, a study, and the records of a farm."""
    folder = tmp_path_factory.mktemp("inputs")
    (folder / "room.yaml").write_text(ROOM)
    (folder / "programme.yaml").write_text(f"{ROOM}study: {{parts: [a, b]}}\n")
    shutil.copytree(study, folder / "study")
    made = call(
        "records", "simulate", folder / "room.yaml", "--alternative", "a", "--litters", 30, "--out", folder / "farm"
    )
    assert made.exit_code == 0, made.output
    folder.chmod(0o755)
    return folder


@pytest.fixture
def small_calibrations(monkeypatch):
    monkeypatch.setattr(fitting, "_LITTERS", 48)
    monkeypatch.setattr(fitting, "_BLOCKS", 4)
    monkeypatch.setattr(fitting, "_POINTS", (6, 6))


@pytest.mark.usefixtures("small_calibrations")
@pytest.mark.parametrize("writer", WRITERS)
def test_a_folder_that_may_not_be_written_is_one_error(writer, inputs, open_folder):
    room = shutil.copytree(inputs, open_folder / "inputs") / "room.yaml"
    (open_folder / "closed").mkdir(mode=0o555)
    for out in (open_folder / "closed", open_folder / "closed" / "new"):
        told = as_nobody(*WRITERS[writer](room, out))
        assert told.startswith("2\n"), told
        assert "closed" in told
        assert "Traceback" not in told
    assert not list((open_folder / "closed").iterdir())


@pytest.mark.usefixtures("small_calibrations")
@pytest.mark.parametrize("writer", WRITERS)
def test_a_full_disk_is_one_error_and_leaves_no_half_of_a_file(writer, inputs, tmp_path):
    """No file may grow beyond a size, as on a disk that fills up; with what is written whole, all is well."""
    room = inputs / "room.yaml"

    def run():
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (100, 100))
        done = call(*WRITERS[writer](room, tmp_path / "out"))
        return f"{done.exit_code}\n{done.stderr}"

    (tmp_path / "out").mkdir()
    told = in_a_fork(run)
    assert told.startswith("2\n"), told
    assert os.strerror(errno.EFBIG) in told
    assert "Traceback" not in told
    assert not [file for file in (tmp_path / "out").rglob("*") if file.is_file() and file.stat().st_size == 100]

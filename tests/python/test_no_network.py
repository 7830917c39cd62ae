"""Nothing is fetched and nothing is sent, and no module of the package can do either."""

import ast
import json
import re
import subprocess
import sys
from pathlib import Path

import pytest

import farrowtide
from farrowtide.commands.main import main
from farrowtide.teaching.assignments import ASSIGNMENTS

ROOM = """\
title: t
question: q
study: {parts: [b, c]}
room: {crates: 1}
alternatives: {a: {}, b: {handling.day: 5}, c: {feeding.times: ["06:00", "10:00", "15:00"]}}
"""
FARM = ["--farrowings", "farm/farrowings.csv", "--days", "farm/days.csv"]
COMMANDS = (
    ["check", "room.yaml"],
    ["explain", "handling.day"],
    ["outputs"],
    ["schema"],
    ["run", "room.yaml", "-n", "2", "--trace", "--out", "run"],
    ["labour", "room.yaml", "-n", "2", "--out", "labour"],
    ["replay", "room.yaml", "--out", "replay.html"],
    ["compare", "room.yaml", "-n", "2", "--study", "study", "--out", "out"],
    ["report", "study", "--out", "again"],
    ["sweep", "room.yaml", "-n", "2", "--vary", "handling.day=3,4", "--out", "sweep"],
    ["parts", "room.yaml", "-n", "2", "--out", "parts"],
    ["pick", "room.yaml", "-n", "20", "--output", "intake", "--indifference", "5"],
    ["pairing", "room.yaml", "-n", "4", "--out", "pairing"],
    ["each-sow", "room.yaml", "-n", "2", "--alternative", "b", "--out", "sows"],
    ["story", "room.yaml", "-n", "2", "--find", "worst-litter", "--out", "story.html"],
    ["describe", "room.yaml", "--out", "description.md"],
    ["protocol", "room.yaml", "--out", "paper"],
    ["sheets", "room.yaml", "--out", "paper"],
    ["new", "feeding"],
    ["doctor"],
    ["completion", "zsh"],  # for bash, click asks bash for its version
    ["lessons", "--out", "lessons"],
    ["check-homework", "homework.json"],
    ["records", "simulate", "room.yaml", "--litters", "30", "--out", "farm"],
    ["records", "check", "farm/farrowings.csv", "--days", "farm/days.csv", "--out", "checked"],
    ["records", "describe", "farm/farrowings.csv", "--days", "farm/days.csv", "--out", "farm.yaml"],
    ["audit", "room.yaml", *FARM, "-n", "40", "--out", "audit"],
    ["watch", "room.yaml", "--days", "farm/days.csv", "-n", "200", "--out", "watch"],
    [
        "calibrate",
        "room.yaml",
        "--records",
        "farm/farrowings.csv",
        "--move",
        "herd.intake_level",
        "--out",
        "calibrated",
    ],
    ["reproduce", "run"],
)
# Every use of a socket ends the program, and so does the start of any other program but those two that libraries ask about
# themselves: uname, of `doctor`, and pandoc, of jupytext when it is imported. Calibrations are made small.
PROGRAM = """
import json, os, sys
def refuse(event, arguments):
    if event.startswith(("socket.", "urllib", "http", "ftplib", "smtplib", "webbrowser")):
        print("refused", event, arguments, file=sys.stderr)
        os._exit(99)
    if event in ("subprocess.Popen", "os.system", "os.exec", "os.posix_spawn") and arguments[0] not in ("uname", "pandoc"):
        print("refused", event, arguments[0], file=sys.stderr)
        os._exit(98)
if len(sys.argv) > 2:
    import socket, subprocess
    sys.addaudithook(refuse)
    if sys.argv[2] == "network":
        socket.create_connection(("127.0.0.1", 9))
    subprocess.run([sys.executable, "-c", ""])
import matplotlib.font_manager
sys.addaudithook(refuse)
from farrowtide.analysis.calibration import fitting
from farrowtide.commands.main import main
fitting._LITTERS, fitting._BLOCKS, fitting._POINTS = 48, 4, (6, 6)
for words in json.loads(sys.argv[1]):
    try:
        main(words)
    except SystemExit as end:
        if end.code:
            sys.exit(f"{words}: {end.code}")
"""


def started(folder, *words):
    answers = {name: one.value for name, one in ASSIGNMENTS["first_room_by_hand"].expected().items()}
    homework = json.dumps({"assignment": "first_room_by_hand"} | answers)
    (folder / "homework.json").write_text(homework, encoding="utf-8")
    (folder / "room.yaml").write_text(ROOM, encoding="utf-8")
    program = [sys.executable, "-c", PROGRAM, *words]
    return subprocess.run(program, cwd=folder, capture_output=True, text=True, timeout=600, check=False)


def test_every_command_is_tried():
    assert {words[0] for words in COMMANDS} == main.commands.keys()
    assert {words[1] for words in COMMANDS if words[0] == "records"} == main.commands["records"].commands.keys()


@pytest.fixture(scope="module")
def written(tmp_path_factory):
    """The folder with what all commands wrote."""
    folder = tmp_path_factory.mktemp("written")
    done = started(folder, json.dumps(COMMANDS))
    assert done.returncode == 0, done.stderr[-2000:]
    return folder


def test_commands_use_no_network_and_start_no_program(written):
    assert (written / "run/provenance.json").is_file()


@pytest.mark.parametrize(("used", "code"), [("network", 99), ("another program", 98)])
def test_the_test_would_notice(used, code, tmp_path):
    assert started(tmp_path, "[]", used).returncode == code


def test_pages_name_nothing_to_fetch(written):
    """Links may be followed by a reader; nothing else has an address."""
    pages = [*written.rglob("*.html")]
    assert {page.parent.name for page in pages} >= {"out", "again", "paper", "audit", "calibrated", written.name}
    fetching = re.compile(
        r"""(?:\bsrc|srcset|poster|formaction)\s*=\s*["']?(?!data:)[\w/.]|@import|url\((?!["']?(?:data:|\#|%23))"""
        r"""|<(?:iframe|object|embed|base|link|meta\s+http-equiv=["']?refresh)|\bfetch\(|XMLHttpRequest|WebSocket|sendBeacon""",
        re.IGNORECASE,
    )
    for page in pages:
        text = page.read_text(encoding="utf-8")
        assert [text[found.start() : found.start() + 80] for found in fetching.finditer(text)] == []


NETWORKED = {
    "socket",
    "ssl",
    "http",
    "urllib",
    "ftplib",
    "smtplib",
    "requests",
    "httpx",
    "aiohttp",
    "webbrowser",
    "pickle",
}
NETWORKED |= {"marshal", "shelve", "dill", "cloudpickle", "joblib", "subprocess", "pty", "ctypes"}


def test_no_module_imports_what_could_fetch_unpickle_or_start_programs():
    package = Path(farrowtide.__file__).parent
    found = {}
    for file in package.rglob("*.py"):
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            names = [alias.name for alias in node.names] if isinstance(node, ast.Import) else []
            names += [node.module or ""] if isinstance(node, ast.ImportFrom) else []
            if bad := {name.partition(".")[0] for name in names} & NETWORKED:
                found[str(file.relative_to(package))] = bad
    assert found == {}


def test_code_is_run_in_one_place_only():
    """That of --policies and --run-policies."""
    package = Path(farrowtide.__file__).parent
    runs = {"exec", "eval", "compile", "__import__", "import_module"}
    found = {}
    for file in package.rglob("*.py"):
        calls = [
            node.func for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))) if isinstance(node, ast.Call)
        ]
        names = {call.id for call in calls if isinstance(call, ast.Name)} & runs
        names |= {call.attr for call in calls if isinstance(call, ast.Attribute)} & (runs - {"compile"})
        if names:
            found[str(file.relative_to(package))] = names
    assert found == {
        "scenarios/policies/loading.py": {"exec", "compile"},
        "__init__.py": {"import_module"},  # of public names
        "study/executors.py": {"import_module"},  # of distributed and mpi4py
    }


NAMES = ["../outside", "/tmp/outside", "..", "a/b", "a\\b", "con", "x" * 300]


@pytest.mark.usefixtures("without_drawing")
def test_no_name_of_an_alternative_or_a_case_becomes_a_path(tmp_path, monkeypatch):
    folder = tmp_path / "in"
    folder.mkdir()
    monkeypatch.chdir(folder)
    alternatives = {name: {"handling.day": 3 + day} for day, name in enumerate(NAMES)}
    room = {
        "title": "../outside",
        "room": {"crates": 1},
        "alternatives": alternatives,
        "cases": {NAMES[0]: {}, "..": {}},
    }
    (folder / "room.json").write_text(json.dumps(room), encoding="utf-8")
    scenario = farrowtide.load("room.json")
    farrowtide.compare(scenario, replications=1, folder=folder / "study").write_report(folder / "report")
    assert [file.name for file in tmp_path.iterdir()] == ["in"]
    assert not Path("/tmp/outside").exists()
    assert {file.name for file in folder.iterdir()} == {"room.json", "study", "report"}
    usual = {"report.html", "provenance.json", "outputs.csv", "differences.csv", "tables.xlsx"}
    assert {file.name for file in (folder / "report").glob("**/*")} == usual

"""Nothing is fetched and nothing is sent, and no module of the package can do either."""

import ast
import json
import re
import subprocess
import sys
from pathlib import Path

import pytest

import farrowtide

ROOM = "title: t\nquestion: q\nroom: {crates: 1}\nalternatives: {a: {}, b: {handling.day: 5}}\n"
FARM = ["--farrowings", "farm/farrowings.csv", "--days", "farm/days.csv"]
COMMANDS = (
    ["check", "room.yaml"],
    ["run", "room.yaml", "-n", "2", "--trace", "--out", "run"],
    ["replay", "room.yaml", "--out", "replay"],
    ["compare", "room.yaml", "-n", "2", "--study", "study", "--out", "out"],
    ["each-sow", "room.yaml", "-n", "2", "--alternative", "b", "--out", "sows"],
    ["story", "room.yaml", "-n", "2", "--find", "worst-litter", "--out", "story.html"],
    ["describe", "room.yaml", "--out", "description.md"],
    ["protocol", "room.yaml", "--out", "paper"],
    ["new", "feeding"],
    ["doctor"],
    ["records", "simulate", "room.yaml", "--litters", "30", "--out", "farm"],
    ["records", "describe", "farm/farrowings.csv", "--days", "farm/days.csv", "--out", "farm.yaml"],
    ["audit", "room.yaml", *FARM, "-n", "40", "--out", "audit"],
    ["reproduce", "run"],
)
# Every use of a socket but those between processes of this machine ends the program; so does any other program.
PROGRAM = """
import json, os, sys
def refuse(event, arguments):
    if event.startswith(("socket.", "urllib", "http", "ftplib", "smtplib", "webbrowser")):
        print("refused", event, arguments, file=sys.stderr)
        os._exit(99)
    if event in ("subprocess.Popen", "os.system", "os.exec", "os.posix_spawn") and arguments[0] != "uname":  # of `doctor`
        print("refused", event, arguments[0], file=sys.stderr)
        os._exit(98)
if len(sys.argv) > 2:
    sys.addaudithook(refuse)
    import socket
    socket.create_connection(("127.0.0.1", 9))
import matplotlib.font_manager
sys.addaudithook(refuse)
from farrowtide.commands.main import main
for words in json.loads(sys.argv[1]):
    try:
        main(words)
    except SystemExit as end:
        if end.code:
            sys.exit(f"{words}: {end.code}")
"""


def started(folder, *words):
    (folder / "room.yaml").write_text(ROOM, encoding="utf-8")
    program = [sys.executable, "-c", PROGRAM, *words]
    return subprocess.run(program, cwd=folder, capture_output=True, text=True, timeout=300, check=False)


def test_commands_use_no_network_and_start_no_program(tmp_path):
    done = started(tmp_path, json.dumps(COMMANDS))
    assert done.returncode == 0, done.stderr[-2000:]


def test_the_test_would_notice(tmp_path):
    assert started(tmp_path, "[]", "use it").returncode == 99


def test_pages_name_nothing_to_fetch(tmp_path):
    """Links may be followed by a reader; nothing else has an address."""
    (tmp_path / "room.yaml").write_text(ROOM, encoding="utf-8")
    compared = farrowtide.compare(tmp_path / "room.yaml", replications=2)
    pages = [compared.write_report(tmp_path), farrowtide.replay(tmp_path / "room.yaml").save(tmp_path / "replay.html")]
    fetching = re.compile(
        r"""(?:\bsrc|srcset|poster|formaction)\s*=\s*["']?(?!data:)[\w/.]|@import|url\((?!["']?(?:data:|\#|%23))"""
        r"""|<(?:iframe|object|embed|base|link|meta\s+http-equiv=["']?refresh)|\bfetch\(|XMLHttpRequest|WebSocket|sendBeacon""",
        re.IGNORECASE,
    )
    for page in pages:
        text = Path(page).read_text(encoding="utf-8")
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

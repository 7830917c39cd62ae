"""A handful of stops, and that the harness notices what it is there to notice."""

import json
import subprocess
import sys
from pathlib import Path

HERE = Path(__file__).parent

HALF_FILES = """
import sys, time
from contextlib import contextmanager
import farrowtide.whole_files
@contextmanager
def replacing(file):
    with open(file, "wb") as out:
        class Halves:
            def write(self, content):
                out.write(content[: len(content) // 2])
                out.flush()
                time.sleep(0.2)
                out.write(content[len(content) // 2 :])
        yield Halves()
farrowtide.whole_files.replacing = replacing
import faults
sys.exit(faults.main())
"""


def harness(program, *options):
    words = [sys.executable, *program, "--nice", "0", "--json", *options]
    done = subprocess.run(words, cwd=HERE, capture_output=True, text=True, timeout=600, check=False)
    assert done.stdout, done.stderr
    return done.returncode, json.loads(done.stdout)


def test_a_handful_of_stops_loses_nothing():
    code, said = harness(["faults.py"], "--moments", "12", "--commands", "new,describe,run")
    assert said["findings"] == []
    assert code == 0
    for name in ("new", "describe", "run"):
        assert said[name]["trials"] == 12
    assert sum(said[name].get("stopped", 0) for name in ("new", "describe", "run")) > 6


def test_every_command_that_writes_is_stopped():
    from programs import PROGRAMS

    from farrowtide.commands.main import main

    only_print = {"check", "check-homework", "explain", "outputs", "schema", "doctor", "completion"}
    assert {words.words[0] for words in PROGRAMS.values()} == main.commands.keys() - only_print


def test_a_half_written_file_is_noticed():
    code, said = harness(["-c", HALF_FILES], "--moments", "30", "--commands", "describe")
    assert code == 1
    assert said["describe"]["half-written"] > 0

"""What Ctrl-C leaves: a report that can be reproduced, and a message that says what is kept and how to go on."""

import importlib.metadata
import re
import subprocess
import sys
import threading

import click.testing
import pytest

import farrowtide
from farrowtide.commands import exit_codes
from farrowtide.commands.main import main
from farrowtide.study import course

pytestmark = pytest.mark.usefixtures("without_drawing")


@pytest.fixture
def interrupt(monkeypatch, small_room):
    """Runs a function of the package on small rooms and stops it after so many rooms; returns the Interrupted."""
    monkeypatch.setattr(course, "REPLICATES", 4)
    monkeypatch.setattr(course.os, "cpu_count", lambda: 1)

    def interrupted(verb, *arguments, after, **options):
        def stop(done, total, said):
            if done > after:
                raise KeyboardInterrupt

        with pytest.raises(farrowtide.Interrupted) as caught:
            verb(small_room, *arguments, seed=3, progress=stop, **options)
        return caught.value

    return interrupted


@pytest.mark.parametrize(
    "start",
    [
        "import farrowtide.__main__; farrowtide.__main__.main()",
        "import runpy; runpy.run_module('farrowtide', run_name='__main__')",
    ],
)
def test_while_the_program_is_loaded_the_message_is_short(start):
    program = (
        "import sys\n"
        "class Stop:\n"
        "    def find_spec(name, path=None, target=None):\n"
        "        if name == 'click': raise KeyboardInterrupt\n"
        f"sys.meta_path.insert(0, Stop)\n{start}\n"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, timeout=120, check=False)
    assert (done.returncode, done.stdout) == (exit_codes.EXIT_INTERRUPTED, "")
    assert done.stderr == "interrupted: nothing is kept\n"
    (command,) = importlib.metadata.entry_points(group="console_scripts", name="farrowtide")
    assert command.value == "farrowtide.__main__:main"


def test_wherever_ctrl_c_comes_the_message_and_the_exit_code_are_ours(monkeypatch):
    def stop(*arguments, **options):
        raise KeyboardInterrupt

    monkeypatch.setattr(click.Group, "make_context", stop)
    found = click.testing.CliRunner().invoke(main, ["doctor"])
    assert (found.exit_code, found.stdout) == (exit_codes.EXIT_INTERRUPTED, "")
    assert found.stderr.strip() == "interrupted: nothing is kept"


def test_an_error_that_ctrl_c_caused_on_its_way_up_is_no_internal_error(monkeypatch):
    """As of threading.Condition, which on its way up releases a lock that it does not hold yet."""

    def stop(*arguments, **options):
        try:
            raise KeyboardInterrupt
        finally:
            threading.Lock().release()

    monkeypatch.setattr(main.commands["doctor"], "callback", stop)
    found = click.testing.CliRunner().invoke(main, ["doctor"])
    assert (found.exit_code, found.stdout) == (exit_codes.EXIT_INTERRUPTED, "")
    assert found.stderr == "interrupted; a study folder keeps its finished blocks\n"


def test_a_ctrl_c_after_the_end_changes_no_exit_code():
    program = (
        "import atexit, os, signal, farrowtide.__main__\n"
        "atexit.register(lambda: os.kill(os.getpid(), signal.SIGINT))\n"
        "farrowtide.__main__.main()\n"
    )
    words = [sys.executable, "-c", program, "outputs"]
    done = subprocess.run(words, capture_output=True, text=True, timeout=120, check=False)
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout


@pytest.mark.parametrize("options", [{"replications": 40}, {"precision": {"intake": 1e-3}, "replications": 400}])
@pytest.mark.parametrize("units", ["si", "us"])
def test_the_report_of_a_comparison_that_was_stopped_is_reproduced(interrupt, tmp_path, options, units):
    stopped = interrupt(farrowtide.compare, after=65, **options).finished
    report = stopped.write_report(tmp_path, units=units)
    assert f"{stopped.replications} of {options['replications']} replications" in report.read_text(encoding="utf-8")
    again = farrowtide.reproduce(report)
    assert again.files == {"report.html": True}
    assert again.same
    said = f"the file says that it was stopped before all of {options['replications']} replications were done"
    assert (again.untrue, again.unchecked) == ([], [said])
    assert all(farrowtide.reproduce(tmp_path).files.values())


def test_the_command_of_a_stopped_comparison_asks_for_what_was_run(interrupt):
    stopped = interrupt(farrowtide.compare, after=65, replications=40).finished
    assert re.search(r"replications=4\b", stopped.provenance["command"])
    assert stopped.provenance["wanted_replications"] == 40


def test_the_tables_of_a_stopped_sweep_are_reproduced(interrupt, tmp_path):
    stopped = interrupt(farrowtide.sweep, {"room.crates": [2, 3]}, after=270, replications=40).finished
    assert stopped.replications < 40
    stopped.write(tmp_path)
    assert all(farrowtide.reproduce(tmp_path).files.values())


def test_the_message_says_what_is_kept_and_how_to_go_on(interrupt, tmp_path):
    assert "nothing is kept" in str(interrupt(farrowtide.compare, after=0, replications=40))
    assert "those of the replications that are finished" in str(
        interrupt(farrowtide.compare, after=65, replications=40)
    )
    for after in (0, 65):
        folder = tmp_path / f"study {after}"
        said = str(interrupt(farrowtide.compare, after=after, replications=40, folder=folder))
        assert f"finished blocks are kept: resume the study in {folder} (--resume)" in said


@pytest.mark.parametrize(
    ("finished", "folder", "said"),
    [
        (None, None, "interrupted before any round of rooms was complete; nothing is kept: run it again"),
        ("a result", None, "interrupted; the results are those of the replications that are finished"),
        (
            None,
            "kept",
            "interrupted before any round of rooms was complete; finished blocks are kept: resume the study in kept",
        ),
        ("a result", "kept", "interrupted; finished blocks are kept: resume the study in kept"),
    ],
)
def test_the_message_begins_with_how_far_it_came(finished, folder, said):
    assert str(farrowtide.Interrupted(finished, folder)).startswith(said)


@pytest.mark.parametrize(
    ("place", "message"),
    [
        ("farrowtide.scenarios.scenario.load", "interrupted: nothing is kept"),
        ("farrowtide.commands.comparing._deliver", "interrupted while results were written: files may be incomplete"),
    ],
)
def test_before_and_after_the_rooms_the_message_is_another(meals_file, tmp_path, monkeypatch, place, message):
    def stop(*arguments, **options):
        raise KeyboardInterrupt

    monkeypatch.setattr(place, stop)
    arguments = ["compare", str(meals_file), "-n", "1", "--set", "room.crates=1", "--out", str(tmp_path)]
    found = click.testing.CliRunner().invoke(main, arguments)
    assert found.exit_code == exit_codes.EXIT_INTERRUPTED
    assert found.stderr == f"{message}\n"

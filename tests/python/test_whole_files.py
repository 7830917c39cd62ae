"""Files are read only where they are regular and of bounded size, and written whole, never through a link."""

import ast
import os
import socket
import threading
from pathlib import Path

import pytest
from click.testing import CliRunner

import farrowtide
from farrowtide import whole_files
from farrowtide.commands.main import main
from farrowtide.study import folder as study_folder

ROOT = Path(__file__).parents[2]
THREE_SOWS = ROOT / "scenarios/teaching/three_sows.yaml"
ROOM = "title: t\nroom: {crates: 1}\nalternatives: {a: {}, b: {handling.day: 3}}\n"
pytestmark = pytest.mark.filterwarnings("ignore:Glyph:UserWarning")


def call(*words):
    return CliRunner().invoke(main, [str(word) for word in words])


METHODS = {  # which open files
    "open", "fdopen", "read_text", "read_bytes", "write_text", "write_bytes", "to_csv", "to_parquet", "to_excel", "to_json",
    "savefig", "tofile", "read_csv", "read_parquet", "read_table", "write_table", "load", "copyfile", "copytree",
}  # fmt: skip


def test_every_file_is_read_and_written_by_these_functions():
    """But for what the package brings with it, and the source of classes that Python has read already."""
    package = Path(farrowtide.__file__).parent
    found = {}
    for file in package.rglob("*.py"):
        calls = [
            node.func for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))) if isinstance(node, ast.Call)
        ]
        methods = {call.attr for call in calls if isinstance(call, ast.Attribute)} & METHODS
        functions = {call.id for call in calls if isinstance(call, ast.Name)} & {"open"}
        if methods | functions:
            found[str(file.relative_to(package))] = methods | functions
    assert found == {
        "whole_files.py": {"open", "fdopen"},
        "commands/printing.py": {"open"},  # the device that takes everything
        "engine/result.py": {"to_parquet"},  # into a stream of `replacing`
        "inert_text.py": {"to_csv"},  # into such a stream
        "report/pictures/picture.py": {"savefig"},  # into such a stream
        "study/folder.py": {"write_table", "open"},  # into memory; the lock
        "study/course.py": {"open"},  # the study folder
        "outputs/plausibility/ranges.py": {"read_text"},  # of the package itself
        "records/layout.py": {"read_text"},
        "yaml_documents.py": {"load"},  # YAML of a text that was read
        "records/describing.py": {"load"},
        "report/description/document.py": {"read_text"},
        "report/usual_intake.py": {"read_text"},
        "report/replay_page.py": {"read_text"},
        "analysis/watching/alarms.py": {"read_text"},
        "report/description/lists.py": {"read_text"},
        "report/protocol/phrases.py": {"load", "read_text"},
        "report/templating.py": {"read_text"},
        "scenarios/parameters.py": {"read_text"},
        "scenarios/starters/__init__.py": {"read_text"},
        "scenarios/policies/loading.py": {"read_text"},  # of a class that Python has read
    }


# --- Writing ---


def outputs_of(verb, into):
    more = {
        "compare": ["-n", 2],
        "run": ["-n", 2],
        "labour": ["-n", 2],
        "pairing": ["-n", 2],
        "each-sow": ["-n", 2, "--alternative", "b"],
        "sweep": ["-n", 2, "--vary", "handling.day=3,4"],
        "describe": [],
    }[verb]
    out = into / "description.md" if verb == "describe" else into
    return call(verb, into.parent / "s.yaml", *more, "--out", out, *([] if verb == "describe" else ["--quiet"]))


@pytest.mark.parametrize("verb", ["compare", "run", "labour", "pairing", "each-sow", "sweep", "describe"])
def test_no_output_is_written_through_a_link(verb, tmp_path):
    (tmp_path / "s.yaml").write_text(ROOM)
    assert outputs_of(verb, tmp_path / "made").exit_code == 0
    made = {file.name: file.read_bytes() for file in (tmp_path / "made").iterdir()}
    assert made
    victim, planted = tmp_path / "victim", tmp_path / "planted"
    victim.write_text("mine")
    planted.mkdir()
    for at, name in enumerate(sorted(made)):
        (planted / name).symlink_to(victim if at % 2 else tmp_path / "none yet")
    assert (done := outputs_of(verb, planted)).exit_code == 0, done.output
    assert victim.read_text() == "mine"
    assert not (tmp_path / "none yet").exists()
    assert {file.name: file.read_bytes() for file in planted.iterdir() if not file.is_symlink()} == made


@pytest.mark.parametrize("verb", ["compare", "run", "labour", "pairing", "each-sow", "sweep", "describe"])
def test_a_folder_that_is_a_link_is_refused_before_anything_runs(verb, tmp_path):
    (tmp_path / "s.yaml").write_text(ROOM)
    (tmp_path / "elsewhere").mkdir()
    (tmp_path / "link").symlink_to(tmp_path / "elsewhere")
    done = outputs_of(verb, tmp_path / "link")
    assert done.exit_code == 2
    assert "link: is a symbolic link to" in done.output
    assert not list((tmp_path / "elsewhere").iterdir())


@pytest.mark.parametrize("link", ["results", "results/s"])
def test_the_default_folder_of_reports_is_no_link(link, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    Path("s.yaml").write_text(ROOM)
    Path("elsewhere").mkdir()
    Path(link).parent.mkdir(exist_ok=True)
    Path(link).symlink_to(tmp_path / "elsewhere")
    done = call("compare", "s.yaml", "-n", 2)
    assert done.exit_code == 2
    assert f"{link}: is a symbolic link to" in done.output
    assert not list(Path("elsewhere").rglob("*"))


def test_pictures_are_not_written_through_links(tmp_path, comparison):
    victim = tmp_path / "victim"
    victim.write_text("mine")
    for suffix in ("svg", "png", "pdf"):
        (tmp_path / f"x.{suffix}").symlink_to(victim)
        comparison.plot_intake().save(tmp_path / f"x.{suffix}")
        assert not (tmp_path / f"x.{suffix}").is_symlink()
    assert victim.read_text() == "mine"
    assert (tmp_path / "x.png").read_bytes().startswith(b"\x89PNG")
    assert (tmp_path / "x.pdf").read_bytes().startswith(b"%PDF")


def test_a_device_is_not_replaced_by_a_file(tmp_path):
    os.mkfifo(tmp_path / "pipe")
    (tmp_path / "null").symlink_to("/dev/null")
    (tmp_path / "stdout").symlink_to("/proc/self/fd/1")
    (tmp_path / "folder").mkdir()
    for name in ("pipe", "null", "stdout", "folder"):
        with pytest.raises(farrowtide.UserError, match="is not a regular file"):
            whole_files.write_text(tmp_path / name, "x")
    assert sorted(file.name for file in tmp_path.iterdir()) == ["folder", "null", "pipe", "stdout"]
    assert call("describe", THREE_SOWS, "--out", tmp_path / "pipe").exit_code == 2


@pytest.mark.parametrize("stopped", [KeyboardInterrupt, OSError])
def test_what_is_not_finished_leaves_the_old_file_and_nothing_else(stopped, tmp_path):
    file = tmp_path / "report.html"
    file.write_text("old")

    def write_half():
        with whole_files.replacing(file) as out:
            out.write(b"half of the new")
            out.flush()
            assert file.read_text() == "old"
            raise stopped

    with pytest.raises(stopped):
        write_half()
    assert {file.name: file.read_text() for file in tmp_path.iterdir()} == {"report.html": "old"}
    whole_files.write_text(file, "new")
    assert {file.name: file.read_text() for file in tmp_path.iterdir()} == {"report.html": "new"}


# --- Reading ---


@pytest.fixture(params=["pipe", "socket", "device", "folder"])
def special(request, tmp_path):
    """A path that is no regular file. Reading a pipe or a terminal would wait without end."""
    path = tmp_path / "special"
    if request.param == "pipe":
        os.mkfifo(path)
    elif request.param == "socket":
        with socket.socket(socket.AF_UNIX) as made:
            made.bind(str(path))
    elif request.param == "folder":
        path.mkdir()
    else:
        path.symlink_to("/dev/zero")
    return path


def ends_in_a_user_error(function):
    """Whether it raises UserError; in a thread, so that a wait without end fails the test."""
    raised = []

    def run():
        try:
            raised.append(function())
        except BaseException as error:
            raised.append(error)

    thread = threading.Thread(target=run, daemon=True)
    thread.start()
    thread.join(60)
    return bool(raised) and isinstance(raised[0], farrowtide.UserError)


def test_nothing_waits_for_a_file_that_is_none(special, tmp_path, three_sows):
    assert ends_in_a_user_error(lambda: farrowtide.load(special))
    assert ends_in_a_user_error(lambda: farrowtide.load(THREE_SOWS, policies=[special]))
    assert ends_in_a_user_error(lambda: three_sows.with_coefficients(special))
    from farrowtide.results.reproduce import reproduce

    for name in ("provenance.json", "report.html", "x.svg", "x.csv"):
        (tmp_path / "made").mkdir()
        special.rename(tmp_path / "made" / name)
        assert ends_in_a_user_error(lambda name=name: reproduce(tmp_path / "made" / name))
        assert ends_in_a_user_error(lambda: reproduce(tmp_path / "made"))
        (tmp_path / "made" / name).rename(special)
        (tmp_path / "made").rmdir()


def test_no_study_waits_for_a_file_that_is_none(special, tmp_path):
    scenario = farrowtide.load({"title": "t", "room": {"crates": 1}})

    def study(**options):
        return farrowtide.compare(
            scenario, {"a": {}, "b": {}}, replications=2, seed=5, threads=1, folder=tmp_path / "study", **options
        )

    study()
    (tmp_path / "study" / "manifest.json").unlink()
    special.rename(tmp_path / "study" / "manifest.json")
    assert ends_in_a_user_error(lambda: study(resume=True))


def test_no_study_waits_for_a_block_without_a_checksum_that_is_none(special, tmp_path):
    scenario = farrowtide.load({"title": "t", "room": {"crates": 1}})

    def study(**options):
        return farrowtide.compare(
            scenario, {"a": {}, "b": {}}, replications=2, seed=5, threads=1, folder=tmp_path / "study", **options
        )

    first = study()
    without_checksum = tmp_path / "study" / "blocks" / "0000-00000000.parquet"
    special.rename(without_checksum)
    if without_checksum.is_dir() and not without_checksum.is_symlink():
        assert ends_in_a_user_error(lambda: study(resume=True))
        return
    ended = []
    thread = threading.Thread(target=lambda: ended.append(study(resume=True)), daemon=True)
    thread.start()
    thread.join(60)
    assert ended
    assert ended[0].replicates.equals(first.replicates)


def test_a_file_in_place_of_a_block_that_is_none_is_a_user_error(special, tmp_path):
    scenario = farrowtide.load({"title": "t", "room": {"crates": 1}})

    def study(**options):
        return farrowtide.compare(
            scenario, {"a": {}, "b": {}}, replications=2, seed=5, threads=1, folder=tmp_path / "study", **options
        )

    study()
    file = min((tmp_path / "study/blocks").iterdir())
    file.unlink()
    special.rename(file)
    assert ends_in_a_user_error(lambda: study(resume=True))


def test_a_report_of_another_kind_of_file_does_not_stop_the_next(special, tmp_path):
    (tmp_path / "s.yaml").write_text(ROOM)
    (tmp_path / "results").mkdir()
    special.rename(tmp_path / "results/provenance.json")
    from farrowtide.commands.comparing import _question_held

    assert _question_held(tmp_path / "results") == ""


def test_a_large_file_is_not_read(tmp_path):
    with (tmp_path / "provenance.json").open("wb") as sparse:
        sparse.truncate(1 << 40)
    done = call("reproduce", tmp_path / "provenance.json")
    assert done.exit_code == 2
    assert "too large (at most 64 MB)" in done.output
    assert study_folder.LARGEST_BLOCK_BYTES >= whole_files.LARGEST_BYTES

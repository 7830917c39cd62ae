"""The command line: exit codes, words, JSON, and help that comes at once."""

import json
import os
import re
import signal
import subprocess
import sys
import time
from pathlib import Path

import click.testing
import pandas as pd
import pytest

import farrowtide
from farrowtide import _core
from farrowtide.commands import exit_codes
from farrowtide.commands.main import main
from farrowtide.engine.result import TABLES

pytestmark = pytest.mark.usefixtures("without_drawing")

JSON_TYPES = {"object", "array", "string", "number", "integer", "boolean", "null"}
COMMAND = [sys.executable, "-c", "from farrowtide.commands.main import main; main()"]


def call(*arguments, **options):
    return click.testing.CliRunner().invoke(main, [str(argument) for argument in arguments], **options)


@pytest.fixture
def wrong_file(tmp_path):
    file = tmp_path / "wrong.yaml"
    file.write_text("title: x\nroom:\n  crates: -3\n  crats: 4\n", encoding="utf-8")
    return file


def test_help_loads_neither_pandas_nor_matplotlib():
    program = "import sys; from farrowtide.commands import main; print([m for m in ('pandas', 'matplotlib', 'scipy') if m in sys.modules])"
    assert subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True).stdout == "[]\n"


def test_help_comes_at_once():
    """Target half a second, printed; the bound leaves room for a busy machine."""
    times = []
    for _ in range(3):
        started = time.perf_counter()
        subprocess.run([*COMMAND, "--help"], check=True, capture_output=True)
        times.append(time.perf_counter() - started)
    print(f"--help took {min(times):.2f} s")
    assert min(times) < 2


def test_version_names_engine_results_and_coefficients():
    said = call("--version").output
    assert f"farrowtide {_core.engine_version}, results version {_core.results_version}" in said
    assert _core.Coefficients.built_in().hash in said


def test_check_tells_every_mistake_with_its_place_and_exits_2(wrong_file, meals_file):
    found = call("check", meals_file, wrong_file)
    assert found.exit_code == exit_codes.EXIT_MISTAKE
    assert f"{wrong_file}:3:11: " in found.stderr
    assert f"{wrong_file}:4:3: " in found.stderr
    assert "Did you mean crates?" in found.stderr
    assert f"{meals_file}: ok" in found.stdout


def test_check_as_json(wrong_file):
    said = json.loads(call("check", wrong_file, "--json").stdout)
    assert [(m["line"], m["key"]) for m in said["files"][0]["mistakes"]] == [(3, "room.crates"), (4, "room.crats")]


@pytest.mark.parametrize(
    "arguments",
    [
        ["run", "no-such-file.yaml"],
        ["rnu"],
        ["run", "{wrong}"],
        ["run", "{meals}", "--case", "Juli"],
        ["run", "{meals}", "--set", "room.crats=3"],
        ["run", "{meals}", "--set", "room.crates"],
        ["run", "{meals}", "--replications", "0"],
        ["compare", "{meals}", "--reference", "nothing"],
        ["compare", "{meals}", "--output", "nothing"],
        ["compare", "{meals}", "-n", "2", "--out", "/dev/null/here"],
        ["explain", "feding.kind"],
    ],
    ids=" ".join,
)
def test_users_mistakes_exit_2_without_a_traceback(arguments, wrong_file, meals_file):
    found = call(*(argument.format(wrong=wrong_file, meals=meals_file) for argument in arguments))
    assert found.exit_code == exit_codes.EXIT_MISTAKE
    assert found.stderr
    assert "Traceback" not in found.output


def test_our_mistakes_exit_1_with_a_traceback(meals_file, monkeypatch):
    def fail(*_, **__):
        raise farrowtide.InternalError("piglets were lost")

    monkeypatch.setattr("farrowtide.engine.running.run", fail)
    found = call("run", meals_file)
    assert found.exit_code == exit_codes.EXIT_INTERNAL
    assert "piglets were lost" in found.stderr
    assert "Traceback" in found.stderr


def test_run_prints_means_with_intervals_and_writes_tables(meals_file, tmp_path):
    found = call("run", meals_file, "-n", 3, "--set", "room.crates=4", "--out", tmp_path)
    assert found.exit_code == 0
    assert "mean of 3 rooms" in found.stdout
    assert pd.read_parquet(tmp_path / "sows.parquet")["replicate"].nunique() == 3
    assert {path.stem for path in tmp_path.glob("*.parquet")} == set(TABLES)
    assert json.loads((tmp_path / "provenance.json").read_text())["seed"] == 1


def test_a_farm_says_what_it_counts(meals_file):
    farm = [f"farm.{key}={value}" for key, value in {"groups": 3, "rooms": 5}.items()]
    found = call("run", meals_file, "--set", "room.crates=2", *(word for text in farm for word in ("--set", text)))
    assert found.exit_code == 0, found.output
    said = " ".join(found.stdout.split())
    assert "mean of 1 farm" in said
    assert "3 groups count, one every 7 days, in 1 of 5 rooms" in said
    assert "The 5 groups that first fill the rooms" in said


def test_run_as_json_has_stable_keys(meals_file):
    said = json.loads(call("run", meals_file, "--json", "--case", "July", "--alternative", "full access").stdout)
    assert set(said) == {"provenance", "caution", "withheld_care", "warnings", "interrupted", "outputs"}
    assert set(said["outputs"][0]) == {"output", "unit", "label", "mean", "sd", "ci_low", "ci_high", "n", "reason"}
    assert said["outputs"][0]["sd"] is None  # one room has no spread


def test_trace_tells_the_first_room_in_words(meals_file):
    lines = call("run", meals_file, "--trace", "--set", "room.crates=1").stdout.splitlines()
    assert lines[0].startswith("day 0 ")
    assert any("litter" in line or "piglet" in line for line in lines)


def test_compare_prints_differences_writes_a_report_and_says_where(meals_file, tmp_path):
    found = call("compare", meals_file, "-n", 40, "--set", "room.crates=6", "--out", tmp_path)
    assert found.exit_code == 0
    assert "January: the verdict" in found.stdout
    assert "worse" in found.stdout
    assert found.stderr.splitlines()[-1] == f"report: {tmp_path / 'report.html'}"
    assert (tmp_path / "report.html").stat().st_size > 10_000
    assert "\x1b" not in found.output  # no colour into a file


@pytest.mark.parametrize("columns", [80, 100])
def test_tables_fit_the_page(meals_file, tmp_path, columns):
    arguments = ["compare", meals_file, "-n", 40, "--set", "room.crates=6", "--out", tmp_path, "--quiet"]
    lines = call(*arguments, env={"COLUMNS": str(columns)}).stdout.splitlines()
    assert max(map(len, lines)) <= columns
    heads = [line for line in lines if line.startswith(" Output")]
    assert len(heads) == 3 * {80: 2, 100: 1}[columns]  # a table a case, or two where the page is narrow
    assert any("better" in line for line in lines)
    assert any("too few rooms" in line or "too small" in line for line in lines)


def test_no_color_takes_the_colour_out(meals_file):
    arguments = ["run", meals_file, "-n", 3, "--set", "room.crates=4"]
    colour = re.compile(r"\x1b\[(?:\d+;)*(?:3\d|9\d)")
    plain, painted = (
        call(*arguments, env={"FORCE_COLOR": "1", "TERM": "xterm-256color"} | more).stderr
        for more in ({"NO_COLOR": "1"}, {"NO_COLOR": None})
    )
    assert colour.search(painted)
    assert not colour.search(plain)


def test_compare_as_json_has_stable_keys(meals_file, tmp_path):
    said = json.loads(
        call("compare", meals_file, "-n", 2, "--set", "room.crates=2", "--json", "--out", tmp_path).stdout
    )
    assert set(said) == {
        "provenance", "caution", "withheld_care", "warnings", "set_aside", "interrupted", "reference", "precision",
        "no_worse", "verdict", "answers", "not_clear", "may_cost", "break_even", "report", "differences",
    }  # fmt: skip
    assert set(said["differences"][0]) == {
        "case", "output", "unit", "alternative", "reference", "mean_alternative", "mean_reference", "difference",
        "ci_low", "ci_high", "n", "n_differing", "p_holm", "verdict", "rooms_needed", "reason",
    }  # fmt: skip


def test_explain_knows_keys_coefficients_and_outputs():
    assert "Default: hand" in call("explain", "feeding.kind").stdout
    assert "grade    C" in call("explain", "sow.herd.lactation_length").stdout
    assert "higher is better" in call("explain", "weaned_per_litter").stdout


def test_outputs_lists_the_catalogue():
    said = call("outputs").stdout
    assert all(name in said for name in farrowtide.catalogue())


def test_schema_is_json_that_knows_the_keys():
    schema = json.loads(call("schema").stdout)
    assert "crates" in schema["properties"]["room"]["properties"]
    assert schema["$schema"].startswith("https://json-schema.org/")
    places = [schema]
    while places:  # what the standard asks of the words used here
        place = places.pop()
        types = place.get("type", [])
        assert set([types] if isinstance(types, str) else types) <= JSON_TYPES
        assert set(place.get("required", [])) <= set(place.get("properties", {}))
        assert place.get("minimum", -1e300) <= place.get("maximum", 1e300)
        assert "enum" not in place or len(set(place["enum"])) == len(place["enum"]) > 0
        places += place.get("properties", {}).values()
        places += place.get("anyOf", []) + [branch["then"] for branch in place.get("allOf", [])]
        places += [place["items"]] if isinstance(place.get("items"), dict) else []


@pytest.mark.parametrize("quiet", [[], ["--quiet"]])
def test_ctrl_c_keeps_what_is_done_and_exits_130(meals_file, tmp_path, quiet):
    study = tmp_path / "study"
    arguments = ["compare", str(meals_file), "-n", "100000", "--set", "room.crates=4", "--out", str(tmp_path), *quiet]
    arguments += ["--study", str(study)]
    running = subprocess.Popen([*COMMAND, *arguments], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    first_round = 5 * 3  # alternatives and cases
    for _ in range(1200):
        if len(list(study.glob("blocks/*.parquet"))) > first_round or running.poll() is not None:
            break
        time.sleep(0.1)
    running.send_signal(signal.SIGINT)
    out, err = running.communicate(timeout=300)
    assert running.returncode == exit_codes.EXIT_INTERRUPTED, err
    assert "Stopped early: " in out
    assert "Stopped early" in (tmp_path / "report.html").read_text()
    assert "Traceback" not in err


@pytest.mark.parametrize("command", ["run", "labour"])
def test_one_alternative_stopped_by_ctrl_c_is_delivered_as_far_as_it_is_done(command, meals_file, monkeypatch):
    whole_run = farrowtide.run

    def stopped_run(scenario, **options):
        raise farrowtide.Interrupted(whole_run(scenario, **options | {"replications": 2, "progress": None}))

    monkeypatch.setattr("farrowtide.engine.running.run", stopped_run)
    found = call(command, meals_file, "-n", 9, "--set", "room.crates=4")
    assert found.exit_code == exit_codes.EXIT_INTERRUPTED
    assert "Stopped early: 2 of 9 replications are done." in found.stdout


def test_the_engine_hears_ctrl_c_at_once(small_room):
    """Long before the end of a run that would take a minute."""
    program = (
        "import farrowtide, sys\n"
        "scenario, run = farrowtide.load(sys.argv[1]), farrowtide.run\n"
        "print('ready', flush=True)\n"
        "def progress(done):\n    if done: print('running', flush=True)\n"
        "try:\n    run(scenario, replications=50_000, record=[], progress=progress)\n"
        "except farrowtide.Interrupted as stopped:\n    print(stopped.finished.replications)\n"
    )
    arguments = [sys.executable, "-c", program, small_room.source_name]
    running = subprocess.Popen(arguments, stdout=subprocess.PIPE, text=True, env=os.environ)
    assert running.stdout.readline() == "ready\n"
    assert running.stdout.readline() == "running\n"
    running.send_signal(signal.SIGINT)
    done = running.communicate(timeout=300)[0].splitlines()[-1]
    assert 0 < int(done) < 50_000


@pytest.fixture
def named_outputs(tmp_path) -> Path:
    """A small study that names its outputs, one of them without a better direction."""
    file = tmp_path / "named.yaml"
    file.write_text(
        "title: x\nroom: {crates: 8}\nstudy: {outputs: [labour_min_per_litter, piglets_moved_percent, weaned_per_litter]}\n"
        "alternatives: {a: {}, b: {handling.day: 5}}\n",
        encoding="utf-8",
    )
    return file


def test_what_the_study_names_is_answered_first_and_all_of_it(named_outputs, tmp_path):
    named = ["labour_min_per_litter", "piglets_moved_percent", "weaned_per_litter"]
    said = json.loads(call("compare", named_outputs, "-n", 40, "--json", "--out", tmp_path, "--quiet").stdout)
    assert [row["output"] for row in said["differences"][:3]] == named
    words = " ".join(said["answers"]["as written"] + said["not_clear"]["as written"])
    for row in said["differences"][:3]:
        label = farrowtide.catalogue()[row["output"]].label.lower()
        assert label in words or row["verdict"].startswith(("higher", "lower"))
        assert (row["ci_low"] is None) <= bool(row["reason"])
    report = (tmp_path / "report.html").read_text(encoding="utf-8")
    assert (
        report.index("Labour per litter")
        < report.index("Piglets weaned per litter")
        < report.index("Feed intake per sow")
    )
    swept = json.loads(call("sweep", named_outputs, "--vary", "handling.day=3,5", "-n", 40, "--json").stdout)
    assert swept["outputs"] == ["labour_min_per_litter", "weaned_per_litter"]
    assert {row["output"] for row in swept["ranking"]} == set(swept["outputs"])
    ran = json.loads(call("run", named_outputs, "-n", 2, "--json").stdout)
    assert [row["output"] for row in ran["outputs"]] == named


def test_compare_takes_short_names_of_outputs_and_outputs_without_a_better_direction(named_outputs, tmp_path):
    options = ["-n", 2, "--json", "--quiet", "--out", tmp_path]
    said = json.loads(call("compare", named_outputs, "--output", "intake", *options).stdout)
    assert {row["output"] for row in said["differences"]} == {"feed_intake_kg_per_day"}
    moved = call("compare", named_outputs, "--output", "piglets_moved_percent", *options)
    assert moved.exit_code == 0, moved.output
    assert "worst tenth" not in (tmp_path / "report.html").read_text(encoding="utf-8")


def test_intervals_of_few_rooms_stay_in_range(meals_file):
    rows = json.loads(call("run", meals_file, "-n", 5, "--json").stdout)["outputs"]
    shares = [row for row in rows if row["unit"] == "%"]
    assert shares
    assert all(0 < row["ci_low"] < row["mean"] < row["ci_high"] < 100 for row in shares)
    one = json.loads(call("run", meals_file, "-n", 1, "--json").stdout)["outputs"]
    assert {(row["ci_low"], row["reason"]) for row in one} == {(None, "one room gives no interval")}


def test_pick_does_not_choose_between_alternatives_that_never_differ(tmp_path):
    file = tmp_path / "same.yaml"
    rooms = "room: {crates: 2}\nherd: {sows: [{parity: 2, total_born: 12}, {parity: 3, total_born: 12}]}\n"
    file.write_text(f"title: x\n{rooms}alternatives: {{a: {{}}, b: {{}}}}\n", encoding="utf-8")
    said = json.loads(call("pick", file, "--output", "weaned", "--indifference", "0.05", "--json").stdout)
    assert (said["best"], said["tied"], said["replications"], said["interrupted"]) == (None, ["a", "b"], 1000, False)
    assert "0 of 1,000 rooms differ" in said["reason"]

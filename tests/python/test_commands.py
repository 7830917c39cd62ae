"""Folders of reports, single replicates, cases of `pick`, narrow terminals, views, and numbers as they are written."""

import json
import re

import click.testing
import pandas as pd
import pytest

import farrowtide
from farrowtide.commands.main import main
from farrowtide.outputs.units import sentence_in

pytestmark = pytest.mark.usefixtures("without_drawing")


def call(*arguments, **options):
    return click.testing.CliRunner().invoke(main, [str(argument) for argument in arguments], **options)


@pytest.fixture
def compare_in(tmp_path, meals_file, monkeypatch):
    """Compares small rooms of a copy of the scenario and returns the report's path; `folder` holds the copy."""
    monkeypatch.chdir(tmp_path)

    def compare(*arguments, folder="farm"):
        copy = tmp_path / folder / "meals.yaml"
        copy.parent.mkdir(exist_ok=True)
        copy.write_text(meals_file.read_text(encoding="utf-8"), encoding="utf-8")
        return (
            call("compare", copy, "--set", "room.crates=2", *arguments).stderr.splitlines()[-1].removeprefix("report: ")
        )

    return compare


def test_a_report_is_kept_where_another_question_is_asked(compare_in, tmp_path):
    first = compare_in("-n", 6)
    page = (tmp_path / first).read_bytes()
    assert first == "results/meals/report.html"
    others = [compare_in("-n", 3), compare_in("-n", 6, "--units", "us"), compare_in("-n", 6, "--seed", 5)]
    assert all(re.fullmatch(r"results/meals-[0-9a-f]{8}/report\.html", other) for other in others)
    assert len(set(others)) == 3
    assert (tmp_path / first).read_bytes() == page


def test_the_same_question_has_the_same_folder(compare_in, tmp_path):
    assert compare_in("-n", 3) == compare_in("-n", 3)
    assert [path.name for path in (tmp_path / "results").iterdir()] == ["meals"]


def test_files_of_one_name_have_folders_of_their_own(compare_in):
    assert compare_in("-n", 3) != compare_in("-n", 3, folder="other farm")


def test_a_folder_that_holds_something_unreadable_is_kept(compare_in, tmp_path):
    held = tmp_path / "results/meals"
    held.mkdir(parents=True)
    (held / "report.html").write_text("mine", encoding="utf-8")
    assert compare_in("-n", 3) != "results/meals/report.html"
    assert (held / "report.html").read_text(encoding="utf-8") == "mine"


def test_pick_says_in_which_case_it_picks(meals_file):
    arguments = ("pick", meals_file, "--output", "intake", "--indifference", 5, "-n", 40, "--set", "room.crates=2")
    assert "in the case 'January' only, not in 'July', 'small trough'" in " ".join(call(*arguments).stdout.split())
    said = json.loads(call(*arguments, "--json", "--case", "July").stdout)
    assert (said["case"], said["other_cases"]) == ("July", ["January", "small trough"])


def test_a_replicate_is_run_alone_with_the_same_events(meals_file):
    scenario = farrowtide.load(meals_file).override({"room.crates": 1})
    alone = call("run", meals_file, "--set", "room.crates=1", "--trace", "--replicate", 11, "--json")
    said = json.loads(alone.stdout)
    assert said["trace"] == farrowtide.run(scenario, replications=12, record=["events"]).trace(11)
    assert said["trace"] != farrowtide.run(scenario, record=["events"]).trace(0)


def test_the_command_of_a_single_replicate_names_it(meals_file):
    said = json.loads(call("run", meals_file, "--replicate", 3, "--json").stdout)
    assert said["provenance"]["command"].endswith("--replicate 3 --seed 1")
    assert "leave out --replications" in call("run", meals_file, "--replicate", 3, "-n", 2).stderr


@pytest.mark.parametrize("columns", [40, 60])
def test_no_number_is_cut_off_on_a_narrow_terminal(three_sows, columns):
    for arguments in (
        ("outputs",),
        ("labour", three_sows.source_name, "-n", 3),
        ("run", three_sows.source_name, "-n", 3),
    ):
        found = call(*arguments, env={"COLUMNS": str(columns)})
        assert found.exit_code == 0
        assert "\N{HORIZONTAL ELLIPSIS}" not in found.stdout
    stacked = "\n" + call("outputs", env={"COLUMNS": str(columns)}).stdout
    for name, output in farrowtide.catalogue().items():
        _, _, block = stacked.partition(f"\n{name}\n")
        assert f"{output.negligible:g}" in block.split("Too small to matter below:")[1].split("\n")[0]


@pytest.mark.parametrize("columns", ["0", "-1", "x", "\N{SUPERSCRIPT TWO}", "99999"])
def test_output_is_as_wide_as_usual_where_the_terminal_says_no_width(columns):
    found = call("outputs", env={"COLUMNS": columns, "LINES": columns})
    assert found.exit_code == 0, found.output
    assert found.stdout == call("outputs", env={"COLUMNS": "80"}).stdout


def test_a_frame_can_be_changed_without_changing_the_result(three_sows):
    result = farrowtide.run(three_sows, replications=2)
    weaned = result.sows["weaned"].tolist()
    outputs = farrowtide.run(three_sows, replications=2).outputs
    with pytest.warns(pd.errors.ChainedAssignmentError):
        result.sows["weaned"] *= 0
    changed = result.sows
    changed["weaned"] *= 0
    changed.loc[:, "parity"] = 99
    assert result.sows["weaned"].tolist() == weaned
    assert not (result.sows["parity"] == 99).any()
    assert result.outputs.equals(outputs)
    with pytest.warns(pd.errors.ChainedAssignmentError):
        result.outputs["weaned_per_litter"] *= 0
    assert result.outputs.equals(outputs)


def test_traces_show_hours_and_minutes(three_sows):
    lines = farrowtide.run(three_sows, record=["events"]).trace()
    assert all(re.match(r"day -?\d+ \d\d:\d\d  \S", line) for line in lines)


def test_a_temperature_in_words_has_two_decimals_at_most(three_sows):
    warm = three_sows.override({"temperature": {"kind": "constant", "set_point": "75 degF"}})
    assert warm.policies["temperature"] == "23.89 degC throughout"


def test_us_units_hold_in_sentences():
    assert sentence_in("us", "23.89 degC at farrowing, 20 degC by day 8") == "75 degF at farrowing, 68 degF by day 8"
    assert sentence_in("us", "at most 2 kg/d, 3 kg at 07:00") == "at most 4.41 lb/d, 6.61 lb at 07:00"
    assert sentence_in("si", "20 degC") == "20 degC"


def test_the_report_in_us_units_has_no_degrees_celsius_in_what_differs(three_sows, tmp_path):
    alternatives = {
        name: {"temperature": {"kind": "constant", "set_point": value}}
        for name, value in {"a": "75 degF", "b": 20}.items()
    }
    compared = farrowtide.compare(three_sows, alternatives, replications=3)
    page = compared.write_report(tmp_path, units="us").read_text(encoding="utf-8")
    assert "75 degF throughout" in page
    assert "23.89" not in page


def test_numbers_in_csv_have_eight_digits_and_those_in_frames_all(comparison, tmp_path):
    comparison.write_report(tmp_path)
    text = (tmp_path / "outputs.csv").read_text(encoding="utf-8")
    assert max(len(re.sub(r"^-?0\.0*|\D", "", cell)) for cell in re.findall(r"-?\d+\.\d+", text)) <= 8
    pd.testing.assert_frame_equal(
        pd.read_csv(tmp_path / "outputs.csv"), comparison.replicates, check_dtype=False, rtol=1e-7
    )


def test_check_prints_the_set_points_that_will_run(tmp_path):
    file = tmp_path / "pit.yaml"
    file.write_text(
        'title: "t"\nroom: {crates: 2, deep_pit: true}\n'
        'alternatives:\n  "written": {temperature: {kind: constant, set_point: 70 degF}}\n'
        '  "default": {temperature: {kind: constant}}\n',
        encoding="utf-8",
    )
    said = call("check", file).stdout
    assert "set points of written: 21.1 degC on day -4" in said
    assert "set points of default: 23.9 degC on day -4" in said

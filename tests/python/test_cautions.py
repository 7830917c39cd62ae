"""One caution with every result, and the care that alternatives withhold named wherever they stand."""

import json
from pathlib import Path

import click.testing
import pytest

import farrowtide
from farrowtide.cautions import CAUTION, for_comparison_only, withheld_by
from farrowtide.commands.main import main
from farrowtide.report.page import render

ROOT = Path(__file__).parents[2]
NIGHT = ROOT / "scenarios/staffing/night_cover.yaml"
ALONE = "births are not attended and no sow is helped"
LINE = f"for comparison only: no rounds: {ALONE}"
NONE = "attendance {kind: none}"  # the name of an alternative of a sweep
SMALL = ("--set", "room.crates=2", "-n", "2")
RESULTS = {
    "run": ("run", NIGHT, "--alternative", "no rounds"),
    "trace": ("run", NIGHT, "--alternative", "no rounds", "--trace"),
    "compare": ("compare", NIGHT),
    "labour": ("labour", NIGHT, "--alternative", "no rounds"),
    "each-sow": ("each-sow", NIGHT, "--alternative", "no rounds"),
    "pairing": ("pairing", NIGHT, "--output", "weaned_per_litter"),
    "pick": ("pick", NIGHT, "--output", "weaned", "--indifference", "0.5"),
}


def call(*arguments):
    done = click.testing.CliRunner().invoke(main, [str(argument) for argument in arguments])
    assert done.exit_code == 0, done.output
    return done.stdout


def in_one_line(text):
    return " ".join(text.split())


@pytest.fixture(autouse=True)
def _reports_go_elsewhere(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)


@pytest.fixture(scope="module")
def night():
    return farrowtide.compare(farrowtide.load(NIGHT).override({"room.crates": 2}), replications=2)


@pytest.mark.parametrize("words", RESULTS.values(), ids=RESULTS)
def test_every_command_prints_the_caution_and_the_care_withheld(words):
    text = in_one_line(call(*words, *SMALL))
    assert text.count(CAUTION) == 1
    assert text.endswith(CAUTION)  # below the trace, too
    assert text.count(LINE) == 1


@pytest.mark.parametrize("words", RESULTS.values(), ids=RESULTS)
def test_json_carries_both(words):
    data = json.loads(call(*words, *SMALL, "--json"))
    for place in (data, data["provenance"]):
        assert place["caution"] == CAUTION
        assert place["withheld_care"] == {"no rounds": [ALONE]}


def test_a_sweep_marks_what_withholds_care(tmp_path, monkeypatch):
    words = ("sweep", NIGHT, "--vary", 'attendance=[{"kind": "none"}]', *SMALL, "--out", tmp_path)
    monkeypatch.setenv("COLUMNS", "160")
    text = in_one_line(call(*words))
    assert f"for comparison only: {NONE}: {ALONE}" in text
    assert f" {NONE}* " in text
    assert text.endswith(CAUTION)
    assert json.loads(call(*words, "--json"))["withheld_care"] == {NONE: [ALONE]}
    assert json.loads((tmp_path / "provenance.json").read_text())["caution"] == CAUTION


def test_the_report_and_the_answers_name_the_care_withheld(night, tmp_path):
    page = in_one_line(render(night))
    assert f"<br>* {LINE}" in page
    assert ">no rounds*</th>" in page
    assert any(line.startswith("no rounds (for comparison only): ") for line in sentences_of(night))
    picture = night.plot_differences()
    assert "no rounds*" in [label.get_text() for label in picture.figure.axes[0].get_yticklabels()]
    assert picture.caption.endswith("*: for comparison only.")
    night.write_report(tmp_path)
    assert json.loads((tmp_path / "provenance.json").read_text())["withheld_care"] == {"no rounds": [ALONE]}
    night.plot_intake().save(tmp_path / "intake.svg")
    assert "sampling variation only" in (tmp_path / "intake.svg").read_text()


def sentences_of(comparison):
    from farrowtide.report.wording.comparison import answers

    return [sentence for sentences in answers(comparison).values() for sentence in sentences]


def test_the_description_carries_both():
    text = call("describe", NIGHT)
    assert CAUTION in text
    assert LINE in text
    assert "no rounds\\*" in text


@pytest.mark.parametrize(
    "topic",
    [
        "internal examination and obstetrics", "induction", "pregnant", "asthma", "prescriptions", "withdrawal times",
        "euthanasia", "age limits", "pain relief", "early weaning", "crushed", "trained", "fire", "drip cooling",
        "chilling", "room temperature", "feed", "by day or by night", "herd veterinarian", "licensed practice",
        "sampling variation only",
    ],
)  # fmt: skip
def test_the_caution_names(topic):
    assert topic in CAUTION


def test_the_readme_has_the_same_caution():
    assert CAUTION in in_one_line((ROOT / "README.md").read_text(encoding="utf-8"))


def test_files_whose_alternatives_withhold_care_say_so_in_a_comment():
    withholding = 0
    for file in sorted((ROOT / "scenarios").rglob("*.yaml")):
        if "invalid" in file.parts:
            continue
        scenario = farrowtide.load(file)
        withheld = withheld_by((name, scenario.alternative(name).withheld_care) for name in scenario.alternatives)
        comments = [line for line in file.read_text(encoding="utf-8").splitlines() if line.lstrip().startswith("#")]
        for name in withheld:
            assert any(f'"{name}" is for comparison only' in line for line in comments), (file, name)
        withholding += len(withheld)
    assert withholding >= 3


def test_alternatives_that_withhold_the_same_share_a_line():
    withheld = withheld_by([("a", ["x", "y"]), ("b", []), ("c", ["x", "y"]), ("a", ["x"])])
    assert withheld == {"a": ["x", "y"], "c": ["x", "y"]}
    assert for_comparison_only(withheld) == ["for comparison only: a, c: x; y"]

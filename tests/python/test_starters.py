"""Commented scenarios to start from."""

import json

import jsonschema
import pytest
import yaml
from click.testing import CliRunner

import farrowtide
from farrowtide.commands.main import main
from farrowtide.results import checking
from farrowtide.scenarios.starters import QUESTIONS, SCHEMA, starter


@pytest.mark.parametrize("question", QUESTIONS)
def test_a_starter_has_no_mistake_and_plans_no_work_when_nobody_is_there(question, tmp_path):
    file = tmp_path / "scenario.yaml"
    file.write_text(starter(question))
    found = checking.check(str(file))
    assert found.ok
    assert not [warning for warning in found.warnings if "nobody is on duty" in warning.problem]
    assert farrowtide.load(file).study.reference in farrowtide.load(file).alternatives


@pytest.mark.parametrize("question", QUESTIONS)
def test_a_starter_conforms_to_the_schema_that_its_first_line_names(question, tmp_path):
    file = tmp_path / f"{question}.yaml"
    assert CliRunner().invoke(main, ["new", question, "--out", str(file)]).exit_code == 0
    text = file.read_text()
    assert text.startswith(f"# yaml-language-server: $schema={SCHEMA}\n")
    schema = json.loads((tmp_path / SCHEMA).read_text())
    document = yaml.load(text, Loader=yaml.BaseLoader)  # dates as text, as an editor sees them
    errors = [error.message for error in jsonschema.Draft202012Validator(schema).iter_errors(_typed(document))]
    assert not errors


def test_an_existing_scenario_is_kept(tmp_path):
    file = tmp_path / "feeding.yaml"
    file.write_text("mine")
    found = CliRunner().invoke(main, ["new", "feeding", "--out", str(file)])
    assert found.exit_code != 0
    assert file.read_text() == "mine"


def _typed(value):
    """Numbers as numbers, the rest as text."""
    if isinstance(value, dict):
        return {key: _typed(part) for key, part in value.items()}
    if isinstance(value, list):
        return [_typed(part) for part in value]
    try:
        return json.loads(value)
    except ValueError:
        return value


def test_doctor_names_every_library_that_is_needed():
    found = json.loads(CliRunner().invoke(main, ["doctor", "--json"]).output)
    assert "jinja2" in found["libraries"]
    assert "not installed" not in found["libraries"].values()


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_completion_is_a_script_about_this_command(shell):
    assert "farrowtide" in CliRunner().invoke(main, ["completion", shell]).output

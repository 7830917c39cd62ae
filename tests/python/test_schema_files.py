"""The JSON Schema as the command line checker `check-jsonschema` applies it: shipped files pass, broken ones are refused."""

import json
import subprocess
import sys
from pathlib import Path

import pytest

from farrowtide.scenarios.schema import json_schema
from farrowtide.scenarios.starters import QUESTIONS, starter

SCENARIOS = Path(__file__).parents[2] / "scenarios"
INVALID = SCENARIOS / "invalid"
SHIPPED = sorted(set(SCENARIOS.rglob("*.yaml")) - set(INVALID.rglob("*.yaml")))
REFUSED = ["alternative_with_an_unknown_key", "case_with_an_unknown_key", "misspelt_nested_key", "out_of_range"]
MISSPELT = {
    "alternative": ("alternatives: {a: {room.crats: 4}}", "room.crats"),
    "section of an alternative": ("alternatives: {a: {feeding: {kind: hand, tims: ['07:00']}}}", "tims"),
    "case": ("cases: {a: {herd.sows.0.parrity: 2}}", "herd.sows.0.parrity"),
    "number in a list": ("cases: {a: {moves.first.day: 2}}", "moves.first.day"),
    "value of an alternative": ("alternatives: {a: {room.crates: many}}", "many"),
}


def checked(folder, files):
    """The errors of each file: name -> messages."""
    schema = folder / "schema.json"
    schema.write_text(json.dumps(json_schema()), encoding="utf-8")
    command = [sys.executable, "-m", "check_jsonschema", "--output-format", "json", "--schemafile", schema, *files]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode in (0, 1), done.stderr
    found = json.loads(done.stdout)
    assert (done.returncode == 0) == (found["status"] == "ok")
    assert not found.get("parse_errors")
    messages = {Path(file).name: [] for file in files}
    for error in found["errors"]:
        messages[Path(error["filename"]).name].append(str(error))
    return messages


@pytest.fixture(scope="module")
def verdicts(tmp_path_factory):
    folder = tmp_path_factory.mktemp("schema")
    files = [*SHIPPED, *(INVALID / f"{name}.yaml" for name in REFUSED)]
    texts = {f"starter {question}": starter(question) for question in QUESTIONS}
    texts |= {name: f"title: x\n{text}\n" for name, (text, _) in MISSPELT.items()}
    for name, text in texts.items():
        files.append(folder / f"{name}.yaml")
        files[-1].write_text(text, encoding="utf-8")
    return checked(folder, files)


def test_every_shipped_scenario_and_every_starter_passes(verdicts):
    names = [file.name for file in SHIPPED] + [f"starter {question}.yaml" for question in QUESTIONS]
    assert len(names) > 25
    assert {name: verdicts[name] for name in names if verdicts[name]} == {}


@pytest.mark.parametrize("name", REFUSED)
def test_a_broken_file_is_refused(verdicts, name):
    assert verdicts[f"{name}.yaml"]


@pytest.mark.parametrize("name", MISSPELT)
def test_a_mistake_below_cases_and_alternatives_is_named(verdicts, name):
    assert any(MISSPELT[name][1] in message for message in verdicts[f"{name}.yaml"])


def test_editors_can_complete_the_dotted_keys_of_alternatives_and_cases():
    changes = json_schema()["$defs"]["changes"]
    for key in ("room.crates", "temperature.farrowing", "fostering.window.until", "feeding"):
        assert changes["properties"][key]["description"]
    for group in ("cases", "alternatives"):
        assert json_schema()["properties"][group]["additionalProperties"] == {"$ref": "#/$defs/changes"}

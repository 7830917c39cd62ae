"""Keys of scenarios: what `explain`, the key reference and the schema for editors make of the engine's declarations."""

import re
from collections.abc import Iterator
from pathlib import Path

import jsonschema
import pytest
import yaml

from farrowtide.errors import UserError
from farrowtide.scenarios.declarations import declaration, visit
from farrowtide.scenarios.key_page import key_page
from farrowtide.scenarios.reference import explain
from farrowtide.scenarios.scenario import load
from farrowtide.scenarios.schema import json_schema

SCENARIOS = Path(__file__).parents[2] / "scenarios"
INVALID = SCENARIOS / "invalid"
SHIPPED = sorted(set(SCENARIOS.rglob("*.yaml")) - set(INVALID.rglob("*.yaml")))

# What a schema cannot see: rules between keys, units, the calendar, keys given twice; `not_a_number` and
# `octal_looking` are numbers to other readers of YAML.
BEYOND_A_SCHEMA = [
    "alternative_out_of_range",
    "change_that_lasts_for_no_time",
    "day_by_day_without_amounts",
    "fall_ends_before_it_begins",
    "hour_paid_twice",
    "hours_of_two_lengths",
    "induced_too_early",
    "light_ends_before_it_begins",
    "more_sows_than_crates",
    "move_to_no_sow",
    "negative",
    "no_such_date",
    "not_a_number",
    "octal_looking",
    "price_of_one_alternative_only",
    "reference_is_no_alternative",
    "repeated_key",
    "repeated_nested_key",
    "temperature_in_kelvin",
    "times_not_rising",
    "training_without_a_price",
    "unit_of_another_dimension",
    "unknown_unit",
]


class Yaml12(yaml.SafeLoader):
    """As editors read a file: only true and false are booleans, and a date is a text."""


Yaml12.yaml_implicit_resolvers = {
    first: [(tag, pattern) for tag, pattern in resolvers if not tag.endswith((":bool", ":timestamp"))]
    for first, resolvers in yaml.SafeLoader.yaml_implicit_resolvers.items()
}
Yaml12.add_implicit_resolver("tag:yaml.org,2002:bool", re.compile("^(true|false)$"), list("tf"))


def schema_accepts(file: Path) -> bool:
    validator = jsonschema.Draft202012Validator(json_schema())
    return validator.is_valid(yaml.load(file.read_text(encoding="utf-8"), Yaml12))


def test_explain_tells_meaning_unit_default_range_source_and_grade():
    assert explain("feeding.allowance.max").startswith(
        "feeding.allowance.max\n"
        "  Step-up, by trough: maximum allowance.\n"
        "  Only with: feeding.kind hand, drops, full_access\n"
        "  Unit: kg/d, g/d, mg/d, t/d, lb/d, oz/d\n"
        "  Default: 9\n"
        "  Allowed: 0 to 20 kg/d\n"
        "  Source: "
    )
    assert "grade C: trade practice or assumption" in explain("room.drinker_flow")


@pytest.mark.parametrize(
    ("name", "told"),
    [
        ("feeding.from_day", "Only with: feeding.kind full_access"),
        ("feeding.kind", "- hand: Fed by hand at clock times."),
        ("moves.0.day", "moves[].day\n"),
        ("moves.day", "moves[].day\n"),
        ("moves[].day", "moves[].day\n"),
        ("moves", "- piglets: Number of piglets to move."),
        ("title", "Default: required"),
        ("herd.every_sow.weight", "Default: none"),
        ("room.drinker_flow_cv", "Unit: none; a share may be given in %"),
        ("feeding.allowance.least", "feeding.allowance.min\n"),
        ("temperature.least", "temperature.min\n"),
        ("least", "Earlier name: least"),
    ],
)
def test_explain_knows_keys_of_variants_and_lists_and_earlier_names(name, told):
    assert told in explain(name)


def test_an_earlier_name_alone_explains_every_key_that_had_it():
    text = explain("least")
    assert "feeding.allowance.min\n" in text
    assert "temperature.min\n" in text


@pytest.mark.parametrize(
    ("name", "message"),
    [
        ("room.crats", "There is no key 'room.crats'. Did you mean room.crates?"),
        ("lactation_days", "There is no key 'lactation_days'. Did you mean group.lactation_days?"),
        ("moves.0", "There is no key 'moves.0'. Did you mean moves?"),
        ("xyzzy", "There is no key 'xyzzy'."),
        ("", "There is no key ''."),
        ("\udcff", r"There is no key '\udcff'."),
    ],
)
def test_explain_suggests_a_key_for_an_unknown_one(name, message):
    with pytest.raises(UserError) as error:
        explain(name)
    assert str(error.value) == message


def test_the_key_reference_has_a_table_for_every_mapping_and_variant():
    lines = key_page().splitlines()
    for title in ("Top level", "`feeding`", "`feeding` with `kind: hand`", "`moves[]`", "`herd.every_sow`"):
        assert lines.count(f"## {title}") == 1, title
    assert "| `title` |  | required | text | Title of the scenario, in one line. |" in lines
    assert (
        "| `max` | kg/d | `9` | 0 to 20 kg/d | Step-up, by trough: maximum allowance. Has an effect only with "
        "feeding.allowance.rule: step_up, by_trough. |"
    ) in lines
    assert not [line for line in lines if line.startswith("| `most")], "earlier names are not listed"
    rows = [line for line in lines if line.startswith("|")]
    assert len(rows) > 100
    assert {line.count("|") - line.count("\\|") for line in rows} == {6}


def test_the_schema_says_what_the_declarations_say():
    schema = json_schema()
    jsonschema.Draft202012Validator.check_schema(schema)
    assert schema["required"] == ["title"]
    flow = schema["properties"]["room"]["properties"]["drinker_flow"]
    assert flow["anyOf"][0] == {"type": "number", "minimum": 0.05, "maximum": 10}
    assert flow["default"] == 2.4
    assert flow["description"] == (
        "Mean flow rate of an activated drinker. Unit: L/min, mL/min, m3/min, gal/min, ft3/min. "
        "Allowed: 0.05 to 10 L/min."
    )
    hand, _, full_access = schema["properties"]["feeding"]["allOf"]
    assert hand["if"] == {"properties": {"kind": {"const": "hand"}}}, "the default kind holds where none is given"
    assert full_access["if"] == {"properties": {"kind": {"const": "full_access"}}, "required": ["kind"]}
    allowance = hand["then"]["properties"]["allowance"]["properties"]
    assert allowance["most"] == allowance["max"] | {"deprecated": True}


def mappings(schema: dict) -> Iterator[dict]:
    """Every mapping of declared keys within a schema; `then` only adds to the mapping it stands in."""
    if "properties" in schema:
        yield schema
    parts = list(schema.get("properties", {}).values())
    parts += [part for rule in schema.get("allOf", ()) for part in rule["then"]["properties"].values()]
    for part in [*parts, *([schema["items"]] if "items" in schema else [])]:
        yield from mappings(part)


def test_the_schema_refuses_unknown_keys_in_every_mapping():
    found = list(mappings(json_schema()))
    assert len(found) > 20
    assert all(mapping["unevaluatedProperties"] is False for mapping in found)


@pytest.mark.parametrize("file", SHIPPED, ids=lambda file: file.stem)
def test_the_schema_accepts_every_shipped_scenario(file):
    assert schema_accepts(file)


@pytest.mark.parametrize("file", sorted(INVALID.glob("*.yaml")), ids=lambda file: file.stem)
def test_the_schema_refuses_what_a_schema_can_see(file):
    try:
        accepted = schema_accepts(file)
    except yaml.YAMLError:
        accepted = False  # no YAML at all
    assert accepted == (file.stem in BEYOND_A_SCHEMA)


def test_names_of_keys_and_their_earlier_names_differ():
    for key, path, _ in visit(declaration().keys):
        names = [key.name, *key.aliases]
        assert len(set(names)) == len(names), path


def test_a_scenario_may_use_an_earlier_name_but_not_both():
    scenario = {"title": "t", "feeding": {"kind": "hand", "allowance": {"most": "7 kg/d"}}}
    assert "up to 7 kg/d" in load(scenario).policies["feeding"]
    scenario["feeding"]["allowance"]["max"] = "6 kg/d"
    with pytest.raises(UserError, match="is another name for max, which is also given"):
        load(scenario)

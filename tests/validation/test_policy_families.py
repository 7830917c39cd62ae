"""The page of policy families: every family has its comparison, no row claims more than its source or its coefficients."""

from pathlib import Path

import pictures
import policy_families
import pytest
import yaml
from policy_families import Row

import farrowtide
from farrowtide.outputs.catalogue import catalogue
from farrowtide.report.wording.evidence import SUPPORT

ENTRIES = policy_families.published()
FAMILIES = {"loading", "feeding", "water", "temperature", "attendance", "care", "fostering", "handling"}
COEFFICIENTS = Path(__file__).parents[2] / "libsim/coefficients"
OUTPUTS = catalogue()


def said_of(entries):
    return [(entry["family"], said) for entry in entries for said in entry["rows"]]


def grade(path):
    file, *names = path.split(".")
    found = yaml.safe_load((COEFFICIENTS / f"{file}.yaml").read_text(encoding="utf-8"))
    for name in names:
        found = found[name]
    return found["grade"]


def row(difference, low, high, **said):
    return Row("feeding", {"alternative": "a"} | said, OUTPUTS["feed_intake_kg_per_day"], "b", difference, low, high)


def test_every_family_is_compared_and_its_alternatives_differ_in_it():
    assert {entry["family"] for entry in ENTRIES} == FAMILIES
    for entry in ENTRIES:
        scenario = farrowtide.load(policy_families.ROOT / "scenarios" / f"{entry['scenario']}.yaml")
        does = {name: scenario.alternative(name).policies[entry["family"]] for name in scenario.alternatives}
        reference = next(iter(does))
        for said in entry["rows"]:
            assert does[said["alternative"]] != does[reference], (entry["scenario"], said["alternative"])
            assert said["output"] in OUTPUTS
            assert said.get("case", "") in ["", *scenario.cases]


# The report's sentence about a family is of the same mind as the page.
@pytest.mark.parametrize("family", sorted(FAMILIES))
def test_the_report_claims_a_source_only_where_a_row_has_one(family):
    assert set(SUPPORT) == FAMILIES
    supports = {said["support"] for name, said in said_of(ENTRIES) if name == family}
    assert ("A source reports" in SUPPORT[family] or "Sources report" in SUPPORT[family]) == ("source" in supports)
    assert ("assum" in SUPPORT[family] or "No trial" in SUPPORT[family] or "no trial" in SUPPORT[family]) == (
        not supports.isdisjoint({"assumption", "miss"})
    )


@pytest.mark.parametrize(("family", "said"), said_of(ENTRIES))
def test_a_direction_is_published_or_assumed_or_a_miss(family, said):
    assert said["support"] in policy_families.SUPPORTS
    published = said.get("published")
    if said["support"] == "source":
        assert published == said["model"]
    elif said["support"] == "miss":
        assert published not in (None, said["model"])
    else:
        assert published is None
    if published:
        assert any(character.isdigit() for character in said["why"]), "a source has a year"
    for path in said["coefficients"]:
        assert grade(path) == "C", path


@pytest.mark.parametrize(
    ("model", "difference", "low", "high", "true"),
    [
        ("higher", 0.3, 0.2, 0.4, True),
        ("higher", 0.3, -0.1, 0.7, False),
        ("lower", 0.3, 0.2, 0.4, False),
        ("lower", -0.3, -0.4, -0.2, True),
        ("none", 0.3, -0.1, 0.7, True),
        ("none", 0.3, 0.2, 0.4, False),
        ("none", 0.01, 0.005, 0.015, True),  # clear and too small to matter: 0.05 kg/d
    ],
)
def test_a_row_that_is_not_true_of_the_model_is_found(model, difference, low, high, true):
    assert bool(policy_families.untrue([row(difference, low, high, model=model)])) is not true


# Few rooms: no direction may be clearly the other way round. The page itself asks more, of more rooms.
def test_the_model_goes_where_the_rows_say_and_the_page_shows_it(tmp_path, monkeypatch):
    monkeypatch.setattr(pictures, "GENERATED", tmp_path)
    found = [policy_families.measure(entry, rooms=10) for entry in ENTRIES]
    rows = [one for part in found for one in part]
    opposite = {"higher": "lower", "lower": "higher"}
    assert not [one for one in rows if one.said["model"] in opposite and one.goes(opposite[one.said["model"]])]
    drawn = policy_families.draw(rows)
    text = policy_families.page(ENTRIES, found, drawn, 10)
    for one in rows:
        assert f"{one.said['alternative']} | {one.output.label} | {one.told()}" in text
    before = (tmp_path / "policy_families.svg").read_bytes()
    policy_families.draw(rows)
    assert (tmp_path / "policy_families.svg").read_bytes() == before

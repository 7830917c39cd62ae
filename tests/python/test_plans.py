"""A study before it is run: its alternatives, arms, rounds and identity, and the command and recipe that repeat it."""

import json
from dataclasses import replace

import numpy as np
import pytest

import farrowtide
from farrowtide.cautions import CAUTION
from farrowtide.engine import provenance as of_engine
from farrowtide.limits import MOST_COMBINATIONS
from farrowtide.policies import Handling
from farrowtide.study import manifest, provenance
from farrowtide.study.blocks import REPORT_TABLES, Arm
from farrowtide.study.grid import grid, refuse_keys_of_the_study
from farrowtide.study.plan import ONLY_CASE, plan, reference_of
from farrowtide.study.points import at_points, cannot_be_built
from farrowtide.study.programme import applied_in, keys_of_practices, plan_of_parts

TWO_BY_TWO = {
    "title": "two by two",
    "room": {"crates": 1},
    "cases": {"cool": {"temperature.farrowing": 20}, "warm": {"temperature.farrowing": 24}},
    "alternatives": {"early": {"handling.day": 3}, "late": {"handling.day": 5}},
    "study": {"replications": 30, "seed": 8, "reference": "late", "outputs": ["weaned_per_litter"]},
}
PRICES = {"currency": "EUR", "feed_per_kg": 0.3}
NOBODY = {"kind": "none"}  # attends births


@pytest.fixture(scope="module")
def room():
    return farrowtide.load({"title": "t", "room": {"crates": 1}})


@pytest.fixture(scope="module")
def two_by_two():
    return farrowtide.load(TWO_BY_TWO)


@pytest.fixture(scope="module")
def room_file(tmp_path_factory):
    file = tmp_path_factory.mktemp("scenario") / "s.yaml"
    file.write_text("title: t\nroom: {crates: 1}\nalternatives: {a: {}, b: {handling.day: 3}}\n")
    return file


# --- Grids ---


def test_two_values_that_are_shown_alike_have_different_names():
    """Beyond 40 characters they have the same beginning; a number and its text are shown alike at once."""
    first, second, third = ("a" * 45 + end for end in "xyz")
    names = list(grid({"room.name": [first, second, third]}))
    shown = f"name {'a' * 39}…"
    assert names == [shown, f"{shown} (2)", f"{shown} (3)"]
    assert list(grid({"handling.day": [3, "3", 4]})) == ["day 3", "day 3 (2)", "day 4"]


def test_as_many_combinations_as_are_compared_are_given_and_no_more():
    half = MOST_COMBINATIONS // 2
    assert len(grid({"a.x": list(range(half)), "a.y": [1, 2]})) == MOST_COMBINATIONS
    with pytest.raises(farrowtide.UserError, match=f"vary: {MOST_COMBINATIONS + 2:,} combinations; at most 2,000"):
        grid({"a.x": list(range(half + 1)), "a.y": [1, 2]})


def test_a_grid_of_nothing_is_refused():
    with pytest.raises(farrowtide.UserError, match=r"^vary: a list of values is needed"):
        grid({})
    with pytest.raises(farrowtide.UserError, match=r"^handling\.day: a list of values is needed"):
        grid({"room.crates": [1], "handling.day": ()})


def test_keys_are_shown_by_the_shortest_end_that_no_other_has():
    assert list(grid({"most": [1], "feeding.allowance.most": [2], "feeding.kind": [3]})) == [
        "most 1, allowance.most 2, kind 3"
    ]


@pytest.mark.parametrize("key", ["title", "question", "study.seed", "cases.cool", "alternatives"])
def test_a_key_of_the_whole_study_is_no_key_of_an_alternative(key, room):
    with pytest.raises(farrowtide.UserError, match=f"vary: '{key}' is not a key of the farm"):
        grid({key: [1, 2]})
    with pytest.raises(farrowtide.UserError, match=f"alternative 'b': '{key}' is not a key of the farm"):
        plan(room, {"a": {}, "b": {key: 1}})
    refuse_keys_of_the_study(["room.title", "studying"], "vary")


# --- Plans ---


def test_a_plan_takes_from_the_file_what_is_not_given(two_by_two):
    found = plan(two_by_two)
    assert (found.wanted, found.seed, found.reference, found.verb) == (30, 8, "late", "compare")
    assert [output.name for output in found.outputs if output.group == "headline"] == ["weaned_per_litter"]
    assert (found.given_outputs, found.given_alternatives, found.precision) == (False, None, {})
    assert found.kept.tables == REPORT_TABLES
    places = [(arm.case, arm.alternative, arm.seed, arm.one_stream) for arm in found.arms]
    assert places == [(case, name, 8, False) for case in ("cool", "warm") for name in ("early", "late")]
    assert (found.cases, found.names) == (["cool", "warm"], ["early", "late"])
    expected = two_by_two.case("warm").alternative("early").hash
    assert found.rooms["warm", "early"].hash == expected != found.rooms["cool", "early"].hash


def test_what_is_given_goes_before_the_file(two_by_two):
    found = plan(
        two_by_two,
        {"x": {"handling.day": 3}, "y": {"handling.day": 4}},
        replications=7,
        seed=0,
        outputs=["feed_intake_kg_per_day"],
        reference="y",
        cases=["warm", "warm"],
        tables=(),
    )
    assert (found.wanted, found.seed, found.reference) == (7, 0, "y")
    assert [(arm.case, arm.alternative, arm.seed) for arm in found.arms] == [("warm", "x", 0), ("warm", "y", 0)]
    assert [output.name for output in found.outputs] == ["feed_intake_kg_per_day"]
    assert found.given_outputs
    assert found.given_alternatives == {"x": {"handling.day": 3}, "y": {"handling.day": 4}}
    assert found.kept.tables == ()
    assert found.rooms["warm", "y"].hash == two_by_two.case("warm").override({"handling.day": 4}).hash


def test_without_cases_there_is_one_and_without_a_reference_the_first(room):
    found = plan(room, {"a": {}, "b": {"handling.day": 3}}, replications=1)
    assert found.cases == [ONLY_CASE]
    assert found.reference == "a"


def test_a_study_that_decides_itself_when_to_stop_may_run_20_000_replications(two_by_two):
    assert plan(two_by_two, precision={"weaned": 0.1}).wanted == 20_000
    precise = plan(two_by_two, precision={"weaned": 0.1}, replications=50)
    assert precise.wanted == 50
    assert precise.precision == {"weaned_per_litter": 0.1}


def test_no_replications_are_no_study(two_by_two):
    assert plan(two_by_two, replications=1).wanted == 1
    with pytest.raises(farrowtide.UserError, match="replications = 0: must be at least 1"):
        plan(two_by_two, replications=0)


@pytest.mark.parametrize(
    ("options", "message"),
    [
        ({"replications": "40"}, "replications = '40': must be a whole number"),
        ({"replications": 40.0}, "replications = 40.0: must be a whole number"),
        ({"seed": -1}, "seed = -1: must be at least 0"),
        ({"seed": 2**64}, "seed = 18446744073709551616: must be at most"),
    ],
)
def test_numbers_of_a_study_that_are_none_are_told_before_anything_runs(options, message, two_by_two):
    for planned in (lambda: plan(two_by_two, **options), lambda: plan_of_parts(programme(), **options)):
        with pytest.raises(farrowtide.UserError, match=message):
            planned()


def test_a_whole_number_of_any_type_counts(two_by_two):
    assert plan(two_by_two, replications=np.int64(3), seed=np.uint64(2**64 - 1)).wanted == 3


def test_one_alternative_has_nothing_to_be_compared_with(room):
    with pytest.raises(farrowtide.UserError, match="nothing to compare: name at least two `alternatives`"):
        plan(room, {"a": {}})
    with pytest.raises(farrowtide.ScenarioError, match="handling"):
        plan(room, {"a": {"handling.dya": 3}})  # what is wrong with it is said first


def test_the_reference_is_the_wanted_one_or_the_default_if_there_is_one_of_that_name_or_the_first():
    names = ["a", "b"]
    assert reference_of(names, None, "b") == "b"
    assert reference_of(names, None, "c") == "a"
    assert reference_of(names, "a", "b") == "a"
    with pytest.raises(farrowtide.UserError, match="no alternative is called 'c'"):
        reference_of(names, "c", "b")


def test_rounds_are_of_the_next_replicates_of_every_arm_and_the_last_one_is_shorter(room):
    found = plan(room, {"a": {}, "b": {"handling.day": 3}}, replications=45)
    rounds = list(found.rounds())
    assert [[(block.arm.alternative, block.first, block.count) for block in blocks] for blocks in rounds] == [
        [("a", 0, 20), ("b", 0, 20)],
        [("a", 20, 20), ("b", 20, 20)],
        [("a", 40, 5), ("b", 40, 5)],
    ]
    assert [(blocks[0].first, blocks[0].count) for blocks in found.rounds(30)] == [(0, 30), (30, 15)]
    assert [found.number_of(arm) for arm in found.arms] == [0, 1]


def test_care_that_an_alternative_withholds_in_any_case_is_listed_once(two_by_two):
    given = {"all care": {}, "untreated": {"attendance": NOBODY}}
    found = plan(two_by_two, given, reference="all care")
    assert list(found.withheld_care) == ["untreated"]
    assert len(found.withheld_care["untreated"]) == 1


def test_a_replicate_is_the_mean_of_as_many_litters_as_the_smallest_arm_has(room):
    found = plan(room, {"one": {}, "three": {"room.crates": 3}})
    assert found.litters_per_replication == room.litters_per_replication
    assert found.litters_per_replication < room.override({"room.crates": 3}).litters_per_replication


def test_every_arm_counts_the_same_things_in_money():
    priced = farrowtide.load({"title": "t", "room": {"crates": 1}, "prices": PRICES})
    plan(priced, {"a": {}, "dearer": {"prices.feed_per_kg": 0.4}})
    with pytest.raises(farrowtide.UserError, match="alternative 'b' counts other things in money"):
        plan(priced, {"a": {}, "b": {"prices.hour_of_work": 20}})
    with pytest.raises(farrowtide.UserError, match="alternative 'b' counts other things in money"):
        plan(farrowtide.load({"title": "t"}), {"a": {}, "b": {"prices": PRICES}})


# --- Which study it is ---


def test_the_identity_of_a_study_names_what_changes_numbers(two_by_two):
    found = plan(two_by_two, tables=("farrowings",))
    held = found.identity()
    assert held == json.loads(json.dumps(held)), "a manifest gives it back as it was"
    assert (held["verb"], held["seed"], held["tables"], held["replicates_of_a_block"]) == (
        "compare", 8, ["farrowings"], 20,
    )  # fmt: skip
    assert held["results_version"] == held["about"]["engine"]["results_version"]
    assert held["rooms"][0] == {
        "case": "cool",
        "alternative": "early",
        "scenario_hash": found.arms[0].scenario.hash,
    }
    assert found.identity() == plan(two_by_two, tables=("farrowings",), replications=2, reference="early").identity()


def test_an_arm_with_other_draws_says_so_in_the_identity(room):
    found = plan(room, {"a": {}, "b": {"handling.day": 3}}, seed=4)
    arms = [
        Arm("c", "a", room, seed, one_stream) for seed, one_stream in ((4, False), (5, False), (4, True), (5, True))
    ]
    rooms = replace(found, arms=arms).identity()["rooms"]
    own_draws = [{key: held[key] for key in ("seed", "one_stream") if key in held} for held in rooms]
    assert own_draws == [{}, {"seed": 5}, {"one_stream": True}, {"seed": 5, "one_stream": True}]


def test_a_policy_that_is_in_no_file_cannot_be_told_from_another():
    names = {"Handling": Handling}
    exec(
        "class Own(Handling):\n    name = 'own'\n    def share_of_processing(self, view):\n        return 0.0\n", names
    )
    scenario = farrowtide.load({"title": "t"}, policies=[names["Own"]])
    with pytest.raises(farrowtide.UserError, match="policies must be defined in a file"):
        plan(scenario, {"a": {}, "b": {"handling.day": 3}}).identity()


def test_a_hash_tells_studies_apart_by_what_changes_numbers_only():
    study = {"verb": "compare", "seed": 3, "about": {"source": "s.yaml"}}
    told = manifest.hash_of(study)
    assert len(told) == 32
    assert told == manifest.hash_of(study | {"about": {"source": "elsewhere.yaml"}, "format": 9, "sha256": "x"})
    assert told != manifest.hash_of(study | {"seed": 4})
    assert told != manifest.hash_of({"seed": 3})


def test_a_manifest_is_read_as_it_was_written_and_by_its_checksum(two_by_two, tmp_path):
    file = tmp_path / "manifest.json"
    made = manifest.manifest_of(plan(two_by_two).identity())
    file.write_text(manifest.text_of(made), encoding="utf-8")
    assert manifest.read_manifest(file, "compare") == made
    assert made["format"] == 3
    file.write_text(manifest.text_of(made | {"seed": 9}), encoding="utf-8")
    with pytest.raises(farrowtide.UserError, match="does not have its own checksum"):
        manifest.read_manifest(file, "compare")


def test_a_manifest_is_written_for_readers():
    assert manifest.text_of({"source": "Läufer.yaml"}) == '{\n  "source": "Läufer.yaml"\n}\n'


def test_a_manifest_of_the_second_format_has_no_checksum_and_stays_one(two_by_two, tmp_path):
    file = tmp_path / "manifest.json"
    second = {
        name: value for name, value in manifest.manifest_of(plan(two_by_two).identity()).items() if name != "sha256"
    }
    file.write_text(json.dumps(second | {"format": 2}))
    assert manifest.read_manifest(file, "compare") == second | {"format": 2}


# --- Points ---


def test_a_plan_at_points_has_a_round_for_each_with_arms_numbered_throughout(two_by_two):
    study = plan(two_by_two, precision={"weaned": 0.1}, cases=["warm"])
    at = at_points(study, [{}, {"herd.intake_level": (1.1,)}, {}], [0, 4, 40], 4)
    rounds = list(at.rounds())
    assert [[(at.number_of(block.arm), block.arm.alternative) for block in blocks] for blocks in rounds] == [
        [(0, "early"), (1, "late")],
        [(2, "early"), (3, "late")],
        [(4, "early"), (5, "late")],
    ]
    assert [(blocks[1].first, blocks[1].count, blocks[1].arm.case) for blocks in rounds] == [
        (0, 4, "warm"), (4, 4, "warm"), (40, 4, "warm"),
    ]  # fmt: skip
    hashes = [blocks[0].arm.scenario.hash for blocks in rounds]
    assert hashes[0] == hashes[2] == study.rooms["warm", "early"].hash != hashes[1]
    assert (at.wanted, at.precision, at.kept.tables, at.verb, at.warnings) == (12, {}, (), "doubt", [])


def test_points_and_their_rooms_make_another_study(two_by_two):
    study, point = plan(two_by_two), {"herd.intake_level": (1.1,)}
    identities = [
        at_points(study, points, rooms_at, each).identity()
        for points, rooms_at, each in (
            ([{}, point], [0, 4], 4),
            ([{}, point], [0, 4], 4),
            ([point, {}], [0, 4], 4),
            ([{}, point], [0, 8], 4),
            ([{}, point], [0, 4], 8),
        )
    ]
    assert identities[0] == identities[1]
    hashes = {identity["points"] for identity in identities}
    assert len(hashes) == 4
    assert all(len(told) == 64 for told in hashes)


def test_points_that_are_no_possible_scenario_are_named_by_number(room):
    found = cannot_be_built(room, [{}, {"herd.intake_level": (-3.0,)}, {"no such": (1.0,)}, {}])
    assert list(found) == [1, 2]
    assert "no such = 1.0: is not a coefficient" in found[2]


# --- Programmes ---


def programme(**study):
    return farrowtide.load(
        {
            "title": "a programme",
            "room": {"crates": 1},
            "alternatives": {"more feeds": {"feeding.times": ["06:00", "15:00"]}, "late": {"handling.day": 5}},
            "study": {"parts": ["more feeds", "late"], "replications": 30, "seed": 6} | study,
        }
    )


def test_the_arms_of_a_programme_apply_each_practice_alone_and_all_but_it():
    assert applied_in(["p", "q", "r"]) == {
        "as written": [],
        "with p": ["p"],
        "with q": ["q"],
        "with r": ["r"],
        "full programme": ["p", "q", "r"],
        "full programme without p": ["q", "r"],
        "full programme without q": ["p", "r"],
        "full programme without r": ["p", "q"],
    }


def test_a_plan_of_parts_takes_from_the_file_what_is_not_given():
    found = plan_of_parts(programme())
    assert (found.verb, found.wanted, found.seed, found.reference) == ("parts", 30, 6, "as written")
    assert {arm.seed for arm in found.arms} == {6}
    assert (found.cases, len(found.arms), found.given_outputs, found.kept.tables) == ([ONLY_CASE], 6, False, ())
    given = plan_of_parts(programme(), replications=1, seed=0, outputs=["weaned_per_litter"])
    assert (given.wanted, given.seed, given.given_outputs) == (1, 0, True)
    shown = [output.name for output in given.outputs if output.group == "headline"]
    assert shown == ["weaned_per_litter", "labour_min_per_litter"]
    assert len(found.outputs) == len(given.outputs) == len(farrowtide.catalogue())


def test_a_programme_needs_two_practices_and_a_room():
    with pytest.raises(farrowtide.UserError, match="replications = 0: must be at least 1"):
        plan_of_parts(programme(), replications=0)
    with pytest.raises(farrowtide.UserError, match="nothing to take apart"):
        plan_of_parts(programme().override({"study.parts": ["late"]}))


def test_the_keys_of_a_practice_are_those_that_it_changes_in_any_case():
    cases = {"plain": {}, "late already": {"handling.day": 5}}
    scenario = programme().override({"cases": cases})
    study = plan_of_parts(scenario)
    assert study.cases == ["plain", "late already"]
    assert keys_of_practices(study) == {"more feeds": ["feeding.times"], "late": ["handling.day"]}


# --- What repeats it ---


def test_the_provenance_of_a_comparison_repeats_what_was_asked(two_by_two):
    study = plan(two_by_two, replications=40, outputs=["weaned_per_litter"], reference="early")
    found = provenance.of_comparison(study, 40, checks=12, interrupted=False)
    assert (found["replications"], found["seed"], found["conservation_checks_passed"]) == (40, 8, 12)
    assert "wanted_replications" not in found
    assert found["recipe"] == {
        "verb": "compare",
        "alternatives": None,
        "replications": 40,
        "seed": 8,
        "reference": "early",
        "outputs": ["weaned_per_litter"],
        "precision": {},
        "scenario": two_by_two.recipe,
    }
    from_file = provenance.of_comparison(plan(two_by_two), 30, checks=0, interrupted=False)
    assert from_file["recipe"]["outputs"] is None


def test_a_comparison_that_was_stopped_asks_for_the_replications_that_it_has(two_by_two):
    study = plan(two_by_two, replications=400, precision={"weaned": 0.1}, outputs=["weaned_per_litter"])
    found = provenance.of_comparison(study, 60, checks=0, interrupted=True)
    assert found["wanted_replications"] == 400
    recipe = found["recipe"]
    assert (recipe["replications"], recipe["precision"], recipe["outputs"]) == (60, {}, ["weaned_per_litter"])
    assert "precision" not in found["command"]
    whole = provenance.of_comparison(study, 60, checks=0, interrupted=False)
    assert (whole["recipe"]["replications"], whole["recipe"]["precision"]) == (400, {"weaned_per_litter": 0.1})
    assert whole["command"].endswith("precision={'weaned_per_litter': 0.1})")


def test_a_comparison_of_a_file_is_repeated_on_the_command_line_and_one_of_given_alternatives_in_python(room_file):
    scenario = farrowtide.load(room_file)
    study = plan(scenario, replications=40, seed=2, precision={"weaned": 0.1})
    command = provenance.of_comparison(study, 40, checks=0, interrupted=False)["command"]
    assert command == (
        f"farrowtide compare {room_file} --replications 40 --seed 2 --reference a --precision weaned_per_litter=0.1"
    )
    doubted = provenance.with_doubt({"command": command, "caution": CAUTION, "recipe": {"verb": "compare"}}, 50)
    assert doubted["command"] == f"{command} --doubt --doubt-draws 50"
    assert doubted["recipe"] == {"verb": "compare", "doubt_draws": 50}
    assert "except those said to hold both doubts" in doubted["caution"]
    given = {"x": {}, "y": {"handling.day": 5}}
    study = plan(scenario, given, replications=40, seed=2, precision={"weaned": 0.1})
    command = provenance.of_comparison(study, 40, checks=0, interrupted=False)["command"]
    assert command == (
        f"farrowtide.compare({scenario.expression}, {given!r}, replications=40, seed=2, reference='x', "
        "precision={'weaned_per_litter': 0.1})"
    )
    told = {"command": command, "caution": "", "recipe": {}}
    assert provenance.with_doubt(told, 50)["command"] == f"farrowtide.doubt({command}, draws=50)"


def test_a_comparison_to_a_precision_of_a_mapping_is_repeated_by_its_command(two_by_two):
    study = plan(two_by_two, replications=40, precision={"weaned": 9.0})
    command = provenance.of_comparison(study, 40, checks=0, interrupted=False)["command"]
    assert command == (
        f"farrowtide.compare({two_by_two.expression}, replications=40, seed=8, reference='late', "
        "precision={'weaned_per_litter': 9.0})"
    )


def test_the_provenance_of_parts_names_what_was_shown_where_it_was_asked_for():
    study = plan_of_parts(programme(), replications=50, seed=3, outputs=["weaned_per_litter"])
    whole = provenance.of_parts(study, 40, checks=5, interrupted=False)
    assert whole["recipe"] == {
        "verb": "parts",
        "replications": 50,
        "seed": 3,
        "outputs": ["weaned_per_litter", "labour_min_per_litter"],
        "scenario": study.scenario.recipe,
    }
    assert (whole["replications"], "wanted_replications" in whole) == (40, False)
    stopped = provenance.of_parts(plan_of_parts(programme(), replications=50), 40, checks=5, interrupted=True)
    assert (stopped["wanted_replications"], stopped["recipe"]["replications"]) == (50, 40)
    assert stopped["recipe"]["outputs"] is None
    assert "replications=40" in stopped["command"]


def test_the_provenance_of_a_sweep_names_what_it_varied(two_by_two):
    vary = {"handling.day": (3, 5)}
    study = plan(two_by_two, grid(vary), verb="sweep", replications=9, reference="day 3")
    found = provenance.of_sweep(study, 9, vary, checks=0, interrupted=False)
    assert (found["recipe"]["verb"], found["recipe"]["vary"]) == ("sweep", {"handling.day": [3, 5]})
    assert found["command"] == (
        f"farrowtide.sweep({two_by_two.expression}, {{'handling.day': [3, 5]}}, replications=9, seed=8, "
        "reference='day 3')"
    )


def test_the_provenance_of_a_pick_names_the_case_where_the_file_has_it(two_by_two, room_file):
    study = plan(two_by_two, replications=30)
    told = {"confidence": 0.95, "replications": 20, "checks": 3}
    found = provenance.of_pick(study, "intake", 0.1, case="warm", **told)
    assert found["recipe"] == {
        "verb": "pick",
        "output": "intake",
        "indifference": 0.1,
        "case": "warm",
        "confidence": 0.95,
        "replications": 30,
        "seed": 8,
        "alternatives": None,
        "scenario": two_by_two.recipe,
    }
    assert (found["replications"], found["conservation_checks_passed"]) == (20, 3)
    of_file = plan(farrowtide.load(room_file), replications=30, seed=1)
    found = provenance.of_pick(of_file, "intake", 0.1, case=ONLY_CASE, **told)
    assert found["recipe"]["case"] is None
    assert found["command"] == (
        f"farrowtide pick {room_file} --output intake --indifference 0.1 --confidence 0.95 --replications 30 --seed 1"
    )


def test_the_provenance_of_pairs_is_a_command_of_the_file_or_python(room_file, two_by_two):
    told = {"replications": 20, "seed": 3, "checks": 4}
    of_file = provenance.of_pairs(farrowtide.load(room_file), "pairing", "pairing_table", **told, outputs=["intake"])
    assert of_file["command"] == f"farrowtide pairing {room_file} --replications 20 --seed 3 --output intake"
    recipe = {"verb": "pairing", "replications": 20, "seed": 3, "outputs": ["intake"]}
    assert {key: of_file["recipe"][key] for key in recipe} == recipe
    options = {"reference": "early", "alternative": "late", "case": None}
    found = provenance.of_pairs(two_by_two, "each-sow", "each_sow", **told, **options)
    assert found["command"] == (
        f"farrowtide.pairing.each_sow({two_by_two.expression}, replications=20, seed=3, reference='early', "
        "alternative='late')"
    )


def test_the_care_withheld_in_pairs_is_that_of_the_two():
    given = {"all care": {}, "untreated": {"attendance": NOBODY}, "also untreated": {"attendance": NOBODY}}
    scenario = farrowtide.load({"title": "t", "alternatives": given})
    told = {"replications": 20, "seed": 3, "checks": 4}
    every = provenance.of_pairs(scenario, "pairing", "pairing_table", **told)
    assert list(every["withheld_care"]) == ["untreated", "also untreated"]
    pair = provenance.of_pairs(
        scenario, "each-sow", "each_sow", **told, reference="all care", alternative="also untreated"
    )
    assert list(pair["withheld_care"]) == ["also untreated"]


# --- A run ---


def test_the_command_of_a_run_is_for_the_terminal_where_it_can_be(room_file, room):
    scenario = farrowtide.load(room_file)
    of = of_engine.run_command
    assert of(scenario, replications=3, seed=2, first_replicate=0) == (
        f"farrowtide run {room_file} --replications 3 --seed 2"
    )
    assert (
        of(scenario, replications=1, seed=2, first_replicate=7) == f"farrowtide run {room_file} --replicate 7 --seed 2"
    )
    for given, replications in ((scenario, 2), (room, 1)):
        assert of(given, replications=replications, seed=2, first_replicate=7) == (
            f"farrowtide.run({given.expression}, replications={replications}, seed=2, first_replicate=7)"
        )


def test_the_words_of_a_command_are_quoted_for_the_shell(tmp_path):
    file = tmp_path / "two words.yaml"
    file.write_text("title: t\n")
    words = of_engine.command("run", farrowtide.load(file), seeds=[1, 2])
    assert words == f"farrowtide run '{file}' --seed 1 --seed 2"


def test_the_provenance_of_a_run_says_what_care_its_scenario_withholds():
    untreated = farrowtide.load({"title": "t", "attendance": NOBODY})
    told = {"replications": 1, "seed": 2, "checks": 3, "command": "farrowtide.run()"}
    found = of_engine.of_run(untreated, **told)
    assert list(found["withheld_care"]) == ["as written"]
    assert found["caution"] == CAUTION
    assert "calibration" not in found
    named = farrowtide.load({"title": "t", "alternatives": {"untreated": {"attendance": NOBODY}}})
    assert list(of_engine.of_run(named.alternative("untreated"), **told)["withheld_care"]) == ["untreated"]
    assert of_engine.of_run(untreated, **told, withheld_care={})["withheld_care"] == {}

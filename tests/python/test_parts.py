"""A programme taken apart: each arm changes its practice and nothing else, on the same animals."""

import json
from pathlib import Path

import pandas as pd
import pytest
import yaml
from click.testing import CliRunner

import farrowtide
from farrowtide.analysis.parts import ALL, ALONE, WITHIN
from farrowtide.commands.main import main
from farrowtide.scenarios.plausibility.facts import values_in_effect
from farrowtide.study.programme import FULL, _with_labour, added, left_out, plan_of_parts

# What a sow and her litter bring with them, which no practice changes.
TRAITS = ["sow", "parity", "appetite_effect_log", "milk_effect_log", "duration_effect_log", "leg_trouble"]


@pytest.fixture(scope="module")
def programme_file():
    return Path(__file__).parents[2] / "scenarios/programme/full_programme.yaml"


@pytest.fixture(scope="module")
def programme(programme_file):
    return farrowtide.load(programme_file)


@pytest.fixture(scope="module")
def found(programme):
    small = programme.override({"room.crates": 4, "study.parts": programme.study.parts[:3]})
    return farrowtide.parts(small, replications=40, seed=3)


def beneath(key, changed):
    return any(key == other or key.startswith(f"{other}.") for other in changed)


def test_each_arm_changes_its_practice_and_nothing_else(programme, programme_file):
    """By the hash: the arm without a practice, with the practice's own keys set, is the arm with it."""
    changes = yaml.safe_load(programme_file.read_text(encoding="utf-8"))["alternatives"]
    study = plan_of_parts(programme)
    (case,) = study.cases
    arm = {name: study.rooms[case, name] for name in study.names}
    practices = programme.study.parts
    assert len(study.names) == 2 * len(practices) + 2
    assert len({scenario.hash for scenario in arm.values()}) == len(arm)
    whole = arm["as written"]
    for practice in practices:
        assert arm["as written"].override(changes[practice]).hash == arm[added(practice)].hash
        assert arm[left_out(practice)].override(changes[practice]).hash == arm[FULL].hash
        whole = whole.override(changes[practice])
        for without, with_it in (("as written", added(practice)), (left_out(practice), FULL)):
            before, after = values_in_effect(arm[without]), values_in_effect(arm[with_it])
            differing = {key for key in before | after if before.get(key) != after.get(key)}
            assert differing
            assert all(beneath(key, changes[practice]) for key in differing)
    assert whole.hash == arm[FULL].hash


def test_all_arms_have_the_same_animals(programme):
    study = plan_of_parts(programme.override({"room.crates": 8}))
    rooms = [farrowtide.run(arm.scenario, replications=2, seed=7) for arm in study.arms]
    for room in rooms[1:]:
        pd.testing.assert_frame_equal(room.sows[TRAITS], rooms[0].sows[TRAITS], check_exact=True)
        # Litters of sows that were alive to bear them, as drawn before anything acts on them.
        drawn = room.piglets.set_index(["replicate", "sow", "birth_order"])[["male", "birth_weight_kg"]]
        reference = rooms[0].piglets.set_index(["replicate", "sow", "birth_order"])[["male", "birth_weight_kg"]]
        both = drawn.index.intersection(reference.index)
        assert len(both) > 0.9 * len(reference)
        pd.testing.assert_frame_equal(drawn.loc[both], reference.loc[both], check_exact=True)


def test_the_worth_of_a_practice_is_a_paired_difference(found):
    rooms = found.replicates.set_index(["alternative", "replicate"])["weaned_per_litter"]
    output = next(output for output in found.outputs if output.name == "weaned_per_litter")
    for practice in found.practices:
        for place, with_it, without in (
            (ALONE, added(practice), "as written"),
            (WITHIN, FULL, left_out(practice)),
        ):
            row = found.row(found.cases[0], practice, place, output)
            pairs = rooms[with_it] - rooms[without]
            assert row.difference == pytest.approx(pairs.mean())
            assert row.mean_with == pytest.approx(rooms[with_it].mean())
            assert row.mean_without == pytest.approx(rooms[without].mean())
            assert row.n == 40
    whole = found.row(found.cases[0], ALL, ALONE, output)
    assert whole.difference == pytest.approx((rooms[FULL] - rooms["as written"]).mean())


def test_what_is_better_is_called_better_in_both_places(found):
    labour = found.worth[found.worth["output"] == "labour_min_per_litter"]
    taught = labour[labour["practice"] == "drinkers checked daily, 2 L/min"]
    assert len(taught) == 2
    assert (taught["difference"] > 0).all()
    assert set(taught["verdict"]) == {"higher (worse)"}


def test_practices_are_ranked_by_the_first_output_alone(found):
    for outputs, sign in (("weaned", 1), ("weight_loss_kg", -1)):
        ranked = farrowtide.parts(found.scenario, replications=4, seed=3, outputs=[outputs])
        (first, labour) = ranked.shown
        assert labour.name == "labour_min_per_litter"
        worth = [sign * ranked.row(ranked.cases[0], name, ALONE, first).difference for name in ranked.ranked()]
        assert worth == sorted(worth, reverse=True)
        assert sorted(ranked.ranked()) == sorted(ranked.practices)


def test_the_result_says_what_it_is_and_draws_itself(found):
    assert repr(found).startswith("<Parts of 'A poor room and a full programme': ")
    assert "40 replications, seed 3" in repr(found)
    picture = found.plot()
    assert picture.svg().startswith("<?xml")
    assert "allowance read from the trough" not in picture.alt
    assert found.grades["drinkers checked daily, 2 L/min"] == "C"
    assert set(found.keys["gilts together and taught"]) == {"loading.kind", "loading.teach"}


@pytest.mark.parametrize("units", ["si", "us"])
def test_a_report_is_reproduced_byte_for_byte(found, tmp_path, units):
    report = found.write_report(tmp_path, units=units)
    page = report.read_text(encoding="utf-8")
    assert ("[lb]" in page) == (units == "us")
    assert farrowtide.reproduce(tmp_path).files == {"outputs.csv": True, "report.html": True, "worth.csv": True}


def test_the_command_prints_one_table_and_writes_the_report(programme_file, tmp_path):
    words = ["parts", str(programme_file), "-n", "4", "--set", "room.crates=4", "--out", str(tmp_path), "--quiet"]
    printed = CliRunner().invoke(main, words)
    assert printed.exit_code == 0, printed.output
    assert printed.output.count("in the programme") >= 9
    assert (tmp_path / "report.html").exists()
    data = json.loads(CliRunner().invoke(main, [*words, "--json"]).stdout)
    assert len(data["ranking"]["as written"]) == 9
    assert {row["place"] for row in data["worth"]} == {ALONE, WITHIN}
    assert data["provenance"]["command"].startswith("farrowtide.parts(")


def test_ctrl_c_leaves_a_report_of_what_is_finished(found, monkeypatch, tmp_path):
    from farrowtide.study import course

    monkeypatch.setattr(course, "REPLICATES", 4)
    monkeypatch.setattr(course.os, "cpu_count", lambda: 1)

    def stop(done, total, said):
        if done > 40:
            raise KeyboardInterrupt

    with pytest.raises(farrowtide.Interrupted) as caught:
        farrowtide.parts(found.scenario, replications=40, seed=3, progress=stop)
    stopped = caught.value.finished
    assert stopped.interrupted
    assert 0 < stopped.replications < 40
    assert "of 40 replications" in stopped.write_report(tmp_path).read_text(encoding="utf-8")
    assert farrowtide.reproduce(tmp_path).same


SMALL = {
    "title": "a programme",
    "room": {"crates": 2},
    "alternatives": {
        "more feeds": {"feeding.times": ["06:00", "11:00", "15:00"]},
        "no gilt taught": {"loading.teach": "nobody"},
        "another feeding": {"feeding": {"kind": "full_access"}},
    },
}


def test_labour_is_shown_beside_what_is_asked_for_and_nothing_is_lost():
    for names in (["weaned_per_litter"], ["weaned_per_litter", "labour_min_per_litter"]):
        found = _with_labour(names, None)
        shown = [output.name for output in found if output.group == "headline"]
        assert shown == ["weaned_per_litter", "labour_min_per_litter"]
        assert {output.name for output in found} == set(farrowtide.catalogue())


def test_practices_that_change_one_key_are_an_error_with_its_place(tmp_path):
    file = tmp_path / "programme.yaml"
    file.write_text(
        "title: a programme\n"
        "alternatives:\n"
        "  more feeds: {feeding.times: ['06:00', '15:00']}\n"
        "  full access:\n"
        "    feeding: {kind: full_access}\n"
        "study: {parts: [more feeds, full access]}\n",
        encoding="utf-8",
    )
    with pytest.raises(farrowtide.ScenarioError) as caught:
        farrowtide.load(file)
    (mistake,) = caught.value.mistakes
    assert (mistake.line, mistake.key) == (5, "alternatives.full access.feeding")
    assert "'more feeds', which changes 'feeding.times' on line 3" in mistake.problem
    assert CliRunner().invoke(main, ["check", str(file)]).exit_code == 2


def test_a_part_that_is_no_alternative_is_an_error_with_its_place():
    with pytest.raises(farrowtide.ScenarioError, match=r"more fees: is not an alternative .*more feeds"):
        farrowtide.load(SMALL | {"study": {"parts": ["more fees", "no gilt taught"]}})
    with pytest.raises(farrowtide.ScenarioError, match="is listed twice"):
        farrowtide.load(SMALL | {"study": {"parts": ["more feeds", "more feeds"]}})


def test_a_file_without_practices_says_where_to_name_them(meals_file):
    done = CliRunner().invoke(main, ["parts", str(meals_file)])
    assert done.exit_code == 2
    assert "study.parts" in done.output


def test_alternatives_can_be_joined_from_python():
    scenario = farrowtide.load(SMALL)
    joined = scenario.together(["more feeds", "no gilt taught"])
    assert values_in_effect(joined)["loading.teach"] == "nobody"
    assert joined.recipe["steps"] == [["together", ["more feeds", "no gilt taught"]]]
    with pytest.raises(farrowtide.ScenarioError, match="feeding"):
        scenario.together(["more feeds", "another feeding"])
    with pytest.raises(farrowtide.UserError, match="no alternative is called 'more'"):
        scenario.together(["more"])

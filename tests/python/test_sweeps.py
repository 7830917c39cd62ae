"""Many alternatives: every combination is there, the best is picked, and what was made can be made again."""

import json
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from click.testing import CliRunner

import farrowtide
from farrowtide import selecting
from farrowtide.analysis.by_key import series_of
from farrowtide.commands.main import main
from farrowtide.outputs.catalogue import catalogue
from farrowtide.policies import Handling
from farrowtide.report.pictures.sweep import trade_off
from farrowtide.results import reproduce
from farrowtide.study import executors
from farrowtide.study.plan import plan
from farrowtide.study.provenance import of_pick

ROOT = Path(__file__).parents[2]
VARY = {"feeding.allowance.most": ["4 kg/d", "6 kg/d", "8 kg/d"], "handling.day": [3, 5]}


@pytest.fixture(scope="module")
def scenario():
    return farrowtide.load({"title": "sweep", "room": {"crates": 2}})


@pytest.fixture(scope="module")
def found(scenario):
    return farrowtide.sweep(scenario, VARY, replications=50, seed=2)


def call(*arguments):
    return CliRunner().invoke(main, [str(argument) for argument in arguments], catch_exceptions=False)


def test_a_grid_has_every_combination_once_with_names_that_tell_them_apart():
    grid = farrowtide.grid({"feeding.allowance.most": ["6 kg/d"], "farm.rooms": [1, 2], "x.most": [True]})
    assert grid == {
        "allowance.most 6 kg/d, rooms 1, x.most true": {
            "feeding.allowance.most": "6 kg/d",
            "farm.rooms": 1,
            "x.most": True,
        },
        "allowance.most 6 kg/d, rooms 2, x.most true": {
            "feeding.allowance.most": "6 kg/d",
            "farm.rooms": 2,
            "x.most": True,
        },
    }
    with pytest.raises(farrowtide.UserError, match=r"handling\.day: a list of values"):
        farrowtide.grid({"handling.day": []})
    with pytest.raises(farrowtide.UserError, match=r"handling\.day: a list of values"):
        farrowtide.grid({"handling.day": "3"})
    with pytest.raises(farrowtide.UserError, match="is given twice"):
        farrowtide.grid({"handling.day": [3, 3]})


def test_values_of_up_to_40_characters_are_named_in_full():
    names = list(farrowtide.grid({"feeding.times": ["a" * 40, "b" * 41]}))
    assert names == [f"times {'a' * 40}", f"times {'b' * 39}\N{HORIZONTAL ELLIPSIS}"]


def test_the_command_of_a_pick_among_given_alternatives_names_what_is_given():
    study = plan(farrowtide.load({"title": "t"}), {"a": {}, "b": {"handling.day": 5}}, replications=30, seed=4)
    origin = of_pick(study, "intake", 0.1, case="", confidence=0.9, replications=20, checks=0)
    assert origin["command"] == (
        f"farrowtide.pick({study.scenario.expression}, 'intake', 0.1, alternatives={{'a': {{}}, 'b': {{'handling.day': 5}}}}, "
        "confidence=0.9, replications=30, seed=4)"
    )


def test_a_sweep_says_what_a_comparison_of_the_same_alternatives_says(scenario, found):
    compared = farrowtide.compare(
        scenario, {"as written": {}} | farrowtide.grid(VARY), replications=50, seed=2, reference="as written"
    )
    keys = ["case", "alternative", "output"]
    ours, theirs = (frame.set_index(keys).sort_index() for frame in (found.differences, compared.differences))
    assert (ours.index == theirs.index).all()
    for column in ("difference", "ci_low", "ci_high", "p_holm"):
        np.testing.assert_allclose(ours[column], theirs[column], rtol=1e-9, atol=1e-12)
    assert (ours["verdict"] == theirs["verdict"]).all()
    means = compared.means.set_index(keys).sort_index()
    np.testing.assert_allclose(found.means.set_index(keys).sort_index()["mean"], means["mean"], rtol=1e-12)
    rooms = found.replicates(["weaned_per_litter"])
    pd.testing.assert_frame_equal(
        rooms.astype({"case": object, "alternative": object}), compared.replicates[list(rooms)], check_exact=True
    )


def test_the_best_and_the_front_are_those_that_a_look_at_every_mean_finds(found):
    table = found.table("as written", ["feed_intake_kg_per_day", "labour_min_per_litter"])
    intake, labour = table["feed_intake_kg_per_day"], table["labour_min_per_litter"]
    front = {
        name
        for name in table.index
        if not any(
            (intake[other] >= intake[name] and labour[other] <= labour[name])
            and (intake[other] > intake[name] or labour[other] < labour[name])
            for other in table.index
        )
    }
    pareto = found.pareto(["feed_intake_kg_per_day", "labour_min_per_litter"])
    assert set(pareto.index[pareto["efficient"]]) == front
    limit = float(labour.median()) + 1e-9  # of an alternative that is within it
    best = found.best_within("intake", [f"labour_min_per_litter <= {limit}"])
    assert best.best["as written"] == intake[labour <= limit].idxmax()


def test_a_line_is_drawn_only_along_a_trade_off_that_matters(found):
    known = farrowtide.catalogue()
    outputs = [known["feed_intake_kg_per_day"], known["labour_min_per_litter"]]
    for negligible, line in ((0.0, "-"), (1e9, "None")):
        picture = trade_off(found, found.cases[0], *(replace(output, negligible=negligible) for output in outputs))
        drawn = {line.get_label(): line for line in picture.figure.axes[0].lines}
        assert drawn["Pareto-efficient"].get_linestyle() == line
        assert ("nothing to trade off" in picture.caption) == (line == "None")


def test_a_sweep_gone_on_with_on_other_workers_has_the_same_bytes(scenario, found, tmp_path):
    def stop(done, total, said):
        if done > 180:
            raise KeyboardInterrupt

    study = tmp_path / "study"
    with pytest.raises(farrowtide.Interrupted) as caught:
        farrowtide.sweep(scenario, VARY, replications=50, seed=2, folder=study, progress=stop)
    assert caught.value.finished.replications == 20
    with executors.named("processes", workers=2) as pool:
        again = farrowtide.sweep(scenario, VARY, replications=50, seed=2, folder=study, resume=True, executor=pool)
    found.write(tmp_path / "straight")
    again.write(tmp_path / "again")
    for name in ("means.csv", "differences.csv", "provenance.json"):
        assert (tmp_path / "straight" / name).read_bytes() == (tmp_path / "again" / name).read_bytes()
    pd.testing.assert_frame_equal(
        found.replicates(["weight_loss_kg"]), again.replicates(["weight_loss_kg"]), check_exact=True
    )


def test_pick_finds_the_best_and_simulates_the_others_no_longer_than_needed(scenario):
    grid = {f"{most} kg": {"feeding.allowance.most": f"{most} kg/d"} for most in (3, 4, 5, 6, 9)}
    picked = farrowtide.pick(scenario, "intake", 0.02, alternatives=grid, seed=2)
    assert picked.best == "9 kg"
    table = picked.table.set_index("alternative")
    assert table.loc["3 kg", "eliminated_at"] <= table.loc["6 kg", "eliminated_at"]
    assert picked.rooms == table["n"].sum()
    assert picked.replications > 20
    assert picked.rooms < len(grid) * picked.replications
    # The same rounds through the rule itself, all rooms at hand, take the same way.
    whole = farrowtide.compare(scenario, grid, replications=picked.replications, seed=2)
    rule = selecting.Selection(list(grid), catalogue()["feed_intake_kg_per_day"], 0.02)
    values = whole.replicates.pivot(index="replicate", columns="alternative", values="feed_intake_kg_per_day")
    for first in range(0, picked.replications, 20):
        rule.add(values.iloc[first : first + 20])
    pd.testing.assert_frame_equal(rule.table(), picked.table, check_exact=True)
    with pytest.raises(farrowtide.UserError, match="no case is called 'July'"):
        farrowtide.pick(scenario, "intake", 0.1, alternatives=grid, case="July")


def test_memory_does_not_grow_with_replications_in_a_study_folder(tmp_path):
    """Peak of two sweeps in processes of their own, one ten times as long: room for the allocator, not for the rooms."""
    program = (
        "import resource, sys, farrowtide\n"
        "scenario = farrowtide.load({'title': 'm', 'room': {'crates': 1}})\n"
        "farrowtide.sweep(scenario, {'handling.day': [3, 4]}, replications=int(sys.argv[1]), folder=sys.argv[2])\n"
        "print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)\n"
    )
    peaks = [
        int(
            subprocess.run(
                [sys.executable, "-c", program, str(n), str(tmp_path / str(n))],
                capture_output=True,
                text=True,
                check=True,
            ).stdout
        )
        for n in (100, 1000)
    ]
    assert peaks[1] < 1.1 * peaks[0], peaks


# --- Made again ---


def test_every_kind_of_output_can_be_made_again(found, tmp_path):
    found.write(tmp_path / "sweep")
    meals = ROOT / "scenarios/teaching/three_sows.yaml"
    compared = farrowtide.compare(farrowtide.load(meals), replications=6)
    compared.write_report(tmp_path / "compare", units="us")
    compared.plot_intake().save(tmp_path / "intake.svg")
    for command in ("run", "labour", "pairing", "each-sow"):
        alternative = ["--alternative", "full access"] if command == "each-sow" else []
        done = call(command, meals, *alternative, "-n", 4, "--out", tmp_path / command, "--quiet")
        assert done.exit_code == 0, done.output
    made = ("sweep", "compare", "run", "labour", "pairing", "each-sow")
    for path in (*made, "compare/report.html", "intake.svg", "run/sows.parquet", "each-sow/each_sow.csv"):
        again = reproduce.reproduce(tmp_path / path)
        assert again.same, (path, again.files)
        assert len(again.files) >= 1
        assert again.changed == []


def test_a_report_needs_neither_the_scenario_nor_the_policies_it_was_made_with(tmp_path):
    (tmp_path / "s.yaml").write_text(
        "title: </script> & <b>\nroom: {crates: 2}\nalternatives:\n  a: {handling: {kind: second_day}}\n  b: {}\n"
    )
    (tmp_path / "rules.py").write_text(
        "from farrowtide.policies import Handling\n\n\nclass SecondDay(Handling):\n    name = 'second_day'\n\n"
        "    def share_of_processing(self, view):\n        return 1.0 if view.lactation_day == 2 else 0.0\n"
    )
    scenario = farrowtide.load(tmp_path / "s.yaml", policies=[tmp_path / "rules.py"])
    farrowtide.compare(scenario, replications=3, precision={"weaned": 5.0}).write_report(tmp_path / "out")
    for name in ("s.yaml", "rules.py"):
        (tmp_path / name).unlink()
    (tmp_path / "out/provenance.json").unlink()
    with pytest.raises(farrowtide.UserError, match="made with policies in Python, which it holds and would run"):
        reproduce.reproduce(tmp_path / "out/report.html")
    assert reproduce.reproduce(tmp_path / "out/report.html", run_policies=True).same


def test_what_differs_is_told_with_its_exit_code(tmp_path):
    compared = farrowtide.compare(farrowtide.load(ROOT / "scenarios/teaching/three_sows.yaml"), replications=3)
    compared.write_report(tmp_path)
    table = tmp_path / "outputs.csv"
    table.write_text(table.read_text().replace("0", "1", 1))
    made = json.loads((tmp_path / "provenance.json").read_text())
    (tmp_path / "provenance.json").write_text(json.dumps(made | {"results_version": 1}, indent=2) + "\n")
    done = call("reproduce", tmp_path, "--quiet")
    assert done.exit_code == 3
    assert "outputs.csv: DIFFERS" in done.output
    assert "differences.csv: identical" in done.output
    assert "changed: results version 1 then" in done.output


def test_what_cannot_be_made_again_says_why(tmp_path):
    (tmp_path / "holiday.svg").write_text("<svg/>")
    assert "has no provenance" in call("reproduce", tmp_path / "holiday.svg").output

    class Own(Handling):
        """In no file."""

        name = "own"

        def share_of_processing(self, view):
            return 0.0

    scenario = farrowtide.load({"title": "t", "room": {"crates": 2}, "handling": {"kind": "own"}}, policies=[Own])
    farrowtide.compare(scenario, {"a": {}, "b": {"handling": {"kind": "bundled"}}}, replications=2).write_report(
        tmp_path
    )
    done = call("reproduce", tmp_path / "report.html")
    assert done.exit_code == 2
    assert "policies given as classes" in done.output


def test_the_readmes_own_picture_says_how_it_was_made():
    """That it comes out again is checked where the README's commands are run."""
    made = reproduce.recipe_of(ROOT / ".site/generated/intake.svg")
    assert (made["picture"], made["recipe"]["verb"], made["recipe"]["replications"]) == ("intake", "compare", 200)
    assert "farrowtide reproduce .site/generated/intake.svg" in (ROOT / "README.md").read_text(encoding="utf-8")


# --- The commands ---


def test_sweep_prints_the_best_and_writes_tables_and_pictures(tmp_path):
    file = ROOT / "scenarios/teaching/three_sows.yaml"
    vary = ["--vary", "handling.day=3,5", "--vary", 'feeding.times=[["07:00"],["07:00","15:00"]]']
    done = call("sweep", file, *vary, "-n", 4, "--pareto", "intake,labour", "--best", "intake", "--out", tmp_path)
    assert done.exit_code == 0, done.output
    assert "has the highest mean of feed intake per sow" in done.output
    assert "Pareto-efficient alternatives in" in done.output
    for name in ("means.csv", "differences.csv", "provenance.json", "ranking.svg", "trade_off.svg", "by_key.svg"):
        assert (tmp_path / name).stat().st_size > 100
    assert "by_key.svg: identical, byte for byte" in call("reproduce", tmp_path / "by_key.svg").output
    said = json.loads(call("sweep", file, *vary, "-n", 2, "--json").output)
    assert len({row["alternative"] for row in said["means"]}) == 4  # one of which is the scenario as written
    assert "KEY=VALUE,VALUE is expected" in call("sweep", file, "--vary", "handling.day").output
    assert "handling.day" in call("sweep", file, "--vary", "handling.day=99").output


def test_pick_prints_whom_it_picked_and_with_what_probability():
    file = ROOT / "scenarios/teaching/three_sows.yaml"
    done = call("pick", file, "--output", "intake", "--indifference", "0.3", "-n", "200", "--quiet")
    assert done.exit_code == 0, done.output
    assert " ".join(done.output.split()).count("this is the best one with probability 0.95 or more") == 1
    done = call("pick", file, "--output", "intake", "--indifference", "0.0001", "-n", "40", "--quiet")
    assert "No alternative has been picked after 40 replications" in done.output


def test_a_sweep_of_nothing_but_the_scenario_as_written_says_so(small_room):
    with pytest.raises(farrowtide.UserError, match=r"the only combination .* is the scenario as written"):
        farrowtide.sweep(small_room, {"handling.day": [3]}, replications=2)


def test_a_sweep_of_two_keys_is_drawn_by_key_with_its_means_and_intervals(found):
    picture = found.plot(["feed_intake_kg_per_day", "labour_min_per_litter"], units="us")
    intake = picture.figure.axes[0]
    lines = {line.get_label(): line for line in intake.get_lines()}
    assert list(lines) == ["handling day 3", "handling day 5"]
    means = found.means.set_index(["output", "alternative"])["mean"]["feed_intake_kg_per_day"]
    names = [f"most {kg} kg/d, day 3" for kg in (4, 6, 8)]
    assert np.allclose(lines["handling day 3"].get_ydata(), means[names] / 0.45359237)
    assert [label.get_text() for label in picture.figure.axes[-1].get_xticklabels()] == [
        "8.82 lb/d",
        "13.2 lb/d",
        "17.6 lb/d",
    ]
    ends = found.means.set_index(["output", "alternative"]).loc["feed_intake_kg_per_day", ["ci_low", "ci_high"]]
    band = intake.collections[0].get_paths()[0].vertices[:, 1]
    assert band.min() == pytest.approx(ends.loc[names, "ci_low"].min() / 0.45359237)
    assert band.max() == pytest.approx(ends.loc[names, "ci_high"].max() / 0.45359237)
    with pytest.raises(farrowtide.UserError, match="no case is called 'x'"):
        found.plot(case="x")


def test_where_a_limit_is_never_reached_is_told_and_only_there():
    room = farrowtide.load({"title": "t", "room": {"crates": 3}, "fostering": {"kind": "fill_and_equalise"}})
    vary = {"fostering.max_moved": [0, 0.02, 0.9, 1], "fostering.window.until": ["24 h", "48 h"]}
    swept = farrowtide.sweep(room, vary, replications=6)
    moved = swept.replicates(["piglets_moved_percent"]).set_index("alternative")["piglets_moved_percent"]
    assert moved.max() < 90, "nowhere is as much moved as the third value allows"
    assert moved["max_moved 0, until 24 h"].sum() < moved["max_moved 1, until 24 h"].sum()
    places = {one.others: one.same_from for one in series_of(swept, "as written", ["piglets_moved_percent"])}
    assert places == {(0,): 2, (1,): 2}
    picture = swept.plot(["piglets_moved_percent", "litters_kept_whole_percent"])
    assert picture.alt.count("limit never reached from 0.9 on") == 2
    assert picture.figure.axes[-1].get_ylabel() == "limit\nnever reached"


def test_one_varied_key_has_no_picture_by_key(scenario):
    swept = farrowtide.sweep(scenario, {"handling.day": [3, 5]}, replications=1)
    with pytest.raises(farrowtide.UserError, match="2 or 3 varied keys"):
        swept.plot()

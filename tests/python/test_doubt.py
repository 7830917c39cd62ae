"""A comparison with what is not known: the same draws and animals for all, the same bytes however it is run, plain words."""

import json
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
from click.testing import CliRunner
from scipy.stats import norm, t

import farrowtide
from farrowtide.analysis import flips as turning
from farrowtide.analysis.doubt import Subject, _stacked, subject_of
from farrowtide.commands.main import main
from farrowtide.report.wording.doubt import first_lines, percent
from farrowtide.scenarios.parameters import Parameter, parameters
from farrowtide.study import draws as drawing
from farrowtide.study import points
from farrowtide.study.plan import plan

TABLES = ("intervals", "causes", "flips", "worth")


@pytest.fixture(scope="module")
def room(meals_file):
    """Two alternatives in one case, four sows."""
    scenario = farrowtide.load(meals_file).case("January").override({"room.crates": 4})
    both = {"2 hand feeds": {"feeding": {"kind": "hand", "times": ["07:00", "15:00"]}}}
    both |= {"full access": {"feeding": {"kind": "full_access", "from_day": 0}}}
    return scenario.override({"alternatives": both})


@pytest.fixture(scope="module")
def compared(room):
    return farrowtide.compare(room, replications=40, seed=3, threads=1)


@pytest.fixture(scope="module")
def doubt(compared):
    return farrowtide.doubt(compared, draws=40, threads=1)


def same(one, other):
    for name in TABLES:
        pd.testing.assert_frame_equal(getattr(one, name), getattr(other, name), check_exact=True)


def test_no_draw_gives_an_impossible_scenario(room):
    """100 draws of all parameters at once, far beyond what chance would leave; 2,000 were tried by hand, none failed."""
    every = drawing.draws_of_parameters(room, 100, seed=11)
    assert len(every.inputs) == len(parameters(room)) > 600
    assert points.cannot_be_built(room, every.points) == {}


def test_every_parameter_is_drawn_evenly_and_not_along_with_another(room):
    every = drawing.draws_of_parameters(room, 200, seed=1)
    strata = np.sort((every.probabilities * 200).astype(int), axis=0)
    assert (strata == np.arange(200)[:, None]).all()  # one in each two-hundredth, as a Latin hypercube has
    correlations = np.corrcoef(every.probabilities.T)
    np.fill_diagonal(correlations, 0)
    assert abs(correlations).max() < norm.ppf(1 - 1e-3 / correlations.size) / np.sqrt(200)


def test_draws_depend_on_the_seed_alone(room):
    one, again, other = (drawing.draws_of_parameters(room, 50, seed=seed).points for seed in (1, 1, 2))
    assert one == again
    assert one != other


def test_posterior_draws_stand_in_for_what_was_calibrated(room):
    class Calibration:
        names = ("herd.intake_level", "sow.appetite.curve.energy_asymptote")
        draws = ((1.01, 24000.0), (1.05, 25000.0), (1.03, 24500.0))

    class Calibrated:
        calibration = Calibration()
        _core = room._core

    every = drawing.draws_of_parameters(Calibrated(), 60, seed=1)
    pairs = {tuple(point[name][0] for name in Calibration.names) for point in every.points}
    assert pairs == set(Calibration.draws)  # together, as they were found
    assert [each.name for each in every.inputs[-2:]] == list(Calibration.names)
    assert len(every.inputs) == len(parameters(room))
    assert every.inputs[-1].at(0.5) == (24500.0,)


def test_the_probability_of_a_posterior_draw_is_its_place_among_those_drawn(room):
    """Half a step for each value that is as large: the middle of the step that the distribution function makes there."""

    class Calibrated:
        calibration = SimpleNamespace(
            names=("herd.intake_level", "herd.milk_level"), draws=((1.01, 0.98), (1.05, 1.1), (1.03, 0.9))
        )
        _core = room._core

    every = drawing.draws_of_parameters(Calibrated(), 25, seed=1)
    for place, name in enumerate(Calibrated.calibration.names, start=-2):
        values = np.array([point[name][0] for point in every.points])
        expected = [((values < value).sum() + (values == value).sum() / 2) / 25 for value in values]
        assert every.probabilities[:, place] == pytest.approx(expected)


def calibrated(room, names, draws):
    return SimpleNamespace(calibration=SimpleNamespace(names=names, draws=draws), _core=room._core)


def test_a_calibrated_parameter_has_the_quantiles_of_its_posterior_draws(room):
    """0 to 40 at equal distances: a share p of them is below 40 p."""
    posterior = tuple((number / 1000 + 1,) for number in range(41))
    every = drawing.draws_of_parameters(calibrated(room, ("herd.intake_level",), posterior), 3, seed=1)
    level = every.inputs[-1]
    assert (level.name, level.kind) == ("herd.intake_level", "level")
    assert (*level.low, *level.high) == pytest.approx((1.001, 1.039))
    assert level.at(0.25) == pytest.approx((1.01,))
    assert level.source.startswith("calibrated to records; before: ")
    assert level.value == parameters(room)["herd.intake_level"].value
    assert [each.name for each in every.inputs].count("herd.intake_level") == 1


def test_what_a_calibration_leaves_of_a_table_is_drawn_entry_by_entry(room):
    table = "sow.appetite.curve.half_time"
    entries = len(parameters(room)[table].value)
    every = drawing.draws_of_parameters(calibrated(room, (f"{table}[1]",), ((1.7,), (1.8,))), 10, seed=1)
    names = [each.name for each in every.inputs]
    assert table not in names
    assert [name for name in names if name.startswith(table)] == [
        *(f"{table}[{number}]" for number in range(entries) if number != 1), f"{table}[1]",
    ]  # fmt: skip
    assert all(set(point) == set(names) for point in every.points)
    assert every.probabilities.shape == (10, len(names))
    assert sorted(point[f"{table}[1]"][0] for point in every.points) == [1.7] * 5 + [1.8] * 5


def test_a_point_has_some_inputs_at_a_probability_and_all_others_as_they_are(room):
    every = drawing.draws_of_parameters(room, 4, seed=1)
    first, third = every.inputs[0], every.inputs[2]
    assert every.point([2, 0], [0.5, 0.9]) == {third.name: third.value, first.name: first.at(0.9)}
    for point, row in zip(every.points, every.probabilities, strict=True):
        assert point[third.name] == third.at(row[2])


def test_draws_that_cannot_be_used_are_left_out_in_every_place(room):
    every = drawing.draws_of_parameters(room, 4, seed=1)
    kept = drawing.without(every, [0, 2])
    assert kept.points == [every.points[1], every.points[3]]
    assert (kept.probabilities == every.probabilities[[1, 3]]).all()
    assert kept.inputs == every.inputs


def test_all_alternatives_meet_the_same_draw_and_the_same_rooms(room, compared):
    study = plan(room, seed=3, replications=40, tables=())
    point = {"herd.intake_level": (1.1,)}
    at = points.at_points(study, [{}, point], [0, 4], 4)
    rooms = points.carry_out(at, points.Means(threads=1)).rooms
    given = compared.replicates
    shared = [name for name in given if name in rooms]
    first = rooms[rooms["point"] == 0][shared].reset_index(drop=True)
    same_rooms = given[given["replicate"] < 4][shared].reset_index(drop=True)
    order = ["alternative", "replicate"]
    pd.testing.assert_frame_equal(
        first.sort_values(order, ignore_index=True), same_rooms.sort_values(order, ignore_index=True)
    )
    moved = rooms[rooms["point"] == 1].set_index(order)["feed_intake_kg_per_day"]
    before = given[given["replicate"].between(4, 7)].set_index(order)["feed_intake_kg_per_day"]
    assert (moved > before.loc[moved.index]).all()


def test_the_interval_with_both_doubts_holds_that_of_chance_alone(doubt):
    known = doubt.intervals.dropna(subset=["ci_low"])
    assert len(known) > 5
    assert (known["both_low"] <= known["ci_low"]).all()
    assert (known["both_high"] >= known["ci_high"]).all()
    intake = known[known["output"] == "feed_intake_kg_per_day"].iloc[0]
    assert intake["both_high"] - intake["both_low"] > 2 * (intake["ci_high"] - intake["ci_low"])
    assert 0.5 < intake["p_sign"] <= 1
    assert intake["p_matters"] <= intake["p_sign"]
    assert intake["draws"] == 40


def test_it_is_the_same_on_any_number_of_threads_and_from_a_folder(doubt, compared, tmp_path):
    again = farrowtide.doubt(compared, draws=40, threads=2, folder=tmp_path / "study")
    same(again, doubt)
    kept = sorted((tmp_path / "study/doubt").rglob("*.parquet"))
    assert len(kept) == 40 * 2  # a block for each draw and alternative
    for lost in kept[-30:]:
        lost.unlink()
    before = {file: file.stat().st_mtime_ns for file in kept[:-30]}
    same(farrowtide.doubt(compared, draws=40, threads=1, folder=tmp_path / "study", resume=True), doubt)
    assert {file: file.stat().st_mtime_ns for file in before} == before
    assert sorted((tmp_path / "study/doubt").rglob("*.parquet")) == kept
    with pytest.raises(farrowtide.UserError, match="differs in: points"):
        farrowtide.doubt(compared, draws=41, threads=1, folder=tmp_path / "study", resume=True)


def test_what_is_finished_is_kept_on_ctrl_c(compared, tmp_path):
    def stop(done, total, note):
        if note == "doubt: draws" and done > 20:
            raise KeyboardInterrupt

    with pytest.raises(farrowtide.Interrupted) as caught:
        farrowtide.doubt(compared, draws=40, threads=1, folder=tmp_path / "study", progress=stop)
    found = caught.value.finished
    assert found.interrupted
    assert 20 < found.drawn < 40
    assert caught.value.folder == tmp_path / "study"
    assert any(line.startswith(f"Stopped early, {found.drawn} of 40 draws") for line in first_lines(found).values())
    assert found.write_report(tmp_path / "report").exists()


def turns(error):
    steady, turning_one = (
        Parameter(name, (10.0,), (0.0,), (20.0,), "kg", "C", "a toy", "coefficient") for name in ("steady", "turning")
    )

    def run(at):
        leads = [1 - 0.25 * (point["turning"][0] - 10) if "turning" in point else 1.0 for point in at]
        return [turning.Advantage(difference=lead, lead=lead, error=error, second="other") for lead in leads]

    return turning.flips([steady, turning_one], run).set_index("parameter")


def test_draws_with_fewer_rooms_are_filled_up_with_missing_ones():
    few, many = np.array([[[1.0]], [[2.0]]]), np.array([[[3.0], [4.0], [5.0]]])
    found = _stacked([few, many])[..., 0]
    np.testing.assert_array_equal(found, [[1, np.nan, np.nan], [2, np.nan, np.nan], [3, 4, 5]])


def test_less_is_better_only_where_the_output_says_so():
    signs = {"weight_loss_kg": -1, "litter_weight_at_weaning_kg": 1}
    for name, sign in signs.items():
        assert Subject("July", farrowtide.catalogue()[name], "a", "b").sign == sign


def test_what_doubt_is_about_is_the_best_of_the_first_headline_where_nothing_is_clear():
    """In weaned piglets b is the best and a the second; in work, which is asked for as well, it is a."""
    weaned, work = (farrowtide.catalogue()[name] for name in ("weaned_per_litter", "labour_min_per_litter"))
    rows = [
        ("c", weaned, 11.0),
        ("a", weaned, 11.5),
        ("b", weaned, 12.0),
        ("c", work, 80.0),
        ("a", work, 300.0),
        ("b", work, 70.0),
    ]
    means = pd.DataFrame(
        [(name, output.name, mean) for name, output, mean in rows], columns=["alternative", "output", "mean"]
    )
    nothing = pd.DataFrame(columns=["case", "output", "verdict"])
    comparison = SimpleNamespace(
        cases=["July"], outputs=[weaned, work], reference="c", differences=nothing, means=means.assign(case="July"),
        provenance={"withheld_care": {}},
    )  # fmt: skip
    subject = subject_of(comparison)
    assert (subject.output.name, subject.best, subject.alternative) == (weaned.name, "b", "b")


def test_a_parameter_that_turns_the_choice_is_found_where_it_does():
    """A lead of 1 that falls by 2.5 on the way to the high end of the range turns at 0.4 of it."""
    table = turns(error=0.01)
    assert table.loc["steady", "flip"] is None
    found = table.loc["turning"]
    assert found["flip"][0] == pytest.approx(14.0, abs=10 / 2**5)
    assert found["flip_low"][0] <= 14.0 <= found["flip_high"][0]
    assert (found["at_low"], found["at_high"], found["instead"]) == (3.5, -1.5, "other")


def test_where_the_choice_turns_is_known_to_the_last_halving_and_to_what_chance_moves_it():
    """Five halvings of 10 kg leave 0.3125 kg, here 13.75 to 14.0625; an error of the lead moves the turn by itself over the
    slope, which is 0.25 per kg, times Student's quantile for ten rooms.
    """
    exact = turns(error=0.0).loc["turning"]
    assert exact["flip_low"] + exact["flip"] + exact["flip_high"] == pytest.approx([13.75, 13.90625, 14.0625])
    by_chance = turns(error=0.1).loc["turning"]
    wider = (by_chance["flip_high"][0] - by_chance["flip_low"][0] - 0.3125) / 2
    assert wider == pytest.approx(0.1 / 0.25 * t.ppf(0.975, 9), rel=0.03)  # the slope is from the middle of the bracket


def test_mistakes_are_named(compared, room):
    with pytest.raises(farrowtide.UserError, match="draws = 39: must be at least 40"):
        farrowtide.doubt(compared, draws=39)
    few = farrowtide.compare(room, replications=3, seed=3)
    with pytest.raises(farrowtide.UserError, match="at least 4 replications, not 3"):
        farrowtide.doubt(few, draws=40)


def test_no_probability_is_surer_than_its_draws():
    assert percent(1.0, 0.01) == "over 99 %"
    assert percent(0.914, 0.02) == "91 %"
    assert percent(0.001, 0.01) == "under 1 %"


@pytest.mark.usefixtures("without_drawing")
def test_the_first_screen_the_report_and_json_say_how_sure_it_is(room, tmp_path):
    file = tmp_path / "farm.yaml"
    file.write_text(room.recipe["text"], encoding="utf-8")
    two = '{"2 hand feeds": {}, "full access": {"feeding": {"kind": "full_access"}}}'
    command = ["compare", file, "--set", "room.crates=4", "--set", "cases={}", "--set", f"alternatives={two}", "-n", 8]
    command += ["--doubt", "--doubt-draws", 40, "--out", tmp_path / "out", "--study", tmp_path / "study", "--quiet"]
    command = list(map(str, command))
    done = CliRunner().invoke(main, command)
    assert done.exit_code == 0, done.output
    screen = " ".join(done.stdout.split())
    assert "How sure" in screen
    assert "Depends most on" in screen
    assert "With what is not known of the farm and the model" in screen
    assert "except those said to hold both doubts" in screen
    page = (tmp_path / "out/report.html").read_text(encoding="utf-8")
    assert "What carries the doubt" in page
    assert "<dt>Depends most on</dt>" in page
    assert "none covers what the model leaves out" in page
    assert {"doubt.csv", "causes.csv"} <= {file.name for file in (tmp_path / "out").iterdir()}
    as_json = CliRunner().invoke(main, [*command, "--resume", "--json"])
    data = json.loads(as_json.stdout)["doubt"]
    assert data["drawn"] == 40
    assert set(TABLES) <= data.keys()
    assert farrowtide.reproduce(tmp_path / "out").same


def test_without_doubt_nothing_is_said_of_it(compared, tmp_path):
    compared.write_report(tmp_path)
    page = (tmp_path / "report.html").read_text(encoding="utf-8")
    assert 'id="doubt"' not in page
    assert "Intervals cover sampling variation only, not uncertainty in the model&#39;s parameters." in page
    assert not (tmp_path / "doubt.csv").exists()

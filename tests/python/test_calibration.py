"""Calibration: statistics of records, surfaces and posteriors against closed forms, one small farm, and the file."""

from __future__ import annotations

import json
import re
import warnings
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
import yaml
from click.testing import CliRunner
from scipy.stats import norm

import farrowtide
from farrowtide.analysis.calibration import choosing, fitting, judging
from farrowtide.analysis.calibration.moving import Moved
from farrowtide.analysis.calibration.summary import ALL, QUANTITIES, Reduced, Statistic, Sums, spreads
from farrowtide.commands.main import main
from farrowtide.errors import UserError
from farrowtide.records import Records, simulated
from farrowtide.report.calibration_page import shown
from farrowtide.report.wording.calibration import in_words
from farrowtide.results import calibration as calibrating
from farrowtide.scenarios.parameters import parameter, with_parameters
from farrowtide.statistics.surface import Observed, Surface, scattered

FARM = {"title": "A farm", "room": {"crates": 24}}
TRUTH = {"herd.intake_level": 0.92, "herd.milk_level": 1.1}


@pytest.fixture(scope="module")
def farm():
    return farrowtide.load(FARM)


@pytest.fixture(scope="module")
def records(farm):
    true_farm = with_parameters(farm, TRUTH)
    run = farrowtide.run(true_farm, replications=10, seed=77, record=("sow_days", "piglets"))
    return simulated(run, true_farm)


@pytest.fixture(scope="module")
def found(farm, records):
    """A small fit: fewer animals at each point than usual."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(fitting, "_LITTERS", 96)
        patch.setattr(fitting, "_BLOCKS", 10)
        return farrowtide.calibrate(farm, records, move=list(TRUTH))


# --- statistics of records ---


def test_statistics_are_means_and_shares_of_the_rows(records):
    rows = records.farrowings.astype({"parity": int})
    later = rows[rows["parity"] > 1]
    reduced = Reduced.of(records)
    values = dict(
        zip([s.name for s in reduced.statistics], reduced.sums.statistics(spreads(reduced.statistics)), strict=True)
    )
    stillborn, alive = later["stillborn"].sum(), later["born_alive"].sum()
    assert values["stillborn, later parities"] == pytest.approx(100 * stillborn / (stillborn + alive))
    nursed = (later["born_alive"] + later["moved_in"] - later["moved_out"]).sum()
    assert values["mortality, later parities"] == pytest.approx(100 * later["died"].sum() / nursed)
    weighed = later[later["litter_weight_kg"].notna()]
    assert values["piglet weight, later parities"] == pytest.approx(
        weighed["litter_weight_kg"].sum() / weighed["weaned"].sum()
    )
    assert values["duration spread"] == pytest.approx(np.log(rows["duration_min"].dropna().astype(float)).std(ddof=0))
    days = records.days.merge(rows[["sow", "farrowed_on", "weaned_on", "parity"]], on="sow")
    day = (days["date"] - days["farrowed_on"]).dt.days
    first_week = days[day.between(1, 7) & (days["parity"] > 1) & ~(days["date"] >= days["weaned_on"])]
    assert values["eaten week 1, later parities"] == pytest.approx(first_week["eaten_kg"].mean())


def test_a_farrowing_of_one_piglet_which_took_no_time_has_no_logarithm():
    """Of 60, 240 and 0 min the mean logarithm is that of 120 min, with ln 2 as the deviation of both."""
    farrowed = pd.to_datetime(["2026-03-02", "2026-03-02", "2026-03-03"])
    farrowings = pd.DataFrame({"group": "a", "farrowed_on": farrowed, "parity": 2, "duration_min": [60.0, 240.0, 0.0]})
    reduced = Reduced.of(farrowtide.records.Records(farrowings, pd.DataFrame()))
    values = dict(
        zip([s.name for s in reduced.statistics], reduced.sums.statistics(spreads(reduced.statistics)), strict=True)
    )
    assert values["duration, later parities"] == pytest.approx(np.log(120))
    assert values["duration spread"] == pytest.approx(np.log(2))


def test_jackknife_of_a_mean_of_equal_groups_is_the_textbook_variance():
    """Of g groups of equal size it is the variance between their means over g (any textbook of sampling)."""
    means = np.random.default_rng(1).normal(size=12)
    weight = np.full((12, 1), 5.0)
    sums = Sums(weight, weight * means[:, None], weight * means[:, None] ** 2)
    assert sums.covariance(np.array([False]))[0, 0] == pytest.approx(means.var(ddof=1) / 12)


def test_what_is_not_recorded_is_not_fitted_to(farm, records):
    bare = records.farrowings.copy()
    bare["duration_min"] = pd.array([pd.NA] * len(bare), dtype="Float64")
    less = farrowtide.records.Records(bare, records.days.iloc[:0])
    statistics = Reduced.of(less).recorded().statistics
    names = {each.quantity.name for each in statistics}
    assert "duration" not in names
    assert not any(name.startswith("eaten") for name in names)
    moved = {each.name for each in choosing.usual(farm, statistics)}
    assert "sow.farrowing.intervals.level" not in moved
    assert "herd.intake_level" not in moved
    assert "herd.stillbirth_level" in moved
    assert {each.name for each in choosing.not_informed(statistics)} >= {"herd.intake_level"}


# --- surface and posterior ---


def test_scattered_points_are_standard_normal():
    points = scattered(256, 3)
    assert points.mean(0) == pytest.approx(np.zeros(3), abs=0.02)
    assert np.cov(points.T) == pytest.approx(np.eye(3), abs=0.05)


def test_a_surface_repeats_what_is_quadratic():
    points = scattered(128, 3)
    truth = np.stack([points[:, 0] - 2 * points[:, 1] ** 2, points[:, 1] * points[:, 2]], axis=1)
    surface = Surface.through(points, truth, np.zeros(3))
    assert surface.changes(points[:5]) == pytest.approx(truth[:5], abs=0.02)


def test_a_surface_is_the_same_in_any_unit_of_a_statistic():
    """One is a line with much noise, for which squares are best left out, the other a square; both have one ridge."""
    points = scattered(64, 2)
    noisy = points[:, 0] + np.random.default_rng(3).normal(size=64)
    changes = np.stack([noisy, points[:, 1] ** 2], axis=1)
    units = np.array([1.0, 1e-3])
    one, other = (Surface.through(points, changes * unit, np.zeros(2)).slopes for unit in (1.0, units))
    assert other == pytest.approx(one * units, rel=1e-6)


def test_posterior_of_a_linear_model_is_that_of_the_textbook():
    """Normal prior, normal errors: covariance (I + J' V^-1 J)^-1 (any textbook of Bayesian regression)."""
    random = np.random.default_rng(2)
    slopes, errors = random.normal(size=(6, 3)), np.diag(random.uniform(0.2, 1, 6))
    points = scattered(256, 3)
    surface = Surface.through(points, points @ slopes.T, np.zeros(3))
    values = random.normal(size=6)
    observed = Observed(values, np.zeros(6), errors, surface, lambda z: z)
    posterior = observed.posterior(np.zeros(3), 4000, 1)
    expected = np.linalg.inv(np.eye(3) + slopes.T @ np.linalg.inv(errors) @ slopes)
    assert posterior.covariance == pytest.approx(expected, abs=0.02)
    assert posterior.mean == pytest.approx(expected @ slopes.T @ np.linalg.inv(errors) @ values, abs=0.02)
    assert np.cov(posterior.draws.T) == pytest.approx(expected, abs=0.04)


def test_values_are_those_of_the_parameter(farm):
    moved = Moved([parameter(farm, name) for name in ("herd.intake_level", "sow.appetite.curve.half_time")])
    z = np.array([0.7, -1.2])
    values = moved.values(z)
    for each, place in zip(moved.parameters, z, strict=True):
        assert values[each.name] == pytest.approx(each.at(float(norm.cdf(place))), rel=1e-3)


# --- what is known ---


def test_what_is_known_only_together_is_said():
    names = ["a", "b", "c"]
    covariance = np.array([[0.5, -0.48, 0], [-0.48, 0.5, 0], [0, 0, 0.97]])
    assert judging.knowledge(covariance, names) == ["only together with b", "only together with a", "not"]
    assert judging.knowledge(np.diag([0.01, 0.25, 1.0]), names) == ["well", "in part", "not"]


def test_what_a_fit_leaves_is_in_its_own_standard_errors():
    """One parameter C, of which three statistics with errors of variance 1, 1/4 and 1 change by J = 2, 0 and 1.

    Fitted to the first two, its posterior variance is 1 / (1 + 2^2 / 1) = 1/5, and what is left of the first has the variance
    1 * 1 / (1 + 2^2) = 1/5, of the second 1/4. The third was not fitted: 1 + 1 / 5.
    """
    change, errors = np.array([2.0, 0.0, 1.0]), np.array([1.0, 0.25, 1.0])
    named = {quantity.name: quantity for quantity in QUANTITIES}
    recorded = np.array([1.0, 0.5, 1.6])
    after = 0.4 * change  # the posterior mean is 2 / 5
    posterior = SimpleNamespace(mean=np.array([0.4]), draws=np.array([[0.3], [0.5]]), covariance=np.array([[0.2]]))
    by_group = np.array([[5.0, 4.0, 8.0], [5.0, 12.0, 2.0]])  # records, of two groups
    fitted = SimpleNamespace(
        statistics=[Statistic(named[name], ALL) for name in ("stillborn", "treated", "weaned")],
        fitted=np.array([True, True, False]), moved=(0,), defaults=np.zeros(3),
        observed=Sums(by_group, by_group * recorded, by_group * recorded**2),
        predicted=lambda z: np.asarray(z) @ change[None, :],
        last=SimpleNamespace(
            posterior=posterior, level_covariance=np.diag(errors / 2),
            scatter=SimpleNamespace(covariance=lambda weight: np.diag(errors / 2 * weight / [10, 16, 10])),
        ),
    )  # fmt: skip
    table = judging.statistic_table(fitted, None, seed=1)
    assert table["after"].to_numpy() == pytest.approx(after)
    assert table["residual"].to_numpy() == pytest.approx((recorded - after) / np.sqrt([1 / 5, 1 / 4, 6 / 5]))
    assert not table["disagrees"].any()


# --- a small farm ---


def test_a_small_farm_is_found(found):
    table = found.parameters.set_index("parameter")
    for name, true_value in TRUTH.items():
        sd = (table.loc[name, "ci_high"] - table.loc[name, "ci_low"]) / 3.92
        assert abs(table.loc[name, "estimate"] - true_value) < 4 * sd
        assert table.loc[name, "sd_share"] < 0.5
        assert table.loc[name, "ci_low"] > table.loc[name, "range_low"]
    assert found.settled
    assert len(found.draws) == 200
    assert len(found.groups_kept_aside) == 2
    assert not set(found.groups_used) & set(found.groups_kept_aside)
    judged = found.statistics[found.statistics["kept"].notna()]
    assert judged["kept_inside"].mean() > 0.7
    fitted = found.statistics[found.statistics["fitted"]]
    error = fitted["standard_error"]
    assert ((fitted["after"] - fitted["recorded"]) / error).abs().mean() < (
        (fitted["before"] - fitted["recorded"]) / error
    ).abs().mean()


def test_a_wrong_scenario_is_said(farm, found):
    """The drinkers of a farm without water in its troughs are no parameter: the statistics disagree."""
    table = found.statistics.copy()
    water = table["quantity"] == "water"
    table.loc[water, ["residual", "disagrees"]] = [5.0, True]
    said = " ".join(in_words(found.parameters, table, {}, 20))
    assert "cannot be made to agree on water" in said
    assert "drinkers" in said


def test_threads_change_nothing(farm, records, monkeypatch):
    monkeypatch.setattr(fitting, "_LITTERS", 48)
    monkeypatch.setattr(fitting, "_BLOCKS", 4)
    monkeypatch.setattr(fitting, "_POINTS", (6, 6))
    files = [
        calibrating.calibrate(farm, records, move=["herd.intake_level"], threads=threads).file for threads in (1, 2)
    ]
    assert files[0] == files[1]


def test_ctrl_c_leaves_what_is_known(farm, records, monkeypatch):
    monkeypatch.setattr(fitting, "_LITTERS", 48)
    monkeypatch.setattr(fitting, "_BLOCKS", 4)
    done = []

    def progress(blocks, *_):
        done.append(blocks)
        if len(done) == 16:  # in the second wave
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt) as stopped:
        farrowtide.calibrate(farm, records, move=["herd.intake_level"], progress=progress)
    assert stopped.value.finished.interrupted
    assert len(stopped.value.finished.draws) == 200


def test_mistakes_of_the_call(farm, records):
    with pytest.raises(UserError, match="expected Records"):
        farrowtide.calibrate(farm, "farrowings.csv")
    with pytest.raises(UserError, match=r"a share from 0 to 0\.5"):
        farrowtide.calibrate(farm, records, keep_aside=0.9)
    with pytest.raises(UserError, match="no group 'R99-g1'"):
        farrowtide.calibrate(farm, records, keep_aside=["R99-g1"])
    with pytest.raises(UserError, match=r"Did you mean herd\.intake_level"):
        farrowtide.calibrate(farm, records, move=["herd.intake_levl"])
    with pytest.raises(UserError, match="named twice"):
        farrowtide.calibrate(farm, records, move=["sow.farrowing.intervals.level"] * 2)


# --- the file ---


@pytest.fixture(scope="module")
def folder(found, tmp_path_factory):
    place = tmp_path_factory.mktemp("calibration")
    found.write_report(place)
    return place


def test_the_file_holds_what_was_agreed(folder, found):
    held = yaml.safe_load((folder / "calibration.yaml").read_text(encoding="utf-8"))
    assert held == found.file
    assert held["calibration"] == 1
    assert set(held["levels"]) == set(TRUTH)
    assert held["posterior"]["names"] == list(TRUTH)
    assert np.shape(held["posterior"]["draws"]) == (200, 2)
    assert re.fullmatch("[0-9a-f]{16}", held["records"]["hash"])


def test_a_scenario_takes_the_file_as_one_step(farm, folder, found):
    calibrated = farm.with_calibration(folder / "calibration.yaml")
    by_hand = with_parameters(farm, found.file["levels"])
    same = [farrowtide.run(each, replications=1, seed=3, record=()).sows for each in (calibrated, by_hand)]
    pd.testing.assert_frame_equal(*same)
    assert calibrated.calibration.names == list(TRUTH)
    assert len(calibrated.calibration.draws) == 200
    assert farm.calibration is None
    assert "with_calibration" in calibrated.expression
    assert found.calibrated.calibration.draws == calibrated.calibration.draws


def test_every_command_takes_the_file_and_reproduce_needs_none(folder, tmp_path):
    scenario = tmp_path / "farm.yaml"
    scenario.write_text(json.dumps(FARM))
    copy = tmp_path / "calibration.yaml"
    copy.write_bytes((folder / "calibration.yaml").read_bytes())
    done = CliRunner().invoke(
        main, ["run", str(scenario), "--calibration", str(copy), "--out", str(tmp_path / "run"), "--json"]
    )
    assert done.exit_code == 0, done.output
    provenance = json.loads((tmp_path / "run" / "provenance.json").read_text(encoding="utf-8"))
    assert provenance["calibration"]["file"] == str(copy)
    copy.unlink()
    scenario.unlink()
    assert CliRunner().invoke(main, ["reproduce", str(tmp_path / "run")]).exit_code == 0


def test_mistakes_in_the_file_are_located(folder, tmp_path):
    text = (folder / "calibration.yaml").read_text(encoding="utf-8")
    wrong = text.replace("  herd.milk_level:", "  herd.milk_levl:", 1)
    wrong = re.sub(r"(herd\.intake_level): [\d.]+", r"\1: 7", wrong, count=1)
    wrong = re.sub(r"- \[[\d.]+, ", "- [", wrong, count=1)
    file = tmp_path / "wrong.yaml"
    file.write_text(wrong)
    lines = wrong.splitlines()

    def place(beginning):
        return next(i + 1 for i, line in enumerate(lines) if line.startswith(beginning))

    with pytest.raises(UserError) as error:
        farrowtide.load(FARM).with_calibration(file)
    said = str(error.value)
    assert f"wrong.yaml:{place('  herd.milk_levl')}:" in said
    assert "Did you mean herd.milk_level?" in said
    assert f"wrong.yaml:{place('  herd.intake_level')}:" in said
    assert "outside the range (0.5 to 1.5)" in said
    assert f"wrong.yaml:{place('  draws:') + 1}:" in said


@pytest.mark.parametrize(
    "text",
    [
        "",
        "[",
        "a: &x 1\nb: *x\n",
        "calibration: 2\n",
        "calibration: 1\ncalibration: 1\n",
        "- 1\n",
        "calibration: .nan\n",
    ],
)
def test_a_file_of_another_kind_is_refused(text, tmp_path):
    file = tmp_path / "other.yaml"
    file.write_text(text)
    with pytest.raises(UserError, match=r"other\.yaml"):
        farrowtide.load(FARM).with_calibration(file)


@pytest.mark.parametrize("text", ["sow,parity\nA,1\n", "title: A scenario\nroom: {crates: 4}\n", "- 1\n", ""])
def test_what_is_no_calibration_file_is_told_in_one_line(text, tmp_path):
    file = tmp_path / "other.yaml"
    file.write_text(text)
    with pytest.raises(UserError) as error:
        farrowtide.load(FARM).with_calibration(file)
    assert str(error.value) == f"{file}: is no calibration file, as `farrowtide calibrate` writes one"


@pytest.mark.parametrize(("residual", "printed"), [(-0.04, "+0.0"), (-1.26, "-1.3"), (0.71, "+0.7")])
def test_a_residual_that_is_printed_as_zero_has_no_minus_sign(found, residual, printed):
    row = found.statistics.iloc[0].copy()
    row["residual"] = residual
    assert shown(row)["residual"] == printed


def test_records_of_which_nothing_can_be_used_are_told_with_the_reason(farm, records):
    none = Records(records.farrowings.iloc[:0], records.days.iloc[:0])
    with pytest.raises(UserError, match="no farrowing can be used"):
        farrowtide.calibrate(farm, none)


def test_the_page_says_what_was_found(folder, found):
    page = (folder / "report.html").read_text(encoding="utf-8")
    kept = len(found.groups_kept_aside)
    assert f"{kept} {'group was' if kept == 1 else 'groups were'} kept aside" in page
    assert "herd.intake_level" in page
    assert page.count("<figure>") == 2
    assert "Not moved" not in page  # the parameters were named
    assert {"parameters.csv", "statistics.csv", "directions.csv", "provenance.json"} <= {
        file.name for file in folder.iterdir()
    }


def test_the_command_reads_records_and_writes_the_page(records, tmp_path, monkeypatch):
    monkeypatch.setattr(fitting, "_LITTERS", 48)
    monkeypatch.setattr(fitting, "_BLOCKS", 4)
    records.write(tmp_path)
    scenario = tmp_path / "farm.yaml"
    scenario.write_text(json.dumps(FARM))
    out = tmp_path / "out"
    words = [
        "calibrate",
        str(scenario),
        "--records",
        str(tmp_path / "farrowings.csv"),
        "--move",
        "herd.stillbirth_level",
    ]
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        done = CliRunner().invoke(main, [*words, "--out", str(out), "--json", "--quiet"])
    assert done.exit_code == 0, done.output
    told = json.loads(done.stdout)
    assert told["parameters"][0]["parameter"] == "herd.stillbirth_level"
    assert told["calibration"] == str(out / "calibration.yaml")
    assert (out / "report.html").exists()

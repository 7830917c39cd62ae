"""What pairing is worth, against closed forms and simulated truth; the same sow under two alternatives, counted by hand."""

import dataclasses
import json

import click.testing
import numpy as np
import pandas as pd
import pytest
from scipy import special, stats

import farrowtide
from farrowtide import _core, pairing
from farrowtide.commands import exit_codes
from farrowtide.commands.main import main
from farrowtide.outputs.catalogue import catalogue
from farrowtide.statistics.variance_reduction import best_factor, spreads, variance_factor

OUTPUTS = [catalogue()[name] for name in ("feed_intake_kg_per_day", "weight_loss_kg")]
THREE_WAYS = ("independent", "one_stream")


def normal_pairs(rng, n, correlation, sds=(1.0, 1.3)):
    covariance = np.outer(sds, sds) * [[1, correlation], [correlation, 1]]
    return rng.multivariate_normal([5, 7], covariance, size=n)


def true_factor(correlation, sds=(1.0, 1.3)):
    """(var A + var B) / var(B - A)."""
    total = sds[0] ** 2 + sds[1] ** 2
    return total / (total - 2 * correlation * sds[0] * sds[1])


def pitman_morgan(both):
    """Exact 95 % interval of the same factor if the pairs are bivariate normal (Pitman 1939; Morgan 1939, Biometrika 31).

    With S = A + B and D = B - A, var A + var B = (var S + var D) / 2, so that the factor is (1 + w) / 2 with
    w = var S / var D, a ratio of variances of two correlated normals. From memory.
    """
    n = len(both)
    total, difference = both.sum(axis=1), both[:, 1] - both[:, 0]
    ratio = total.var() / difference.var()
    r = np.corrcoef(total, difference)[0, 1]
    k = 1 + 2 * (1 - r**2) * special.stdtrit(n - 2, 0.975) ** 2 / (n - 2)
    return tuple((1 + ratio * (k + sign * np.sqrt(k**2 - 1))) / 2 for sign in (-1, 1))


def factor_of(both):
    return pairing.variance_factor(both, both[:, 1] - both[:, 0])


def test_differences_that_are_equal_but_for_rounding_do_not_vary():
    """Near 1e9 the next number is 1.2e-7 higher."""
    above = np.random.default_rng(1).normal(1e9, 5, size=(12, 2))
    below = np.where(np.arange(12) % 2, 1e9, np.nextafter(1e9, 2e9))
    assert pairing.variance_factor(above, below)[0] == np.inf


# --- the factor --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("n", "correlation"), [(40, 0.97), (200, 0.97), (200, 0.3), (200, -0.5)])
def test_the_interval_of_the_factor_covers_the_truth_as_often_as_it_says(n, correlation):
    rng = np.random.default_rng(20)
    truth = true_factor(correlation)
    covered, exact = [], []
    for _ in range(2000):
        both = normal_pairs(rng, n, correlation)
        _, low, high = factor_of(both)
        covered.append(low <= truth <= high)
        low, high = pitman_morgan(both)
        exact.append(low <= truth <= high)
    assert 0.93 <= np.mean(covered) <= 0.97
    assert 0.93 <= np.mean(exact) <= 0.97  # the yardstick measures


def test_on_many_normal_pairs_it_is_the_exact_interval():
    both = normal_pairs(np.random.default_rng(1), 20_000, 0.95)
    _, low, high = factor_of(both)
    np.testing.assert_allclose((low, high), pitman_morgan(both), rtol=0.01)


# What the exact interval of normal pairs cannot do: differences that are mostly zero, as those of rare events are.
def test_the_interval_holds_where_most_differences_are_zero():
    rng = np.random.default_rng(3)
    sd, share, jump = 1.0, 0.2, 0.4
    truth = (2 * sd**2 + share * jump**2) / (share * jump**2)
    covered, normal = [], []
    for _ in range(2000):
        reference = rng.normal(0, sd, 200)
        moved = rng.choice([-jump, 0, jump], p=[share / 2, 1 - share, share / 2], size=200)
        both = np.column_stack([reference, reference + moved])
        _, low, high = factor_of(both)
        covered.append(low <= truth <= high)
        low, high = pitman_morgan(both)
        normal.append(low <= truth <= high)
    assert 0.93 <= np.mean(covered) <= 0.97
    assert np.mean(normal) < 0.93


def test_the_jackknife_is_that_of_leaving_out_each_room():
    both = normal_pairs(np.random.default_rng(2), 12, 0.8)

    def log_factor(rows):
        return np.log(np.var(rows, axis=0, ddof=1).sum() / np.var(rows[:, 1] - rows[:, 0], ddof=1))

    pseudo = [12 * log_factor(both) - 11 * log_factor(np.delete(both, i, axis=0)) for i in range(12)]
    expected = np.exp(stats.t.interval(0.95, 11, loc=np.mean(pseudo), scale=stats.sem(pseudo)))
    np.testing.assert_allclose(factor_of(both), [np.exp(log_factor(both)), *expected])


@pytest.mark.parametrize(
    ("both", "factor"),
    [
        ([[1, 2], [2, 3], [4, 5], [7, 8]], np.inf),  # the same difference in every room
        ([[0.1, 0.3], [0.2, 0.4], [0.7, 0.9], [1.3, 1.5]], np.inf),  # the same but for rounding
        ([[1, 2], [1, 2], [1, 2]], np.nan),  # nothing varies
        ([[1, 2], [2, 2]], np.nan),  # too few
        ([[1, 1], [2, 2], [4, 4], [7, 11]], (7 + 61 / 3) / 4),  # all of it from one room: no interval
        ([[1, 6], [2, 7], [4, 9], [7, 16]], (7 + 61 / 3) / 4),
    ],
)
def test_where_chance_is_absent_there_is_no_interval(both, factor):
    found, low, high = factor_of(np.array(both, dtype=float))
    np.testing.assert_allclose(found, factor)
    assert np.isnan([low, high]).all()


def test_the_factor_of_three_rooms():
    """Variances 1 + 4 over 7/3: three rooms are enough for a factor, with an interval if all of them differ."""
    above = np.array([[1.0, 2.0], [2.0, 4.0], [3.0, 6.0]])
    found, low, high = variance_factor(above, np.array([1.0, 4.0, 2.0]))
    assert found == pytest.approx((1 + 4) / (7 / 3))
    assert low < found < high
    found, low, high = variance_factor(above, np.array([0.0, 3.0, 4.0]))
    assert found == pytest.approx(5 / (13 / 3))
    assert np.isnan([low, high]).all()


@pytest.mark.parametrize(("apart", "known"), [(4, False), (5, True)])
def test_the_factor_has_an_interval_where_five_rooms_differ(apart, known):
    above = np.random.default_rng(4).normal(5, 1, size=(12, 2))
    below = np.where(np.arange(12) < apart, np.arange(12) + 1.0, 0.0)
    found, low, high = variance_factor(above, below)
    assert found == pytest.approx(above.var(axis=0, ddof=1).sum() / below.var(ddof=1))
    assert np.isfinite([low, high]).all() == known


def test_rooms_that_differ_by_rounding_of_the_largest_value_only_do_not_count_as_different():
    """Four rooms differ, and eight by a part of 1e-13 of the values of one alternative; those of the other are small."""
    above = np.random.default_rng(4).normal(5, 1, size=(12, 2)) * [1e6, 1]
    below = np.where(np.arange(12) < 4, np.arange(12) + 1.0, 5e-7)
    assert np.isnan(variance_factor(above, below)[1:]).all()
    assert np.isfinite(variance_factor(above, np.where(np.arange(12) < 5, np.arange(12) + 1.0, 5e-7))[1:]).all()


def test_the_factor_has_no_unit():
    both = normal_pairs(np.random.default_rng(5), 12, 0.8)
    np.testing.assert_allclose(factor_of(both / 1000), factor_of(both))


def test_one_column_may_be_the_same_in_every_room():
    found, low, high = variance_factor(np.array([[5.0, 1.0], [5.0, 3.0], [5.0, 2.0]]), np.array([1.0, 2.0, 6.0]))
    assert found == pytest.approx(1 / 7)
    assert low < found < high


def test_where_only_the_differences_vary_the_factor_is_zero():
    found, low, high = variance_factor(np.full((4, 2), 5.0), np.array([1.0, 2.0, 3.0, 5.0]))
    assert found == 0
    assert np.isnan([low, high]).all()


def test_below_one_rounding_is_measured_against_one():
    """What varies by 1e-13 does not, beside values of a size of one."""
    above = np.array([[0.1], [0.2], [0.4]])
    assert variance_factor(above, np.array([0.0, 1e-13, 2e-13]))[0] == np.inf
    assert np.isnan(variance_factor(above / 1e13, np.array([0.0, 1e-13, 2e-13]))[0])


def test_spreads_of_two_columns():
    """Deviations -1, 0, 1 and -2, -2, 4: standard deviations 1 and sqrt(12), correlation 6 / sqrt(2 x 24)."""
    both = np.array([[1.0, 10.0], [2.0, 10.0], [3.0, 16.0]])
    assert spreads(both) == pytest.approx((1, np.sqrt(12), 6 / np.sqrt(48)))
    before, after, correlation = spreads(np.array([[1.0, 7.0], [3.0, 7.0]]))
    assert (before, after) == (pytest.approx(np.sqrt(2)), 0)
    assert np.isnan(correlation)
    assert np.isnan(spreads(np.array([[1.0, 7.0]]))).all()
    assert np.isnan(spreads(np.empty((0, 2)))).all()


@pytest.mark.parametrize(("sds", "factor"), [((3, 4), 25), ((5, 2), 29 / 9), ((2, 2), np.inf), ((0, 2), 1)])
def test_the_best_factor_by_hand(sds, factor):
    assert best_factor(*sds) == pytest.approx(factor)


def replicates(both, alternative="b"):
    frames = [
        pd.DataFrame({"case": "c", "alternative": name, "replicate": range(len(both)), "weight_loss_kg": values})
        for name, values in zip(("a", alternative), both.T, strict=True)
    ]
    return pd.concat(frames, ignore_index=True)


def test_the_table_of_a_comparison_is_that_of_its_pairs():
    both = normal_pairs(np.random.default_rng(4), 30, 0.9)
    both[3, 1] = np.nan  # a room without a value is out of all of it
    (row,) = pairing.variance_reduction(replicates(both), OUTPUTS[1:], "a").to_dict(orient="records")
    known = np.delete(both, 3, axis=0)
    assert (row["case"], row["alternative"], row["output"], row["n"]) == ("c", "b", "weight_loss_kg", 29)
    np.testing.assert_allclose(row["variance_paired"], np.var(known[:, 1] - known[:, 0], ddof=1))
    np.testing.assert_allclose(row["variance_independent"], known.var(axis=0, ddof=1).sum())
    np.testing.assert_allclose(row["factor"], row["variance_independent"] / row["variance_paired"])
    np.testing.assert_allclose(row["correlation"], stats.pearsonr(*known.T).statistic)
    assert row["factor_low"] < row["factor"] < row["factor_high"]
    assert row["meaning"] == f"29 paired rooms are worth {pairing.shown_number(29, row['factor'])} unpaired ones"


# The sentence itself: as many unpaired rooms have the same standard error as the pairs.
def test_so_many_unpaired_rooms_have_the_same_error():
    both = normal_pairs(np.random.default_rng(5), 4000, 0.9)
    factor, _, _ = factor_of(both)
    paired_error = stats.sem(both[:, 1] - both[:, 0])
    unpaired = 4000 * factor
    np.testing.assert_allclose(np.sqrt(both.var(axis=0, ddof=1).sum() / unpaired), paired_error)


def test_a_perfect_correlation_gives_the_best_factor_of_two_spreads():
    rng = np.random.default_rng(6)
    a = rng.normal(size=500)
    factor, _, _ = factor_of(np.column_stack([a, 3 * a]))
    np.testing.assert_allclose(factor, pairing.best_factor(a.std(ddof=1), 3 * a.std(ddof=1)))
    np.testing.assert_allclose(factor, 2.5)
    assert pairing.best_factor(1, 1) == np.inf


@pytest.mark.parametrize(
    ("factor", "said", "number"),
    [
        (23.456, "23", "2,300"),
        (1234.5, "1,200", "120,000"),
        (2.345, "2.3", "230"),
        (9.96, "10", "1,000"),
        (0.5, "0.50", "50"),
        (1e9, "over 100,000", "over 10,000,000"),
        (np.inf, "identical in every room", "\N{EN DASH}"),
        (np.nan, "\N{EN DASH}", "\N{EN DASH}"),
    ],
)
def test_a_factor_is_printed_with_the_digits_it_has(factor, said, number):
    assert pairing.shown_factor(factor, np.nan, np.nan) == (said, "")
    assert pairing.shown_number(100, factor) == number


# --- three ways, run ---------------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def three_ways(small_room):
    names = [output.name for output in OUTPUTS]
    return pairing.pairing_table(small_room, replications=24, seed=3, outputs=names, cases=["January"])


def test_the_keyed_way_is_the_comparison_itself(three_ways, small_room):
    compared = farrowtide.compare(small_room, replications=24, seed=3)
    expected = pairing.variance_reduction(compared.replicates, OUTPUTS, compared.reference)
    both = three_ways.table.merge(expected, on=["case", "alternative", "output"], suffixes=("", "_of_pairs"))
    assert len(both) == len(three_ways.table) == 8
    np.testing.assert_allclose(both["variance_keyed"], both["variance_paired"], rtol=1e-9)
    np.testing.assert_allclose(both["correlation"], both["correlation_of_pairs"], rtol=1e-9)


def test_the_three_ways_are_really_run(three_ways, small_room):
    row = three_ways.table.iloc[1]
    reference, other = (small_room.case("January").alternative(name) for name in ("2 hand feeds", row["alternative"]))

    def loss(scenario, seed):
        return farrowtide.run(scenario, replications=24, seed=seed, record=()).outputs[row["output"]].to_numpy()

    unpaired = loss(other, 4) - loss(reference, 3)
    np.testing.assert_allclose(row["variance_independent"], unpaired.var(ddof=1))
    np.testing.assert_allclose(row["factor_independent"], unpaired.var(ddof=1) / row["variance_keyed"])
    assert len({row[f"variance_{way}"] for way in ("keyed", *THREE_WAYS)}) == 3


def test_same_animals_are_worth_many_and_one_stream_is_worth_less(three_ways):
    third_feed = three_ways.table.set_index(["alternative", "output"]).loc[("3 hand feeds", "weight_loss_kg")]
    assert third_feed["factor_independent_low"] > 10
    assert third_feed["factor_one_stream_low"] > 1
    assert third_feed["factor_independent"] > third_feed["factor_one_stream"]


def test_three_ways_are_the_same_on_one_thread_and_two(small_room):
    asked = {"replications": 6, "seed": 3, "outputs": ["weight_loss_kg"], "cases": ["July"]}
    one, two = (pairing.pairing_table(small_room, threads=threads, **asked).table for threads in (1, 2))
    pd.testing.assert_frame_equal(one, two, check_exact=True)


def test_wrong_names_are_the_users_mistakes(small_room, three_sows):
    with pytest.raises(_core.UserError, match="no alternative is called 'never'"):
        pairing.pairing_table(small_room, replications=2, reference="never")
    with pytest.raises(_core.UserError, match="no output is called"):
        pairing.pairing_table(small_room, replications=2, outputs=["colour"])
    with pytest.raises(_core.UserError, match="no alternative is called 'never'"):
        pairing.each_sow(small_room, "2 hand feeds", "never", replications=2)
    with pytest.raises(_core.UserError, match="has no column 'colour'"):
        pairing.each_sow(small_room, "2 hand feeds", "full access", ["colour"], replications=2)


# --- the same sow ------------------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def sows(small_room):
    return pairing.each_sow(small_room, "2 hand feeds", "1 hand feed", case="July", replications=5, seed=3)


def test_each_row_is_the_same_sow_in_both_runs(sows, small_room):
    there = small_room.case("July")
    runs = [
        farrowtide.run(there.alternative(name), replications=5, seed=3) for name in (sows.reference, sows.alternative)
    ]
    assert len(sows.table) == 30
    assert sows.left_out == 0
    for row in sows.table.sample(8, random_state=1).to_dict(orient="records"):
        for result, side in zip(runs, ("reference", "alternative"), strict=True):
            table = result.sows
            (sow,) = table[(table["replicate"] == row["replicate"]) & (table["sow"] == row["sow"])].to_dict("records")
            assert (sow["parity"], sow["total_born"]) == (row["parity"], row["total_born"])
            for name in ("feed_intake_kg_per_day", "weaned", "farrowing_duration_min"):
                assert sow[name] == pytest.approx(row[f"{name}_{side}"], nan_ok=True)
            tasks = result.tasks[(result.tasks["replicate"] == row["replicate"]) & (result.tasks["sow"] == row["sow"])]
            assert sum(tasks["minutes"]) == pytest.approx(row[f"staff_min_{side}"])


def test_a_sow_that_is_another_animal_is_left_out():
    columns = {"replicate": 0, "group": 1, "room": 1, "sow": [1, 2, 3], "parity": [1, 2, 3], "total_born": [12, 13, 14]}
    before = pd.DataFrame(columns | {"weaned": [10, 11, 12]})
    after = pd.DataFrame(columns | {"weaned": [11, 11, 10], "parity": [1, 4, 3]})
    table, left_out = pairing.side_by_side(before, after, ["weaned"])
    assert left_out == 2  # the second, on both sides
    assert list(table["sow"]) == [1, 3]
    assert list(table["weaned_difference"]) == [1, -2]
    assert list(table["parity_class"]) == ["P1", "P3+"]


def by_hand(differences, measure="weight_loss_kg"):
    """EachSow of two rooms with these differences."""
    half = len(differences) // 2
    table = pd.DataFrame(
        {
            "replicate": [0] * half + [1] * half, "group": 1, "room": 1, "sow": range(1, 2 * half + 1), "parity": 1,
            "total_born": 14, "parity_class": "P1", f"{measure}_reference": 0.0, f"{measure}_alternative": differences,
            f"{measure}_difference": differences,
        }
    )  # fmt: skip
    (one,) = (found for found in pairing.SOW_MEASURES if found.name == measure)
    return table, one


def test_who_gains_is_a_count_and_the_mean_is_over_rooms(sows):
    table, measure = by_hand([-3.0, -0.4, 0.2, 1.0, 2.0, np.nan, -0.5, 0.49])
    found = dataclasses.replace(sows, table=table, measures=[measure])
    (row,) = found.gains().to_dict(orient="records")
    assert row["sows"] == 7
    np.testing.assert_allclose(row["better_percent"], 100 * 2 / 7)  # a lower loss, by 0.5 kg or more
    np.testing.assert_allclose(row["worse_percent"], 100 * 2 / 7)
    np.testing.assert_allclose(row["same_percent"], 100 * 3 / 7)
    rooms = [(-3.0 - 0.4 + 0.2 + 1.0) / 4, (2.0 - 0.5 + 0.49) / 3]
    np.testing.assert_allclose(row["mean"], np.mean(rooms))
    assert np.isnan([row["ci_low"], row["ci_high"]]).all()  # two rooms of four sows give no interval
    np.testing.assert_allclose(row["median"], 0.2)
    assert (row["rooms"], row["rooms_apart"]) == (2, 2)
    copies = [table.assign(replicate=table["replicate"] + 2 * i) for i in range(20)]
    (many,) = dataclasses.replace(found, table=pd.concat(copies)).gains().to_dict(orient="records")
    expected = stats.t.interval(0.95, 39, loc=np.mean(rooms), scale=stats.sem(rooms * 20))
    np.testing.assert_allclose([many["ci_low"], many["ci_high"]], expected)
    largest = found.most("weight_loss_kg", 3)
    assert list(largest["weight_loss_kg_difference"]) == [-3.0, 2.0, 1.0]
    assert list(largest["sow"]) == [1, 5, 4]
    with pytest.raises(_core.UserError, match="was not measured"):
        found.most("weaned")


def test_one_feed_a_day_costs_most_sows_feed_and_the_words_say_so(sows):
    gains = sows.gains().set_index("measure")
    assert gains.loc["feed_intake_kg_per_day", "worse_percent"] > 50
    (said,) = (sentence for sentence in sows.findings() if sentence.startswith("Feed eaten"))
    assert f"{gains.loc['feed_intake_kg_per_day', 'worse_percent']:.0f} % worse" in said


def test_any_column_of_the_sows_can_be_measured(small_room):
    found = pairing.each_sow(small_room, "2 hand feeds", "full access", ["meals_per_day"], replications=2, seed=3)
    assert {"meals_per_day_reference", "meals_per_day_difference"} <= set(found.table)
    assert found.gains().loc[0, "same_percent"] < 100
    assert found.provenance["command"].startswith("farrowtide.pairing.each_sow(farrowtide.load(")


def test_the_picture_has_a_panel_per_measure_words_and_the_same_bytes(sows):
    picture = sows.plot()
    drawn = [axis for axis in picture.figure.axes if axis.axison]
    assert len(drawn) == len(sows.measures)
    for sentence in sows.findings():
        assert sentence in picture.alt
    line = drawn[0].lines[-1]
    oldest = sows.table[sows.table["parity_class"] == line.get_label()]["feed_intake_kg_per_day_difference"].dropna()
    np.testing.assert_allclose(line.get_ydata()[0], np.percentile(oldest, 0.5))
    assert picture.svg() == sows.plot().svg()


# --- the command line --------------------------------------------------------------------------------------------------


def call(*arguments):
    return click.testing.CliRunner().invoke(main, [str(argument) for argument in arguments])


def test_each_sow_on_the_command_line(meals_file, tmp_path, sows):
    asked = (
        "each-sow",
        meals_file,
        "--alternative",
        "1 hand feed",
        "--case",
        "July",
        "-n",
        2,
        "--set",
        "room.crates=6",
    )
    said = call(*asked, "--out", tmp_path)
    assert said.exit_code == 0, said.output
    assert "12 sows of 2 rooms" in said.output
    assert {path.name for path in tmp_path.iterdir()} == {
        "each_sow.csv",
        "gains.csv",
        "each_sow.svg",
        "provenance.json",
    }
    assert len(pd.read_csv(tmp_path / "each_sow.csv")) == 12
    found = json.loads(call(*asked, "--json").output)
    assert [row["measure"] for row in found["gains"]] == [measure.name for measure in sows.measures]
    assert found["reference"] == "2 hand feeds"
    assert found["largest"]["feed_intake_kg_per_day"][0]["sow"] > 0
    assert call("each-sow", meals_file, "--alternative", "never", "-n", 1).exit_code == exit_codes.EXIT_MISTAKE


def test_pairing_on_the_command_line(meals_file, tmp_path):
    asked = ("pairing", meals_file, "-n", 4, "--case", "July", "--output", "weight_loss_kg", "--set", "room.crates=6")
    said = call(*asked, "--out", tmp_path)
    assert said.exit_code == 0, said.output
    table = pd.read_csv(tmp_path / "pairing.csv")
    found = json.loads(call(*asked, "--json").output)
    assert [row["alternative"] for row in found["table"]] == list(table["alternative"])
    for row in found["table"]:
        assert pairing.shown_factor(row["factor_independent"], np.nan, np.nan)[0] in said.output
    assert len(found["table"]) == 4


@pytest.mark.parametrize("column", ["left_as", "sow"])
def test_a_column_that_is_no_amount_is_refused(column, meals_file):
    scenario = farrowtide.load(meals_file)
    with pytest.raises(farrowtide.UserError, match="identifies or classifies a sow"):
        pairing.each_sow(scenario, "2 hand feeds", "full access", [column], replications=1)

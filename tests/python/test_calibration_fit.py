"""A calibration by hand: what moves, how records scatter, waves around a toy farm, and the tables of what was found."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest
from scipy.stats import norm

import farrowtide
from farrowtide.analysis.calibration import choosing, fitting, judging
from farrowtide.analysis.calibration.fitting import Fitted, Scatter, Simulator, Wave, expected_blocks, waves
from farrowtide.analysis.calibration.moving import Moved
from farrowtide.analysis.calibration.summary import ALL, FIRST, LATER, QUANTITIES, Statistic, Sums
from farrowtide.errors import UserError
from farrowtide.scenarios.parameters import Parameter

BY_NAME = {quantity.name: quantity for quantity in QUANTITIES}
QUARTER = norm.ppf(0.75)  # half way from the value to the high end, as grade C is uniform


def toy(name, value, low, high):
    return Parameter(name, value, low, high, "kg", "C", "a toy", "level")


ONE = toy("one", (10.0,), (0.0,), (20.0,))
TABLE = toy("table", (1.0, 10.0), (0.0, 5.0), (2.0, 20.0))


def of_all(*names):
    return [Statistic(BY_NAME[name], ALL) for name in names]


def scattered_as(variances):
    """Records of which one row has these variances, not correlated."""
    return Scatter(np.diag(np.asarray(variances, dtype=float)), 1.0, 0.5)


# --- what moves ---


def test_all_entries_of_a_table_move_alike_and_the_one_that_moves_most_speaks_for_it():
    moved = Moved([ONE, TABLE])
    z = np.array([[QUARTER, QUARTER], [-QUARTER, 0.0]])
    assert moved.names == ["one", "table"]
    assert moved.values(z[0]) == {"one": pytest.approx((15,), rel=1e-4), "table": pytest.approx((1.5, 15), rel=1e-4)}
    assert moved.leading(z) == pytest.approx(np.array([[15, 15], [5, 10]]), rel=1e-4)
    assert moved.coordinates(z) == pytest.approx(np.array([[0.5, 1 / 3], [-0.5, -1 / 3]]), abs=1e-4)
    assert moved.coordinates(np.array([[9.0, -9.0]])) == pytest.approx(np.array([[1, -1]]), abs=1e-3)
    assert (moved.ends(0), moved.ends(1)) == ((0, 20), (5, 20))
    assert (moved.at_default(0), moved.at_default(1)) == (10, 10)


def test_draws_of_a_table_have_a_column_for_each_entry():
    fit = SimpleNamespace(
        moved=Moved([ONE, TABLE]),
        last=SimpleNamespace(posterior=SimpleNamespace(draws=[[0.0, QUARTER], [QUARTER, 0.0]])),
    )
    draws = judging.draw_table(fit)
    assert list(draws) == ["one", "table[0]", "table[1]"]
    assert draws.to_numpy() == pytest.approx(np.array([[10, 1.5, 15], [15, 1, 10]]), rel=1e-4)
    assert fit.moved.draw_column(0, draws) == pytest.approx([10, 15], rel=1e-4)
    assert fit.moved.draw_column(1, draws) == pytest.approx([15, 10], rel=1e-4)


@pytest.fixture(scope="module")
def farm():
    return farrowtide.load({"title": "A farm", "room": {"crates": 24}})


def test_what_records_hold_decides_what_moves(farm):
    statistics = [Statistic(BY_NAME["treated"], LATER), Statistic(BY_NAME["weaned"], LATER)]
    moved = [each.name for each in choosing.usual(farm, statistics)]
    assert moved == ["herd.health_level", "sow.signs.nursing_sensitivity"]
    stays = [each.name for each in choosing.not_informed(statistics)]
    assert set(stays) | set(moved) == {each.name for each in choosing.USUAL}
    assert not set(stays) & set(moved)
    offered = [each.name for each in choosing.usual(farm, of_all("offered week 2"))]
    assert offered == ["herd.intake_level", "sow.appetite.curve.half_time"]


def test_a_quantity_that_is_only_looked_at_moves_nothing(monkeypatch, farm):
    monkeypatch.setattr(choosing, "USUAL", [choosing.Movable("herd.milk_level", ("weaned",), "piglets weaned")])
    assert choosing.usual(farm, of_all("weaned")) == []
    assert [each.needs for each in choosing.not_informed(of_all("weaned"))] == ["piglets weaned"]


def test_entries_of_a_table_may_move_each_but_not_along_with_the_table(farm):
    table = "sow.appetite.curve.parity_factor"
    names = [f"{table}[1]", "herd.milk_level", f"{table}[0]"]
    assert [each.name for each in choosing.named(farm, names)] == names
    for order in ([table, f"{table}[0]"], [f"{table}[0]", table]):
        with pytest.raises(UserError, match=r"parity_factor\[0\] is named twice"):
            choosing.named(farm, order)


# --- how records scatter ---


def sums_of(*columns):
    """Groups of one row each: a column of values for each statistic."""
    value = np.stack([np.asarray(column, dtype=float) for column in columns], axis=1)
    return Sums(np.ones_like(value), value, value**2)


def test_with_few_groups_the_scatter_of_records_is_mostly_that_of_the_model():
    """Variances between groups, by hand: records 4 with three groups, model 0.625 with five; one statistic counts as one
    group of 1 + 3 - 1, so that a third of the inflated model's 4 and two thirds of the records' own 4 are 4 again.
    """
    recorded, model = sums_of([0, 2, 4]), sums_of([0.0, 0.5, 1.0, 1.5, 2.0])
    found = Scatter.of(recorded, model, np.array([False]))
    assert found.weight_of_model == pytest.approx(1 / 3)
    assert found.inflation == pytest.approx(4 / 0.625)
    assert found.unit[0, 0] == pytest.approx(4)


def test_records_that_scatter_less_than_the_model_do_not_shrink_it():
    recorded, model = sums_of([0, 1, 2], [3, 3, 3]), sums_of([0, 4, 8], [2, 0, 1])
    found = Scatter.of(recorded, model, np.zeros(2, dtype=bool))
    assert found.inflation == 1
    assert found.weight_of_model == 0.5
    # Half of 16 and 1; the model's covariance, -2 in three groups, counts for two thirds.
    assert found.unit == pytest.approx(np.array([[8.5, -2 / 3], [-2 / 3, 0.5]]), abs=1e-6)


def test_statistics_that_never_vary_or_always_go_together_leave_a_covariance_of_full_rank():
    same = sums_of([1, 2, 3], [2, 4, 6], [7, 7, 7])
    unit = Scatter.of(same, same, np.zeros(3, dtype=bool)).unit
    assert np.linalg.eigvalsh(unit).min() > 0


def test_scatter_falls_with_the_root_of_what_each_of_two_statistics_rests_on():
    found = Scatter(np.array([[16.0, 6.0], [6.0, 9.0]]), 1.0, 0.5).covariance(np.array([4.0, 9.0]))
    assert found == pytest.approx(np.array([[4, 1], [1, 1]]))


# --- waves ---


class Toy:
    """A statistic that is 10, and 4 more at the high end of the parameter, with the chance of a block's ten groups; the same
    block meets the same chance everywhere. A second statistic, which is not fitted, is always 7.
    """

    checks = 5

    def __init__(self, *further, drift=0.0):
        self.moved, self.drift, self.asked = Moved([ONE, *further]), drift, []
        self.chance = np.random.default_rng(1).normal(0, 0.3, size=(16, 10))

    @property
    def rooms(self):
        return len(self.asked)

    def at(self, z, block):
        wave = (self.rooms >= 22) + (self.rooms >= 47)
        self.asked.append((float(z[0]), block))
        first = 10 + self.drift * wave + 4 * self.moved.coordinates(z[None, :])[0, 0] + self.chance[block]
        return sums_of(first, np.full(10, 7.0))


STATISTICS = of_all("stillborn", "weaned")
RECORDED = sums_of(12 + np.tile([-0.1, 0.1], 6), np.full(12, 99.0))


def test_a_fit_finds_what_a_line_leads_to_and_stops_where_it_is():
    simulator = Toy()
    found = list(waves(simulator, simulator.moved, RECORDED, STATISTICS, seed=1))
    last = found[-1]
    assert [len(each.waves) for each in found] == [1, 2]
    assert [each.rooms for each in found] == [22, 47]
    assert (expected_blocks(1), expected_blocks(3)) == (47, 32 + 45)
    base = 10 + simulator.chance.mean()
    assert last.defaults == pytest.approx([base, 7])
    assert last.fitted.tolist() == [True, False]
    place = (12 - base) / 4  # of the way to the high end, where chance and what was thought before are small
    assert simulator.moved.leading(last.last.posterior.mean[None, :])[0, 0] == pytest.approx(10 + 10 * place, abs=0.05)
    error = last.last.scatter.covariance(np.array([12.0, 12.0]))[0, 0] + simulator.chance.var(ddof=1) / 160
    assert last.last.level_covariance[0, 0] == pytest.approx(simulator.chance.var(ddof=1) / 160)
    assert np.std(simulator.moved.leading(last.last.posterior.draws)) == pytest.approx(np.sqrt(error) / 4 * 10, rel=0.1)
    assert last.predicted(last.last.posterior.mean[None, :])[0] == pytest.approx([12, 7], abs=0.02)
    assert last.predicted(np.zeros((1, 1)))[0] == pytest.approx([base, 7], abs=0.02)
    assert last.last.posterior.draws.shape == (200, 1)
    assert last.settled
    assert not found[0].settled
    assert last.checks == 5


def test_points_meet_the_animals_of_the_centre():
    simulator = Toy()
    list(waves(simulator, simulator.moved, RECORDED, STATISTICS, seed=1))
    blocks = [block for _, block in simulator.asked]
    assert blocks == [*range(16), *range(6), *range(16), *range(9)]
    places = [z for z, _ in simulator.asked]
    assert set(places[:16]) == {0.0}
    assert len(set(places[22:38])) == 1
    assert np.std(places[16:22]) > 3 * np.std(places[38:])  # later waves look near what the first left


def test_a_second_wave_is_made_even_where_the_first_was_right_and_a_parameter_without_effect_stays_unknown():
    simulator = Toy(TABLE)
    recorded = sums_of(10 + simulator.chance.mean() + np.tile([-0.1, 0.1], 6), np.full(12, 99.0))
    found = list(waves(simulator, simulator.moved, recorded, STATISTICS, seed=1))
    assert [each.rooms for each in found] == [16 + 12, 16 + 12 + 16 + 18]
    assert expected_blocks(2) == 62
    posterior = found[-1].last.posterior
    assert posterior.mean == pytest.approx([0, 0], abs=0.05)
    assert np.sqrt(np.diag(posterior.covariance))[1] == pytest.approx(1, abs=0.05)
    assert np.sqrt(np.diag(posterior.covariance))[0] < 0.1


def test_a_fit_that_does_not_stay_in_place_ends_after_three_waves_and_is_not_settled():
    simulator = Toy(drift=-1.0)
    found = list(waves(simulator, simulator.moved, RECORDED, STATISTICS, seed=1))
    assert [each.rooms for each in found] == [22, 47, 72]
    assert found[-1].last is found[-1].waves[2]
    assert not found[-1].settled


@pytest.mark.parametrize(
    ("found_at", "effective", "settled"),
    [((0.9, -0.95), 200, True), ((0.9, -0.95), 199, False), ((1.1, 0.0), 200, False), ((0.0, -1.1), 200, False)],
)
def test_a_fit_is_settled_where_every_parameter_is_within_two_standard_deviations_of_the_centre(
    found_at, effective, settled
):
    posterior = SimpleNamespace(mean=np.array(found_at), covariance=np.diag([0.25, 0.25]), effective=effective)
    wave = Wave(np.zeros(2), None, None, None, None, posterior)
    of_waves = [Fitted(None, [], None, None, [wave] * count, None, 0, 0).settled for count in (1, 2)]
    assert of_waves == [False, settled]


def test_a_block_is_always_of_the_same_rooms(monkeypatch):
    """Five litters at a point are three rooms of two; six are the rooms of two blocks."""
    scenario = farrowtide.load({"title": "Small", "room": {"crates": 2}})
    told = []

    def simulator(litters):
        monkeypatch.setattr(fitting, "_LITTERS", litters)
        options = {"seed": 1, "threads": 1, "expected": 2, "progress": lambda *words: told.append(words)}
        return Simulator(scenario, Moved([]), of_all("first parities", "lactation"), **options)

    few = simulator(5)
    assert (few.rooms, few.checks) == (0, 0)
    blocks = [few.at(np.zeros(0), block) for block in (0, 1, 0)]
    assert few.replicates == 3
    assert few.rooms == 9
    assert told == [(3, 6, ""), (6, 6, ""), (9, 9, "")]
    totals = [block.value.sum(0) for block in blocks]
    assert totals[0].tolist() == totals[2].tolist() != totals[1].tolist()
    many = simulator(12)
    assert many.at(np.zeros(0), 0).value.sum(0) == pytest.approx(totals[0] + totals[1])
    assert few.checks > many.checks > 0


def test_what_a_scenario_cannot_have_is_left_out(monkeypatch):
    """Ten rooms of two sows hold twenty litters, which is enough, and nine do not; sows are weaned within the third week."""
    scenario = farrowtide.load({"title": "Small", "room": {"crates": 2}, "group": {"lactation_days": 18}})
    statistics = of_all("first parities") + [Statistic(BY_NAME[f"eaten week {week}"], LATER) for week in (1, 4)]
    found = []
    for litters in (20, 18):
        monkeypatch.setattr(fitting, "_LITTERS", litters)
        found.append(fitting.simulated_statistics(scenario, statistics, seed=1, threads=1))
    assert [each.name for each in found[0]] == ["first parities", "eaten week 1, later parities"]
    assert [each.name for each in found[1]] == ["eaten week 1, later parities"]


# --- what was found ---


def found_at(mean, draws, covariance, parameters):
    posterior = SimpleNamespace(mean=np.array(mean), draws=np.array(draws), covariance=np.array(covariance))
    return SimpleNamespace(moved=Moved(parameters), last=SimpleNamespace(posterior=posterior))


def test_estimates_have_the_middle_95_of_100_draws_as_interval():
    even = norm.ppf((np.arange(200) + 0.5) / 200)
    draws = np.stack([even, np.full(200, QUARTER)], axis=1)
    table = judging.parameter_table(found_at([QUARTER, 0.0], draws, np.diag([0.04, 1.44]), [ONE, TABLE]))
    one, table = table.iloc[0], table.iloc[1]
    assert (one["parameter"], one["unit"], one["grade"]) == ("one", "kg", "C")
    assert (one["before"], one["range_low"], one["range_high"]) == (10, 0, 20)
    assert one["estimate"] == pytest.approx(15, rel=1e-4)
    assert [one["ci_low"], one["ci_high"]] == pytest.approx([0.5, 19.5], abs=0.05)
    assert [one["sd_share"], table["sd_share"]] == pytest.approx([0.2, 1.0])
    assert (one["known"], table["known"]) == ("well", "not")
    assert [table["ci_low"], table["estimate"], table["ci_high"]] == pytest.approx([15, 10, 15], rel=1e-4)


@pytest.mark.parametrize(("share", "at_end"), [(0.96, True), (0.94, False), (0.5, False), (0.06, False), (0.04, True)])
def test_an_estimate_in_the_last_tenth_of_the_way_to_an_end_is_said_to_be_at_it(share, at_end):
    table = judging.parameter_table(found_at([norm.ppf(share)], [[0.0]], [[0.04]], [ONE]))
    assert table["at_end"].tolist() == [at_end]


def test_a_single_parameter_is_never_known_only_together():
    of_variance = [judging.knowledge(np.array([[variance]]), ["a"]) for variance in (0.0625, 0.07, 0.81, 0.83)]
    assert of_variance == [["well"], ["in part"], ["in part"], ["not"]]


def test_known_only_together_are_those_that_would_be_known_twice_as_well_if_the_other_were():
    """By textbook the standard deviation falls by sqrt(1 - r^2) where the other is known: by half for r = 0.866."""

    def pair(r, variance=0.5):
        return judging.knowledge(variance * np.array([[1, r], [r, 1]]), ["a", "b"])

    assert pair(0.86) == ["in part", "in part"]
    assert pair(0.87) == ["only together with b", "only together with a"]
    assert pair(-0.99, 0.0625) == ["well", "well"]  # whatever it goes with


def test_it_is_known_together_with_the_one_it_goes_with_most_either_way():
    covariance = 0.5 * np.array([[1, 0.3, -0.95], [0.3, 1, -0.1], [-0.95, -0.1, 1]])
    assert judging.knowledge(covariance, ["a", "b", "c"])[::2] == ["only together with c", "only together with a"]


def test_directions_are_combinations_from_the_best_known_without_what_hardly_counts():
    """Eigenvalues 0.2 of (1, -1) and 0.8 of (1, 1), over the root of two; a third parameter stands alone."""
    covariance = [[0.5, 0.3, 0.0], [0.3, 0.5, 0.0], [0.0, 0.0, 1.3]]
    table = judging.direction_table(found_at([0, 0, 0], [[0, 0, 0]], covariance, [ONE, toy("two", *TABLE_ENDS), TABLE]))
    assert table["sd_share"].tolist() == pytest.approx([np.sqrt(0.2), np.sqrt(0.8), 1])
    said = table["combination"].tolist()
    assert said[0] in ("+0.71 one -0.71 two", "+0.71 two -0.71 one")
    assert said[1] in ("+0.71 one +0.71 two", "+0.71 two +0.71 one")
    assert said[2] == "+1.00 table"


TABLE_ENDS = (1.0,), (0.0,), (2.0,)


def test_the_largest_part_of_a_direction_comes_first_with_a_plus():
    """(-0.8, 0.6) and (0.6, 0.8) with 0.5 and 0.01; then (0.28, 0.96), of which 0.28 is too little to name."""
    for first, said in ((-0.8, ["+0.80 one -0.60 two", "+0.80 two +0.60 one"]), (0.96, ["+0.96 one", "+0.96 two"])):
        one = np.array([first, np.sqrt(1 - first**2)])
        other = np.array([one[1], -one[0]])
        covariance = 0.01 * np.outer(one, one) + 0.5 * np.outer(other, other)
        fit = found_at([0, 0], [[0, 0]], covariance, [ONE, toy("two", *TABLE_ENDS)])
        assert judging.direction_table(fit)["combination"].tolist() == said


def fit_of(statistics, recorded, *, error=1.0, level=0.0, fitted=None, unit=None, draws=((0.0,),), change=0.0):
    """One parameter; ten records in two groups; `error`: covariance of the recorded statistics."""
    count = len(statistics)
    unit = 10.0 * np.asarray(error) * (np.eye(count) if np.ndim(error) == 0 else 1) if unit is None else unit
    by_group = np.full((2, count), 5.0)
    after = np.broadcast_to(change, count)
    return SimpleNamespace(
        statistics=statistics, fitted=np.ones(count, dtype=bool) if fitted is None else np.array(fitted), moved=(0,),
        defaults=np.arange(count) + 0.5, observed=Sums(by_group, by_group * recorded, by_group * np.square(recorded)),
        predicted=lambda z: np.asarray(z) @ after[None, :],
        last=SimpleNamespace(
            posterior=SimpleNamespace(mean=np.zeros(1), draws=np.array(draws), covariance=np.eye(1)),
            level_covariance=level * np.eye(count), scatter=Scatter(unit, 1.0, 0.5),
        ),
    )  # fmt: skip


def disagreeing(statistics, left, error=1.0):
    table = judging.statistic_table(fit_of(statistics, np.array(left), error=error), None, seed=1)
    assert table["residual"].tolist() == pytest.approx(np.divide(left, np.sqrt(np.max(error))))
    return table["disagrees"].tolist()


def test_a_statistic_disagrees_beyond_three_standard_errors():
    statistics = of_all("stillborn", "mortality", "duration")
    assert disagreeing(statistics, [2.98, -3.02, 0.0]) == [False, True, False]
    assert disagreeing(statistics, [5.96, 6.04, -6.04], error=4.0) == [False, True, True]


def test_what_a_fit_leaves_is_judged_by_how_the_model_changes_just_around_the_estimate():
    """Where it bends strongly there, as z^3 does at 0, a fit takes nothing away: the residual is that of the records alone."""
    fit = fit_of(of_all("stillborn"), np.array([2.0]), error=4.0)
    fit.predicted = lambda z: np.asarray(z) ** 3 * [[10.0]]
    assert judging.statistic_table(fit, None, seed=1)["residual"].tolist() == pytest.approx([1], rel=0.01)


def test_a_fit_takes_from_each_statistic_only_what_its_own_parameter_moves():
    """Of errors of variance 1 a fit leaves 1 / (1 + 2^2) where a parameter moves the statistic by 2, and else all."""
    fit = fit_of(of_all("stillborn", "weaned", "treated"), np.array([1.0, 1.0, 1.0]))
    fit.moved, fit.predicted = (0, 1), lambda z: np.asarray(z) @ np.array([[2.0, 0, 0], [0, 0, 2.0]])
    fit.last.posterior = SimpleNamespace(mean=np.zeros(2), draws=np.zeros((1, 2)), covariance=np.eye(2) / 5)
    table = judging.statistic_table(fit, None, seed=1)
    assert table["residual"].tolist() == pytest.approx([np.sqrt(5), 1, np.sqrt(5)])


def test_weeks_of_feed_disagree_together_where_each_alone_would_not():
    """Of four, each 2.0 standard errors out, chi square 16 has p = 0.0030, each 2.1 out 17.6 with p = 0.0015; 0.0027 decides."""
    statistics = of_all(*(f"eaten week {week}" for week in (1, 2, 3, 4)), "water")
    assert disagreeing(statistics, [2.0, -2.0, 2.0, 2.0, 0.0]) == [False] * 5
    assert disagreeing(statistics, [2.1, -2.1, 2.1, 2.1, 0.0]) == [True] * 4 + [False]


def test_what_goes_together_by_chance_may_be_out_together_and_not_apart():
    statistics = [Statistic(BY_NAME["treated"], parities) for parities in (FIRST, LATER)]
    together = np.array([[1, 0.9], [0.9, 1]])
    assert disagreeing(statistics, [2.0, 2.0], error=together) == [False, False]
    assert disagreeing(statistics, [2.0, -2.0], error=together) == [True, True]


def test_each_statistic_has_its_records_and_standard_error():
    statistics = of_all("stillborn", "room temperature")
    fit = fit_of(
        statistics, np.array([8.0, 20.0]), error=4.0, fitted=[True, False], change=[2.0, 0.0], draws=[[1.0], [2]]
    )
    table = judging.statistic_table(fit, None, seed=1)
    assert table["records"].tolist() == [10, 10]
    assert table["recorded"].tolist() == [8, 20]
    assert table["standard_error"].tolist() == pytest.approx([2, 2])
    assert table["before"].tolist() == [0.5, 1.5]
    assert table["after"].tolist() == pytest.approx([3, 0])
    assert table["fitted"].tolist() == [True, False]
    assert table["unit"].tolist() == ["%", "degC"]
    assert table[["kept", "kept_low", "kept_high"]].isna().all(axis=None)
    assert not table["kept_inside"].any()


def test_groups_kept_aside_are_judged_by_chance_of_their_own_size_and_by_what_is_not_known_of_the_parameter():
    """Of 40 records kept aside: variance 160 / 40 by chance, 5 of what was simulated; the parameter, of standard deviation 1,
    moves the first by 4, so that its standard deviation is 5. Of one record it is the root of 165. Shares end at 0 % and 100 %.
    """
    statistics = of_all("lactation", "stillborn", "treated", "mortality", "weaned", "duration", "water")
    centre, kept_values = np.array([25.0, 3, 99, 99, 11, 6, 6]), np.array([34.0, 0, 92, 100, 17.5, 30, 0])
    change = [4.0, *[0.0] * 6]
    draws = norm.ppf((np.arange(200) + 0.5) / 200)[:, None]
    fit = fit_of(statistics, np.zeros(7), level=5.0, unit=160 * np.eye(7), draws=draws)
    fit.predicted = lambda z: centre + np.asarray(z) @ np.array([change])
    weight = np.array([[40.0, 40, 40, 40, 40, 1, 0]])
    table = judging.statistic_table(fit, Sums(weight, weight * kept_values, weight * 0), seed=1).set_index("quantity")
    sd = np.array([5, 3, 3, 3, 3, np.sqrt(165), np.nan])
    low, high = centre - 1.96 * sd, centre + 1.96 * sd
    low[1], high[2], high[3] = 0, 100, 100
    assert table["kept"].tolist() == pytest.approx([*kept_values[:-1], np.nan], nan_ok=True)
    assert ((table["kept_low"] - low) / sd).dropna().abs().max() < 0.1
    assert ((table["kept_high"] - high) / sd).dropna().abs().max() < 0.1
    assert np.isnan(table.loc["water", ["kept_low", "kept_high"]].tolist()).all()
    assert (table.loc["stillborn", "kept_low"], table.loc["treated", "kept_high"]) == (0, 100)
    assert table["kept_inside"].tolist() == [True, True, False, True, False, True, False]

"""The tables of doubt by hand: differences at draws, both doubts at once, what carries them, and where the choice turns."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
from scipy.stats import norm, t

import farrowtide
from farrowtide.analysis import doubt
from farrowtide.analysis import flips as turning
from farrowtide.analysis.doubt import Drawn, Layout, Subject
from farrowtide.outputs.output import Output
from farrowtide.scenarios.parameters import Parameter
from farrowtide.statistics.sensitivity import Elementary, Shares
from farrowtide.statistics.two_levels import Draws
from farrowtide.study.draws import DrawsOfParameters

WEIGHT = Output("weight", "kg", "Weight", lambda rooms: None, "higher", 1, negligible=0.5)
WORK = Output("work", "min", "Work", lambda rooms: None, "lower", 0, negligible=1.0)
CLIMATE = Output("climate", "degC", "Climate", lambda rooms: None, None, 1)
MARGIN = Output("margin_per_crate", "coins", "Margin", lambda rooms: None, "higher", 1, group="further")


def rooms_of(points=None, case="July", **outputs_by_alternative):
    """alternative -> output -> values, by room; `points`: point and replicate of each."""
    frames = []
    for name, outputs in outputs_by_alternative.items():
        frame = pd.DataFrame(outputs).assign(case=case, alternative=name)
        frame["replicate"] = range(len(frame)) if points is None else [replicate for _, replicate in points]
        frames.append(frame if points is None else frame.assign(point=[point for point, _ in points]))
    return pd.concat(frames, ignore_index=True)


def comparison_of(replicates, outputs=(WEIGHT,), withheld=(), **changed):
    alternatives = list(replicates["alternative"].unique())
    means = (
        replicates.groupby(["case", "alternative"], sort=False)[[each.name for each in outputs]].mean().reset_index()
    )
    usual = {
        "cases": list(replicates["case"].unique()), "alternatives": alternatives, "reference": "old",
        "outputs": list(outputs), "replicates": replicates, "replications": replicates["replicate"].nunique(),
        "means": means.melt(["case", "alternative"], var_name="output", value_name="mean"),
        "differences": pd.DataFrame(columns=["case", "output", "alternative", "verdict"]),
        "provenance": {"withheld_care": {name: ["no care"] for name in withheld}},
    }  # fmt: skip
    return SimpleNamespace(**(usual | changed))


# --- differences at draws ---

# As given the alternative is r kg ahead in room r; of two points the first is in the last rooms and the second in the first.
GIVEN = rooms_of(old={"weight": [50.0] * 6}, new={"weight": 50 + np.arange(6.0)})
POINTS = [(1, 1), (0, 5), (1, 0), (0, 4)]
AT_POINTS = rooms_of(POINTS, old={"weight": [70.0] * 4}, new={"weight": [96.0, 85.0, 94.0, 84.0]})


def test_series_are_by_case_then_alternative_then_output():
    rooms = pd.concat(
        [
            rooms_of(case=case, old={"weight": [1.0, 2], "work": [10.0, 20]}, a={"weight": [at, at], "work": [at, 0]},
                     b={"weight": [3.0, 3], "work": [7.0, 8]})
            for case, at in (("July", 100.0), ("May", 200.0))
        ]
    )  # fmt: skip
    layout = Layout.of(comparison_of(rooms, [WEIGHT, WORK]))
    assert (layout.cases, layout.others, layout.outputs) == (["July", "May"], ["a", "b"], ["weight", "work"])
    assert layout.differences(rooms).tolist() == [
        [99, 90, 2, -3, 199, 190, 2, -3],
        [98, -20, 1, -12, 198, -20, 1, -12],
    ]
    assert layout.series("May", "b", "work") == 7
    assert layout.series("July", "b", "weight") == 2


def test_rooms_of_a_point_are_compared_with_the_same_rooms_at_the_parameters_as_given():
    layout = Layout.of(comparison_of(GIVEN))
    assert doubt.by_point(layout, AT_POINTS)[..., 0].tolist() == [[14, 15], [24, 26]]
    assert doubt.moved_from_given(layout, GIVEN, AT_POINTS)[..., 0].tolist() == [[10, 10], [24, 25]]


def test_what_is_drawn_holds_the_chance_of_what_is_given_and_that_within_draws():
    """Moves of 10 and 10, 24 and 25, and of a draw with one room 3: the variance within is (0 + 0.5) / 2, and of the whole
    differences 14 and 15, 24 and 26 it is (0.5 + 2) / 2.
    """
    single = rooms_of([(0, 2)], old={"weight": [0.0]}, new={"weight": [5.0]})
    found = doubt.drawn(comparison_of(GIVEN), [AT_POINTS, single])
    assert found.difference.tolist() == [2.5]
    assert found.error[0] == pytest.approx(np.arange(6).std(ddof=1) / np.sqrt(6))
    assert found.df.tolist() == [5]
    assert found.draws.means.tolist() == [[10], [24.5], [3]]
    assert found.draws.rooms[:, 0].tolist() == [2, 2, 1]
    assert found.draws.within[0] == pytest.approx(0.25)
    assert found.unpaired[0] == pytest.approx(1.25)
    both = found.both
    assert both.centres == pytest.approx(2.5 + found.draws.true)
    assert both.error == pytest.approx(np.sqrt(found.error**2 + 0.25 * (0.5 + 0.5 + 1) / 9))
    assert both.df.tolist() == [5]


def test_rooms_without_a_value_leave_the_others():
    given = GIVEN.assign(weight=GIVEN["weight"].where(GIVEN["replicate"] != 3))
    found = doubt.drawn(comparison_of(given), [AT_POINTS])
    rest = np.array([0, 1, 2, 4, 5])
    assert found.difference == pytest.approx(rest.mean())
    assert found.error == pytest.approx(rest.std(ddof=1) / np.sqrt(5))
    assert found.df.tolist() == [4]
    two = GIVEN.assign(weight=GIVEN["weight"].where(GIVEN["replicate"].isin([2, 5])))
    of_two = doubt.drawn(comparison_of(two), [AT_POINTS])
    assert (of_two.difference.tolist(), of_two.error.tolist(), of_two.df.tolist()) == ([3.5], [pytest.approx(1.5)], [1])
    one = GIVEN.assign(weight=GIVEN["weight"].where(GIVEN["replicate"] == 4))
    alone = doubt.drawn(comparison_of(one), [AT_POINTS])
    assert (alone.difference.tolist(), alone.error.tolist(), alone.df.tolist()) == ([4], [0], [1])


# --- both doubts ---


def draws_of(sd, within=0.0, count=2000):
    """Normal true values with these standard deviations around 0, one series each; no chance of rooms."""
    means = norm.ppf((np.arange(count) + 0.5) / count)[:, None] * np.asarray(sd, dtype=float)
    return Draws(means, np.ones_like(means), means.var(axis=0, ddof=1), np.full(means.shape[1], float(within)))


def test_both_doubts_of_a_normal_difference_are_those_of_the_normal_distribution():
    """One alternative in two cases. The interval by chance alone is narrower, wider, wider on one side, and missing."""
    difference, sd = np.array([2.0, -3.0, 0.8, -0.4]), np.array([1.0, 2.0, 1.0, 0.5])
    index = [("July", "weight"), ("July", "work"), ("May", "weight"), ("May", "work")]
    low, high = [1.9, -9.0, -5.0, np.nan], [2.1, 4.0, 0.9, np.nan]
    table = pd.DataFrame(index, columns=["case", "output"]).assign(
        alternative="new", unit=["kg", "min"] * 2, difference=difference, ci_low=low, ci_high=high
    )
    rooms = pd.concat(
        [
            rooms_of(case=case, old={"weight": [0.0], "work": [0.0]}, new={"weight": [0.0], "work": [0.0]})
            for case in ("July", "May")
        ]
    )
    comparison = comparison_of(rooms, [WEIGHT, WORK], differences=table.iloc[[3, 1, 0, 2]])
    found = Drawn(draws_of(sd), difference, np.full(4, 1e-6), np.full(4, 1000), np.zeros(4))
    intervals = doubt.intervals(comparison, found)
    assert list(intervals)[:3] == ["case", "output", "alternative"]
    assert list(zip(intervals["case"], intervals["output"], strict=True)) == index
    assert intervals["reference"].tolist() == ["old"] * 4
    normal = [difference - 1.96 * sd, difference + 1.96 * sd]
    expected = [np.fmin(normal[0], low), np.fmax(normal[1], high)]
    assert intervals["both_low"].to_numpy() == pytest.approx(expected[0], abs=0.02)
    assert intervals["both_high"].to_numpy() == pytest.approx(expected[1], abs=0.02)
    assert intervals["median"].to_numpy() == pytest.approx(difference, abs=0.01)
    p_sign = norm.cdf(np.abs(difference) / sd)
    assert intervals["p_sign"].to_numpy() == pytest.approx(p_sign, abs=1e-3)
    assert intervals["p_sign_error"].to_numpy() == pytest.approx(np.sqrt(p_sign * (1 - p_sign) / 2000), rel=0.05)
    matters = norm.cdf((np.abs(difference) - [0.5, 1.0, 0.5, 1.0]) / sd)
    assert intervals["p_matters"].to_numpy() == pytest.approx(matters, abs=1e-3)
    off_by = np.fmax(difference - expected[0], expected[1] - difference)
    assert intervals["off_by"].to_numpy() == pytest.approx(off_by, abs=0.02)
    assert intervals["between"].to_numpy() == pytest.approx(sd, rel=0.01)
    assert intervals["within"].tolist() == [0] * 4
    assert intervals["draws"].tolist() == [2000] * 4


def test_tables_of_doubt_are_by_case_and_output_with_alternatives_in_order():
    rooms = pd.concat(
        [
            rooms_of(case=case, **{name: {"work": [0.0], "weight": [0.0]} for name in ("old", "b", "a")})
            for case in ("May", "April")
        ]
    )
    table = pd.DataFrame(
        columns=["case", "output", "alternative", "unit", "difference", "ci_low", "ci_high"], dtype=float
    )
    comparison = comparison_of(rooms, [WORK, WEIGHT], differences=table.astype({"unit": object}))
    found = Drawn(draws_of(np.ones(8)), np.arange(8.0), np.ones(8), np.full(8, 9), np.zeros(8))
    found = doubt.intervals(comparison, found)
    assert found[["case", "output", "alternative"]].to_numpy().tolist() == [
        [case, output, name] for case in ("May", "April") for output in ("work", "weight") for name in ("b", "a")
    ]
    assert found["median"].tolist() == pytest.approx([0, 2, 1, 3, 4, 6, 5, 7], abs=0.05)


# --- what the doubt is about ---


def about(outputs, means, **options):
    """`means`: alternative -> mean of every output."""
    rooms = [
        rooms_of(case=case, **{name: {each.name: [sign * mean] for each in outputs} for name, mean in means.items()})
        for case, sign in (("July", 1), ("May", -1))
    ]
    return doubt.subject_of(comparison_of(pd.concat(rooms), outputs, **options))


@pytest.mark.parametrize(
    ("outputs", "means", "withheld", "expected"),
    [
        ([WEIGHT], {"old": 1.0, "a": 3.0, "b": 2.0}, (), ("weight", "a", "a")),
        ([WORK], {"old": 1.0, "a": 3.0, "b": 2.0}, (), ("work", "old", "b")),
        ([WEIGHT], {"old": 1.0, "a": 3.0, "b": 2.0}, ("a",), ("weight", "b", "b")),
        ([WEIGHT], {"old": 5.0, "a": 3.0, "b": 2.0}, ("a",), ("weight", "old", "b")),
        ([CLIMATE, MARGIN, WORK], {"old": 9.0, "a": 3.0}, (), ("work", "a", "a")),
        ([CLIMATE, MARGIN], {"old": 9.0, "a": 3.0}, (), ("margin_per_crate", "old", "a")),
        ([CLIMATE, replace(WEIGHT, group="further")], {"old": 9.0, "a": 12.0}, (), ("climate", "a", "a")),
    ],
)
def test_what_doubt_is_about(outputs, means, withheld, expected):
    """Where nothing is clear: the first headline with a good direction, or margin; who withholds care comes last."""
    subject = about(outputs, means, withheld=withheld)
    assert (subject.output.name, subject.best, subject.alternative) == expected
    assert subject.case == "July"


def test_gains_count_what_is_good_and_nothing_of_who_withholds_care():
    rooms = rooms_of(**{name: {"weight": [0.0], "work": [0.0]} for name in ("old", "a", "b")})
    draws = Draws(
        np.array([[1.0, 2, 3, 4], [-1, -2, -3, -4]]), np.ones((2, 4)), np.array([2.0, 8, 18, 32]), np.zeros(4)
    )
    found = Drawn(draws, np.array([10.0, 20, 30, 40]), np.ones(4), np.ones(4), np.zeros(4))
    for output, withheld, expected in (
        (WEIGHT, (), [[0, 11, 33], [0, 9, 27]]),
        (WORK, (), [[0, -22, -44], [0, -18, -36]]),
        (WEIGHT, ("b",), [[0, 11, 0], [0, 9, 0]]),
    ):
        comparison = comparison_of(rooms, [WEIGHT, WORK], withheld)
        gains = doubt.gains(comparison, Subject("July", output, "a", "a"), found)
        assert gains == pytest.approx(np.array(expected, dtype=float))


# --- what carries it ---


def parameter(name, low=0.0, high=20.0):
    return Parameter(name, (10.0,), (low,), (high,), "kg", "C", f"source of {name}", "coefficient")


def known_in(known, drawn=30):
    """A difference that follows the second of three inputs, with a value in so many draws, the last ones."""
    probabilities = np.random.default_rng(1).permuted(np.tile((np.arange(drawn) + 0.5) / drawn, (3, 1)), axis=1).T
    means = 6 * probabilities[:, [1]]
    means[: drawn - known] = np.nan
    rooms = np.isfinite(means).astype(int)
    found = Drawn(
        Draws(means, rooms, np.array([np.nanvar(means)]), np.zeros(1)), np.ones(1), np.ones(1), np.ones(1), np.zeros(1)
    )
    inputs = [parameter(name) for name in ("a", "b", "c")]
    return found, DrawsOfParameters(inputs, np.vstack([probabilities, probabilities[:5]]), [{}] * (drawn + 5))


def test_the_parameter_that_a_difference_follows_carries_it():
    comparison = comparison_of(rooms_of(old={"weight": [0.0]}, new={"weight": [0.0]}))
    subject = Subject("July", WEIGHT, "new", "new")
    found, draws = known_in(21)
    candidates = doubt.candidates(comparison, subject, found, draws)
    assert candidates.shares.inputs[0] == 1
    assert candidates.shares.share[0] == pytest.approx(1, abs=0.02)
    assert candidates.any_shape[0] > 0.5 > candidates.any_shape[1:].max()
    assert candidates.known.tolist() == [False] * 9 + [True] * 21
    with pytest.raises(farrowtide.UserError, match=r"weight has a value in 20 draws: at least 21 are needed"):
        doubt.candidates(comparison, subject, known_in(20)[0], draws)


def test_causes_are_by_the_effect_of_moving_each_or_else_by_share():
    shares = Shares(
        inputs=[2, 0, 1], share=np.array([0.5, 0.3, 0.1]), low=np.array([0.4, 0.2, 0.0]), high=np.array([0.6, 0.4, 0.2]),
        real=np.array([True, True, False]), floor=0.2, explained=0.8,
    )  # fmt: skip
    candidates = doubt.Candidates(shares, np.array([0.55, 0.35, 0.15]), np.ones(30, dtype=bool))
    inputs = [parameter("a", high=11.0), parameter("b", high=12.0), parameter("c", high=13.0)]
    by_share = doubt.causes(inputs, candidates, None)
    assert by_share["parameter"].tolist() == ["c", "a", "b"]
    assert by_share[["size", "half_width", "spread"]].isna().all(axis=None)
    assert by_share["high"].tolist() == [[13], [11], [12]]
    assert by_share["value"].tolist() == [[10]] * 3
    moved = Elementary(np.array([1.0, 4.0, 4.0]), np.array([0.1, 0.4, 0.2]), np.array([0.3, 0.5, 0.7]))
    by_size = doubt.causes(inputs, candidates, moved)
    assert by_size["parameter"].tolist() == ["a", "b", "c"]  # of equal size, the larger share first
    assert by_size["spread"].tolist() == [0.5, 0.7, 0.3]
    assert by_size["half_width"].tolist() == [0.4, 0.2, 0.1]
    assert by_size["any_shape"].tolist() == [0.35, 0.15, 0.55]
    assert by_size["input"].tolist() == [0, 1, 2]
    assert "index" not in by_size
    assert by_size.index.tolist() == by_share.index.tolist() == [0, 1, 2]
    assert by_size["source"].tolist() == ["source of a", "source of b", "source of c"]


def worth_in(known, gain=lambda p: p[:, 1] - 0.5, unknown=0):
    """Two choices, one of which gains what `gain` makes of two inputs; so many draws are known, and some gains missing."""
    draws = known_in(30)[1]
    gains = np.column_stack([np.zeros(30), gain(draws.probabilities[:30])])
    gains[:unknown, 1] = np.nan
    return doubt.worth_of_knowing(gains, draws, [0, 1], np.arange(30) >= 30 - known)


def test_what_decides_the_choice_is_worth_knowing():
    """A gain of p - 1/2 is above 0 in half of all cases, 0.25 in the mean: 0.125 are lost by not knowing p."""
    table, of_all = worth_in(30)
    assert list(table) == ["parameter", "worth", "share_of_all"]
    assert table["parameter"].tolist() == ["b", "a"]
    assert of_all == pytest.approx(0.125, rel=0.02)
    assert of_all / 2 < table["worth"].iloc[0] <= of_all  # less what a spline makes of shuffled draws
    assert table["share_of_all"].tolist() == pytest.approx((table["worth"] / of_all).tolist())
    assert table["worth"].iloc[1] == 0


def test_nothing_is_worth_knowing_where_the_choice_is_always_the_same():
    table, of_all = worth_in(30, gain=lambda p: 1 + p[:, 1])
    assert of_all == 0
    assert table[["worth", "share_of_all"]].to_numpy().tolist() == [[0, 0], [0, 0]]


def test_worth_is_not_known_from_fewer_than_21_draws():
    assert np.isfinite(worth_in(21)[1])
    assert np.isfinite(worth_in(30, unknown=9)[1])
    for table, of_all in (worth_in(20), worth_in(30, unknown=10)):
        assert np.isnan(of_all)
        assert table["parameter"].tolist() == ["a", "b"]
        assert table[["worth", "share_of_all"]].isna().all(axis=None)


# --- where the choice turns ---


def test_the_lead_is_over_the_best_of_the_others_at_that_value():
    """As given a is 4 and b 2 ahead of the reference in the mean of four rooms; in the first two rooms a loses 2 and b gains 1
    at the first point, and both lose 5 at the second. The error is that of a - b as given, 0, 4, 3 and 1, variance 10/3, and
    of how it moves, -1 and -5, variance 8.
    """
    given = {"old": np.zeros(4), "a": np.array([3.0, 5, 4, 4]), "b": np.array([3.0, 1, 1, 3])}
    moved = {"old": [0.0] * 4, "a": [2.0, 2.0, -2.0, 0.0], "b": [3.0, 3.0, -2.0, -4.0]}
    places = [(0, 0), (0, 1), (1, 0), (1, 1)]
    for output, sign in ((WEIGHT, 1), (WORK, -1)):
        july, may = (
            rooms_of(
                case=case,
                **{name: {output.name: sign * by * values, "climate": 9 * values} for name, values in given.items()},
            )
            for case, by in (("July", 1), ("May", 100))
        )
        at = rooms_of(
            places, **{name: {output.name: sign * np.array(values), "climate": 0.0} for name, values in moved.items()}
        )
        comparison = comparison_of(pd.concat([may, july]), [CLIMATE, output])
        first, second = turning.advantages(comparison, Subject("July", output, "a", "a"), at)
        assert (first.difference, first.lead, first.second) == (2 * sign, -1, "b")
        assert first.error == pytest.approx(np.sqrt(10 / 3 / 4 + 8 / 2))
        assert (second.difference, second.lead, second.second) == (-1 * sign, -1, "old")


def test_a_parameter_is_moved_part_of_the_way_to_either_end():
    table = replace(parameter("a"), value=(10.0, 2.0), low=(0.0, 1.0), high=(30.0, 2.5))
    ways = {0.5: (20, 2.25), 1.0: (30, 2.5), 0.0: (10, 2), -0.5: (5, 1.5), -1.0: (0, 1)}
    assert {way: turning.moved_to(table, way) for way in ways} == {way: pytest.approx(at) for way, at in ways.items()}


def flips_of(lead, error=0.0, asked=None):
    """A lead by the value of one parameter, 10, from 0 to 20; the difference is ten times the lead."""

    def run(at):
        if asked is not None:
            asked.append([each["a"][0] for each in at])
        leads = [lead(each["a"][0]) for each in at]
        return [
            turning.Advantage(10 * each, each, error, "above" if x["a"][0] > 10 else "below")
            for each, x in zip(leads, at, strict=True)
        ]

    return turning.flips([parameter("a")], run).iloc[0]


def test_a_choice_that_turns_below_the_value_is_found_there():
    """A lead of 0.2 at the value that falls by 0.05 with each kg less is gone at 6 kg."""
    found = flips_of(lambda value: 0.2 + 0.05 * (value - 10))
    assert found["flip_low"][0] < 6 < found["flip_high"][0]
    assert found["flip_high"][0] - found["flip_low"][0] == pytest.approx(10 / 32)
    assert found["way"] == pytest.approx(-0.4, abs=1 / 64)
    assert (found["at_low"], found["at_high"], found["instead"]) == (pytest.approx(-3), pytest.approx(7), "below")
    assert (found["low"], found["high"], found["value"], found["unit"]) == ([0], [20], [10], "kg")


def test_of_two_turns_the_nearer_one_is_told():
    for near, far, instead in ((13.0, 5.0, "above"), (15.0, 7.0, "below")):
        low, high = sorted((near, far))
        found = flips_of(lambda value, low=low, high=high: min(value - low, high - value))
        nearer = near if instead == "above" else far
        assert found["flip_low"][0] <= nearer <= found["flip_high"][0]
        assert found["instead"] == instead


def test_where_the_lead_is_just_gone_the_choice_has_turned():
    found = flips_of(lambda value: 15 - value)
    assert found["flip_high"] == [15]
    assert flips_of(lambda value: 20 - value)["flip"] is None  # at the very end nobody else leads


def test_chance_moves_the_turn_by_its_error_over_the_slope_to_the_end():
    """The turn is in the middle of 14.6875 to 15; from there the lead falls by 5 to the end of the range. Ten rooms."""
    found = flips_of(lambda value: 15 - value, error=0.5)
    turn = (14.6875 + 15) / 2
    moved = t.ppf(0.975, 9) * 0.5 / (5 / (20 - turn))
    assert found["flip"] == pytest.approx([turn])
    assert found["flip_low"] == pytest.approx([14.6875 - moved])
    assert found["flip_high"] == pytest.approx([15 + moved])


def test_an_interval_of_the_turn_ends_with_the_range():
    found = flips_of(lambda value: 15 - value, error=100.0)
    assert (found["flip_low"], found["flip_high"]) == ([0], [20])


def test_nothing_more_is_run_where_nothing_turns():
    asked = []
    found = flips_of(lambda value: 1.0, asked=asked)
    assert asked == [[0, 20]]
    assert found["flip"] is None
    assert np.isnan(found["way"])
    assert found["instead"] == ""
    flips_of(lambda value: 14 - value, asked=asked)
    assert [len(each) for each in asked[1:]] == [2, 1, 1, 1, 1, 1]


def test_each_parameter_is_run_at_both_its_ends_at_once():
    inputs = [parameter("a"), parameter("b", 5.0, 40.0), parameter("c", 2.0, 12.0)]
    asked = []

    def run(at):
        asked.append([next(iter(each.items())) for each in at])
        leads = [39.9 - value if name == "b" else 1.0 for name, (value,) in asked[-1]]
        return [
            turning.Advantage(value, lead, 0.0, f"{name} {value}")
            for (name, (value,)), lead in zip(asked[-1], leads, strict=True)
        ]

    found = turning.flips(inputs, run)
    assert asked[0] == [(each.name, end) for each in inputs for end in (each.low, each.high)]
    assert {name for points in asked[1:] for name, _ in points} == {"b"}
    assert found["parameter"].tolist() == ["a", "b", "c"]
    assert found[["at_low", "at_high"]].to_numpy().tolist() == [[0, 20], [5, 40], [2, 12]]
    assert [turn is None for turn in found["flip"]] == [True, False, True]
    assert found["instead"][1] == "b 40.0"  # at the very end
    assert found["flip_low"][1][0] <= 39.9 <= found["flip_high"][1][0] == 40

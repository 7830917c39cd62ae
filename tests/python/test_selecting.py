"""Limits, margins, Pareto sets, quantiles and selection on tables made by hand: at the limit, in which order, of which case."""

import numpy as np
import pandas as pd
import pytest
from scipy import stats
from statsmodels.stats.multitest import multipletests

import farrowtide
from farrowtide import selecting
from farrowtide.outputs.output import Output

WEIGHT = Output("litter_weight_kg", "kg", "Litter weight", lambda rooms: None, "higher", 1, negligible=0.5)
WORK = Output("labour_min_per_litter", "min", "Staff work", lambda rooms: None, "lower", 1, negligible=1.0)
CLIMATE = Output("climate_deg_c", "degC", "Climate", lambda rooms: None, None, 1, group="further")
SHARE = Output("done_percent", "%", "Done", lambda rooms: None, "higher", 1, negligible=1.0, share=True)
OUTPUTS = [WEIGHT, WORK, CLIMATE, SHARE]
SPREAD = np.array([-1.5, 1.0, -1.0, 1.5, 0.5, -0.5])


def rooms_of(case="July", **alternatives):
    """alternative -> output -> one value per room."""
    frames = [
        pd.DataFrame(outputs).assign(case=case, alternative=name, replicate=lambda frame: range(len(frame)))
        for name, outputs in alternatives.items()
    ]
    return pd.concat(frames, ignore_index=True)


def student(values, alternative, confidence=0.95):
    """The ends of Student's interval of a mean; of symmetric values, for which no skewness is allowed for."""
    return stats.ttest_1samp(values, 0, alternative=alternative).confidence_interval(confidence)


# Limits


def within(limit, weight, work=SPREAD):
    data = rooms_of(a={"litter_weight_kg": weight, "labour_min_per_litter": work})
    found = selecting.best_within(data, OUTPUTS, "labour", [limit])
    return found.limits.iloc[0]


def test_a_limit_from_below_is_kept_by_the_lower_bound():
    row = within("litter weight >= 8", 10 + SPREAD)
    assert row["bound"] == pytest.approx(student(10 + SPREAD, "greater").low)
    assert (row["kept"], row["over"], row["mean"], row["limit"]) == ("yes", -2, 10, "litter_weight_kg >= 8")
    assert within(f"litter weight >= {row['bound'] + 0.01}", 10 + SPREAD)["kept"] == "probably"
    below = within("litter weight >= 11", 10 + SPREAD)
    assert (below["kept"], below["over"]) == ("no", 1)


def test_a_mean_that_is_just_the_limit_is_probably_within_it():
    for sense in ("<=", ">="):
        assert within(f"litter weight {sense} 10", 10 + SPREAD)["kept"] == "probably"
        assert within(f"litter weight {sense} 10", 10 + 0 * SPREAD)["kept"] == "probably"  # without a bound


def test_a_bound_that_is_just_the_limit_is_within_it():
    bound = float(within("litter weight <= 20", 10 + SPREAD)["bound"])
    assert bound == pytest.approx(student(10 + SPREAD, "less").high)
    assert within(f"litter weight <= {bound!r}", 10 + SPREAD)["kept"] == "yes"
    assert within(f"litter weight <= {bound - 1e-6!r}", 10 + SPREAD)["kept"] == "probably"


def test_the_bound_of_a_share_stays_below_the_whole():
    share = np.array([99.5, 98.0, 99.0, 90.0, 99.8, 99.9])
    data = rooms_of(a={"done_percent": share, "labour_min_per_litter": SPREAD})
    row = selecting.best_within(data, OUTPUTS, "labour", ["done_percent <= 99.99"]).limits.iloc[0]
    assert student(share, "less").high > 100
    assert row["bound"] < 100
    assert row["kept"] == ("yes" if row["bound"] <= 99.99 else "probably")


def test_with_too_few_animals_a_limit_is_never_surely_kept_and_the_lead_has_no_interval():
    data = rooms_of(
        a={"litter_weight_kg": 10 + SPREAD, "labour_min_per_litter": 5 + SPREAD},
        b={"litter_weight_kg": 10 + SPREAD, "labour_min_per_litter": 7 - SPREAD},
    )
    few, many = (selecting.best_within(data, OUTPUTS, "labour", ["litter weight <= 20"], animals=n) for n in (10, 1000))
    assert few.table["within"].tolist() == ["probably", "probably"]
    assert few.table[["ci_low", "ci_high"]].isna().all(axis=None)
    assert many.table["within"].tolist() == ["yes", "yes"]
    behind = many.table.iloc[1]
    expected = student(2 - 2 * SPREAD, "two-sided")
    assert [behind["ci_low"], behind["ci_high"]] == pytest.approx([expected.low, expected.high])
    assert (behind["difference"], behind["n"], behind["apart"]) == (2, 6, 5)  # in one room they are equal


def test_an_alternative_within_one_limit_and_beyond_another_is_not_within():
    data = rooms_of(
        a={"litter_weight_kg": 10 + SPREAD, "labour_min_per_litter": 5 + SPREAD, "climate_deg_c": 20 + SPREAD},
        b={"litter_weight_kg": 30 + SPREAD, "labour_min_per_litter": 9 + SPREAD, "climate_deg_c": 19 + SPREAD},
    )
    found = selecting.best_within(data, OUTPUTS, "litter weight", ["labour <= 100", "climate <= 19.5"])
    assert found.table.set_index("alternative")["within"].to_dict() == {"a": "no", "b": "probably"}
    assert found.limits[["alternative", "kept"]].to_numpy().tolist() == [
        ["a", "yes"], ["a", "no"], ["b", "yes"], ["b", "probably"],
    ]  # fmt: skip


def test_each_case_has_its_own_best_and_equal_ones_stay_in_order():
    def of(case, *work):
        return rooms_of(
            case, **{name: {"labour_min_per_litter": at + SPREAD} for name, at in zip("abc", work, strict=True)}
        )

    found = selecting.best_within(
        pd.concat([of("May", 5, 3, 3), of("April", 7, 8, 1)]), OUTPUTS, "labour", ["labour >= 2"]
    )
    assert list(found.table)[:2] == ["case", "alternative"]
    assert found.table["case"].tolist() == ["May"] * 3 + ["April"] * 3
    assert found.limits["case"].tolist() == ["May"] * 3 + ["April"] * 3
    assert found.table.index.tolist() == [*range(6)]
    assert found.table["alternative"].tolist() == ["b", "c", "a", "a", "b", "c"]
    assert found.table["rank"].tolist() == [1, 2, 3, 1, 2, 0]
    assert found.table["difference"].tolist() == [0, 0, 2, 0, 1, -6]
    assert found.best == {"May": "b", "April": "a"}
    assert repr(found) == "<BestWithin of 'May, April': 'b'; 'a'>"
    none = selecting.best_within(of("July", 5, 3, 3), OUTPUTS, "labour", ["labour >= 6"])
    assert repr(none) == "<BestWithin of 'July': none within the limits>"


def test_those_that_are_equal_to_the_best_in_every_room_are_named_with_it():
    equal = {name: {"litter_weight_kg": 10 + SPREAD} for name in ("a", "b", "c")}
    told = [
        selecting.best_within(rooms_of(**some), OUTPUTS, "litter weight", []).sentences["July"]
        for some in (
            equal,
            {**equal, "b": {"litter_weight_kg": 9 + SPREAD}},
            {**equal, "b": equal["a"], "c": {"litter_weight_kg": 10 - SPREAD}},
        )
    ]
    assert told == [
        "'a' has the highest mean of litter weight, 10.0 kg, and so have 'b', 'c'.",
        "'a' has the highest mean of litter weight, 10.0 kg, and so has 'c'.",
        "'a' has the highest mean of litter weight, 10.0 kg, and so has 'b'.",  # c has that mean in other rooms
    ]
    limited = selecting.best_within(rooms_of(**equal), OUTPUTS, "litter weight", ["litter weight >= 8"])
    assert limited.sentences["July"].endswith("10.0 kg (within limits: yes), and so have 'b', 'c'.")


def test_the_best_is_told_in_the_units_of_the_reader():
    data = rooms_of(a={"litter_weight_kg": 10 + SPREAD}, b={"litter_weight_kg": 9 + SPREAD})
    best = selecting.best_within(data, OUTPUTS, "litter weight", ["litter weight >= 8"], units="us")
    assert best.sentences["July"] == (
        "'a' has the highest mean of litter weight of the 2 within the limits, 22.0 lb (within limits: yes)."
    )
    none = selecting.best_within(data, OUTPUTS, "litter weight", ["litter weight <= 8"], units="us")
    assert none.sentences["July"] == (
        "No alternative meets all limits. 'b' is closest: it misses litter weight <= 17.6 lb by 2.2 lb."
    )


def test_a_small_breach_is_one_and_none_is_none():
    """A quarter of a kilogram is less than what matters. Of an alternative that just keeps its limit the work is missing."""
    weight, nothing = {"litter_weight_kg": 10.25 + SPREAD}, {"labour_min_per_litter": np.nan * SPREAD}
    breach = selecting.best_within(rooms_of(a=weight), OUTPUTS, "litter weight", ["litter weight <= 10"])
    assert breach.sentences["July"].endswith("'a' is closest: it misses litter_weight_kg <= 10 by 0.2 kg.")
    missing = selecting.best_within(rooms_of(a=weight | nothing), OUTPUTS, "labour", ["litter weight <= 10.25"])
    assert missing.sentences["July"] == "No alternative has values of staff work and of every limited output."


# Margins


def test_equivalence_has_both_one_sided_bounds_and_what_it_was_asked():
    gaps = 0.2 + SPREAD / 5
    found = selecting.equivalent(
        rooms_of(old={"climate_deg_c": [20.0] * 6}, new={"climate_deg_c": 20 + gaps}),
        OUTPUTS,
        "old",
        {"climate_deg_c": 1.0},
    ).iloc[0]
    assert [found["low"], found["high"]] == pytest.approx([student(gaps, "greater").low, student(gaps, "less").high])
    assert (found["margin"], found["unit"], found["n"], found["verdict"]) == (1.0, "degC", 6, "equivalent")
    assert found["difference"] == pytest.approx(0.2)


@pytest.mark.parametrize(("mean", "verdict"), [(2.7, "different"), (-2.7, "different"), (2.35, "not shown")])
def test_more_different_than_the_margin_counts_both_sides(mean, verdict):
    """Six pairs with a standard error of 0.48 beyond a margin of 1: of 2.35 the one-sided p is 0.02 and the two-sided one
    above 0.03, of 2.7 they are 0.009 and 0.017; two alternatives double them.
    """
    gaps = mean + SPREAD
    one_sided = stats.ttest_1samp(gaps, np.sign(mean), alternative="greater" if mean > 0 else "less").pvalue
    data = {name: {"climate_deg_c": 20 + gaps} for name in ("new", "newer")}
    found = selecting.equivalent(rooms_of(old={"climate_deg_c": [20.0] * 6}, **data), OUTPUTS, "old", {"climate": 1.0})
    assert found["verdict"].tolist() == [verdict] * 2
    assert (2 * 2 * one_sided < 0.05) == (verdict == "different")
    assert 2 * one_sided < 0.05


@pytest.mark.parametrize("mean", [0.9, -0.9])
def test_what_is_surely_below_one_margin_and_not_above_the_other_is_not_shown(mean):
    data = rooms_of(old={"climate_deg_c": [20.0] * 6}, new={"climate_deg_c": 20 + mean + SPREAD})
    assert selecting.equivalent(data, OUTPUTS, "old", {"climate": 1.0})["verdict"].item() == "not shown"


def test_what_is_worse_by_more_than_the_margin_is_adjusted_for_all_that_is_asked():
    """One-sided p of being worse by more than 1 kg, 0.02: enough for one alternative, and not for three."""
    gaps = -2.35 + SPREAD
    assert 0.05 / 3 < stats.ttest_1samp(gaps, -1, alternative="less").pvalue < 0.05
    for names, verdict in ((["new"], "worse"), (["new", "b", "c"], "not shown")):
        data = {name: {"litter_weight_kg": 20 + gaps} for name in names}
        found = selecting.no_worse_than(
            rooms_of(old={"litter_weight_kg": [20.0] * 6}, **data), OUTPUTS, "old", {"litter_weight_kg": 1.0}
        )
        assert found["verdict"].tolist() == [verdict] * len(names)
        assert found["bound"].tolist() == pytest.approx([student(gaps, "greater").low] * len(names))
        assert found["margin"].tolist() == [1.0] * len(names)


def test_margins_need_as_many_animals_as_other_differences():
    data = rooms_of(old={"litter_weight_kg": [20.0] * 6}, new={"litter_weight_kg": 20 + SPREAD / 9})
    for test in (selecting.no_worse_than, selecting.equivalent):
        shown = [test(data, OUTPUTS, "old", {"litter weight": 1.0}, animals=n).iloc[0] for n in (160, 159)]
        assert [row["verdict"] for row in shown] == [
            "no worse" if test is selecting.no_worse_than else "equivalent",
            "not shown",
        ]
        assert np.isnan(shown[1]["p"])
        assert np.isnan(shown[1][["bound"] if test is selecting.no_worse_than else ["low", "high"]].tolist()).all()


@pytest.mark.parametrize("margin", [0.0, -1.0, np.inf, np.nan])
def test_a_margin_is_a_number_above_zero(margin):
    data = rooms_of(old={"litter_weight_kg": SPREAD}, new={"litter_weight_kg": SPREAD})
    with pytest.raises(farrowtide.UserError, match="a margin must be above 0"):
        selecting.no_worse_than(data, OUTPUTS, "old", {"litter_weight_kg": margin})


# Pareto sets


def test_who_is_surely_dominated_is_by_the_larger_p_of_both_outputs_adjusted_over_all_pairs():
    """c is behind a and b in both outputs, b behind a in both, d in the other case behind nobody."""
    random = np.random.default_rng(3)
    half = random.normal(0, 1, size=(10, 3, 2))
    noise = np.concatenate([half, -half])  # no skewness to allow for
    weight = noise[..., 0] + [50, 48, 46]
    work = noise[..., 1] + [100, 102, 104]
    data = rooms_of(
        **{n: {"litter_weight_kg": weight[:, i], "labour_min_per_litter": work[:, i]} for i, n in enumerate("abc")}
    )
    other = data.assign(case="May", litter_weight_kg=data["litter_weight_kg"].where(data["alternative"] != "a", 40.0))
    found = selecting.surely_dominated(pd.concat([data, other]), [WEIGHT, WORK])
    pairs = [(by, beaten) for by in range(3) for beaten in range(3) if by != beaten]
    p = [
        max(
            stats.ttest_rel(weight[:, beaten], weight[:, by], alternative="less").pvalue,
            stats.ttest_rel(work[:, beaten], work[:, by], alternative="greater").pvalue,
        )
        for by, beaten in pairs
    ]
    adjusted = dict(zip(pairs, multipletests(p, method="holm")[1], strict=True))
    july = found[found["case"] == "July"]
    assert july[["alternative", "dominated_by"]].to_numpy().tolist() == [["b", "a"], ["c", "a"]]
    assert july["p_holm"].tolist() == pytest.approx([adjusted[0, 1], min(adjusted[0, 2], adjusted[1, 2])])
    assert found[found["case"] == "May"][["alternative", "dominated_by"]].to_numpy().tolist() == [["c", "b"]]


def test_to_be_surely_dominated_takes_as_many_animals_as_other_differences():
    data = rooms_of(
        a={"litter_weight_kg": 50 + SPREAD / 9, "labour_min_per_litter": 9 - SPREAD / 9},
        b={"litter_weight_kg": 45 - SPREAD / 9, "labour_min_per_litter": 19 + SPREAD / 9},
    )
    rows = [len(selecting.surely_dominated(data, [WEIGHT, WORK], animals=n)) for n in (np.inf, 160, 159)]
    assert rows == [1, 1, 0]


def test_of_two_that_are_alike_in_all_neither_dominates():
    means = pd.DataFrame({WEIGHT.name: [3.0, 3.0, 2.0], WORK.name: [5.0, 5.0, 5.0]}, index=["a", "b", "c"])
    found = selecting.pareto(means, [WEIGHT, WORK])
    assert found["efficient"].tolist() == [True, True, False]
    assert found["dominated_by"].tolist() == ["", "", "a"]


# Quantiles


def test_quantiles_are_those_of_numpy_by_case_and_alternative_without_missing_rooms():
    first, second = np.arange(40.0) ** 2, np.r_[np.arange(39.0), np.nan]
    data = pd.concat(
        [rooms_of("July", b={WEIGHT.name: first}, a={WEIGHT.name: second}), rooms_of("May", b={WEIGHT.name: -first})]
    )
    found = selecting.quantiles(data, [WEIGHT], 0.25)
    assert found[["case", "alternative"]].to_numpy().tolist() == [["July", "b"], ["July", "a"], ["May", "b"]]
    expected = [np.quantile(each, 0.25, method="median_unbiased") for each in (first, second[:39], -first)]
    assert found["quantile"].tolist() == pytest.approx(expected)
    assert found["n"].tolist() == [40, 39, 40]
    assert found["q"].tolist() == [0.25] * 3
    assert found["unit"].tolist() == ["kg"] * 3
    narrower = selecting.quantiles(data, [WEIGHT], 0.25, confidence=0.5)
    width = [(table["ci_high"] - table["ci_low"]).iloc[0] for table in (narrower, found)]
    assert width[0] < width[1]
    assert found["n_needed"].iloc[0] == np.ceil(np.log(0.025) / np.log(0.75))
    assert narrower["n_needed"].iloc[0] == np.ceil(np.log(0.25) / np.log(0.75))


@pytest.mark.parametrize("q", [0.0, 1.0, -0.1, np.nan])
def test_a_quantile_lies_between_zero_and_one(q):
    with pytest.raises(farrowtide.UserError, match="between 0 and 1"):
        selecting.quantiles(rooms_of(a={WEIGHT.name: SPREAD}), [WEIGHT], q)


def test_the_worst_decile_has_the_confidence_that_is_asked_for():
    data = rooms_of(a={WEIGHT.name: np.arange(100.0), WORK.name: np.arange(100.0)})
    sure, less = (selecting.worst_decile(data, [WEIGHT, WORK, CLIMATE], confidence) for confidence in (0.95, 0.5))
    assert sure["output"].tolist() == [WEIGHT.name, WORK.name]
    assert sure["q"].tolist() == [0.1, 0.9]
    assert ((sure["ci_high"] - sure["ci_low"]) > (less["ci_high"] - less["ci_low"])).all()
    pd.testing.assert_frame_equal(selecting.worst_decile(data, [WEIGHT, WORK]), sure)


# Selection


def test_a_selection_takes_the_highest_or_the_lowest_as_the_output_says():
    random = np.random.default_rng(4)
    values = pd.DataFrame(random.normal(0, 0.1, size=(30, 2)) + np.array([5, 9]), columns=["low", "high"])
    for output, best in ((WEIGHT, "high"), (WORK, "low")):
        selection = selecting.Selection(["low", "high"], output, 1.0)
        assert selection.output is output
        selection.add(values)
        assert selection.best == best


def test_a_difference_far_below_what_matters_is_no_indifference():
    """A millionth of 0.5 kg is the least."""
    assert selecting.Selection(["a", "b"], WEIGHT, 5e-7).delta == 5e-7
    with pytest.raises(farrowtide.UserError, match=r"indifference = 4e-07: must be at least 5e-07 kg"):
        selecting.Selection(["a", "b"], WEIGHT, 4e-7)
    for delta in (0.0, -1.0):
        with pytest.raises(farrowtide.UserError, match="must be above 0 kg"):
            selecting.Selection(["a", "b"], WEIGHT, delta)


def test_a_selection_goes_by_the_confidence_and_the_first_stage_that_are_asked_for():
    values = pd.DataFrame(np.random.default_rng(5).normal(size=(10, 2)), columns=["a", "b"])
    short, long, sure = (
        selecting.Selection(["a", "b"], WEIGHT, 0.5, **options)
        for options in ({"first_stage": 10}, {"first_stage": 11}, {"first_stage": 10, "confidence": 0.99})
    )
    for selection in (short, long, sure):
        selection.add(values)
    assert long.ends_by is None
    assert sure.ends_by > short.ends_by

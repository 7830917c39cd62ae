"""Prices and margins: sums written out from the tables, identities, and where two alternatives change places."""

import math
import pickle
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
from scipy import stats

import farrowtide
from farrowtide import selecting
from farrowtide.analysis.break_even import CHANGE
from farrowtide.outputs.catalogue import money
from farrowtide.report.wording.money import may_cost
from farrowtide.scenarios.prices import Prices
from farrowtide.statistics.ratios import fieller_interval

pytestmark = pytest.mark.usefixtures("without_drawing")

PRICES = {
    "currency": "EUR",
    "weaned_piglet": 20.0,
    "weaned_kg": 3.0,
    "next_litter_piglet": 30.0,
    "feed_per_kg": 0.35,
    "hour_of_work": 22.0,
    "treatment": 9.0,
    "heating_per_kwh": 0.2,
    "dead_sow": 300.0,
    "empty_day": 2.5,
}
CHANGE_OF_FEEDERS = {"per_crate": 1200, "lasts_years": 8, "per_crate_and_year": 6, "once": 480, "training_hours": 12}
ROOM = {
    "title": "a tiny room",
    "start": "2026-01-12",
    "room": {"crates": 6},
    "loading": {"days_before_due": 4},
    "group": {"lactation_days": 21},
    "staff": {"shifts": [{"from": "07:00", "until": "16:00", "people": 2, "break": "60 min"}]},
    "alternatives": {
        "hand": {"feeding": {"kind": "hand", "times": ["07:00", "15:00"]}},
        "full access": {"feeding": {"kind": "full_access", "from_day": 0}, "prices.change": CHANGE_OF_FEEDERS},
    },
}


def priced(prices: dict, **keys) -> farrowtide.Scenario:
    return farrowtide.load(ROOM | {"prices": prices} | keys)


@pytest.fixture(scope="module")
def scenario() -> farrowtide.Scenario:
    return priced(PRICES)


@pytest.fixture(scope="module")
def run(scenario) -> farrowtide.Result:
    return farrowtide.run(scenario.alternative("full access"), replications=4, seed=5)


@pytest.fixture(scope="module")
def compared(scenario) -> farrowtide.Comparison:
    return farrowtide.compare(scenario, replications=160, seed=2)


def test_margin_of_each_room_is_that_of_a_spreadsheet(run):
    """Every amount is written out from the tables of the run, without the code that measures outputs."""
    for replicate in range(4):
        sows, days, piglets, tasks, rooms = (
            getattr(run, name).query(f"replicate == {replicate}")
            for name in ("sows", "sow_days", "piglets", "tasks", "rooms")
        )
        litters = int((sows["total_born"] > 0).sum())
        weaned = piglets[piglets["fate"] == "weaned"]
        treated = tasks[(tasks["kind"] == "treat sow") & tasks["done_h"].notna()]
        died = sows["left_as"].astype(str).str.startswith("died").sum()
        income = (20 * len(weaned) + 3 * weaned["weaning_weight_kg"].sum()) / litters
        next_litter = 30 * sows["next_total_born_change"].mean()
        feed = 0.35 * days["offered_kg"].sum() / litters
        work = 22 * tasks["minutes"].sum() / 60 / litters
        treatment = 9 * len(treated) / litters
        heating = 0.2 * rooms["heater_kwh"].sum() / litters
        dead_sow = 300 * died / litters
        empty = 2.5 * sows["weaning_to_oestrus_d"].mean()
        # A feeder for each of 6 crates, 480 for all of them and 12 hours of training at 22 an hour, over 8 years.
        change_a_year = 6 + 1200 / 8 + (480 + 12 * 22) / 6 / 8
        litters_a_crate = litters / 6 * 365 / (4 + 21 + 3)
        change = change_a_year / litters_a_crate
        margin = income + next_litter - feed - work - treatment - heating - dead_sow - empty - change
        cycle = sum(sows[part].mean() for part in ("gestation_length_d", "lactation_length_d", "weaning_to_oestrus_d"))
        expected = {
            "income_per_litter": income,
            "next_litter_worth_per_litter": next_litter,
            "feed_cost_per_litter": feed,
            "work_cost_per_litter": work,
            "treatment_cost_per_litter": treatment,
            "heating_cost_per_litter": heating,
            "dead_sow_cost_per_litter": dead_sow,
            "empty_day_cost_per_litter": empty,
            "change_cost_per_litter": change,
            "margin_per_litter": margin,
            "litters_per_crate_and_year": litters_a_crate,
            "litters_per_sow_and_year": 365 / cycle,
            "margin_per_crate_and_year": margin * litters_a_crate,
            "margin_per_sow_and_year": margin * 365 / cycle,
        }
        found = run.outputs.loc[replicate, list(expected)].to_dict()
        assert found == pytest.approx(expected, rel=1e-9, abs=1e-9)
        assert heating > 0  # January


def test_margin_is_income_less_all_parts_in_every_room(compared):
    rooms = compared.replicates
    costs = [name for name in rooms if name.endswith("_cost_per_litter")]
    assert len(costs) == 7  # no duty
    parts = rooms["income_per_litter"] + rooms["next_litter_worth_per_litter"] - rooms[costs].sum(axis=1)
    np.testing.assert_allclose(parts, rooms["margin_per_litter"], rtol=1e-12)


def test_a_full_room_turns_as_often_as_the_validation_page_says():
    """365 d over 4 + 21 + 3 d: the row "litters a crate and year" of the validation page, 13.036."""
    full = farrowtide.run(priced(PRICES).alternative("hand"), replications=20).outputs
    litters = farrowtide.run(priced(PRICES).alternative("hand"), replications=20).sows.groupby("replicate")
    all_farrowed = litters["total_born"].apply(lambda born: (born > 0).all()).to_numpy()
    assert all_farrowed.sum() > 10
    np.testing.assert_allclose(full["litters_per_crate_and_year"][all_farrowed], 365 / (4 + 21 + 3))
    assert full["litters_per_crate_and_year"][all_farrowed].iloc[0] == pytest.approx(13.036, abs=5e-4)


def test_hours_on_duty_are_those_of_the_roster_and_a_quiet_night_is_paid():
    """Two people from 07:00 to 16:00 less an hour are 16 h a day; a night of one person from 22:00 to 06:00 adds 8."""
    shifts = ROOM["staff"]["shifts"]
    night = {"from": "22:00", "until": "06:00", "people": 1, "break": "0 min"}
    prices = {"currency": "EUR", "hour_on_duty": 20.0}
    by_day, day_and_night = (
        farrowtide.run(priced(prices, staff={"shifts": some}).alternative("hand"), replications=2)
        for some in (shifts, [*shifts, night])
    )
    days = by_day.duty_hours.groupby("replicate")["days"].max().to_numpy()
    litters = by_day.sows.query("total_born > 0").groupby("replicate").size().to_numpy()
    np.testing.assert_allclose(by_day.outputs["duty_hours_per_litter"], 16 * days / litters)
    np.testing.assert_allclose(by_day.outputs["duty_cost_per_litter"], 20 * 16 * days / litters)
    more = day_and_night.outputs["duty_hours_per_litter"] - by_day.outputs["duty_hours_per_litter"]
    # Of the last night, only the two hours before the end of the last day count.
    np.testing.assert_allclose(more, (8 * days - 6) / litters)
    worked = day_and_night.work_hours.query("hour >= 22 or hour < 6").groupby("replicate")["minutes"].sum() / 60
    assert (worked < 8 * days - 6).all()


def test_prices_change_no_other_output(compared):
    feeding = {name: {"feeding": keys["feeding"]} for name, keys in ROOM["alternatives"].items()}
    plain = farrowtide.compare(farrowtide.load(ROOM | {"alternatives": feeding}), replications=40, seed=2).replicates
    first = compared.replicates.query("replicate < 40").reset_index(drop=True)
    pd.testing.assert_frame_equal(plain, first[plain.columns])


def test_doubling_all_prices_doubles_all_money(scenario, compared):
    doubled = {key: value if key == "currency" else 2 * value for key, value in PRICES.items()}
    in_money = ("per_crate", "per_crate_and_year", "once")  # an hour of training costs twice as much already
    change = {key: value * (2 if key in in_money else 1) for key, value in CHANGE_OF_FEEDERS.items()}
    dearer = ROOM["alternatives"] | {
        "full access": {"feeding": {"kind": "full_access", "from_day": 0}, "prices.change": change}
    }
    twice = farrowtide.compare(priced(doubled, alternatives=dearer), replications=20, seed=2).replicates
    once = compared.replicates.query("replicate < 20").reset_index(drop=True)
    names = [output.name for output in money.in_money(scenario.prices) if output.unit == "EUR"]
    assert len(names) == 12
    np.testing.assert_allclose(twice[names], 2 * once[names], rtol=1e-12)


def test_what_matters_is_worth_what_matters_most_unless_it_is_given(scenario):
    """0.05 piglets at 20 are 1.00, 0.5 kg weaned at 3 are 1.50, 0.05 of the next litter at 30 are 1.50, 0.005 dead sows too."""
    assert farrowtide.catalogue(scenario.prices)["margin_per_litter"].negligible == pytest.approx(1.5)
    given = farrowtide.catalogue(priced({**PRICES, "matters_per_litter": 4}).prices)
    assert given["margin_per_litter"].negligible == given["feed_cost_per_litter"].negligible == 4
    assert given["margin_per_crate_and_year"].negligible == pytest.approx(4 * 365 / 28)


def test_empty_days_count_as_different_from_twelve_days_of_one_sow_on(scenario):
    in_money = farrowtide.catalogue(scenario.prices)
    of_one = in_money["empty_day_cost_per_litter"].of_one_animal
    assert of_one == 12 * PRICES["empty_day"]
    assert in_money["empty_day_cost_per_litter"].tiny_among(2) == of_one / 2
    assert in_money["margin_per_litter"].of_one_animal == in_money["feed_cost_per_litter"].of_one_animal == 0
    cycle_d = 116 + 24 + 5
    later = 365 / cycle_d - 365 / (cycle_d + 12)
    assert in_money["litters_per_sow_and_year"].of_one_animal == pytest.approx(later, abs=0.01)


def test_margin_is_judged_first_and_only_things_with_a_price_have_a_part(compared):
    assert compared.outputs[0].name == "margin_per_litter"
    assert compared.outputs[0].group == "headline"
    assert "weaned_kg" in compared.outputs[0].note
    few = farrowtide.catalogue(priced({"currency": "EUR", "feed_per_kg": 0.35}, alternatives={}).prices)
    in_money = [name for name, output in few.items() if output.group == money.GROUP]
    assert "feed_cost_per_litter" in in_money
    assert "income_per_litter" not in in_money


@pytest.mark.parametrize("word", ["margin", "margin_per_sow_and_year", "feed cost", "income"])
def test_without_prices_a_margin_is_an_error_that_says_so(small_room, word):
    with pytest.raises(farrowtide.UserError, match="prices:"):
        farrowtide.compare(small_room, outputs=[word], replications=2)


def test_a_margin_can_be_aim_limit_and_study_output(scenario):
    swept = farrowtide.sweep(
        scenario, {"feeding": [{"kind": "hand", "times": ["07:00", "15:00"]}, {"kind": "full_access"}]}, replications=3
    )
    within = swept.best_within("margin", ["feed_cost_per_litter <= 1000"])
    assert all(within.best.values())
    assert not swept.pareto(["margin_per_litter", "labour"]).empty
    named = scenario.override({"study.outputs": ["margin_per_sow_and_year"]})
    assert farrowtide.compare(named, replications=2).outputs[0].name == "margin_per_sow_and_year"


def test_prices_can_be_varied(scenario):
    base = scenario.without_alternatives()
    swept = farrowtide.sweep(base, {"prices.feed_per_kg": [0.35, 0.7]}, replications=2, reference=None)
    costs = swept.table(swept.cases[0], ["feed_cost_per_litter"])["feed_cost_per_litter"].to_numpy()
    assert sorted(costs)[-1] == pytest.approx(2 * sorted(costs)[0])


def test_alternatives_that_count_other_things_are_refused(scenario):
    with pytest.raises(farrowtide.UserError, match="counts other things"):
        farrowtide.compare(
            scenario, {"a": {}, "b": {"prices.hour_of_work": 1, "prices.matters_per_litter": 3}}, replications=2
        )


def test_outputs_in_money_can_be_pickled(scenario):
    for output in farrowtide.catalogue(scenario.prices).values():
        assert pickle.loads(pickle.dumps(output)) == output


def test_a_study_in_money_can_be_resumed(scenario, tmp_path):
    whole = farrowtide.compare(scenario, replications=40, seed=1)
    farrowtide.compare(scenario, replications=20, seed=1, folder=tmp_path / "study")
    resumed = farrowtide.compare(scenario, replications=40, seed=1, folder=tmp_path / "study", resume=True)
    pd.testing.assert_frame_equal(whole.replicates, resumed.replicates)


def row_of(found: pd.DataFrame, of: str) -> pd.Series:
    return found[found["of"] == of].iloc[0]


def test_at_the_break_even_cost_of_change_margins_are_equal(scenario, compared):
    """The most that the feeders may cost is put in their place: the difference that is left is rounding."""
    change = row_of(compared.break_even, CHANGE)
    difference = compared.differences.set_index("output").loc["margin_per_crate_and_year"]
    assert change["now"] == pytest.approx(6 + 1200 / 8 + (480 + 12 * 22) / 6 / 8)
    assert change["break_even"] == pytest.approx(change["now"] + difference["difference"])
    assert change["ci_low"] == pytest.approx(change["now"] + difference["ci_low"])
    assert change["ci_high"] == pytest.approx(change["now"] + difference["ci_high"])
    assert change["ci_low"] < change["break_even"] < change["ci_high"]
    at = {**ROOM["alternatives"]["full access"], "prices.change": {"per_crate_and_year": change["break_even"]}}
    again = farrowtide.compare(
        scenario, {"hand": ROOM["alternatives"]["hand"], "full access": at}, replications=160, seed=2
    )
    left = again.differences.set_index("output").at["margin_per_crate_and_year", "difference"]
    assert left == pytest.approx(0, abs=1e-9)


def test_at_the_break_even_price_margins_are_equal(scenario, compared):
    """Each price in turn is put where the order turns, for both: the difference that is left is rounding."""
    turning = compared.break_even[compared.break_even["of"] != CHANGE].dropna(subset="break_even")
    assert "hour_of_work" in set(turning["of"])  # at which training is paid, too
    for row in turning.itertuples():
        assert row.now / 10 <= row.break_even <= 10 * row.now
        moved = scenario.override({f"prices.{row.of}": row.break_even})
        again = farrowtide.compare(moved, replications=160, seed=2, outputs=["margin_per_crate_and_year"])
        assert again.differences["difference"].item() == pytest.approx(0, abs=1e-6)


def made_up(rest: np.ndarray, feed_kg: np.ndarray, spent: float = 0.0, price: float = 0.5):
    """Rooms of an alternative that brings `rest` more and eats `feed_kg` more than the reference, a litter a year."""
    one = pd.DataFrame({"replicate": np.arange(len(rest)), "case": "c", "litters_per_crate_and_year": 1.0})
    others = {thing.quantity.name: 0.0 for thing in money.PRICED}
    base = one.assign(alternative="r", margin_per_crate_and_year=0.0, **others)
    eater = one.assign(alternative="a", margin_per_crate_and_year=rest - price * feed_kg, **others)
    eater["feed_offered_kg_per_litter"] = feed_kg
    prices = Prices("EUR", {"feed_per_kg": price, "weaned_kg": 2.0}, None, 0.0, 0.0, 28.0, 24, 21)
    dear = Prices("EUR", {"feed_per_kg": price, "weaned_kg": 2.0}, None, spent, 0.0, 28.0, 24, 21)
    table = pd.concat([base, eater], ignore_index=True)
    return selecting.break_even(table, {("c", "r"): prices, ("c", "a"): dear}, "r")


def test_piglets_are_paid_for_by_others_and_all_else_by_the_farm():
    """Two of each at a price of 3; work is measured in minutes and paid by the hour."""
    paid_for = {"weaned_piglet": 6, "weaned_kg": 6, "next_litter_piglet": 6, "hour_of_work": -0.1}
    for priced in money.PRICED:
        rooms = SimpleNamespace(prices=SimpleNamespace(given={priced.key: 3.0}))
        two = replace(priced, quantity=replace(priced.quantity, measure=lambda rooms: np.array([2.0])))
        assert two.worth(rooms) == pytest.approx(paid_for.get(priced.key, -6))


def test_break_even_by_hand():
    """It brings 10 more and eats 10 kg more at 0.5: 5 are left for the change, and feed may cost 1 a kg."""
    random = np.random.default_rng(1)
    noise = random.normal(0, 1, 200)
    found = made_up(10 + noise - noise.mean(), np.full(200, 10.0) + 0.1 * (noise - noise.mean()))
    assert row_of(found, CHANGE)["break_even"] == pytest.approx(5.0)
    feed = row_of(found, "feed_per_kg")
    assert feed["break_even"] == pytest.approx(1.0)
    assert feed["better"] == "below"
    assert set(found["of"]) == {CHANGE, "feed_per_kg"}  # it weans as much


@pytest.mark.parametrize(("more", "turns"), [(0.4, False), (0.6, True), (49.0, True), (51.0, False)])
def test_a_price_is_followed_from_a_tenth_to_ten_times_itself(more, turns):
    """With 10 kg more feed at 0.5 the order turns at `more` / 10, which must be from 0.05 to 5."""
    noise = np.random.default_rng(2).normal(0, 0.1, 100)
    feed = row_of(made_up(more + noise - noise.mean(), np.full(100, 10.0)), "feed_per_kg")
    assert math.isnan(feed["break_even"]) is not turns


def test_fieller_ends_are_where_a_t_test_just_rejects():
    """The definition (Fieller 1954), by SciPy's t test: at each end of the interval p is 0.05."""
    random = np.random.default_rng(3)
    above = random.normal(12, 4, 50)
    below = random.normal(5, 2, 50) + 0.3 * (above - 12)
    for end in fieller_interval(above, below):
        assert stats.ttest_1samp(above - end * below, 0).pvalue == pytest.approx(0.05, rel=1e-6)
    low, high = fieller_interval(above, below)
    assert stats.ttest_1samp(above - (low + high) / 2 * below, 0).pvalue > 0.05


def test_fieller_interval_is_near_that_of_the_bootstrap():
    random = np.random.default_rng(4)
    above = random.gamma(4, 3, 400)
    below = random.normal(5, 1, 400) + 0.1 * above
    drawn = stats.bootstrap(
        (above, below), lambda a, b, axis: a.mean(axis) / b.mean(axis), paired=True, rng=5, n_resamples=4000
    ).confidence_interval
    low, high = fieller_interval(above, below)
    assert low == pytest.approx(drawn.low, abs=0.1 * (high - low))
    assert high == pytest.approx(drawn.high, abs=0.1 * (high - low))


def test_fieller_interval_has_no_ends_where_the_denominator_may_be_zero():
    random = np.random.default_rng(6)
    assert all(map(math.isnan, fieller_interval(random.normal(5, 1, 30), random.normal(0.05, 1, 30))))


def test_fieller_interval_holds_as_often_as_it_says():
    """1,000 samples of 40 rooms: 95 % of the intervals hold the ratio, within z = 4."""
    random = np.random.default_rng(7)
    above = random.normal(6, 3, (1000, 40))
    below = random.normal(3, 1, (1000, 40)) + 0.2 * (above - 6)
    ends = [fieller_interval(*rooms) for rooms in zip(above, below, strict=True)]
    share = np.mean([low <= 2 <= high for low, high in ends])
    assert abs(share - 0.95) < 4 * math.sqrt(0.95 * 0.05 / 1000)


def test_sentences_say_what_it_may_cost(compared, tmp_path):
    (sentence,) = may_cost(compared)[compared.cases[0]]
    assert sentence.startswith("full access: ")
    assert " EUR a crate and year" in sentence
    report = compared.write_report(tmp_path).read_text()
    assert "What each may cost" in report
    assert (tmp_path / "break_even.csv").exists()


def test_without_prices_nothing_is_said_of_money(comparison):
    assert may_cost(comparison) == {}
    assert comparison.break_even.empty
    assert not set(comparison.differences["output"]) & {output.name for output in money.declared()}


def test_an_alternative_that_withholds_care_is_for_comparison_only(scenario):
    found = farrowtide.compare(scenario, {"hand": {}, "nobody": {"care": {"kind": "watch_only"}}}, replications=4)
    assert all("for comparison only" in sentence for sentence in may_cost(found)[found.cases[0]])

"""Names of outputs, amounts and limits as people type them, and how an output is explained."""

from dataclasses import replace

import pytest

import farrowtide
from farrowtide.errors import UserError
from farrowtide.outputs import parsing
from farrowtide.outputs.composition import computed_from
from farrowtide.outputs.output import Output
from farrowtide.outputs.parsing import Limit, limit, output_named
from farrowtide.scenarios.prices import Prices


def named(name, group="further", unit="kg"):
    return Output(name, unit, name.replace("_", " ").capitalize(), lambda rooms: rooms, group=group)


OUTPUTS = [
    named("litter_weight", "headline"),
    named("litter_gain", "headline"),
    named("litter_gain_p1", "by parity"),
    named("weight_loss", "headline"),
    named("water_intake"),
    named("water_intake_p1", "by parity"),
    named("water_intake_p2", "by parity"),
    named("feed_p1", "by parity"),
    named("backfat_loss"),
    named("backfat_gain"),
]


@pytest.mark.parametrize(
    ("word", "name"),
    [
        ("litter_gain_p1", "litter_gain_p1"),
        (" Litter  Gain\t", "litter_gain"),  # a whole name, in words
        ("gain", "litter_gain"),  # the only headline, though others hold it
        ("intake", "water_intake"),  # the only one of all sows
        ("feed", "feed_p1"),  # the only one at all
        ("WATER-INTAKE-P2", "water_intake_p2"),
    ],
)
def test_a_word_means_the_only_headline_or_the_only_one_of_all_sows_or_the_only_one(word, name):
    assert output_named(word, OUTPUTS).name == name


@pytest.mark.parametrize(
    ("word", "message"),
    [
        ("litter", "'litter' can mean several outputs: litter_weight, litter_gain"),  # headlines alone
        (" backfat ", "'backfat' can mean several outputs: backfat_loss, backfat_gain"),
        ("p1", "'p1' can mean several outputs: litter_gain_p1, water_intake_p1, feed_p1"),
        ("income", "'income' has no price: outputs in money need the section `prices:` in the scenario"),
        ("feed cost", "'feed cost' has no price"),
        ("backfat_lose", r"no output is called 'backfat_lose' \(see `farrowtide outputs`\)\. Did you mean 'backfat_lo"),
        ("watr", "Did you mean 'water'?"),
        ("xyzzy", r"no output is called 'xyzzy' \(see `farrowtide outputs`\)\.$"),
        ("", r"no output is called '' \(see `farrowtide outputs`\)\.$"),
    ],
)  # fmt: skip
def test_a_word_that_means_several_or_none_is_answered(word, message):
    with pytest.raises(UserError, match=message):
        output_named(word, OUTPUTS)


def test_money_has_a_price_only_where_the_scenario_gives_one():
    priced = farrowtide.catalogue(Prices("EUR", {"feed_per_kg": 0.3}, None, 0.0, 0.0, 28.0, 6, 21)).values()
    assert output_named("feed cost", priced).name == "feed_cost_per_litter"
    assert output_named("margin", priced).name == "margin_per_litter"
    with pytest.raises(UserError, match="'treatment cost' has no price"):
        output_named("treatment cost", priced)


def test_numbers_are_read_with_what_they_are_called():
    assert parsing.number(" -2.5e1 ", whole_text="x", what="it") == -25
    assert parsing.above_zero("0.001", whole_text="x", what="it") == 0.001
    for text, message in (("0", "'x=0': it must be above 0"), ("-1", "must be above 0"), ("inf", "must be finite"),
                          (" much ", "'x= much ': it must be a number, not 'much'")):  # fmt: skip
        with pytest.raises(UserError, match=message):
            parsing.above_zero(text, whole_text=f"x={text}", what="it")


def test_amounts_are_in_the_order_in_which_they_are_given_and_named_with_their_unit():
    given = {"what": "the margin", "example": "gain=0.1"}
    found = parsing.amounts(["gain=0.1", "water_intake = 2"], iter(OUTPUTS), **given)
    assert list(found.items()) == [("litter_gain", 0.1), ("water_intake", 2.0)]
    for texts, message in (
        (["gain"], "'gain': write an output and the margin, for example gain=0.1"),
        (["gain=0"], r"'gain=0': the margin \[kg\] must be above 0"),
        (["gain=1", "litter gain=2"], "'litter gain=2': litter_gain is given twice"),
    ):
        with pytest.raises(UserError, match=message):
            parsing.amounts(texts, OUTPUTS, **given)


def test_a_limit_is_told_as_written_or_in_us_units():
    loss = limit("weight loss >= 20", OUTPUTS)
    assert loss == Limit(OUTPUTS[3], ">=", 20.0)
    assert loss.shown("si") == str(loss) == "weight_loss >= 20"
    assert loss.shown("us") == "weight loss >= 44.1 lb"  # of 0.45359237 kg
    assert loss.shown("us:temperature") == "weight_loss >= 20"
    minutes = limit("work<=110.5", [named("work", unit="min")])
    assert (minutes.sense, minutes.shown("us")) == ("<=", "work <= 110.5")
    assert limit("gain \N{GREATER-THAN OR EQUAL TO} 0.5", OUTPUTS) == Limit(OUTPUTS[1], ">=", 0.5)
    with pytest.raises(UserError, match=r"'gain <= much': the limit \[kg\] must be a number, not 'much'"):
        limit("gain <= much", OUTPUTS)


# --- Explanations ---


def test_an_output_is_explained_with_its_direction_and_what_matters():
    assert farrowtide.explain("weaned_per_litter").splitlines()[:3] == [
        "weaned_per_litter [piglets]: output: Piglets weaned per litter (headline)",
        "  direction higher is better",
        "  matters   differences of 0.05 piglets or more (a choice of this project)",
    ]
    moved = farrowtide.explain("piglets_moved_percent").splitlines()
    assert moved[1] == "  direction neither is better"
    assert moved[3].startswith("  evidence  Counts every move")
    assert farrowtide.explain("weaned") == farrowtide.explain("weaned_per_litter")


def test_an_output_in_money_is_explained_without_a_scenario():
    told = farrowtide.explain("margin_per_litter").splitlines()
    assert told == [
        "margin_per_litter [currency]: output: Margin per litter (headline)",
        "  direction higher is better",
        "  matters   differences of prices.matters_per_litter or more (`farrowtide explain prices.matters_per_litter`)",
    ]


def test_a_name_of_nothing_is_answered_for_keys_and_outputs_and_a_path_for_keys_alone():
    with pytest.raises(UserError, match=r"There is no key 'xyzzy'\..* Among the outputs, no output is called 'xyzzy'"):
        farrowtide.explain("xyzzy")
    with pytest.raises(UserError, match=r"There is no key 'room\.crats'") as error:
        farrowtide.explain("room.crats")
    assert "output" not in str(error.value)


# --- What an output is made of ---


@pytest.mark.parametrize(
    ("name", "made_of"),
    [
        ("weaned_per_litter", "sum(all_sows.weaned), rows where(sows); by sows.total_born"),
        ("feed_intake_p1_kg_per_day", "mean(sows.feed_intake_kg_per_day); by sows.parity"),
        ("farrowing_duration_median_min", "median(sows.farrowing_duration_min)"),
        ("stillborn_percent", "sum(sows.total_born), sum(sows.stillborn)"),
        ("tasks_late_percent", "rows where(tasks), rows(tasks); by tasks.outcome"),
        ("labour_wean_min_per_litter", "sum(tasks.minutes), rows where(sows); by tasks.kind, sows.total_born"),
        ("feed_delay_h", "sum where(tasks), rows where(tasks); by tasks.done_h, tasks.asked_h, tasks.kind"),
        ("staff_utilisation_percent", "sum(work_hours.minutes), sum(duty_hours.on_duty_min)"),
    ],
)  # fmt: skip
def test_an_output_names_its_sums_and_by_which_columns_rows_are_chosen(name, made_of):
    assert computed_from(farrowtide.catalogue()[name]) == made_of


def test_a_cost_is_made_of_what_has_a_price():
    prices = Prices("EUR", {"feed_per_kg": 0.3}, None, 0.0, 0.0, 28.0, 6, 21)
    cost = farrowtide.catalogue(prices)["feed_cost_per_litter"]
    assert "sum(sow_days.offered_kg)" in computed_from(cost, prices)
    assert "sow_days" not in computed_from(cost)


def test_an_output_that_reads_nothing_is_made_of_nothing():
    assert computed_from(replace(OUTPUTS[0], measure=lambda rooms: rooms.count)) == ""

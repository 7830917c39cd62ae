"""The records of a simulated farm are the run's own numbers, in the layout of the schemas."""

import numpy as np
import pandas as pd
import pytest

import farrowtide
from farrowtide.records import simulated
from farrowtide.records.layout import layout

TABLES = ["sows", "sow_days", "piglets"]


@pytest.fixture(scope="module")
def room(small_room):
    scenario = small_room.alternative("2 hand feeds")
    return farrowtide.run(scenario, replications=30, seed=2, record=TABLES)


@pytest.fixture(scope="module")
def records(room):
    return simulated(room, room.scenario)


def test_tables_have_exactly_the_columns_and_types_of_the_layout(records):
    for name, table in (("farrowings", records.farrowings), ("days", records.days)):
        columns = layout(name).columns
        assert list(table) == list(columns)
        assert [str(kind) for kind in table.dtypes] == [column.dtype for column in columns.values()]


def test_numbers_are_those_of_the_run(room, records):
    sows = room.sows[(room.sows["nurse"] == 0) & room.sows["farrowing_start_h"].notna()]
    farrowings = records.farrowings
    assert len(farrowings) == len(sows)
    for ours, theirs in (
        ("parity", "parity"),
        ("born_alive", "born_alive"),
        ("stillborn", "stillborn"),
        ("died", "died_before_weaning"),
        ("moved_in", "piglets_moved_in"),
        ("moved_out", "piglets_moved_out"),
        ("weaned", "weaned"),
    ):
        assert farrowings[ours].tolist() == sows[theirs].tolist(), ours
    weaned = sows["left_as"].isin(["weaned", "weaned late"])
    lactation_d = (farrowings["weaned_on"] - farrowings["farrowed_on"]).dt.days
    assert lactation_d.dropna().tolist() == sows.loc[weaned, "lactation_length_d"].tolist()


def test_every_litter_adds_up(records):
    litter = records.farrowings
    nursed = litter["born_alive"] + litter["moved_in"] - litter["moved_out"] - litter["died"]
    assert (nursed == litter["weaned"]).all()


def test_dates_follow_from_the_start(room, records):
    loaded = records.farrowings["loaded_on"]
    assert (loaded == pd.Timestamp(room.scenario.start)).all()
    days = records.days.merge(records.farrowings, on="sow", how="left", validate="many_to_one")
    assert (days["date"] >= days["loaded_on"]).all()
    assert ((days["date"] < days["weaned_on"]) | days["weaned_on"].isna()).all()


def test_feed_is_that_of_the_days(room, records):
    eaten = records.days.groupby("sow", sort=False)["eaten_kg"].sum()
    counted = room.sow_days.groupby(["replicate", "sow"], sort=False)["eaten_kg"].sum()
    ours = pd.Series({f"R{replicate + 1}-{sow}": kg for (replicate, sow), kg in counted.items()})
    np.testing.assert_allclose(eaten.astype(float), ours[eaten.index], atol=0.005 * 40)


def test_a_farm_of_several_groups_is_loaded_group_by_group(meals_file):
    farm = farrowtide.load(meals_file).override({"room.crates": 3, "farm": {"groups": 3, "group_every": 7, "rooms": 5}})
    result = farrowtide.run(farm, replications=1, seed=1, record=TABLES)
    records = simulated(result, farm)
    loaded = records.farrowings.groupby("group", sort=False)["loaded_on"].unique()
    assert [len(dates) for dates in loaded] == [1, 1, 1]
    assert np.diff([dates[0] for dates in loaded]).tolist() == [np.timedelta64(7 * 86400, "s")] * 2
    assert records.farrowings["group"].is_monotonic_increasing


def test_a_table_that_was_not_recorded_is_an_error(small_room):
    scenario = small_room.alternative("2 hand feeds")
    result = farrowtide.run(scenario, record=["sows"])
    with pytest.raises(farrowtide.UserError, match="sow_days"):
        simulated(result, scenario)

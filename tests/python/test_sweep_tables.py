"""The tables and curves of sweeps and comparisons, from a few rooms that are written down here."""

import math
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pyarrow as pa
import pytest
from scipy import stats

import farrowtide
from farrowtide.analysis import sweep
from farrowtide.analysis.by_key import Axis, Series, axes_of, series_of
from farrowtide.analysis.climate import drawn_alike, temperature_curves
from farrowtide.analysis.intake import intake_curves
from farrowtide.analysis.sweep import Sums, SweepTables
from farrowtide.outputs.catalogue import catalogue

INTAKE, LABOUR = (catalogue()[name] for name in ("feed_intake_kg_per_day", "labour_min_per_litter"))
OUTPUTS = [INTAKE, LABOUR]
NAMES = [output.name for output in OUTPUTS]


# --- By key ---


@pytest.mark.parametrize(
    ("key", "name"),
    [
        ("fostering.max_moved", "max moved"),
        ("fostering.window.until", "window until"),
        ("room.crates", "room crates"),
        ("staff.busy_time.most", "busy time most"),
        ("crates", "crates"),
    ],
)
def test_an_axis_is_named_by_the_end_of_its_key(key, name):
    assert Axis(key, []).name == name


def test_axes_have_their_values_in_the_order_given():
    alternatives = {"as written": {}, "b": {"y": 5, "x": "two"}, "a": {"y": 3, "x": "two"}, "c": {"y": 5, "x": "one"}}
    assert axes_of(SimpleNamespace(alternatives=alternatives)) == [Axis("y", [5, 3]), Axis("x", ["two", "one"])]


def test_a_series_is_told_from_where_on_nothing_changes():
    """Along x from 1 to 3: all equal at y = 5, the last two equal at y = 6, the first and the last equal at y = 7."""
    rooms = {5: [(1, 2), (1, 2), (1, 2)], 6: [(9, 2), (1, 2), (1, 2)], 7: [(1, 2), (1, 3), (1, 2)]}
    alternatives = {"as written": {}} | {f"x{x} y{y}": {"x": x, "y": y} for x in (1, 2, 3) for y in (7, 6, 5)}
    rows = [
        {"case": case, "alternative": f"x{x} y{y}", "replicate": i, "out": value + (case == "other") * x}
        for case in ("other", "c")
        for y, by_x in rooms.items()
        for x, values in enumerate(by_x, 1)
        for i, value in enumerate(values)
    ]
    table = pd.DataFrame(rows)
    found = SimpleNamespace(alternatives=alternatives, replicates=lambda outputs: table)
    assert series_of(found, "c", ["out"]) == [
        Series((0,), ["x1 y7", "x2 y7", "x3 y7"], 2),
        Series((1,), ["x1 y6", "x2 y6", "x3 y6"], 1),
        Series((2,), ["x1 y5", "x2 y5", "x3 y5"], 0),
    ]
    assert [series.same_from for series in series_of(found, "other", ["out"])] == [2, 2, 2]


# --- The rooms and means of a sweep ---


ALTERNATIVES = {"as written": {}, "few": {"k": 1}, "many": {"k": 2}}
ROOMS = [
    # case, alternative, replicate, intake, labour
    ("d", "few", 1, 5.0, 90.0), ("d", "few", 0, 4.0, 80.0), ("c", "many", 0, 7.0, 60.0), ("c", "many", 1, 8.0, 70.0),
    ("d", "as written", 0, 6.0, 70.0), ("d", "as written", 1, 6.5, 75.0), ("c", "few", 0, 5.0, 100.0),
    ("c", "few", 1, 6.0, 110.0), ("c", "as written", 1, 6.0, 90.0), ("c", "as written", 0, 5.5, 85.0),
    ("d", "many", 1, 7.0, 60.0), ("d", "many", 0, 6.0, 50.0),
]  # fmt: skip
LABELS = ["case", "alternative", "replicate"]


def swept(rows=ROOMS):
    table = pd.DataFrame(rows, columns=[*LABELS, *NAMES])
    means = table.groupby(LABELS[:2])[NAMES].mean().reset_index().melt(LABELS[:2], var_name="output", value_name="mean")
    return SweepTables(
        scenario=SimpleNamespace(prices=None), reference="as written", cases=["d", "c"], alternatives=ALTERNATIVES,
        outputs=OUTPUTS, seed=1, wanted_replications=2, replications=2, litters_per_replication=24, interrupted=False,
        precision=None, means=means, differences=pd.DataFrame(), folder=None, study_hash="",
        rooms=pa.Table.from_pandas(table), provenance={},
    )  # fmt: skip


def test_rooms_are_in_the_order_of_cases_alternatives_and_replicates():
    rooms = swept().replicates([LABOUR.name])
    assert list(rooms.columns) == [*LABELS, LABOUR.name]
    order = [(case, name, i) for case in ("d", "c") for name in ALTERNATIVES for i in (0, 1)]
    assert list(rooms[LABELS].itertuples(index=False, name=None)) == order
    assert list(rooms[LABOUR.name]) == [70, 75, 80, 90, 50, 60, 85, 90, 100, 110, 60, 70]


@pytest.mark.parametrize("foreign", [ROOMS[0], ("d", "none", 0, 1.0, 1.0), ("e", "few", 0, 1.0, 1.0)])
def test_rooms_that_stand_twice_or_are_of_something_else_are_refused(foreign):
    with pytest.raises(farrowtide.UserError, match="files that are not this study's"):
        swept([*ROOMS, foreign]).replicates(NAMES)


def test_the_means_of_a_case_stand_in_the_order_of_the_alternatives():
    table = swept().table("c", [LABOUR.name, INTAKE.name])
    assert list(table.index) == list(ALTERNATIVES)
    assert list(table.columns) == [LABOUR.name, INTAKE.name]
    assert table.to_numpy().tolist() == [[87.5, 5.75], [105, 5.5], [65, 7.5]]


def test_the_efficient_alternatives_are_those_of_the_first_case_or_of_the_one_named():
    """In d "many" costs less work and sows eat more than under "few"; as written they eat less than 6.5 and it costs more."""
    assert swept().pareto([INTAKE.name, LABOUR.name]).query("efficient").index.to_list() == ["many"]
    rows = [row for row in ROOMS if row[:2] != ("c", "many")] + [("c", "many", i, 5.0, 60.0) for i in (0, 1)]
    assert set(swept(rows).pareto(NAMES, "c").query("efficient").index) == {"many", "as written"}
    assert swept(rows).pareto(NAMES).query("efficient").index.to_list() == ["many"]


def test_the_best_within_limits_is_found_in_every_case():
    within = swept().best_within("intake", ["labour_min_per_litter <= 88"])
    assert within.best == {"d": "many", "c": "many"}
    assert swept().best_within("labour", ["intake <= 6"]).best == {"d": "few", "c": "as written"}


def block(arm, first, values):
    table = pa.table(
        {
            "case": ["c"] * len(values), "alternative": [arm] * len(values), "replicate": range(first, first + len(values)),
            INTAKE.name: [float(value) for value in values], LABOUR.name: [10.0 * value for value in values],
            "kept": [[{"x": 1}]] * len(values),
        }
    )  # fmt: skip
    return table.replace_schema_metadata({b"conservation_checks_passed": b"7"})


def study():
    return SimpleNamespace(
        cases=["c"], names=["a", "b"], reference="a", outputs=OUTPUTS, litters_per_replication=160,
        scenario=SimpleNamespace(unit_of_replication="farm"),
    )  # fmt: skip


@pytest.mark.parametrize("blocks", [1, 2, 3, 6])  # of two tables each: below, at and above what is joined at once
def test_every_room_of_every_block_is_kept_once(blocks, monkeypatch):
    monkeypatch.setattr(sweep, "_JOINED_AT", 4)
    sums = Sums(study(), keeps_rooms=True)
    for i in range(blocks):
        sums.add([block("a", 2 * i, [1.0, 2.0]), block("b", 2 * i, [3.0, 2.0 + i])])
    rooms = sums.rooms().to_pandas()
    assert (sums.replications, sums.checks, len(rooms)) == (2 * blocks, 14 * blocks, 4 * blocks)
    assert list(rooms.columns) == [*LABELS, *NAMES]
    of_b = rooms[rooms["alternative"] == "b"]
    assert list(of_b["replicate"]) == list(range(2 * blocks))
    assert list(of_b[INTAKE.name]) == [value for i in range(blocks) for value in (3.0, 2.0 + i)]


def test_without_rooms_the_sums_make_the_tables():
    sums = Sums(study(), keeps_rooms=False)
    rooms = {"a": [1.0, 2.0, 3.0, 1.0, 2.0, 3.0], "b": [4.0, 5.5, 7.0, 4.5, 5.0, 6.0]}
    for first in (0, 3):
        sums.add([block(arm, first, values[first : first + 3]) for arm, values in rooms.items()])
    assert sums.rooms() is None
    means, differences = sums.tables()
    assert "unit" not in means
    assert means.set_index(["alternative", "output"])["mean"].to_dict() == pytest.approx(
        {("a", INTAKE.name): 2, ("a", LABOUR.name): 20, ("b", INTAKE.name): 32 / 6, ("b", LABOUR.name): 320 / 6}
    )
    row = differences.set_index("output").loc[INTAKE.name]
    pairs = np.subtract(rooms["b"], rooms["a"])
    assert (row["alternative"], row["n"], row["difference"]) == ("b", 6, pytest.approx(pairs.mean()))
    t = stats.t.interval(0.95, 5, loc=pairs.mean(), scale=stats.sem(pairs))
    assert row["ci_low"] <= t[0] + 1e-9
    assert row["ci_high"] >= t[1] - 1e-9


# --- Curves by day ---


def test_a_curve_of_intake_ends_where_fewer_than_half_of_the_sows_are_left():
    """Of 8 sows 4 are left on day 2 and 3 on day 3. Six rooms: the mean and Student's interval of symmetric values."""
    spread = np.array([-1.0, -0.5, -0.25, 0.25, 0.5, 1.0])
    rows = [
        {
            "case": case, "alternative": "a", "parity_class": "P1", "replicate": i, "day": day, "eaten_kg": 4 + day + spread[i],
            "sows": sows[i],
        }
        for case in ("d", "c")
        for day, sows in ((3, [3, 0, 0, 0, 0, 0]), (1, [3, 1, 1, 1, 1, 1]), (2, [4, 0, 0, 0, 0, 0]))
        for i in range(6)
    ]  # fmt: skip
    curves = intake_curves(pd.DataFrame(rows))
    assert list(curves["case"]) == ["d", "d", "c", "c"]
    assert list(curves.index) == [0, 1, 2, 3]
    assert set(curves["alternative"]) == {"a"}
    assert set(curves["parity_class"]) == {"P1"}
    assert list(curves["day"]) == [1, 2, 1, 2]
    assert curves["eaten_kg"].to_list() == pytest.approx([5, 6, 5, 6])
    low, high = stats.t.interval(0.95, 5, loc=5, scale=stats.sem(spread))
    assert (curves.at[0, "ci_low"], curves.at[0, "ci_high"]) == pytest.approx((low, high))
    assert (curves["n"] == 6).all()


def test_a_curve_of_temperature_has_means_and_deciles_of_the_rooms():
    days = pd.DataFrame(
        {
            "case": "c", "alternative": "a", "replicate": range(11), "group_day": -4, "wanted_deg_c": [20.0] * 10 + [31.0],
            "reached_deg_c": np.arange(10.0, 21.0),
        }
    )  # fmt: skip
    (row,) = temperature_curves(days).to_dict(orient="records")
    assert row == {
        "case": "c", "alternative": "a", "group_day": -4, "wanted_deg_c": pytest.approx(21), "reached_deg_c": 15,
        "p10_deg_c": pytest.approx(11), "p90_deg_c": pytest.approx(19),
    }  # fmt: skip


def test_curves_of_temperature_keep_the_order_of_the_alternatives():
    days = pd.DataFrame(
        {
            "case": "c",
            "alternative": ["b", "a"],
            "replicate": 0,
            "group_day": 0,
            "wanted_deg_c": 20.0,
            "reached_deg_c": 21.0,
        }
    )
    assert list(temperature_curves(days)["alternative"]) == ["b", "a"]


def curves_of(**reached):
    rows = [
        ("c", name, day, 20.0, deg) for name, temperatures in reached.items() for day, deg in enumerate(temperatures)
    ]
    table = pd.DataFrame(rows, columns=["case", "alternative", "group_day", "wanted_deg_c", "reached_deg_c"])
    return table.dropna()


def test_curves_are_alike_within_half_a_degree_on_the_same_days():
    """b is half a degree off on one day, c more, d has one day less, and e is not there."""
    curves = curves_of(a=[20.0, 21.0], b=[20.5, 21.0], c=[20.0, 21.625], d=[20.0, math.nan], f=[20.5, math.nan])
    alike = drawn_alike(curves, ["a", "e", "d", "c", "b", "f"])
    assert alike == {"a": ["a", "b"], "d": ["d", "f"], "c": ["c"]}
    assert list(alike) == ["a", "d", "c"]
    assert drawn_alike(curves, ["b", "a"]) == {"b": ["b", "a"]}

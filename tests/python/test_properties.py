"""Properties of runs and studies that hold for any scenario: hypothesis draws what may differ, the bytes say whether it did.

Relations between two runs of one random scenario are in `tests/soak/metamorphic.py`; here are those that take a file, a
whole study, or a room in which it is known what a cause can reach.
"""

import json
import shutil
from concurrent.futures import ThreadPoolExecutor

import numpy as np
import pytest
import yaml
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from metamorphic import columns, differing, rows
from random_scenarios import scenarios
from study_victim import ALTERNATIVES

import farrowtide
from farrowtide import ScenarioError
from farrowtide.engine.result import TABLES


def some(examples):
    """So many examples, the same in every run."""
    return settings(
        max_examples=examples, derandomize=True, deadline=None, database=None, suppress_health_check=list(HealthCheck)
    )


def loaded(given):
    """A random scenario; one of eight is refused, which is tested elsewhere."""
    try:
        return farrowtide.load(given)
    except ScenarioError:
        assume(False)


# --- the same scenario, written in another way -------------------------------------------------------------------------


@some(12)
@given(drawn=scenarios(), written=st.sampled_from([yaml.safe_dump, json.dumps]))
def test_a_file_and_a_mapping_give_the_same_bytes(tmp_path_factory, drawn, written):
    mapping = loaded(drawn)
    file = tmp_path_factory.mktemp("files") / "scenario.yaml"
    file.write_text(written(drawn), encoding="utf-8")
    assert differing(rows(farrowtide.load(file)), rows(mapping)) is None


@some(12)
@given(
    warm_deg_f=st.integers(500, 1000).map(lambda tenths: tenths / 10),
    sow_lb=st.integers(3000, 7000).map(lambda tenths: tenths / 10),
    trough_lb=st.integers(3, 26),
)
def test_degrees_fahrenheit_and_pounds_give_the_bytes_of_metric_units(warm_deg_f, sow_lb, trough_lb):
    """By definition: 1 lb is 0.45359237 kg (the international yard and pound, 1959), 0 degC is 32 degF, 5 K are 9 degF."""

    def kg(lb):
        return lb * 45359237 / 1e8

    def room(temperature, weight, trough):
        return rows(
            farrowtide.load(
                {
                    "title": "t",
                    "room": {"crates": 2, "trough_capacity": trough},
                    "climate": {"kind": "imposed", "temperature": temperature},
                    "herd": {"every_sow": {"weight": weight}},
                }
            )
        )

    us = room(f"{warm_deg_f} degF", f"{sow_lb} lb", f"{trough_lb} lb")
    metric = room((warm_deg_f - 32) * 5 / 9, kg(sow_lb), f"{kg(trough_lb)!r} kg")
    assert differing(us, metric) is None


# --- studies -----------------------------------------------------------------------------------------------------------

STUDY = ("replicates", "differences", "means")
THREE = {name: ALTERNATIVES[name] for name in sorted(ALTERNATIVES)[:3]}


def studied(alternatives=THREE, replications=25, reference="1 feeds, at most 8 kg", **options):
    scenario = farrowtide.load({"title": "t", "room": {"crates": 2}})
    return farrowtide.compare(scenario, alternatives, reference=reference, replications=replications, seed=5, **options)


def in_one_order(frame):
    """Rows by what they are about, so that tables can be compared whatever their order."""
    keys = [name for name in ("case", "alternative", "output", "replicate") if name in frame]
    return frame.sort_values(keys, ignore_index=True)


def assert_same(one, other):
    for name in STUDY:
        found, expected = (in_one_order(getattr(study, name)) for study in (one, other))
        assert found.equals(expected), name


@pytest.fixture(scope="module")
def study(tmp_path_factory):
    """One study, at one go, with its folder."""
    folder = tmp_path_factory.mktemp("study") / "study"
    return studied(folder=folder, threads=1), folder


@some(4)
@given(names=st.permutations(list(THREE)))
def test_the_order_of_alternatives_changes_no_number(study, names):
    assert_same(studied({name: THREE[name] for name in names}), study[0])


@some(4)
@given(fewer=st.integers(1, 24))
def test_more_replications_leave_those_before_them_as_they_were(study, fewer):
    """25 are a block of 20 and one of 5."""
    first = study[0].replicates[study[0].replicates["replicate"] < fewer]
    assert in_one_order(studied(replications=fewer).replicates).equals(in_one_order(first))


@some(4)
@given(changes=st.sampled_from([{}, *THREE.values()]), replications=st.integers(2, 25))
def test_identical_alternatives_differ_by_nothing_and_are_warned_of(changes, replications):
    with pytest.warns(farrowtide.PlausibilityWarning) as told:
        twins = studied({"one": changes, "its twin": changes}, replications, reference="one")
    differences = twins.differences
    known = differences[differences["n"] > 0]
    assert len(known) > 20
    assert (known["difference"] == 0).all()
    assert "identical alternatives" in {getattr(warning.message, "kind", "") for warning in told}


@some(4)
@given(threads=st.integers(1, 3), workers=st.integers(0, 3))
def test_threads_and_executors_change_no_byte(study, threads, workers):
    if workers == 0:
        assert_same(studied(threads=threads), study[0])
    else:
        with ThreadPoolExecutor(workers) as pool:
            assert_same(studied(executor=pool), study[0])


@some(4)
@given(data=st.data())
def test_a_study_resumed_from_any_of_its_blocks_is_the_study(study, tmp_path_factory, data):
    """The engine has no clone of a room to go on with; what a study goes on with is its finished blocks."""
    whole, folder = study
    here = tmp_path_factory.mktemp("resumed") / "study"
    shutil.copytree(folder, here)
    blocks = sorted(file.name for file in (here / "blocks").iterdir())
    for name in data.draw(st.lists(st.sampled_from(blocks), min_size=1, unique=True)):
        (here / "blocks" / name).unlink()
    assert_same(studied(folder=here, resume=True), whole)
    for file in sorted((folder / "blocks").iterdir()):
        assert (here / "blocks" / file.name).read_bytes() == file.read_bytes()


@some(6)
@given(drawn=scenarios(), cut=st.integers(1, 3), threads=st.integers(1, 3))
def test_replicates_are_the_same_however_a_run_is_cut(drawn, cut, threads):
    scenario = loaded(drawn)
    whole = rows(scenario, replications=4, threads=threads)
    parts = rows(scenario, replications=cut), rows(scenario, replications=4 - cut, first=cut)
    joined = {
        table: {name: np.concatenate([part[table][name] for part in parts]) for name in whole[table]} for table in whole
    }
    assert differing(whole, joined) is None


# --- a world that differs in one thing ---------------------------------------------------------------------------------

OF_SOWS = ("sows", "sow_days", "piglets")


def apart(sows, **keys):
    """A room in which no sow is anything to another one: climate imposed, nobody fostered, staff for everything at once."""
    return {
        "title": "t",
        "room": {"crates": len(sows)},
        "climate": {"kind": "imposed", "temperature": 22},
        "herd": {"sows": sows},
        "fostering": {"kind": "none"},
        "staff": {
            "shifts": [
                {"from": "00:00", "until": "12:00", "people": 50},
                {"from": "12:00", "until": "00:00", "people": 50},
            ]
        },
        **keys,
    }


def of_others(tables, sow):
    """Rows of all sows but one."""
    return {
        name: {column: values[table["sow"] != sow] for column, values in table.items()}
        for name, table in tables.items()
    }


def run_apart(sows, **keys):
    return rows(farrowtide.load(apart(sows, **keys)), record=TABLES)


@some(8)
@given(
    sows=st.integers(2, 4),
    changed=st.integers(0, 3),
    trait=st.one_of(
        st.fixed_dictionaries({"weight": st.integers(150, 300)}), st.fixed_dictionaries({"backfat": st.integers(8, 30)})
    ),
)
def test_what_one_sow_weighs_reaches_no_other(sows, changed, trait):
    """What changes the work for her would reach them: people are where they are needed, and not elsewhere."""
    plain = [{"parity": 2, "total_born": 13, "weight": 220, "backfat": 16, "farrows_on_day": 5} for _ in range(sows)]
    other = [{**sow, **(trait if number == changed % sows else {})} for number, sow in enumerate(plain)]
    here, there = ({name: tables[name] for name in OF_SOWS} for tables in (run_apart(plain), run_apart(other)))
    if other != plain:
        assert differing(here, there) is not None
    assert differing(of_others(here, changed % sows + 1), of_others(there, changed % sows + 1)) is None


@some(6)
@given(sows=st.integers(1, 5))
def test_one_sow_more_leaves_the_others_as_they_were(sows):
    """Nothing is said of them: each is drawn by her own number."""
    fewer, more = run_apart([{}] * sows), run_apart([{}] * (sows + 1))
    here = {name: fewer[name] for name in OF_SOWS}
    there = of_others({name: more[name] for name in OF_SOWS}, sows + 1)
    assert len(here["sows"]["sow"]) == sows
    assert differing(here, there) is None


DRAWN = ("parity", "total_born", "functional_teats", "gestation_length_d")


@some(6)
@given(crates=st.integers(1, 12), more=st.integers(1, 12))
def test_more_crates_leave_what_is_drawn_for_a_sow(crates, more):
    """Also where sows share air, staff and piglets."""
    few, many = (
        rows(farrowtide.load({"title": "t", "room": {"crates": n}}), record=("sows",))["sows"]
        for n in (crates, crates + more)
    )
    for name in DRAWN:
        assert many[name][many["sow"] <= crates].tobytes() == few[name].tobytes(), name


@some(6)
@given(days=st.lists(st.integers(1, 7), min_size=2, max_size=2, unique=True))
def test_nothing_happens_otherwise_before_its_cause(days, three_sows):
    """Litters processed on another day: all events before the earlier of the two days are the same."""
    here, there = (
        farrowtide.run(three_sows.override({"handling.day": day}), record=("events",)).events.reset_index(drop=True)
        for day in days
    )
    first = next(n for n in range(len(here)) if not here.iloc[n].equals(there.iloc[n]))
    born_h = 4 * 24  # the first sow farrows on day 4
    assert here["time_h"][first] >= born_h + (min(days) - 1) * 24
    assert first > 100


def test_columns_are_those_of_a_run(three_sows):
    """The helper that the tests above compare by sees what a user sees."""
    result = farrowtide.run(three_sows)
    assert columns(result, ("sows",))["sows"]["parity"].tolist() == result.sows["parity"].tolist()

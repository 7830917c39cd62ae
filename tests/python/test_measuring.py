"""What the benchmarks compute from measured numbers. No test asserts a speed."""

import math

import numpy as np
import pytest
import scaling
import stages

# One room of a program with a function of ours, a line inlined from the standard library, and calls that ask for memory.
CALLGRIND = """# callgrind format
version: 1
positions: line
events: Ir Bcm Bim I1mr D1mr D1mw ILmr DLmr DLmw
summary: 141 7 1 0 2 0 0 0 0

ob=(1) /build/one_room
fl=(1) /src/libsim/model/eating.cpp
fn=(1) farrowtide::eat(farrowtide::Sow&)
10 30 2 1
+2 20 1
fi=(2) /src/libsim/kernel/event_list.hpp
* 5
fi=(3) /usr/include/c++/12/bits/stl_vector.h
7 4
fe=(1)
cob=(2) /lib/libstdc++.so.6
cfi=(4) ???
cfn=(2) operator new(unsigned long)
calls=3 0
12 60 4 0 0 2
cob=(3) /lib/libm.so.6
cfn=(3) exp
calls=2 0
-1 12
fl=(3)
fn=(4) void std::sort<int*>(int*, int*)
7 9

ob=(2)
fl=(4)
fn=(2)
0 21 1
cob=(4) /lib/libc.so.6
cfn=(5) malloc
calls=3 0
0 40 3

ob=(4)
fl=(4)
fn=(5)
0 40 3 0 0 2

ob=(3)
fl=(4)
fn=(3)
0 12

totals: 141 7 1 0 2 0 0 0 0
"""


@pytest.fixture(scope="module")
def profile() -> stages.Profile:
    return stages.parse(CALLGRIND.splitlines(keepends=True))


def test_what_is_parsed_adds_up_to_the_totals(profile):
    assert tuple(map(sum, zip(*profile.costs.values(), strict=True))) == profile.totals
    assert profile.events == ("Ir", "Bcm", "Bim", "I1mr", "D1mr", "D1mw", "ILmr", "DLmr", "DLmw")


def test_stages_add_up_to_the_totals(profile):
    counts = stages.by_stage(profile)
    assert sum(counted[stages.INSTRUCTIONS] for counted in counts.values()) == 141
    assert sum(counted["branch misses"] for counted in counts.values()) == 8
    assert sum(counted["L1 misses"] for counted in counts.values()) == 2


def test_lines_count_in_the_stage_of_their_file_and_those_of_libraries_in_that_of_their_function(profile):
    counts = stages.by_stage(profile)
    instructions = {stage: counted[stages.INSTRUCTIONS] for stage, counted in counts.items() if counted}
    assert instructions == {
        "meals and appetite": 54,
        "kernel events": 5,
        stages.ALLOCATION: 61,
        stages.MATHEMATICS: 12,
        stages.REST: 9,
    }
    assert stages.rest_by_function(profile) == {"void std::sort<int*>(int*, int*)": 9}


def test_an_allocation_counts_once_for_who_asked(profile):
    counts = stages.by_stage(profile)
    assert {stage: counted[stages.ALLOCATIONS] for stage, counted in counts.items() if counted[stages.ALLOCATIONS]} == {
        "meals and appetite": 3
    }


def test_a_function_that_begins_with_an_inlined_line_is_at_home_in_its_own_file():
    text = """events: Ir
ob=(1) /build/one_room
fl=(1) /usr/include/c++/12/vector
fn=(1) farrowtide::Climate::hour()
3 10
fi=(2) /src/libsim/model/room/outdoor.cpp
4 1
"""
    profile = stages.parse(text.splitlines(keepends=True))
    place = next(iter(profile.costs))
    home = stages.file_of_each_function(profile)[place.object, place.function]
    assert stages.stage_of(place, home) == "climate"


def test_every_source_file_of_the_engine_has_a_stage():
    """Shared state has none of its own; it belongs to the functions that read it."""
    engine = scaling.SCENARIOS.parent / "libsim"
    files = [path for path in engine.rglob("*") if path.suffix in (".cpp", ".hpp")]
    without = {str(path.relative_to(engine.parent)) for path in files if stages.stage_of_file(str(path)) is None}
    assert without <= {
        f"libsim/model/{name}" for name in ("farrowing_room.hpp", "sow.hpp", "sow_days.cpp", "sow_days.hpp")
    }


def test_the_slope_of_a_power_law_is_found():
    x = [10, 100, 1000, 5000]
    found = scaling.power_law(x, [3 * value**1.25 for value in x])
    assert found.slope == pytest.approx(1.25)
    assert found.standard_error == pytest.approx(0, abs=1e-6)


def test_the_standard_error_of_a_slope_is_that_of_least_squares():
    x, y = [1, math.e, math.e**2], [1, math.e**2, math.e**2]  # (0, 0), (1, 2), (2, 2) as logarithms
    found = scaling.power_law(x, y)
    assert found.slope == pytest.approx(1)
    assert found.standard_error == pytest.approx(math.sqrt((2 / 3) / 2))  # residuals -1/3, 2/3, -1/3; x apart by 2


def test_costs_of_a_block_a_room_and_a_sow_are_found():
    true = scaling.Costs(block_s=0.02, room_s=0.001, sow_s=0.0003)
    times = [true.block_s + rooms * (true.room_s + sows * true.sow_s) for rooms, sows in scaling.SHAPES]
    found = scaling.costs(scaling.SHAPES, times)
    assert np.allclose([found.block_s, found.room_s, found.sow_s], [true.block_s, true.room_s, true.sow_s])
    assert found.shares_percent(10, 100) == pytest.approx((100 * 0.02 / 0.33, 100 * 0.01 / 0.33, 100 * 0.3 / 0.33))


@pytest.mark.parametrize("sows", scaling.SOWS)
def test_farms_are_full_and_have_people_in_proportion(sows):
    size = scaling.FarmSize(sows)
    farm = size.scenario()
    assert size.rooms * size.crates == sows
    assert size.people * scaling.SOWS_PER_PERSON == sows
    assert farm.litters_per_replication == sows

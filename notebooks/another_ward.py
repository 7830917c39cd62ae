# ---
# jupyter:
#   jupytext:
#     formats: ipynb,py:percent
#     text_representation:
#       extension: .py
#       format_name: percent
#   kernelspec:
#     display_name: Python 3
#     language: python
#     name: python3
# ---

# %% [markdown]
# # The kernel for another ward
#
# The engine of farrowtide is a small simulation kernel that knows nothing about pigs. Here it runs
# a hospital ward: patients arrive at random, each needs one of three beds, and who finds none free
# waits. The theory of queues says how long, so that you can check the kernel against a formula of
# 1917.
#
# It takes half an hour to read and some seconds to run. The cells compile C++: that takes a
# compiler (g++ 12 or clang 14, or later), the sources of farrowtide, and the headers of Boost and
# Random123 (Debian: `g++ libboost-dev librandom123-dev`). Where one is missing, the notebook says
# so and shows the code.
#
# ## 1. Predict
#
# One patient arrives every 4/2.1 h (1.9 h) on average and stays 4 h on average, both exponentially
# distributed. So 2.1 of 3 beds are in use on average: 30 % of beds are free on average. **Write
# down:** which share of patients has to wait? How long does a patient wait on average?
#
# ## 2. The ward
#
# A process is a function that takes simulated time: `co_await` says what it waits for. That is all
# of it:

# %%
import shutil
import subprocess
from math import factorial
from pathlib import Path

import numpy as np

import farrowtide

WARD = r"""
#include <cstdio>

#include "libsim/kernel/random.hpp"
#include "libsim/kernel/resource.hpp"
#include "libsim/kernel/simulation.hpp"

using namespace farrowtide;

struct Ward {
  std::uint32_t replicate, draws = 0;
  double waited_h = 0;
  int patients = 0, waiting = 0;
  Simulation clock;
  Resource beds{clock, 3};

  explicit Ward(std::uint32_t number) : replicate{number} {}
  Simulation& simulation() { return clock; }
  Duration draw(double mean_h) {
    const StreamKey key{.seed = 1, .replicate = replicate, .entity = draws++, .purpose = 1};
    return Duration::from_hours(mean_h * exponential(key));
  }
};

Process<> patient(Ward& ward) {
  const Time arrival = ward.clock.now();
  auto bed = co_await ward.beds.acquire();
  const Duration wait = ward.clock.now() - arrival;
  if (arrival.day() >= 50) {  // the ward has forgotten that it began empty
    ward.patients += 1;
    ward.waiting += wait > 0_s;
    ward.waited_h += wait.hours();
  }
  co_await bed.serve(ward.draw(4));
}

Process<> arrivals(Ward& ward) {
  for (;;) {
    co_await ward.clock.delay(ward.draw(4 / 2.1));
    ward.clock.spawn(patient(ward));
  }
}

int main() {
  for (std::uint32_t replicate = 0; replicate < 30; ++replicate) {
    Ward ward{replicate};
    ward.clock.spawn(arrivals(ward));
    ward.clock.run_until(Time{2000_d});
    std::printf("%.9f %.9f\n", 1.0 * ward.waiting / ward.patients, ward.waited_h / ward.patients);
  }
}
"""

# %% [markdown]
# With farrowtide installed for CMake (`cmake --install` of the repository), this is the rest of a
# project:

# %%
PROJECT = """
cmake_minimum_required(VERSION 3.25)
project(ward LANGUAGES CXX)
find_package(farrowtide 0.1 REQUIRED COMPONENTS kernel)
add_executable(ward ward.cpp)
target_link_libraries(ward PRIVATE farrowtide::kernel)
"""
folder = Path("results/another_ward")
folder.mkdir(parents=True, exist_ok=True)
(folder / "ward.cpp").write_text(WARD.lstrip(), encoding="utf-8")
(folder / "CMakeLists.txt").write_text(PROJECT.lstrip(), encoding="utf-8")
print(f"written: {folder}/ward.cpp, {folder}/CMakeLists.txt")

# %% [markdown]
# Or compile the kernel's five sources with it, which is what the next cell does.

# %%
sources = farrowtide.example("teaching/three_sows.yaml").parents[2]  # the repository; with a wheel, a place without C++
compiler = next((name for name in ("g++", "clang++", "c++") if shutil.which(name)), None)
kernel = sorted(map(str, (sources / "libsim/kernel").glob("*.cpp")))
program, missing = folder / "ward", None
if compiler is None:
    missing = "no C++ compiler is installed"
elif not kernel:
    missing = "the sources of farrowtide are not here (a wheel has none: clone the repository)"
else:
    command = [compiler, "-std=c++20", "-O1", f"-I{sources}", str(folder / "ward.cpp"), *kernel, "-o", str(program)]
    built = subprocess.run(command, capture_output=True, text=True)
    if built.returncode:
        absent = [line for line in built.stderr.splitlines() if "fatal error" in line]
        assert absent, built.stderr
        missing = f"a header is not installed: {absent[0]}"
print(missing or f"compiled with {compiler}")

# %% [markdown]
# ## 3. Run
#
# Thirty replications of 2,000 days. Patients of one replication wait for one another, so the
# replication is the statistical unit.

# %%
found = None
if missing:
    print(
        f"Not run: {missing}. Where farrowtide is installed for CMake, in {folder}: cmake -B build && cmake --build build && build/ward"
    )
else:
    ran = subprocess.run([str(program.resolve())], capture_output=True, text=True, check=True)
    found = np.array([line.split() for line in ran.stdout.splitlines()], dtype=float)
    means, errors = found.mean(axis=0), found.std(axis=0, ddof=1) / np.sqrt(len(found))
    print(f"share that waits: {means[0]:.4f} (standard error {errors[0]:.4f})")
    print(f"mean wait: {means[1]:.4f} h (standard error {errors[1]:.4f} h)")

# %% [markdown]
# ## 4. What theory says
#
# Three beds (*c*), *a* = 2.1 beds in use on average. The share that waits is Erlang's C formula
# (Erlang 1917, Solution of some problems in the theory of probabilities of significance in
# automatic telephone exchanges; in any textbook, as Gross, Shortle, Thompson & Harris, Fundamentals
# of Queueing Theory; from memory):
#
# $$P(\text{wait}) = \frac{\frac{a^c}{c!}\,\frac{c}{c - a}}{\sum_{n<c} \frac{a^n}{n!} +
# \frac{a^c}{c!}\,\frac{c}{c - a}}, \qquad E[\text{wait}] = P(\text{wait})\,\frac{4\,\text{h}}{c -
# a}$$


# %%
def erlang_c(beds: int, in_use: float) -> float:
    """The share that waits in M/M/c."""
    full = in_use**beds / factorial(beds) * beds / (beds - in_use)
    return full / (sum(in_use**n / factorial(n) for n in range(beds)) + full)


assert abs(erlang_c(1, 0.6) - 0.6) < 1e-12  # one server: the share that waits is its load
waits = erlang_c(3, 2.1)
expected = np.array([waits, waits * 4 / (3 - 2.1)])
print(f"share that waits: {expected[0]:.4f}; mean wait: {expected[1]:.4f} h")

# %%
if found is not None:
    z = (means - expected) / errors
    print(f"the kernel is {z[0]:+.1f} and {z[1]:+.1f} standard errors away from theory")
    assert (abs(z) < 4).all(), "the kernel disagrees with theory"
    assert (abs(means / expected - 1) < 0.03).all(), "too few replications to tell"
    wrong = erlang_c(3, 2.2)
    assert abs(means[0] - wrong) / errors[0] > 4, "this check could not tell 2.1 beds in use from 2.2"

# %% [markdown]
# Were you right? With 30 % of beds free on average, almost half of the patients wait: chance piles
# them up. In a farrowing room work can be late for the same reason, although people are idle part
# of the day.
#
# ## 5. Yours
#
# - A fourth bed: `Resource beds{clock, 4}`. Predict first; the formula knows.
# - Patients who give up: `co_await ward.beds.acquire_within(patience)` returns an empty seat to a
#   patient who gave up.
# - Emergencies first: `acquire(Rank{-1})`, and with `Preempt::yes` they interrupt the patient being
#   served.
#
# More checks of this kind are in `tests/theory` of the repository.

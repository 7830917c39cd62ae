"""A reduced ward in three forms: in C++ on our kernel, there with its decision in Python, and in SimPy.

Each sow's onset is normally distributed, her litter Poisson, and the gap before each further birth exponential.
Attendants make rounds while they are on duty. A policy decides at each round which sow is helped: she waits for an
attendant, first come first served, unless the next piglet is born by itself; else it is born when the help ends.
Rounds take no time, and help that was called for on duty is given after hours as well. The kernel's clock counts whole
seconds, SimPy's minutes with fractions.
"""

from __future__ import annotations

import fcntl
import os
import subprocess
import sys
from collections.abc import Callable, Generator
from dataclasses import dataclass
from functools import cache
from importlib import import_module
from pathlib import Path
from types import ModuleType
from typing import NamedTuple, Protocol

import numpy as np
import pybind11
import simpy

ROOT = Path(__file__).parents[2]
BUILD = ROOT / "build" / "ward"
MODULE = "compiled_ward"


@dataclass(frozen=True)
class Settings:
    """The parameters of all three forms. The numbers are invented for demonstration; they describe no herd."""

    sows: int = 24
    onset_mean_h: float = 36.0
    onset_sd_h: float = 12.0  # an onset before the start happens at the start
    piglets_mean: float = 14.0  # Poisson, at least one
    birth_gap_mean_min: float = 25.0  # exponential
    attendants: int = 1
    round_every_min: float = 60.0
    on_duty_from_h: float = 6.0  # clock time; the simulation starts at midnight
    on_duty_until_h: float = 22.0
    help_after_min: float = 30.0  # since the last birth; read by the built-in policy only
    help_mean_min: float = 15.0  # exponential


class View(Protocol):
    """What a policy knows of a farrowing sow at a round."""

    @property
    def since_last_birth_min(self) -> float: ...
    @property
    def born(self) -> int: ...


Policy = Callable[[View], bool]
Steps = Generator[simpy.Event, object, None]  # of a process in SimPy


class Outcome(NamedTuple):
    """What one ward gives; the wait for help is zero where nobody was helped."""

    farrowing_mean_min: float
    helps: int
    busy_min: float
    help_wait_mean_min: float


def help_after(limit_min: float) -> Policy:
    """The built-in policy, in Python."""
    return lambda view: view.since_last_birth_min >= limit_min


def in_cpp(settings: Settings, wards: int, seed: int, policy: Policy | None = None) -> list[Outcome]:
    """Our kernel; the built-in policy is in C++ as well."""
    return [Outcome(*ward) for ward in compiled().simulate(settings, wards, seed, policy)]


def in_cpp_with_python_policy(settings: Settings, wards: int, seed: int) -> list[Outcome]:
    """Our kernel, with the built-in policy in Python."""
    return in_cpp(settings, wards, seed, help_after(settings.help_after_min))


def in_simpy(settings: Settings, wards: int, seed: int, policy: Policy | None = None) -> list[Outcome]:
    """SimPy, with draws from NumPy."""
    decide = policy or help_after(settings.help_after_min)
    return [SimpyWard(settings, decide, np.random.default_rng([seed, ward])).outcome() for ward in range(wards)]


@cache
def compiled() -> ModuleType:
    """The module of ward_module.cpp; the first call in a working copy compiles it."""
    BUILD.mkdir(parents=True, exist_ok=True)
    with (BUILD / "lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)  # tests run in several processes
        build()
    sys.path.append(str(BUILD / "tests" / "benchmark"))
    return import_module(MODULE)


def build() -> None:
    """CMake, for the Python that runs; it does nothing where all is up to date."""
    defined = {
        "FARROWTIDE_TESTS": "OFF",
        "FARROWTIDE_BENCHMARKS": "ON",
        "FARROWTIDE_WARNINGS_AS_ERRORS": os.environ.get("FARROWTIDE_WARNINGS_AS_ERRORS", "OFF"),
        "Python_EXECUTABLE": sys.executable,
        "pybind11_DIR": pybind11.get_cmake_dir(),
    }
    defines = [f"-D{name}={value}" for name, value in defined.items()]
    for arguments in (
        ["-G", "Ninja", "-S", str(ROOT), "-B", str(BUILD), *defines],
        ["--build", str(BUILD), "--target", MODULE],
    ):
        command = ["cmake", *arguments]
        done = subprocess.run(command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, check=False)
        if done.returncode != 0:
            raise RuntimeError(f"{MODULE} could not be built:\n{done.stdout}")


class SimpySow:
    """A sow in labour; the policy sees her as she is at the round."""

    def __init__(self, env: simpy.Environment) -> None:
        self.env, self.born, self.last_birth_min = env, 1, env.now
        self.call: simpy.Event | None = None  # while she labours and nobody has been called

    @property
    def since_last_birth_min(self) -> float:
        return self.env.now - self.last_birth_min


class SimpyWard:
    """One ward on SimPy's clock, in minutes."""

    def __init__(self, settings: Settings, policy: Policy, rng: np.random.Generator) -> None:
        self.settings, self.policy, self.rng = settings, policy, rng
        self.env = simpy.Environment()
        self.attendants = simpy.Resource(self.env, settings.attendants)
        self.labouring: list[SimpySow] = []
        self.farrowing_min: list[float] = []
        self.help_min: list[float] = []
        self.wait_min: list[float] = []

    def outcome(self) -> Outcome:
        onsets_h = self.rng.normal(self.settings.onset_mean_h, self.settings.onset_sd_h, self.settings.sows)
        litters = self.rng.poisson(self.settings.piglets_mean, self.settings.sows)
        for onset_h, litter in zip(onsets_h.tolist(), litters.tolist(), strict=True):
            self.env.process(self.farrowing(max(0.0, onset_h * 60), max(1, litter)))
        self.env.process(self.rounds())
        self.env.run()
        helps = len(self.help_min)
        return Outcome(
            sum(self.farrowing_min) / self.settings.sows,
            helps,
            sum(self.help_min),
            sum(self.wait_min) / max(1, helps),
        )

    def farrowing(self, onset_min: float, litter: int) -> Steps:
        yield self.env.timeout(onset_min)
        sow = SimpySow(self.env)
        self.labouring.append(sow)
        for gap_min in self.rng.exponential(self.settings.birth_gap_mean_min, litter - 1).tolist():
            yield from self.birth(sow, self.env.timeout(gap_min))
            sow.born, sow.last_birth_min = sow.born + 1, self.env.now
        self.labouring.remove(sow)
        self.farrowing_min.append(self.env.now - onset_min)

    def birth(self, sow: SimpySow, by_itself: simpy.Event) -> Steps:
        sow.call = call = self.env.event()
        yield by_itself | call
        sow.call = None
        if by_itself.processed:
            return
        called_min = self.env.now
        with self.attendants.request() as attendant:
            yield by_itself | attendant
            if attendant.triggered:
                self.wait_min.append(self.env.now - called_min)
                self.help_min.append(self.rng.exponential(self.settings.help_mean_min))
                yield self.env.timeout(self.help_min[-1])

    def rounds(self) -> Steps:
        while len(self.farrowing_min) < self.settings.sows:
            yield self.env.timeout(self.settings.round_every_min)
            if self.settings.on_duty_from_h <= self.env.now / 60 % 24 < self.settings.on_duty_until_h:
                self.look_at_sows()

    def look_at_sows(self) -> None:
        for sow in self.labouring:
            if sow.call is not None and self.policy(sow):
                sow.call.succeed()

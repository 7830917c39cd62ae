"""How CPU time and memory grow with sows and replications: python tests/benchmark/scaling.py (about 20 minutes)

Writes .site/generated/scaling.md with its picture, and what was measured to results/scaling.json; `--page-only` writes
the page from that file again. CPU time is that of the process, which other work on the machine disturbs less than time
by the clock, and the shortest of a few turns counts. Each point of memory is the peak of a process of its own.
"""

from __future__ import annotations

import argparse
import json
import math
import subprocess
import sys
import tempfile
import time
import warnings
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from scipy import stats

import farrowtide
from farrowtide.engine.running import simulate_replicates
from farrowtide.study.blocks import RECORDED, REPLICATES, Arm, Block, Kept, simulate

SCENARIOS = Path(__file__).parents[2] / "scenarios"
ROOM, SMALL_ROOM = SCENARIOS / "feeding" / "meals_a_day.yaml", SCENARIOS / "teaching" / "three_sows.yaml"
MEASURED = Path("results/scaling.json")
SOWS = (12, 24, 48, 108, 204, 408, 804, 1_500, 3_000, 6_000)
SOWS_PER_PERSON = 12
MOST_CRATES, MOST_PEOPLE = 500, 50  # of a room and of a shift, in a scenario
SOWS_PER_TURN = 3_000  # of smaller farms, so many replications are run that together they have at least as many sows
TURNS = 3
SHAPES = [(rooms, sows) for rooms in (1, 5, REPLICATES) for sows in (12, 24, 48, 96)]  # of a block
REPLICATIONS = (10, 100, 1_000, 10_000, 100_000)
LONG = 10_000  # from so many replications on there is one turn
MOST_IN_MEMORY = 10_000  # replications of a sweep without a folder, whose memory grows in proportion
MOST_TABLES_BYTES = 3e9  # no run is begun whose tables would be larger
VARIED = {"climate.temperature": ["20 degC", "24 degC"]}  # the first is the room as written: two alternatives


@dataclass(frozen=True)
class PowerLaw:
    """The slope of a straight line through the logarithms of points, by least squares."""

    slope: float
    standard_error: float  # from the scatter about the line


def power_law(x: Sequence[float] | np.ndarray, y: Sequence[float] | np.ndarray) -> PowerLaw:
    fit = stats.linregress(np.log(x), np.log(y))
    return PowerLaw(float(fit.slope), float(fit.stderr))


@dataclass(frozen=True)
class Costs:
    """CPU time of a block of rooms: block_s + rooms x (room_s + sows x sow_s)."""

    block_s: float
    room_s: float
    sow_s: float

    def total_s(self, rooms: int | np.ndarray, sows: int | np.ndarray) -> float | np.ndarray:
        """CPU time of a block of so many rooms of so many sows."""
        return self.block_s + rooms * (self.room_s + sows * self.sow_s)

    def shares_percent(self, rooms: int, sows: int) -> tuple[float, float, float]:
        """What is per block, per room and per sow in a block of so many rooms of so many sows."""
        parts = np.array([self.block_s, rooms * self.room_s, rooms * sows * self.sow_s])
        block, room, sow = 100 * parts / parts.sum()
        return float(block), float(room), float(sow)


def costs(shapes: Sequence[tuple[int, int]], cpu_s: Sequence[float]) -> Costs:
    """The costs that fit the times of blocks of (rooms, sows) best, in relative terms."""
    terms = np.array([(1, rooms, rooms * sows) for rooms, sows in shapes]) / np.array(cpu_s)[:, np.newaxis]
    return Costs(*map(float, np.linalg.lstsq(terms, np.ones(len(terms)), rcond=None)[0]))


# --- farms -----------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class FarmSize:
    """As few equal rooms as hold these sows, loaded on the same day, with as many people for each sow on any farm."""

    sows: int

    @property
    def rooms(self) -> int:
        return math.ceil(self.sows / MOST_CRATES)

    @property
    def crates(self) -> int:
        crates, left = divmod(self.sows, self.rooms)
        assert not left, f"{self.sows} sows do not fill {self.rooms} equal rooms"
        return crates

    @property
    def people(self) -> int:
        people, left = divmod(self.sows, SOWS_PER_PERSON)
        assert not left, f"{self.sows} sows are no multiple of {SOWS_PER_PERSON}"
        return people

    def scenario(self) -> farrowtide.Scenario:
        hours = {"from": "07:00", "until": "16:00", "break_from": "12:00"}
        full, rest = divmod(self.people, MOST_PEOPLE)
        shifts = [{**hours, "people": people} for people in [MOST_PEOPLE] * full + [rest] * (rest > 0)]
        farm = {"rooms": self.rooms, "rooms_per_group": self.rooms, "groups": 1}
        return farrowtide.load(ROOM).override({"room.crates": self.crates, "farm": farm, "staff.shifts": shifts})


# --- measuring -------------------------------------------------------------------------------------------------------


def cpu_s(work: Callable[[], object], turns: int = TURNS) -> list[float]:
    """CPU seconds of this process in each turn."""
    times = []
    for _ in range(turns):
        start = time.process_time()
        work()
        times.append(time.process_time() - start)
    return times


def simulate_rooms(scenario: farrowtide.Scenario, replications: int) -> farrowtide.Result:
    return simulate_replicates(
        scenario, replications=replications, first_replicate=0, seed=1, threads=1, record=RECORDED
    )


def by_sows() -> list[dict[str, Any]]:
    points = []
    for size in map(FarmSize, SOWS):
        of, replications = size.scenario(), math.ceil(SOWS_PER_TURN / size.sows)
        times = cpu_s(lambda of=of, n=replications: simulate_rooms(of, n))
        left_undone = undone_percent(simulate_rooms(of, replications))
        points.append(
            {name: getattr(size, name) for name in ("sows", "rooms", "crates", "people")}
            | {"cpu_s": [seconds / replications for seconds in times], "undone_percent": left_undone}
        )
        tell(f"{size.sows:,} sows: {min(times) / replications:.3g} s")
    return points


def undone_percent(result: farrowtide.Result) -> float:
    """The share of tasks that staff were asked for and never did: whether the team keeps up at every size."""
    return float(100 * result.tasks["done_h"].isna().mean())


def by_shape() -> dict[str, list[dict[str, Any]]]:
    """Blocks of rooms, in the engine alone and as a study runs them, which also measures every output."""
    works: dict[str, Callable[[farrowtide.Scenario, int], object]] = {
        "engine": simulate_rooms,
        "block of a study": lambda of, rooms: simulate(Block(Arm("", "", of, 1), 0, rooms, Kept())),
    }
    points: dict[str, list[dict[str, Any]]] = {name: [] for name in works}
    for name, work in works.items():
        for rooms, sows in SHAPES:
            of = FarmSize(sows).scenario()
            work(of, rooms)
            times = cpu_s(lambda of=of, rooms=rooms, work=work: work(of, rooms), 2 * TURNS)
            points[name].append({"rooms": rooms, "sows": sows, "cpu_s": times})
        tell(f"{name}: shapes measured")
    return points


def sweep_in_folder(replications: int) -> None:
    with tempfile.TemporaryDirectory() as folder:
        sweep(replications, folder=Path(folder) / "study")


def sweep(replications: int, folder: Path | None = None) -> None:
    farrowtide.sweep(farrowtide.load(SMALL_ROOM), VARIED, replications=replications, seed=1, threads=1, folder=folder)


def run(replications: int) -> farrowtide.Result:
    return farrowtide.run(farrowtide.load(SMALL_ROOM), replications=replications, seed=1, threads=1)


SWEEP_IN_FOLDER, SWEEP_IN_MEMORY, RUN = "sweep with a study folder", "sweep without a folder", "run with all tables"
WORKS: dict[str, Callable[[int], object]] = {SWEEP_IN_FOLDER: sweep_in_folder, SWEEP_IN_MEMORY: sweep, RUN: run}


def peak_bytes() -> int:
    """The most memory that this process has had."""
    status = Path("/proc/self/status").read_text(encoding="ascii")
    kilobytes = next(line.split()[1] for line in status.splitlines() if line.startswith("VmHWM:"))
    return 1024 * int(kilobytes)


def alone(work: str, replications: int) -> dict[str, Any]:
    """What one work costs in this process. A first, small one is not counted: it imports what is used."""
    WORKS[work](2)
    times = cpu_s(lambda: WORKS[work](replications), turns=1)
    return {"cpu_s": times[0], "peak_bytes": peak_bytes()}


def in_new_process(work: str, replications: int) -> dict[str, Any]:
    command = [sys.executable, __file__, "--alone", work, "--replications", str(replications)]
    printed = subprocess.run(command, check=True, capture_output=True, text=True).stdout
    found: dict[str, Any] = json.loads(printed)
    return found


def by_replications(bytes_a_room: float) -> Iterator[dict[str, list[dict[str, Any]]]]:
    """What has been measured so far, after each point: the last ones take minutes."""
    points: dict[str, list[dict[str, Any]]] = {name: [] for name in WORKS}
    for replications in REPLICATIONS:
        for work, found in points.items():
            if work == RUN and replications * bytes_a_room > MOST_TABLES_BYTES:
                continue
            if work == SWEEP_IN_MEMORY and replications > MOST_IN_MEMORY:
                continue
            turns = [in_new_process(work, replications) for _ in range(1 if replications >= LONG else TURNS)]
            found.append(
                {"replications": replications}
                | {name: [turn[name] for turn in turns] for name in ("cpu_s", "peak_bytes")}
            )
            tell(f"{work}, {replications:,} replications: {min(found[-1]['cpu_s']):.3g} s")
            yield points


def bytes_by_table(rooms: int = 200) -> dict[str, float]:
    """Of each table of the small room, the bytes in memory of one room."""
    tables = run(rooms).tables
    return {name: float(table.memory_usage(index=False).sum()) / rooms for name, table in tables.items()}


def output_bytes() -> float:
    """Of the outputs of one small room, the bytes in memory."""
    block = Block(Arm("", "", farrowtide.load(SMALL_ROOM), 1), 0, REPLICATES, Kept())
    return float(simulate(block).nbytes / REPLICATES)


def measure() -> None:
    """Writes what is measured as it comes."""
    MEASURED.parent.mkdir(exist_ok=True)
    table_bytes = bytes_by_table()
    measured = {
        "engine": farrowtide.__version__,
        "table_bytes": table_bytes,
        "output_bytes": output_bytes(),
        "sows": by_sows(),
        "shapes": by_shape(),
    }
    for points in by_replications(sum(table_bytes.values())):
        MEASURED.write_text(json.dumps(measured | {"replications": points}, indent=1), encoding="utf-8")


def tell(what: str) -> None:
    print(what, file=sys.stderr, flush=True)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--page-only", action="store_true", help=f"write the page from {MEASURED}")
    parser.add_argument("--alone", choices=list(WORKS), help=argparse.SUPPRESS)
    parser.add_argument("--replications", type=int, help=argparse.SUPPRESS)
    asked = parser.parse_args()
    warnings.simplefilter("ignore")  # about the rooms, which are not what is looked at here
    if asked.alone:
        print(json.dumps(alone(asked.alone, asked.replications)))
        return 0
    if not asked.page_only:
        measure()
    import scaling_page  # it draws, which no measured process needs

    scaling_page.write(json.loads(MEASURED.read_text(encoding="utf-8")))
    return 0


if __name__ == "__main__":
    sys.exit(main())

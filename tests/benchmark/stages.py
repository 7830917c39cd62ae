"""What a room is made of, stage by stage: `./quickstart benchmark --stages`, or python stages.py ONE_ROOM SCENARIO

Runs the program of one_room.cpp under valgrind's callgrind, which simulates a processor and counts what it does, with
one room and with six. A fifth of the difference is a room; what is left of the first run comes once. The counts do not
depend on what else the machine does.
"""

from __future__ import annotations

import argparse
import re
import subprocess
import sys
import tempfile
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from pathlib import Path

from rich.console import Console
from rich.table import Table

FURTHER_ROOMS = 5  # in the second run than in the first
FUNCTIONS_NAMED = 3  # functions of the rest
# Caches of a fixed size, so that counts can be compared between machines: 32 kB for code and for data, and 1 MB behind.
CACHES = ("--I1=32768,8,64", "--D1=32768,8,64", "--LL=1048576,16,64")
REST = "the rest"
ALLOCATION, MATHEMATICS, SET_UP = "memory allocation", "mathematics library", "set-up"

# Source files of each stage, as the beginnings of their paths; the first match counts.
STAGES: tuple[tuple[str, tuple[str, ...]], ...] = (
    (ALLOCATION, ("libsim/kernel/frame_pool",)),
    ("draws", ("libsim/kernel/random", "libsim/model/purpose", "Random123/", "boost/random/")),
    (
        "hazards and deaths",
        (
            "libsim/kernel/hazard",
            "libsim/model/litter_mortality",
            "libsim/model/litter/chilling",
            "libsim/model/litter/scours",
            "libsim/model/litter/survival",
            "libsim/model/litter_risks",
            "libsim/model/litter/unfed",
            "libsim/model/recovering",
            "libsim/model/scouring",
            "libsim/model/sow/leg_trouble",
            "libsim/model/sow/post_partum_disorder",
            "libsim/model/sow/rectal_temperature",
            "libsim/model/sow/signs",
            "libsim/model/sow/sow_loss",
            "libsim/model/sow/starvation",
            "libsim/model/sow_mortality",
        ),
    ),
    ("kernel events", ("libsim/kernel/",)),
    ("curves read as functions", ("libsim/model/curves/",)),
    (
        "meals and appetite",
        (
            "libsim/model/appetite_of_day",
            "libsim/model/drinking",
            "libsim/model/eating",
            "libsim/model/room/drinker",
            "libsim/model/seeing_intake",
            "libsim/model/settings/diet",
            "libsim/model/sow/appetite",
            "libsim/model/sow/diet",
            "libsim/model/sow/feed_harm",
            "libsim/model/sow/learning",
            "libsim/model/sow/meals",
            "libsim/model/sow/trough",
            "libsim/model/sow/water",
            "libsim/model/troughs",
            "libsim/policy/feeding/",
            "libsim/policy/water/",
        ),
    ),
    (
        "climate",
        (
            "libsim/model/room/",
            "libsim/model/room_weather",
            "libsim/model/sow/effective_temperature",
            "libsim/policy/temperature/",
        ),
    ),
    (
        "midnight",
        (
            "libsim/model/litter/creep_feed",
            "libsim/model/litter/growth",
            "libsim/model/midnight",
            "libsim/model/milk_of_day",
            "libsim/model/sow/after_weaning",
            "libsim/model/sow/energy_balance",
            "libsim/model/sow/handling",
            "libsim/model/sow/milk",
        ),
    ),
    (
        "births and colostrum",
        (
            "libsim/model/labour",
            "libsim/model/litter/birth_weight",
            "libsim/model/litter/colostrum",
            "libsim/model/litter/farrowing",
            "libsim/model/litter/gestation",
            "libsim/model/litter/teats",
        ),
    ),
    (
        "rows and tables",
        (
            "libsim/model/room_records",
            "libsim/model/room_tables",
            "libsim/model/sow_rows",
            "libsim/model/death_record",
            "libsim/model/task_record",
            "libsim/record/",
        ),
    ),
    (
        "tasks and staff",
        (
            "libsim/model/attending",
            "libsim/model/fostering",
            "libsim/model/litter/moving",
            "libsim/model/moving",
            "libsim/model/planned_work",
            "libsim/model/routine",
            "libsim/model/sow/standing_up",
            "libsim/model/staff/",
            "libsim/model/task_handlers",
            "libsim/model/weaning",
            "libsim/model/work",
            "libsim/policy/attendance/",
            "libsim/policy/care/",
            "libsim/policy/fostering/",
            "libsim/policy/handling/",
        ),
    ),
    (
        SET_UP,
        (
            "libsim/coefficients/",
            "libsim/model/biology",
            "libsim/model/farm",
            "libsim/model/farrowing_room.cpp",
            "libsim/model/settings/",
            "libsim/model/sow.cpp",
            "libsim/model/sow/herd",
            "libsim/model/sow_traits",
            "libsim/policy/",
            "libsim/run/",
            "libsim/scenario/",
            "tests/benchmark/one_room",
        ),
    ),
)
# Inlined lines of these belong to the function that they are in: state and tables that all stages read, and time.
SHARED = (
    "libsim/kernel/names",
    "libsim/kernel/time",
    "libsim/model/curves/",
    "libsim/model/farrowing_room.hpp",
    "libsim/model/sow.hpp",
    "libsim/model/sow_days",
)
# Libraries that are used in one stage only, by a part of their file's name.
LIBRARIES = {"/libm.": MATHEMATICS, "/libm-": MATHEMATICS, "/libyaml-cpp": SET_UP, "/ld-linux": SET_UP, "/ld-2": SET_UP}
IN_OUR_SOURCES = re.compile(r"(?:^|/)((?:libsim|tests/benchmark|Random123|boost/random)/.*)$")
ALLOCATORS = re.compile(
    r"operator (new|delete)|(_int_|__libc_)?(malloc|calloc|realloc|free|memalign|aligned_alloc)"
    r"|malloc_|unlink_chunk|sysmalloc|systrim"
)
ASKS_FOR_MEMORY = re.compile(r"operator new|(malloc|calloc|realloc|aligned_alloc)$")


@dataclass(frozen=True)
class Place:
    """Where a cost arises: the program or library, the function and its file, and the file of the inlined line."""

    object: str
    function: str
    file: str
    line_file: str


@dataclass
class Profile:
    """What callgrind counted: the names of its events, and the sums of each place without what it calls."""

    events: tuple[str, ...] = ()
    costs: dict[Place, list[int]] = field(default_factory=dict)
    allocations: Counter[Place] = field(default_factory=Counter)  # calls that ask for memory, by the caller
    totals: tuple[int, ...] = ()  # as callgrind added them up


# What callgrind's lines name, for the place of the counts that follow or (c...) for a callee.
NAMED = {"ob": "object", "fl": "file", "fi": "file", "fe": "file", "fn": "function"}
NAMED |= {"cob": "object", "cfl": "file", "cfi": "file", "cfn": "function"}


class Names:
    """Names in callgrind's output: `(3) name` where it is first used, `(3)` from then on."""

    def __init__(self) -> None:
        self._by_number: dict[str, str] = {}

    def of(self, text: str) -> str:
        if not text.startswith("("):
            return text
        number, _, name = text.partition(" ")
        return self._by_number.setdefault(number, name)


def parse(lines: Iterable[str]) -> Profile:
    """Reads a file that callgrind wrote."""
    reader = Reader()
    for line in lines:
        reader.read(line.rstrip("\n"))
    return reader.profile


class Reader:
    """Reads line by line: where the following counts arise, calls, and counts."""

    def __init__(self) -> None:
        self.profile = Profile()
        self._names = {"object": Names(), "function": Names(), "file": Names()}
        self._place = Place("", "", "", "")
        self._callee = ""
        self._after_call = False  # the next line is what the callee cost, which is counted there

    def read(self, line: str) -> None:
        key, equals, value = line.partition("=")
        if equals and key in NAMED:
            name = self._names[NAMED[key]].of(value)
            if key == "cfn":
                self._callee = name
            elif not key.startswith("c"):
                self._place = self._moved(key, name)
        elif equals and key == "calls":
            self._call(int(value.split()[0]))
        elif line[:1] in tuple("+-*0123456789"):
            self._count(line.split()[1:])
        else:
            self._header(*line.partition(":")[::2])

    def _moved(self, key: str, name: str) -> Place:
        """The place after a line that names the program, the file, the function or the file of an inlined line."""
        if key == "ob":
            return replace(self._place, object=name)
        if key == "fl":
            return replace(self._place, file=name, line_file=name)
        if key == "fn":
            return replace(self._place, function=name, line_file=self._place.file)
        return replace(self._place, line_file=name)

    def _call(self, calls: int) -> None:
        self._after_call = True
        if ASKS_FOR_MEMORY.match(self._callee) and not ALLOCATORS.match(self._place.function):
            self.profile.allocations[self._place] += calls

    def _count(self, counts: list[str]) -> None:
        """Adds a line of counts, whose trailing zeros are left out."""
        if self._after_call:
            self._after_call = False
            return
        sums = self.profile.costs.setdefault(self._place, [0] * len(self.profile.events))
        for i, count in enumerate(counts):
            sums[i] += int(count)

    def _header(self, key: str, value: str) -> None:
        if key == "events":
            self.profile.events = tuple(value.split())
        elif key in ("summary", "totals"):
            self.profile.totals = tuple(map(int, value.split()))


def stage_of(place: Place, file_of_function: str) -> str:
    """The stage of a place, by its library, else by the file of its line, else by the file where its function is."""
    if ALLOCATORS.match(place.function):
        return ALLOCATION
    for part, stage_of_library in LIBRARIES.items():
        if part in place.object:
            return stage_of_library
    if not is_shared(place.line_file) and (stage := stage_of_file(place.line_file)):
        return stage
    return stage_of_file(file_of_function) or REST


def is_shared(file: str) -> bool:
    return bool(path := path_in_ours(file)) and path.startswith(SHARED)


def stage_of_file(file: str) -> str | None:
    path = path_in_ours(file)
    return next((stage for stage, beginnings in STAGES if path.startswith(beginnings)), None) if path else None


def path_in_ours(file: str) -> str:
    """The path below the root of our sources, or of a library that is compiled into them; "" where it is of neither."""
    found = IN_OUR_SOURCES.search(file)
    return found[1] if found else ""


def file_of_each_function(profile: Profile) -> dict[tuple[str, str], str]:
    """The file of each function of each program: of callgrind's file and those of its lines, the first of ours.

    Callgrind names the file of a function's first instruction, which may be one that is inlined from a library.
    """
    files: dict[tuple[str, str], Counter[str]] = {}
    for place, costs in profile.costs.items():
        if path_in_ours(place.file):
            files.setdefault((place.object, place.function), Counter())[place.file] = sys.maxsize
        elif path_in_ours(place.line_file) and not place.line_file.endswith(".hpp"):
            files.setdefault((place.object, place.function), Counter())[place.line_file] += costs[0]
    return {function: counted.most_common(1)[0][0] for function, counted in files.items()}


# --- a room, stage by stage ------------------------------------------------------------------------------------------

INSTRUCTIONS, ALLOCATIONS = "instructions", "allocations"
COLUMNS: dict[str, tuple[str, ...]] = {  # the events of callgrind in each
    INSTRUCTIONS: ("Ir",),
    "branch misses": ("Bcm", "Bim"),
    "L1 misses": ("I1mr", "D1mr", "D1mw"),
    "L2 misses": ("ILmr", "DLmr", "DLmw"),
}
Counts = dict[str, Counter[str]]  # by stage, then by column


def by_stage(profile: Profile) -> Counts:
    files = file_of_each_function(profile)
    sums: Counts = {stage: Counter() for stage in (*(stage for stage, _ in STAGES), MATHEMATICS, REST)}
    for place, costs in profile.costs.items():
        stage = stage_of(place, files.get((place.object, place.function), ""))
        for column, events in COLUMNS.items():
            sums[stage][column] += sum(costs[profile.events.index(event)] for event in events)
    for place, calls in profile.allocations.items():
        sums[stage_of(place, files.get((place.object, place.function), ""))][ALLOCATIONS] += calls
    return sums


def rest_by_function(profile: Profile) -> Counter[str]:
    """The instructions of what no rule maps."""
    files, sums = file_of_each_function(profile), Counter[str]()
    for place, costs in profile.costs.items():
        if stage_of(place, files.get((place.object, place.function), "")) == REST:
            sums[place.function] += costs[profile.events.index("Ir")]
    return sums


def counts_a_room(first_run: Counts, second_run: Counts) -> dict[str, dict[str, float]]:
    """The counts of a room by stage and column."""
    return {
        stage: {
            column: (second_run[stage][column] - counts[column]) / FURTHER_ROOMS for column in (*COLUMNS, ALLOCATIONS)
        }
        for stage, counts in first_run.items()
    }


# --- measuring and printing ------------------------------------------------------------------------------------------


def profile_of(one_room: Path, scenario: Path, rooms: int, folder: Path) -> Profile:
    out = folder / f"callgrind.{rooms}"
    command = [
        "valgrind",
        "--tool=callgrind",
        "--cache-sim=yes",
        "--branch-sim=yes",
        *CACHES,
        f"--callgrind-out-file={out}",
        str(one_room),
        str(scenario),
        str(rooms),
    ]
    subprocess.run(command, check=True, capture_output=True)
    with out.open(encoding="utf-8", errors="replace") as lines:
        return parse(lines)


def print_stages(profiles: list[Profile]) -> None:
    """Stages by their instructions; the rest, which no rule maps, last, with its largest functions."""
    first_run, second_run = map(by_stage, profiles)
    room = counts_a_room(first_run, second_run)
    once = {stage: first_run[stage][INSTRUCTIONS] - room[stage][INSTRUCTIONS] for stage in room}
    all_stages = {column: sum(counts[column] for counts in room.values()) for column in room[REST]}
    table = Table("a room, by stage", title_justify="left")
    for heading in ("10⁶ instructions", "%", *list(all_stages)[1:], "10⁶ once"):
        table.add_column(heading, justify="right")
    table.columns[0].no_wrap = True
    for stage in (*sorted(room.keys() - {REST}, key=lambda stage: -room[stage][INSTRUCTIONS]), REST):
        table.add_row(stage, *_cells(room[stage], all_stages, once[stage]))
    table.add_section()
    table.add_row("all", *_cells(all_stages, all_stages, sum(once.values())))
    console = Console()
    console.width = max(console.width, 120)
    console.print(table)
    rest = Counter(rest_by_function(profiles[1]))
    rest.subtract(rest_by_function(profiles[0]))
    named = [
        f"{name[:60]} ({count / FURTHER_ROOMS / 1e6:.2f} million)" for name, count in rest.most_common(FUNCTIONS_NAMED)
    ]
    print(f"“{REST}” is what no rule of stages.py maps; most of it: {', '.join(named)}")
    print(
        "branch misses: mispredicted branches; L1, L2: caches of 32 kB and 1 MB; once: the\n"
        "instructions of the first run without those of a room (rooms differ, so that it may be below 0)"
    )


def _cells(counts: dict[str, float], all_stages: dict[str, float], once: float) -> list[str]:
    instructions, *others = counts.values()
    shown = [f"{instructions / 1e6:.2f}", f"{100 * instructions / all_stages[INSTRUCTIONS]:.1f}"]
    return [*shown, *(f"{count:,.0f}" for count in others), f"{once / 1e6:.2f}"]


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("one_room", type=Path, help="the compiled program, with -g")
    parser.add_argument("scenario", type=Path, help="the scenario of the room")
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        profiles = [profile_of(asked.one_room, asked.scenario, rooms, Path(folder)) for rooms in (1, 1 + FURTHER_ROOMS)]
    print_stages(profiles)
    return 0


if __name__ == "__main__":
    sys.exit(main())

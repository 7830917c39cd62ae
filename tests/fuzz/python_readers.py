"""Fuzz targets for the readers that are in Python: whatever a file holds, it is read, or refused with a message that names it.

    python tests/fuzz/python_readers.py records --seconds 600

changes the inputs in corpus/records. With atheris (`pip install atheris`) it steers by what an input reaches in the package;
without it, or with --blind, by chance alone. An input that breaks the promise is kept in results/fuzz.
"""

from __future__ import annotations

import argparse
import random
import re
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

HERE = Path(__file__).parent
FOUND = HERE.parents[1] / "results/fuzz"
TARGETS = ("records", "weather", "mapping", "workbook", "calibration")
_LONGEST_INPUT = 512
_LONGEST_MESSAGE = 200_000
_FEWEST_INPUTS = 20  # that are judged however slow the machine is
_CONTROL = re.compile(r"[\x00-\x09\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]")


class Breach(Exception):
    """A message of the right kind that does not say where, or would act on a terminal."""


def judge(target: str, data: bytes, folder: Path) -> str:
    """Reads what the bytes stand for: "read" or "refused". Raises Breach, or what a reader raised that is no UserError."""
    from fuzzed_readers import READERS

    from farrowtide import UserError

    make, read = READERS[target]
    file = folder / "fuzzed"
    file.write_bytes(make(data))
    try:
        read(file, data)
    except UserError as error:
        told = str(error)
        if file.name not in told:
            raise Breach(f"does not name the file: {told:.500}") from None
        if _CONTROL.search(told) or len(told) > _LONGEST_MESSAGE:
            raise Breach(f"is no message for a terminal ({len(told)} characters): {told!r:.500}") from None
        return "refused"
    return "read"


def corpus(target: str) -> list[bytes]:
    """The inputs that are kept, by name."""
    return [file.read_bytes() for file in sorted((HERE / "corpus" / target).iterdir())]


def random_inputs(target: str, seed: int) -> Iterator[bytes]:
    """Inputs without end: those of the corpus with changes, and new ones."""
    draw = random.Random(seed)
    known = corpus(target)
    while True:
        made = bytearray(draw.choice(known) if draw.random() < 0.5 else draw.randbytes(draw.randrange(1, 64)))
        for _ in range(draw.randrange(6)):
            place = draw.randrange(len(made) + 1)
            made[place : place + draw.randrange(3)] = draw.randbytes(draw.randrange(4))
        yield bytes(made[:_LONGEST_INPUT])


def fuzz_blindly(target: str, seconds: float, seed: int, folder: Path) -> int:
    """Judges random inputs for so long; the number of faults, the first input of each kind kept.

    A fault is an input that broke the promise, and also a run in which none was read or none refused.
    """
    import fuzzed_readers  # noqa: F401  # before the clock starts

    seen: Counter[str] = Counter()
    kinds: set[str] = set()
    until = time.monotonic() + seconds
    for data in random_inputs(target, seed):
        if time.monotonic() > until and seen.total() >= _FEWEST_INPUTS:
            break
        try:
            seen[judge(target, data, folder)] += 1
        except Exception as error:  # any is a finding
            seen["broken"] += 1
            kind = f"{type(error).__name__}: {error}"
            if kind[:40] not in kinds:
                kinds.add(kind[:40])
                FOUND.mkdir(parents=True, exist_ok=True)
                (FOUND / f"{target}-{len(kinds)}").write_bytes(data)
                print(f"{FOUND}/{target}-{len(kinds)}: {kind:.500}", file=sys.stderr)
    print(f"{target}: {seen.total()} inputs, {dict(seen)}")
    says_nothing = not seen["read"] or not seen["refused"]
    if says_nothing:
        print(f"{target}: says nothing: inputs must be read and refused", file=sys.stderr)
    return seen["broken"] + says_nothing


def fuzz_with_atheris(target: str, seconds: int, folder: Path) -> None:
    """The same, steered by coverage; atheris ends the process at the first finding."""
    import atheris

    with atheris.instrument_imports(include=["farrowtide", "fuzzed_readers", "odd_files"]):
        import fuzzed_readers  # noqa: F401

    grown = FOUND / "corpus" / target
    grown.mkdir(parents=True, exist_ok=True)
    options = [f"-max_total_time={seconds}", f"-max_len={_LONGEST_INPUT}", "-timeout=20", "-len_control=0"]
    command = [sys.argv[0], *options, f"-artifact_prefix={FOUND}/{target}-", str(grown), str(HERE / "corpus" / target)]
    atheris.Setup(command, lambda data: judge(target, data, folder))
    atheris.Fuzz()


def main() -> int:
    """The command."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("target", choices=TARGETS)
    parser.add_argument("--seconds", type=int, default=60)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--blind", action="store_true", help="by chance alone, also where atheris is installed")
    parser.add_argument("--replay", type=Path, metavar="FILE", help="judge this input again, with its traceback")
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        if given.replay:
            print(judge(given.target, given.replay.read_bytes(), folder))
            return 0
        try:
            import atheris  # noqa: F401
        except ImportError:
            given.blind = True
        if given.blind:
            return min(1, fuzz_blindly(given.target, given.seconds, given.seed, folder))
        fuzz_with_atheris(given.target, given.seconds, folder)
    return 0


if __name__ == "__main__":
    sys.exit(main())

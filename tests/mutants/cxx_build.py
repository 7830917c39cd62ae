"""A copy of the engine with all chosen mutants built in, each dormant until the environment wakes it."""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
from collections import defaultdict
from pathlib import Path

import sample

HERE = Path(__file__).parent
ERROR = re.compile(r"source/(libsim/[\w/]+\.[ch]pp):(\d+):\d+: (?:fatal )?error:")


def build(seed: int, targets: list[str]) -> list[int]:
    """Builds targets, by default all tests and the Python module; returns the mutants that a compiler refuses."""
    of_cxx = [mutant for mutant in sample.read(seed)["mutants"] if "code" in mutant]
    refused = [mutant["id"] for mutant in of_cxx if mutant.get("refused")]
    mutants = [mutant for mutant in of_cxx if not mutant.get("refused")]
    _copy(seed)
    _write(seed, mutants)
    _configure(seed)
    while True:
        command = ["cmake", "--build", str(sample.folder(seed) / "cxx")]
        command += ["--target", *targets] if targets else []
        done = subprocess.run([*command, "--", "-k", "0"], capture_output=True, text=True, check=False)
        (sample.folder(seed) / "build.log").write_text(done.stdout + done.stderr)
        if done.returncode == 0:
            return refused
        wrong = {(file, int(line)) for file, line in ERROR.findall(done.stdout + done.stderr)}
        now = [
            mutant["id"] for mutant in mutants if any((mutant["file"], line) in wrong for line in _lines(seed, mutant))
        ]
        if not now:
            raise RuntimeError(f"the copy does not build: see {sample.folder(seed) / 'build.log'}")
        print("refused by the compiler:", now, flush=True)
        refused += now
        mutants = [mutant for mutant in mutants if mutant["id"] not in now]
        _write(seed, mutants)


def _lines(seed: int, mutant: sample.Mutant) -> range:
    """The lines that a mutant takes in the copy, as the compiler counts them: below `#line 1`."""
    text = (sample.folder(seed) / "source" / mutant["file"]).read_text()
    first = text[: text.index(_asked(mutant))].count("\n") - 1
    return range(first, first + mutant["code"].count("\n") + 1)


def _asked(mutant: sample.Mutant) -> str:
    return f"::farrowtide_mutants::is({mutant['id']})"


def _copy(seed: int) -> None:
    source = sample.folder(seed) / "source"
    if not source.exists():
        for name in ("libsim", "bindings", "tests"):
            ignored = shutil.ignore_patterns("*.py", "__pycache__", "mutants", "*.md")
            shutil.copytree(sample.ROOT / name, source / name, ignore=ignored)
        shutil.copy(sample.ROOT / "CMakeLists.txt", source)
        (source / "scenarios").symlink_to(sample.ROOT / "scenarios")
    shutil.copy(HERE / "mutant.hpp", source / "libsim")
    for tests in {file.parent for file in (source / "tests").rglob("*_test.cpp")}:
        shutil.copy(HERE / "listener.cpp", tests)


def _write(seed: int, mutants: list[sample.Mutant]) -> None:
    """Every source with its mutants; a file that is already as it should be keeps its time of change."""
    by_file = defaultdict(list)
    for mutant in mutants:
        by_file[mutant["file"]].append(mutant)
    for mutant in sample.read(seed)["mutants"]:
        if "code" in mutant:
            name = mutant["file"]
            text = _mutated((sample.ROOT / name).read_bytes(), by_file[name])
            target = sample.folder(seed) / "source" / name
            if target.read_bytes() != text:
                target.write_bytes(text)


def _mutated(source: bytes, mutants: list[sample.Mutant]) -> bytes:
    for mutant in sorted(mutants, key=lambda each: -each["start"]):
        code = mutant["code"].replace("{0}", _asked(mutant)).encode()
        source = source[: mutant["start"]] + code + source[mutant["end"] :]
    return b'#include "libsim/mutant.hpp"\n#line 1\n' + source


def _configure(seed: int) -> None:
    pybind11 = subprocess.run(
        [sys.executable, "-m", "pybind11", "--cmakedir"], capture_output=True, text=True, check=True
    ).stdout.strip()
    subprocess.run(
        [
            *(
                "cmake",
                "-G",
                "Ninja",
                "-S",
                str(sample.folder(seed) / "source"),
                "-B",
                str(sample.folder(seed) / "cxx"),
            ),
            *("-DCMAKE_BUILD_TYPE=Release", "-DCMAKE_CXX_FLAGS_RELEASE=-O1 -DNDEBUG", "-DFARROWTIDE_TESTS=ON"),
            *("-DFARROWTIDE_PYTHON=ON", f"-Dpybind11_DIR={pybind11}", f"-DPython_EXECUTABLE={sys.executable}"),
            *("-DCMAKE_UNITY_BUILD=ON", "-DCMAKE_UNITY_BUILD_BATCH_SIZE=8", "-DCMAKE_INTERPROCEDURAL_OPTIMIZATION=OFF"),
        ],
        check=True,
        stdout=subprocess.DEVNULL,
    )

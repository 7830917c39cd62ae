#!/usr/bin/env python3
"""Run the Python that the documentation shows, in fewer rooms than it says, and compile its C++. `--self-test` tries samples.

The snippets of one page run one after the other. Examples of policies are run by tests/python/test_own_policies.py.
"""

import functools
import os
import re
import subprocess
import sys
import tempfile
import traceback
import warnings
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
BLOCK = re.compile(r"^```(?P<kind>python|cpp)\n(?P<body>.*?)^```", re.MULTILINE | re.DOTALL)
ROOMS, DRAWS = 4, 40
TESTED_ELSEWHERE = {("libsim/policy/README.md", "python")}
# What a reader of the page has at hand.
BEFORE_PYTHON = """
import farrowtide
scenario = farrowtide.load("scenarios/teaching/three_sows.yaml")
"""
BEFORE_CPP = """
#include "libsim/run/scenario.hpp"
using namespace farrowtide;
class Never : public HandlingPolicy {
  double share_of_processing(const HandlingView&) const override { return 0; }
  std::string describe() const override { return "never"; }
};
void snippet() {
"""


def snippets() -> dict[tuple[str, str], list[str]]:
    """The code of each page, by page and language."""
    listing = subprocess.run(["git", "ls-files", "-z", "*.md"], cwd=ROOT, capture_output=True, text=True, check=True)
    found: dict[tuple[str, str], list[str]] = {}
    for page in listing.stdout.split("\0")[:-1]:
        for block in BLOCK.finditer((ROOT / page).read_text(encoding="utf-8")):
            found.setdefault((page, block["kind"]), []).append(block["body"])
    return {at: code for at, code in found.items() if at not in TESTED_ELSEWHERE}


def run_python(code: list[str]) -> str:
    """What went wrong, or nothing, in a folder with the scenarios, a first file of one's own and the lessons of a class."""
    fewer = re.sub(r"replications=\d+", f"replications={ROOMS}", "\n".join([BEFORE_PYTHON, *code]))
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            exec(compile(fewer, "snippet", "exec"), {"__name__": "snippet"})
    except Exception:
        return traceback.format_exc()
    return ""


def compile_cpp(code: list[str]) -> str:
    """What the compiler says, or nothing."""
    text = "\n".join([BEFORE_CPP, *code, "}"])
    command = ["g++", "-std=c++20", "-fsyntax-only", "-Wall", f"-I{ROOT}", "-I/usr/include/eigen3", "-x", "c++", "-"]
    done = subprocess.run(command, input=text, capture_output=True, text=True)
    return done.stderr if done.returncode else ""


def self_test() -> int:
    good = not run_python(["comparison = 1"]) and not compile_cpp(["PolicyCatalogues::built_in();"])
    noticed = run_python(["farrowtide.nothing()"]) and compile_cpp(["PolicyCatalogues::nothing();"])
    print("every sample is judged correctly" if good and noticed else "a sample is judged wrongly")
    return 0 if good and noticed else 1


def main() -> int:
    import matplotlib

    import farrowtide
    from farrowtide.scenarios import starters
    from farrowtide.teaching.lessons import copy_lessons

    if "--self-test" in sys.argv:
        return self_test()
    matplotlib.use("agg")
    vars(farrowtide)["doubt"] = functools.partial(farrowtide.doubt, draws=DRAWS)
    mistakes = []
    found = snippets()
    for (page, kind), code in found.items():
        print(f"{page}: {len(code)} of {kind}", flush=True)
        with tempfile.TemporaryDirectory() as folder:
            os.chdir(folder)
            Path("scenarios").symlink_to(ROOT / "scenarios")
            starters.write("feeding", Path("feeding.yaml"))
            copy_lessons(Path("class"))
            wrong = run_python(code) if kind == "python" else compile_cpp(code)
            os.chdir(ROOT)
        mistakes += [f"{page}: {wrong}"] if wrong else []
    print("\n".join(mistakes) or "all that the documentation shows of Python runs, and its C++ compiles")
    return 1 if mistakes or not found else 0


if __name__ == "__main__":
    sys.exit(main())

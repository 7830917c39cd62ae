"""Mutants: how many small mistakes the tests notice. README.md beside this says how to run it."""

from __future__ import annotations

import argparse

import against_tests
import sample


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument(
        "step", choices=("choose", "build", "reach-cxx", "reach-python", "run-cxx", "run-python", "page")
    )
    parser.add_argument("options", nargs="*", help="passed on to pytest by reach-python; targets of build, if not all")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--most", type=float, default=120.0, metavar="SECONDS", help="of Python tests for each mutant")
    parser.add_argument("--again", action="store_true", help="try again what was not noticed")
    parser.add_argument("--backwards", action="store_true", help="from the other end, beside another process")
    given, further = parser.parse_known_args()
    if further and given.step not in ("build", "reach-python"):
        parser.error(f"unrecognized arguments: {' '.join(further)}")
    if given.step != "choose":
        sample.check(given.seed)
    if given.step == "choose":
        sample.begin(given.seed)
    elif given.step == "build":
        import cxx_build

        refused = cxx_build.build(given.seed, [*given.options, *further])
        mutants = sample.read(given.seed)["mutants"]
        sample.write(given.seed, [mutant | {"refused": mutant["id"] in refused} for mutant in mutants])
    elif given.step == "reach-cxx":
        against_tests.reach_cxx(given.seed)
    elif given.step == "reach-python":
        against_tests.reach_python(given.seed, [*given.options, *further])
    elif given.step.startswith("run-"):
        against_tests.run(
            given.seed, given.step.removeprefix("run-"), most_s=given.most, again=given.again, backwards=given.backwards
        )
    else:
        import mutants_page

        mutants_page.write([given.seed])


if __name__ == "__main__":
    main()

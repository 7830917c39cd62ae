"""Writes .site/generated/licences.md: the licences of what farrowtide needs. With --check: fails if it is not current."""

import re
import sys
import tomllib
from collections.abc import Iterator
from importlib import metadata
from pathlib import Path

# Of C++: name, SPDX licence, package of Debian ("" for one of Python).
LIBRARIES = (
    ("Boost", "BSL-1.0", "libboost-dev"),
    ("Eigen", "MPL-2.0", "libeigen3-dev"),
    ("pybind11", "BSD-3-Clause", ""),
    ("Random123", "BSD-3-Clause", "librandom123-dev"),
    ("yaml-cpp", "MIT", "libyaml-cpp-dev"),
)

HEAD = """# Licences of dependencies

Written by `.ci/write_licences.py`. farrowtide itself is under Apache-2.0 ([LICENSE](../../LICENSE)).

## Libraries in C++

The engine is compiled with these; of them only yaml-cpp is linked as a library, and a wheel contains it. Their notices are in
the wheel's `.dist-info/licenses`, their exact versions in its `.dist-info/sboms`.

| library | licence |
|---|---|
{libraries}

## Python packages

What is installed with `pip install farrowtide`, as the packages themselves say. Exact versions: `.ci/constraints.txt`.

| package | licence |
|---|---|
"""


def needed(requirements: list[str], seen: set[str]) -> Iterator[str]:
    """The packages that these requirements name, and those that they need, without extras and special cases."""
    for requirement in requirements:
        package, marker = re.match(r"([\w.-]+)[^;]*(?:;(.*))?", requirement).groups()
        key = re.sub(r"[-_.]+", "-", package).lower()
        if (
            key in seen
            or "extra" in (marker or "")
            or "platform" in (marker or "")
            or "python_version" in (marker or "")
        ):
            continue
        seen.add(key)
        yield key
        yield from needed(metadata.requires(key) or [], seen)


def licence(package: str) -> str:
    """The licence as an SPDX expression where the package has one, else in its own words."""
    about = metadata.metadata(package)
    classified = [
        text.rpartition(" :: ")[2] for text in about.get_all("Classifier") or [] if text.startswith("License ::")
    ]
    words = about.get("License-Expression") or ", ".join(classified) or (about.get("License") or "").strip()
    return words.partition("\n")[0].replace("|", "\\|") or "not stated"


def main() -> int:
    root = Path(__file__).resolve().parent.parent
    page = root / ".site" / "generated" / "licences.md"
    dependencies = tomllib.loads((root / "pyproject.toml").read_text(encoding="utf-8"))["project"]["dependencies"]
    libraries = "\n".join(f"| {name} | {spdx} |" for name, spdx, _ in LIBRARIES)
    text = HEAD.format(libraries=libraries) + "".join(
        f"| {name} | {licence(name)} |\n" for name in sorted(needed(dependencies, set()))
    )
    if "--check" not in sys.argv:
        page.write_text(text, encoding="utf-8")
        return 0
    if page.exists() and page.read_text(encoding="utf-8") == text:
        return 0
    print(".site/generated/licences.md is not current: python .ci/write_licences.py", file=sys.stderr)
    return 1


if __name__ == "__main__":
    sys.exit(main())

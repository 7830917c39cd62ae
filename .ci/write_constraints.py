"""Writes .ci/constraints.txt: one version of every package that quickstart and CI use, and the SHA-256 of its files.

pip refuses a download that is not one of them. Versions stay as they are, a package that is missing gets its newest
version, with --upgrade all do: a new package is added to pyproject.toml, then this is run. It needs the network and
`pip install farrowtide[wheel]`. With --check, offline: every package of this environment is listed with its version and
has hashes.
"""

import re
import subprocess
import sys
import tempfile
import tomllib
from importlib import metadata
from pathlib import Path

from packaging.markers import Marker
from packaging.utils import canonicalize_name, parse_wheel_filename

ROOT = Path(__file__).resolve().parent.parent
CONSTRAINTS = ROOT / ".ci" / "constraints.txt"
HEAD = """# Exact versions that quickstart and CI use, with the SHA-256 of the files for Linux on x86-64 and 64-bit ARM.
# Written by .ci/write_constraints.py.
"""
PYTHONS = ("3.11", "3.12", "3.13", "3.14")  # those that quickstart takes
MACHINES = ("x86_64", "aarch64")
# pip itself, since Debian 12's does not read hashes of constraints; setuptools builds what has no wheel.
TOOLS = ("pip>=25.3", "setuptools")


def versions() -> dict[str, str]:
    """The versions that the file holds."""
    lines = re.findall(r"(?m)^([\w.-]+)==([^\s;\\]+)", CONSTRAINTS.read_text(encoding="utf-8"))
    return {canonicalize_name(name): version for name, version in lines}


def resolved(keep: dict[str, str]) -> list[dict]:
    """The packages of all extras and of the build, with their files, as pylock.toml (PEP 751) lists them."""
    project = ROOT / "pyproject.toml"
    build = tomllib.loads(project.read_text(encoding="utf-8"))["build-system"]["requires"]
    with tempfile.TemporaryDirectory() as folder:
        kept, also, lock = (Path(folder, name) for name in ("kept.txt", "also.in", "pylock.toml"))
        kept.write_text("".join(f"{name}=={version}\n" for name, version in keep.items()))
        also.write_text("\n".join([*build, *TOOLS]))
        options = ["--all-extras", "--universal", "--python-version", PYTHONS[0], "--no-config", "--quiet"]
        command = [
            "pip",
            "compile",
            *options,
            "--constraint",
            kept,
            "--format",
            "pylock.toml",
            "-o",
            lock,
            project,
            also,
        ]
        subprocess.run([sys.executable, "-m", "uv", *command], check=True)
        return tomllib.loads(lock.read_text(encoding="utf-8"))["packages"]


def needed(package: dict) -> dict[str, bool]:
    """For each Python, whether Linux needs the package on any of the machines."""
    marker = Marker(package.get("marker", "python_version > '3'"))
    return {
        python: any(
            marker.evaluate(
                {"python_version": python, "python_full_version": f"{python}.0", "platform_machine": machine}
            )
            for machine in MACHINES
        )
        for python in PYTHONS
    }


def runs_here(wheel: str) -> bool:
    """Whether a wheel is for one of the Pythons on one of the machines."""
    pythons = ["cp" + python.replace(".", "") for python in PYTHONS]
    return any(
        (tag.interpreter.startswith("py") or tag.interpreter in pythons or tag.abi == "abi3")
        and (tag.platform == "any" or re.fullmatch(rf"(many)?linux.*({'|'.join(MACHINES)})", tag.platform))
        and not tag.abi.endswith("t")
        for tag in parse_wheel_filename(wheel)[3]
    )


def hashes(package: dict) -> list[str]:
    wheels = [file for file in package.get("wheels", []) if runs_here(file["url"].rpartition("/")[2])]
    sources = [package["sdist"]] if "sdist" in package else []
    return sorted(file["hashes"]["sha256"] for file in wheels + sources)


def entry(package: dict) -> str:
    marker = "" if all(needed(package).values()) else f" ; {package['marker']}"
    lines = [f"{package['name']}=={package['version']}{marker}", *(f"    --hash=sha256:{h}" for h in hashes(package))]
    return " \\\n".join(lines) + "\n"


def check() -> list[str]:
    """What is installed here and not listed, or listed without a hash."""
    held, text = versions(), CONSTRAINTS.read_text(encoding="utf-8")
    unhashed = re.findall(r"(?m)^([\w.-]+==\S+)(?![^\n]*\\\n *--hash)", text)
    installed = {canonicalize_name(d.metadata["Name"]): d.version for d in metadata.distributions()}
    return [f"{line}: no hash" for line in unhashed] + [
        f"{name}=={version}: is installed, {held.get(name, 'no version')} is listed"
        for name, version in sorted(installed.items())
        if name != "farrowtide" and held.get(name) != version
    ]


def main() -> int:
    if "--check" in sys.argv:
        wrong = check()
        for line in wrong:
            print(f".ci/constraints.txt: {line}", file=sys.stderr)
        print(f"{len(versions())} packages pinned with hashes, {len(wrong)} problems")
        return 1 if wrong else 0
    packages = resolved({} if "--upgrade" in sys.argv else versions())
    CONSTRAINTS.write_text(HEAD + "".join(entry(p) for p in packages if any(needed(p).values())), encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())

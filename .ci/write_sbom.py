"""Writes a software bill of materials (CycloneDX, JSON): the C++ libraries that the package is compiled with, as Debian
names them, and with --environment PYTHON the Python packages installed there, as cyclonedx-py lists them.

usage: write_sbom.py FILE [--environment PYTHON]; needs `pip install farrowtide[wheel]`.
"""

import argparse
import json
import subprocess
import sys
import tempfile
from importlib import metadata
from pathlib import Path

from cyclonedx.schema import SchemaVersion
from cyclonedx.validation.json import JsonStrictValidator
from write_licences import LIBRARIES

ROOT = Path(__file__).resolve().parent.parent
SCHEMA = SchemaVersion.V1_6


def of_debian(package: str) -> tuple[str, str]:
    """Version and package URL of an installed Debian package."""
    asked = ["dpkg-query", "--show", "--showformat", "${Version} ${Architecture}", package]
    version, machine = subprocess.run(asked, check=True, capture_output=True, text=True).stdout.split()
    return version, f"pkg:deb/debian/{package}@{version}?arch={machine}"


def library(name: str, licence: str, package: str) -> dict:
    if package:
        version, url = of_debian(package)
    else:
        version = metadata.version(name)
        url = f"pkg:pypi/{name}@{version}"
    licences = [{"license": {"id": licence}}]
    return {"type": "library", "bom-ref": url, "name": name, "version": version, "licenses": licences, "purl": url}


def of_environment(python: str) -> dict:
    """What cyclonedx-py says of an environment."""
    options = ["--pyproject", ROOT / "pyproject.toml", "--output-reproducible", "--spec-version", SCHEMA.to_version()]
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder, "environment.cdx.json")
        command = [sys.executable, "-m", "cyclonedx_py", "environment", *options, "--output-file", file, python]
        subprocess.run(command, check=True)
        return json.loads(file.read_text(encoding="utf-8"))


def of_nothing() -> dict:
    component = {"type": "library", "bom-ref": "root-component", "name": "farrowtide"}
    head = {"bomFormat": "CycloneDX", "specVersion": SCHEMA.to_version(), "version": 1}
    return head | {"metadata": {"component": component}, "components": [], "dependencies": []}


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("file", type=Path)
    parser.add_argument("--environment")
    asked = parser.parse_args()
    asked.file.parent.mkdir(parents=True, exist_ok=True)
    bill = of_environment(asked.environment) if asked.environment else of_nothing()
    libraries = [library(*each) for each in LIBRARIES]
    known = {component["bom-ref"] for component in bill["components"]}
    bill["components"] += [each for each in libraries if each["bom-ref"] not in known]
    root = bill["metadata"]["component"]
    root["version"] = metadata.version("farrowtide")
    of_root = next((each for each in bill["dependencies"] if each["ref"] == root["bom-ref"]), None)
    if of_root is None:
        of_root = {"ref": root["bom-ref"]}
        bill["dependencies"].append(of_root)
    of_root["dependsOn"] = sorted({*of_root.get("dependsOn", []), *(each["bom-ref"] for each in libraries)})
    text = json.dumps(bill, indent=1, sort_keys=True) + "\n"
    if wrong := JsonStrictValidator(SCHEMA).validate_str(text):
        print(f"{asked.file}: is no CycloneDX {SCHEMA.to_version()}: {wrong}", file=sys.stderr)
        return 1
    asked.file.write_text(text, encoding="utf-8")
    print(f"{asked.file}: {len(bill['components'])} components")
    return 0


if __name__ == "__main__":
    sys.exit(main())

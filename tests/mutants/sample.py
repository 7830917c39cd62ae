"""Which mutants are tried: a seeded sample of the possible mistakes, of a fixed size in each area."""

from __future__ import annotations

import hashlib
import json
import random
import shutil
from collections.abc import Iterator
from dataclasses import asdict
from pathlib import Path
from typing import Any

import python_sites

ROOT = Path(__file__).parents[2]
PACKAGE = ROOT / "bindings/farrowtide"
Mutant = dict[str, Any]

# How many mutants of each area; C++ areas by the folders that hold them.
CXX_AREAS = {
    "kernel": (55, ["libsim/kernel/"]),
    "policies": (60, ["libsim/policy/"]),
    "equations": (100, [f"libsim/model/{part}/" for part in ("curves", "sow", "litter", "room", "staff")]),
    "processes": (55, ["libsim/model/"]),
}
PYTHON_AREAS = {"statistics": 45, "study": 40, "analysis": 50, "outputs": 37, "engine": 12}
FIRST_OF_PYTHON = 1001


def folder(seed: int) -> Path:
    """Where everything about the sample of a seed is kept."""
    return ROOT / "build/mutants" / str(seed)


def read(seed: int) -> dict[str, Any]:
    return json.loads((folder(seed) / "plan.json").read_text())


def begin(seed: int) -> None:
    """Chooses a sample and forgets what was found about the one before it."""
    mutants = choose(seed)
    shutil.rmtree(folder(seed), ignore_errors=True)
    write(seed, mutants)


def check(seed: int) -> None:
    """A sample holds for the sources that it was chosen from."""
    if read(seed)["sources"] != _sources():
        raise RuntimeError(f"the engine or the package has changed since sample {seed} was chosen: run choose again")


def _sources() -> str:
    """A hash of what can be changed."""
    found = hashlib.sha256()
    for file in sorted([*(ROOT / "libsim").rglob("*.?pp"), *PACKAGE.rglob("*.py")]):
        found.update(file.read_bytes())
    return found.hexdigest()


def write(seed: int, mutants: list[Mutant]) -> None:
    plan = {"sources": _sources(), "mutants": mutants, "python": _by_module(mutants), "core": _core(seed)}
    folder(seed).mkdir(parents=True, exist_ok=True)
    (folder(seed) / "plan.json").write_text(json.dumps(plan, indent=1))


def choose(seed: int) -> list[Mutant]:
    """A sample of every area. No two mutants of C++ overlap, so that all of them can be built together."""
    return [*_cxx(random.Random(f"{seed} C++")), *_python(random.Random(f"{seed} Python"))]


def _cxx(chance: random.Random) -> Iterator[Mutant]:
    import cxx_sites

    by_area: dict[str, list[dict[str, Any]]] = {area: [] for area in CXX_AREAS}
    for site in _all_cxx(cxx_sites):
        by_area[
            next(area for area, (_, folders) in CXX_AREAS.items() if site["file"].startswith(tuple(folders)))
        ].append(site)
    number = 1
    for area, candidates in by_area.items():
        taken: list[dict[str, Any]] = []
        chance.shuffle(candidates)
        for site in candidates:
            if len(taken) < CXX_AREAS[area][0] and not any(_overlap(site, other) for other in taken):
                taken.append(site)
        for site in taken:
            yield {"id": number, "area": area, **site}
            number += 1


def _all_cxx(cxx_sites: Any) -> list[dict[str, Any]]:
    """Reading the engine with libclang takes minutes: kept for the other seeds, until a source changes."""
    kept = ROOT / "build/mutants/cxx_sites.json"
    stamp = max(file.stat().st_mtime for file in (ROOT / "libsim").rglob("*.?pp"))
    if not kept.exists() or kept.stat().st_mtime < stamp:
        found = cxx_sites.sites(ROOT, ["libsim/kernel", "libsim/policy", "libsim/model"])
        kept.parent.mkdir(parents=True, exist_ok=True)
        kept.write_text(json.dumps([asdict(site) for site in found]))
    return json.loads(kept.read_text())


def _overlap(one: dict[str, Any], other: dict[str, Any]) -> bool:
    return one["file"] == other["file"] and one["start"] < other["end"] and other["start"] < one["end"]


def _python(chance: random.Random) -> Iterator[Mutant]:
    number = FIRST_OF_PYTHON
    for area, count in PYTHON_AREAS.items():
        candidates = [
            {"file": str(file.relative_to(ROOT)), **asdict(site)}
            for file in sorted((PACKAGE / area).rglob("*.py"))
            for site in python_sites.sites(file.read_text())
        ]
        for site in chance.sample(candidates, count):
            yield {"id": number, "area": area, **site}
            number += 1


def _by_module(mutants: list[Mutant]) -> dict[str, Any]:
    """What the import hook needs: for each module its file, and the mutant of each number of a site."""
    modules: dict[str, Any] = {}
    for mutant in mutants:
        if mutant["file"].endswith(".py"):
            path = (ROOT / mutant["file"]).relative_to(PACKAGE.parent).with_suffix("")
            name = ".".join(path.parts).removesuffix(".__init__")
            module = modules.setdefault(name, {"file": str(ROOT / mutant["file"]), "wanted": {}})
            module["wanted"][mutant["number"]] = mutant["id"]
    return modules


def _core(seed: int) -> str | None:
    return next((str(file) for file in (folder(seed) / "cxx/bindings").glob("_core*.so")), None)

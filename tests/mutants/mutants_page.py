"""Writes .site/generated/mutants.md: how many mutants of the samples are noticed, by whom, and why each of the others is not."""

from __future__ import annotations

import collections
from pathlib import Path
from typing import Any

import against_tests
import sample
import yaml

PAGE = sample.ROOT / ".site/generated/mutants.md"
REASONS = Path(__file__).parent / "survivors.yaml"
NOT_TRIED = "not tried on the test that notices it: "
HEAD = """<!-- written by tests/mutants/mutants.py page; do not edit -->
# Mutants

A mutant is the engine or the package with one small mistake built in: `<` for `<=`, `+` for `-`, a condition turned
round, a number one larger, a statement left out. A test suite that is worth its time notices it.
[How they are made, chosen and run](../../tests/mutants/README.md).

Golden tests hold rounded results of two scenarios and so notice nearly any change of numbers; the share that counts is the one without
them.
"""


def write(seeds: list[int]) -> None:
    parts = [HEAD, *(_sample(seed) for seed in seeds)]
    PAGE.write_text("\n".join(parts))
    print(PAGE)


def outcomes(seed: int) -> list[dict[str, Any]]:
    """Each mutant that was noticed, or that all kinds of tests were tried on, with the kind that noticed it."""
    cxx, python = (
        {line["id"]: line for line in against_tests.lines(sample.folder(seed) / f"results_{part}.jsonl")}
        for part in ("cxx", "python")
    )
    found = []
    for mutant in sample.read(seed)["mutants"]:
        if mutant.get("refused"):
            continue
        by_cxx, by_python = cxx.get(mutant["id"], {}), python.get(mutant["id"], {})
        kind = by_cxx.get("kind")
        if kind in (None, "golden") and by_python.get("kind"):
            kind = "python"
        found.append({**mutant, "kind": kind, "done": kind not in (None, "golden") or bool(by_python)})
    return [mutant for mutant in found if mutant["done"]]


def _sample(seed: int) -> str:
    tried = outcomes(seed)
    left = sum(not mutant.get("refused") for mutant in sample.read(seed)["mutants"]) - len(tried)
    untried = [f"{left} mutants of this sample have not been tried yet.\n"] if left else []
    return "\n".join([f"## Sample {seed}\n", *untried, _by_area(tried), "", _by_kind(tried), "", _survivors(tried)])


def _by_area(tried: list[dict[str, Any]]) -> str:
    rows = ["| area | mutants | noticed without golden tests | noticed |", "|---|---|---|---|"]
    for area in (*sample.CXX_AREAS, *sample.PYTHON_AREAS, None):
        mutants = [mutant for mutant in tried if area in (None, mutant["area"])]
        if mutants:
            plain = sum(mutant["kind"] not in (None, "golden") for mutant in mutants)
            noticed = sum(mutant["kind"] is not None for mutant in mutants)
            rows.append(
                f"| {area or '**all**'} | {len(mutants)} | {_share(plain, mutants)} | {_share(noticed, mutants)} |"
            )
    return "\n".join(rows)


def _share(count: int, mutants: list[Any]) -> str:
    return f"{count} ({100 * count / len(mutants):.0f} %)"


def _by_kind(tried: list[dict[str, Any]]) -> str:
    counts = collections.Counter(mutant["kind"] for mutant in tried)
    told = ", ".join(f"{kind} {counts[kind]}" for kind in against_tests.KINDS if counts[kind])
    reasons = _reasons()
    lost = [mutant for mutant in tried if mutant["kind"] in (None, "golden")]
    same = sum(str(reasons.get(key(mutant), "")).startswith("equivalent") for mutant in lost)
    share = _share(len(tried) - len(lost), [None] * (len(tried) - same))
    return (
        f"First noticed by: {told}. Of all but the {same} that are equivalent to what they replace, "
        f"{share} are noticed without golden tests."
    )


def _survivors(tried: list[dict[str, Any]]) -> str:
    reasons = _reasons()
    rows = ["| not noticed | change | why |", "|---|---|---|"]
    for mutant in tried:
        if mutant["kind"] in (None, "golden"):
            reason = reasons.get(key(mutant), "**no reason entered**")
            also = " (golden tests notice it)" if mutant["kind"] else ""
            cells = f"`{mutant['file']}:{mutant['line']}`", f"`{_cell(mutant['change'])}`", f"{reason}{also}"
            rows.append(f"| {' | '.join(cells)} |")
    return "\n".join(rows) + "\n"


def named_tests(seed: int) -> dict[int, str]:
    """By mutant: the test that notices it, where survivors.yaml says that it was not tried."""
    reasons = _reasons()
    of_each = {each["id"]: str(reasons.get(key(each), "")) for each in sample.read(seed)["mutants"]}
    return {each: reason.removeprefix(NOT_TRIED) for each, reason in of_each.items() if reason.startswith(NOT_TRIED)}


def _reasons() -> dict[str, str]:
    return yaml.safe_load(REASONS.read_text()) or {}


def key(mutant: dict[str, Any]) -> str:
    """What a survivor is called in survivors.yaml."""
    return f"{mutant['file']}:{mutant['line']} {' '.join(mutant['change'].split())}"


def _cell(text: str) -> str:
    return " ".join(text.split()).replace("|", "\\|").replace("`", "'")

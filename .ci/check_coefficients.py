#!/usr/bin/env python3
"""Fail on a coefficient without value, unit, range, grade or source, and count the grades. `--self-test` tries samples.

Grade A is a published value, B derived or fitted to published values, C practice or assumption, and says so as its source.
"""

import math
import re
import sys
from collections import Counter
from collections.abc import Hashable, Iterator
from pathlib import Path

import yaml

FILES = Path(__file__).resolve().parent.parent / "libsim" / "coefficients"
NEEDED = {"value", "unit", "low", "high", "grade", "source"}
ALLOWED = NEEDED | {"note", "axis"}
SOURCES_OF_C = {"assumption", "common practice, no source"}
ADDRESS = re.compile(r"https?:|www\.")


class Strict(yaml.SafeLoader):
    """A loader that refuses repeated keys."""

    def construct_mapping(self, node: yaml.MappingNode, deep: bool = False) -> dict[Hashable, object]:
        counts = Counter(key.value for key, _ in node.value)
        if twice := [key for key, count in counts.items() if count > 1]:
            raise yaml.YAMLError(f"repeated key {', '.join(twice)}{node.start_mark}")
        return super().construct_mapping(node, deep=True)


def is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value)


def range_mistakes(entry: dict) -> Iterator[str]:
    value, low, high, axis = entry["value"], entry["low"], entry["high"], entry.get("axis")
    columns = [value, low, high]
    if len({isinstance(column, list) for column in columns} | {axis is not None}) != 1:
        yield "value, low, high and axis are a table together or not at all"
        return
    if axis is not None:
        if set(axis) != {"name", "unit", "at"}:
            yield "an axis has name, unit and at"
        elif len({len(column) for column in [*columns, axis["at"]]}) != 1:
            yield "value, low, high and axis are not of one length"
    for least, middle, most in zip(low, value, high, strict=False) if axis is not None else [(low, value, high)]:
        if not all(map(is_number, (least, middle, most))) or not least <= middle <= most:
            yield f"not low <= value <= high: {least} {middle} {most}"


def entry_mistakes(entry: dict) -> Iterator[str]:
    if missing := NEEDED - entry.keys():
        yield f"has no {', '.join(sorted(missing))}"
        return
    if unknown := entry.keys() - ALLOWED:
        yield f"has an unknown {', '.join(sorted(unknown))}"
    for name in ("unit", "source", "note"):
        text = entry.get(name, "-")
        if not isinstance(text, str) or not text.strip() or "\n" in text or ADDRESS.search(text):
            yield f"{name} is not one line of text without an address"
    if entry["grade"] not in ("A", "B", "C"):
        yield f"grade {entry['grade']}"
    if (entry["grade"] == "C") != (entry["source"] in SOURCES_OF_C):
        yield f"grade {entry['grade']} with source '{entry['source']}'"
    yield from range_mistakes(entry)


def entries(tree: dict, path: str) -> Iterator[tuple[str, dict | None]]:
    """Every coefficient below a group; None for what is neither a coefficient nor a group."""
    for key, node in tree.items():
        where = f"{path}.{key}"
        if not isinstance(node, dict) or not re.fullmatch(r"[a-z][a-z0-9_]*", str(key)):
            yield where, None
        elif "value" in node:
            yield where, node
        else:
            yield from entries(node, where)


def mistakes(text: str, name: str, grades: Counter) -> list[str]:
    try:
        tree = yaml.load(text, Strict)
    except yaml.YAMLError as error:
        return [f"{name}: {error}"]
    found = []
    for where, entry in entries(tree, name):
        if entry is None:
            found.append(f"{where}: neither a coefficient nor a group named in snake_case")
            continue
        grades[entry.get("grade")] += 1
        found += [f"{where}: {why}" for why in entry_mistakes(entry)]
    return found


GOOD = 'a: {value: 1.5, unit: "kg", low: 1, high: 2, grade: A, source: "Author 2007, Journal 1:2"}'
TABLE = 'a: {value: [1, 2], unit: "kg", low: [1, 1], high: [2, 2], grade: C, source: "assumption", axis: {name: p, unit: "-", at: [1, 2]}}'
BAD = [
    GOOD.replace("value: 1.5", "value: 2.5"),
    GOOD.replace("value: 1.5", "value: .nan"),
    GOOD.replace("value: 1.5", "value: yes"),
    GOOD.replace("value: 1.5", "value: [1.5]"),
    GOOD.replace('unit: "kg"', 'unit: ""'),
    GOOD.replace("low: 1, ", ""),
    GOOD.replace("grade: A", "grade: C"),
    GOOD.replace("grade: A", "grade: D"),
    GOOD.replace("Author 2007, Journal 1:2", "assumption"),
    GOOD.replace("source", "sauce"),
    GOOD.replace("a:", "aB:"),
    GOOD + "\n" + GOOD,
    "a: 3",
    TABLE.replace("at: [1, 2]", "at: [1]"),
    TABLE.replace("high: [2, 2]", "high: [2, 1]"),
    TABLE.replace('unit: "-", at', "at"),
]


def self_test() -> list[str]:
    noisy = [f"refused without reason: {text}" for text in (GOOD, TABLE) if mistakes(text, "x", Counter())]
    return noisy + [f"not noticed: {text}" for text in BAD if not mistakes(text, "x", Counter())]


def main() -> int:
    if "--self-test" in sys.argv:
        found = self_test()
        print("\n".join(found) or "every sample is judged correctly")
        return 1 if found else 0
    found, total = [], Counter()
    for file in sorted(FILES.glob("*.yaml")):
        grades: Counter = Counter()
        found += mistakes(file.read_text(encoding="utf-8"), file.stem, grades)
        total += grades
        print(f"{file.stem:8} {grades.total():4}  " + "  ".join(f"{grade} {grades[grade]:3}" for grade in "ABC"))
    print(f"{'all':8} {total.total():4}  " + "  ".join(f"{grade} {total[grade]:3}" for grade in "ABC"))
    if not total:
        found.append("no coefficient was found")
    print("\n".join(found) or "every coefficient has value, unit, range, grade and source")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())

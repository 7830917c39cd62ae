#!/usr/bin/env python3
"""Fail on an include that goes upwards: kernel < scenario < policy < record < model < run < bindings.

Rows are written and never read: in the model only the files that build rows and the one that puts them into tables may
know what a row holds. --self-test tries samples.
"""

import re
import sys
from pathlib import Path

LAYERS = ["kernel", "scenario", "policy", "record", "model", "run", "bindings"]
# Below the assembly of the model stand its parts, which know neither it nor each other.
PARTS = {"sow", "litter", "room", "staff"}
# Below the parts, for any of them: tables of coefficients read as functions. They know coefficients only.
CURVES = "libsim/model/curves/"
# Between the parts and the assembly: the sections of a scenario, made of the parts' types.
SETTINGS = "libsim/model/settings/"
# The model's vocabulary: headers beside the assembly that the parts share because they include nothing of it.
VOCABULARY = {"libsim/model/purpose.hpp"}
# A foreign library shows in one place only.
ONLY_IN = {"yaml-cpp/": "libsim/scenario/", "Random123/": "libsim/kernel/", "pybind11/": "bindings/"}
# What a row holds, and the files of the model that may know it.
ROWS = {"libsim/record/rows.hpp", "libsim/record/words.hpp", "libsim/model/room_tables.hpp"}
KNOW_ROWS = {
    f"libsim/model/{name}"
    for name in (
        "room_tables.hpp",
        "room_records.cpp",
        "sow_rows.cpp",
        "death_record.cpp",
        "task_record.cpp",
        "room_weather.cpp",
        "work_hours.cpp",
    )
}
INCLUDE = re.compile(r'^\s*#\s*include\s*(?:"(?P<own>[^"]+)"|<(?P<foreign>[^>]+)>)', re.MULTILINE)


def layer(path: str) -> str | None:
    first, *rest = path.split("/")
    if first == "libsim" and len(rest) > 1:
        return rest[0]
    return "bindings" if first == "bindings" else None


def part(path: str) -> str | None:
    pieces = path.split("/")
    return pieces[2] if pieces[:2] == ["libsim", "model"] and len(pieces) > 3 and pieces[2] in PARTS else None


def complaint(path: str, own: str | None, foreign: str | None) -> str | None:
    if foreign:
        homes = [home for library, home in ONLY_IN.items() if foreign.startswith(library)]
        return f"only {homes[0]} may include it" if homes and not path.startswith(homes[0]) else None
    if layer(own) not in LAYERS:
        return 'write it from the repository root: "libsim/<layer>/<name>.hpp"'
    if LAYERS.index(layer(own)) > LAYERS.index(layer(path)):
        return f"{layer(path)} lies below {layer(own)}"
    if path.startswith(CURVES) and not own.startswith(CURVES) and layer(own) not in ("kernel", "scenario"):
        return "model/curves may include only itself, the kernel and scenario"
    shared = own in VOCABULARY or own.startswith(CURVES)
    if part(path) and layer(own) == "model" and part(own) != part(path) and not shared:
        return f"model/{part(path)} may include neither the assembly nor another part"
    if path.startswith(SETTINGS) and layer(own) == "model" and not (part(own) or own.startswith(SETTINGS)):
        return "model/settings may not include the assembly"
    if own in ROWS and layer(path) == "model" and path not in KNOW_ROWS:
        return "a row is written, never read: keep state, and build the row where rows are built"
    return None


def complaints(root: Path) -> list[str]:
    found = []
    for file in sorted([*root.glob("libsim/**/*.[ch]pp"), *root.glob("bindings/*.[ch]pp")]):
        path, text = file.relative_to(root).as_posix(), file.read_text(encoding="utf-8")
        if layer(path) not in LAYERS:
            found.append(f"{path}: belongs to no layer ({', '.join(LAYERS)})")
            continue
        for match in INCLUDE.finditer(text):
            if why := complaint(path, match["own"], match["foreign"]):
                line = text.count("\n", 0, match.start()) + 1
                found.append(f"{path}:{line}: includes {match['own'] or match['foreign']}: {why}")
    return found


REFUSED = [
    ("libsim/kernel/time.hpp", "libsim/scenario/units.hpp", None),
    ("libsim/model/sow/milk.cpp", "libsim/model/litter/survival.hpp", None),
    ("libsim/model/sow/milk.cpp", "libsim/model/sow.hpp", None),
    ("libsim/model/curves/knot_curve.hpp", "libsim/model/sow/milk.hpp", None),
    ("libsim/model/curves/knot_curve.hpp", "libsim/record/kinds.hpp", None),
    ("libsim/model/sow.hpp", "rows.hpp", None),
    ("libsim/model/sow.hpp", "libsim/record/rows.hpp", None),
    ("libsim/model/weaning.cpp", "libsim/record/rows.hpp", None),
    ("libsim/model/sow_rows.hpp", "libsim/record/rows.hpp", None),
    ("libsim/model/room_records.hpp", "libsim/model/room_tables.hpp", None),
    ("libsim/model/sow/milk.cpp", "libsim/record/rows.hpp", None),
    ("libsim/model/sow.hpp", None, "yaml-cpp/yaml.h"),
]
ALLOWED = [
    ("libsim/model/sow.hpp", "libsim/record/kinds.hpp", None),
    ("libsim/model/sow/milk.cpp", "libsim/model/purpose.hpp", None),
    ("libsim/model/sow/milk.hpp", "libsim/model/curves/parity_table.hpp", None),
    ("libsim/model/curves/knot_curve.hpp", "libsim/scenario/coefficients.hpp", None),
    ("libsim/model/sow_rows.cpp", "libsim/record/rows.hpp", None),
    ("libsim/run/replications.hpp", "libsim/model/room_tables.hpp", None),
    ("libsim/scenario/yaml_tree.cpp", None, "yaml-cpp/yaml.h"),
]


def self_test() -> int:
    wrong = [f"not refused: {sample}" for sample in REFUSED if not complaint(*sample)]
    wrong += [f"wrongly refused: {sample}" for sample in ALLOWED if complaint(*sample)]
    root = Path(__file__).resolve().parent.parent
    wrong += [f"{path} is gone: take it off the list" for path in sorted(KNOW_ROWS) if not (root / path).exists()]
    print("\n".join(wrong) or f"{len(REFUSED)} bad and {len(ALLOWED)} good samples, none judged wrongly")
    return 1 if wrong else 0


if __name__ == "__main__":
    if sys.argv[1:] == ["--self-test"]:
        sys.exit(self_test())
    found = complaints(Path(__file__).resolve().parent.parent)
    print("\n".join(found) or "every include goes downwards")
    sys.exit(1 if found else 0)

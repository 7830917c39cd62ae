#!/usr/bin/env python3
"""Fail on an include that goes upwards: kernel < scenario < policy < record < model < run < bindings."""

import re
import sys
from pathlib import Path

LAYERS = ["kernel", "scenario", "policy", "record", "model", "run", "bindings"]
# Below the assembly of the model stand its parts, which know neither it nor each other.
PARTS = {"sow", "litter", "room", "staff"}
# Between the parts and the assembly: the sections of a scenario, made of the parts' types.
SETTINGS = "libsim/model/settings/"
# The model's vocabulary: headers beside the assembly that the parts share because they include nothing of it.
VOCABULARY = {"libsim/model/purpose.hpp"}
# A foreign library shows in one place only.
ONLY_IN = {"yaml-cpp/": "libsim/scenario/", "Random123/": "libsim/kernel/", "pybind11/": "bindings/"}
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
    if part(path) and layer(own) == "model" and part(own) != part(path) and own not in VOCABULARY:
        return f"model/{part(path)} may include neither the assembly nor another part"
    if path.startswith(SETTINGS) and layer(own) == "model" and not (part(own) or own.startswith(SETTINGS)):
        return "model/settings may not include the assembly"
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


if __name__ == "__main__":
    found = complaints(Path(__file__).resolve().parent.parent)
    print("\n".join(found) or "every include goes downwards")
    sys.exit(1 if found else 0)

"""The engine's numbers without the engine: its coefficient files, read by another YAML reader."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import yaml

FILES = Path(__file__).parents[2] / "libsim/coefficients"


@cache
def read(file: str) -> SimpleNamespace:
    """`read("sow").milk.heat.slope`: every value of a file, as its groups are nested."""
    return _values(yaml.safe_load((FILES / f"{file}.yaml").read_text(encoding="utf-8")))


def _values(node: dict[str, Any]) -> Any:
    if "value" in node:
        return node["value"]
    return SimpleNamespace(**{name: _values(each) for name, each in node.items() if isinstance(each, dict)})

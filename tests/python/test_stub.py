"""The stub of the extension module says what is there, and nothing that is not."""

import ast
import inspect
from pathlib import Path

from farrowtide import _core

STUB = Path(__file__).parents[2] / "bindings/farrowtide/_core.pyi"


def names_in(body):
    return {
        node.name if hasattr(node, "name") else node.target.id
        for node in body
        if hasattr(node, "name") or hasattr(node, "target")
    }


def public(holder):
    return {name for name, _ in inspect.getmembers(holder) if not name.startswith("_")}


def test_the_stub_names_what_the_module_has():
    module = ast.parse(STUB.read_text(encoding="utf-8"))
    assert names_in(module.body) == public(_core)
    for node in module.body:
        if isinstance(node, ast.ClassDef) and not issubclass(getattr(_core, node.name), Exception):
            described = {name for name in names_in(node.body) if not name.startswith("_")}
            assert described == public(getattr(_core, node.name)), node.name

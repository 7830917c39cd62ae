"""The stub of the extension module names what the module has, with the same parameters, and nothing else."""

import ast
import inspect
import re
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


def functions_in(body, holder):
    """The stub's public functions below a module or class, each with the engine's function of the same name."""
    for node in body:
        if isinstance(node, ast.ClassDef):
            yield from functions_in(node.body, getattr(holder, node.name))
        elif (
            isinstance(node, ast.FunctionDef) and not node.name.startswith("_") and callable(getattr(holder, node.name))
        ):
            yield node, getattr(holder, node.name)


def test_the_stub_gives_each_function_the_parameters_that_it_has():
    functions = list(functions_in(ast.parse(STUB.read_text(encoding="utf-8")).body, _core))
    assert len(functions) > 30
    for node, function in functions:
        signature = function.__doc__.splitlines()[0].split(" -> ")[0]
        described = [argument.arg for argument in (*node.args.args, *node.args.kwonlyargs)]
        assert [name for name in described if name != "self"] == [
            name for name in re.findall(r"(\w+): ", signature) if name != "self"
        ], node.name

"""The pages of the Python interface, from docstrings."""

import inspect

import farrowtide

MODULES = ("labour", "pairing", "policies", "records", "selecting")
PYTHON = """# Python

Everything that `import farrowtide` offers, from the docstrings. How the package is built inside:
[its layers](../development/package.md).
"""


def pages() -> dict[str, str]:
    """The text of each page."""
    public = {name: getattr(farrowtide, name) for name in farrowtide.__all__}
    errors = [name for name, value in public.items() if inspect.isclass(value) and issubclass(value, BaseException)]
    classes = [name for name, value in public.items() if inspect.isclass(value) and name not in errors]
    functions = [name for name in public if name not in (*errors, *classes)]
    found = {
        "functions": "# Functions\n\n" + _directives("autofunction", functions),
        "classes": "# What they return\n\n" + _directives("autoclass", classes),
        "errors": "# Errors and warnings\n\n" + _directives("autoexception", errors),
    }
    for module in MODULES:
        found[module] = f"# farrowtide.{module}\n\n" + _rst(
            f".. automodule:: farrowtide.{module}\n   :members:\n   :imported-members:"
        )
    below = {f"reference/python_{name}": text for name, text in found.items()}
    return {"reference/python": PYTHON + contents([f"python_{name}" for name in found])} | below


def _directives(kind: str, names: list[str]) -> str:
    members = "" if kind == "autofunction" else "\n   :members:\n   :inherited-members: BaseException, object"
    return "\n".join(f"## {name}\n\n{_rst(f'.. {kind}:: farrowtide.{name}{members}')}" for name in names)


def contents(names: list[str]) -> str:
    """A table of contents of pages in the same folder."""
    return "\n".join(["", "```{toctree}", ":maxdepth: 2", "", *names, "```", ""])


def _rst(text: str) -> str:
    return f"```{{eval-rst}}\n{text}\n```\n"

"""What the import linter cannot see: nothing inside the package imports it from its top, except the compiled engine."""

import ast
from pathlib import Path

PACKAGE = Path(__file__).parents[2] / "bindings/farrowtide"


def imported_from_the_top(source: str) -> set[str]:
    names = set()
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.ImportFrom) and node.module == "farrowtide" and node.level == 0:
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names if alias.name == "farrowtide"}
    return names


def test_a_public_name_imported_from_the_top_is_seen():
    assert imported_from_the_top("def f():\n    from farrowtide import compare") == {"compare"}
    assert imported_from_the_top("import farrowtide") == {"farrowtide"}


def test_no_module_imports_a_public_name_from_the_top():
    files = sorted(PACKAGE.rglob("*.py"))
    assert len(files) > 100
    modules = {path.stem for path in PACKAGE.iterdir()} | {"_core"}
    upward = {
        str(file.relative_to(PACKAGE)): names - modules
        for file in files
        if (names := imported_from_the_top(file.read_text(encoding="utf-8"))) - modules
    }
    assert upward == {}

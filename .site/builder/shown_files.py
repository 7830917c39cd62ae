"""Files of the repository as pages: source code with numbered lines, and lists of the files in a folder."""

import html
import os
import shutil
from pathlib import Path, PurePosixPath

from links import SHOWN, shown_at
from pygments import highlight
from pygments.formatters import HtmlFormatter
from pygments.lexers import TextLexer, get_lexer_for_filename
from pygments.util import ClassNotFound
from tree import ROOT, SITE

PAGE = """<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="color-scheme" content="light dark">
<title>{path} - farrowtide</title>
<link rel="stylesheet" href="{root}_static/shown_files.css">
</head>
<body>
<header><a href="{root}index.html">farrowtide</a> <h1>{path}</h1></header>
<main>
{body}
</main>
</body>
</html>
"""
LIGHT, DARK = HtmlFormatter(style="default"), HtmlFormatter(style="github-dark")
LINES = HtmlFormatter(linenos="inline", lineanchors="L", anchorlinenos=True, wrapcode=True)


def write(paths: set[str]) -> None:
    """Writes the page of each file, and of each folder with those of its files."""
    shutil.rmtree(SITE / SHOWN, ignore_errors=True)
    waiting = set(paths)
    written: set[str] = set()
    while waiting:
        path = waiting.pop()
        written.add(path)
        if (ROOT / path).is_dir():
            inside = _files_in(path)
            waiting |= set(inside) - written
            _write(path, _listed(path, inside))
        else:
            _write(path, _coloured(ROOT / path))
    _write_style()


def _files_in(folder: str) -> list[str]:
    return [
        file.relative_to(ROOT).as_posix()
        for file in sorted((ROOT / folder).rglob("*"))
        if file.is_file() and not {"__pycache__", "results"} & set(file.relative_to(ROOT).parts)
    ]


def _listed(folder: str, files: list[str]) -> str:
    here = PurePosixPath(shown_at(folder)).parent
    rows = (
        f'<li><a href="{os.path.relpath(shown_at(file), here)}">{os.path.relpath(file, folder)}</a></li>'
        for file in files
    )
    listed = "\n".join(rows)
    return f"<ul>\n{listed}\n</ul>" if files else "<p>No files.</p>"


def _coloured(file: Path) -> str:
    text = file.read_text(encoding="utf-8", errors="replace")
    try:
        lexer = get_lexer_for_filename(file.name)
    except ClassNotFound:
        lexer = TextLexer()
    return highlight(text, lexer, LINES)


def _write(path: str, body: str) -> None:
    page = SITE / shown_at(path)
    page.parent.mkdir(parents=True, exist_ok=True)
    root = "../" * (len(PurePosixPath(shown_at(path)).parts) - 1)
    page.write_text(PAGE.format(path=html.escape(path), root=root, body=body), encoding="utf-8")


def _write_style() -> None:
    own = (ROOT / ".site/builder/shown_files.css").read_text(encoding="utf-8")
    light, dark = LIGHT.get_style_defs(".highlight"), DARK.get_style_defs(".highlight")
    style = f"{light}\n@media (prefers-color-scheme: dark) {{\n{dark}\n}}\n{own}"
    (SITE / "_static/shown_files.css").write_text(style, encoding="utf-8")

"""Copies the pages of the repository into the folder that Sphinx reads, with links between pages."""

import shutil
from pathlib import Path

import nbformat
from links import Links
from tree import FRONT, ROOT, SECTIONS, SITE, SOURCE, contents, pages

TITLES = {"tutorial/overview": "What it is for"}  # at the side, where the page's own would not do


def assemble(lessons: dict[str, nbformat.NotebookNode], references: dict[str, str], commands: set[str]) -> set[str]:
    """Writes the folder of sources; returns the files that pages link to and that are no pages themselves.

    `lessons`: executed, by file. `references`: the text of pages written from the code, by page. `commands`: their names.
    """
    of_file = {file: page for file, page in pages().items() if not file.endswith(".py") or file in lessons}
    links = Links(of_file, dict.fromkeys(lessons, ".ipynb"), commands)
    texts = {f"{page}.md": text for page, text in references.items()}
    for file, page in of_file.items():
        if file in lessons:
            texts[f"{page}.ipynb"] = _lesson(lessons[file], file, links)
        else:
            texts[f"{page}.md"] = links.rewritten((ROOT / file).read_text(encoding="utf-8"), file)
    texts[f"{of_file[FRONT]}.md"] += _navigation()
    _write(texts)
    for picture in links.pictures:
        copy = SOURCE / "pictures" / Path(picture).name
        copy.parent.mkdir(exist_ok=True)
        shutil.copy2(ROOT / picture, copy)
    return links.shown


def _lesson(notebook: nbformat.NotebookNode, file: str, links: Links) -> str:
    for cell in notebook.cells:
        if cell.cell_type == "markdown":
            cell.source = links.rewritten(cell.source, file)
    return nbformat.writes(notebook)


def _navigation() -> str:
    """A table of contents for each section, shown at the side only."""
    entries = contents()
    blocks = (
        "\n".join(
            [
                "",
                "```{toctree}",
                ":hidden:",
                f":caption: {section.title}",
                "",
                *map(_entry, entries[section.title]),
                "```",
            ]
        )
        for section in SECTIONS
    )
    return "\n".join(["", *blocks, ""])


def _entry(page: str) -> str:
    return f"{TITLES[page]} <{page}>" if page in TITLES else page


def _write(texts: dict[str, str]) -> None:
    """Writes what has changed, so that Sphinx reads only that again, and removes what is no longer there."""
    for path, text in texts.items():
        file = SOURCE / path
        file.parent.mkdir(parents=True, exist_ok=True)
        if not file.exists() or file.read_text(encoding="utf-8") != text:
            file.write_text(text, encoding="utf-8")
    for file in SOURCE.rglob("*"):
        path = file.relative_to(SOURCE)
        if file.suffix in (".md", ".ipynb") and path.as_posix() not in texts:
            file.unlink()
            (SITE / path.with_suffix(".html")).unlink(missing_ok=True)

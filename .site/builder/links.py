"""Links between files of the repository become links between pages, or to files shown as pages."""

import os
import re
from pathlib import PurePosixPath

from tree import ROOT, WRITTEN_FROM

LINK = re.compile(r"(?<![`\\])(?P<image>!?)\[(?P<text>(?:[^\[\]]|\[[^\]]*\])*)\]\((?P<target>[^()\s]+)\)")
COMMAND = re.compile(r"(?<![\[`])`farrowtide (?P<name>[a-z-]+)`(?!`)")
FENCED = re.compile(r"(^```.*?^```[^\n]*$)", re.MULTILINE | re.DOTALL)
SHOWN = "source"  # the folder of the site in which files are shown


class Links:
    """Rewrites the links of a page, and remembers which files are to be shown and which pictures to be copied."""

    def __init__(self, pages: dict[str, str], suffixes: dict[str, str], commands: set[str]) -> None:
        self.pages, self.suffixes, self.commands = pages | WRITTEN_FROM, suffixes, commands
        self.shown: set[str] = set()
        self.pictures: set[str] = set()

    def rewritten(self, text: str, file: str) -> str:
        """The text of a file with its links as they are on its page."""
        parts = FENCED.split(text)
        return "".join(part if number % 2 else self._outside_code(part, file) for number, part in enumerate(parts))

    def _outside_code(self, text: str, file: str) -> str:
        linked = LINK.sub(lambda match: self._link(match, file), text)
        return COMMAND.sub(lambda match: self._command(match, file), linked)

    def _command(self, match: re.Match[str], file: str) -> str:
        """The name of a command, as a link to its options."""
        to = os.path.relpath("reference/commands.md", PurePosixPath(self.pages[file]).parent)
        return f"[{match[0]}]({to}#farrowtide-{match['name']})" if match["name"] in self.commands else match[0]

    def _link(self, match: re.Match[str], file: str) -> str:
        target = match["target"]
        path, _, anchor = target.partition("#")
        if re.match(r"\w+:", target) or not path:
            return match[0]
        here = PurePosixPath(self.pages[file]).parent
        there = os.path.normpath(PurePosixPath(file).parent / path)
        if not (ROOT / there).exists():
            return match[0]  # for Sphinx to complain of
        if match["image"]:
            self.pictures.add(there)
            return f"![{match['text']}]({os.path.relpath(f'pictures/{PurePosixPath(there).name}', here)})"
        page = self._page_of(there)
        if page:
            to = os.path.relpath(self.pages[page] + self.suffixes.get(page, ".md"), here)
            text = title_of(page) if match["text"].endswith(".md") else match["text"]
            return f"[{text}]({to}{f'#{anchor}' if anchor else ''})"
        self.shown.add(there)
        line = re.match(r"L(\d+)", anchor)
        to = os.path.relpath(shown_at(there), here) + (f"#L-{line[1]}" if line else "")
        return f'<a class="reference internal" href="{to}">{match["text"]}</a>'

    def _page_of(self, there: str) -> str | None:
        """The file whose page shows this file or folder."""
        readme = os.path.normpath(f"{there}/README.md")
        return next((file for file in (there, readme) if file in self.pages), None)


def title_of(file: str) -> str:
    """The first heading of a page."""
    found = re.search(r"^# (.+)$", (ROOT / file).read_text(encoding="utf-8"), re.MULTILINE)
    return found[1] if found else file


def shown_at(path: str) -> str:
    """Where the site shows a file, or the list of files of a folder."""
    return f"{SHOWN}/{path}/index.html" if (ROOT / path).is_dir() else f"{SHOWN}/{path}.html"

"""Fails on a link of the built site that leads nowhere, and on anything that a page would fetch from the network."""

import re
import sys
from functools import cache
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import unquote, urlsplit

from tree import SITE

FETCHED = {
    "audio",
    "embed",
    "iframe",
    "image",
    "img",
    "input",
    "link",
    "object",
    "script",
    "source",
    "track",
    "use",
    "video",
}
STYLE_URL = re.compile(r"""(?:url\(|@import)\s*["']?((?:https?:)?//[^"')\s]+)""")


class Page(HTMLParser):
    """The anchors of a page, its links, and what it loads."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.anchors: set[str] = set()
        self.links: set[str] = set()
        self.loaded: set[str] = set(STYLE_URL.findall(text))
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name: value for name, value in attrs if value}
        self.anchors |= {given[name] for name in ("id", "name") if name in given}
        for name in ("href", "xlink:href", "src", "data", "poster"):
            if name in given and not (tag == "link" and given.get("rel") in ("canonical", "author")):
                (self.loaded if tag in FETCHED else self.links).add(given[name])
        self.loaded |= {choice.split()[0] for choice in re.split(r",\s+", given.get("srcset", "")) if choice.strip()}


@cache
def read(file: Path) -> Page:
    return Page(file.read_text(encoding="utf-8"))


def mistakes_of(file: Path, site: Path) -> list[str]:
    """What is wrong with a page."""
    page = read(file)
    here = file.relative_to(site)
    fetched = [target for target in page.loaded if target.startswith(("http:", "https:", "//"))]
    nowhere = [target for target in page.links | page.loaded if not _leads_somewhere(target, file, site)]
    return [f"{here}: fetches {target}" for target in sorted(fetched)] + [
        f"{here}: leads nowhere: {target}" for target in sorted(nowhere)
    ]


def _leads_somewhere(target: str, file: Path, site: Path) -> bool:
    parts = urlsplit(target)
    if parts.scheme or parts.netloc:
        return True
    there = (file.parent / unquote(parts.path)).resolve() if parts.path else file
    if not there.is_file() or not there.is_relative_to(site.resolve()):
        return False
    anchor = unquote(parts.fragment)
    return not anchor or there.suffix != ".html" or anchor in read(there).anchors


def mistakes(site: Path) -> list[str]:
    """What is wrong with the pages of a site and with its style sheets."""
    pages = sorted(site.rglob("*.html"))
    found = [mistake for file in pages for mistake in mistakes_of(file, site)] if pages else [f"{site}: holds no page"]
    for file in sorted(site.rglob("*.css")):
        urls = STYLE_URL.findall(file.read_text(encoding="utf-8"))
        found += [f"{file.relative_to(site)}: fetches {url}" for url in urls]
    return found


if __name__ == "__main__":
    found = mistakes(SITE)
    print("\n".join(found) or "every link leads somewhere, and nothing is fetched")
    sys.exit(1 if found else 0)

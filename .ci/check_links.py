#!/usr/bin/env python3
"""Fail on a relative link in a tracked Markdown page whose file or heading does not exist. `--self-test` tries samples."""

import re
import subprocess
import sys
from functools import cache
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
LINK = re.compile(r"(?<!`)\[(?:[^\[\]]|\[[^\]]*\])*\]\(([^()\s]+)\)")
CODE_BLOCK = re.compile(r"^```.*?^```", re.MULTILINE | re.DOTALL)
LINE = re.compile(r"L\d+(-L\d+)?")


def headings(text: str) -> set[str]:
    """The anchors of a page's headings, as GitHub makes them."""
    titles = re.findall(r"^#+ (.+)$", CODE_BLOCK.sub("", text), re.MULTILINE)
    return {re.sub(r"[^\w\- ]", "", title.lower()).replace(" ", "-") for title in titles}


@cache
def headings_of(page: Path) -> set[str]:
    return headings(page.read_text(encoding="utf-8"))


def broken_links(text: str, page: Path) -> list[str]:
    """Links of this text, lying at `page`, that lead nowhere."""
    found = []
    for target in LINK.findall(CODE_BLOCK.sub("", text)):
        if re.match(r"\w+:", target):
            continue
        path, _, anchor = target.partition("#")
        file = (page.parent / path).resolve() if path else page
        there = headings(text) if not path else headings_of(file) if file.suffix == ".md" and file.exists() else set()
        if not file.exists() or (anchor and anchor not in there and not LINE.fullmatch(anchor)):
            found.append(target)
    return found


def self_test() -> list[str]:
    page = ROOT / "README.md"
    good = "# A `b.c` title\n[x](#a-bc-title) [y](DEVELOPERS.md) [z](libsim/README.md#L3) ![w](LICENSE)\n```text\n[a](b)\n```\n"
    bad = ["[x](#no-title)", "[x](NOWHERE.md)", "[`x`](libsim/README.md#no-such-heading)", "![x](nowhere.svg)"]
    noisy = [f"refused without reason: {link}" for link in broken_links(good, page)]
    return noisy + [f"not noticed: {text}" for text in bad if not broken_links(text, page)]


def main() -> int:
    if "--self-test" in sys.argv:
        found = self_test()
        print("\n".join(found) or "every sample is judged correctly")
        return 1 if found else 0
    listing = ["git", "ls-files", "-z", "*.md"]
    pages = subprocess.run(listing, cwd=ROOT, capture_output=True, text=True, check=True).stdout.split("\0")[:-1]
    found = []
    for page in map(Path, pages):
        if not (ROOT / page).is_symlink():
            text = (ROOT / page).read_text(encoding="utf-8")
            found += [f"{page}: {target}" for target in broken_links(text, ROOT / page)]
    print("\n".join(found) or f"every relative link of {len(pages)} pages leads somewhere")
    return 1 if found or not pages else 0


if __name__ == "__main__":
    sys.exit(main())

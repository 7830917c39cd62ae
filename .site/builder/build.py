"""Builds the documentation as a site in build/site, to be opened from the folder or served. Fails on any warning."""

import os
import sys
import time
from pathlib import Path

from sphinx.cmd.build import main as sphinx

sys.path.insert(0, str(Path(__file__).parent))
import check_site
import cpp_pages
import lessons
import python_pages
import references
import shown_files
from assemble import assemble
from tree import BUILD, SITE, SOURCE


def main() -> int:
    start = time.monotonic()
    notebooks, mistakes = lessons.all_executed()
    print(f"lessons: {time.monotonic() - start:.0f} s")
    shown = assemble(
        notebooks, references.pages() | python_pages.pages() | cpp_pages.pages(), set(references.main.commands)
    )
    workers = str(os.cpu_count() or 1)
    here = str(Path(__file__).parent)
    options = ["--fail-on-warning", "--keep-going", "--quiet", "-j", workers, "-c", here, "-d", str(BUILD / "doctrees")]
    if sphinx([*options, str(SOURCE), str(SITE)]):
        mistakes.append("Sphinx: see the warnings above")
    shown_files.write(shown)
    mistakes += check_site.mistakes(SITE)
    print("\n".join(mistakes) or f"the site is {SITE}/index.html")
    print(f"{time.monotonic() - start:.0f} s")
    return 1 if mistakes else 0


if __name__ == "__main__":
    sys.exit(main())

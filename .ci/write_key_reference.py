"""Writes .site/generated/keys.md, warnings.md and records.md, from the declarations of keys, the checks that warn, and the
layout of records with its rules.

With --check: fails if a page is not current.
"""

import sys
from pathlib import Path

from farrowtide.records.layout_page import layout_page
from farrowtide.report.warnings_page import warnings_page
from farrowtide.scenarios.key_page import key_page

KEYS = """# Key reference

Every key of a scenario, written by `.ci/write_key_reference.py` from the declarations that also read the files. `farrowtide explain KEY`
prints the entry of one key. How to write a scenario, and which example answers which question:
[scenarios/README.md](../../scenarios/README.md).

"""
WARNINGS = """# Warnings

What to know before trusting a number, written by `.ci/write_key_reference.py` from the checks themselves. `farrowtide check` prints
the warnings about a scenario and about one trial room of each alternative; every command that runs rooms prints those
about the scenario and the results first, and they are in the report and in `--json` (`warnings`). With `--strict`
they are errors. In Python they are `farrowtide.PlausibilityWarning`, and `.warnings` of every result.

"""
RECORDS = """# Records: columns and rules

Written by `.ci/write_key_reference.py` from the schemas and rules that records are checked by. How to read records:
[records](../pages/records.md). The limits are common practice, no source: they say what looks wrong, not what is right.

"""


def main() -> int:
    folder = Path(__file__).resolve().parent.parent / ".site" / "generated"
    pages = {
        folder / "keys.md": KEYS + key_page(),
        folder / "warnings.md": WARNINGS + warnings_page(),
        folder / "records.md": RECORDS + layout_page(),
    }
    if "--check" not in sys.argv:
        for page, text in pages.items():
            page.write_text(text, encoding="utf-8")
        return 0
    old = [page.name for page, text in pages.items() if not page.exists() or page.read_text(encoding="utf-8") != text]
    if old:
        print(f".site/generated: not current: {', '.join(old)}: python .ci/write_key_reference.py", file=sys.stderr)
    return len(old)


if __name__ == "__main__":
    sys.exit(main())

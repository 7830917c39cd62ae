"""Writes .site/generated/keys.md: every key of a scenario as the engine declares it. With --check: fails if it is not current."""

import sys
from pathlib import Path

from farrowtide.scenarios.key_page import key_page

HEAD = """# Key reference

Every key of a scenario, written by `.ci/write_key_reference.py` from the declarations that also read the files. `farrowtide explain KEY`
prints the entry of one key. How to write a scenario, and which example answers which question:
[scenarios/README.md](../../scenarios/README.md).

"""


def main() -> int:
    page = Path(__file__).resolve().parent.parent / ".site" / "generated" / "keys.md"
    text = HEAD + key_page()
    if "--check" not in sys.argv:
        page.write_text(text, encoding="utf-8")
        return 0
    if page.exists() and page.read_text(encoding="utf-8") == text:
        return 0
    print(".site/generated/keys.md is not current: python .ci/write_key_reference.py", file=sys.stderr)
    return 1


if __name__ == "__main__":
    sys.exit(main())

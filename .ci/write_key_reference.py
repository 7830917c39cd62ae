"""Writes scenarios/README.md: a few words, then every key as the engine declares it. With --check: fails if it is not current."""

import sys
from pathlib import Path

from farrowtide import _core

HEAD = """# Scenarios

A scenario describes a room, its sows and people, and the policies to compare. Copy one, change what is different on your farm, and run
`farrowtide check FILE`; every mistake is told at once, with its place. `farrowtide explain KEY` tells what a key means and where its
standard value comes from; `farrowtide schema` writes a schema with which an editor completes keys.

| file | question |
|---|---|
| [feeding/meals_a_day.yaml](feeding/meals_a_day.yaml) | How many hand feeds a day, or feed always at hand? |
| [teaching/three_sows.yaml](teaching/three_sows.yaml) | What happens to three sows, event by event? |

`invalid/` holds one mistake a file, with the message it must bring.

- A value may carry its unit: `73 degF`, `4 kg`, `30 min`. A bare number has the unit of the table.
- `cases` are conditions nobody chooses, such as the season; `alternatives` are what can be chosen. Both are lists of `dotted.key: value`, and each
  replaces the value at its key in whole. Every alternative is run in every case, on the same animals.
- Farms, rooms and numbers of people in these files are invented.

The rest of this page is written by `.ci/write_key_reference.py` from the declarations that also read the files.

"""


def main() -> int:
    page = Path(__file__).resolve().parent.parent / "scenarios" / "README.md"
    text = HEAD + _core.key_reference().rstrip() + "\n"
    if "--check" not in sys.argv:
        page.write_text(text, encoding="utf-8")
        return 0
    if page.exists() and page.read_text(encoding="utf-8") == text:
        return 0
    print("scenarios/README.md is not current: python .ci/write_key_reference.py", file=sys.stderr)
    return 1


if __name__ == "__main__":
    sys.exit(main())

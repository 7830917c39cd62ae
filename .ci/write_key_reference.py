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
| [teaching/three_sows.yaml](teaching/three_sows.yaml) | What happens to three sows, event by event? |
| [loading/days_before_due.yaml](loading/days_before_due.yaml) | Load two, four or seven days before the mean due date? |
| [loading/teach_the_gilts.yaml](loading/teach_the_gilts.yaml) | Put gilts together and teach them to drink and eat? |
| [feeding/meals_a_day.yaml](feeding/meals_a_day.yaml) | How many hand feeds a day, or feed always at hand? |
| [feeding/each_sow_by_her_trough.yaml](feeding/each_sow_by_her_trough.yaml) | One allowance for all, or each sow's own from her trough? |
| [feeding/before_farrowing.yaml](feeding/before_farrowing.yaml) | How much, and how often, before farrowing? |
| [water/slow_drinkers.yaml](water/slow_drinkers.yaml) | Which drinkers are looked at, and what flow calls for repair? |
| [heat/when_to_drop_the_room.yaml](heat/when_to_drop_the_room.yaml) | Drop the room by day 7, by day 10, or not? |
| [staffing/night_cover.yaml](staffing/night_cover.yaml) | Does somebody at night pay in a room of 24 crates? |
| [staffing/fourth_feed_when_short.yaml](staffing/fourth_feed_when_short.yaml) | What does a fourth feed push out with one, two or three people? |
| [care/find_sows_in_trouble.yaml](care/find_sows_in_trouble.yaml) | Treat on one sign, on two, on temperature alone? |
| [care/stand_up_rounds.yaml](care/stand_up_rounds.yaml) | Two stand-up rounds, one, or none? |
| [fostering/how_far.yaml](fostering/how_far.yaml) | Fill teats, equalise, sort by size: how far to foster? |
| [handling/when_to_process.yaml](handling/when_to_process.yaml) | Process litters at once, or in parts? |
| [farm/year_of_weekly_groups.yaml](farm/year_of_weekly_groups.yaml) | Are seven people enough for 125 farrowings a week? |

What each family's scenario shows, and whether that direction has a source or is led by assumptions:
[tests/validation/POLICY_FAMILIES.md](../tests/validation/POLICY_FAMILIES.md).

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

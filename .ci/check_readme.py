#!/usr/bin/env python3
"""Run every command that the documentation shows, and check the README's table of results. `--write` writes that table.

Commands stand in `console` blocks, or as the last cell of a table. Those of one page run one after the other in a copy
of the tracked files, so that files written by one command are there for the next. `./quickstart` itself runs in this
clone, where everything is set up.
"""

import json
import os
import re
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
BLOCK = re.compile(r"^```(?P<kind>\w*)[^\n]*\n(?P<body>.*?)^```", re.MULTILINE | re.DOTALL)
TABLE_CELL = re.compile(r"\| `(farrowtide [^`]+)` \|$", re.MULTILINE)
OURS = ("./quickstart", "farrowtide ")
# Run by .ci/run already, or of no use without somebody at the terminal.
DONE = {"./quickstart test", "./quickstart compare"}
SKIPPED = ("./quickstart shell", "git clone", "cd ", "sudo ", "cmake", "ctest", "ninja")
LIMIT_S = 300

# The README's table of results.
TABLE = re.compile(r"(<!-- table written by .*?-->\n).*?(<!-- end of table -->)", re.DOTALL)
SCENARIO = "scenarios/feeding/meals_a_day.yaml"
CASE = "January"
ALTERNATIVES = ("3 hand feeds", "full access")
OUTPUTS = (
    "feed_intake_kg_per_day",
    "weight_loss_kg",
    "litter_weight_at_weaning_kg",
    "weaned_per_litter",
    "labour_min_per_litter",
)


def commands(page: str) -> tuple[list[str], list[str]]:
    """The commands of tables and console blocks, and our commands that stand in another kind of block."""
    shown, misplaced = TABLE_CELL.findall(page), []
    for block in BLOCK.finditer(page):
        body = block["body"].replace("\\\n", " ")
        if block["kind"] == "console":
            shown += [line[2:].split("  #")[0].strip() for line in body.splitlines() if line.startswith("$ ")]
        else:
            misplaced += [line for line in body.splitlines() if line.removeprefix("$ ").startswith(OURS)]
    return shown, misplaced


def run(command: str, scratch: Path) -> str | None:
    """What went wrong, or nothing."""
    place = ROOT if command.startswith("./quickstart") else scratch
    start = time.monotonic()
    try:
        done = subprocess.run(
            ["bash", "-c", command],
            cwd=place,
            env=environment(),
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            timeout=LIMIT_S,
        )
    except subprocess.TimeoutExpired:
        return f"took more than {LIMIT_S} s"
    print(f"    {time.monotonic() - start:.1f} s")
    return f"ended with {done.returncode}:\n{done.stdout[-3000:]}" if done.returncode else None


def environment() -> dict[str, str]:
    return os.environ | {"PATH": f"{ROOT / '.venv/bin'}:{os.environ['PATH']}", "NO_COLOR": "1"}


def results_table() -> str:
    """The table of results in Markdown, from a comparison as the README's first command runs it."""
    import farrowtide

    with tempfile.TemporaryDirectory() as folder:
        command = ["farrowtide", "compare", SCENARIO, "--json", "--quiet", "--out", folder]
        done = subprocess.run(command, cwd=ROOT, env=environment(), capture_output=True, text=True, check=True)
    found = json.loads(done.stdout)
    rows = {(row["case"], row["output"], row["alternative"]): row for row in found["differences"]}
    rooms = rows[CASE, OUTPUTS[0], ALTERNATIVES[0]]["n"]
    lines = [
        "| " + " | ".join([f"{CASE}, {rooms} rooms of 24 sows", found["reference"], *ALTERNATIVES]) + " |",
        "|---|---|---|---|",
    ]
    for name in OUTPUTS:
        output = farrowtide.catalogue()[name]
        cells = [f"{output.label} [{output.unit}]", output.shown(rows[CASE, name, ALTERNATIVES[0]]["mean_reference"])]
        for alternative in ALTERNATIVES:
            row = rows[CASE, name, alternative]
            known = row["ci_low"] is not None
            interval = f" ({output.shown_range(row['ci_low'], row['ci_high'], signed=True)})" if known else ""
            cells.append(f"{output.shown(row['difference'], signed=True)}{interval}, {row['verdict']}")
        lines.append("| " + " | ".join(cells) + " |")
    return "\n".join(lines) + "\n"


def with_table(readme: str) -> str:
    """The README with the table as it comes out now."""
    return TABLE.sub(lambda match: match[1] + "\n" + results_table() + "\n" + match[2], readme)


def check(page: str) -> list[str]:
    shown, misplaced = commands((ROOT / page).read_text(encoding="utf-8"))
    mistakes = [f"{page}: shown outside a console block, so never tried: {line}" for line in misplaced]
    with tempfile.TemporaryDirectory() as folder:
        scratch = Path(folder) / "farrowtide"
        if shown:
            copy_tracked_files(scratch)
        for command in shown:
            skip = command in DONE or command.startswith(SKIPPED)
            print(f"{page}: $ {command}{'  (skipped)' if skip else ''}", flush=True)
            if not skip and (why := run(command, scratch)):
                mistakes.append(f"{page}: $ {command}\n{why}")
    return mistakes


def tracked(*patterns: str) -> list[str]:
    listing = ["git", "ls-files", "-z", *patterns]
    return subprocess.run(listing, cwd=ROOT, capture_output=True, text=True, check=True).stdout.split("\0")[:-1]


def copy_tracked_files(scratch: Path) -> None:
    for path in tracked():
        (scratch / path).parent.mkdir(parents=True, exist_ok=True)
        shutil.copy2(ROOT / path, scratch / path)


def main() -> int:
    readme = ROOT / "README.md"
    text = readme.read_text(encoding="utf-8")
    current = with_table(text)
    if "--write" in sys.argv:
        readme.write_text(current, encoding="utf-8")
        return 0
    pages = tracked("*.md")
    if not any(commands((ROOT / page).read_text(encoding="utf-8"))[0] for page in pages):
        sys.exit("no page shows a command: this check has nothing to try")
    mistakes = [mistake for page in pages for mistake in check(page)]
    if text != current:
        mistakes.append("README.md: the table of results is not current: .venv/bin/python .ci/check_readme.py --write")
    print("\n".join(mistakes) or "every command of the documentation works, and the table of results is current")
    return 1 if mistakes else 0


if __name__ == "__main__":
    sys.exit(main())

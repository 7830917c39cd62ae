#!/usr/bin/env python3
"""Run every command that a page of the documentation shows in a `console` block.

The commands of one page run one after the other in a copy of the tracked files, so that what a reader makes on
the way is there for the next command. `./quickstart` itself runs in this clone, where everything is set up.
"""

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
OURS = ("./quickstart", "farrowtide ")
# Run by .ci/run already, or of no use without a person at the screen.
DONE = {"./quickstart test", "./quickstart compare"}
SKIPPED = ("./quickstart shell", "git clone", "cd ", "sudo ", "cmake", "ctest", "ninja")
LIMIT_S = 300


def commands(page: str) -> tuple[list[str], list[str]]:
    """The commands of the console blocks, and our commands that stand in another kind of block."""
    shown, misplaced = [], []
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
    environment = os.environ | {"PATH": f"{ROOT / '.venv/bin'}:{os.environ['PATH']}", "NO_COLOR": "1"}
    start = time.monotonic()
    try:
        done = subprocess.run(
            ["bash", "-c", command],
            cwd=place,
            env=environment,
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


if __name__ == "__main__":
    pages = tracked("*.md")
    if not any(commands((ROOT / page).read_text(encoding="utf-8"))[0] for page in pages):
        sys.exit("no page shows a command: this check has nothing to try")
    mistakes = [mistake for page in pages for mistake in check(page)]
    print("\n".join(mistakes) or "every command of the documentation works")
    sys.exit(1 if mistakes else 0)

#!/usr/bin/env python3
"""Run every notebook from first to last cell; fail if a cell fails or a notebook takes too long."""

import sys
import time
from pathlib import Path

import jupytext
from nbclient import NotebookClient
from nbclient.exceptions import CellExecutionError, CellTimeoutError

ROOT = Path(__file__).resolve().parent.parent
LIMIT_S = 120  # a lesson runs in under two minutes


def run(path: Path) -> str | None:
    """The error, or None. A notebook finds the repository from its own folder, as it does for its reader."""
    start = time.monotonic()
    client = NotebookClient(
        jupytext.read(path),
        timeout=LIMIT_S,
        kernel_name="python3",
        resources={"metadata": {"path": str(path.parent)}},
    )
    try:
        client.execute()
    except (CellExecutionError, CellTimeoutError) as error:
        return str(error)
    seconds = time.monotonic() - start
    print(f"{path.relative_to(ROOT)}: {seconds:.1f} s", flush=True)
    return f"took {seconds:.0f} s, more than {LIMIT_S} s" if seconds > LIMIT_S else None


if __name__ == "__main__":
    notebooks = sorted((ROOT / "notebooks").rglob("*.py"))
    if not notebooks:
        sys.exit("notebooks/ holds no notebook to run")
    mistakes = [f"{path.relative_to(ROOT)}: {why}" for path in notebooks if (why := run(path))]
    print("\n".join(mistakes) or "every notebook runs")
    sys.exit(1 if mistakes else 0)

"""Executes the lessons and keeps them with their outputs until a lesson, the package or a scenario changes."""

import hashlib
import os
import re
import tempfile
import time
from concurrent.futures import ThreadPoolExecutor
from functools import cache
from pathlib import Path

import jupytext
import nbformat
from nbclient import NotebookClient
from nbclient.exceptions import CellExecutionError, CellTimeoutError, DeadKernelError
from nbformat.v4 import new_code_cell
from tree import BUILD, LESSONS, ROOT, files_of

LIMIT_S = 120  # a lesson runs in under two minutes
WIDGETS = re.compile(r"^\s*(from|import) ipywidgets", re.MULTILINE)
NO_WIDGETS = "import sys; sys.modules['ipywidgets'] = None"
WARNED = re.compile(r"^\S+:\d+: (\w*Warning: .*\n)(?:  .*\n)?", re.MULTILINE)
EXECUTED = BUILD / "executed"
# What the outputs of a lesson depend on.
READ_BY_LESSONS = ("bindings", "libsim", "scenarios")


@cache
def state_of_the_package() -> str:
    """A hash of every file that the outputs of a lesson may depend on, besides the lesson."""
    found = hashlib.sha256((ROOT / ".ci/constraints.txt").read_bytes())
    for folder in READ_BY_LESSONS:
        for path in sorted((ROOT / folder).rglob("*")):
            if path.is_file() and path.suffix != ".md" and "__pycache__" not in path.parts:
                found.update(path.relative_to(ROOT).as_posix().encode() + path.read_bytes())
    return found.hexdigest()


def executed(lesson: str) -> nbformat.NotebookNode:
    """The lesson with its outputs. Raises CellExecutionError, CellTimeoutError, DeadKernelError or TimeoutError."""
    text = (ROOT / lesson).read_text(encoding="utf-8")
    state = hashlib.sha256(f"{text}{state_of_the_package()}".encode()).hexdigest()
    kept = EXECUTED / Path(lesson).relative_to("notebooks").with_suffix(".ipynb")
    if kept.exists():
        notebook = nbformat.read(kept, as_version=4)
        if notebook.metadata.get("state") == state:
            return notebook
    notebook = execute(lesson, text)
    if WIDGETS.search(text):  # on a page, a slider would move nothing
        notebook = execute(lesson, text, widgets=False)
    without_paths(notebook)
    notebook.metadata["state"] = state
    kept.parent.mkdir(parents=True, exist_ok=True)
    nbformat.write(notebook, kept)
    return notebook


def execute(lesson: str, text: str, *, widgets: bool = True) -> nbformat.NotebookNode:
    """Runs a lesson from an empty folder, since it must run from any, as if ipywidgets were not installed if so asked."""
    start = time.monotonic()
    notebook = jupytext.reads(text, fmt="py:percent")
    if not widgets:
        notebook.cells.insert(0, new_code_cell(NO_WIDGETS))
    with tempfile.TemporaryDirectory() as folder:
        resources = {"metadata": {"path": folder}}
        client = NotebookClient(notebook, timeout=LIMIT_S, kernel_name="python3", resources=resources)
        # nbclient's own model of an output widget sends to the kernel on the socket that waits for its
        # reply, and the reply may then be noticed only when the wait runs out. Outputs stay in the cell.
        client.widget_registry = {}
        client.execute()
    if not widgets:
        del notebook.cells[0]
    seconds = time.monotonic() - start
    print(f"{lesson}{'' if widgets else ', without widgets'}: {seconds:.1f} s", flush=True)
    if seconds > LIMIT_S:
        raise TimeoutError(f"took {seconds:.0f} s, more than {LIMIT_S} s")
    return notebook


def without_paths(notebook: nbformat.NotebookNode) -> None:
    """Takes the place of this folder out of outputs, and out of warnings the line that they come from."""
    for output in (output for cell in notebook.cells for output in cell.get("outputs", ())):
        if output.output_type == "stream":
            warned = WARNED.sub(r"\1", output.text) if output.name == "stderr" else output.text
            output.text = warned.replace(f"{ROOT}/", "")
        for kind, shown in output.get("data", {}).items():
            if isinstance(shown, str):
                output.data[kind] = shown.replace(f"{ROOT}/", "")


def all_executed() -> tuple[dict[str, nbformat.NotebookNode], list[str]]:
    """Every lesson with its outputs, and what went wrong in the others. As many run at once as there are processors."""
    notebooks, mistakes = {}, []
    state_of_the_package()  # before the threads that all ask for it
    with ThreadPoolExecutor(os.cpu_count()) as pool:
        running = {lesson: pool.submit(executed, lesson) for lesson in files_of(LESSONS)}
        for lesson, notebook in running.items():
            try:
                notebooks[lesson] = notebook.result()
            except (CellExecutionError, CellTimeoutError, DeadKernelError, TimeoutError) as error:
                mistakes.append(f"{lesson}: {error}")
    return notebooks, mistakes if notebooks or mistakes else ["notebooks/ holds no lesson to run"]

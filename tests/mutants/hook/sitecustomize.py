"""Loaded by every Python process while mutants run, through PYTHONPATH: imports farrowtide with its mutants built in.

FARROWTIDE_MUTANTS names a file that `mutants.py` wrote, FARROWTIDE_MUTANT the number of the one that is active (none
without it). Places that were reached are written to FARROWTIDE_REACHED, a folder, if that is given.
"""

import atexit
import ctypes
import importlib.machinery
import importlib.util
import json
import os
import sys
from pathlib import Path

sys.path.insert(1, str(Path(__file__).parent.parent))

_plan = (
    json.loads(Path(os.environ["FARROWTIDE_MUTANTS"]).read_text(encoding="utf-8"))
    if "FARROWTIDE_MUTANTS" in os.environ
    else {}
)
active = int(os.environ.get("FARROWTIDE_MUTANT", 0))
_reached: set[int] = set()
_MOST = 8192  # as in mutant.hpp


def _is_active(number: int) -> bool:
    _reached.add(number)
    return number == active


class _Loader(importlib.machinery.SourceFileLoader):
    """A module of the package, changed on the way in and never kept as bytecode."""

    def get_code(self, fullname):
        import python_sites

        wanted = {int(site): mutant for site, mutant in _plan["python"][fullname]["wanted"].items()}
        tree = python_sites.changed(Path(self.path).read_text(encoding="utf-8"), wanted)
        return compile(tree, self.path, "exec", dont_inherit=True)

    def exec_module(self, module):
        module.__dict__["_is_active"] = _is_active
        super().exec_module(module)


class _Finder:
    @staticmethod
    def find_spec(fullname, path=None, target=None):
        if fullname == "farrowtide._core" and _plan.get("core"):
            loader = importlib.machinery.ExtensionFileLoader(fullname, _plan["core"])
            return importlib.util.spec_from_file_location(fullname, _plan["core"], loader=loader)
        if fullname in _plan.get("python", {}):
            file = _plan["python"][fullname]["file"]
            return importlib.util.spec_from_file_location(fullname, file, loader=_Loader(fullname, file))
        return None


def take_reached() -> list[int]:
    """The mutants whose places were reached since the last call, of Python and C++."""
    found = set(_reached)
    _reached.clear()
    if "farrowtide._core" in sys.modules and _plan.get("core"):
        numbers = (ctypes.c_int * _MOST)()
        count = ctypes.CDLL(_plan["core"]).farrowtide_take_reached(numbers)
        found.update(numbers[:count])
    return sorted(found)


def note_reached(test: str, numbers: list[int], seconds: float = 0.0) -> None:
    """Adds a line to this process's file of what was reached."""
    if "FARROWTIDE_REACHED" in os.environ:
        with (Path(os.environ["FARROWTIDE_REACHED"]) / f"{os.getpid()}.jsonl").open("a") as file:
            file.write(json.dumps({"test": test, "reached": numbers, "seconds": seconds}) + "\n")


if _plan:
    sys.meta_path.insert(0, _Finder)
    if "FARROWTIDE_REACHED" in os.environ:
        _pid = os.getpid()
        # A child of a test: pytest names the test in the environment.
        atexit.register(
            lambda: (
                note_reached(os.environ.get("PYTEST_CURRENT_TEST", "").rsplit(" (")[0], take_reached())
                if os.getpid() == _pid
                else None
            )
        )

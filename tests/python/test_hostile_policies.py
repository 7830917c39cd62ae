"""Policies that recurse, lie, mutate or never end are told in words or have no effect; none ends the process.

More mistakes of policies are in test_own_policies.py.
"""

import collections
import sys

import pandas as pd
import pytest

import farrowtide
from farrowtide import policies

ROOM = {"title": "hostile policies", "room": {"crates": 3}}
HEAD = """\
import collections
import itertools
import sys

import farrowtide
from farrowtide.policies import *


class Mine:
    def __init__(self, method, does):
        self.does = does
        setattr(Mine, method, lambda self, *given: does(self))


"""
FEEDING = """\
class Own(Feeding):
    name = "own"
    parameters = {"times": Parameter(["07:00", "15:00"]), "most": Parameter(3.0, low=0, high=9)}
    def rounds(self): return self.times
    def decide(self, view): return self.most
"""
CARE = """\
class Own(Care):
    name = "own"
    def look_for(self, view): return ["udder"]
    def treat(self, view): return False
"""
FOSTERING = """\
class Own(Fostering):
    name = "own"
    def times(self): return ["10:00"]
    def plan(self, view): return []
"""
FAMILIES = {"feeding": FEEDING, "care": CARE, "fostering": FOSTERING}


def run(tmp_path, family, method, *, threads=1, replications=1):
    (tmp_path / "rules.py").write_text(f"{HEAD}{FAMILIES[family]}    {method}\n", encoding="utf-8")
    scenario = farrowtide.load(ROOM | {family: {"kind": "own"}}, policies=[tmp_path / "rules.py"])
    return farrowtide.run(scenario, replications=replications, seed=4, threads=threads)


OWN_RUN = """\
        own = {{'title': 't', 'room': {{'crates': 1}}, '{}': {{'kind': 'own'}}}}
        farrowtide.run(farrowtide.load(own, policies=[Own]), threads=2)
"""
TOLD = {
    "recurses": ("feeding", "def decide(self, view): return self.decide(view)", r"rules\.py:\d+: Own\.decide: RecursionError"),
    "recurses as a number": (
        "feeding", "def decide(self, view): return Mine('__float__', float)", r"Own\.decide returned .*expected a number"),
    "raises as a number": (
        "feeding", "def decide(self, view): return Mine('__float__', lambda me: 1 / 0)", "expected a number"),
    "lies about its type": (
        "feeding", "def decide(self, view): return Mine('__float__', lambda me: 'much')", "expected a number"),
    "is a huge number": ("feeding", "def decide(self, view): return 10 ** 400", "expected a number"),
    "is a complex number": ("feeding", "def decide(self, view): return 3j", "expected a number"),
    "is a minus": ("feeding", "def decide(self, view): return -1e-9", "expected a number"),
    "lies about its length": (
        "fostering", "def plan(self, view): return Mine('__iter__', lambda me: 3)", r"Own\.plan"),
    "moves without end": (
        "fostering", "def plan(self, view): return itertools.repeat((0, 1)) if view.piglets else ()", "each piglet once"),
    "signs without end": ("care", "def look_for(self, view): return itertools.repeat('udder')", "expected a set of signs"),
    "signs that are counted": ("care", "def look_for(self, view): return itertools.count()", r"Own\.look_for"),
    "signs that raise": ("care", "def look_for(self, view): return (1 / 0 for _ in 'x')", "ZeroDivisionError"),
    "takes from its times": ("feeding", "def decide(self, view): return self.times.pop()", "AttributeError"),
    "replaces its parameter": ("feeding", "def decide(self, view): self.most = 9; return 1", "policies are stateless"),
    "takes nothing": ("feeding", "def decide(self): return 1", "TypeError"),
    "is no method": ("feeding", "decide = 3", "TypeError"),
    "is awaited": ("feeding", "async def decide(self, view): return 1", "expected a number"),
    "yields": ("feeding", "def decide(self, view): yield 1", "expected a number"),
    "asks itself before a run": (
        "feeding", f"def decide(self, view):\n{OWN_RUN.format('feeding')}        return 1", "RecursionError"),
    "begins its own run": (
        "fostering", f"def plan(self, view):\n{OWN_RUN.format('fostering')}        return []",
        "a policy must not begin the run it is in"),
    "leaves": ("feeding", "def decide(self, view): sys.exit(0)", "SystemExit: 0"),
    "asks for the end of a generator": ("feeding", "def decide(self, view): raise StopIteration", "StopIteration"),
}  # fmt: skip


@pytest.mark.filterwarnings("ignore:coroutine:RuntimeWarning")
@pytest.mark.parametrize("case", TOLD)
def test_it_is_told_in_words(case, tmp_path):
    family, method, words = TOLD[case]
    with pytest.raises(farrowtide.UserError, match=words):
        run(tmp_path, family, method)


WITHOUT_EFFECT = {
    "changes lists of the view": (
        "fostering",
        "def plan(self, view):\n"
        "        for things in (view.piglets, view.litters):\n"
        "            if isinstance(things, list): things.clear()\n"
        "        return []",
    ),
    "changes the world around it": (
        "feeding",
        "def decide(self, view):\n"
        "        sys.setrecursionlimit(2000)\n"
        "        collections.Counter.__doc__ = None\n"
        "        return self.most",
    ),
    "keeps the view": ("feeding", "seen = []\n    def decide(self, view): self.seen.append(view); return self.most"),
    "starts a thread": (
        "feeding",
        "def decide(self, view):\n"
        "        import threading\n"
        "        thread = threading.Thread(target=lambda: view.day)\n"
        "        thread.start()\n"
        "        thread.join()\n"
        "        return self.most",
    ),
}


@pytest.fixture
def as_it_was():
    """What a policy changes around it is put back."""
    limit, about = sys.getrecursionlimit(), collections.Counter.__doc__
    yield
    sys.setrecursionlimit(limit)
    collections.Counter.__doc__ = about


@pytest.mark.usefixtures("as_it_was")
@pytest.mark.parametrize("case", WITHOUT_EFFECT)
@pytest.mark.parametrize("threads", [1, 3])
def test_it_changes_nothing(case, threads, tmp_path):
    family, method = WITHOUT_EFFECT[case]
    honest = run(tmp_path, family, "# nothing else", replications=3)
    strange = run(tmp_path, family, method, threads=threads, replications=3)
    for name, rows in honest.tables.items():
        pd.testing.assert_frame_equal(rows, strange.tables[name], check_exact=True)


@pytest.mark.parametrize("threads", [1, 3])
def test_a_view_that_was_kept_tells_the_same_after_the_run(threads):
    kept = []

    class Keeping(policies.Feeding):
        """Keeps what it sees."""

        name = "keeping"

        def rounds(self):
            return ["07:00", "15:00"]

        def decide(self, view):
            kept.append((view, view.day, view.backfat_mm))
            return 3.0

    scenario = farrowtide.load(ROOM | {"feeding": {"kind": "keeping"}}, policies=[Keeping])
    farrowtide.run(scenario, replications=3, seed=4, threads=threads)
    assert len({(day, backfat_mm) for _, day, backfat_mm in kept}) > 100
    assert all((view.day, view.backfat_mm) == (day, backfat_mm) for view, day, backfat_mm in kept)


def test_a_policy_may_simulate(tmp_path):
    """One that asks the built-in rule of another room decides as if it knew the answer."""
    inner = (
        "def decide(self, view):\n"
        "        room = farrowtide.load({'title': 't', 'room': {'crates': 1}})\n"
        "        inner = farrowtide.run(room, threads=1, record=())\n"
        "        return self.most if len(inner.sows) == 1 else 0"
    )
    strange = run(tmp_path, "feeding", inner)
    pd.testing.assert_frame_equal(strange.sows, run(tmp_path, "feeding", "# nothing else").sows, check_exact=True)

"""A pytest plugin: what each test reached, with what the fixtures reached that it shares, and the first that failed."""

import os
import time
from pathlib import Path

import pytest
from sitecustomize import note_reached, take_reached

_by_fixture: dict[str, set[int]] = {}
_failed: set[str] = set()  # tests that fail here without a mutant say nothing about one


@pytest.hookimpl(wrapper=True)
def pytest_fixture_setup(fixturedef):
    before = take_reached()
    result = yield
    during = take_reached()
    _by_fixture.setdefault(fixturedef.argname, set()).update(during)
    _by_fixture.setdefault("", set()).update(before, during)
    return result


@pytest.hookimpl(wrapper=True)
def pytest_runtest_protocol(item):
    _by_fixture[""] = set()
    begun = time.monotonic()
    result = yield
    reached = set(take_reached()) | _by_fixture.pop("", set())
    for name in item.fixturenames:
        reached |= _by_fixture.get(name, set())
    if item.nodeid not in _failed:
        note_reached(item.nodeid, sorted(reached), time.monotonic() - begun)
    return result


def pytest_collection_finish():
    note_reached("import", take_reached())


def pytest_runtest_logreport(report):
    if report.failed:
        _failed.add(report.nodeid)
    if report.failed and "FARROWTIDE_FIRST_FAILURE" in os.environ:
        file = Path(os.environ["FARROWTIDE_FIRST_FAILURE"])
        if not file.exists():
            file.write_text(report.nodeid)

"""The inputs that fuzzing found worth keeping are read or refused as promised, and so are some new ones."""

import sys
from itertools import islice
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "fuzz"))
import fuzzed_readers
import python_readers

from farrowtide import UserError


@pytest.mark.parametrize("target", python_readers.TARGETS)
def test_kept_and_new_inputs_are_read_or_refused(target, tmp_path):
    inputs = [*python_readers.corpus(target), *islice(python_readers.random_inputs(target, seed=5), 20)]
    seen = {python_readers.judge(target, data, tmp_path) for data in inputs}
    assert seen == {"read", "refused"}


def test_fuzzing_that_reads_nothing_or_refuses_nothing_fails(tmp_path, monkeypatch):
    assert python_readers.fuzz_blindly("mapping", 0, 1, tmp_path) == 0
    for always in ("read", "refused"):
        monkeypatch.setattr(python_readers, "judge", lambda *_, always=always: always)
        assert python_readers.fuzz_blindly("mapping", 0, 1, tmp_path) == 1


def test_the_judge_sees_what_breaks_the_promise(tmp_path, monkeypatch):
    def readers(message):
        def read(file, data):
            raise UserError(message.format(file=file))

        return {"records": (bytes, read)}

    for message in ("is wrong", "{file}: holds \x1b[2J", "{file}: " + "x" * 1_000_000):
        monkeypatch.setattr(fuzzed_readers, "READERS", readers(message))
        with pytest.raises(python_readers.Breach):
            python_readers.judge("records", b"", tmp_path)
    monkeypatch.setattr(fuzzed_readers, "READERS", readers("{file}: is wrong"))
    assert python_readers.judge("records", b"", tmp_path) == "refused"

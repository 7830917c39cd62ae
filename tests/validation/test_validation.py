"""Every published row is met, or its miss is explained; a miss that has gone must lose its explanation."""

import pytest
import validate


@pytest.mark.parametrize("path", validate.trial_files(), ids=lambda path: path.stem)
def test_trial(path, capsys):
    found = validate.verdicts(path)
    with capsys.disabled():
        print(f"\n\n{validate.load_trial(path)['title']}")
        for v in found:
            verdict = "pass" if v.passes else "MISS"
            print(
                f"  {verdict}  {v.row}: {v.simulated:.4g} (published {v.target:g}, allowed {v.low:.4g} to {v.high:.4g}; {v.kind}; {v.source})"
            )
    for v in found:
        assert v.precise, f"{v.row}: {v.rooms} rooms leave an error of {v.error:.3g}"
        if v.passes:
            assert not v.miss, f"{v.row} passes now: take its `miss` away"
        else:
            assert v.miss, f"{v.row} misses without a sentence why: {v.simulated:.4g}"


def test_a_wrong_expectation_is_noticed():
    row = {"row": "x", "kind": "fitted", "source": "none", "target": 5.0, "tolerance": 0.1}
    wrong = validate._verdict({"title": "x"}, row, simulated=6.2, error=0.01, rooms=25)
    assert not wrong.passes


def test_every_row_names_kind_and_source():
    for path in validate.trial_files():
        for row in validate.load_trial(path)["rows"]:
            assert row["kind"] in ("fitted", "restated", "independent"), row["row"]
            assert row["source"].strip(), row["row"]
            assert "range" in row or row["tolerance"] > 0, row["row"]

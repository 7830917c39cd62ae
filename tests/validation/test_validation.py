"""Every published row is met, or its miss is explained, by the few animals that a test has time for.

A row fails here only where four standard errors would not turn its verdict; `./quickstart validate` is the full tier.
"""

import numpy as np
import pytest
import validate

PAGE = validate.PAGE.read_text(encoding="utf-8")
ROW_KEYS = {"row", "kind", "source", "target"}


@pytest.mark.parametrize("path", validate.trial_files(), ids=lambda path: path.stem)
def test_trial(path, record_property):
    trial = validate.replay(path, validate.QUICK)
    rows = [
        f"  {'pass' if v.passes else 'MISS'}  {v.row}: {v.simulated:.4g} (published {v.target:g}, allowed {v.low:.4g} to {v.high:.4g}; {v.kind})"
        for v in trial.verdicts
    ]
    record_property("verdicts", "\n".join([trial.title, *rows]))
    for v in trial.verdicts:
        assert v.excess(validate.QUICK) <= 1, f"{v.row}: too few animals for a verdict"
        if v.miss:
            assert not v.surely(passes=True), f"{v.row} passes now: take its `miss` away"
        else:
            assert not v.surely(passes=False), f"{v.row} misses without a sentence why: {v.simulated:.4g}"


@pytest.mark.parametrize("path", validate.trial_files(), ids=lambda path: path.stem)
def test_a_trial_says_what_it_is_and_stands_on_the_page(path):
    trial = validate.load_trial(path)
    assert trial["section"] in validate.SECTIONS
    assert trial["title"] in PAGE
    assert trial["design"].strip() in PAGE
    for row in trial["rows"]:
        assert row.keys() >= ROW_KEYS, row["row"]
        assert row["kind"] in ("fitted", "restated", "independent"), row["row"]
        assert "range" in row or row["tolerance"] > 0, row["row"]
        for text in (row["row"], row["source"], row.get("miss") or "", row.get("note") or ""):
            assert text in PAGE, f"{text}: not on the page, write it anew with `validate.py --write`"


def test_a_wrong_expectation_is_noticed():
    row = {"row": "x", "kind": "fitted", "source": "none", "target": 5.0, "tolerance": 0.1}
    wrong = validate._verdict(row, simulated=6.2, error=0.01)
    assert not wrong.passes
    assert wrong.surely(passes=False)
    assert "misses without" in wrong.problem


def test_a_vague_simulation_is_noticed():
    row = {"row": "x", "kind": "fitted", "source": "none", "target": 5.0, "tolerance": 0.1}
    assert "error" in validate._verdict(row, simulated=5.0, error=0.03).problem


def test_errors_and_spreads_follow_the_delta_method():
    """Known answer: x ~ N(10, 1), y ~ N(5, 0.5), correlation 0.8; the delta method in closed form."""
    chance = np.random.default_rng(3)
    covariance = [[1.0, 0.8 * 0.5], [0.8 * 0.5, 0.25]]
    samples = chance.multivariate_normal([10, 5], covariance, size=200_000).T
    ratio, error, spread = validate.propagate(lambda m: m[0] / m[1], samples)
    assert ratio == pytest.approx(2, rel=0.002)
    relative_variance = 1 / 100 + 0.25 / 25 - 2 * 0.4 / 50
    assert error == pytest.approx(2 * np.sqrt(relative_variance / 200_000), rel=0.02)
    assert spread == pytest.approx(2 * np.sqrt(1 / 100 + 0.25 / 25), rel=0.02)

"""Every published row is met, or its miss is explained, by the few animals that a test has time for.

A row fails here only where four standard errors would not turn its verdict; `./quickstart validate` is the full tier.
"""

import math

import numpy as np
import pytest
import signed_errors
import validate

PAGE = validate.PAGE.read_text(encoding="utf-8")


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
        assert row["topic"] in signed_errors.TOPICS, row["row"]
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


MISTAKES = {
    "tolerence: 1": "unknown key `tolerence`",
    "topic: heats": "its topic is `heats`",
    "kind: guessed": "its kind is `guessed`",
    "range: [0, 2]": "either a `tolerance` or a `range`",
    "sign: 2": "`sign` is 1 or -1",
    "standard_error: 0": "`standard_error` is not more than 0",
    "counted: false": "a `note` says why",
}


@pytest.mark.parametrize("mistake", MISTAKES)
def test_a_mistake_in_a_row_is_told(tmp_path, mistake):
    path = tmp_path / "trial.yaml"
    row = "{row: x, source: none, target: 1, tolerance: 1, kind: fitted, topic: heat}"
    key = mistake.split(":")[0]
    path.write_text(f"title: t\nrows:\n  - {row}\n", encoding="utf-8")
    assert validate.load_trial(path)["rows"][0]["topic"] == "heat"
    validate.load_trial.cache_clear()
    row = ", ".join([each for each in row[1:-1].split(", ") if not each.startswith(f"{key}:")] + [mistake])
    path.write_text(f"title: t\nrows:\n  - {{{row}}}\n", encoding="utf-8")
    with pytest.raises(ValueError, match=MISTAKES[mistake]):
        validate.load_trial(path)


def test_a_row_takes_the_topic_of_its_file_and_needs_one(tmp_path):
    path = tmp_path / "trial.yaml"
    row = "rows:\n  - {row: x, source: none, target: 1, tolerance: 1, kind: fitted}\n"
    path.write_text(f"topic: milk\n{row}", encoding="utf-8")
    assert validate.load_trial(path)["rows"][0]["topic"] == "milk"
    validate.load_trial.cache_clear()
    path.write_text(row, encoding="utf-8")
    with pytest.raises(ValueError, match="its topic is `None`"):
        validate.load_trial(path)


def _made(simulated, **row):
    row = {"row": "x", "kind": "fitted", "source": "none", "target": 10.0, "tolerance": 2.0, "topic": "heat"} | row
    return validate._verdict(row, simulated=simulated)


def test_a_signed_error_is_in_standard_errors_of_the_published_value():
    assert _made(11.5).signed_error == pytest.approx(1.5)  # 2 of tolerance are two standard errors
    assert _made(11.5, sign=-1).signed_error == pytest.approx(-1.5)
    assert _made(11.5, standard_error=0.5).signed_error == pytest.approx(3)
    off_centre = _made(11.5, range=[9.0, 13.0])
    assert off_centre.published_error == 1
    assert off_centre.signed_error == pytest.approx(1.5)


def test_errors_of_a_topic_by_hand():
    """Trials of errors (1, 3) and (8): mean 4, median 3; deviations from it -4 and 4, so that 4 sqrt(2 * 2) / 3 is the error."""
    trials = [[_made(11), _made(13)], [_made(18)]]
    found = signed_errors.bias(trials)
    assert (found.rows, found.trials, found.met, found.beyond) == (3, 2, 1, 1)
    assert found.mean == pytest.approx(4)
    assert found.median == pytest.approx(3)
    assert found.error == pytest.approx(8 / 3)
    assert found.half_width == pytest.approx(12.7062 * 8 / 3, rel=1e-4)  # t of one degree of freedom
    assert math.isnan(signed_errors.bias(trials[:1]).half_width)


def test_the_page_of_errors_counts_what_counts():
    rows = [
        _made(9),
        _made(18),
        _made(30, counted=False, note="could not fail"),
        _made(9, topic="milk", kind="restated"),
    ]
    told = signed_errors.written([validate.Replayed("A trial", "intake", "", rows)])
    assert "| heat | too large an effect of temperature | fitted | 2 | 1 | **+3.50** |  | +3.50 | 1 (50 %) |" in told
    assert "| milk | too much milk or colostrum | restated | 1 | 1 | -1.00 |  | -1.00 | 1 (100 %) |" in told
    assert "- A trial, x: +8.0 (heat, fitted)" in told
    assert "+20.0" not in told


def test_a_row_that_is_not_counted_is_shown():
    rows = [_made(9), _made(30, counted=False, note="could not fail")]
    told = validate.page.written([validate.Replayed("A trial", "intake", "", rows)], validate.SECTIONS)
    assert "| fitted | 1 | 1 | 100 % |" in told
    assert "**miss**, not counted" in told
    assert "2 rows (1 of them not counted above)" in told

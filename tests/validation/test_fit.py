"""The fit reads fitted rows only, and finds what a linear model has as its answer."""

import fit
import numpy as np
import pytest
import validate


class Sealed(dict):
    """A row of which nothing may be read but its name and kind."""

    def __getitem__(self, key):
        assert key in ("row", "kind"), f"`{key}` of row `{super().__getitem__('row')}` was read"
        return super().__getitem__(key)

    def _read(self, *_):
        raise AssertionError(f"row `{super().__getitem__('row')}` was read")

    get = keys = items = values = setdefault = pop = copy = __iter__ = __contains__ = _read


def _sealed(path):
    trial = validate.parsed(path)
    return trial | {"rows": [row if row["kind"] == "fitted" else Sealed(row) for row in trial["rows"]]}


def test_nothing_of_other_rows_is_read():
    _, frozen = fit.choice()
    trials = fit.load(frozen, _sealed)
    assert not any(isinstance(row, Sealed) for trial in trials for row in trial["rows"])
    assert len(fit.rows_of(trials)) == sum(map(len, frozen.values()))
    handbook = next(trial for trial in trials if trial["file"] == "nrc_2012.yaml")
    assert len(fit.evaluate(handbook, {}, sows=1)) == len(frozen["nrc_2012.yaml"])


def test_the_seal_holds():
    path = validate.HERE / "trials/black_1993.yaml"
    with pytest.raises(AssertionError, match="was read"):
        validate.checked(_sealed(path), path.name)


@pytest.mark.parametrize("kind", ["independent", "restated"])
def test_a_row_of_another_kind_is_refused(kind):
    path = next(p for p in validate.trial_files() if any(r["kind"] == kind for r in validate.load_trial(p)["rows"]))
    name = next(row["row"] for row in validate.load_trial(path)["rows"] if row["kind"] == kind)
    with pytest.raises(ValueError, match=f"is {kind}; only fitted rows"):
        fit.load({path.name: [name]})


def test_a_row_that_is_not_counted_or_not_there_is_refused():
    with pytest.raises(ValueError, match="is not counted"):
        fit.load({"schinckel_2010_litter.yaml": ["share of the extra milk energy that is eaten"]})
    with pytest.raises(ValueError, match="no row `nothing`"):
        fit.load({"nrc_2012.yaml": ["nothing"]})


def test_the_frozen_rows_are_the_fitted_rows():
    """A row that became or ceased to be fitted is noticed; `fit.py --freeze` takes the change in."""
    _, frozen = fit.choice()
    fitted = {path.name: rows for path in validate.trial_files() if (rows := fit.fitted_rows(path))}
    assert frozen == fitted


def test_coefficients_that_may_move_have_room():
    names, _ = fit.choice()
    assert len(set(names)) == len(names)
    for c in map(fit.coefficient, names):
        assert c.low <= c.value <= c.high
        assert c.unit > 0


def test_a_table_is_named_by_its_entry():
    entry = fit.coefficient("litter.survival.hazard.base[1]")
    table = list(fit._core.Coefficients.built_in().find(entry.path).value)
    assert fit.overlay([entry], [0.003]) == {entry.path: [table[0], 0.003, *table[2:]]}
    assert fit.overlay([entry], [entry.value]) == {}
    with pytest.raises(ValueError, match="needs the number of its entry"):
        fit.coefficient(entry.path)
    with pytest.raises(ValueError, match="a single number none"):
        fit.coefficient("sow.milk.potential.level[0]")


def test_an_overlay_reaches_the_engine_and_its_values_are_kept(tmp_path, monkeypatch):
    monkeypatch.setattr(fit, "KEPT", tmp_path)
    (trial,) = fit.load({"nrc_2012.yaml": ["parity 1, 230 g [kg]"]})
    [(now, _)] = fit.evaluate(trial, {}, sows=1)
    [(changed, _)] = fit.evaluate(trial, {"sow.milk.potential.energy_per_litter_gain": 5.1}, sows=1)
    assert now == pytest.approx(-7.7, abs=0.4)
    assert changed < now - 0.5  # more energy in the milk of the same gain is lost from the body
    assert len(list(tmp_path.iterdir())) == 2
    monkeypatch.setattr(validate, "handbook_values", lambda *_: pytest.fail("simulated again"))
    assert fit.evaluate(trial, {}, sows=1) == [[now, []]]


# --- least squares on models with a known answer ----------------------------------------------------------------------


def _line(slopes, level, noise=0.0):
    """Rows that answer linearly to x (path `x`) and y, with replicates that scatter."""
    chance = np.random.default_rng(4)

    def simulate(sets):
        found = []
        for changed in sets:
            at = np.array([changed.get("x", 0.0), changed.get("y", 0.0)])
            scatter = [noise * chance.standard_normal(40) for _ in level]
            found.append(fit.Simulated(level + slopes @ at, scatter))
        return found

    return simulate


def _propose(coefficients, targets, simulate, level_noise=0.0):
    [level] = simulate([{}])
    chance = np.random.default_rng(5)
    level = fit.Simulated(level.values, [level_noise * chance.standard_normal(10_000) for _ in targets])
    return fit.propose(coefficients, _rows(targets), simulate, level)


def _coefficients(grade="B", high=4.0):
    return [fit.Coefficient(name, name, None, 0.0, -4.0, high, grade) for name in ("x", "y")]  # a unit is 2


def _rows(targets):
    return [fit.Row("f", f"row {i}", "heat", 1, target, 0.5) for i, target in enumerate(targets)]


def test_the_proposal_is_the_ridge_solution():
    """One row per coefficient, slope 1 and error 0.5: with u in units of 2, minimise (4 u - 2 t)^2 + u^2, u = 8 t / 17."""
    p = _propose(_coefficients(), [1.0, 0.5], _line(np.eye(2), np.zeros(2)))
    assert p.moves == pytest.approx(np.array([8 / 17, 4 / 17]), rel=0.01)  # three digits
    assert p.before == pytest.approx([-2, -1])
    assert p.after == pytest.approx([-2 + 4 * 8 / 17, -1 + 4 * 4 / 17], abs=0.02)
    assert p.jacobian.slopes == pytest.approx(4 * np.eye(2))
    assert p.errors == pytest.approx(np.full(2, 1 / np.sqrt(17)))


def test_a_stronger_grade_moves_less():
    by_grade = [_propose(_coefficients(g), [1, 1], _line(np.eye(2), np.zeros(2))).moves[0] for g in "ABC"]
    assert by_grade == pytest.approx([8 / 20, 8 / 17, 8 / 16.25], rel=0.01)


def test_a_coefficient_stays_in_its_range():
    p = _propose(_coefficients(high=1.0), [9.0, 0.0], _line(np.eye(2), np.zeros(2)))
    assert p.values == [1.0, 0.0]


def test_a_derivative_within_its_noise_counts_as_none():
    quiet = _propose(_coefficients(), [1.0, 0.5], _line(np.eye(2), np.zeros(2), noise=0.1)).jacobian
    loud = _propose(_coefficients(), [1.0, 0.5], _line(np.eye(2), np.zeros(2), noise=30.0)).jacobian
    assert quiet.kept[0, 0] == pytest.approx(4)
    assert loud.kept[0, 0] == 0


def test_a_row_with_a_vague_level_weighs_less():
    """An error of the level as large as that of the published value halves the weight: minimise (4 u - 2)^2 / 2 + u^2."""
    vague = _propose(_coefficients(), [1.0, 0.5], _line(np.eye(2), np.zeros(2)), level_noise=0.5 * 100)
    assert vague.moves[0] == pytest.approx(4 / 9, rel=0.02)


def test_changes_start_from_the_level():
    """Few animals say 3 where many say 1: what is fitted is 1, with the change that the few show."""
    simulate = _line(np.eye(1, 2), np.array([3.0]))
    level = fit.Simulated(np.array([1.0]), [np.zeros(40)])
    p = fit.propose(_coefficients()[:1], _rows([2.0]), simulate, level)
    assert p.before == pytest.approx([-2])
    assert p.moves == pytest.approx([8 / 17], rel=0.01)


def test_a_step_that_makes_it_worse_is_not_proposed():
    """The slope turns beyond the differences, so that where the linear model sends x the rows are worse."""

    def simulate(sets):
        at = [changed.get("x", 0.0) for changed in sets]
        return [fit.Simulated(np.array([x if abs(x) <= 1 else -9.0 * abs(x)]), [np.zeros(0)]) for x in at]

    p = _propose(_coefficients()[:1], [4.0], simulate)
    assert p.values == [0.0]
    assert p.after == pytest.approx(p.before)


def test_the_page_tells_what_moves():
    told = fit.told(_propose(_coefficients(high=1.0), [9.0, 0.5], _line(np.eye(2), np.zeros(2))))
    assert "| `x` | 0 | **1** (end) | -4 to 1 | B | +0.80 |" in told
    assert "| f | row 0 | 9 | -18.0 | -16.0 |" in told
    assert "| heat | 2 | -9.50 | " in told

"""Directions of appetite and intake: small paired comparisons with a fixed seed, each with the source of its direction."""

import numpy as np
import pytest

import farrowtide

REPLICATIONS = 12
RISING_DEG_C = [18, 22, 25, 27, 29, 31, 34]
BASE = {
    "group": {"lactation_days": 21, "weaning": "each_sow"},
    "room": {"crates": 12},
    "climate": {"kind": "imposed", "temperature": "20 degC"},
    "herd": {"mortality": "off", "health": "off", "every_sow": {"total_born": 12}},
    "feeding": {"kind": "full_access"},
}


def run(*changes, coefficients=None):
    scenario = farrowtide.load({"title": "Directions of intake", **BASE})
    for change in changes:
        scenario = scenario.override(change)
    if coefficients:
        scenario = scenario.with_coefficients(coefficients)
    return farrowtide.run(scenario, replications=REPLICATIONS, seed=5, record=["sow_days"])


def intake_kg_per_day(result, first=1, last=20):
    days = result.sow_days
    return days[(days.farrowed == 1) & days.day.between(first, last)].eaten_kg.mean()


def at(deg_c, **more):
    return {"climate": {"kind": "imposed", "temperature": f"{deg_c} degC", **more}}


@pytest.mark.parametrize("parity", [1, 4])
def test_intake_never_rises_with_heat(parity):
    # Quiniou & Noblet 1999 and Spencer et al. 2003: less at each step from 18 to 32 degC. 34 degC is extrapolated.
    of_parity = {"herd": {**BASE["herd"], "every_sow": {"total_born": 12, "parity": parity}}}
    eaten = [intake_kg_per_day(run(of_parity, at(deg_c))) for deg_c in RISING_DEG_C]
    assert np.all(np.diff(eaten) < 0), eaten


def test_first_parity_loses_less_to_heat():
    # Gourdine et al. 2004, 301 lactations in the humid tropics.
    def lost(parity):
        of_parity = {"herd": {**BASE["herd"], "every_sow": {"total_born": 12, "parity": parity}}}
        cool, hot = (intake_kg_per_day(run(of_parity, at(deg_c))) for deg_c in (20, 27))
        return 1 - hot / cool

    assert lost(1) < lost(4)


def test_humid_heat_takes_more_than_dry_heat():
    # Silva et al. 2009 against Quiniou & Noblet 1999.
    assert intake_kg_per_day(run(at(27, humidity="90 %"))) < intake_kg_per_day(run(at(27, humidity="50 %")))


def test_heat_around_farrowing_lowers_intake_after_it():
    # Assumed (no published size): a pig's rectal temperature takes days to return to normal after heat.
    def after_heat(strength):
        warm = {
            "climate": {
                "kind": "imposed",
                "temperature": "29 degC",
                "temperature_days": [29, 29, 29, 20],
                "days_from": "due_date",
            }
        }
        return intake_kg_per_day(run(warm, coefficients={"sow.appetite.heat_carry_over.strength": strength}), 6, 12)

    assert after_heat(0.5) < after_heat(0.25) < after_heat(0.0)


def test_intake_never_falls_with_drinker_flow():
    # Leibbrandt et al. 2001: 14 % less at 76 than at 701 mL/min.
    def drinkers(l_per_min):
        return {"room": {**BASE["room"], "drinker_flow": f"{l_per_min} L/min", "drinker_blockages": "off"}}

    eaten = [intake_kg_per_day(run(drinkers(flow))) for flow in (0.05, 0.1, 0.3, 0.7, 2.0)]
    assert np.all(np.diff(eaten) >= 0), eaten
    assert eaten[0] < eaten[-1]


def test_intake_never_falls_with_feed_available():
    # Early restriction: 78 sows, J Anim Sci 1979, 110 against 123 kg in 21 d.
    def fixed(kg_per_day):
        return {"feeding": {"kind": "hand", "allowance": {"rule": "flat", "amount": f"{kg_per_day} kg/d"}}}

    eaten = [intake_kg_per_day(run(fixed(kg))) for kg in (2, 4, 6, 8)] + [intake_kg_per_day(run())]
    assert np.all(np.diff(eaten) >= 0), eaten
    assert eaten[0] < eaten[-1]


def test_steps_up_from_farrowing_cost_intake():
    # 78 sows, J Anim Sci 1979; Neil 1996: 7.2 against 6.6 kg/d when full feeding began three days after farrowing.
    stepped = {
        "feeding": {
            "kind": "full_access",
            "from_day": 8,
            "allowance": {"rule": "step_up", "start": "0.9 kg/d", "step": "0.9 kg/d"},
        }
    }
    full, late = run(), run(stepped)
    assert intake_kg_per_day(late) < intake_kg_per_day(full)
    assert intake_kg_per_day(late, 1, 5) < intake_kg_per_day(full, 1, 5)


def test_intake_never_falls_with_training():
    # Direction only: a gilt that cannot use drinker or feeder eats less until she can.
    gilts = {"herd": {**BASE["herd"], "every_sow": {"total_born": 12, "parity": 1}, "new_feeder": True}}
    untaught = run(gilts, {"loading": {"kind": "gilts_together", "teach": "nobody"}})
    taught = run(gilts, {"loading": {"kind": "gilts_together", "teach": "everyone"}})
    assert intake_kg_per_day(taught, 0, 5) >= intake_kg_per_day(untaught, 0, 5)


def test_a_long_labour_lowers_intake_for_days_only():
    # Assumed (no published size).
    tired = run(coefficients={"sow.appetite.tiredness.slope": 0.06})
    not_tired = run(coefficients={"sow.appetite.tiredness.slope": 0.0})
    assert intake_kg_per_day(tired, 0, 2) < intake_kg_per_day(not_tired, 0, 2)
    assert intake_kg_per_day(tired, 4, 20) == pytest.approx(intake_kg_per_day(not_tired, 4, 20), rel=0.01)


def test_dips_gather_in_unsteady_sows():
    # Yoder et al. 2013: 60 % of lactations without a low day, 22 % with two or more.
    def spread_of_daily_sd(unsteadiness_sd):
        days = run(coefficients={"sow.appetite.variation.unsteadiness_sd": unsteadiness_sd}).sow_days
        days = days[(days.farrowed == 1) & days.day.between(8, 20)]
        return days.groupby(["replicate", "sow"]).eaten_kg.std().std()

    assert spread_of_daily_sd(0.5) > 1.3 * spread_of_daily_sd(0.0)


def test_a_denser_diet_is_eaten_less_but_gives_no_less_energy():
    # Wang et al. 2022: added fat lowers feed intake and by tendency raises the energy eaten.
    eaten = {kcal: intake_kg_per_day(run({"diet": {"energy": f"{kcal} kcal/kg"}})) for kcal in (3100, 3500)}
    assert eaten[3500] < eaten[3100]
    assert 3500 * eaten[3500] > 3100 * eaten[3100]

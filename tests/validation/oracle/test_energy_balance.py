"""The engine's daily balance against energy_by_hand, draw-free: the feed, the weather and the sow's own milk are taken as
they were, all else is worked out again. Tolerance: what addition in another order costs, 1e-9 relative."""

from dataclasses import asdict
from functools import cache

import energy_by_hand
import numpy as np
import pandas as pd
import pytest

import farrowtide

OFF = {"value": 0, "outside_range": True}
# What the plain-Python day leaves out.
LEFT_OUT = {
    "sow.milk.litter_start.sd": OFF,
    "sow.milk.litter_start.bad_start_share": OFF,
    "sow.water.low_drinker.milk_multiplier": 1,
    "sow.starvation.enough_for_milk": 0,
    "litter.growth.most_gain": {"value": 10, "outside_range": True},
    "litter.growth.teat_most_gain": {"value": 10, "outside_range": True},
    "litter.creep_feed.non_eaters": {"value": 1, "outside_range": True},
    "litter.chilling.heat_per_degree": OFF,
}
COLUMNS = {
    "maintenance": "maintenance_mcal",
    "potential": "milk_potential_mcal",
    "milk": "milk_mcal",
    "body_energy": "body_energy_change_mcal",
    "weight_change": "weight_change_kg",
    "weight": "weight_kg",
    "backfat": "backfat_mm",
    "litter_gain": "litter_gain_kg",
}
DIET = {"energy": 3300, "total_lysine": 10.5}
TRIALS = {
    "first parity in the cool, feed at hand but poor in lysine": {
        "herd": {"parity": 1, "total_born": 11, "weight": 180, "backfat": 18},
        "climate": {"kind": "imposed", "temperature": 18},
        "diet": {"energy": 3300, "total_lysine": 7},
        "feeding": {"kind": "full_access"},
    },
    "third parity in the heat, fed by hand": {
        "herd": {"parity": 3, "total_born": 13, "weight": 240, "backfat": 17},
        "climate": {"outdoor": "central_thailand"},
    },
    "seventh parity on a poor diet for 28 days": {
        "herd": {"parity": 7, "total_born": 14, "weight": 265, "backfat": 15},
        "climate": {"kind": "imposed", "temperature_hours": [24] * 12 + [30] * 12},
        "diet": {"energy": 3000, "total_lysine": 6},
        "group": {"lactation_days": 28},
    },
}


@cache
def played(name):
    """The engine's sow-days, and each of them worked out by hand."""
    trial = TRIALS[name]
    herd = {"mortality": "off", "health": "off", "every_sow": trial["herd"] | {"functional_teats": 16}}
    group = {"weaning": "each_sow"} | trial.get("group", {})
    room = {"crates": 12, "drinker_blockages": "off"}
    scenario = farrowtide.load({"title": name, "room": room} | trial | {"herd": herd, "group": group})
    result = farrowtide.run(scenario.with_coefficients(LEFT_OUT), seed=31, record=["sow_days"])
    engine = result.sow_days.sort_values(["sow", "day"])
    days = engine.groupby("sow")
    return engine, pd.concat([by_hand(sow, days.get_group(sow.sow), trial) for sow in result.sows.itertuples()])


def by_hand(own, days, trial):
    diet = DIET | trial.get("diet", {})
    sow = energy_by_hand.Sow(
        parity=own.parity,
        weight=trial["herd"]["weight"],
        backfat=trial["herd"]["backfat"],
        milk_effect=own.milk_effect_log,
        lactation_d=round(own.lactation_length_d),
        energy_per_kg=diet["energy"] / 1000,
        lysine_g_per_kg=diet["total_lysine"],
    )
    last_birth_h = own.farrowing_start_h + own.farrowing_duration_min / 60
    before = days.room_temperature_deg_c.shift(1).fillna(days.room_temperature_deg_c)
    rows = []
    for day, yesterday in zip(days.itertuples(), before, strict=True):
        fed = energy_by_hand.Fed(
            day=day.day,
            eaten_kg=day.eaten_kg,
            temperature=day.room_temperature_deg_c,
            temperature_yesterday=yesterday,
            piglets=day.piglets,
            share_of_day=1 - last_birth_h / 24 % 1 if day.day == 0 else 1,
        )
        rows.append(asdict(sow.lactating(fed) if day.farrowed else sow.before_farrowing(fed)))
    return pd.DataFrame(rows)


@pytest.mark.parametrize("name", TRIALS)
def test_every_day_is_what_the_description_says(name):
    engine, found = played(name)
    assert len(found) > 200
    for by_hand_name, column in COLUMNS.items():
        np.testing.assert_allclose(engine[column], found[by_hand_name], rtol=1e-9, atol=1e-11, err_msg=column)


def test_the_days_compared_meet_every_limit():
    found = pd.concat([played(name)[1] for name in TRIALS])
    for factor in ("feed_factor", "heat_factor", "protein_factor", "lysine_factor"):
        assert (found[factor] < 0.98).sum() > 20, factor
    assert (found.feed_factor > 1.01).sum() > 20
    assert (found.lysine_weight_change < -0.1).sum() > 20
    assert (found.body_energy > 0).sum() > 20

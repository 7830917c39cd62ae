#!/usr/bin/env python3
"""Fail on a coefficient that no code of the engine reads, unless it is kept beside those in use for a reason given here.

A coefficient is read where a file of libsim names its path. One that is read only by an equation that no room uses is not
read either. `--self-test` tries samples.
"""

import sys
from collections.abc import Iterable, Iterator

from write_model_page import NOT_READ, Engine, readers

# Beginnings of paths, and why these numbers are kept though no room reads them.
KEPT = {
    "climate.example.": "an outdoor climate that is only an example of the form",
    "litter.alternatives.": "other published values, for an overlay that exchanges an equation",
    "litter.colostrum_equations.": "published equations for colostrum intake, with which tests compare the model",
    "litter.immunity.": "evidence for passive immunity, which the model does not have",
    "litter.survival.frailty.competition_from": "the age at which the second frailty begins, which the code has by its phases",
    **dict.fromkeys(
        (
            "litter.survival.modifiers.surplus_from",
            "litter.survival.modifiers.no_milk_cups",
            "litter.survival.modifiers.cold_before_first_suck",
            "litter.survival.modifiers.floor_heat_over_12_h",
            "litter.survival.modifiers.dried_and_warmed",
            "litter.survival.modifiers.newborn_care_until",
            "litter.survival.modifiers.scours_while_sick",
        ),
        "published beside the hazards in use, which it would count twice or which the room does not have",
    ),
    "room.alternatives.": "other published values, for an overlay that exchanges an equation",
    "room.cooling.drip_": "the equipment of published trials of drip cooling",
    "sow.after_weaning.non_productive_day_cycle": "for users who put a price on the interval",
    "sow.alternatives.": "other published values, for an overlay that exchanges an equation",
    "sow.energy_balance.body_energy_per_": "published ratios that the body's balance is compared with",
    "sow.energy_balance.energy_per_kg_lost": "a published energy value of weight lost, with which tests compare the balance",
    "sow.herd.default_group_interval": "the interval of groups in the herds that other coefficients come from",
    "sow.milk.composition.energy_per_kg": "published composition, for output in kg",
    "sow.milk.composition.nitrogen_per_": "published composition, for a balance of nitrogen",
    "sow.milk.curve.longest_lactation": "the range of lactations in which the curve was measured",
    "sow.milk.curve.shortest_lactation": "the range of lactations in which the curve was measured",
    **dict.fromkeys(
        (
            "sow.sow_loss.prolapse",
            "sow.sow_loss.prolapse_fatal",
            "sow.sow_loss.lameness_removal",
            "sow.sow_loss.shoulder_lesion",
        ),
        "published incidences that the shares in use were derived from, or that the model does not have",
    ),
    "sow.water.demand.modern_ratio": "another published ratio of water to feed",
    "sow.water.demand.pre_farrow_hot": "another published demand before farrowing",
    "staff.attendance.hours_with_rounds": "a definition, which a test reads",
}


def mistakes(unread: Iterable[str], kept: Iterable[str], known: Iterable[str]) -> Iterator[str]:
    """Unread coefficients without a reason, and reasons for none."""
    unread, kept, known = list(unread), list(kept), list(known)
    for path in unread:
        if not any(path.startswith(beginning) for beginning in kept):
            yield f"{path}: no code reads it: use it, delete it, or say in KEPT why it is kept"
    for beginning in kept:
        if not any(path.startswith(beginning) for path in unread):
            there = any(path.startswith(beginning) for path in known)
            yield f"{beginning}: {'is read' if there else 'is no coefficient'}: delete it from KEPT"


def unread_in(engine: Engine) -> list[str]:
    """Those that no code names, and those that only equations name which no room uses."""
    return [
        path
        for path in engine.coefficients
        if readers(engine, path) == NOT_READ
        or (not engine.places_of[path] and not any(entry.used for entry in engine.equations_of[path]))
    ]


def self_test() -> None:
    known = ["sow.read", "sow.dead", "sow.other.kept"]
    assert list(mistakes(["sow.other.kept"], ["sow.other."], known)) == []
    assert len(list(mistakes(["sow.dead", "sow.other.kept"], ["sow.other."], known))) == 1
    assert "is read" in next(mistakes([], ["sow.read"], known))
    assert "is no coefficient" in next(mistakes([], ["sow.gone"], known))


def main() -> int:
    if "--self-test" in sys.argv:
        self_test()
        return 0
    engine = Engine()
    unread = unread_in(engine)
    found = list(mistakes(unread, KEPT, engine.coefficients))
    print(
        "\n".join(found)
        or f"{len(engine.coefficients)} coefficients, {len(unread)} of them kept for a reason beside those in use"
    )
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())

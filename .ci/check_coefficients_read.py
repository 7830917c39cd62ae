#!/usr/bin/env python3
"""Fail on a coefficient that no code of the engine reads, unless it is kept beside those in use for a reason given here.

A coefficient is read where a file of libsim names its path. One that is read only by an equation that no room uses is not
read either. Nor is one that ends in a function that only tests call, so such functions of equations need a reason, too.
`--self-test` tries samples.
"""

import re
import sys
from collections.abc import Iterable, Iterator, Mapping

from write_model_page import NOT_READ, ROOT, Engine, Entry, definitions, documented_classes, readers, without_comments

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

# Functions of equations that no room calls, and why they are kept. What only they read has no effect on any result.
ONLY_TESTED = {
    "AppetiteClock.hour_share": "by which tests look into the clock",
    "BirthInterval.veterinary_treatment": "published; nobody treats a sow in labour here",
    "BodyComposition.lipid_kg": "by which tests look into the body",
    "HelpRules.alarm_duration_min": "its coefficient is read by others",
    "HerdDistributions.weight_carried_kg": "no room weighs a sow with her unborn litter",
    "Inertia.labour_done_min": "the inverse of what rooms use, which tests compare with it",
    "LightHours.tropical": "a published alternative to the usual light",
    "LitterHazards.slots": "by which tests count places",
    "MealRules.threshold_kg": "the size of a meal, which rooms get with its draw",
    "MicroClimate.newborn_deg_c": "its coefficient is read by ColostrumChill",
    "OnsetHour.density": "the slope of what rooms use, which tests compare with it",
    "RectalTemperature.check_at_h": "its coefficient is the default of care.after",
    "ResidentEffects.fights": "an index for users; no room reads it",
    "Survival.base": "by which tests look into the hazards",
    "TaskTimes.mean_minutes": "which tests compare with what is drawn",
    "Thirst.death_from_d": "its coefficient is read by Thirst itself",
    "VentilationStages.least_m3_per_s": "by which tests look into the fans",
    "WaterDemand.waste_l_per_day": "published; water wasted is not among the results",
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


def only_tested(entries: Iterable[Entry], files: Mapping[str, str]) -> Iterator[str]:
    """Class.function of each function of an equation that no file calls but that in which it is defined."""
    for entry in entries:
        own = entry.header.removesuffix("hpp") + "cpp"
        elsewhere = "\n".join(text for name, text in files.items() if name not in (entry.header, own))
        mine = [body for owner, _, _, body in definitions(files.get(own, "")) if owner == entry.name]
        beside = files.get(entry.header, "").replace(entry.body, "") + "".join(
            body for owner, _, _, body in definitions(files.get(own, "")) if owner != entry.name
        )
        declared = re.findall(
            r"^  (?:static |friend )?[\w:<>&*, ]+? (\w+)\([^;{}]*\)(?: const)?(?: noexcept)?(?:;| \{)", entry.body, re.M
        )
        for name in dict.fromkeys(declared):
            if name in (entry.name, "operator") or name.endswith("_"):  # a constructor, an operator, a member
                continue
            called = re.compile(rf"(?:\.|->|\b{entry.name}::){name}\(")
            inside = len(re.findall(rf"\b{name}\(", entry.body + "".join(mine)))
            headings = declared.count(name) + sum(
                bool(re.match(rf"[^({{]*\b{entry.name}::{name}\(", body)) for body in mine
            )
            if not called.search(elsewhere) and not called.search(beside) and inside <= headings:
                yield f"{entry.name}.{name}"


def idle_mistakes(idle: Iterable[str], kept: Iterable[str]) -> Iterator[str]:
    """Functions that only tests call without a reason, and reasons for none."""
    idle, kept = set(idle), set(kept)
    yield from (
        f"{name}: only tests call it: use it, delete it, or say in ONLY_TESTED why it is kept"
        for name in sorted(idle - kept)
    )
    yield from (f"{name}: is called or gone: delete it from ONLY_TESTED" for name in sorted(kept - idle))


def files_of(engine: Engine) -> dict[str, str]:
    """Of the engine, and of the Python module, which may call an equation as well."""
    bindings = (ROOT / "bindings").glob("*.[ch]pp")
    return engine.files | {
        f"bindings/{path.name}": without_comments(path.read_text(encoding="utf-8")) for path in bindings
    }


def self_test() -> None:
    header = """/// A sample.
class Sample {
 public:
  double used() const { return helper(); }
  double idle(double x) const;
  double inline_idle() const { return 1; }
  static Sample standard();

 private:
  double helper() const;
};
"""
    source = "double Sample::idle(double x) const {\n  return x;\n}\ndouble Sample::helper() const {\n  return 2;\n}\nSample Sample::standard() {\n  return {};\n}\n"
    user = "const double value = Sample::standard().used();\n"
    (entry,) = documented_classes(header, "model/sow/sample.hpp")
    files = {"model/sow/sample.hpp": without_comments(header), "model/sow/sample.cpp": source, "model/user.cpp": user}
    assert list(only_tested([entry], files)) == ["Sample.idle", "Sample.inline_idle"]
    assert list(idle_mistakes(["A.b"], ["A.b"])) == []
    assert "only tests call it" in next(idle_mistakes(["A.b"], []))
    assert "is called or gone" in next(idle_mistakes([], ["A.b"]))
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
    found += idle_mistakes(only_tested(engine.entries, files_of(engine)), ONLY_TESTED)
    print(
        "\n".join(found)
        or f"{len(engine.coefficients)} coefficients, {len(unread)} of them kept for a reason beside those in use"
    )
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())

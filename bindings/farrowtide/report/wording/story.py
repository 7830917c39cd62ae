"""A story in sentences: each fact, what it was due to, and what an animal's hazard was made of."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from typing import Any

from farrowtide.analysis.story.facts import FEEDS, Fact
from farrowtide.analysis.story.records import SowRecords
from farrowtide.analysis.story.waiting import Moment, Occupation, Wait
from farrowtide.outputs.units import clock, count, duration

HOW_TO_READ = (
    "\N{MULTIPLICATION SIGN} 2: the hazard of death was twice what it would have been without that; several multiply, and hunger is added. A frail "
    "litter loses more piglets for reasons that the model does not know. One sow is one draw of chance and no evidence for "
    "a policy."
)
_LEAST_RATIO = 1.1  # a driver that raises a hazard by less is not named
_MOST_OCCUPATIONS = 3
_DOING = {  # what people do, with "of" or "for" sows after it
    "load sow": "loading",
    "train gilt": "teaching",
    "pre-farrow look": "looking before farrowing at",
    "feed by hand": "feeding",
    "feed by drop": "checking the automatic feeders of",
    "trough clean": "cleaning the troughs of",
    "trough check": "checking the troughs of",
    "drinker check": "checking the drinkers of",
    "stand up": "making stand up",
    "daily look": "looking at",
    "farrowing round": "on a farrowing round to",
    "exam and help": "assisting",
    "newborn care": "caring for newborn piglets of",
    "temperature check": "taking the temperature of",
    "treat sow": "treating",
    "treat litter": "treating the litters of",
    "foster move": "moving piglets to",
    "processing": "processing the litters of",
    "remove dead": "removing dead piglets from",
    "wean": "weaning",
    "wash": "washing the room",
    "set up": "setting up the room",
    "records": "keeping records",
    "full-access top-up": "filling the feeders of",
    "farrowing watch": "staying with",
}


def at(time_h: float) -> str:
    """The clock time of a moment."""
    return clock(time_h % 24)


def listed(words: Iterable[str]) -> str:
    """ "a", "a and b", "a, b and c"."""
    *others, last = words
    return f"{', '.join(others)} and {last}" if others else last


def sows(numbers: Iterable[int]) -> str:
    """ "sow 4", "sows 4 and 11", "5 sows"."""
    chosen = sorted(set(numbers))
    if len(chosen) == 1:
        return f"sow {chosen[0]}"
    if len(chosen) > 4:
        return f"{len(chosen)} sows"
    return f"sows {listed(map(str, chosen))}"


def doing(kind: str, of: Iterable[int] = ()) -> str:
    """ "assisting sows 4 and 11"."""
    words, chosen = _DOING.get(kind, kind), [number for number in of if number > 0]
    return f"{words} {sows(chosen)}" if chosen and not words.endswith(("the room", "records")) else words


def because(wait: Wait | None) -> str:
    """What the people did while something waited, as a clause; empty where it did not wait."""
    if wait is None or wait.minutes < 0.5:
        return ""
    parts = []
    if wait.occupations:
        some = "one or more of " if wait.most_people > 1 else ""
        parts.append(f"{some}{_people(wait.most_people)} {_occupied(wait.occupations)}")
    if wait.nobody_min >= 1:
        parts.append(f"nobody was on duty for {duration(wait.nobody_min)}")
    if wait.break_min >= 1:
        parts.append(f"{duration(wait.break_min)} fell into the break")
    return f"because {'; '.join(parts)}" if parts else ""


def _people(number: int) -> str:
    return "the one person on duty was" if number == 1 else f"the {number} people on duty were"


def _occupied(occupations: tuple[Occupation, ...]) -> str:
    named, rest = occupations[:_MOST_OCCUPATIONS], occupations[_MOST_OCCUPATIONS:]
    words = [f"{doing(one.kind, one.sows)} ({duration(one.minutes)})" for one in named]
    if rest:
        words.append(f"at other work ({duration(sum(one.minutes for one in rest))})")
    return listed(words)


def meanwhile(at_moment: Moment | None) -> str:
    """What the people did at a moment, as a clause."""
    if at_moment is None:
        return ""
    if at_moment.people == 0:
        return "at that time people were on their break" if at_moment.on_break else "at that time nobody was on duty"
    if not at_moment.busy:
        return f"at that time {_people(at_moment.people)} free"
    by_kind: dict[str, list[int]] = {}
    for kind, sow in at_moment.busy:
        by_kind.setdefault(kind, []).append(sow)
    work, busy = listed(doing(kind, of) for kind, of in by_kind.items()), len(at_moment.busy)
    if busy >= at_moment.people:
        return f"at that time {_people(at_moment.people)} {work}"
    return f"at that time {busy} of the {at_moment.people} people on duty {'was' if busy == 1 else 'were'} {work}, the others free"


def text(fact: Fact) -> str:
    """What happened, as a clause without its cause."""
    if fact.kind == "sow flagged" and not fact.numbers["amount"] >= 1:
        return "is flagged for a closer look"
    return _TEXTS[fact.kind](fact) if fact.kind in _TEXTS else str(fact.numbers["words"])


def cause(fact: Fact) -> str:
    """Why, as a clause; empty where nothing is to be explained."""
    if fact.kind == "died":
        return _made_of(fact.numbers)
    if fact.numbers.get("outcome") == "left out":
        return "because not every visit that is written down is made (staff.compliance)"
    return because(fact.wait) or meanwhile(fact.at)


def _feed(fact: Fact) -> str:
    known = fact.numbers
    if known["outcome"] == "late":
        cleaned = ", after her trough was cleaned" if known["cleaned"] else ""
        return (
            f"is fed {duration(known['late_min'])} late, at {at(known['fed_h'])} (feeding time {at(known['asked_h'])}, "
            f"late from {at(known['due_h'])}){cleaned}"
        )
    return f"is not fed at feeding time {at(known['asked_h'])}"


def _rounds(fact: Fact) -> str:
    known = fact.numbers
    return f"{known['missed']} of {count(known['all'], 'farrowing round')} to her came late or not at all"


def _task(fact: Fact) -> str:
    known = fact.numbers
    if known["outcome"] == "late":
        return (
            f"task “{known['task']}” is over at {at(known['done_h'])}, {duration(known['late_min'])} after its deadline "
            f"(asked for at {at(known['asked_h'])})"
        )
    return f"task “{known['task']}” is not done (asked for at {at(known['asked_h'])})"


def _farrowed(fact: Fact) -> str:
    known = fact.numbers
    alive = f"{known['born_alive']} born alive and {known['stillborn']} stillborn of {known['total_born']}"
    return (
        f"has farrowed in {duration(known['duration_min'])}: {alive}, {known['mean_birth_weight_kg']:.2f} kg on average, "
        f"for {known['teats']} teats; {count(known['attended_births'], 'birth')} attended"
    )


def _exam(fact: Fact) -> str:
    known = fact.numbers
    waited = f", {duration(known['waited_min'])} after it was asked for" if known.get("waited_min", 0) >= 1 else ""
    what = "a piglet is delivered" if known["delivered"] else "no piglet can be delivered yet"
    return f"internal exam {known['exam']}{waited}: {what}"


def _treated(fact: Fact) -> str:
    known = fact.numbers
    if known["outcome"] in ("undone", "left out"):
        return "is not treated, though a treatment was asked for"
    return f"is treated as prescribed by the herd veterinarian, {duration(known['waited_min'])} after it was asked for"


def _stillborn(fact: Fact) -> str:
    known = fact.numbers
    interval = known["interval_min"]
    after = "" if math.isnan(interval) else f", {duration(interval)} after the previous birth"
    attended = "with somebody present" if known["attended"] else "with nobody present"
    return f"piglet {known['piglet']} is stillborn: {known['birth_weight_kg']:.2f} kg{after}, {attended}"


def _died(fact: Fact) -> str:
    known = fact.numbers
    own = "" if not known["nursed_another"] else f" with sow {known['reared_by']}"
    if known["sow"] != known["reared_by"] and not own:
        own = f" (of sow {known['sow']})"
    cause_of = (
        "no room at another udder after its sow had died"
        if known["orphaned"]
        else str(known["cause"]).replace("other", "of another cause")
    )
    return (
        f"piglet {known['birth_order']}{own} dies, {cause_of}: {age(known['age_h'])} old, {known['weight_kg']:.2f} kg, "
        f"room {known['room_deg_c']:.1f} degC"
    )


def age(hours: float) -> str:
    """The age of a piglet: hours up to three days, then days."""
    return f"{hours:.0f} h" if hours < 72 else f"{hours / 24:.1f} d"


def _moved(fact: Fact) -> str:
    known = fact.numbers
    ranks = known["piglets"]
    which = f"piglet{'s' if len(ranks) > 1 else ''} {listed(map(str, ranks))}"
    be = "are" if len(ranks) > 1 else "is"
    if fact.kind == "moved in":
        return f"{which} of sow {known['other']} {be} moved to her, {known['weight_kg']:.1f} kg each"
    return f"{which} {be} moved to sow {known['other']}, {known['weight_kg']:.1f} kg each"


_TEXTS: dict[str, Callable[[Fact], str]] = {
    "loaded": lambda fact: (
        f"is loaded into her crate, {fact.numbers['weight_kg']:.0f} kg without the litter, parity {fact.numbers['parity']}"
    ),
    "feed": _feed,
    "rounds": _rounds,
    "task": _task,
    "farrowed": _farrowed,
    "exam": _exam,
    "treated": _treated,
    "stillborn": _stillborn,
    "died": _died,
    "moved in": _moved,
    "moved out": _moved,
}


def drivers(death: Mapping[str, Any]) -> list[tuple[str, float]]:
    """What raised the hazard of a death, and how many times, the strongest first."""
    ratios = {name: float(death[f"{name}_ratio"]) for name in _DRIVERS}
    named = [(_DRIVERS[name](death), ratio) for name, ratio in ratios.items() if ratio >= _LEAST_RATIO]
    return sorted(named, key=lambda pair: -pair[1])


def _made_of(death: Mapping[str, Any]) -> str:
    """What the hazard of a death was made of, as a clause; empty where none is known."""
    clauses = [f"{words} \N{MULTIPLICATION SIGN}\N{NO-BREAK SPACE}{_ratio(ratio)}" for words, ratio in drivers(death)]
    raised = [f"hazard raised by {', '.join(clauses)}"] if clauses else []
    if death["scouring"]:
        raised.append("it had scours")
    if death["cared_for"] == 0:
        raised.append("no newborn care")
    return "; ".join(raised)


def _ratio(ratio: float) -> str:
    return f"{ratio:.0f}" if ratio >= 10 else f"{ratio:.1f}"


_STATES_OF_SOW = {  # that raise the hazard of a cause: columns of the table of deaths
    "crushed": {"sow_ill": "ill sow", "sow_lame": "lame sow"},
    "starved or weak": {
        "sow_ill": "ill sow",
        "low_drinker": "sow that drank too little",
        "bad_start": "poor start of her lactation",
    },
}


def _of_sow(death: Mapping[str, Any]) -> str:
    states = _STATES_OF_SOW.get(death["cause"], {})
    return listed(words for name, words in states.items() if death[name])


_DRIVERS: dict[str, Callable[[Mapping[str, Any]], str]] = {
    "birth_weight": lambda death: f"light at birth ({death['birth_weight_kg']:.2f} kg)",
    "colostrum": lambda death: f"little colostrum ({death['colostrum_g']:.0f} g)",
    "below_mates": lambda death: f"{death['below_mates_kg']:.2f} kg lighter than its littermates",
    "temperature": lambda death: f"room at {death['room_deg_c']:.1f} degC",
    "surplus": lambda death: f"{count(round(death['surplus_piglets']), 'piglet')} more than usable teats",
    "unfed": lambda death: f"the litter lacked {100 * death['unfed_share']:.0f} % of the milk that it needs to live",
    "farrowing": lambda death: f"long farrowing ({duration(death['farrowing_duration_min'])})",
    "stillborn": lambda death: f"{count(int(death['stillborn']), 'littermate')} stillborn",
    "moves": lambda death: "moved once" if death["moves"] == 1 else f"moved {int(death['moves'])} times",
    "splay_legs": lambda death: "splay legs",
    "sow": _of_sow,
    "place": lambda death: "in a pen, not a crate",
    "parity": lambda death: f"parity {death['parity']} of the sow",
    "litter": lambda death: "frail litter",
}


def otherwise(fact: Fact, other: SowRecords) -> str:
    """What became of the same animal or work under the other policy, where nothing of the kind happened there."""
    if fact.kind in ("died", "stillborn"):
        _, dam, rank = fact.key
        return _fate(other.piglet(dam, rank), other.number)
    if fact.kind == "feed":
        return _fed(other, fact.numbers["asked_h"])
    if fact.kind == "rounds":
        rounds = other.visits[other.visits["kind"] == "farrowing round"]
        return (
            f"{count(len(rounds), 'farrowing round')} to her, none of them late"
            if len(rounds)
            else "no farrowing rounds"
        )
    return "nothing of the kind"


def _fate(piglet: Mapping[str, Any] | None, number: int) -> str:
    if piglet is None:
        return "is not born"
    own = "" if piglet["reared_by"] in (number, -1) else f" with sow {piglet['reared_by']}"
    match piglet["fate"]:
        case "weaned":
            return (
                f"piglet {piglet['birth_order']} lives, and is weaned{own} at {piglet['age_at_weaning_d']:.0f} d of age, "
                f"{piglet['weaning_weight_kg']:.1f} kg"
            )
        case "died":
            return f"piglet {piglet['birth_order']} dies{own} at {age(24 * piglet['age_at_death_d'])} of age"
        case fate:
            return f"piglet {piglet['birth_order']}: {fate}"


def _fed(other: SowRecords, asked_h: float) -> str:
    visits = other.visits[other.visits["kind"].isin(FEEDS) & (other.visits["asked_h"] == asked_h)]
    if visits.empty:
        return f"no feeding of hers is planned at {at(asked_h)}"
    done_h = visits["done_h"].iloc[0]
    return f"no feed at {at(asked_h)}" if math.isnan(done_h) else f"is fed in time, at {at(done_h)}"

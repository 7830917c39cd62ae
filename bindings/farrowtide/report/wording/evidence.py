"""How well published sources support the direction of a policy's effect, for each family of policies."""

from __future__ import annotations

from collections.abc import Iterable

# Measured in .site/generated/policy_families.md.
SUPPORT = {
    "loading": "A source reports more illness in sows moved shortly before farrowing (Papadopoulos et al. 2010). Its size, "
    "how gilts learn and what walks cost are assumptions.",
    "feeding": "Sources report higher intake with full access to feed (Peng et al. 2007; Choi et al. 2018). Other effects "
    "follow from the size of the trough and from how long feed stays fresh, which is an assumption; meals before "
    "farrowing had a smaller effect in a trial than in the model (Gourley et al. 2020).",
    "water": "Mainly assumptions: how often drinkers block, and how long a sow goes without water. The effect of low flow "
    "has been published below 0.7 L/min only (Leibbrandt et al. 2001).",
    "temperature": "Sources report lower feed intake in warmer rooms (Quiniou & Noblet 1999; Renaudeau et al. 2001). No "
    "trial compares when or how a room's temperature is lowered.",
    "attendance": "Sources report fewer stillborn piglets at attended births (White 1996; Monteiro et al. 2022). The model "
    "does not reach the published fall in early deaths with full care of newborn piglets, and no trial compares intervals "
    "between rounds.",
    "care": "A source reports that treating on temperature alone treats many healthy sows (Stiehler et al. 2015). The cost "
    "of illness, the benefit of treatment and the effect of stand-up rounds are mainly assumptions.",
    "fostering": "A source reports higher mortality of piglets beyond the number of teats (Kobek-Kjeldager et al. 2020). "
    "The cost of a move to a piglet is partly an assumption, and sources on sorting by size disagree.",
    "handling": "Mainly assumptions: the cost of each visit to the sow's appetite and to litter growth.",
}

# The grade of the direction of a policy's effect, for keys that begin so; the longest beginning counts.
GRADES_IN_WORDS = {
    "A": "published, and not used to fit the model",
    "B": "direction published, size fitted or derived here",
    "C": "common practice or assumption",
}
_GRADES = {
    "loading": "C",
    "loading.days_before_due": "B",
    "feeding": "C",
    "feeding.kind": "A",
    "room.drinker_flow": "C",
    "water": "C",
    "temperature": "B",
    "attendance": "B",
    "care": "C",
    "fostering": "B",
    "handling": "C",
}


def grade(keys: Iterable[str]) -> str:
    """The weakest grade of these keys of a scenario; "" where none belongs to a policy."""
    return max((_GRADES[beginning] for key in keys if (beginning := _beginning(key))), default="")


def _beginning(key: str) -> str:
    parts = key.split(".")
    beginnings = (".".join(parts[:length]) for length in range(len(parts), 0, -1))
    return next((beginning for beginning in beginnings if beginning in _GRADES), "")

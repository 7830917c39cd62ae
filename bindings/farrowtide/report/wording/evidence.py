"""How well published sources support the direction of a policy's effect, for each family of policies."""

from __future__ import annotations

# Measured in .site/generated/policy_families.md.
SUPPORT = {
    "loading": "A source reports more illness in sows moved shortly before farrowing (Papadopoulos et al. 2010). Its size, "
    "how gilts learn and what walks cost are assumptions.",
    "feeding": "Sources report higher intake with full access to feed (Peng et al. 2007; Choi et al. 2018). Other effects "
    "follow from trough capacity and how long feed stays fresh, which are partly assumptions; trials of a third meal and "
    "of meals before farrowing found smaller effects than the model (Genest & Dallaire 1995; Gourley et al. 2020).",
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

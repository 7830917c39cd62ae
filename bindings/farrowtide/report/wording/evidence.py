"""How well the model's directions are supported by published sources, for each family of policies."""

from __future__ import annotations

# How well the direction of what a family of policies does is supported; measured in .site/generated/policy_families.md.
SUPPORT = {
    "loading": "That sows moved shortly before farrowing fall ill more often has a source (Papadopoulos et al. 2010); by how "
    "much, how gilts learn and what walks cost is assumed.",
    "feeding": "That sows eat more with feed always at hand has sources (Peng et al. 2007; Choi et al. 2018). Other effects "
    "follow from what a trough holds and how long feed stays fit, partly assumed; trials of a third meal and of meals before "
    "farrowing saw less than the model makes of them (Genest & Dallaire 1995; Gourley et al. 2020).",
    "water": "Led by assumptions: how often drinkers clog, and how long a sow goes on without water. What little flow costs "
    "is published below 0.7 L/min only (Leibbrandt et al. 2001).",
    "temperature": "That sows eat less in a warmer room has sources (Quiniou & Noblet 1999; Renaudeau et al. 2001). No trial "
    "compares the days or the ways of lowering a room.",
    "attendance": "That attended births have fewer stillborn has sources (White 1996; Monteiro et al. 2022). The published "
    "fall of early deaths with full care of the newborn is not reached, and no trial compares how often somebody goes round.",
    "care": "That temperature alone treats many healthy sows has a source (Stiehler et al. 2015). What illness costs, what "
    "treatment saves and what stand-up rounds do is led by assumptions.",
    "fostering": "That piglets above the teats die more has a source (Kobek-Kjeldager et al. 2020). What a move costs a "
    "piglet is partly assumed, and sources on sorting by size are divided.",
    "handling": "Led by assumptions: what each visit costs the sow's appetite and the litter's growth.",
}

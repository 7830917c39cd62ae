"""What is turned in the pictures of sensitivity, on which animals, what is looked at, and what was published about it.

Trials had other herds than ours. Where only the change matters it is drawn as `ratio` or `difference` to the trial's
first level, starting on the simulated line there.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

FIRST, OLDER = "first parity", "fourth parity"


@dataclass(frozen=True)
class Published:
    """Values `y` that a source found at `x`."""

    source: str
    x: tuple[float, ...]
    y: tuple[float, ...]
    way: str = "absolute"  # or ratio, or difference
    line: int = 0  # of the panel, on which a change is laid


@dataclass(frozen=True)
class Panel:
    """One small picture: lines, each an output of one of the study's lines."""

    title: str
    unit: str
    lines: tuple[tuple[str, str], ...]
    published: tuple[Published, ...] = ()
    names: tuple[str, ...] = ()  # of the lines, where they are not the study's


@dataclass(frozen=True)
class Study:
    """Levels and lines of animals are overrides of the base; a level's key is its place on the axis."""

    key: str
    title: str
    axis: str
    base: dict[str, Any]
    levels: dict[float, dict[str, Any]]
    lines: dict[str, dict[str, Any]]
    panels: tuple[Panel, ...]
    says: Callable[[Any], str]  # of what was found
    ticks: dict[float, str]
    scale: str = "linear"
    tables: tuple[str, ...] = ()
    sources: list[str] = field(init=False)

    def __post_init__(self) -> None:
        named = [published.source for panel in self.panels for published in panel.published]
        object.__setattr__(self, "sources", list(dict.fromkeys(named)))


def _plain_ticks(*levels: float) -> dict[float, str]:
    return {level: f"{level:g}" for level in levels}


def _signed(value: float, decimals: int = 0) -> str:
    return f"{value:+.{decimals}f}".replace("-", "\N{MINUS SIGN}")


def _each_sow(lactation_days: int) -> dict[str, Any]:
    return {"lactation_days": lactation_days, "weaning": "each_sow"}


def _chamber(temperature: str) -> dict[str, str]:
    return {"kind": "imposed", "temperature": temperature}


def _of(output: str, *lines: str) -> tuple[tuple[str, str], ...]:
    return tuple((output, line) for line in lines)


PARITY_LINES = {FIRST: {"herd.every_sow.parity": 1}, OLDER: {"herd.every_sow.parity": 4}}
INTAKE, GAIN, LOSS = "feed_intake_kg_per_day", "litter_gain_kg_per_day", "weight_loss_kg"
PIGLET_GAIN, DEATHS, STILLBORN = "piglet_gain_g_per_day", "preweaning_mortality_percent", "stillborn_percent"


# --- temperature -----------------------------------------------------------------------------------------------------

QUINIOU = "Quiniou & Noblet 1999, older sows, from 18 °C"
RENAUDEAU = "Renaudeau et al. 2001, older sows, from 20 °C"
MESSIAS_97 = "Messias de Bragança et al. 1997, older sows, from 18 °C"
MESSIAS_98 = "Messias de Bragança et al. 1998, first parity, from 20 °C"


def _temperature_says(found: Any) -> str:
    ate, lost = ([found.mean(output, OLDER, level) for level in (18, 25, 29)] for output in (INTAKE, LOSS))
    young = [found.mean(LOSS, FIRST, level) for level in (25, 28)]
    return (
        f"From 18 to 25 to 29 °C (64, 77, 84 °F) a fourth-parity sow with full access to feed eats {ate[0]:.2f}, {ate[1]:.2f} and "
        f"{ate[2]:.2f} kg/d: {ate[2] / ate[0]:.2f} of the intake at 18 °C remains at 29 °C, where Quiniou & Noblet 1999 measured 0.54. The gain of her "
        f"litter changes by {_signed(found.change_percent(GAIN, OLDER, 20, 29))} % from 20 to 29 °C (Renaudeau et al. 2001: \N{MINUS SIGN}26 %), "
        f"her loss of weight in 21 days by {_signed(lost[2] - lost[0])} kg from 18 to 29 °C (Quiniou & Noblet: +12 kg). From 25 to 28 °C "
        f"first-parity sows change from {young[0]:.1f} to {young[1]:.1f} kg lost: their milk falls with intake, and pair-fed sows lost less weight in heat "
        f"(Prunier et al. 1997). Values above 30 °C are extrapolated; no "
        f"chamber trial counted deaths."
    )


TEMPERATURE = Study(
    key="temperature",
    title="Room temperature",
    axis="room temperature, day and night",
    base={"group": _each_sow(21), "feeding": {"kind": "full_access"}},
    levels={t: {"climate": _chamber(f"{t} degC")} for t in (16, 18, 20, 22, 24, 25, 26, 27, 28, 29, 30, 31, 32)},
    lines=PARITY_LINES,
    panels=(
        Panel(
            "Feed eaten",
            "kg/d",
            _of(INTAKE, FIRST, OLDER),
            (
                Published(QUINIOU, (18, 25, 27, 29), (1, 0.873, 0.794, 0.543), "ratio", line=1),
                Published(RENAUDEAU, (20, 29), (1, 0.553), "ratio", line=1),
                Published(MESSIAS_97, (18, 27), (1, 0.72), "ratio", line=1),
                Published(MESSIAS_98, (20, 30), (1, 0.57), "ratio", line=0),
            ),
        ),
        Panel(
            "Litter gain",
            "kg/d",
            _of(GAIN, FIRST, OLDER),
            (
                Published(QUINIOU, (18, 25, 27, 29), (1, 1, 0.88, 0.784), "ratio", line=1),
                Published(RENAUDEAU, (20, 29), (1, 0.739), "ratio", line=1),
                Published(MESSIAS_97, (18, 27), (1, 0.735), "ratio", line=1),
            ),
        ),
        Panel(
            "Weight lost by the sow",
            "kg in 21 d",
            _of(LOSS, FIRST, OLDER),
            (
                Published(QUINIOU, (18, 29), (0, 12), "difference", line=1),
                Published(RENAUDEAU, (20, 29), (0, 13.5), "difference", line=1),
            ),
        ),
        Panel("Live-born that die", "%", _of(DEATHS, FIRST, OLDER)),
    ),
    says=_temperature_says,
    ticks=_plain_ticks(16, 20, 24, 28, 32),
)


# --- litter size -----------------------------------------------------------------------------------------------------

AS_BORN = "fourth parity, litter as born"
KEPT = {"herd.mortality": "off", "herd.health": "off"}  # the litter stays at its size
AULDIST = "Auldist et al. 1998, first parity, as measured"
SCHINCKEL = "Schinckel et al. 2010, mixed parities, from 6"
EISSEN = "Eissen et al. 2003, first parity, from 8"
GOURLEY = "Gourley et al. 2020, attended herd, as measured"
# Classes under 13, 13-14, 15-16 and over 16: drawn at the means of a normal distribution with their 14.7 and an SD of 3.1.
GOURLEY_CLASSES = (10.7, 13.5, 15.5, 18.4)


def _litter_size_says(found: Any) -> str:
    slope = (found.mean(PIGLET_GAIN, FIRST, 14) - found.mean(PIGLET_GAIN, FIRST, 6)) / 8
    return (
        f"Each further piglet on a first-parity sow takes {-slope:.1f} g/d from the gain of every piglet between 6 and 14 nursed "
        f"(Auldist et al. 1998: 10.1), and the sow's weight changes by {_signed(-found.mean(LOSS, FIRST, 6))} kg with 6 "
        f"and {_signed(-found.mean(LOSS, FIRST, 14))} kg with 14 in 28 days. Her intake changes from {found.mean(INTAKE, FIRST, 8):.2f} with 8 to {found.mean(INTAKE, FIRST, 14):.2f} kg/d with 14 "
        f"(Eissen et al. 2003: no effect). Without fostering, litters of 8 have {found.mean(STILLBORN, AS_BORN, 8):.1f} % stillborn and lose "
        f"{found.mean(DEATHS, AS_BORN, 8):.1f} % of the live-born, litters of 16 {found.mean(STILLBORN, AS_BORN, 16):.1f} and "
        f"{found.mean(DEATHS, AS_BORN, 16):.1f} %."
    )


LITTER_SIZE = Study(
    key="litter_size",
    title="Litter size",
    axis="piglets nursed (deaths: piglets born)",
    base={"group": _each_sow(28), "feeding": {"kind": "full_access"}, "climate": _chamber("20 degC")},
    levels={n: {"herd.every_sow.total_born": n} for n in (6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 16, 17, 18)},
    lines={
        FIRST: PARITY_LINES[FIRST] | KEPT,
        OLDER: PARITY_LINES[OLDER] | KEPT,
        AS_BORN: PARITY_LINES[OLDER],
    },
    panels=(
        Panel(
            "Feed eaten",
            "kg/d",
            _of(INTAKE, FIRST, OLDER),
            (
                Published(SCHINCKEL, (6, 8, 10, 12, 14), (1, 1.044, 1.061, 1.054, 1.023), "ratio", line=1),
                Published(EISSEN, (8, 11, 14), (1, 1, 1), "ratio", line=0),
            ),
        ),
        Panel(
            "Gain of a piglet",
            "g/d",
            _of(PIGLET_GAIN, FIRST, OLDER),
            (Published(AULDIST, (6, 14), (283, 202)),),
        ),
        Panel("Weight lost by the sow", "kg in 28 d", _of(LOSS, FIRST, OLDER)),
        Panel(
            "Lost piglets, fourth parity, litter as born",
            "%",
            ((STILLBORN, AS_BORN), (DEATHS, AS_BORN)),
            (Published(GOURLEY, GOURLEY_CLASSES, (4.7, 5.7, 7.1, 10.5)),),
            names=("stillborn, of total born", "died, of live-born"),
        ),
    ),
    says=_litter_size_says,
    ticks=_plain_ticks(6, 8, 10, 12, 14, 16, 18),
)


# --- parity ----------------------------------------------------------------------------------------------------------

ALL = "default herd, one parity at a time"
NRC = "NRC 2012, net of 5 % waste"
DOURMAD = "Dourmad et al., Nutritional Modelling for Pigs and Poultry, table 4.1"
KRUSE = "Kruse et al. 2011, 105 sows"


def _parity_says(found: Any) -> str:
    return (
        f"With full access to feed sows of parity 1, 2 and 3 eat {found.mean(INTAKE, ALL, 1):.2f}, {found.mean(INTAKE, ALL, 2):.2f} and "
        f"{found.mean(INTAKE, ALL, 3):.2f} kg/d over 21 days (NRC 2012: 5.67 and, from parity 2, 6.30). Their litters gain "
        f"{found.mean(GAIN, ALL, 1):.2f}, {found.mean(GAIN, ALL, 2):.2f} and {found.mean(GAIN, ALL, 3):.2f} kg/d. Stillbirths rise from "
        f"{found.mean(STILLBORN, ALL, 2):.1f} % at parity 2 to {found.mean(STILLBORN, ALL, 6):.1f} % at parity 6 (Teixeira Costa et al. 2024: from "
        f"parity 5 half as many again as the herd's mean); deaths of live-born are {found.mean(DEATHS, ALL, 1):.1f} % at "
        f"parity 1 and {found.mean(DEATHS, ALL, 6):.1f} % at parity 6."
    )


PARITY = Study(
    key="parity",
    title="Parity",
    axis="parity",
    base={"group": _each_sow(21), "feeding": {"kind": "full_access"}, "climate": _chamber("20 degC")},
    levels={parity: {"herd.every_sow.parity": parity} for parity in range(1, 9)},
    lines={ALL: {}},
    panels=(
        Panel(
            "Feed eaten",
            "kg/d",
            _of(INTAKE, ALL),
            (
                Published(NRC, (1, 2, 3), (5.67, 6.30, 6.30)),
                Published(DOURMAD, (1, 2, 3), (5.24, 6.06, 6.63)),
                Published(KRUSE, (2, 3), (6.1, 5.7)),
            ),
        ),
        Panel("Litter gain", "kg/d", _of(GAIN, ALL)),
        Panel("Weight lost by the sow", "kg in 21 d", _of(LOSS, ALL)),
        Panel(
            "Lost piglets",
            "%",
            ((STILLBORN, ALL), (DEATHS, ALL)),
            names=("stillborn, of total born", "died, of live-born"),
        ),
    ),
    says=_parity_says,
    ticks=_plain_ticks(*range(1, 9)),
)


# --- drinker flow ----------------------------------------------------------------------------------------------------

WARM, HOT = "22 °C (72 °F)", "28 °C (82 °F)"
WATER = "water_l_per_day"
LEIBBRANDT = "Leibbrandt et al. 2001, 236 litters, from 0.70 L/min"


def _drinker_flow_says(found: Any) -> str:
    return (
        f"From 0.70 to 0.076 L/min at 22 °C (72 °F) feed intake changes by {_signed(found.change_percent(INTAKE, WARM, 0.701, 0.076))} % "
        f"(Leibbrandt et al. 2001: \N{MINUS SIGN}14 %), their loss of weight in 21 days by "
        f"{_signed(found.mean(LOSS, WARM, 0.076) - found.mean(LOSS, WARM, 0.701), 1)} kg (+6.9 kg) and the gain of their litters by "
        f"{_signed(found.change_percent(GAIN, WARM, 0.701, 0.076), 1)} % (no effect on litter weight). From 0.70 to 2.4 L/min they eat "
        f"{_signed(found.change_percent(INTAKE, WARM, 0.701, 2.4), 1)} %: only the two lower flows were measured; the shape between and above them is an assumption."
    )


DRINKER_FLOW = Study(
    key="drinker_flow",
    title="Flow of the drinkers",
    axis="flow, L/min (logarithmic)",
    base={
        "group": _each_sow(21),
        "feeding": {"kind": "full_access"},
        "room": {"drinker_flow_cv": 0, "drinker_blockages": "off"},
    },
    levels={q: {"room.drinker_flow": f"{q} L/min"} for q in (0.076, 0.1, 0.15, 0.2, 0.35, 0.5, 0.701, 1, 1.5, 2.4)},
    lines={WARM: {"climate": _chamber("22 degC")}, HOT: {"climate": _chamber("28 degC")}},
    panels=(
        Panel(
            "Feed eaten", "kg/d", _of(INTAKE, WARM, HOT), (Published(LEIBBRANDT, (0.701, 0.076), (1, 0.858), "ratio"),)
        ),
        Panel("Litter gain", "kg/d", _of(GAIN, WARM, HOT), (Published(LEIBBRANDT, (0.701, 0.076), (1, 1), "ratio"),)),
        Panel(
            "Weight lost by the sow",
            "kg in 21 d",
            _of(LOSS, WARM, HOT),
            (Published(LEIBBRANDT, (0.701, 0.076), (0, 6.9), "difference"),),
        ),
        Panel("Water drunk", "L/d", _of(WATER, WARM, HOT)),
    ),
    says=_drinker_flow_says,
    ticks=_plain_ticks(0.076, 0.2, 0.5, 1, 2.4),
    scale="log",
)


# --- meals a day -----------------------------------------------------------------------------------------------------

GENEST = "Genest & Dallaire 1995, first parity, from 2 feeds"
PENG = "Peng et al. 2007, older sows, 2 dry feeds to self-fed wet/dry"
FEEDS = {
    1: ["07:00"],
    2: ["07:00", "15:00"],
    3: ["07:00", "11:00", "15:00"],
    4: ["07:00", "10:00", "13:00", "15:30"],
}
ALWAYS = 5  # the place of full access on the axis
WORK = "labour_min_per_litter"


def _by_hand(times: list[str]) -> dict[str, Any]:
    """As much at every feed as the trough holds: the allowance never limits."""
    return {"kind": "hand", "times": times, "allowance": {"rule": "flat", "amount": "16 kg/d"}}


def _meals_says(found: Any) -> str:
    ate = [found.mean(INTAKE, OLDER, level) for level in (1, 2, 3, ALWAYS)]
    return (
        f"At 20 °C (68 °F), a trough of 4 kg filled at each feed, fourth-parity sows eat {ate[0]:.2f}, {ate[1]:.2f} and {ate[2]:.2f} kg/d with one, "
        f"two and three feeds and {ate[3]:.2f} with full access to dry feed: {_signed(100 * (ate[3] / ate[1] - 1))} % on two feeds, where Peng et al. "
        f"2007 measured +9 % with a wet/dry feeder. A third feed changes the intake of first-parity sows by {_signed(found.change_percent(INTAKE, FIRST, 2, 3), 1)} % "
        f"(Genest & Dallaire 1995: 0 %). No trial fed once a day or more than three times; there the result follows from the model's trough and feeding times alone."
    )


MEALS = Study(
    key="meals",
    title="Feeds a day",
    axis="feeds a day by hand",
    base={"group": _each_sow(22), "climate": _chamber("20 degC"), "room": {"trough_capacity": "4 kg"}},
    levels={n: {"feeding": _by_hand(times)} for n, times in FEEDS.items()}
    | {ALWAYS: {"feeding": {"kind": "full_access"}}},
    lines=PARITY_LINES,
    panels=(
        Panel(
            "Feed eaten",
            "kg/d",
            _of(INTAKE, FIRST, OLDER),
            (
                Published(GENEST, (2, 3), (1, 1), "ratio", line=0),
                Published(PENG, (2, ALWAYS), (1, 1.09), "ratio", line=1),
            ),
        ),
        Panel("Litter gain", "kg/d", _of(GAIN, FIRST, OLDER)),
        Panel("Weight lost by the sow", "kg in 22 d", _of(LOSS, FIRST, OLDER)),
        Panel("All staff work", "min per litter", _of(WORK, FIRST, OLDER)),
    ),
    says=_meals_says,
    ticks={1: "1", 2: "2", 3: "3", 4: "4", ALWAYS: "always\nat hand"},
    tables=("tasks",),
)


# --- attendance ------------------------------------------------------------------------------------------------------

USUAL, FULL = "usual: a round every 30 min, care intensity 0.25", "close: a round every 5 min, care intensity 1"
WHITE = "White 1996, 60 litters, unattended and attended, as measured"
EARLY, ALL_LOSS, ATTENDED = "died_d0_1_percent", "total_loss_percent", "births_attended_percent"
DAY = {"from": "07:00", "until": "16:00", "people": 2, "break": "0 min"}


def _cover(until: str | None) -> dict[str, Any]:
    """The day shift, and one person from its end on."""
    evening = [{"from": "16:00", "until": until, "people": 1, "break": "0 min"}] if until else []
    return {"staff": {"shifts": [DAY, *evening]}}


def _attendance_says(found: Any) -> str:
    lost = [found.mean(ALL_LOSS, FULL, hours) for hours in (0, 24)]
    saved = found.mean(STILLBORN, FULL, 0) - found.mean(STILLBORN, FULL, 24)
    return (
        f"From no attendance at farrowing to attendance day and night, stillbirths fall from {found.mean(STILLBORN, USUAL, 0):.1f} to "
        f"{found.mean(STILLBORN, USUAL, 24):.1f} % with usual rounds and care and to {found.mean(STILLBORN, FULL, 24):.1f} % with close ones; deaths on the first two "
        f"days go from {found.mean(EARLY, FULL, 0):.1f} to {found.mean(EARLY, FULL, 24):.1f} % and all losses to weaning from {lost[0]:.1f} to "
        f"{lost[1]:.1f} % with close ones. White 1996 found 6.8 to 1.6, 5.2 to 2.2 and 18.2 to 10.1 % in 60 litters with drying, clearing, oxygen and "
        f"colostrum: the model has {100 * saved / (6.8 - 1.6):.0f} % of that fall in stillbirth and {100 * (lost[0] - lost[1]) / (18.2 - 10.1):.0f} % of that in all losses. Help at birth is a skilled procedure, and working alone at night is a hazard; the herd veterinarian decides who does it."
    )


ATTENDANCE = Study(
    key="attendance",
    title="Hours of attendance at farrowing",
    axis="hours a day with somebody to attend farrowings",
    base={
        "group": _each_sow(21),
        "feeding": {"kind": "full_access"},
        "climate": _chamber("22 degC"),
    },
    levels={
        0: {"attendance": {"kind": "none"}, **_cover(None)},
        9: _cover(None),
        12: _cover("19:00"),
        16: _cover("23:00"),
        20: _cover("03:00"),
        24: _cover("07:00"),
    },
    lines={USUAL: {}, FULL: {"attendance.round_every": "5 min", "attendance.care_intensity": 1}},
    panels=(
        Panel("Births attended", "%", _of(ATTENDED, USUAL, FULL)),
        Panel(
            "Stillborn",
            "% of total born",
            _of(STILLBORN, USUAL, FULL),
            (Published(WHITE, (0, 24), (6.8, 1.6)),),
        ),
        Panel(
            "Died on the first two days",
            "% of live-born",
            _of(EARLY, USUAL, FULL),
            (Published(WHITE, (0, 24), (5.2, 2.2)),),
        ),
        Panel(
            "All losses to weaning",
            "% of total born",
            _of(ALL_LOSS, USUAL, FULL),
            (Published(WHITE, (0, 24), (18.2, 10.1)),),
        ),
    ),
    says=_attendance_says,
    ticks={0: "0", 9: "9", 12: "12", 16: "16", 20: "20", 24: "24"},
    tables=("piglets",),
)

STUDIES = (TEMPERATURE, LITTER_SIZE, PARITY, DRINKER_FLOW, MEALS, ATTENDANCE)

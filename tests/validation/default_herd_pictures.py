"""The pictures of the default-herd page: the simulated herd in colour, published ranges as grey bars or hollow marks."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np
import pictures
from matplotlib.axes import Axes
from pictures import Drawn

from farrowtide.report.usual_intake import usual_intake

if TYPE_CHECKING:
    from default_herd import Herd, Read

CLASSES = {"first parity": "P1", "second parity": "P2", "later parities": "P3+"}


def draw(herd: Herd, found: Mapping[str, Read]) -> dict[str, Drawn]:
    """Writes every picture; by the section that shows it."""
    makers: dict[str, Callable[[Herd, Mapping[str, Read]], Drawn]] = {
        "intake": _intake,
        "body": _body,
        "mortality": _mortality,
        "weaning": _weaning,
        "oestrus": _oestrus,
    }
    return {name: make(herd, found) for name, make in makers.items()}


def _beside(axis: Axes, labels: Sequence[str], reads: Sequence[Read], headroom: float = 1.12) -> None:
    """Simulated means with their intervals, each before its published range and what is allowed around it."""
    places = np.arange(len(reads))
    means = np.array([each.found.mean for each in reads])
    errors = np.array([[each.found.mean - each.found.low, each.found.high - each.found.mean] for each in reads]).T
    axis.errorbar(
        places,
        means,
        yerr=errors,
        label="simulated, 95 % interval",
        color="#0072B2",
        linestyle="none",
        marker="o",
        markersize=4,
        capsize=3,
    )
    for ends, grey, label in (("published", "0.78", "published range"), ("allowed", "0.91", "allowed around it")):
        low, high = np.array([getattr(each, ends) for each in reads]).T
        edge = {"edgecolor": "0.45", "linewidth": 1.2, "zorder": 0.2} if ends == "published" else {"zorder": 0.1}
        axis.bar(places, high - low, bottom=low, width=0.6, color=grey, label=label, **edge)
    highest = max(max(each.allowed[1], each.found.high) for each in reads)
    axis.set_ylim(0, headroom * highest)
    axis.set_xticks(places, labels)
    axis.set_xlim(-0.6, len(reads) - 0.4)
    axis.grid(axis="x", visible=False)


def _told(reads: Mapping[str, Read]) -> str:
    return "; ".join(f"{name} {each.found.mean:.1f} (published {each.published_text})" for name, each in reads.items())


def _intake(herd: Herd, found: Mapping[str, Read]) -> Drawn:
    with pictures.panels(1, 2, 2.7, width_ratios=[1.7, 1]) as (figure, axes):
        curves, means = axes[0]
        for look, (label, parity_class) in zip(pictures.LOOKS, CLASSES.items(), strict=False):
            pictures.line_with_band(curves, *herd.intake_by_day(parity_class), look | {"marker": ""}, label)
        day = np.arange(1, 28)
        curves.plot(
            day,
            usual_intake().kg_per_day(day, "P2"),
            color="black",
            linewidth=0.9,
            dashes=(1, 1.5),
            label="NRC 2012, from parity 2",
        )
        curves.fill_between(
            [1, 7],
            *found["intake_week_1"].published,
            color="0.78",
            linewidth=0,
            label="published week 1, all sows",
            zorder=0,
        )
        curves.set(
            xlabel="lactation day", ylabel="feed eaten, kg/d per sow", title="By day, with 95 % bands", ylim=(0, 8.9)
        )
        curves.legend(loc="lower right")
        reads = {"all\nd1-27": "intake", "P1\nd1-21": "intake_p1", "P2\nd1-21": "intake_p2", "P3+\nd1-21": "intake_p3"}
        _beside(means, list(reads), [found[key] for key in reads.values()])
        means.set(title="Means, kg/d", ylim=(0, 8.9))
        means.legend(loc="lower right")
    told = _told({"all sows, days 1 to 27": found["intake"], "first parity, days 1 to 21": found["intake_p1"]})
    return pictures.written(
        figure,
        "default_herd_intake",
        "Feed eaten in the default herd",
        "Left: mean of the sows of a parity class by day. Right: means beside the range of published ones.",
        f"Feed eaten in kg/d by day of lactation, rising steeply for ten days and then slowly, and means: {told}.",
    )


def _body(herd: Herd, found: Mapping[str, Read]) -> Drawn:
    with pictures.panels(1, 2, 2.4) as (figure, axes):
        for axis, key, title in zip(
            axes[0], ("loss", "backfat"), ("Weight lost in 28 d, kg", "Backfat lost in 28 d, mm (P2)"), strict=True
        ):
            _beside(axis, list(CLASSES), [found[f"{key}_{end}"] for end in ("p1", "p2", "p3")])
            axis.set_title(title)
        axes[0, 0].legend(loc="lower left")
    told = _told(
        {f"{name} weight": found[f"loss_{end}"] for name, end in zip(CLASSES, ("p1", "p2", "p3"), strict=True)}
    )
    return pictures.written(
        figure,
        "default_herd_body",
        "Weight and backfat lost in the default herd",
        "Loss from farrowing to weaning by parity class. Trials lasted 21 to 28 days, those of backfat 14 to 24.",
        f"Weight [kg] and backfat lost by parity class: {told}.",
    )


def _mortality(herd: Herd, found: Mapping[str, Read]) -> Drawn:
    with pictures.panels(1, 3, 2.5, width_ratios=[1.1, 1, 1.2]) as (figure, axes):
        by_age, periods, causes = axes[0]
        pictures.line_with_band(by_age, *herd.died_by_age(), pictures.LOOKS[0] | {"marker": ""}, "simulated, 95 % band")
        low, high = found["died"].published
        by_age.bar(28, high - low, bottom=low, width=1.6, color="0.78", label="published, to weaning", zorder=0)
        by_age.set(xlabel="age, d", title="Live-born dead by age, %", ylim=(0, 19))
        by_age.legend(loc="lower right")
        shares = {"d0-1": "share_d0_1", "d2-8": "share_d2_8", "d9-28": "share_d9_28"}
        _beside(periods, list(shares), [found[key] for key in shares.values()], headroom=1.45)
        periods.set(title="Share of deaths by age, %", xlabel="age at death")
        of_cause = {"crushed": "cause_crushed", "starved\nor weak": "cause_starved", "scours": "cause_scours"}
        _beside(causes, list(of_cause), [found[key] for key in of_cause.values()])
        causes.set(title="Share of deaths by cause, %")
        periods.legend(loc="upper right")
    told = _told({name.replace("\n", " "): found[key] for name, key in (shares | of_cause).items()})
    return pictures.written(
        figure,
        "default_herd_mortality",
        "Piglets that die in the default herd",
        "Left: pre-weaning mortality by age. Middle and right: how deaths divide by age and by cause.",
        f"Rising curve of pre-weaning mortality by age, {found['died'].found.mean:.1f} % at 28 days; shares of deaths in %: {told}.",
    )


def _weaning(herd: Herd, found: Mapping[str, Read]) -> Drawn:
    with pictures.panels(1, 2, 2.5, sharey=True) as (figure, axes):
        published = {
            21: (("Smith et al. 2007, 14-21 d", 5.80, 1.36), ("Sulabo et al. 2010, 20 d", 5.67, 0)),
            28: (("Calderón Díaz et al. 2018, 28 d", 7.03, 1.61), ("Pustal et al. 2015, 27 d", 7.8, 0)),
        }
        for axis, days in zip(axes[0], published, strict=True):
            weights = herd.weaned(days).weaning_weight_kg
            bins = np.arange(1, 15.5, 0.5)
            share = 100.0 * np.histogram(weights, bins)[0] / len(weights)
            axis.bar(
                bins[:-1], share, width=0.5, align="edge", color="#0072B2", alpha=0.45, edgecolor="white", linewidth=0.4
            )
            mean, sd = weights.mean(), weights.std()
            axis.errorbar(
                mean,
                14.5,
                xerr=sd,
                marker="o",
                color="#0072B2",
                markersize=4,
                capsize=3,
                linestyle="none",
                label=f"simulated mean and SD: {mean:.2f}, {sd:.2f}",
            )
            for index, (source, at, spread) in enumerate(published[days]):
                pictures.published_points(axis, at, 15.8 + 1.3 * index, index, source, xerr=spread or None)
            axis.set(title=f"Weaned at {days} d", xlabel="weight of a piglet, kg", ylim=(0, 24))
            axis.legend(loc="upper right")
        axes[0, 0].set_ylabel("piglets, %")
    told = "; ".join(f"at {days} d mean {found[f'weight_{days}'].found.mean:.2f} kg" for days in published)
    return pictures.written(
        figure,
        "default_herd_weaning",
        "Weaning weights of the default herd",
        "Histogram of simulated piglets; marks: means, with standard deviations where published.",
        f"Two bell-shaped histograms of weaning weight, {told}.",
    )


def _oestrus(herd: Herd, found: Mapping[str, Read]) -> Drawn:
    iida = (4.1, 30.0, 38.4, 7.9, 12.7, 6.9)
    waits = {"0-3": (0, 3), "4": (4, 4), "5": (5, 5), "6": (6, 6), "7-20": (7, 20), "21+": (21, 400)}
    places = np.arange(len(waits))
    with pictures.panels(1, 2, 2.5, sharey=True) as (figure, axes):
        for axis, title, classes in zip(
            axes[0], ("First parity", "Second and later parities"), (["P1"], ["P2", "P3+"]), strict=True
        ):
            waited = [herd.waited(first, last, classes) for first, last in waits.values()]
            means = np.array([each.mean for each in waited])
            errors = np.array([[each.mean - each.low, each.high - each.mean] for each in waited]).T
            axis.bar(
                places,
                means,
                yerr=errors,
                width=0.7,
                color="#0072B2",
                alpha=0.55,
                capsize=3,
                label="simulated, 95 % interval",
            )
            axis.set_xticks(places, list(waits))
            axis.set(title=title, xlabel="days from weaning to oestrus")
            axis.grid(axis="x", visible=False)
        pictures.published_points(axes[0, 0], places, iida, 0, "Iida & Koketsu 2019, to mating")
        axes[0, 0].set(ylabel="sows, %", ylim=(0, 60))
        axes[0, 0].legend(loc="upper right")
    return pictures.written(
        figure,
        "default_herd_oestrus",
        "Weaning to oestrus in the default herd",
        "Share of sows by days from weaning to oestrus; the source counts days to first mating.",
        f"Histograms of days from weaning to oestrus. First parity: {found['wait_4'].found.mean:.0f} % on day 4, "
        f"{found['wait_5'].found.mean:.0f} % on day 5. All sows: {found['wait_all'].found.mean:.0f} % within 6 days.",
    )

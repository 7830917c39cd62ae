"""What a study keeps of a room besides its outputs: feed intake by day, tasks by outcome, work by hour."""

from __future__ import annotations

import numpy as np
import pandas as pd

from farrowtide.outputs.rooms import PARITY_CLASSES, parity_class

STAFF_MIN = "staff_min"


def intake_days(sow_days: pd.DataFrame) -> pd.DataFrame:
    """Mean feed intake per sow [kg] and number of sows, by replicate, parity class and lactation day from day 1."""
    days = sow_days[sow_days["day"] >= 1]
    parity = pd.Series(parity_class(days["parity"]), days.index, name="parity_class")
    keys = [days["replicate"], parity, days["day"]]
    means = days.groupby(keys)["eaten_kg"].agg(["mean", "size"]).reset_index()
    return means.rename(columns={"mean": "eaten_kg", "size": "sows"}).assign(
        parity_class=lambda frame: np.array(PARITY_CLASSES)[frame["parity_class"]]
    )


def task_counts(tasks: pd.DataFrame) -> pd.DataFrame:
    """How often each kind of task was requested, finished late and left undone, by replicate."""
    requests = pd.DataFrame(
        {
            "replicate": tasks["replicate"],
            "task": tasks["kind"],
            "asked": 1,
            "late": tasks["outcome"] == "late",
            "undone": tasks["outcome"] == "undone",
        }
    )
    counts = requests.groupby(["replicate", "task"], observed=True).sum().astype(int).reset_index()
    return counts.astype({"task": str})


def hours_in_use(work_hours: pd.DataFrame, duty_hours: pd.DataFrame) -> pd.DataFrame:
    """Minutes worked and minutes on duty by replicate and hour of the day, summed over the days that count."""
    keys = ["replicate", "hour"]
    worked = work_hours.groupby(keys)["minutes"].sum().rename("worked_min")
    on_duty = duty_hours.set_index(keys)["on_duty_min"]
    return pd.concat([worked, on_duty], axis=1).fillna(0.0).sort_index().reset_index()


def sows_that_farrowed(sows: pd.DataFrame, tasks: pd.DataFrame) -> pd.DataFrame:
    """The rows of sows that farrowed here, with `staff_min`: minutes of the tasks that were for each alone."""
    sows = sows[sows["nurse"] == 0]
    minutes = tasks[tasks["sow"] > 0].groupby(["replicate", "sow"])["minutes"].sum()
    keys = pd.MultiIndex.from_frame(sows[["replicate", "sow"]])
    return sows.assign(**{STAFF_MIN: minutes.reindex(keys, fill_value=0.0).to_numpy()})

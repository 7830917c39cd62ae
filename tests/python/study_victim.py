"""A small study that tests run in other processes, to kill it there."""

import farrowtide
from farrowtide.pairing import each_sow, pairing_table

TIMES = (["07:00"], ["07:00", "15:00"], ["06:00", "11:00", "16:00"])
ALTERNATIVES = {
    f"{len(times)} feeds, at most {most} kg": {"feeding.times": times, "feeding.allowance.most": f"{most} kg/d"}
    for times in TIMES
    for most in (6, 8)
}
REPLICATIONS = 50


def compared(folder=None, executor=None, threads=1):
    """The study, gone on with where the folder has some of it."""
    scenario = farrowtide.load({"title": "victim", "room": {"crates": 2}})
    return farrowtide.compare(
        scenario,
        ALTERNATIVES,
        replications=REPLICATIONS,
        seed=5,
        executor=executor,
        threads=threads,
        folder=folder,
        resume=True,
    )


def swept(folder=None, executor=None, threads=1, **options):
    scenario = farrowtide.load({"title": "victim", "room": {"crates": 2}})
    return farrowtide.sweep(
        scenario,
        {"feeding.times": list(TIMES)},
        replications=REPLICATIONS,
        seed=5,
        **_run_by(folder, executor, threads),
        **options,
    )


def picked(folder=None, executor=None, threads=1, **options):
    return farrowtide.pick(
        with_alternatives(),
        "intake",
        0.0001,
        replications=REPLICATIONS,
        seed=5,
        **_run_by(folder, executor, threads),
        **options,
    )


def paired(folder=None, executor=None, threads=1, **options):
    return pairing_table(
        with_alternatives(), replications=REPLICATIONS, seed=5, **_run_by(folder, executor, threads), **options
    )


def each_sow_compared(folder=None, executor=None, threads=1, **options):
    return each_sow(
        with_alternatives(),
        "6 kg",
        "8 kg",
        replications=REPLICATIONS,
        seed=5,
        **_run_by(folder, executor, threads),
        **options,
    )


def taken_apart(folder=None, executor=None, threads=1, **options):
    practices = {"more feeds": {"feeding.times": TIMES[2]}, "no gilt taught": {"loading.teach": "nobody"}}
    scenario = farrowtide.load(
        {"title": "victim", "room": {"crates": 2}, "alternatives": practices, "study": {"parts": list(practices)}}
    )
    return farrowtide.parts(
        scenario, replications=REPLICATIONS, seed=5, **_run_by(folder, executor, threads), **options
    )


def with_alternatives():
    alternatives = {f"{most} kg": {"feeding.allowance.most": f"{most} kg/d"} for most in (6, 7, 8)}
    return farrowtide.load({"title": "victim", "room": {"crates": 2}, "alternatives": alternatives})


def _run_by(folder, executor, threads):
    return {"executor": executor, "threads": threads, "folder": folder, "resume": folder is not None}

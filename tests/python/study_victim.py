"""A small study that tests run in other processes, to kill it there."""

import farrowtide

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

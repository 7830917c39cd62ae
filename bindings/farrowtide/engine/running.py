"""Running a single scenario."""

from __future__ import annotations

from collections.abc import Callable, Collection

from farrowtide import _core
from farrowtide.engine.result import ALL_TABLES, CAUSES, TABLES, Interrupted, Result
from farrowtide.errors import InternalError, UserError, emit
from farrowtide.limits import MOST_REPLICATES, MOST_SEED, MOST_THREADS, require_whole
from farrowtide.scenarios.given import GivenScenario, as_scenario
from farrowtide.scenarios.plausibility.arms import of_scenario
from farrowtide.scenarios.scenario import Scenario

_TOGETHER = ({"tasks", "work_hours", "duty_hours"}, set(CAUSES))  # the engine records each of these as a whole


def run(
    scenario: GivenScenario,
    *,
    replications: int = 1,
    seed: int | None = None,
    threads: int = 0,
    first_replicate: int = 0,
    record: Collection[str] = TABLES,
    progress: Callable[[int], None] | None = None,
) -> Result:
    """Runs a scenario, or the file of one, as written; its alternatives and cases are for `compare`.

    `replications` (1 or more) are numbered from `first_replicate`. The same scenario, seed, replicate number and
    version give the same rows, whatever the number of `threads`. 0 threads means all processors, or one thread if
    the scenario uses policies written in Python, because only one thread can run Python at a time. `record` names the
    tables to keep: `sows` is always kept, the staff tables (tasks, work_hours, duty_hours) go together, and so do the
    causes (visits, stretches, roster, deaths), which are kept only where `record` names one of them. `progress` is
    called about ten times a second with the number of complete replications.

    Raises UserError. On Ctrl-C raises Interrupted, a KeyboardInterrupt that holds the complete replications.
    """
    scenario = as_scenario(scenario)
    emit(of_scenario(scenario))
    result = simulate_replicates(
        scenario,
        replications=replications,
        seed=scenario.study.seed if seed is None else seed,
        threads=threads,
        first_replicate=first_replicate,
        record=record,
        progress=progress,
    )
    if len(result.set_aside) == result.replications:
        raise InternalError(result.set_aside[0][1])
    emit(result.room_warnings, finished=result)
    return result


def simulate_replicates(
    scenario: Scenario,
    *,
    replications: int,
    seed: int,
    threads: int,
    first_replicate: int,
    record: Collection[str],
    one_stream: bool = False,
    progress: Callable[[int], None] | None = None,
) -> Result:
    """As `run`; `one_stream` draws random numbers in the order of asking, from one generator per replicate."""
    if isinstance(record, str) or not isinstance(record, Collection):
        raise UserError(f"record = {record!r}: a list of names of tables is needed ({', '.join(ALL_TABLES)})")
    if unknown := set(record) - set(ALL_TABLES):
        raise UserError(f"no table is called '{min(unknown)}' (tables: {', '.join(ALL_TABLES)})")
    require_whole("replications", replications, 1)
    require_whole("threads", threads, 0, MOST_THREADS)
    require_whole("first_replicate", first_replicate, 0)
    require_whole("seed", seed, 0, MOST_SEED)
    if first_replicate + replications > MOST_REPLICATES:
        raise UserError(
            f"replicates {first_replicate} to {first_replicate + replications - 1}: their numbers must be below "
            f"{MOST_REPLICATES:,}"
        )
    for together in _TOGETHER:
        if together & set(record):
            record = together | set(record)
    if threads == 0 and scenario.own_policies:
        threads = 1
    core, stopped_by = _core.run(
        scenario._core,
        replications=replications,
        first_replicate=first_replicate,
        seed=seed,
        threads=threads,
        tables=list(record),
        progress=progress,
        one_stream=one_stream,
    )
    result = Result(core, scenario, seed=seed, first_replicate=first_replicate, recorded=record)
    if isinstance(stopped_by, KeyboardInterrupt):
        raise Interrupted(result if result.replications else None) from None
    if stopped_by is not None:
        raise stopped_by
    if result.replications < replications:  # a policy raised KeyboardInterrupt
        raise Interrupted(result if result.replications else None)
    return result

"""One run, as a user holds it."""

from __future__ import annotations

from collections.abc import Callable, Collection
from typing import TYPE_CHECKING

from farrowtide.engine import result as engine
from farrowtide.engine.result import TABLES, Interrupted
from farrowtide.engine.running import run as run_scenario
from farrowtide.errors import PlausibilityWarning, UserError
from farrowtide.scenarios.given import GivenScenario

if TYPE_CHECKING:
    from farrowtide.results.replay import Replay
    from farrowtide.results.story import Story


class Result(engine.Result):
    __doc__ = engine.Result.__doc__

    def story(
        self,
        sow: int | None = None,
        *,
        replicate: int | None = None,
        find: str | None = None,
        against: str | None = None,
    ) -> Story:
        """What happened to one sow and her litter, with causes from the engine's records; her room is run again for it.

        The sow has a number and a `replicate` (default: the first of this run), or is found by `find` as in
        `farrowtide.story`, in that replicate or in all of this run. `against`: an alternative of the scenario, beside
        which she is told; one that this run is not of. Raises UserError.
        """
        from farrowtide.results.story import story_in

        base, case, alternative = self.scenario.before_choices()
        last = self.first_replicate + self.replications
        self._require_replicate(replicate)
        return story_in(
            base,
            range(self.first_replicate, last) if replicate is None else range(replicate, replicate + 1),
            sow,
            find=find,
            alternative=alternative,
            against=against,
            case=case,
            seed=self.seed,
        )

    def replay(self, *, replicate: int | None = None, group: int | None = None, against: str | None = None) -> Replay:
        """One room over time, to be looked at; it is run again for it.

        `replicate`: default the first of this run. `group`: of a farm, as in `farrowtide.replay`. `against`: an alternative
        of the scenario, shown beside this run; one that this run is not of. Raises UserError.
        """
        from farrowtide.results.replay import replay

        self._require_replicate(replicate)
        base, case, alternative = self.scenario.before_choices()
        return replay(
            base,
            alternative=alternative,
            against=against,
            case=case,
            replicate=self.first_replicate if replicate is None else replicate,
            group=group,
            seed=self.seed,
        )

    def _require_replicate(self, replicate: int | None) -> None:
        last = self.first_replicate + self.replications
        if replicate is not None and not self.first_replicate <= replicate < last:
            raise UserError(f"replicate {replicate} is not in this run, which has {self.first_replicate} to {last - 1}")


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
    try:
        return _told(
            run_scenario(
                scenario,
                replications=replications,
                seed=seed,
                threads=threads,
                first_replicate=first_replicate,
                record=record,
                progress=progress,
            )
        )
    except Interrupted as stopped:
        raise stopped.with_finished(stopped.finished and _told(stopped.finished)) from None
    except PlausibilityWarning as warning:
        warning.finished = warning.finished and _told(warning.finished)
        raise


run.__doc__ = run_scenario.__doc__


def _told(result: engine.Result) -> Result:
    """The same result, which can tell stories."""
    return Result(
        result._core,
        result.scenario,
        seed=result.seed,
        first_replicate=result.first_replicate,
        recorded=result._recorded,
    )

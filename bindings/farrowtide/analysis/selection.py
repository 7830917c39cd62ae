"""Selection of the best alternative in an output, with a stated probability."""

from __future__ import annotations

from collections.abc import Sequence

from farrowtide.errors import UserError
from farrowtide.outputs.output import Output, good_direction
from farrowtide.statistics import selection as numbers
from farrowtide.statistics.intervals import CONFIDENCE

LEAST_SHARE = 1e-6  # of what is too small to matter: below it, no number of rooms would do


class Selection(numbers.Selection):
    """Selects the best alternative in an output; `delta` is in its unit.

    See `farrowtide.statistics.selection.Selection`. Raises UserError, also where neither direction of the output is better.
    """

    def __init__(
        self,
        alternatives: Sequence[str],
        output: Output,
        delta: float,
        *,
        confidence: float = CONFIDENCE,
        first_stage: int = numbers.FIRST_STAGE,
    ) -> None:
        least = LEAST_SHARE * output.negligible
        if 0 < delta < least:
            raise UserError(f"indifference = {delta}: must be at least {least:g} {output.unit}")
        sign = 1.0 if good_direction(output) == "higher" else -1.0
        super().__init__(
            alternatives, delta, sign=sign, unit=output.unit, confidence=confidence, first_stage=first_stage
        )
        self.output = output

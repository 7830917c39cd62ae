"""Selection of the best alternative in an output, with a stated probability."""

from __future__ import annotations

from collections.abc import Sequence

from farrowtide.outputs.output import Output, good_direction
from farrowtide.statistics import selection as numbers
from farrowtide.statistics.intervals import CONFIDENCE


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
        sign = 1.0 if good_direction(output) == "higher" else -1.0
        super().__init__(
            alternatives, delta, sign=sign, unit=output.unit, confidence=confidence, first_stage=first_stage
        )
        self.output = output

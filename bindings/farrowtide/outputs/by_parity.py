"""An output for each parity class."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from farrowtide.outputs.output import Output
from farrowtide.outputs.rooms import PARITY_CLASSES, Rooms

GROUP = "practices by parity"


def by_parity(output: Output, name: str, measure: Callable[[int], Callable[[Rooms], np.ndarray]]) -> list[Output]:
    """The output for each of PARITY_CLASSES. `name` has "{}" for the class; `measure` takes the index of the class."""
    return [
        replace(
            output,
            name=name.format(parity_class.lower().replace("+", "_up")),
            label=f"{output.label}, {parity_class}",
            measure=measure(index),
            group=GROUP,
            phrases=None,
            of_one_parity_class=True,
            of_one_animal=len(PARITY_CLASSES) * output.of_one_animal,  # among a part of the room
        )
        for index, parity_class in enumerate(PARITY_CLASSES)
    ]

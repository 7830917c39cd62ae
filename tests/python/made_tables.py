"""Tables of blocks of a study, made by hand in place of simulated rooms, and an executor that makes them."""

from concurrent.futures import Executor, Future

import numpy as np
import pyarrow as pa

from farrowtide.outputs.plausibility.observed import Observed

WEANED = "weaned_per_litter"


def table_of(block, weaned=None, set_aside=()):
    """A table as of a block, with as many piglets weaned in each replicate as `weaned` says, 10 if it says nothing."""
    replicates = np.arange(block.first, block.first + block.count)
    values = [10.0 if weaned is None else weaned(block.arm, number) for number in replicates]
    seen = Observed(set_aside=[(int(number), "the model broke") for number in set_aside])
    metadata = {"conservation_checks_passed": "3", "observed": seen.as_json()}
    columns = {name: [getattr(block.arm, name)] * block.count for name in block.kept.labels}
    return pa.table(columns | {"replicate": replicates, WEANED: values}).replace_schema_metadata(metadata)


def spread(arm, replicate):
    """Half of the pairs differ by 1, the others by -1: standard deviation 1."""
    return 10.0 + (arm.alternative == "b") * (-1) ** replicate


class Made(Executor):
    """Makes tables by hand; those of which `until` does not hold are never done."""

    def __init__(self, table=table_of, until=lambda block: True, workers=2):
        self.asked = []
        self.futures = []
        self._table, self._until, self._max_workers = table, until, workers

    def submit(self, function, block):
        future = Future()
        self.asked.append((block.arm.alternative, block.first))
        self.futures.append(future)
        if self._until(block):
            future.set_result(self._table(block))
        return future

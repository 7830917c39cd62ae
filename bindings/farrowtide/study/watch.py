"""What is seen of a study's rooms while it runs, and the warnings that follow."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence

import pyarrow as pa

from farrowtide.errors import PlausibilityWarning
from farrowtide.outputs.catalogue.litters import OF_MOVES
from farrowtide.outputs.plausibility.findings import MOVED, found_in
from farrowtide.outputs.plausibility.observed import Observed
from farrowtide.outputs.units import count
from farrowtide.scenarios.plausibility.arms import Labels, arm_name, expected_of, merged, named
from farrowtide.scenarios.plausibility.facts import Expected, values_in_effect
from farrowtide.scenarios.scenario import Scenario
from farrowtide.statistics.inference import DIFFERENCES
from farrowtide.study import blocks
from farrowtide.study.plan import Plan

FEW_ROOMS = 20  # fewer replications than this are said to be few; our own choice, as a block of a study has as many

KINDS = {
    "few rooms": f"Fewer than {FEW_ROOMS} replications were run, so that most effects cannot be told from chance.",
    "identical alternatives": "Two alternatives give the same value in every output of every room.",
}


class Watch:
    """What is seen of every arm of a study while it runs; hand it the tables of each round, in order."""

    def __init__(self, plan: Plan) -> None:
        self._plan = plan
        self._seen: dict[Labels, Observed] = {}
        self._outputs: dict[Labels, hashlib._Hash] = {}
        self._rooms: dict[Labels, int] = {}

    def add(self, tables: Sequence[pa.Table]) -> None:
        """Takes in the tables of a round."""
        for table in tables:
            if "case" not in table.column_names or not table.num_rows:
                continue
            if "seed" in table.column_names and not self._is_paired(table):
                continue
            labels = (table.column("case")[0].as_py(), table.column("alternative")[0].as_py())
            self._seen.setdefault(labels, Observed()).add(blocks.observed(table))
            self._rooms[labels] = self._rooms.get(labels, 0) + table.num_rows
            digest = self._outputs.setdefault(labels, hashlib.sha256())
            flat = blocks.without_lists(table).drop_columns(["case", "alternative"])
            for column in flat.itercolumns():
                digest.update(column.combine_chunks().to_numpy(zero_copy_only=False).tobytes())

    def _is_paired(self, table: pa.Table) -> bool:
        """Whether a study that runs its arms in several ways ran these rooms on the study's seed, drawn by address."""
        return table.column("seed")[0].as_py() == self._plan.seed and not table.column("one_stream")[0].as_py()

    def warnings(self) -> list[PlausibilityWarning]:
        """What there is to say about the results so far."""
        expected = {labels: expected_of(self._plan.rooms[labels]) for labels in self._seen}
        shown = warnings_shown({labels: (seen, expected[labels]) for labels, seen in self._seen.items()})
        if not self._asks_for_moves():
            shown = [warning for warning in shown if warning.kind != MOVED]
        return [*self._few_rooms(), *self._identical(), *shown]

    def _asks_for_moves(self) -> bool:
        """Whether an output of moved piglets is among those that the study is about."""
        return any(output.group == "headline" and output.name in OF_MOVES for output in self._plan.outputs)

    def set_aside(self) -> list[dict[str, object]]:
        """The rooms that broke off: case, alternative, replicate, seed and fault."""
        return [
            {"case": case, "alternative": name, "replicate": replicate, "seed": self._plan.seed, "fault": fault}
            for (case, name), seen in self._seen.items()
            for replicate, fault in seen.set_aside
        ]

    @property
    def nothing_left(self) -> bool:
        """Whether every room broke off."""
        return bool(self._rooms) and sum(self._rooms.values()) == len(self.set_aside())

    def _few_rooms(self) -> list[PlausibilityWarning]:
        rooms = max(self._rooms.values(), default=0)
        if rooms >= FEW_ROOMS:
            return []
        problem = f"only {rooms} {'room was' if rooms == 1 else 'rooms were'} run for each alternative, too few to tell most effects from chance"
        return [
            PlausibilityWarning(
                "few rooms", "replications", problem, f"Run {DIFFERENCES.rooms} or more (--replications)."
            )
        ]

    def _identical(self) -> list[PlausibilityWarning]:
        groups: dict[tuple[str, int, str], list[str]] = {}
        for (case, name), digest in self._outputs.items():
            groups.setdefault((case, self._rooms[case, name], digest.hexdigest()), []).append(name)
        by_keys: dict[tuple[str, int, tuple[str, ...]], list[str]] = {}
        for (case, rooms, _), names in groups.items():
            if len(names) > 1:
                keys = tuple(differing_keys([self._plan.rooms[case, name] for name in names]))
                by_keys.setdefault((case, rooms, keys), []).append(" = ".join(names))
        identical: dict[Labels, list[PlausibilityWarning]] = {(case, ""): [] for case in self._plan.cases}
        for (case, rooms, keys), places in by_keys.items():
            advice = f"They differ in {', '.join(keys)}, which has no effect here." if keys else "They are the same."
            problem = f"identical in every output of all {rooms} rooms"
            more = f" (and {count(len(places) - 1, 'more group')}, which differ in the same)" if len(places) > 1 else ""
            warning = PlausibilityWarning("identical alternatives", places[0] + more, problem, advice)
            identical[case, ""].append(warning)
        return merged(identical)


def warnings_shown(arms: Mapping[Labels, tuple[Observed, Expected]], before: str = "") -> list[PlausibilityWarning]:
    """The warnings about what was seen of the arms of a study; `before` is put in front of what is wrong."""
    one_case = len({case for case, _ in arms}) == 1
    labels_of = {arm_name(labels, one_case=one_case): labels for labels in arms}
    return [
        PlausibilityWarning(
            warning.kind,
            warning.place,
            f"{before}{warning.problem}",
            warning.advice,
            named([labels_of[name] for name in warning.where], list(arms)) if warning.where else (),
        )
        for warning in found_in({name: arms[labels] for name, labels in labels_of.items()})
    ]


def differing_keys(scenarios: Sequence[Scenario]) -> list[str]:
    """The keys whose values in effect are not the same in all of these scenarios."""
    settings = [values_in_effect(scenario) for scenario in scenarios]
    paths = dict.fromkeys(path for values in settings for path in values)
    return [path for path in paths if len({values.get(path) for values in settings}) > 1]

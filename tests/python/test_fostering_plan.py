"""Fostering plans against networkx and scipy: the same optimum from other formulations, by other algorithms.

The costs are written out here once more, from their description in libsim/policy/fostering/plan.hpp; only the numbers in
them are read from the library.
"""

import math
import random
import time
from dataclasses import dataclass
from itertools import pairwise

import networkx as nx
import numpy as np
import pytest
from scipy import optimize, sparse

from farrowtide import _core

COEFFICIENTS = _core.Coefficients.built_in()
GRID_KG = 0.002  # weights lie on it, so that their costs are whole thousandths and rounding is no part of the check


def number(name: str) -> float:
    return COEFFICIENTS.find(f"litter.{name}").value[0]


SURPLUS, MOVE, PER_KG = (
    number(f"fostering.{name}") for name in ("litter_size_cost", "move_cost", "weight_difference_cost")
)
LATE, LATE_AFTER_H = number("fostering.late_recipient_cost"), number("fostering.late_recipient_after")
CREDIT, SORT = number("fostering.first_parity_credit"), number("fostering_practice.sort_cost")
YOUNG_UNTIL, CLOSED_AFTER_DAY = (
    number("fostering_practice.suits_light_until_parity"),
    number("fostering_practice.closed_after_day"),
)


def whole(cost: float) -> int:
    return math.floor(1000 * cost + 0.5)


@dataclass
class Litter:
    parity: int
    teats: int
    nursing: int
    day: int
    since_h: float
    mean_kg: float
    scouring: bool
    ill: bool

    def row(self):
        return (self.parity, self.teats, self.nursing, self.day, self.since_h, self.mean_kg, self.scouring, self.ill)

    @property
    def takes(self) -> bool:
        return self.day <= CLOSED_AFTER_DAY and not self.scouring and not self.ill

    def surplus_cost(self, size: int) -> float:
        return SURPLUS * max(0, size - self.teats) ** 2


@dataclass
class Piglet:
    litter: int
    kg: float
    age_h: float
    moves: int

    def row(self):
        return (self.litter, self.kg, self.age_h, self.moves, False)


@dataclass
class Room:
    litters: list[Litter]
    piglets: list[Piglet]
    moved: int

    def movable(self) -> list[int]:
        return [
            i
            for i, piglet in enumerate(self.piglets)
            if 12 <= piglet.age_h <= 24 and piglet.moves == 0 and not self.litters[piglet.litter].scouring
        ]

    def moves_left(self, share: float) -> int:
        return max(0, math.floor(share * len(self.piglets) + 1e-9) - self.moved)

    def plan(self, kind: str, share: float):
        return _core.plan_fostering(
            COEFFICIENTS,
            f"{{kind: {kind}, max_moved: {share}}}",
            [litter.row() for litter in self.litters],
            [piglet.row() for piglet in self.piglets],
            len(self.piglets),
            self.moved,
        )


def on_grid(kg: float) -> float:
    return GRID_KG * round(kg / GRID_KG)


def room_of(draw: random.Random, sows: int, largest: int = 18) -> Room:
    litters, piglets = [], []
    for place in range(sows):
        age_h = draw.choice([draw.uniform(12, 24), draw.uniform(12, 24), draw.uniform(0, 100)])
        own = [
            Piglet(place, on_grid(draw.uniform(0.7, 2.1)), age_h, int(draw.random() < 0.03))
            for _ in range(draw.randint(4, largest))
        ]
        mean_kg = on_grid(sum(piglet.kg for piglet in own) / len(own))
        litters.append(
            Litter(
                draw.randint(1, 7),
                draw.randint(11, 15),
                len(own),
                int(age_h // 24),
                age_h,
                mean_kg,
                draw.random() < 0.07,
                draw.random() < 0.07,
            )
        )
        piglets += own
    return Room(litters, piglets, sum(piglet.moves for piglet in piglets))


def check_rules(room: Room, moves, share: float):
    assert len(moves) <= room.moves_left(share)
    assert len({piglet for piglet, _ in moves}) == len(moves)
    movable = set(room.movable())
    for piglet, to in moves:
        assert piglet in movable
        assert room.litters[to].takes
        assert to != room.piglets[piglet].litter


# --- filling: networkx ------------------------------------------------------------------------------------------------


@dataclass
class Filling:
    """Every pair of piglet and recipient is an arc of its own, costs may be negative, nothing breaks ties."""

    room: Room
    alpha: float

    @property
    def mean(self) -> float:
        return len(self.room.piglets) / len(self.room.litters)

    def step(self, litter: Litter, size: int) -> int:
        """Of one piglet more in a litter of that size."""
        evenness = self.alpha * ((size + 1 - self.mean) ** 2 - (size - self.mean) ** 2)
        return whole(litter.surplus_cost(size + 1) - litter.surplus_cost(size)) + whole(evenness)

    def giving(self, litter: Litter, k: int) -> int:
        return -self.step(litter, litter.nursing - k)

    def taking(self, litter: Litter, k: int) -> int:
        return self.step(litter, litter.nursing + k - 1)

    def carrying(self, piglet: Piglet, to: Litter) -> int:
        late = LATE if to.since_h > LATE_AFTER_H else 0
        credit = CREDIT if to.parity == 1 else 0
        return whole(MOVE + PER_KG * abs(piglet.kg - to.mean_kg) + late - credit)

    def cost(self, moves) -> int:
        given, taken, cost = {}, {}, 0
        for place, to in moves:
            piglet = self.room.piglets[place]
            given[piglet.litter] = given.get(piglet.litter, 0) + 1
            taken[to] = taken.get(to, 0) + 1
            cost += self.giving(self.room.litters[piglet.litter], given[piglet.litter])
            cost += self.taking(self.room.litters[to], taken[to])
            cost += self.carrying(piglet, self.room.litters[to])
        return cost

    def network(self, most: int) -> nx.MultiDiGraph:
        graph = nx.MultiDiGraph()
        graph.add_node("start", demand=-most)
        graph.add_node("end", demand=most)
        graph.add_edge("start", "end", capacity=most, weight=0)
        recipients = [j for j, litter in enumerate(self.room.litters) if litter.takes and litter.nursing < litter.teats]
        for j in recipients:
            litter = self.room.litters[j]
            for k in range(1, litter.teats - litter.nursing + 1):
                graph.add_edge(("in", j), "end", capacity=1, weight=self.taking(litter, k))
        given = dict.fromkeys(range(len(self.room.litters)), 0)
        for i in self.room.movable():
            piglet = self.room.piglets[i]
            given[piglet.litter] += 1
            own = ("out", piglet.litter)
            giving = self.giving(self.room.litters[piglet.litter], given[piglet.litter])
            graph.add_edge("start", own, capacity=1, weight=giving)
            graph.add_edge(own, i, capacity=1, weight=0)
            for j in recipients:
                if j != piglet.litter:
                    graph.add_edge(i, ("in", j), capacity=1, weight=self.carrying(piglet, self.room.litters[j]))
        return graph


def check_filling(room: Room, kind: str, share: float) -> int:
    filling = Filling(room, 0 if kind == "fill_teats" else number("fostering.equalise_weight"))
    moves, cost, _ = room.plan(kind, share)
    check_rules(room, moves, share)
    for to in {to for _, to in moves}:
        litter = room.litters[to]
        assert litter.nursing + sum(move[1] == to for move in moves) <= litter.teats
    assert round(1000 * cost) == filling.cost(moves)
    best, _ = nx.network_simplex(filling.network(room.moves_left(share)))
    assert round(1000 * cost) == best
    return len(moves)


# Seeds, sows in a room, most piglets in a litter: most rooms are small, some as large as rooms get (700 piglets, 60 sows).
# No room has 32 sows: only then can the mean litter put a cost exactly between two whole thousandths.
SIZES = [(940, 2, 12, 18), (50, 13, 31, 18), (10, 60, 60, 19)]


@pytest.mark.parametrize(("rooms", "fewest", "most", "largest"), SIZES)
def test_filling_costs_what_networkx_finds(rooms, fewest, most, largest):
    moved = 0
    for seed in range(rooms):
        draw = random.Random(f"{fewest} {seed}")
        room = room_of(draw, draw.randint(fewest, most), largest)
        share = draw.choice([0.05, 0.15, 0.15, 0.3, 1.0])
        moved += check_filling(room, draw.choice(["fill_teats", "fill_and_equalise"]), share)
    assert moved > rooms, "the rooms are no test"


# --- sorting: scipy ---------------------------------------------------------------------------------------------------


@dataclass
class Sorting:
    room: Room

    def __post_init__(self):
        """The weights that sows are to rear."""
        litters, own = self.room.litters, {}
        for i in self.room.movable():
            own.setdefault(self.room.piglets[i].litter, []).append(self.room.piglets[i].kg)
        sorters = [j for j in own if litters[j].takes]
        sorters.sort(key=lambda j: (litters[j].parity > YOUNG_UNTIL, np.mean(own[j])))
        rest = sorted(kg for j in sorters for kg in own[j])
        ends = np.cumsum([0, *(len(own[j]) for j in sorters)])
        self.target_kg = {j: litter.mean_kg for j, litter in enumerate(litters) if litter.takes}
        self.target_kg |= {j: np.mean(rest[a:b]) for j, (a, b) in zip(sorters, pairwise(ends), strict=True)}
        self.movable = {j: len(own.get(j, [])) for j in range(len(litters))}

    def misfit(self, piglet: Piglet, at: int) -> int:
        return abs(whole(SORT * piglet.kg) - whole(SORT * self.target_kg[at])) if at in self.target_kg else 0

    def places(self, j: int) -> list[int]:
        """What each more that nurses her costs, from those that stay on."""
        litter = self.room.litters[j]
        most = max(litter.teats, litter.nursing) if litter.takes else litter.nursing
        sizes = range(litter.nursing - self.movable[j], most)
        return [whole(litter.surplus_cost(size + 1) - litter.surplus_cost(size)) for size in sizes]

    def least_cost(self, most: int) -> float:
        """As an integer programme: who nurses whom, and how many each sow nurses."""
        variables, rows, columns, values = [], [], [], []
        piglets, sows = self.room.movable(), list(range(len(self.room.litters)))
        row_of_piglet = {i: row for row, i in enumerate(piglets)}
        row_of_sow = {j: len(piglets) + j for j in sows}
        row_of_limit = len(piglets) + len(sows)

        def variable(cost: int, **entries: float):
            for row, value in entries.items():
                rows.append(int(row[1:]))
                columns.append(len(variables))
                values.append(value)
            variables.append(cost)

        for i in piglets:
            piglet = self.room.piglets[i]
            for j in {piglet.litter, *self.target_kg}:
                moves = j != piglet.litter
                entries = {f"r{row_of_piglet[i]}": 1, f"r{row_of_sow[j]}": 1, f"r{row_of_limit}": int(moves)}
                variable(self.misfit(piglet, j) + (whole(MOVE) if moves else 0), **entries)
        for j in sows:
            for cost in self.places(j):
                variable(cost, **{f"r{row_of_sow[j]}": -1})
        stay = sum(self.misfit(self.room.piglets[i], self.room.piglets[i].litter) for i in piglets)
        stay += sum(sum(self.places(j)[: self.movable[j]]) for j in sows)
        low = np.array([1.0] * len(piglets) + [0.0] * len(sows) + [0.0])
        high = np.array([1.0] * len(piglets) + [0.0] * len(sows) + [float(most)])
        matrix = sparse.csr_array((values, (rows, columns)), shape=(len(low), len(variables)))
        solved = optimize.milp(
            np.array(variables, float),
            integrality=np.ones(len(variables)),
            bounds=optimize.Bounds(0, 1),
            constraints=optimize.LinearConstraint(matrix, low, high),
            options={"mip_rel_gap": 0},
        )
        assert solved.success
        return solved.fun - stay


@pytest.mark.parametrize("share", [0.1, 0.15, 1.0])
def test_sorting_is_the_best_of_plans_with_as_few_moves(share):
    unused = limit = 0
    for seed in range(40):
        draw = random.Random(f"{share} {seed}")
        room = room_of(draw, draw.randint(2, 12))
        moves, cost, _ = room.plan("by_size", share)
        check_rules(room, moves, share)
        most = room.moves_left(share) if share == 1 else len(moves)
        # The mean of weights may lie between two whole thousandths: one, at either end of a move.
        assert 1000 * cost == pytest.approx(Sorting(room).least_cost(most), abs=2 * len(moves) + 0.01)
        unused += room.moves_left(share) - len(moves)
        limit += room.moves_left(share)
    assert limit - unused > 40, "the rooms are no test"


def test_a_room_as_large_as_any_is_planned_at_once():
    """Generous limits: 20 times what a plan took when this was written."""
    room = room_of(random.Random(1), 60, 19)
    for kind, most_s in [("fill_teats", 0.1), ("fill_and_equalise", 0.1), ("by_size", 8)]:
        begin = time.perf_counter()
        room.plan(kind, 0.15)
        assert time.perf_counter() - begin < most_s


def test_a_piglet_of_no_litter_is_the_users_mistake():
    with pytest.raises(_core.UserError, match="not in `litters`"):
        _core.plan_fostering(COEFFICIENTS, "{kind: none}", [], [(0, 1.0, 20.0, 0, False)], 1, 0)

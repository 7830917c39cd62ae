"""The same M/M/1 queue in general-purpose engines in Python: customers every 125 s in the mean, served for 100 s."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator

import ciw
import salabim
import simpy

MEAN_GAP_S, MEAN_SERVICE_S = 125.0, 100.0


def in_simpy(customers: int) -> None:
    draw, env = random.Random(1), simpy.Environment()
    server = simpy.Resource(env)

    def customer() -> Iterator[simpy.Event]:
        with server.request() as turn:
            yield turn
            yield env.timeout(draw.expovariate(1 / MEAN_SERVICE_S))

    def source() -> Iterator[simpy.Event]:
        for _ in range(customers):
            yield env.timeout(draw.expovariate(1 / MEAN_GAP_S))
            env.process(customer())

    env.process(source())
    env.run()


def in_salabim(customers: int) -> None:
    draw, env = random.Random(1), salabim.Environment(trace=False, yieldless=False)
    server = salabim.Resource(env=env)

    class Customer(salabim.Component):
        def process(self) -> Iterator[object]:
            yield self.request(server)
            yield self.hold(draw.expovariate(1 / MEAN_SERVICE_S))
            self.release()

    class Source(salabim.Component):
        def process(self) -> Iterator[object]:
            for _ in range(customers):
                yield self.hold(draw.expovariate(1 / MEAN_GAP_S))
                Customer(env=env)

    Source(env=env)
    env.run()


def in_ciw(customers: int) -> None:
    network = ciw.create_network(
        arrival_distributions=[ciw.dists.Exponential(1 / MEAN_GAP_S)],
        service_distributions=[ciw.dists.Exponential(1 / MEAN_SERVICE_S)],
        number_of_servers=[1],
    )
    ciw.seed(1)
    ciw.Simulation(network).simulate_until_max_customers(customers)


ENGINES: dict[str, Callable[[int], None]] = {"SimPy": in_simpy, "salabim": in_salabim, "Ciw": in_ciw}

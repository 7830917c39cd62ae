"""The kernel beside a hand-written loop and a general-purpose simulation library: python kernel_benchmark.py BINARY

All serve the same M/M/1 queue, utilisation 0.8, in one run on one machine. What counts are the ratios.
"""

from __future__ import annotations

import random
import subprocess
import sys
import time

import simpy

MEAN_GAP_S, MEAN_SERVICE_S = 125.0, 100.0
CUSTOMERS = 100_000


def customer(env: simpy.Environment, server: simpy.Resource, draw: random.Random):
    with server.request() as turn:
        yield turn
        yield env.timeout(draw.expovariate(1 / MEAN_SERVICE_S))


def source(env: simpy.Environment, server: simpy.Resource, draw: random.Random):
    for _ in range(CUSTOMERS):
        yield env.timeout(draw.expovariate(1 / MEAN_GAP_S))
        env.process(customer(env, server, draw))


def simpy_ns_per_customer() -> float:
    best = float("inf")
    for _ in range(3):
        env = simpy.Environment()
        env.process(source(env, simpy.Resource(env), random.Random(1)))
        start = time.perf_counter()
        env.run()
        best = min(best, time.perf_counter() - start)
    return best / CUSTOMERS * 1e9


def main(binary: str) -> int:
    printed = subprocess.run([binary], check=True, capture_output=True, text=True).stdout
    ns = {name: float(value) for name, value in (line.split() for line in printed.splitlines())}
    ns["simpy_process_per_customer"] = simpy_ns_per_customer()
    queue = ("hand_loop", "source_and_server", "process_per_customer", "simpy_process_per_customer")
    print(f"{'M/M/1, per customer':32} {'ns':>8} {'ratio to the hand loop':>24}")
    for name in queue:
        print(f"{name.replace('_', ' '):32} {ns[name]:8.0f} {ns[name] / ns['hand_loop']:24.2f}")
    print(f"\n{'kernel operation':32} {'ns':>8}")
    for name in sorted(ns.keys() - set(queue)):
        print(f"{name.replace('_', ' '):32} {ns[name]:8.1f}")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))

"""Executors by name: the engine's threads, processes of this machine, a Dask cluster, MPI."""

from __future__ import annotations

import importlib
import multiprocessing
import os
import signal
import threading
from collections.abc import Iterator
from concurrent.futures import Executor, Future, ProcessPoolExecutor
from contextlib import ExitStack, contextmanager
from multiprocessing.process import BaseProcess
from typing import Any

from farrowtide.errors import UserError

_SAFE_PATH = "PYTHONSAFEPATH"
NAMES = ("engine", "processes", "dask", "mpi")


@contextmanager
def named(name: str, *, workers: int = 0, scheduler: str | None = None) -> Iterator[Executor | None]:
    """An executor, closed at the end; None for "engine", whose threads need none.

    `workers`: processes of "processes", or of a Dask cluster started on this machine; 0: as many as it has processors.
    `scheduler`: address of a running Dask cluster. MPI's workers are those that `mpiexec -n N python -m mpi4py.futures
    -m farrowtide ...` started. Raises UserError where a package is missing.
    """
    count = workers or os.cpu_count() or 1
    with ExitStack() as stack, _no_modules_from_the_working_directory():
        if name == "engine":
            yield None
        elif name == "processes":
            context = multiprocessing.get_context("spawn")  # a fork would copy locks that threads hold
            pool = _Processes(count, mp_context=context, initializer=as_worker)
            stack.callback(pool.shutdown, cancel_futures=True)
            yield pool
        elif name == "dask":
            distributed = _module("distributed", "distributed")
            cluster = scheduler or stack.enter_context(
                distributed.LocalCluster(n_workers=count, threads_per_worker=1, dashboard_address=None)
            )
            try:
                client = stack.enter_context(distributed.Client(cluster))
            except (OSError, ValueError, TypeError) as error:  # TypeError: of an encrypted cluster
                raise UserError(f"no Dask cluster at {scheduler}: {error}") from None
            pool = client.get_executor()
            pool._max_workers = sum(client.nthreads().values())  # as the executors of the standard library have it
            yield pool
        elif name == "mpi":
            if _module("mpi4py.MPI", "mpi4py").COMM_WORLD.size == 1:
                raise UserError("MPI has no workers: mpiexec -n N python -m mpi4py.futures -m farrowtide ...")
            pool = _module("mpi4py.futures", "mpi4py").MPIPoolExecutor()
            stack.callback(pool.shutdown, cancel_futures=True)
            yield pool
        else:
            raise UserError(f"no executor is called '{name}' ({', '.join(NAMES)})")


@contextmanager
def _no_modules_from_the_working_directory() -> Iterator[None]:
    """Python looks there first for what its workers import, even for its own modules: a file would run unasked."""
    before = os.environ.get(_SAFE_PATH)
    os.environ[_SAFE_PATH] = "1"
    try:
        yield
    finally:
        if before is None:
            os.environ.pop(_SAFE_PATH, None)
        else:
            os.environ[_SAFE_PATH] = before


class _Processes(ProcessPoolExecutor):
    """Starts its workers as tasks come, deaf to Ctrl-C from the start: as_worker comes too late to spare users their traces."""

    def submit(self, *task: Any, **options: Any) -> Future[Any]:
        before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})  # workers inherit it
        try:
            return super().submit(*task, **options)
        finally:
            signal.pthread_sigmask(signal.SIG_SETMASK, before)


def as_worker() -> None:
    """Leaves Ctrl-C to the main process, which stops its workers, and ends with that process, however it ends."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    parent = multiprocessing.parent_process()
    if parent is not None:
        threading.Thread(target=_end_with, args=(parent,), daemon=True).start()


def _end_with(parent: BaseProcess) -> None:
    parent.join()
    os._exit(1)


def _module(name: str, package: str) -> Any:
    try:
        return importlib.import_module(name)
    except ImportError:
        raise UserError(f"the package {package} is not installed (pip install 'farrowtide[cluster]')") from None

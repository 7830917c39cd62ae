"""Blocks on their way: in order, whoever runs them; what a folder has is read; a stop loses nothing that was simulated."""

import os
import sys
from concurrent.futures import Future
from concurrent.futures.process import BrokenProcessPool
from types import SimpleNamespace

import pytest
from made_tables import Made, table_of

import farrowtide
from farrowtide.study import execution, executors
from farrowtide.study.blocks import Block, Kept
from farrowtide.study.plan import plan


@pytest.fixture(scope="module")
def study():
    room = farrowtide.load({"title": "t", "room": {"crates": 1}})
    return plan(room, {"a": {}, "b": {"handling.day": 5}}, replications=50, seed=5)


def blocks_of(study, *firsts):
    return [Block(study.arms[0], first, 20, Kept()) for first in firsts]


def on(executor, wanted, folder=None, told=None):
    report = [].append if told is None else told.append
    return execution.tables_of(wanted, executor=executor, threads=1, folder=folder, report=report)


def firsts_of(tables):
    return [table["replicate"][0].as_py() for table in tables]


def test_tables_come_in_order_whatever_order_they_are_done_in(study):
    class Backwards(Made):
        """Does the last of three blocks first."""

        def submit(self, function, block):
            future = super().submit(function, block)
            if len(self.futures) == 3:
                for number in (2, 1, 0):
                    self.futures[number].set_result(table_of(wanted[number]))
            return future

    wanted = blocks_of(study, 0, 20, 40)
    assert firsts_of(on(Backwards(until=lambda block: False), wanted)) == [0, 20, 40]


def test_every_worker_has_a_block_and_another_one_in_line(study, monkeypatch):
    wanted = blocks_of(study, *range(0, 200, 20))
    made = Made(workers=2)
    tables = on(made, wanted)
    next(tables)
    assert len(made.asked) == 4
    monkeypatch.setattr(os, "cpu_count", lambda: 3)
    made = Made(workers=None)
    next(on(made, wanted))
    assert len(made.asked) == 6


def test_workers_that_are_ahead_are_called_off_when_it_is_stopped(study):
    made = Made(until=lambda block: block.first == 0)
    tables = on(made, blocks_of(study, 0, 20, 40))
    next(tables)
    tables.close()
    assert [future.cancelled() for future in made.futures] == [False, True, True]


def folder_with(*firsts):
    """A folder that has the blocks which begin with these replicates; those that are written to it are listed."""
    written = []
    return SimpleNamespace(
        path="here",
        written=written,
        read=lambda block: table_of(block) if block.first in firsts else None,
        write=lambda block, table: written.append((block.first, table.num_rows)),
    )


def test_what_the_folder_has_is_read_and_everything_else_is_written_there(study):
    kept, made, told = folder_with(0, 40), Made(), []
    assert firsts_of(on(made, blocks_of(study, 0, 20, 40, 60), kept, told)) == [0, 20, 40, 60]
    assert made.asked == [("a", 20), ("a", 60)]
    assert kept.written == [(20, 20), (60, 20)]
    assert sum(told) == 80


def test_what_the_folder_has_is_handed_on_while_workers_are_busy(study):
    tables = on(Made(until=lambda block: False), blocks_of(study, 0, 20), folder_with(0))
    assert next(tables)["replicate"][0].as_py() == 0
    tables.close()


def test_a_worker_that_died_is_told_in_words(study):
    made = Made(until=lambda block: False)
    tables = on(made, blocks_of(study, 0))
    made.submit = lambda function, block: made.futures.append(Future()) or broken(made.futures[-1])
    with pytest.raises(farrowtide.UserError, match="a worker process died"):
        next(tables)


def broken(future):
    future.set_exception(BrokenProcessPool())
    return future


def test_the_engines_threads_run_one_block_after_the_other(study, monkeypatch):
    kept, told, ran = folder_with(20), [], []

    def rooms_of(block, *, threads, progress):
        for done in (5, 12, 20):  # so many so far
            progress(done)
        ran.append((block.first, threads))

    monkeypatch.setattr(execution, "rooms_of", rooms_of)
    monkeypatch.setattr(execution, "table_of", lambda rooms, block: table_of(block))
    tables = execution.tables_of(blocks_of(study, 0, 20, 40), executor=None, threads=7, folder=kept, report=told.append)
    assert firsts_of(tables) == [0, 20, 40]
    assert ran == [(0, 7), (40, 7)]
    assert told == [5, 7, 8, 20, 5, 7, 8]
    assert kept.written == [(0, 20), (40, 20)]


def until_it_stops(tables):
    """The first replicates of the tables that come before an error, and the error."""
    found = []
    try:
        while True:
            found.append(next(tables)["replicate"][0].as_py())
    except BaseException as error:
        return found, error


@pytest.mark.parametrize("stop", [KeyboardInterrupt(), farrowtide.UserError("no luck")])
def test_what_was_simulated_before_a_stop_is_still_handed_on(stop, study, monkeypatch):
    def rooms_of(block, **_options):
        if block.first == 40:
            raise stop

    monkeypatch.setattr(execution, "rooms_of", rooms_of)
    monkeypatch.setattr(execution, "table_of", lambda rooms, block: table_of(block))
    assert until_it_stops(on(None, blocks_of(study, 0, 20, 40, 60))) == ([0, 20], stop)


def test_a_block_that_is_missing_in_a_folder_is_named(study):
    told = []
    found, error = until_it_stops(execution.finished_in(folder_with(0), blocks_of(study, 0, 20), told.append))
    assert (found, told) == ([0], [20])
    assert isinstance(error, execution.UnfinishedError)
    assert str(error) == (
        "here: the study is unfinished: replicates 20 to 39 of 'a' in 'as written' are missing or damaged"
    )


# --- Executors by name ---


def test_the_engine_needs_no_executor_and_another_name_is_none():
    with executors.named("engine") as found:
        assert found is None
    with pytest.raises(farrowtide.UserError, match=r"no executor is called 'x' \(engine, processes, dask, mpi\)"):
        executors.named("x").__enter__()


@pytest.mark.parametrize("before", [None, "0"])
def test_workers_import_no_module_of_the_working_directory_and_the_variable_is_as_before(before, monkeypatch):
    monkeypatch.delenv("PYTHONSAFEPATH", raising=False)
    if before is not None:
        monkeypatch.setenv("PYTHONSAFEPATH", before)
    with executors.named("engine"):
        assert os.environ["PYTHONSAFEPATH"] == "1"
    assert os.environ.get("PYTHONSAFEPATH") == before


def test_as_many_processes_as_are_asked_for_or_as_there_are_processors(monkeypatch):
    monkeypatch.setattr(os, "cpu_count", lambda: 3)
    for workers, expected in ((2, 2), (0, 3)):
        with executors.named("processes", workers=workers) as pool:
            assert pool._max_workers == expected
        with pytest.raises(RuntimeError, match="shutdown"):
            pool.submit(int)


def test_mpi_needs_workers_and_its_package(monkeypatch):
    shut = []
    pool = SimpleNamespace(shutdown=lambda **options: shut.append(options))
    futures = SimpleNamespace(MPIPoolExecutor=lambda: pool)
    for size in (1, 2):
        world = SimpleNamespace(COMM_WORLD=SimpleNamespace(size=size))
        for name, module in (("mpi4py", ...), ("mpi4py.MPI", world), ("mpi4py.futures", futures)):
            monkeypatch.setitem(sys.modules, name, module)
        if size == 1:
            with pytest.raises(farrowtide.UserError, match="MPI has no workers"):
                executors.named("mpi").__enter__()
        else:
            with executors.named("mpi") as found:
                assert found is pool
                assert shut == []
            assert shut == [{"cancel_futures": True}]
    for name, package in (("mpi", "mpi4py"), ("dask", "distributed")):
        for module in (package, f"{package}.MPI"):
            monkeypatch.setitem(sys.modules, module, None)  # as if it were not installed
        with pytest.raises(farrowtide.UserError, match=f"the package {package} is not installed"):
            executors.named(name).__enter__()


class Opened(SimpleNamespace):
    def __enter__(self):
        return self

    def __exit__(self, *_error):
        self.closed = True


def test_a_dask_cluster_is_started_here_or_found_at_its_address(monkeypatch):
    clusters, pool = [], SimpleNamespace()

    def started(**options):
        clusters.append(Opened(**options))
        return clusters[-1]

    def client(cluster):
        if cluster == "nowhere":
            raise OSError("no route")
        return Opened(cluster=cluster, get_executor=lambda: pool, nthreads=lambda: {"one": 2, "other": 3})

    monkeypatch.setitem(sys.modules, "distributed", SimpleNamespace(LocalCluster=started, Client=client))
    with executors.named("dask", workers=4) as found:
        assert (found, found._max_workers) == (pool, 5)
        (cluster,) = clusters
        assert (cluster.n_workers, cluster.threads_per_worker) == (4, 1)
    assert cluster.closed
    with executors.named("dask", scheduler="tcp://there"):
        assert len(clusters) == 1
    with pytest.raises(farrowtide.UserError, match="no Dask cluster at nowhere: no route"):
        executors.named("dask", scheduler="nowhere").__enter__()

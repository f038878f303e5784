"""The one door to a dask cluster: workers on this machine's cores, or a cluster that runs at an address."""

from __future__ import annotations

import logging
import signal
from collections.abc import Iterator
from concurrent.futures import Executor
from contextlib import AbstractContextManager, ExitStack, contextmanager
from typing import Any, cast

import nesting
from vectorize.basics.errors import InputError
from vectorize.basics.wording import shown

LOCAL = "local"
"""In place of an address: workers of our own, on this machine."""
_WAIT_S = 10
_SETTINGS = {
    # A task whose worker died is told at once, so that whoever asked for it counts the tries.
    "distributed.scheduler.allowed-failures": 0,
    # A worker that holds much memory between two tasks would be paused without end; one that takes too much is ended.
    "distributed.worker.memory.pause": False,
    "distributed.worker.memory.target": False,
    "distributed.worker.memory.spill": False,
    # Nobody looks at the profile that workers would take of themselves a hundred times a second.
    "distributed.worker.profile.enabled": False,
    # Plans of many megabytes are what travels here.
    "distributed.admin.large-graph-warning-threshold": "1GB",
}


@contextmanager
def open_cluster(address: str, *, workers: int | None = None, memory_bytes: int | None = None) -> Iterator[Any]:
    """Give the client of a cluster: of one that is started here for `local`, else of the one at `address`.

    Args:
        address: `local`, or where the scheduler of a running cluster is, such as `tcp://host:8786`.
        workers: For `local`: how many processes of one thread each; all cores unless given.
        memory_bytes: For `local`: what each may take before it is ended; an equal share of the machine unless given.

    Raises:
        InputError: No cluster answers there, it has no workers, or they have another Sheetwood, or none.
    """
    if address == LOCAL:
        with _local_client(workers, memory_bytes) as client:
            yield client
        return
    import dask.config
    from distributed import Client

    with dask.config.set(_SETTINGS):
        try:
            client = Client(address, timeout=_WAIT_S)  # type: ignore[no-untyped-call]
        except (OSError, ValueError) as error:
            raise InputError(
                f"no cluster answers at {shown(address)}; start one with `dask scheduler` and `dask worker`, "
                "and give the scheduler's address, such as tcp://192.168.1.5:8786."
            ) from error
        with client:
            _need_workers(client, address)
            yield client


class KeptOpen:
    """A cluster that is opened where it is first entered, and stays open until it is closed."""

    def __init__(self, cluster: AbstractContextManager[Any]) -> None:
        self._cluster, self._client, self._until = cluster, None, ExitStack()

    def __enter__(self) -> Any:  # noqa: ANN401 - the library has no types
        if self._client is None:
            self._client = self._until.enter_context(self._cluster)
        return self._client

    def __exit__(self, *fault: object) -> None:
        """Leave it open for whoever enters it next."""

    def close(self) -> None:
        """Close what was opened."""
        self._until.close()


@contextmanager
def cluster_executor(address: str) -> Iterator[Executor]:
    """Give an executor whose tasks run on the cluster at `address`; raises as `open_cluster`."""
    with open_cluster(address) as client:
        yield cast(Executor, client.get_executor(pure=False))


@contextmanager
def _local_client(workers: int | None, memory_bytes: int | None) -> Iterator[Any]:
    import dask.config
    from dask.system import CPU_COUNT
    from distributed import Client, LocalCluster

    with (
        dask.config.set(_SETTINGS),
        LocalCluster(  # type: ignore[no-untyped-call]
            n_workers=workers or CPU_COUNT,
            threads_per_worker=1,
            memory_limit=memory_bytes or "auto",
            dashboard_address="127.0.0.1:0",
            preload=[__name__],
            silence_logs=logging.CRITICAL,  # whoever asked is told what became of a task
        ) as cluster,
        Client(cluster) as client,  # type: ignore[no-untyped-call]
    ):
        yield client


def dask_setup(worker: object) -> None:
    """Make a worker of ours deaf to Ctrl-C, which a terminal sends to all: whoever started it ends it."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)


def _need_workers(client: Any, address: str) -> None:  # noqa: ANN401 - the library has no types
    """Raise unless the cluster has workers that can do our work; raises as `open_cluster`."""
    try:
        client.wait_for_workers(1, timeout=_WAIT_S)
    except TimeoutError as error:
        raise InputError(
            f"the cluster at {shown(address)} has no workers; start some with `dask worker {address}`."
        ) from error
    try:
        versions = set(client.run(_version).values())
    except (ImportError, AttributeError) as error:
        raise InputError(
            f"a worker of the cluster at {shown(address)} has no Sheetwood, or an older one; install "
            f"{nesting.__version__} where the workers run."
        ) from error
    others = versions - {nesting.__version__}
    if others:
        raise InputError(
            f"a worker of the cluster at {shown(address)} has Sheetwood {min(others)}, this is {nesting.__version__}; "
            "install the same one where the workers run."
        )


def _version() -> str:
    return nesting.__version__

"""Searches on other machines: a dask cluster as an executor for `nest_parts`. Needs the extra `sheetwood[cluster]`."""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import Executor
from contextlib import contextmanager
from typing import Any, cast

from vectorize.basics.errors import CallError, InputError

_WAIT_S = "10s"


@contextmanager
def cluster_executor(address: str) -> Iterator[Executor]:
    """Give an executor whose tasks run on the dask.distributed cluster at `address`, such as `tcp://host:8786`.

    Raises:
        CallError: The library is not installed.
        InputError: No cluster answers there.
    """
    try:
        from distributed import Client
    except ImportError as error:
        raise CallError(
            "--cluster needs the library dask.distributed; install it with: pip install 'sheetwood[cluster]'."
        ) from error
    try:
        client: Any = Client(address, timeout=_WAIT_S)  # type: ignore[no-untyped-call]
    except (OSError, ValueError) as error:
        raise InputError(
            f"no cluster answers at {address!r}; start one with `dask scheduler` and `dask worker`, "
            "and give the scheduler's address, such as tcp://192.168.1.5:8786."
        ) from error
    with client:
        yield cast(Executor, client.get_executor(pure=False))

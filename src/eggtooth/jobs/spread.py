"""Spreads pieces of work over the cores of this machine, or over several machines."""

from __future__ import annotations

import signal
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from typing import Any, Protocol


class Each(Protocol):
    """Like `map` with one sequence."""

    def __call__(self, work: Callable[[Any], Any], pieces: list[Any], /) -> Iterable[Any]:
        """The result of each piece, in order."""


class NoMachines(ValueError):
    """Other machines were asked for and cannot be reached; the message says what to do."""


@contextmanager
def over(cores: int, machines: str | None = None) -> Iterator[Each | None]:
    """Something to map with: None for this process alone, else over cores or a Dask scheduler.

    The work must be picklable. Raises `NoMachines` when the extra is not installed or nobody answers.
    """
    if machines:
        with _machines(machines) as each:
            yield each
    elif cores > 1:
        with _cores(cores) as each:
            yield each
    else:
        yield None


@contextmanager
def _cores(cores: int) -> Iterator[Each]:
    from concurrent.futures import ProcessPoolExecutor
    from multiprocessing import get_context

    pool = ProcessPoolExecutor(cores, get_context("spawn"), _leave_stopping_to_the_first)
    try:
        yield pool.map
    finally:
        pool.shutdown(wait=False, cancel_futures=True)


def _leave_stopping_to_the_first() -> None:
    """Ctrl-C reaches every process of a terminal; only the first one answers it."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)


@contextmanager
def _machines(address: str) -> Iterator[Each]:
    try:
        from dask.distributed import Client
    except ImportError:
        raise NoMachines(
            "to spread over machines install the extra: pip install 'eggtooth[machines]'"
        ) from None
    try:
        client = Client(address, timeout=10)
    except (OSError, TimeoutError, ValueError) as fault:
        raise NoMachines(f"no Dask scheduler answers at {address}: {fault}") from None

    waiting: list[Any] = []

    def each(work: Callable[[Any], Any], pieces: list[Any]) -> Iterable[Any]:
        waiting[:] = client.map(work, pieces, pure=False)
        return (piece.result() for piece in list(waiting))

    try:
        yield each
    finally:
        client.cancel(waiting, force=True)
        client.close(timeout=10)

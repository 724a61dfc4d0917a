"""The work spread over processes of this machine or over a Dask cluster that is there already.

Both take the same function, so a row does not depend on where it was made.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, wait
from concurrent.futures.process import BrokenProcessPool
from itertools import islice
from pathlib import Path
from typing import Any

from thermalkit.errors import ThermalkitError
from thermalkit.language import say
from thermalkit.portfolio.rows import Row
from thermalkit.processes import processes

_AHEAD = 4  # sites handed out for each worker: none waits, and a million sites need no million entries
_SITES_PER_PROCESS = 500  # then a fresh one takes over, so that nothing piles up
_RETRIES = 3
_PATIENCE = "10s"  # until the scheduler answers


class WorkersLost(ThermalkitError):
    """The processes or the cluster went away; what was finished is kept."""


def finished(folder: Path, out: Path, kind: str, site: str) -> Row:
    """The row of one site, made now unless a kept one still fits its files; kept where it was made."""
    from threadpoolctl import threadpool_limits

    from thermalkit.portfolio.kept import keep, kept_row
    from thermalkit.portfolio.rows import fingerprint_of, row_of

    old = kept_row(out, kind, site)
    if old is not None and old.state == "done":
        try:
            if fingerprint_of(folder / site, kind) == old.fingerprint:
                return old
        except (OSError, RecursionError):
            pass  # it cannot be read any more; the new row says so
    with threadpool_limits(1):
        row = row_of(folder / site, site, kind)
    keep(out, kind, row)
    return row


def by_processes(folder: Path, out: Path, kind: str, sites: Sequence[str], workers: int) -> Iterator[Row]:
    """Rows as they are finished, made by processes of this machine.

    Raises
    ------
    WorkersLost
        A process was ended from outside.
    """
    pending: set[Future[Row]] = set()
    left = iter(sites)
    try:
        with processes(workers, tasks_each=_SITES_PER_PROCESS) as pool:
            while True:
                for site in islice(left, workers * _AHEAD - len(pending)):
                    pending.add(pool.submit(finished, folder, out, kind, site))
                if not pending:
                    return
                done, pending = wait(pending, return_when=FIRST_COMPLETED)
                for future in done:
                    yield future.result()
    except BrokenProcessPool as error:
        raise WorkersLost(say("portfolio.worker-lost")) from error


def by_cluster(folder: Path, out: Path, kind: str, sites: Sequence[str], scheduler: str) -> Iterator[Row]:
    """Rows as they are finished, made by a Dask cluster whose workers see the same folders.

    Which worker does what, and again where one is lost, is Dask's business.

    Raises
    ------
    WorkersLost
        The scheduler cannot be reached, or gave up.
    """
    from distributed import Client, as_completed
    from distributed.client import FutureCancelledError
    from distributed.scheduler import KilledWorker, NoValidWorkerError

    lost = (OSError, TimeoutError, FutureCancelledError, KilledWorker, NoValidWorkerError)
    left = iter(sites)
    try:
        with Client(scheduler, timeout=_PATIENCE, set_as_default=False) as client:

            def hand_out(count: int) -> list[Any]:
                return [
                    client.submit(finished, folder, out, kind, site, pure=False, retries=_RETRIES)
                    for site in islice(left, count)
                ]

            ahead = _AHEAD * max(2, sum(client.nthreads().values()))
            futures = as_completed(hand_out(ahead), loop=client.loop)
            for future in futures:
                row: Row = future.result()
                for more in hand_out(1):
                    futures.add(more)
                yield row
    except lost as error:
        raise WorkersLost(
            say("portfolio.cluster-lost", scheduler=scheduler, error=type(error).__name__)
        ) from error

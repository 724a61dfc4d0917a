"""Processes of this machine: they share out work, leave the cores to each other and end with their parent."""

from __future__ import annotations

import os
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from contextlib import contextmanager
from multiprocessing import get_context, parent_process
from threading import Thread

_THREADS = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "VECLIB_MAXIMUM_THREADS")


@contextmanager
def processes(workers: int, *, tasks_each: int | None = None) -> Iterator[ProcessPoolExecutor]:
    """Fresh processes of one thread each; after `tasks_each` tasks another one takes over.

    They end with this process even if it is killed: by themselves they would wait for work for ever.
    """
    before = {name: os.environ.get(name) for name in _THREADS}
    os.environ.update(dict.fromkeys(_THREADS, "1"))
    try:
        with ProcessPoolExecutor(
            workers,
            mp_context=get_context("spawn"),
            initializer=_end_with_parent,
            max_tasks_per_child=tasks_each,
        ) as pool:
            yield pool
    finally:
        for name, value in before.items():
            if value is None:
                os.environ.pop(name, None)
            else:
                os.environ[name] = value


def _end_with_parent() -> None:
    Thread(target=_watch, daemon=True).start()


def _watch() -> None:
    parent = parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)  # nobody is left to be told; files are written whole or not at all

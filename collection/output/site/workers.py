"""Computes the rows of many objects on all cores, in order, from one state of the database.

A worker is a process that has the database open for reading, in a transaction of its own. It compares the newest change
that it sees, and its hash in the chain, with the one that is being published; where somebody wrote in between, it says
so, and the objects are computed by the process that holds the first transaction. A worker ends when the process that
started it does, however that ends.
"""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator
from contextlib import suppress
from multiprocessing import get_context
from multiprocessing.connection import Connection

from collection.language.errors import CouldNot
from collection.output.site.computed_objects import ComputedObjects, Task, state_of
from collection.output.site.object_rows import ObjectRows
from collection.store.base import database

FEWEST, AT_ONCE, AHEAD = 300, 20, 2
"""From so many objects on, workers are worth their start; objects that one is given at a time; batches that it has
before it is waited for."""


def computed(
    connection: sqlite3.Connection, task: Task, codes: list[str], processes: int | None = None
) -> Iterator[ObjectRows]:
    """The rows of some objects, in their order, never more than a few of them in memory.

    :param connection: the database in the state that is published.
    :param processes: how many workers; by itself one for each core, and none for few objects.
    """
    if processes is None:
        processes = 0 if len(codes) < FEWEST else cores()
    own = ComputedObjects(connection, task)
    try:
        if processes < 2:
            yield from (own[code] for code in codes)
        else:
            yield from _by_workers(
                own, task, [codes[at : at + AT_ONCE] for at in range(0, len(codes), AT_ONCE)], processes
            )
    finally:
        own.close()


def cores() -> int:
    """How many cores this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def _by_workers(own: ComputedObjects, task: Task, batches: list[list[str]], processes: int) -> Iterator[ObjectRows]:
    spawn = get_context("spawn")  # a copy of this process would hold its open database
    pipes: list[Connection] = []
    started = []
    try:
        for _ in range(processes):
            here, there = spawn.Pipe()
            process = spawn.Process(target=_work, args=(there, task), daemon=True)
            process.start()
            there.close()
            pipes.append(here)
            started.append(process)
        for at, batch in enumerate(batches[: AHEAD * processes]):
            pipes[at % processes].send(batch)
        for at, batch in enumerate(batches):
            pipe = pipes[at % processes]
            try:
                found = pipe.recv()
            except EOFError as error:
                raise CouldNot(
                    "A process that computed a part of the objects was ended from outside. Nothing was published; try again."
                ) from error
            if isinstance(found, Exception):
                raise found
            if at + AHEAD * processes < len(batches):
                pipe.send(batches[at + AHEAD * processes])
            yield from (own[code] for code in batch) if found is None else found
    finally:
        for pipe in pipes:
            pipe.close()
        for process in started:
            process.terminate()
            process.join()


def _work(pipe: Connection, task: Task) -> None:
    """A worker: gets codes, sends the rows of their objects, or None where the database is in another state."""
    with suppress(EOFError, BrokenPipeError, ConnectionResetError):  # whoever asked has gone
        try:
            with database.opened(task.database, write=False) as connection:
                connection.execute("BEGIN")
                same = state_of(connection) == task.state
                made = ComputedObjects(connection, task)
                while True:
                    batch = pipe.recv()
                    pipe.send([made[code] for code in batch] if same else None)
        except (EOFError, BrokenPipeError, ConnectionResetError):
            raise
        except Exception as error:  # sent to the process that publishes, which raises it
            pipe.send(error)

"""Work in a child process that may make no file larger than so many bytes, as on a disk that is full."""

from __future__ import annotations

import logging
import multiprocessing
import os
import resource
import sys
from collections.abc import Callable

from collection.language.errors import FirstcoatError


def with_files_no_larger(limit: int, act: Callable[[], object]) -> tuple[int, str]:
    """The exit code, and what was said."""
    reading, writing = os.pipe()

    def child() -> None:
        sys.stdout = sys.stderr = os.fdopen(writing, "w")
        resource.setrlimit(resource.RLIMIT_FSIZE, (limit, limit))
        logging.basicConfig(handlers=[logging.StreamHandler(sys.stderr)], format="%(message)s", force=True)
        code = as_exit_code(act)
        sys.stderr.flush()
        os._exit(code)

    process = multiprocessing.get_context("fork").Process(target=child)
    process.start()
    os.close(writing)
    with os.fdopen(reading) as said:
        told = said.read()
    process.join()
    assert process.exitcode is not None
    return process.exitcode, told


def as_exit_code(act: Callable[[], object]) -> int:
    try:
        act()
    except FirstcoatError as error:
        print(error)
        return error.exit_code
    return 0

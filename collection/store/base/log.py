"""The write-ahead log beside a database: with contents it is a part of it, for whoever copies the file."""

from __future__ import annotations

from pathlib import Path


def parts_of(path: Path) -> list[Path]:
    """The files that are one database together, as they stand: itself, and its log while there is one."""
    return [part for end in ("", "-wal", "-shm") if (part := path.with_name(path.name + end)).exists()]


def log_of(path: Path) -> Path | None:
    """The write-ahead log beside a database, where it holds anything."""
    log = path.with_name(path.name + "-wal")
    return log if log.exists() and log.stat().st_size else None


def log_stands(path: Path, why: str) -> str:
    """What a log beside a database means for whoever copies it."""
    *most, last = (part.name for part in parts_of(path))
    return (
        f"the last changes of {path} are stored, but in {path.name}-wal beside it, because {why}. Until they are moved, "
        f"{', '.join(most)} and {last} are one database: whoever copies one copies all, or takes `firstcoat backup "
        f"{path} OUT`. `firstcoat check {path}` moves them as soon as it can."
    )


def left_behind(path: Path) -> str:
    """What to look for where a file is malformed."""
    return f"Where it was copied by hand, see whether its log, {path.name}-wal, was left behind."

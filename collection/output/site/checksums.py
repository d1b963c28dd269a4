"""The SHA-256 of every file of a site, in the form that `sha256sum --check` reads."""

from __future__ import annotations

import hashlib
from pathlib import Path

CHECKSUMS = "sha256sums.txt"


def checksum(path: Path) -> str:
    """The SHA-256 of a file."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def write_checksums(folder: Path) -> None:
    """Writes the list of a site's files."""
    lines = [
        f"{checksum(path)}  {path.relative_to(folder).as_posix()}\n"
        for path in sorted(folder.rglob("*"))
        if path.is_file() and path.name != CHECKSUMS
    ]
    (folder / CHECKSUMS).write_text("".join(lines), "utf-8")


def read_checksums(folder: Path) -> dict[str, str]:
    """The checksums of a site's files, by their names below its folder."""
    return {line[66:]: line[:64] for line in (folder / CHECKSUMS).read_text("utf-8").splitlines()}

"""Finds the files beside a workbook that its sheets name."""

from __future__ import annotations

import difflib
import os
import stat
import unicodedata
from itertools import islice
from pathlib import Path

from collection.ingest.package.characters import visible
from collection.ingest.package.folder import LARGEST_FILE

Listings = dict[Path, dict[str, os.DirEntry[str]]]
_MOST_BESIDE, _ALIKE = 500, 0.8


def find_beside(folder: Path, name: str, listings: Listings) -> Path | str | None:
    """The file of this name; or the sentence why it is not taken; or None where there is none, nor any like it.

    Each folder of the name is looked up in the one around it, so that no link is followed and capitals count
    everywhere; `listings` keeps what was seen of folders.
    """
    here = folder
    for part in name.split("/"):
        if not here.is_dir():
            return None
        if here not in listings:
            listings[here] = {unicodedata.normalize("NFC", entry.name): entry for entry in os.scandir(here)}
        entries = listings[here]
        entry = entries.get(part)
        if entry is None:
            near = next((other for other in entries if other.casefold() == part.casefold()), None)
            if near is not None:
                return (
                    f"There is no such file beside the workbook, but there is {visible(near)!r}: capitals count. Correct the "
                    "name."
                )
            other = _elsewhere(folder, name)
            return other and (
                f"There is no such file beside the workbook, but there is {visible(other)!r}. If that is meant, correct the "
                "name; otherwise put the file there."
            )
        if entry.is_symlink():
            return "This is a link, and a link may lead anywhere: put the file itself there."
        here = Path(entry.path)
    held = here.stat(follow_symlinks=False)
    if stat.S_ISDIR(held.st_mode):
        return "This is a folder, and this column needs a file."
    if not stat.S_ISREG(held.st_mode):
        return "This is not an ordinary file; put the file itself there."
    if held.st_size > LARGEST_FILE:
        return f"This file is over {LARGEST_FILE >> 30} GB; hand in a smaller one."
    return here


def _elsewhere(folder: Path, name: str) -> str | None:
    """A file of this name, whatever its capitals, or of nearly this name, in the folder or in one right inside it."""
    wanted = name.rsplit("/", 1)[-1].casefold()
    near: dict[str, str] = {}
    places = [folder]
    for inside, place in enumerate(places):
        try:
            with os.scandir(place) as listing:
                entries = sorted(islice(listing, _MOST_BESIDE), key=lambda entry: entry.name)
        except OSError:
            # This is a hint only: a folder that may not be read gives none.
            continue
        for entry in entries:
            if entry.is_file(follow_symlinks=False):
                lies = unicodedata.normalize("NFC", f"{place.name}/{entry.name}" if inside else entry.name)
                near.setdefault(entry.name.casefold(), lies)
            elif not inside and entry.is_dir(follow_symlinks=False):
                places.append(Path(entry.path))
    close = difflib.get_close_matches(
        wanted, [file for file in near if file.endswith(Path(wanted).suffix)], n=1, cutoff=_ALIKE
    )
    return near[close[0]] if close else None

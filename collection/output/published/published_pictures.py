"""Writes the image files of a site, cleaned, each once, and says why one is left out."""

from __future__ import annotations

import hashlib
import io
import os
from pathlib import Path

from collection.ingest.pictures.drawings import Box, look_at
from collection.ingest.pictures.image_files import NotAPicture, picture_size
from collection.output.published.audience import Audience, PublicRows
from collection.output.published.images import cleaned, thumbnail
from collection.output.published.stored_objects import StoredObject
from collection.store.base import files


class PublishedPictures:
    """Copies the files of pictures whose rights are filled in, for staff of all pictures, and of drawings.

    Several processes may write into one folder: a file is named by its content, and put there whole.

    :ivar left_out: why the files of the last object's pictures and drawings are not published, by the record's key.
    """

    def __init__(self, db_path: Path, folder: Path, audience: Audience) -> None:
        self.db_path, self.folder, self.audience = db_path, folder, audience
        self._written: dict[str, str] = {}
        self._boxes: dict[str, Box | None] = {}
        self.left_out: dict[str, str] = {}

    def publish(self, stored: StoredObject, public: PublicRows) -> dict[str, tuple[str, list[int] | None]]:
        """The names of the published files by the pictures' keys, each with its width and height in pixels."""
        self.left_out = {}
        found: dict[str, tuple[str, list[int] | None]] = {}
        for row in public.rows.get("pictures", ()):
            key = f"{row['object']}/{row['picture']}"
            if not (self.audience.is_staff or (row["rights"] or "").strip()):
                self.left_out[key] = "its rights are not filled in"
                continue
            if (name := self._named("pictures", key, stored)) is not None:
                box = self._box(name)
                found[key] = (name, None if box is None else [round(box[2]), round(box[3])])
        return found

    def publish_drawings(self, stored: StoredObject, public: PublicRows) -> dict[str, tuple[str, Box | None]]:
        """The names of the published files by the drawings' keys, each with the box it fills in drawing units.

        A drawing is the survey's own work and has no rights to be cleared.
        """
        found = {}
        for row in public.rows.get("drawings", ()):
            key = f"{row['object']}/{row['drawing']}"
            if (name := self._named("drawings", key, stored)) is not None:
                found[key] = (name, self._box(name))
        return found

    def thumbnail(self, name: str) -> str | None:
        """The published file of a small picture of a published file; a drawing is its own. None where it cannot be made."""
        if name.endswith(".svg"):
            return name
        small = thumbnail((self.folder / name).read_bytes())
        if small is None:
            return None
        kind, content = small
        made = f"{hashlib.sha256(content).hexdigest()[:32]}.{kind}"
        self.put(made, content)
        return made

    def put(self, name: str, content: bytes) -> None:
        """A file of the site; one of this name that stands there already has the same content."""
        if not (self.folder / name).exists():
            put(self.folder / name, content)

    def _box(self, name: str) -> Box | None:
        if name not in self._boxes:
            self._boxes[name] = _box((self.folder / name).read_bytes())
        return self._boxes[name]

    def _named(self, sheet: str, key: str, stored: StoredObject) -> str | None:
        sha256 = stored.files.get((sheet, key))
        if sha256 is None:
            self.left_out[key] = "its file is not in the database"
            return None
        try:
            return self._file(sha256)
        except NotAPicture as reason:
            self.left_out[key] = str(reason)
            return None

    def _file(self, sha256: str) -> str:
        if sha256 not in self._written:
            kind, content = cleaned(files.read_file(self.db_path, sha256))
            name = f"{hashlib.sha256(content).hexdigest()[:32]}.{kind}"
            self.put(name, content)
            self._written[sha256] = name
        return self._written[sha256]


def put(path: Path, content: bytes) -> None:
    """A file of a site, there whole or not at all, whichever process writes it."""
    path.parent.mkdir(exist_ok=True)
    unfinished = path.with_name(f".{path.name}.{os.getpid()}")
    unfinished.write_bytes(content)
    unfinished.replace(path)


def _box(content: bytes) -> Box | None:
    """What a published image fills: of an SVG its view box, of a photograph its pixels."""
    if content.startswith(b"<"):
        return look_at(content).box
    size = picture_size(io.BytesIO(content))
    return None if size is None else (0.0, 0.0, float(size[0]), float(size[1]))

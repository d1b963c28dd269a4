"""Files beside the database, each once under its hash."""

from __future__ import annotations

import hashlib
from pathlib import Path

import pytest

from collection.language.errors import CouldNot, DamageFound
from collection.store.base import files


def test_files_are_kept_once_under_their_hash(filled: Path, tmp_path: Path) -> None:
    picture = tmp_path / "front.png"
    picture.write_bytes(b"not really a picture" * 1000)
    sha256 = hashlib.sha256(picture.read_bytes()).hexdigest()
    before = set(files.kept(filled))
    assert files.put(filled, picture) == files.put(filled, picture.read_bytes()) == sha256
    path = files.path_of(filled, sha256)
    assert path == filled.with_name("collection.db.files") / sha256[:2] / sha256[2:]
    assert set(files.kept(filled)) - before == {path}
    assert files.read_file(filled, sha256) == picture.read_bytes()
    path.write_bytes(b"other")
    with pytest.raises(DamageFound, match="no longer what was stored"):
        files.read_file(filled, sha256)
    assert files.put(filled, picture) == sha256
    assert path.read_bytes() == picture.read_bytes()
    with pytest.raises(CouldNot, match="changed while it was read"):
        files.put(filled, picture, "0" * 64)
    assert set(files.kept(filled)) - before == {path}
    with pytest.raises(CouldNot):
        files.put(filled, tmp_path / "none.png")

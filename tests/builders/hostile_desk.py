"""A desk for hostile packages: a database, a sound package to spoil, and a look at what a refusal left behind."""

from __future__ import annotations

import hashlib
import json
import os
import struct
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from faults import spoiled

from collection.cli import run

PNG = spoiled.SOUND["pictures/door.png"]
SVG = b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 10 10"/>'


@dataclass
class Desk:
    """A database, a sound package, a folder to stand in and one for temporary files."""

    root: Path
    capsys: pytest.CaptureFixture[str]

    @property
    def db(self) -> Path:
        return self.root / "collection.db"

    @property
    def package(self) -> Path:
        return self.root / "package"

    def write(self, files: dict[str, str | bytes]) -> None:
        for name, content in files.items():
            path = self.package / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(content if isinstance(content, bytes) else content.encode("utf-8"))

    def state(self) -> dict[str, str]:
        """Everything below the root, and in the package links and devices as such."""
        found = {}
        for folder, folders, files in os.walk(self.root):
            for name in (*folders, *files):
                path = Path(folder, name)
                plain = path.is_file() and not path.is_symlink()
                found[os.fsdecode(os.fsencode(path))] = (
                    hashlib.sha256(path.read_bytes()).hexdigest() if plain else oct(path.lstat().st_mode)
                )
        return found

    def ingest(self, package: Path | None = None) -> tuple[int, dict[str, Any]]:
        self.capsys.readouterr()
        code = run(["ingest", str(self.db), str(package or self.package), "--json"])
        out, err = self.capsys.readouterr()
        assert code != 70, err
        return code, json.loads(out) if out.strip().startswith("{") else {"error": err}

    def refused(self, package: Path | None = None, code: int = 1) -> list[dict[str, Any]]:
        """The faults, after making sure that nothing was left anywhere and that each is a sentence."""
        before = self.state()
        found, said = self.ingest(package)
        assert found == code, said
        assert self.state() == before
        assert not self.db.with_name("collection.db.files").exists()
        faults: list[dict[str, Any]] = said.get("errors", [{"message": said.get("error", "")}])
        assert faults
        for fault in faults:
            assert fault["message"].rstrip()[-1] in ".?…"
            assert fault["message"].isprintable()
            assert str(fault.get("file", "")).isprintable()
        return faults


def pictured(name: str) -> dict[str, str | bytes]:
    return {"pictures.csv": f"object,picture,file\nT1,F1,{name}\n"}


def drawn(name: str, content: str | bytes) -> dict[str, str | bytes]:
    return {"drawings.csv": f"object,drawing,file,title\nT1,D1,{name},Side\n", name: content}


HEADS = b"object,source,kind,title\n"
TOML_START = 'code = "h"\ntitle = "t"\nlead = "l"\nstarted = "2019"\n'


def png(width: int, height: int) -> bytes:
    return b"\x89PNG\r\n\x1a\n" + struct.pack(">I4sII", 13, b"IHDR", width, height) + b"\x08\x02\x00\x00\x00" + bytes(4)

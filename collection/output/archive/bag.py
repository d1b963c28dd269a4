"""A bag as BagIt 1.0 has it (RFC 8493): what is kept, and the checksums of every file of it.

Written and read here, because the libraries at hand write version 0.97, and call a bag sound from which whole lists of
checksums were taken away. Here a bag is exactly the files that were put into it, to the last byte of its lists.
"""

from __future__ import annotations

import hashlib
import os
import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from collection.language.errors import OurFault

DECLARATION = b"BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"
BAGIT, INFO, PAYLOAD = "bagit.txt", "bag-info.txt", "data"
ALGORITHMS = ("sha256", "sha512")
LISTS = tuple(f"manifest-{algorithm}.txt" for algorithm in ALGORITHMS)
LISTED_TAGS = (BAGIT, INFO, *LISTS)
TAG_LISTS = tuple(f"tag{name}" for name in LISTS)
TAGS = (*LISTED_TAGS, *TAG_LISTS)
ADDED = "was not archived: it came in later"
BLOCK = 1024 * 1024
_LINE = re.compile(r"([0-9a-f]+)  (.+)")
_NAME = re.compile(r"[A-Za-z0-9._~+,@=#!()' -]+(?:/[A-Za-z0-9._~+,@=#!()' -]+)*")
"""Names that every file system takes. No % and no line ends: the standard wants them coded, and readers differ in that."""
HowFar = Callable[[int, int], None]
Sums = dict[str, tuple[str, ...]]


def quiet(done: int, whole: int) -> None:
    """Tells nobody how far it is."""


@dataclass(frozen=True)
class Finding:
    """What is wrong with one file of a bag."""

    name: str
    what: str

    @property
    def is_added(self) -> bool:
        """Whether it came in later, and nothing that was archived is touched."""
        return self.what == ADDED

    def sentence(self) -> str:
        return f"{self.name} {self.what}."


def is_bag(folder: Path) -> bool:
    """Whether a folder is a bag, or what is left of one."""
    return folder.is_dir() and any((folder / name).is_file() for name in TAGS)


def seal(folder: Path, info: Sequence[tuple[str, str]], progress: HowFar = quiet) -> None:
    """Make a bag of a folder whose payload stands in `data`: write what it says of itself, and every checksum.

    :param info: what `bag-info.txt` says, label by label; how large it is is added.
    """
    names = [f"{PAYLOAD}/{path.relative_to(folder / PAYLOAD).as_posix()}" for path in _files(folder / PAYLOAD)]
    for name in names:
        if not _NAME.fullmatch(name):
            raise OurFault(f"The file {name!r} has a name that not every disk can keep.")
    sums = _sums(folder, names, progress)
    size = sum((folder / name).stat().st_size for name in names)
    told = [*info, ("Payload-Oxum", f"{size}.{len(names)}")]
    (folder / BAGIT).write_bytes(DECLARATION)
    (folder / INFO).write_bytes("".join(f"{label}: {_one_line(text)}\n" for label, text in told).encode())
    for name, content in _lists(LISTS, sums):
        (folder / name).write_bytes(content)
    for name, content in _lists(TAG_LISTS, _sums(folder, LISTED_TAGS)):
        (folder / name).write_bytes(content)


def _one_line(text: str) -> str:
    return " ".join("".join(sign if sign.isprintable() else " " for sign in text).split())


def said(folder: Path) -> dict[str, str]:
    """What a bag says of itself, by label; nothing where that cannot be read."""
    try:
        lines = (folder / INFO).read_text("utf-8").splitlines()
    except (OSError, UnicodeDecodeError):
        return {}
    return {label: text for label, parted, text in (line.partition(": ") for line in lines) if parted}


def damage(folder: Path, progress: HowFar = quiet) -> list[Finding]:
    """Everything in which a bag is no longer what was sealed: files changed, missing or come in, and its own lists.

    :param progress: told how many of the files are read.
    """
    found: dict[str, str] = {}
    there: set[str] = set()
    for path in _entries(folder):
        name = path.relative_to(folder).as_posix()
        if path.is_symlink() or not path.is_file():
            found[name] = "is a link or no file at all, and a bag has none"
        else:
            there.add(name)
    payload = {name for name in there if name.startswith(f"{PAYLOAD}/")}
    for name in sorted(there - payload - set(TAGS)):
        found[name] = ADDED
    found |= {name: "is missing" for name in TAGS if name not in there}
    if BAGIT in there and (folder / BAGIT).read_bytes() != DECLARATION:
        found[BAGIT] = "is not what was written"
    tags = _sums(folder, [name for name in LISTED_TAGS if name in there])
    sums = _sums(folder, sorted(payload), progress)
    tags_said = {name: _read(folder / name) for name in TAG_LISTS if name in there}
    for name in LISTED_TAGS:
        if name in tags and tags_said and _differ(name, tags, tags_said) == len(tags_said):
            found.setdefault(name, "is not what was written")
    payload_said = {name: _read(folder / name) for name in LISTS if name in there and name not in found}
    for name in sorted(payload.union(*payload_said.values())):
        if name in found:
            continue
        listed = sum(name in each for each in payload_said.values())
        if name not in payload:
            found[name] = "is missing"
        elif payload_said and not listed:
            found[name] = ADDED
        elif _differ(name, sums, payload_said):
            found[name] = "is not what was archived"
    # What is left: lists that are worded otherwise although they say the same, or say more.
    for lists, listed_sums in ((LISTS, sums), (TAG_LISTS, tags)):
        for name, content in _lists(lists, listed_sums):
            if name in there and not found and (folder / name).read_bytes() != content:
                found[name] = "is not what was written"
    if not found:
        return []
    for name, content in _lists(TAG_LISTS, tags):
        wrong = set(found) & set(LISTED_TAGS)
        if name in there and not wrong and (folder / name).read_bytes() != content:
            found.setdefault(name, "is not what was written")
    return [Finding(name, found[name]) for name in sorted(found, key=lambda name: (name not in TAGS, name))]


def _differ(name: str, sums: Sums, lists: dict[str, dict[str, str]]) -> int:
    """In how many of the lists, each named by its algorithm, a file has another checksum than now, or none."""
    return sum(
        said_of.get(name) != own
        for algorithm, own in zip(ALGORITHMS, sums[name], strict=True)
        for listed, said_of in lists.items()
        if listed.endswith(f"-{algorithm}.txt")
    )


def _lists(names: Sequence[str], sums: Sums) -> Iterator[tuple[str, bytes]]:
    """Each list of checksums, as it is written."""
    for at, name in enumerate(names):
        yield name, "".join(f"{sums[file][at]}  {file}\n" for file in sorted(sums)).encode()


def _read(path: Path) -> dict[str, str]:
    """A list of checksums, as far as it can be read."""
    lines = path.read_bytes().decode("utf-8", "surrogateescape").split("\n")
    return {match[2]: match[1] for line in lines if (match := _LINE.fullmatch(line))}


def _sums(folder: Path, names: Iterable[str], progress: HowFar = quiet) -> Sums:
    """The checksums of files, in the order of the algorithms; each file is read once."""
    found, names = {}, list(names)
    for done, name in enumerate(names, start=1):
        digests = [hashlib.new(algorithm) for algorithm in ALGORITHMS]
        with (folder / name).open("rb") as file:
            while block := file.read(BLOCK):
                for digest in digests:
                    digest.update(block)
        found[name] = tuple(digest.hexdigest() for digest in digests)
        progress(done, len(names))
    return found


def _files(folder: Path) -> list[Path]:
    return sorted(path for path in _entries(folder) if path.is_file())


def _entries(folder: Path) -> Iterator[Path]:
    """Everything below a folder but the folders; links are not followed."""
    for entry in os.scandir(folder):
        if entry.is_dir(follow_symlinks=False):
            yield from _entries(Path(entry.path))
        else:
            yield Path(entry.path)

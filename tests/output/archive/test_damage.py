"""Whatever is changed, taken out of or put into an archive is found, and named; a whole one is found whole.

The reference is the standard's own idea of a valid bag (RFC 8493, section 3), and more: no list may go or say more.
"""

from __future__ import annotations

import os
import random
import shutil
from pathlib import Path

import pytest
from archived import DATA, copied, flip, sealed_again

from collection.cli import run
from collection.language.errors import CouldNot, DamageFound
from collection.output.archive import bag
from collection.output.archive.checked import check_archive
from collection.output.archive.restore import restore

FLIPS, SEED = 500, 17


@pytest.fixture
def spoiled(kept: Path, tmp_path: Path) -> Path:
    return copied(kept, tmp_path / "spoiled")


def sorts(folder: Path) -> dict[str, list[Path]]:
    """The files of an archive by what they are: lists, pages, pictures, tables, the database and what lies beside it."""
    found: dict[str, list[Path]] = {}
    for path in sorted(path for path in folder.rglob("*") if path.is_file()):
        parts = path.relative_to(folder).parts
        found.setdefault(path.name if len(parts) < 3 else f"{parts[1]}{path.suffix}", []).append(path)
    return found


def test_a_whole_archive_is_whole(kept: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["check", str(kept)]) == 0
    assert capsys.readouterr().out == "No damage was found.\n"


@pytest.mark.slow
def test_each_of_500_turned_bits_is_found_and_named(spoiled: Path) -> None:
    """In every sort of file in turn, at a place and a bit drawn from a fixed seed."""
    chance, kinds = random.Random(SEED), sorts(spoiled)
    assert {
        *bag.TAGS,
        "README.txt",
        "pages.html",
        "pages.png",
        "tables.csv",
        "tables.json",
        "database.db",
    } <= kinds.keys()
    files = list(kinds.values())
    for number in range(FLIPS):
        path = chance.choice(files[number % len(files)])
        at, bit = chance.randrange(path.stat().st_size), chance.randrange(8)
        flip(path, at, bit)
        found = bag.damage(spoiled)
        assert [finding.name for finding in found] == [path.relative_to(spoiled).as_posix()], (path, at, bit)
        flip(path, at, bit)
    assert bag.damage(spoiled) == []


@pytest.mark.slow
def test_every_bit_of_what_a_bag_says_of_itself_counts(spoiled: Path) -> None:
    """Of bagit.txt each, because readers switch whole checks off by it; of the lists one in each tenth."""
    for name in bag.TAGS:
        path = spoiled / name
        size = path.stat().st_size
        for at in range(size) if name == bag.BAGIT else range(0, size, max(1, size // 10)):
            flip(path, at, at % 8)
            assert [finding.name for finding in bag.damage(spoiled)] == [name], (name, at)
            flip(path, at, at % 8)


@pytest.mark.parametrize(
    "gone", [bag.TAG_LISTS, (bag.LISTS[1], *bag.TAG_LISTS), (bag.BAGIT,), (bag.INFO,), bag.TAGS[:-1], (bag.LISTS[0],)]
)
def test_lists_that_were_taken_away_are_missed(spoiled: Path, gone: tuple[str, ...]) -> None:
    """The first two are the ways in which the common library still calls a bag valid."""
    for name in gone:
        (spoiled / name).unlink()
    assert {finding.name for finding in bag.damage(spoiled)} >= set(gone)
    assert run(["check", str(spoiled)]) == 5


def test_each_missing_and_each_added_file_is_named(spoiled: Path) -> None:
    first = sorted((spoiled / "data" / "pages").rglob("*.html"))[0]
    first.unlink()
    shutil.rmtree(spoiled / "data" / "tables")
    (spoiled / "note.txt").write_text("Thumbs")
    (spoiled / "data" / "empty").write_text("")
    (spoiled / "data" / "pages" / "more.html").write_text("")
    found = {finding.name: finding.what for finding in bag.damage(spoiled)}
    assert found[first.relative_to(spoiled).as_posix()] == "is missing"
    assert found["data/tables/objects.csv"] == "is missing"
    added = {name for name, what in found.items() if what == bag.ADDED}
    assert added == {"note.txt", "data/empty", "data/pages/more.html"}


def test_a_link_is_no_file_of_an_archive(spoiled: Path) -> None:
    readme = spoiled / "data" / "README.txt"
    readme.rename(spoiled.parent / "README.txt")
    readme.symlink_to(spoiled.parent / "README.txt")
    assert [finding.name for finding in bag.damage(spoiled)] == ["data/README.txt"]


def test_a_list_that_says_the_same_in_other_words_is_not_what_was_written(spoiled: Path) -> None:
    path = spoiled / bag.LISTS[0]
    path.write_bytes(path.read_bytes().replace(b"  data/README.txt", b" *data/README.txt"))
    assert [finding.name for finding in bag.damage(spoiled)] == [bag.LISTS[0]]
    path.write_bytes(path.read_bytes().upper())
    assert bag.LISTS[0] in {finding.name for finding in bag.damage(spoiled)}


def test_a_record_changed_and_sealed_again_is_found_by_the_chain(spoiled: Path, tmp_path: Path) -> None:
    """Whoever makes the checksums anew still cannot make the history fit."""
    import sqlite3

    db = sqlite3.connect(spoiled / DATA)
    db.execute("DROP TRIGGER history_no_update")
    db.execute("UPDATE history SET content = json_set(content, '$.maker', 'x')")
    db.commit()
    db.close()
    sealed_again(spoiled)
    damage = check_archive(spoiled).damage
    assert any("their hash does not fit" in line for line in damage)
    with pytest.raises(DamageFound, match="their hash does not fit"):
        restore(spoiled, tmp_path / "back.db")


def test_what_belongs_to_an_archive_is_missed_though_the_checksums_fit(spoiled: Path) -> None:
    (spoiled / "data" / "database" / "guards.sql").unlink()
    sealed_again(spoiled)
    assert [finding.name for finding in check_archive(spoiled).files] == ["data/database/guards.sql"]


def test_a_bag_of_somebody_else_and_a_folder_are_no_archives(tmp_path: Path) -> None:
    other = tmp_path / "other"
    (other / "data").mkdir(parents=True)
    with pytest.raises(CouldNot, match="is no archive"):
        check_archive(other)
    bag.seal(other, [("Source-Organization", "Somebody")])
    with pytest.raises(CouldNot, match="none that firstcoat made"):
        check_archive(other)
    assert run(["check", str(tmp_path)]) == 6


def test_an_archive_that_cannot_be_written_to_is_checked_and_restored(kept: Path, tmp_path: Path) -> None:
    """As on a disc. Whoever may write everywhere tries it on a copy whose folders forbid it all the same."""
    still = copied(kept, tmp_path / "still")
    before = {path: path.stat().st_mtime_ns for path in still.rglob("*")}
    for path in [still, *before]:
        path.chmod(0o555 if path.is_dir() else 0o444)
    try:
        assert check_archive(still).damage == ()
        restore(still, tmp_path / "back.db")
        assert {path: path.stat().st_mtime_ns for path in still.rglob("*")} == before
    finally:
        for path in [still, *before]:
            os.chmod(path, 0o755)

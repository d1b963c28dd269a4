"""`publish --replace`: the new site in the old one's place, in one step; nothing else is ever replaced."""

from __future__ import annotations

import json
import re
import shutil
import signal
import subprocess
import sys
import time
import urllib.request
from pathlib import Path

import killed_at
import pytest
from published_secrets import rows_of
from small_files import with_files_no_larger

from collection.cli import run
from collection.language.errors import DamageFound, WrongCommand
from collection.output.site.checksums import CHECKSUMS
from collection.output.site.publish import METADATA, publish
from collection.output.site.serve import verify
from collection.store.base import database, files
from collection.store.changes import corrections

BY, WHY = "R. Registrar", "seen again"
ADDRESS = "https://museum.example/finishes/"


def checksums(site: Path) -> str:
    assert verify(site) > 2
    return (site / CHECKSUMS).read_text()


@pytest.fixture(scope="module")
def made(filled_in: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("made")
    db = folder / "collection.db"
    shutil.copy(filled_in, db)
    shutil.copytree(files.folder_of(filled_in), files.folder_of(db))
    publish(db, folder / "site", address=ADDRESS)
    with database.opened(db, write=False) as connection:
        (code,) = connection.execute("SELECT object FROM live_objects ORDER BY object").fetchone()
    corrections.correct(db, "objects", code, {"title": "A better title"}, BY, WHY)
    return folder


@pytest.fixture
def desk(made: Path, tmp_path: Path) -> tuple[Path, Path]:
    """A database, its published site, and a correction since."""
    shutil.copytree(made, tmp_path, dirs_exist_ok=True)
    return tmp_path / "collection.db", tmp_path / "site"


def test_the_new_site_stands_where_the_old_one_stood(desk: tuple[Path, Path], tmp_path: Path) -> None:
    """Byte for byte what a new folder gets; nothing is left beside it; the address is kept where none is given."""
    db, site = desk
    old = checksums(site)
    with pytest.raises(WrongCommand, match=r"exists already.*published anew with --replace"):
        publish(db, site)
    assert checksums(site) == old
    publish(db, tmp_path / "new", address=ADDRESS)
    report = publish(db, site, replace=True)
    assert checksums(site) == checksums(tmp_path / "new") != old
    assert (report.leftovers, report.folder) == ((), str(site))
    assert json.loads((site / METADATA).read_text("utf-8"))["plugins"]["firstcoat_site"]["address"] == ADDRESS
    assert not list(tmp_path.glob(".*"))
    publish(db, site, replace=True, address="https://other.example/")
    assert "other.example" in (site / METADATA).read_text("utf-8")


def test_where_no_site_stands_it_is_a_first_one(desk: tuple[Path, Path], tmp_path: Path) -> None:
    publish(desk[0], tmp_path / "first", replace=True)
    checksums(tmp_path / "first")


def spoil(site: Path, how: str) -> None:
    if how == "a folder of somebody's":
        shutil.rmtree(site)
        site.mkdir()
        (site / "letters.txt").write_text("dear")
    elif how == "an empty folder":
        shutil.rmtree(site)
        site.mkdir()
    elif how == "a file":
        shutil.rmtree(site)
        site.write_text("a file")
    elif how == "another program's site":
        said = json.loads((site / METADATA).read_text("utf-8"))
        (site / METADATA).write_text(json.dumps({**said, "plugins": {}}), "utf-8")
    elif how == "a link to a site":
        site.rename(site.with_name("elsewhere"))
        site.symlink_to(site.with_name("elsewhere"))
    elif how == "notes in the site":
        (site / "notes.txt").write_text("ask the curator")
    elif how == "an empty folder in the site":
        (site / "mine").mkdir()


@pytest.mark.parametrize(
    ("how", "said"),
    [
        ("a folder of somebody's", "no site that firstcoat published"),
        ("an empty folder", "no site that firstcoat published"),
        ("a file", "no site that firstcoat published"),
        ("another program's site", "no site that firstcoat published"),
        ("a link to a site", "no site that firstcoat published"),
        ("notes in the site", r"holds what firstcoat did not publish \(notes\.txt\)"),
        ("an empty folder in the site", r"holds what firstcoat did not publish \(mine\)"),
    ],
)
def test_only_a_site_of_ours_is_replaced(desk: tuple[Path, Path], how: str, said: str) -> None:
    db, site = desk
    spoil(site, how)
    before = {path: path.read_bytes() for path in site.parent.rglob("*") if path.is_file() and path.parent != db.parent}
    with pytest.raises(WrongCommand, match=said):
        publish(db, site, replace=True)
    assert all(path.read_bytes() == content for path, content in before.items())
    assert not list(site.parent.glob(".*"))


def test_the_inner_site_never_replaces_the_public_one_or_the_reverse(
    desk: tuple[Path, Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Owners and stores would stand where everybody reads."""
    db, site = desk
    old = checksums(site)
    assert run(["publish", str(db), str(site), "--replace", "--audience", "staff", "--no-papers"]) == 2
    assert "is the site for the public, and what is published here is for staff" in capsys.readouterr().err
    assert checksums(site) == old
    publish(db, tmp_path / "inner", staff=True)
    inner = checksums(tmp_path / "inner")
    assert run(["publish", str(db), str(tmp_path / "inner"), "--replace", "--no-papers"]) == 2
    assert "or add --audience staff" in capsys.readouterr().err
    assert checksums(tmp_path / "inner") == inner
    assert run(["publish", str(db), str(tmp_path / "inner"), "--replace", "--audience", "staff", "--no-papers"]) == 0


def test_a_full_disk_leaves_the_old_site(desk: tuple[Path, Path]) -> None:
    db, site = desk
    old = checksums(site)
    code, said = with_files_no_larger(200_000, lambda: publish(db, site, replace=True))
    assert code == 6, said
    assert "Nothing was published" in said
    assert checksums(site) == old
    assert not list(site.parent.glob(".*"))


KILLED = """
import os, signal, sys
from pathlib import Path
from collection.output.site.publish import publish
from collection.store.base import unfinished
if sys.argv[1] == "in two steps":
    unfinished._exchanged = lambda one, other: False
    real = os.rename
    def rename(*names):
        real(*names)
        os.kill(os.getpid(), signal.SIGKILL)
    os.rename = rename
else:
    unfinished._remove = lambda *given, **more: os.kill(os.getpid(), signal.SIGKILL)
publish(Path(sys.argv[2]), Path(sys.argv[3]), replace=True)
"""


@pytest.mark.parametrize("how", ["before clearing up", "in two steps"])
def test_what_a_kill_leaves_is_named_and_put_right(
    desk: tuple[Path, Path], how: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """Killed when the new site stands and the old one is not yet removed; and, where a system cannot swap two folders
    in one step, between the two: there stands no site, and the next run puts the old one back before anything else."""
    db, site = desk
    old = checksums(site)
    done = subprocess.run([sys.executable, "-c", KILLED, how, db, site], check=False)
    assert done.returncode == -signal.SIGKILL
    (left,) = site.parent.glob(".site.unfinished-*")
    if how == "in two steps":
        assert not site.exists()
        with pytest.raises(WrongCommand, match="exists already"):
            publish(db, site)
        assert checksums(site) == old
    else:
        assert checksums(site) != old
        assert run(["publish", str(db), str(site), "--replace", "--no-papers"]) == 0
        assert f"Removed what a killed run had left: {left}" in capsys.readouterr().out
        checksums(site)
    assert not list(site.parent.glob(".*"))


def test_a_database_without_its_files_is_told_in_one_line(
    desk: tuple[Path, Path], capsys: pytest.CaptureFixture[str]
) -> None:
    db, site = desk
    old = checksums(site)
    with database.opened(db, write=False) as connection:
        (many,) = connection.execute("SELECT count(*) FROM files").fetchone()
    shutil.rmtree(files.folder_of(db))
    line = f"{db} has no folder collection.db.files beside it ({many} files are named): copy it too."
    with pytest.raises(DamageFound) as found:
        publish(db, site, replace=True)
    assert str(found.value) == line
    assert checksums(site) == old
    assert run(["check", str(db)]) == 5
    told = capsys.readouterr().out
    assert f"Damage: {line}" in told
    assert told.count("Damage:") == 1
    files.folder_of(db).mkdir()
    with pytest.raises(DamageFound, match=rf"holds none of the {many} files .*copy it again, whole"):
        publish(db, site, replace=True)


PUBLISHED = """
from pathlib import Path
from collection.output.site.publish import publish
def work(db, out):
    publish(Path(db), Path(out), replace=True)
"""


@pytest.mark.slow
def test_a_kill_leaves_the_old_site_or_the_new(desk: tuple[Path, Path], tmp_path: Path) -> None:
    db, site = desk
    old = checksums(site)
    shutil.copytree(site, tmp_path / "whole" / "site")
    whole = killed_at.calls(PUBLISHED, db, tmp_path / "whole" / "site")
    new = checksums(tmp_path / "whole" / "site")
    seen = []
    for moment in killed_at.moments(whole, 4):
        out = Path(shutil.copytree(site, tmp_path / f"killed{moment}" / "site"))
        killed_at.kill(PUBLISHED, db, out, at=moment)
        seen.append([old, new].index(checksums(out)))
        publish(db, out, replace=True)
        assert checksums(out) == new
        assert not list(out.parent.glob(".*"))
    assert seen == sorted(seen)
    assert set(seen) == {0, 1}


def asked(address: str) -> str:
    with urllib.request.urlopen(address, timeout=60) as answer:
        assert answer.status == 200
        return str(answer.read().decode())


def until(address: str, text: str) -> None:
    """Ask again and again; every answer has to be one, and the text has to come within a minute."""
    end = time.monotonic() + 60
    while text not in asked(address):
        assert time.monotonic() < end, f"{text!r} never came"
        time.sleep(0.1)


@pytest.mark.slow
def test_a_server_takes_up_the_new_site_and_no_half_of_one(desk: tuple[Path, Path], tmp_path: Path) -> None:
    """Whoever reads gets an answer at every moment. What somebody copies there by hand is not shown while a file of it is
    not what was published; the site as it was is shown on, and stderr says why."""
    db, site = desk
    with subprocess.Popen(
        [sys.executable, "-m", "collection", "serve", site, "--port", "0"],
        stderr=subprocess.PIPE,
        text=True,
        # Whoever runs these tests in the background of a shell has interrupts ignored, and so would the server.
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),
    ) as server:
        assert server.stderr
        found = re.search(r"http://\S+", server.stderr.readline())
        assert found
        try:
            assert "A better title" not in asked(found[0])
            publish(db, site, replace=True)
            until(found[0], "A better title")
            (code,) = rows_of(site, "SELECT object FROM objects WHERE title = 'A better title'")[0]
            corrections.correct(db, "objects", code, {"title": "The best title"}, BY, WHY)
            publish(db, tmp_path / "third")
            spoiled = Path(shutil.copytree(tmp_path / "third", tmp_path / "spoiled"))
            with (spoiled / METADATA).open("a") as file:
                file.write(" ")
            site.rename(tmp_path / "second")
            spoiled.rename(site)
            said = server.stderr.readline()
            assert said.startswith("Note: the site as it was is shown on. ")
            assert f"{METADATA} changed" in said
            assert "A better title" in asked(found[0])
            publish(db, site, replace=True)
            until(found[0], "The best title")
        finally:
            server.send_signal(signal.SIGINT)
        assert server.wait(60) == 130

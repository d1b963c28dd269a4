"""The wheel carries the schema, the sample and the plugin, and runs outside the checkout."""

from __future__ import annotations

import subprocess
import sys
import venv
import zipfile
from pathlib import Path

import pytest

pytestmark = pytest.mark.slow

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("wheel")
    subprocess.run(
        [sys.executable, "-m", "build", "--wheel", "--outdir", str(out), str(ROOT)], check=True, capture_output=True
    )
    return next(out.glob("*.whl"))


@pytest.mark.parametrize(
    ("inside", "folder"),
    [
        ("collection/_schema", "schema"),
        ("collection/_sample_db", "sample_db"),
        ("firstcoat_site", "plugins/firstcoat_site"),
        ("collection/manual", "collection/manual"),
    ],
)
def test_the_wheel_holds_what_the_checkout_holds(wheel: Path, inside: str, folder: str) -> None:
    """Byte for byte, so that nothing is left behind and nothing old is shipped."""
    listed = subprocess.run(
        ["git", "ls-files", "-co", "--exclude-standard", folder], cwd=ROOT, capture_output=True, text=True, check=True
    ).stdout.split("\n")
    files = {Path(name) for name in listed if name and (ROOT / name).is_file()}
    assert files
    with zipfile.ZipFile(wheel) as archive:
        packed = {n for n in archive.namelist() if n.startswith(inside + "/")}
        assert packed == {f"{inside}/{path.relative_to(folder).as_posix()}" for path in files}
        for path in files:
            assert archive.read(f"{inside}/{path.relative_to(folder).as_posix()}") == (ROOT / path).read_bytes()


def test_the_demonstration_runs_from_the_wheel_outside_the_checkout(wheel: Path, tmp_path: Path) -> None:
    """In a venv of its own that is lent this one's libraries, so that only firstcoat itself is installed."""
    venv.create(tmp_path / "venv", with_pip=True)
    python = tmp_path / "venv" / "bin" / "python"
    subprocess.run([python, "-m", "pip", "install", "-q", "--no-deps", str(wheel)], check=True, capture_output=True)
    libraries = [p for p in sys.path if p.endswith("site-packages")]
    code = (
        "import sys; sys.path.extend(sys.argv[1:]); import collection, collection.values.resources as r; "
        "assert 'venv' in collection.__file__, collection.__file__; "
        "assert 'venv' in str(r.schema_file('policy.toml')), r.schema_file('policy.toml'); "
        "from collection.cli import main; main(['demo', 'tried'])"
    )
    done = subprocess.run([python, "-c", code, *libraries], check=False, cwd=tmp_path, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    assert "DESTROYS" in done.stdout
    assert len(done.stdout.splitlines()) <= 40, "under a screen"
    assert (tmp_path / "tried" / "site" / "sha256sums.txt").is_file()

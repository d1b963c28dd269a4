"""The plugin beside Datasette: installed by its entry point, silent on other sites; its style sheet."""

from __future__ import annotations

import json
import re
import sqlite3
from pathlib import Path
from typing import Any

import pytest
from datasette import hookspecs
from datasette.app import Datasette
from datasette.plugins import get_plugins
from site_answers import get
from site_packages import database_of

from collection.output.site.publish import publish
from collection.values.resources import sample_folder

ROOT = Path(__file__).resolve().parents[2]
CSS = (ROOT / "plugins" / "firstcoat_site" / "static" / "firstcoat.css").read_text("utf-8")


def test_the_plugin_is_installed_by_its_entry_point() -> None:
    (plugin,) = [p for p in get_plugins() if "firstcoat" in p["name"]]
    assert plugin["name"] == "firstcoat"
    assert plugin["static_path"].endswith("static")
    assert sorted(plugin["hooks"]) == ["asgi_wrapper", "handle_exception", "register_routes"]


def test_every_hook_is_one_that_datasette_calls() -> None:
    """Datasette accepts unknown hook names in silence."""
    import firstcoat_site

    known = {name for name, value in vars(hookspecs).items() if hasattr(value, "datasette_spec")}
    ours = {name for name in vars(firstcoat_site) if hasattr(getattr(firstcoat_site, name), "datasette_impl")}
    assert ours == {"register_routes", "asgi_wrapper", "handle_exception"}
    assert ours <= known


def test_another_site_is_left_as_it_was(tmp_path: Path) -> None:
    sqlite3.connect(tmp_path / "other.db").execute("CREATE TABLE t (a)").connection.close()
    ds = Datasette([str(tmp_path / "other.db")])
    index, table, versions = get(tmp_path, "/", "/other/t", "/-/versions.json", datasette=ds)
    assert (index.status_code, table.status_code, versions.status_code) == (200, 200, 200)
    assert "content-security-policy" not in index.headers
    assert "What survives" not in index.text


def test_the_file_reads_well_in_datasette_without_our_pages(harbour: Path) -> None:
    metadata = json.loads((harbour / "metadata.json").read_text("utf-8"))
    metadata.pop("plugins")
    ds = Datasette([], immutables=[str(harbour / "collection.db")], metadata=metadata)
    table, row, view, search = get(
        harbour,
        "/collection/layers",
        "/collection/layers/2",
        "/collection/what_survives",
        "/collection/search?_search=vermilion",
        datasette=ds,
    )
    assert [r.status_code for r in (table, row, view, search)] == [200] * 4
    assert "thickness (µm)" in table.text
    assert re.search(r'<a href="/collection/samples/\d+">OHM-[\w/-]+/S\d+</a>', table.text)
    assert "OHM-1937/3" in search.text


def test_tables_open_only_where_the_publisher_says_so(harbour: Path, tmp_path: Path) -> None:
    packages = Path(str(sample_folder())) / "harbour"
    publish(database_of(tmp_path / "a.db", packages / "2014"), tmp_path / "open", allow_sql=True)
    paths = ("/collection", "/collection/layers", "/collection?sql=select+1", "/-/databases.json", "/collection.db")
    assert [r.status_code for r in get(harbour, *paths)] == [404] * 5
    found = get(tmp_path / "open", *paths)
    assert [r.status_code for r in found] == [200, 200, 200, 404, 404]
    assert "script-src" not in found[0].headers["content-security-policy"]
    assert get(tmp_path / "open", "/collection?sql=delete+from+objects")[0].status_code == 400


def luminance(colour: str) -> float:
    """WCAG 2.2, relative luminance."""
    full = colour if len(colour) == 7 else "#" + "".join(c * 2 for c in colour[1:])
    parts = [int(full[n : n + 2], 16) / 255 for n in (1, 3, 5)]
    linear = [v / 12.92 if v <= 0.04045 else ((v + 0.055) / 1.055) ** 2.4 for v in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


@pytest.mark.parametrize("number", [0, 1], ids=["light", "dark"])
def test_texts_stand_out_from_the_paper(number: Any) -> None:
    """WCAG 2.2, 1.4.3 (text, 4.5) and 1.4.11 (marks and focus, 3)."""
    block = re.findall(r":root \{([^}]*)\}", CSS)[number]
    colour = dict(re.findall(r"--(\w+): (#[0-9a-f]{3,6})", block))
    for name in ("ink", "quiet", "link", "warn", "alarm", "open", "held"):
        assert contrast(colour[name], colour["paper"]) >= 4.5, name
        assert name in ("warn", "alarm", "open", "held", "quiet") or contrast(colour[name], colour["mark"]) >= 4.5, name
    for name in ("paint", "focus", "quiet"):
        assert contrast(colour[name], colour["paper"]) >= 3, name


def test_the_style_sheet_loads_nothing() -> None:
    assert "url(" not in CSS
    assert "@import" not in CSS

"""The shape of the code: imports run one way, SQL stays in its folders, modules stay small, the top level as agreed."""

from __future__ import annotations

import ast
import re
import subprocess
from collections.abc import Collection, Mapping
from pathlib import Path

import pytest

from collection.records.sheets import SHEETS
from collection.store import derive
from collection.store.changes import steps
from collection.store.schema.system_tables import FIRST_MADE

ROOT = Path(__file__).resolve().parents[2]
PACKAGE = ROOT / "collection"
ROOMS = (
    "language",
    "values",
    "records",
    "compute.case",
    "compute.build_up",
    "compute.stratigraphy",
    "compute.survival",
    "compute.effects",
    "compute.loss",
    "compute.safety",
    "compute.windows",
    "compute",
    "rules",
    "store.schema",
    "store.base",
    "store.derive",
    "store.stage",
    "store.changes",
    "store.decide",
    "store.search",
    "store",
    "ingest",
    "output.new_file",
    "output.manual",
    "output.published",
    "output.drawings",
    "output.tell",
    "output.tag",
    "output.report",
    "output.site",
    "output.export",
    "output.archive",
    "output",
    "cli",
    "__main__",
)
"""Folders, and modules with a place of their own, each importing only from itself and from those before it. A folder
named after one of its own rooms holds what is left of it."""
MODULES = sorted(PACKAGE.rglob("*.py"))
NAMES = {".".join(path.relative_to(PACKAGE).with_suffix("").parts).removesuffix(".__init__"): path for path in MODULES}


def area(path: Path) -> str:
    return path.relative_to(PACKAGE).with_suffix("").parts[0]


def room(module: str) -> str:
    """The folder or module of the table that a module belongs to, the narrowest of them."""
    held = [name for name in ROOMS if module == name or module.startswith(f"{name}.")]
    assert held, f"{module} has no room: give it one here and in DEVELOPERS.md"
    return max(held, key=len)


def imported(code: str, known: Collection[str]) -> set[str]:
    """The modules of the package that a module imports anywhere: at its top, within a function, or for its types."""
    found: set[str] = set()
    for node in ast.walk(ast.parse(code)):
        if isinstance(node, ast.ImportFrom) and node.module and node.module.startswith("collection"):
            for alias in node.names:
                whole, part = f"{node.module}.{alias.name}", node.module
                found.add((whole if whole.removeprefix("collection.") in known else part).removeprefix("collection."))
        elif isinstance(node, ast.Import):
            found |= {a.name.removeprefix("collection.") for a in node.names if a.name.startswith("collection.")}
    return found & set(known)


IMPORTS = {name: imported(path.read_text(), NAMES) for name, path in NAMES.items()}


@pytest.mark.parametrize("module", sorted(NAMES))
def test_imports_run_one_way(module: str) -> None:
    """Each part imports only from its own room or those before it. A package's own file imports nothing."""
    if NAMES[module].name == "__init__.py" and module != "cli":
        assert not IMPORTS[module]
        return
    for other in IMPORTS[module]:
        assert ROOMS.index(room(other)) <= ROOMS.index(room(module)), other


def circles(imports: Mapping[str, Collection[str]]) -> list[tuple[str, ...]]:
    """Groups of modules that import each other, by whatever way."""

    def reached(start: str) -> set[str]:
        found: set[str] = set()
        ahead = [start]
        while ahead:
            new = set(imports[ahead.pop()]) - found
            found |= new
            ahead += new
        return found

    every = {module: reached(module) for module in imports}
    return sorted({tuple(sorted(b for b in every[a] if a in every[b])) for a in imports if a in every[a]})


def test_no_modules_import_each_other() -> None:
    """Imports within functions counted, those of the lazy commands too, and those for types alone."""
    assert circles(IMPORTS) == []
    assert circles({"a": {"b"}, "b": {"c"}, "c": {"b"}, "d": {"a"}}) == [("b", "c")]


@pytest.mark.parametrize("module", sorted(name for name in NAMES if name.startswith(("store", "ingest"))))
def test_no_import_is_hidden_in_a_function(module: str) -> None:
    """But for that of a heavy library, with a comment that says so."""
    code = NAMES[module].read_text()
    hidden = [
        node
        for function in ast.walk(ast.parse(code))
        if isinstance(function, ast.FunctionDef)
        for node in ast.walk(function)
        if isinstance(node, ast.Import | ast.ImportFrom)
    ]
    for node in hidden:
        assert "collection" not in ast.unparse(node)
        assert "#" in code.splitlines()[node.lineno - 1], ast.unparse(node)


@pytest.mark.parametrize("path", MODULES, ids=lambda p: str(p.relative_to(PACKAGE)))
def test_computations_know_no_sql_no_web_and_no_command_line(path: Path) -> None:
    if area(path) in ("language", "values", "records", "compute", "rules"):
        text = path.read_text()
        assert not re.search(r"^\s*(import|from) (sqlite3|click|datasette|sqlite_utils)\b", text, re.M)
        assert not re.search(r"\b(date\.today|datetime\.now|time\.time)\(", text)


WRITES = re.compile(r"\b(INSERT(?: OR \w+)? INTO|REPLACE INTO|UPDATE(?: OR \w+)?|DELETE FROM)\s+(?:main\.)?([\w{}.]+)")
SHEET_TABLES = {record.table for record in SHEETS}


def sheet_writes(code: str) -> list[str]:
    """The statements in a module's texts that may write the table of a sheet: they name one, or a table that is only
    known when the program runs."""
    tree = ast.parse(code)
    filled = [node for node in ast.walk(tree) if isinstance(node, ast.JoinedStr)]
    parts = {part for node in filled for part in node.values}
    plain = [n.value for n in ast.walk(tree) if isinstance(n, ast.Constant) and n not in parts]
    texts = [
        *(
            "".join(
                f"{{{ast.unparse(p.value)}}}" if isinstance(p, ast.FormattedValue) else str(ast.literal_eval(p))
                for p in node.values
            )
            for node in filled
        ),
        *(text for text in plain if isinstance(text, str)),
    ]
    found = [(verb.split()[0], table) for text in texts for verb, table in WRITES.findall(text)]
    return sorted(f"{verb} {table}" for verb, table in found if table in SHEET_TABLES or table.startswith("{"))


def test_a_row_of_a_sheet_is_entered_and_altered_in_one_place() -> None:
    """One INSERT and one UPDATE in the whole program, and no DELETE. Of the others that name their table only when
    they run, derive writes what is derived, migrate the dictionary and the reference tables, replay the program's own tables,
    draft the text of a migration, which it does not run, and whole_tables that of the full-text index of an archive.
    load_tables makes a new database of an archive's tables, in which nothing was altered; rewound takes changes back in a
    copy of its own that goes with the connection."""
    found = {
        str(path.relative_to(ROOT)): writes
        for path in (*MODULES, *(ROOT / "plugins").rglob("*.py"))
        if (writes := sheet_writes(path.read_text()))
    }
    assert found == {
        "collection/store/changes/change.py": ["INSERT {rows.record.table}", "UPDATE {rows.record.table}"],
        "collection/store/changes/replay.py": ["INSERT {table.name}"],
        "collection/store/derive.py": ["DELETE {name}", "DELETE {name}", "INSERT {name}"],
        "collection/store/load_tables.py": ["INSERT {table}"],
        "collection/store/rewound.py": ["DELETE {name}", "DELETE {table}", "UPDATE {table}"],
        "collection/store/schema/draft.py": ["INSERT {table.name}"],
        "collection/store/schema/migrate.py": ["DELETE {table.name}", "INSERT {table}"],
        "collection/store/whole_tables.py": ["INSERT {name}"],
    }
    assert SHEET_TABLES.isdisjoint(derive.TABLES)
    assert SHEET_TABLES.isdisjoint(table.name for table in (*steps.CARRIED, FIRST_MADE))


@pytest.mark.parametrize(
    "statement",
    [
        "db.execute('UPDATE layers SET role = NULL')",
        "db.execute(f'INSERT OR REPLACE INTO main.{record.table} ({names}) ' f'VALUES ({marks})')",
        "db.execute(f'DELETE FROM {cls.table}')",
        'SQL = "REPLACE INTO objects VALUES (?)"',
    ],
)
def test_a_second_way_in_would_be_seen(statement: str) -> None:
    assert sheet_writes(statement)
    assert not sheet_writes("db.execute('INSERT INTO decisions VALUES (?)', row)")


def test_no_module_is_long_or_has_a_name_that_says_nothing() -> None:
    for folder in ("collection", "plugins", "sample_db", "tests"):
        for path in (ROOT / folder).rglob("*.py"):
            assert path.stem not in ("utils", "helpers", "common")
            assert len(path.read_text().splitlines()) <= 400, path


def test_the_top_level_is_as_agreed() -> None:
    listed = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=False).stdout
    top = {line.split("/")[0] for line in listed.split("\n") if line and not line.startswith(".")}
    assert not top or top <= {
        "README.md",
        "DEVELOPERS.md",
        "pyproject.toml",
        "collection",
        "schema",
        "plugins",
        "tests",
        "sample_db",
    }

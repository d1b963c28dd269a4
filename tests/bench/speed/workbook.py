"""How fast a workbook of a large survey goes in, beside openpyxl that only loads it: python tests/bench/speed/workbook.py

The same generated survey as tests/bench/speed/ingest.py, written by XlsxWriter: texts as text, numbers as numbers. Ours is
checked part by part, read, looked through for formulas, formats, errors and hidden or merged cells, checked and stored;
openpyxl loads it and stops there, and so does calamine. Each figure is from a process of its own, the ways in turn, CPU
seconds after the imports, the median. The table ends with the bar of the design; the exit code is 1 when it is not met.
"""

from __future__ import annotations

import argparse
import csv
import shutil
import statistics
import subprocess
import sys
import tempfile
from pathlib import Path

BENCH = Path(__file__).resolve().parents[1]
BAR = 1.3
COMMENTED = 50
"""One row in so many has a comment, and another one a cell that is struck out."""
WAYS = {
    "firstcoat": (
        "from collection.ingest.load import ingest\nfrom collection.ingest.package import package_format\n"
        "from collection.store.base.database import create",
        "create(database)",
        "report = ingest(database, package, derived=False)\nassert report.change == 1",
    ),
    "again": (
        "from collection.ingest.load import ingest",
        "",
        "report = ingest(database, package, derived=False)\nassert report.change is None and report.unchanged",
    ),
    "openpyxl": ("import openpyxl", "", "openpyxl.load_workbook(package)"),
    "calamine": (
        "from python_calamine import CalamineWorkbook",
        "",
        "book = CalamineWorkbook.from_path(package)\n"
        "for name in book.sheet_names:\n    book.get_sheet_by_name(name).to_python()",
    ),
}
NAMES = {
    "firstcoat": "read, checked and stored",
    "again": "the same again",
    "openpyxl": "openpyxl: loaded only",
    "calamine": "calamine: values only",
}


def write_workbook(path: Path, folder: Path) -> None:
    """The sheets of a folder as a workbook."""
    import tomllib

    import xlsxwriter

    from collection.records.sheets import BY_SHEET

    with xlsxwriter.Workbook(str(path)) as book:
        struck = book.add_format({"font_strikeout": True})
        survey = book.add_worksheet("survey")
        for at, pair in enumerate([("key", "value"), *tomllib.loads((folder / "survey.toml").read_text()).items()]):
            survey.write_row(at, 0, pair)
        for sheet in sorted(folder.glob("*.csv")):
            page = book.add_worksheet(sheet.stem)
            with open(sheet, encoding="utf-8", newline="") as file:
                rows = csv.reader(file)
                headings = next(rows)
                numbers = [BY_SHEET[sheet.stem].column(name).is_number for name in headings]
                page.write_row(0, 0, headings)
                for at, row in enumerate(rows, 1):
                    for place, (cell, number) in enumerate(zip(row, numbers, strict=True)):
                        if cell and number:
                            page.write_number(at, place, float(cell))
                        elif cell:
                            page.write_string(at, place, cell, struck if (at % COMMENTED, place) == (2, 3) else None)
                    if at % COMMENTED == 0:
                        page.write_comment(at, 0, "look at this one again", {"author": "B. Reader"})


def main() -> int:
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--layers", type=int, default=3_450)
    options.add_argument("--runs", type=int, default=5)
    options.add_argument("--write", nargs=2, type=Path, metavar=("BOOK", "FOLDER"), help="only write a workbook")
    given = options.parse_args()
    if given.write:
        write_workbook(*given.write)
        return 0
    sys.path.insert(0, str(BENCH))
    from speed import ingest as measuring
    from speed.made_package import write_package

    measuring.WAYS.update(WAYS)
    work = Path(tempfile.mkdtemp(prefix="firstcoat-bench-"))
    try:
        rows = write_package(work / "package", given.layers)
        book = work / "survey.xlsx"
        # In a process of its own, because the memory of this one counts as theirs for those it starts.
        subprocess.run([sys.executable, __file__, "--write", book, work / "package"], check=True)
        found: dict[str, list[dict[str, float]]] = {name: [] for name in WAYS}
        for run in range(1, given.runs + 1):
            print(f"run {run} of {given.runs}", file=sys.stderr)
            database = measuring.emptied(work)
            for way in WAYS:
                found[way].append(measuring.measure(way, book, database))
        return show(found, given.layers, rows, book.stat().st_size)
    finally:
        shutil.rmtree(work)


def show(found: dict[str, list[dict[str, float]]], layers: int, rows: int, size: int) -> int:
    cpu = {way: statistics.median(each["cpu"] for each in runs) for way, runs in found.items()}
    print(
        f"{rows:,} rows in six sheets, {layers:,} of them layers, {size / 1e6:.1f} MB; medians of "
        f"{len(found['firstcoat'])} runs"
    )
    print(f"{'':30}{'CPU s':>8}{'range':>16}{'peak MB':>9}")
    for way, runs in found.items():
        seconds = [each["cpu"] for each in runs]
        print(
            f"{NAMES[way]:30}{cpu[way]:8.2f}{f'{min(seconds):.2f}–{max(seconds):.2f}':>16}"
            f"{statistics.median(each['rss'] for each in runs):9.0f}"
        )
    times = cpu["firstcoat"] / cpu["openpyxl"]
    print(f"{times:.2f}× what openpyxl takes to load it (bar {BAR}×) {'met' if times < BAR else 'NOT MET'}")
    return int(times >= BAR)


if __name__ == "__main__":
    raise SystemExit(main())

"""Whether the tests would notice a change to the clearing logic: the changes themselves, and a small draw of them."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from typing import Any

import mutants
import mutations
import pytest

pytestmark = pytest.mark.slow

SOURCE = '''
"""Text."""

def least(rows, limit=3, *, word="yes"):
    """Text."""
    found = [row for row in rows if row.low < limit]
    if not found or word == "no":
        return None
    print(f"{limit}")
    return min(found, key=lambda row: row.span.earliest) if limit > 1 else found
'''
EXPECTED = [
    "3 → 4",
    "3 → 2",
    "'yes' → 'no'",
    "if not found or word == 'no': … → (left out)",
    "print(f'{limit}') → (left out)",
    "[row for row in rows if row.low < limit] → [row for row in rows]",
    "[row for row in rows if row.low < limit] → [row for row in rows if row.low <= limit]",
    "[row for row in rows if row.low < limit] → [row for row in rows if row.high < limit]",
    "not found or word == 'no' → not (not found or word == 'no')",
    "not found or word == 'no' → not found and word == 'no'",
    "not found or word == 'no' → word == 'no'",
    "not found or word == 'no' → not found",
    "not found or word == 'no' → found or word == 'no'",
    "not found or word == 'no' → not found or word != 'no'",
    "not found or word == 'no' → not found or word == 'yes'",
]


def test_changes_are_those_of_a_careless_hand_and_leave_the_wording_alone(tmp_path: Path) -> None:
    (tmp_path / "m.py").write_text(SOURCE)
    found = mutations.mutations(tmp_path, "m.py")
    told = [each.change for each in found]
    assert set(EXPECTED) <= set(told)
    last = "min(found, key=lambda row: row.span.earliest) if limit > 1 else found"
    assert {each.split(" → ")[1] for each in told if each.startswith((last, "return"))} == {
        "return None",
        last.replace("min", "max"),
        last.replace("earliest", "latest"),
        last.replace("> 1", ">= 1"),
        last.replace("> 1", "> 0"),
        last.replace("limit > 1", "not limit > 1"),
    }
    assert not any("Text" in each for each in told)
    for each in found:
        compile(mutations.mutated(SOURCE, each.number), "m.py", "exec")


def test_a_change_is_what_it_says(tmp_path: Path) -> None:
    (tmp_path / "m.py").write_text("def more(a, b):\n    return a > b\n")
    (change,) = (each for each in mutations.mutations(tmp_path, "m.py") if each.change == "a > b → a >= b")
    names: dict = {}
    exec(compile(mutations.mutated((tmp_path / "m.py").read_text(), change.number), "m.py", "exec"), names)
    assert (names["more"](1, 1), names["more"](0, 1)) == (True, False)


@pytest.fixture(scope="module")
def every() -> Any:
    return [each for file in mutants.CHANGED for each in mutations.mutations(mutants.ROOT, file)]


def test_a_draw_takes_lines_alike_and_stays_when_other_lines_change(every: Any) -> None:
    drawn = mutants.draw(every, 50, 3)
    assert len({(each.file, each.line) for each in drawn}) == 50, "one of each line first"
    assert drawn != mutants.draw(every, 50, 4)
    away = drawn[7]
    left = mutants.draw([each for each in every if (each.file, each.line) != (away.file, away.line)], 49, 3)
    assert left == [each for each in drawn if each is not away]


def test_the_changes_that_do_the_same_are_still_there_and_few(every: Any) -> None:
    told = {(each.file, each.function, each.change) for each in every}
    assert set(mutants.equivalent()) <= told
    assert len(mutants.equivalent()) <= 15
    assert all(len(why) > 20 for why in mutants.equivalent().values())


def test_a_small_draw_is_noticed() -> None:
    """The long run is `python tests/mutation/mutants.py --draw 300`."""
    done = subprocess.run(
        [sys.executable, str(Path(mutants.__file__)), "--draw", "12", "--seed", "7", "--quiet"],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr

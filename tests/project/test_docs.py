"""The manual and DEVELOPERS.md say what the program does: every command, option, exit code and rule; and README."""

from __future__ import annotations

import ast
import contextlib
import re
import shlex
from pathlib import Path
from typing import Any

import click
import pytest

from collection.cli import COMMANDS, root, run
from collection.language import errors
from collection.output.manual import TOPICS

ROOT = Path(__file__).resolve().parents[2]
README = (ROOT / "README.md").read_text()
MANUAL = (ROOT / "collection" / "manual" / "commands.md").read_text()
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text()


def command(name: str) -> click.Command:
    found = root.get_command(click.Context(root), name)
    assert found is not None
    return found


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_and_option_is_in_the_manual(name: str) -> None:
    row = next((line for line in MANUAL.splitlines() if re.match(rf"\| `{name}\b", line)), None)
    assert row is not None, f"{name} has no row in the manual's page of commands"
    everywhere = {"--json", "--by", "--reason"}
    for parameter in command(name).params:
        if isinstance(parameter, click.Option):
            for option in set(parameter.opts) - everywhere:
                assert option in row, (name, option)


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_has_help_and_the_list_tells_the_same(name: str) -> None:
    """The group lists commands without importing them, so its words are held against the commands' own."""
    assert command(name).help
    assert COMMANDS[name][1].endswith(".")


def test_the_manual_names_no_command_that_is_not_there() -> None:
    named = set(re.findall(r"^\| `([a-z]+)\b", MANUAL, re.M))
    assert named == set(COMMANDS)


def test_every_exit_code_is_in_the_manual() -> None:
    listed = {int(code) for code in re.findall(r"^\| (\d+) \|", MANUAL, re.M)}
    assert listed == {
        errors.DONE,
        errors.REFUSED,
        errors.USAGE,
        errors.WARNED,
        errors.GATE,
        errors.DAMAGE,
        errors.COULD_NOT,
        errors.OURS,
        errors.INTERRUPTED,
    }


def rules_of(path: Path) -> set[str]:
    """The ids of the rules that a module yields: what its requirements and findings are called. Where that is a
    variable, they are listed in the module's RULES."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    constants: dict[str, Any] = {}
    for node in tree.body:
        if isinstance(node, ast.Assign):
            with contextlib.suppress(ValueError):  # what is computed is no name of a rule
                (target,), value = node.targets, ast.literal_eval(node.value)
                names = target.elts if isinstance(target, ast.Tuple) else [target]
                values = value if isinstance(target, ast.Tuple) else [value]
                constants |= {
                    name.id: each for name, each in zip(names, values, strict=True) if isinstance(name, ast.Name)
                }
    found: set[str] = set()
    for call in ast.walk(tree):
        if (
            isinstance(call, ast.Call)
            and isinstance(call.func, ast.Name)
            and call.func.id in ("Requirement", "Finding")
        ):
            named = call.args[0]
            if isinstance(named, ast.Constant):
                found.add(str(named.value))
            elif isinstance(named, ast.Name) and isinstance(constants.get(named.id), str):
                found.add(constants[named.id])
            else:
                assert "RULES" in constants, f"{path.name}, line {call.lineno}: name the rule, or list it in RULES"
                found |= set(constants["RULES"])
    return found


def test_every_rule_has_its_row_in_the_developers_page() -> None:
    """And no row is of a rule that is not there."""
    rules = set().union(*(rules_of(path) for path in (ROOT / "collection" / "rules").glob("*.py")))
    table = DEVELOPERS.partition("\n## The rules\n")[2].partition("\n## ")[0]
    rows = set(re.findall(r"^\| `([^`]+)` \|", table, re.M))
    assert {"effect", "polish on metal", "advice answered", "mask"} <= rules, "the rules are not found in their modules"
    missing, left = sorted(rules - rows), sorted(rows - rules)
    assert not missing, f"DEVELOPERS.md, The rules: no row for {', '.join(missing)}"
    assert not left, (
        f"DEVELOPERS.md, The rules: a row for {', '.join(left)}, which no module of collection/rules yields"
    )


def test_every_module_has_a_row_in_the_map() -> None:
    parts = {
        path.stem if path.suffix else path.name
        for path in (ROOT / "collection").iterdir()
        if not path.name.startswith("_")
    }
    assert all(f"`{part}`" in DEVELOPERS or f"`{part}/`" in DEVELOPERS for part in parts), parts


@pytest.mark.slow
def test_the_readme_fits_two_screens_and_its_tour_runs(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Each command of the tour, in order, on the demonstration; the one that is said to be refused ends with 4."""
    assert len(README.splitlines()) <= 110
    monkeypatch.chdir(tmp_path)
    assert run(["demo"]) == 0
    tour = README.split("## A tour of the demonstration")[1].split("\n## ")[0]
    lines = [line for line in tour.splitlines() if line.startswith("firstcoat ")]
    assert len(lines) >= 10
    for line in lines:
        words = shlex.split(line, comments=True)[1:]
        if words[0] != "serve":  # tried in test_manual.py
            code = run(words)
            assert code in ((4,) if "# refused" in line else (0, 3) if words[0] in ("assess", "screen") else (0,)), line


def test_the_readme_names_every_page_of_the_manual() -> None:
    named = set(re.findall(r"`([a-z-]+)`", README.split("## Where to read on")[1].split("\n## ")[0]))
    assert set(TOPICS) <= named

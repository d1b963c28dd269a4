"""The manual and DEVELOPERS.md say what the program does: every command, option, exit code and rule; and README."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

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
def test_every_command_and_option_is_in_the_manual(name: str):
    row = next((line for line in MANUAL.splitlines() if re.match(rf"\| `{name}\b", line)), None)
    assert row is not None, f"{name} has no row in the manual's page of commands"
    everywhere = {"--json", "--by", "--reason"}
    for parameter in command(name).params:
        if isinstance(parameter, click.Option):
            for option in set(parameter.opts) - everywhere:
                assert option in row, (name, option)


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_has_help_and_the_list_tells_the_same(name: str):
    """The group lists commands without importing them, so its words are held against the commands' own."""
    assert command(name).help
    assert COMMANDS[name][1].endswith(".")


def test_the_manual_names_no_command_that_is_not_there():
    named = set(re.findall(r"^\| `([a-z]+)\b", MANUAL, re.M))
    assert named == set(COMMANDS)


def test_every_exit_code_is_in_the_manual():
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


def test_every_rule_is_in_the_developers_page():
    source = "".join(path.read_text() for path in (ROOT / "collection" / "rules").glob("*.py"))
    rules = set(re.findall(r'Requirement\(\s*"([^"]+)"', source)) | set(
        re.findall(r'^RESERVE, EFFECT = "(\w+)", "(\w+)"', source, re.M)[0]
    )
    assert len(rules) >= 10
    assert all(f"`{rule}`" in DEVELOPERS for rule in rules), [r for r in rules if f"`{r}`" not in DEVELOPERS]


def test_every_module_has_a_row_in_the_map():
    parts = {
        path.stem if path.suffix else path.name
        for path in (ROOT / "collection").iterdir()
        if not path.name.startswith("_")
    }
    assert all(f"`{part}`" in DEVELOPERS or f"`{part}/`" in DEVELOPERS for part in parts), parts


def test_the_readme_fits_two_screens_and_its_tour_runs(tmp_path, monkeypatch):
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


def test_the_readme_names_every_page_of_the_manual():
    named = set(re.findall(r"`([a-z-]+)`", README.split("## Where to read on")[1].split("\n## ")[0]))
    assert set(TOPICS) <= named

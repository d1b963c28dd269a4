"""README and DEVELOPERS say what the program does: every command, option, exit code and rule."""

from __future__ import annotations

import re
from pathlib import Path

import click
import pytest

from collection.cli import COMMANDS, root
from collection.language import errors

ROOT = Path(__file__).resolve().parents[2]
README = (ROOT / "README.md").read_text()
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text()


def command(name: str) -> click.Command:
    found = root.get_command(click.Context(root), name)
    assert found is not None
    return found


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_and_option_is_in_the_readme(name: str):
    row = next((line for line in README.splitlines() if re.match(rf"\| `{name}\b", line)), None)
    assert row is not None, f"{name} has no row in the README's table of commands"
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


def test_the_readme_names_no_command_that_is_not_there():
    named = set(re.findall(r"^\| `([a-z]+)\b", README, re.M))
    assert named == set(COMMANDS)


def test_every_exit_code_is_in_the_readme():
    listed = {int(code) for code in re.findall(r"^\| (\d+) \|", README, re.M)}
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

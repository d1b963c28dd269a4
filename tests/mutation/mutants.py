"""Whether the tests would notice: changes to the clearing logic, one at a time; a command.

    python tests/mutation/mutants.py --draw 300 --seed 1

draws changes (`mutations.py`) to the modules named below, lines alike, and runs the tests named below against each in a
process of its own, the quick and telling ones first, until one fails. A change that none notices is printed: it wants a
test, or the line wants to go. A change that takes more than its time of the processor counts as noticed. Those that
cannot be noticed, since the program does the same, stand in `equivalent_mutants.toml`, each with the reason. In the
end every test that noticed something is run on the program as it is, and has to pass. What stands after `--` goes to
pytest.

A script of our own, because the tools at hand start the tests anew for each change or write into the source; here what
they import is read once, and the changed module goes in by the import system.
"""

from __future__ import annotations

import argparse
import hashlib
import importlib
import importlib.abc
import importlib.machinery
import importlib.util
import os
import resource
import sys
import time
import tomllib
import traceback
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from types import CodeType, ModuleType
from typing import Any

from mutations import Mutation, mutated, mutations

TESTS = Path(__file__).resolve().parents[1]
ROOT = TESTS.parent
CHANGED = [
    *(
        f"collection/compute/{name}.py"
        for name in (
            "effects/contact",
            "effects/clearing",
            "effects/relations",
            "effects/trials",
            "effects/ladders",
            "build_up/stack",
            "build_up/sections",
            "build_up/coats",
            "build_up/removals",
            "effects/rates",
            "loss/outcome",
            "loss/masks",
            "effects/cutting",
            "build_up/readings",
            "build_up/condition",
            "loss/loss",
            "build_up/tested_coats",
        )
    ),
    *(f"collection/rules/{name}.py" for name in ("severity", "requirements", "effect", "advice")),
    *(f"collection/store/decide/{name}.py" for name in ("decisions", "answers", "staleness")),
]
NOTICING = (
    "whole/test_warnings_of_areas",
    "whole/test_warnings_of_surfaces",
    "whole/test_warnings_by_tests",
    "compute/loss/test_clearing",
    "compute/loss/test_met_coats",
    "compute/build_up/test_stack",
    "compute/build_up/test_samples",
    "compute/build_up/test_removals",
    "compute/build_up/test_kept",
    "compute/loss/test_reached",
    "compute/build_up/test_condition",
    "compute/effects/test_rates",
    "compute/effects/test_cutting",
    "compute/effects/test_ladder_limits",
    "rules/test_severity",
    "rules/test_rules",
    "compute/build_up/test_readings",
    "rules/test_assess",
    "whole/test_golden",
    "compute/effects/test_effects",
    "compute/effects/test_effect_laws",
    "compute/loss/test_loss",
    "rules/test_requirements",
    "rules/test_losses",
    "store/test_decide",
    "store/test_staleness",
    "whole/test_laws",
)
"""The tests that are to notice, in the order they are run."""
READ_ONCE = (
    "pytest",
    "hypothesis",
    "numpy",
    "sqlite3",
    "click",
    "collection.records.facts",
    "collection.records.policy",
    "collection.values.reference",
    "collection.values.agents",
    "collection.values.dates",
    "collection.language.word_list",
    "collection.language.words",
    "collection.language.work_words",
)
"""Read before any change is made; nothing in it reads a changed module."""
EXAMPLES = 20
"""Of each property; shrinking what fails is left out."""


@dataclass(frozen=True)
class Ended:
    """How the tests ended on one change: the first that failed, or why there was none; None: nothing noticed."""

    by: str | None
    cpu_s: float


class _Loader(importlib.machinery.SourceFileLoader):
    def __init__(self, name: str, path: str, code: CodeType) -> None:
        super().__init__(name, path)
        self._code = code

    def get_code(self, fullname: str) -> CodeType:
        return self._code


class _Finder(importlib.abc.MetaPathFinder):
    """Finds one module with a change made to it."""

    def __init__(self, mutation: Mutation) -> None:
        path = ROOT / mutation.file
        self._name, self._file = _module(mutation.file), str(path)
        self._code = compile(mutated(path.read_text(encoding="utf-8"), mutation.number), path, "exec")

    def find_spec(
        self, fullname: str, path: Sequence[str] | None, target: ModuleType | None = None
    ) -> importlib.machinery.ModuleSpec | None:
        if fullname != self._name:
            return None
        return importlib.util.spec_from_file_location(
            fullname, self._file, loader=_Loader(fullname, self._file, self._code)
        )


def _module(file: str) -> str:
    return file.removesuffix(".py").replace("/", ".")


class _Watcher:
    """Says which test failed first, and keeps properties short."""

    def __init__(self, told: int) -> None:
        self._told = told

    def pytest_sessionstart(self) -> None:
        from hypothesis import Phase, settings

        settings.register_profile(
            "mutants",
            parent=settings.get_profile("firstcoat"),
            max_examples=EXAMPLES,
            phases=[Phase.explicit, Phase.generate],
            report_multiple_bugs=False,
        )
        settings.load_profile("mutants")

    def pytest_runtest_logreport(self, report: object) -> None:
        if report.failed:  # type: ignore[attr-defined]
            os.write(self._told, f"{report.nodeid}\n".encode())  # type: ignore[attr-defined]

    def pytest_collectreport(self, report: object) -> None:
        if report.failed:  # type: ignore[attr-defined]
            os.write(self._told, b"the tests cannot be read\n")


def draw(every: Sequence[Mutation], count: int, seed: int) -> list[Mutation]:
    """Changes by chance, lines alike: one of each line in the order of a hash of its text and the seed, so that work on
    other lines leaves a draw as it was."""
    by_line: dict[tuple[str, int], list[Mutation]] = {}
    for mutation in every:
        by_line.setdefault((mutation.file, mutation.line), []).append(mutation)

    def chance(*said: str) -> str:
        return hashlib.sha256("\n".join((str(seed), *said)).encode()).hexdigest()

    rounds: list[tuple[int, str, Mutation]] = []
    for held in by_line.values():
        line = chance(held[0].file, held[0].function, *(m.change for m in held))
        rounds += [(nth, line, m) for nth, m in enumerate(sorted(held, key=lambda m: chance(m.change, str(m.column))))]
    return [m for _, _, m in sorted(rounds, key=lambda each: each[:2])][:count]


def equivalent() -> dict[tuple[str, str, str], str]:
    """The changes that do the same, each with the reason; by their text, so that lines may move."""
    rows = tomllib.loads((TESTS / "mutation" / "equivalent_mutants.toml").read_text(encoding="utf-8"))["same"]
    return {(row["file"], row["function"], row["change"]): row["why"] for row in rows}


def _child(finder: _Finder | None, tests: Sequence[str], told: int, cpu_s: int) -> int:
    """Run the tests in this process; pytest's own exit code."""
    resource.setrlimit(resource.RLIMIT_CPU, (cpu_s, cpu_s))
    os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
    if finder is not None:
        sys.meta_path.insert(0, finder)
    import pytest

    # That this process has read hypothesis already is no fault.
    return int(
        pytest.main(
            [
                "-x",
                "-q",
                "-n0",
                "-p",
                "no:cacheprovider",
                "-W",
                "ignore::pytest.PytestAssertRewriteWarning",
                "--tb=no",
                *tests,
            ],
            plugins=[_Watcher(told)],
        )
    )


def started(mutation: Mutation | None, tests: Sequence[str], cpu_s: int) -> tuple[int, int]:
    """A process that runs the tests on a change (None: on the program as it is), and where it tells what failed."""
    finder = None if mutation is None else _Finder(mutation)
    reading, told = os.pipe()
    child = os.fork()
    if child == 0:
        code = 3
        try:
            os.close(reading)
            code = _child(finder, tests, told, cpu_s)
        except BaseException:
            traceback.print_exc()
        finally:
            os._exit(code)
    os.close(told)
    return child, reading


def ended(child: int, reading: int, status: int, used: resource.struct_rusage) -> Ended:
    """How a process ended."""
    with os.fdopen(reading) as told:
        failed = told.read().split("\n")[0]
    cpu = used.ru_utime + used.ru_stime
    if os.WIFSIGNALED(status):
        return Ended(f"stopped by signal {os.WTERMSIG(status)}, most likely at its time", cpu)
    code = os.WEXITSTATUS(status)
    if code == 3:
        raise SystemExit("pytest itself failed; what it said stands above.")
    return Ended(None if code == 0 else failed or "the tests cannot be read", cpu)


def run(drawn: Sequence[Mutation], more: Sequence[str], processes: int, cpu_s: int) -> Iterable[tuple[Mutation, Ended]]:
    """Each change with how the tests, and `more` words for pytest, ended on it, as they end."""
    waiting = list(drawn)
    running: dict[int, tuple[Any, ...]] = {}
    while waiting or running:
        while waiting and len(running) < processes:
            mutation = waiting.pop(0)
            # What changes the gate is noticed by its own tests.
            order = sorted(NOTICING, key=lambda name: name != "decide") if "/store/" in mutation.file else NOTICING
            child, reading = started(mutation, [*(str(TESTS / f"{name}.py") for name in order), *more], cpu_s)
            running[child] = (mutation, reading)
        child, status, used = os.wait4(-1, 0)
        mutation, reading = running.pop(child)
        yield mutation, ended(child, reading, status, used)


def main(arguments: Sequence[str] | None = None) -> int:
    words = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    words.add_argument("--draw", type=int, default=300, help="how many changes")
    words.add_argument("--seed", type=int, default=1)
    words.add_argument("--processes", type=int, default=1)
    words.add_argument("--seconds", type=int, default=180, help="of the processor, at most, for one change")
    words.add_argument("--only", default="", help="files whose name has this in it")
    words.add_argument("--quiet", action="store_true", help="print nothing but what nobody noticed")
    words.add_argument("pytest", nargs="*", help="after --: more words for pytest")
    asked = words.parse_args(arguments)
    sys.path[:0] = [str(ROOT), str(ROOT / "plugins")]
    os.environ |= {"OPENBLAS_NUM_THREADS": "1", "PYTEST_DISABLE_PLUGIN_AUTOLOAD": "1"}
    for name in READ_ONCE:
        importlib.import_module(name)
    assert not any(_module(file) in sys.modules for file in CHANGED)
    every = [m for file in CHANGED if asked.only in file for m in mutations(ROOT, file)]
    drawn, same = draw(every, asked.draw, asked.seed), equivalent()
    kept = [m for m in drawn if (m.file, m.function, m.change) in same]
    noticed: list[Any] = []
    unnoticed: list[Any] = []
    began, cpu = time.monotonic(), 0.0
    for mutation, end in run([m for m in drawn if m not in kept], asked.pytest, asked.processes, asked.seconds):
        cpu += end.cpu_s
        (unnoticed if end.by is None else noticed).append((mutation, end))
        if end.by is None or not asked.quiet:
            print(f"{'NOBODY' if end.by is None else end.by} ({end.cpu_s:.1f} s): {mutation}", flush=True)
    killers = sorted({end.by for _, end in noticed if end.by and "::" in end.by})
    spurious = []
    if killers:
        child, reading = started(None, [str(ROOT / name) for name in killers], 10 * asked.seconds)
        sound = ended(child, reading, *os.wait4(child, 0)[1:])
        spurious = [] if sound.by is None else [sound.by]
    print(
        f"{len(noticed)}/{len(drawn)} noticed, {len(kept)} do the same, {len(unnoticed)} nobody noticed; "
        f"{len(every):,} changes to draw from; {cpu:.0f} s of the processor, {time.monotonic() - began:.0f} s in all"
    )
    for name in spurious:
        print(f"{name} fails without any change: nothing is shown")
    return 1 if unnoticed or spurious else 0


if __name__ == "__main__":
    raise SystemExit(main())

"""The routes of "before you approve": the object by name or number, one action on it, and what that would do.

It is the only page that computes. That is done by one thread beside those that read the file, so that no number of
such questions holds up other pages; who comes while too many wait is told to come again.
"""

from __future__ import annotations

import asyncio
from collections import OrderedDict
from concurrent.futures import ThreadPoolExecutor
from typing import TYPE_CHECKING, Any
from urllib.parse import urlencode
from weakref import WeakKeyDictionary

from datasette.utils.asgi import Request, Response

from collection.compute.case import Case
from collection.language.work_words import ACTION, APPLICATION
from collection.output.published.filed_object import published_object
from collection.output.published.published_object import PublishedObject
from collection.records.sheets import ProposalStep
from firstcoat_site import answers, queries
from firstcoat_site.pages import before, proposal

if TYPE_CHECKING:
    from datasette.app import Datasette

Json = dict[str, Any]

LONGEST_QUESTION = 300
MOST_WAITING = 40
"""Questions that may wait for the thread; each takes some hundredths of a second, a first one of a large object more."""
CASES_KEPT, QUESTIONS_EACH = 6, 60
"""Objects whose computed facts are kept for the next question, and after how many questions they are made anew: every
question leaves answers in a case, and memory has to stay flat."""
TRY_AGAIN = "Too many questions are being worked out at once. Ask again in some seconds."
_COMPUTING = ThreadPoolExecutor(1, thread_name_prefix="before")


class Cases:
    """The cases of the objects that were asked about last; used by one thread alone."""

    def __init__(self) -> None:
        self.waiting = 0
        self._kept: OrderedDict[str, tuple[Case, int]] = OrderedDict()

    def known(self, code: str) -> bool:
        return code in self._kept

    def case(self, code: str, fresh: Case | None) -> Case | None:
        """The object's case; `fresh` is taken where none is kept, or it has answered its share."""
        case, asked = self._kept.pop(code, (fresh, 0))
        if case is None:
            return None
        if asked < QUESTIONS_EACH:
            self._kept[code] = case, asked + 1
        while len(self._kept) > CASES_KEPT:
            self._kept.popitem(last=False)
        return case


_CASES: WeakKeyDictionary[Datasette, Cases] = WeakKeyDictionary()


async def page(datasette: Datasette, request: Request) -> Response:
    """The form, the objects that the words may mean, or the answer."""
    asked, words = _object_asked(request), before.asked(request.args)

    def found(connection: Any) -> tuple[str | None, list[Json], ProposalStep | None, dict[str, str], Case | None]:
        code, offered = _objects(connection, asked)
        if code is None or not any(words.values()):
            return code, offered, None, {}, None
        published = _published(connection, code)
        step, faults = before.read_step(published, words)
        return code, offered, step, faults, _fresh(datasette, published) if step else None

    code, offered, step, faults, case = await answers.ask(datasette, found)
    if code is None and asked and not offered:
        faults = {"object": f"No published object has the number {asked} or these words in its name or records."}
    assessed = None
    if code is not None and step is not None:
        assessed = await _assessed(datasette, code, step, case)
        if assessed is None:
            return _busy()

    def content(connection: Any) -> Json:
        shown = {
            "asked_for": asked,
            "code": code or asked,
            "words": words,
            "question": urlencode({"object": code or asked, **words}),
            "labels": before.LABELS,
            "actions": sorted(ACTION.words),
            "applications": APPLICATION.words,
            "faults": faults,
            "answer": None,
            "offered": offered,
            "known": [] if asked else queries.some_objects(connection),
            "document": None,
        }
        if code is None:
            return shown
        published = _published(connection, code)
        base = answers.of_object(datasette, published)
        shown |= {**base, "choices": before.choices(published), "withheld": bool(published["withheld"])}
        if assessed is not None and step is not None:
            wary = before.wary(assessed, step, withheld=shown["withheld"])
            shown["answer"] = proposal.judged(published, wary, [before.shown_step(step)], base["to"], None)
        return shown

    return await answers.page(datasette, "before", content)


async def json(datasette: Datasette, request: Request) -> Response:
    """The assessment of one action, as `firstcoat assess --json` gives it; or `{"format", "errors"}`, status 400."""
    code, words = _object_asked(request), before.asked(request.args)

    def found(connection: Any) -> tuple[ProposalStep | None, dict[str, str], bool, Case | None]:
        published = published_object(connection, code)
        if published is None:
            return None, {"object": "No such object is published."}, False, None
        step, faults = before.read_step(published, words)
        return step, faults, bool(published["withheld"]), _fresh(datasette, published) if step else None

    step, faults, withheld, case = await answers.ask(datasette, found)
    if step is None:
        said = {"format": 1, "error": " ".join(faults.values()), "status": 400, "errors": faults}
        return Response.json(said, status=400, headers=answers.CACHE)
    assessed = await _assessed(datasette, code, step, case)
    if assessed is None:
        return Response.json({"format": 1, "error": TRY_AGAIN, "status": 503}, status=503, headers={"Retry-After": "5"})
    return Response.json(before.wary(assessed, step, withheld=withheld), headers=answers.CACHE)


async def _assessed(datasette: Datasette, code: str, step: ProposalStep, fresh: Case | None) -> Json | None:
    """The assessment of a step, by the thread that computes; None where too many wait for it."""
    cases = _cases(datasette)
    if cases.waiting >= MOST_WAITING:
        return None
    cases.waiting += 1
    try:
        found = await _computed(cases, code, step, fresh)
        if found is None:
            # What was kept when the object was read has made room for another since.
            found = await _computed(cases, code, step, await answers.ask(datasette, lambda c: _published(c, code).case))
        return found
    finally:
        cases.waiting -= 1


async def _computed(cases: Cases, code: str, step: ProposalStep, fresh: Case | None) -> Json | None:
    def compute() -> Json | None:
        case = cases.case(code, fresh)
        return None if case is None else before.assessed(case, step)

    return await asyncio.get_running_loop().run_in_executor(_COMPUTING, compute)


def _cases(datasette: Datasette) -> Cases:
    return _CASES.setdefault(datasette, Cases())


def _fresh(datasette: Datasette, published: PublishedObject) -> Case | None:
    """The object's case where none is kept."""
    return None if _cases(datasette).known(published.code) else published.case


def _published(connection: Any, code: str) -> PublishedObject:
    published = published_object(connection, code)
    assert published is not None
    return published


def _objects(connection: Any, asked: str) -> tuple[str | None, list[Json]]:
    """The one object that is meant, by its number or as the only one that is found; else those to choose from."""
    if not asked:
        return None, []
    if published_object(connection, asked) is not None:
        return asked, []
    found = queries.search(connection, asked, {}, 1)
    offered = [{"object": match.code, "title": match.title} for match in found.matches]
    return (offered[0]["object"], []) if found.total == 1 else (None, offered)


def _object_asked(request: Request) -> str:
    return " ".join((request.args.get("object") or "").split())[:LONGEST_QUESTION]


def _busy() -> Response:
    return Response.text(TRY_AGAIN, status=503, headers={"Retry-After": "5", "Cache-Control": "no-store"})


ROUTES: list[tuple[str, Any]] = [(r"^/before$", page), (r"^/before\.json$", json)]

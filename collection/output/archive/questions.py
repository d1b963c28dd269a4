"""The questions that an archive has to answer to somebody who has no program but SQLite, as they stand in its README."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass


@dataclass(frozen=True)
class Example:
    """A place that the questions are asked of: of the archive's own objects, so that they can be typed as they stand."""

    object: str
    place: str
    name: str
    word: str


NO_EXAMPLE = Example("OBJECT", "PLACE", "the left door", "door")


def questions(example: Example, *, published: bool, people: bool) -> Iterator[tuple[str, str]]:
    """Each question in words, and in SQL.

    :param published: whether they are asked of the published file, which holds only what counts.
    :param people: whether the file holds people's names.
    """
    live = "" if published else "live_"
    states = "places" if published else "survival_places"
    one, place = _text(example.object), _text(example.place)

    def named(columns: str) -> str:
        return f", {columns}" if people else ""

    yield (
        "Which object is it, and what is the place called?",
        f"""SELECT z.object, o.title, z.zone, z.name, z.component
FROM {live}zones AS z JOIN {live}objects AS o ON o.object = z.object
WHERE z.name LIKE {_text(f"%{example.word}%")}
ORDER BY z.object, z.zone;""",
    )
    yield (
        "What is left of the maker's finish there? (found at `present` of `read` readings; shares of its area, 95 %)",
        f"""SELECT state, present, read, share_low, share_middle, share_high, as_of
FROM {states} WHERE object = {one} AND place = {place};""",
    )
    yield (
        "Which coats lie there, from the top down? (scheme and period say whose finish a coat is)",
        f"""SELECT l.sample, l.position, l.role, l.colour, l.coverage, l.scheme, c.name,
  coalesce(c.period, l.period) AS period
FROM {live}layers AS l
JOIN {live}samples AS s ON s.object = l.object AND s.sample = l.sample
LEFT JOIN {live}schemes AS c ON c.object = l.object AND c.scheme = l.scheme
WHERE l.object = {one} AND s.place = {place}
ORDER BY l.sample, l.position DESC;""",
    )
    yield (
        "Who says so?",
        f"""SELECT s.sample, s.method, s.taken_on{named("s.taken_by")}, s.source, q.title, y.title{named("y.lead")}
FROM {live}samples AS s
JOIN {live}surveys AS y ON y.code = s.survey
LEFT JOIN {live}sources AS q ON q.object = s.object AND q.source = s.source
WHERE s.object = {one} AND s.place = {place}
ORDER BY s.sample;""",
    )
    yield (
        "What must nobody do? First the advice for this object: `against` names the kinds of work that it speaks "
        "against, `all` is every work. It is in force unless `until` is past, or `done_by` or `replaced_by` is filled in.",
        f"""SELECT advice, place, what, why, against, until, done_by, replaced_by{named("given_by")}, given_on, source
FROM {live}advice WHERE object = {one}
ORDER BY place = {place} DESC, place, advice;""",
    )
    yield (
        "Then what tests on this object did: nobody repeats what harmed.",
        f"""SELECT t.test, t.place, t.action, t.agent, r.response, r.scheme, t.tested_on{named("t.tested_by")}
FROM {live}tests AS t JOIN {live}responses AS r ON r.object = t.object AND r.test = t.test
WHERE t.object = {one} AND r.response <> 'none seen'
ORDER BY t.place = {place} DESC, t.test, r.response;""",
    )
    yield (
        "What was set aside to stay untouched?",
        f"""SELECT reserve, place, kind, shows, until
FROM {live}reserves WHERE object = {one} ORDER BY reserve;""",
    )
    yield (
        "And what on the object can hurt people?",
        f"""SELECT hazard, kind, status, component, observed_on
FROM {live}hazards WHERE object = {one} ORDER BY hazard;""",
    )


def _text(text: str) -> str:
    return "'" + text.replace("'", "''") + "'"

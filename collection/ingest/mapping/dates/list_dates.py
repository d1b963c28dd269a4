"""The dates of one list: what a column settles, and the date that the cells of one row say."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from collection.ingest.mapping.cells import folded, is_among
from collection.ingest.mapping.dates.columns import blank_end, settled
from collection.ingest.mapping.dates.text import read_date
from collection.ingest.mapping.dates.words import ONE_YEAR, DateWords, Reading
from collection.ingest.mapping.dates.years import read_years
from collection.ingest.mapping.list_file.list_rows import ListRow
from collection.ingest.mapping.mapping import DateFrom


class ListDates:
    """Reads dates from the rows of one list; `silent` are the folded words for blank, none and unknown."""

    def __init__(self, rows: Sequence[ListRow]) -> None:
        self._rows = rows
        self._settled: dict[tuple[DateFrom, frozenset[str]], DateWords] = {}

    def read(self, source: DateFrom, cells: Mapping[str, str], silent: frozenset[str]) -> Reading:
        """The date of one row, from the cell or the three cells that the mapping names."""
        words = self._words(source, silent)
        word, earliest, latest = _three(source, cells, silent)
        if source.earliest is None and source.latest is None:
            return read_date(word, words) if word else Reading(None, says_nothing=True)
        reading = read_years(word, earliest, latest, words)
        if source.earliest is None or source.latest is None:
            return replace(reading, notes=tuple(note for note in reading.notes if note != ONE_YEAR))
        return reading

    def _words(self, source: DateFrom, silent: frozenset[str]) -> DateWords:
        if (source, silent) not in self._settled:
            rows = [_three(source, row.cells, silent) for row in self._rows]
            words = settled(source.words, (text for row in rows for text in row if text))
            if source.earliest is not None and source.latest is not None:
                words = blank_end(words, ((earliest, latest) for _, earliest, latest in rows))
            self._settled[source, silent] = words
        return self._settled[source, silent]


def _three(source: DateFrom, cells: Mapping[str, str], silent: frozenset[str]) -> tuple[str, str, str]:
    """The word and the two years of a row; '' for what says nothing. A single column of years is the first."""
    columns = (source.qualifier, source.earliest or source.latest, source.latest if source.earliest else None)
    word, earliest, latest = ("" if heading is None else cells[heading].strip() for heading in columns)
    word, earliest, latest = ("" if is_among(folded(cell), silent) else cell for cell in (word, earliest, latest))
    return word, earliest, latest

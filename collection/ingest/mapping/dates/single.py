"""Reads one date without its qualifiers: a year, month or day, a season, ten years, a century, or a part of one."""

from __future__ import annotations

import re
from functools import lru_cache

from collection.ingest.mapping.dates.centuries import LONE_ROMAN, ORDINAL, Centuries, century, part_of_century
from collection.ingest.mapping.dates.pieces import Piece, one, piece_of
from collection.ingest.mapping.dates.words import ALL_OF_IT, DAY_FIRST, DAY_ORDER, HUNDRED, IS_MONTH, DateWords, plain

_ERA = r"a\.? ?d\.?|c\.? ?e\.?"
_AD = re.compile(rf"a\.? ?d\.? ?(?P<before>[0-9]{{1,4}})|(?P<behind>[0-9]{{1,4}}) ?(?:{_ERA})")
_DAY = re.compile(r"([0-9]{1,2})[./-] ?([0-9]{1,2})[./-] ?([0-9]{4})")
_A_DATE = re.compile(rf"[0-9]|\b(?:{'|'.join(LONE_ROMAN)})\b")
_ROMAN_MONTHS = ["i", "ii", "iii", "iv", "v", "vi", "vii", "viii", "ix", "x", "xi", "xii"]
_MIDNIGHT = re.compile(r"(?<=[0-9])[t ]00:00(?::00(?:\.0+)?)?z?$")


class SingleDates:
    """Reads the single dates of one list, by its words."""

    def __init__(self, words: DateWords) -> None:
        self._words = words
        self._centuries = Centuries(words.century, words.before_century, words.parts)
        self._decade = "|".join(re.escape(plain(name)) for name in sorted(words.decade, key=len, reverse=True))
        self._months = [plain(name) for name in words.months]
        self._seasons = {plain(name): 21 + number for number, name in enumerate(words.seasons)}
        if "autumn" in self._seasons:
            self._seasons["fall"] = self._seasons["autumn"]
        self._phrases = {self.normal(phrase): edtf for phrase, edtf in words.phrases}

    def normal(self, text: str) -> str:
        """The text as it is compared, each century and decade written in one way."""
        normal = self._centuries.normal(_MIDNIGHT.sub("", plain(text)))
        return re.sub(rf"\b([0-9]{{2,4}})\s*(?:{self._decade})(?![a-z0-9])", r"\1s", normal) if self._decade else normal

    def may_be_in(self, text: str) -> bool:
        """Whether anything in a normal text could be a date, however it is cut."""
        return _A_DATE.search(text) is not None or any(phrase in text for phrase in self._phrases)

    def read(self, text: str) -> Piece | None:
        """One date of a normal text; None for what is none, or may be two things."""
        if (edtf := self._phrases.get(text)) is not None:
            return piece_of(edtf)
        text = re.sub(r"^(?:(?:in|during|dated) )?(?:the )?(?:year )?|[.,;]$", "", text)
        text = re.sub(rf"(?<= century),? (?:{_ERA})$", "", text)
        if (edtf := self._phrases.get(text)) is not None:
            return piece_of(edtf)
        return self._numbers(text) or self._longer(text) or self._named(text)

    def completed(self, left: str, right: str) -> Piece | None:
        """The left end of a range that leaves to the right one what both share: `late 18th - early 19th century`,
        `May - June 1907`, `mid to late 1800s`."""
        if right.endswith("century") and (read := self.read(self._with_century(left))) is not None:
            return read
        parted = self._centuries.parted(right)
        if parted is not None:
            part = self._centuries.part(left.removesuffix("-").strip())
            if part is None and re.fullmatch(ORDINAL, left):
                part = self._centuries.part(f"{left} {parted[0].split(' ')[-1]}")
            return None if part is None else self.read(f"{part} {parted[1]}")
        if (month := re.search(r"[^\W\d_]+\.?,? [0-9]{4}$", right)) is not None:
            for rest in (month[0], month[0][-4:]):
                if (read := self._named(f"{left} {rest}")) is not None:
                    return read
        return None

    def _with_century(self, left: str) -> str:
        head, _, number = left.rpartition(" ")
        start = century(number, alone=False)
        return "" if start is None else f"{head} {start // 100 + 1}th century".strip()

    def _numbers(self, text: str) -> Piece | None:
        if re.fullmatch(r"[0-9]{4}(?:\.0+)?", text):
            return one(text[:4])
        if (found := _AD.fullmatch(text)) is not None:
            return one(f"{int(found['before'] or found['behind']):04d}")
        if (found := re.fullmatch(r"([0-9]{2})([0-9]{2})([-/.])([0-9]{2})", text)) is not None:
            may_be_years = int(found[4]) > int(found[2])
            # Behind 12 EDTF has its seasons, which is not what a list means.
            is_month = self._words.short_years is False and int(found[4]) <= 12
            if (is_month and found[3] == "-") or not may_be_years:
                by_column = may_be_years and "short_years" in self._words.by_column
                return one(f"{found[1]}{found[2]}-{found[4]}", *((IS_MONTH,) if by_column else ()))
            return None
        if (found := re.fullmatch(r"([0-9]{4})[-/.]([0-9]{2})[-/.]([0-9]{2})", text)) is not None:
            return one("-".join(found.groups()))
        if (found := re.fullmatch(r"([0-9]{3})[x_?-]|([0-9]{2})(?:xx|__|\?\?|--)", text)) is not None:
            return one(f"{found[1]}X" if found[1] else f"{found[2]}XX")
        if (found := _DAY.fullmatch(text)) is not None:
            return self._day(*map(int, found.groups()))
        if (found := re.fullmatch(r"([0-9]{1,2})[./]([0-9]{4})", text)) is not None:
            return one(f"{found[2]}-{int(found[1]):02d}")
        if (found := re.fullmatch(r"([0-9]{1,2})[. /-]+([ivx]+)[. /-]+([0-9]{4})", text)) is not None:
            month = _ROMAN_MONTHS.index(found[2]) + 1 if found[2] in _ROMAN_MONTHS else 0
            return one(f"{found[3]}-{month:02d}-{int(found[1]):02d}")
        return None

    def _day(self, first: int, second: int, year: int) -> Piece | None:
        """3.5.1910 where the mapping says which is the day, 13.5.1910 and 5.5.1910 anyway."""
        by_column = "days" in self._words.by_column and max(first, second) <= 12 and first != second
        if self._words.days is not None:
            day, month = (first, second) if self._words.days == DAY_FIRST else (second, first)
        elif first > 12 or first == second:
            day, month = first, second
        elif second > 12:
            day, month = second, first
        else:
            return None
        return one(f"{year:04d}-{month:02d}-{day:02d}", *((DAY_ORDER,) if by_column else ()))

    def _longer(self, text: str) -> Piece | None:
        if (found := re.fullmatch(r"([0-9]{3})0s", text)) is not None:
            is_hundred = found[1].endswith("0")
            return one(f"{found[1][:2]}XX", HUNDRED) if is_hundred else one(f"{found[1]}X")
        if (start := century(text)) is not None:
            return one(f"{start // 100:02d}XX")
        parted = self._centuries.parted(text)
        if parted is None:
            return None
        part, base = parted
        if (start := century(base)) is not None:
            return Piece(*part_of_century(start, part))
        if (found := re.fullmatch(r"(?:the )?([0-9]{2})00s", base)) is not None:
            return Piece(*part_of_century(int(found[1]) * 100, part), (HUNDRED,))
        if (found := re.fullmatch(r"(?:the )?([0-9]{3})0s", base)) is not None:
            decade = int(found[1])
            if part.endswith("half"):
                first = 0 if part == "first half" else 5
                return Piece(f"{decade:03d}{first}", f"{decade * 10 + first + 5:04d}")
            return one(f"{decade:03d}X", ALL_OF_IT)
        whole = self._numbers(base) or self._named(base) if re.search(r"(?<![0-9])[0-9]{4}(?![0-9])", base) else None
        return None if whole is None else whole.noted(ALL_OF_IT)

    def _named(self, text: str) -> Piece | None:
        """Months and seasons by their names, in any order with the year and the day."""
        if re.search(r"[^\w\s,./'-]|^\W|[-/]$", text):
            return None
        tokens = [
            token for token in re.findall(r"[0-9]+(?:st|nd|rd|th)?|[^\W\d_]+", text) if token not in ("of", "the")
        ]
        names = [token for token in tokens if not token[0].isdigit()]
        years = [token for token in tokens if re.fullmatch("[0-9]{4}", token)]
        days = [int(found[1]) for token in tokens if (found := re.fullmatch("([0-9]{1,2})(?:st|nd|rd|th)?", token))]
        if len(names) != 1 or len(years) != 1 or len(days) > 1 or len(tokens) != 2 + len(days):
            return None
        if names[0] in self._seasons:
            return None if days else one(f"{years[0]}-{self._seasons[names[0]]}")
        months = [n for n, name in enumerate(self._months, 1) if name.startswith(names[0]) and len(names[0]) >= 3]
        if len(months) != 1:
            return None
        return one("-".join([years[0], f"{months[0]:02d}", *(f"{day:02d}" for day in days)]))


@lru_cache(maxsize=32)
def single_dates(words: DateWords) -> SingleDates:
    return SingleDates(words)

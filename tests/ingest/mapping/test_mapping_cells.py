"""Cells of a foreign list taken apart and put together."""

from __future__ import annotations

from hypothesis import assume, given
from hypothesis import strategies as st

from collection.ingest.mapping import cells as cells

TEXT = st.text("ab .;/é\u0301\n", max_size=12)
SEPARATOR = st.sampled_from([";", " / ", ".", "ab", "\n"])


@given(TEXT, SEPARATOR)
def test_all_pieces_together_use_up_a_cell(text: str, separator: str) -> None:
    """Whatever stands between the separators is in one of the pieces, and nothing of the cell is left; a cell of
    separators alone has no piece that is not blank, so it is left."""
    whole = cells.whole("H", text)
    assume(whole.text)
    found = cells.pieces(whole, separator)
    assert [each.text for each in found] == [part.strip() for part in text.strip().split(separator)]
    assert cells.is_used_up(text, [part for each in found for part in each.parts]) is any(each.text for each in found)


@given(TEXT, SEPARATOR, st.integers(1, 4))
def test_a_piece_leaves_exactly_the_other_pieces(text: str, separator: str, number: int) -> None:
    """One piece uses up a cell only where all the others are blank."""
    whole = cells.whole("H", text)
    piece = cells.piece(whole, separator, number)
    others = [part.strip() for place, part in enumerate(text.strip().split(separator), 1) if place != number]
    if piece.text:
        assert cells.is_used_up(text, piece.parts) is not any(others)


@given(TEXT, SEPARATOR, st.integers(-3, 3).filter(bool))
def test_a_part_stands_in_its_cell_where_it_says(text: str, separator: str, number: int) -> None:
    """The first part of what was taken, trimmed, is the text that was taken."""
    taken = cells.piece(cells.whole("H", text), separator, number)
    if taken.text:
        part = taken.parts[0]
        assert text[part.start : part.end].strip() == taken.text == text[taken.at : taken.at + len(taken.text)]


@given(TEXT, st.integers(1, 6), st.integers(0, 6))
def test_characters_are_counted_from_one(text: str, first: int, more: int) -> None:
    """Characters are those of the trimmed text, and they cover what they took."""
    taken = cells.characters(cells.whole("H", text), first, first + more)
    assert taken.text == text.strip()[first - 1 : first + more].strip()
    if taken.text:
        assert text[taken.at : taken.at + len(taken.text)] == taken.text


def test_pieces_of_pieces() -> None:
    """A piece can be taken apart again, and its place in the cell is known."""
    cell = "flaking: slight; rust: severe"
    second = cells.pieces(cells.whole("H", cell), ";")[1]
    word, how = (cells.piece(second, ":", number) for number in (1, 2))
    assert (word.text, how.text) == ("rust", "severe")
    assert cell[how.at : how.at + 6] == "severe"
    assert cells.piece(second, ":", 3) == cells.NOTHING
    assert cells.piece(second, ":", -1).text == "severe"


def test_a_cell_of_very_many_pieces_is_parted_at_once() -> None:
    """The work grows with the pieces, not with their square: 60,000 of them lie in one cell that a list may hold."""
    cell = "x;" * 60_000
    found = cells.pieces(cells.whole("H", cell), ";")
    assert len(found) == 60_001
    assert sum(len(each.parts) for each in found) == 180_000
    assert cells.is_used_up(cell, [part for each in found for part in each.parts])


def test_joining_leaves_out_blanks() -> None:
    """A number without its part number stands alone; 1979.10 keeps its nought."""

    def joined(*texts: str) -> str:
        return cells.join((cells.whole(f"H{n}", text) for n, text in enumerate(texts)), ".").text

    assert joined("1979", "10") == "1979.10"
    assert joined("1979", " ") == "1979"
    assert joined("", "") == ""


def test_terms_are_found_whatever_their_capitals_and_blanks() -> None:
    """Terms of the list compare folded; of others the nearest is told."""
    terms = {"eiche": "oak", "öl auf leinwand": "oil on canvas"}
    assert cells.translate(" Öl  auf Leinwand", terms) == "oil on canvas"
    assert cells.translate("Ulme", terms) is None
    assert cells.nearest_term("Eichen", ["Eiche", "Öl auf Leinwand"]) == "Eiche"
    assert cells.nearest_term("Zinn", ["Eiche"]) is None

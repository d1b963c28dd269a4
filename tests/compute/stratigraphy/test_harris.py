"""The Harris matrix against published examples and against networkx."""

from __future__ import annotations

from collections import defaultdict
from itertools import pairwise

import networkx as nx
from hypothesis import given
from hypothesis import strategies as st

from collection.compute.stratigraphy.harris import find_loop, matrix, merged, one_sided

# E. C. Harris, Principles of Archaeological Stratigraphy (1979), fig. 12, as read in the open R package stratigraphr
# (data-raw/harris12.csv, MIT).
HARRIS = [
    ("1", "2"),
    ("1", "3"),
    ("1", "4"),
    ("2", "5"),
    ("3", "5"),
    ("4", "5"),
    ("5", "6"),
    ("6", "7"),
    ("6", "8"),
    ("7", "9"),
    ("8", "9"),
    ("9", "natural"),
]
# The documentation example of the same package's pruning function.
SMALL = [("a", "b"), ("a", "c"), ("a", "d"), ("a", "e"), ("b", "d"), ("c", "d"), ("c", "e"), ("d", "e")]
# Shubayqa 1, simplified, after Richter et al. 2017 (the same package, data-raw/shub1.csv): context, above, below.
SHUBAYQA = """
1||2;2|1|3;3|2|4 5;4|3|30;5|3|6 11;6|5|7 9;7|6|8;8|7|12;9|6|10;10|9|12;11|3 5|12;12|11 5 8 10|13 17 14 15;13|12|17;
14|12|16;15|12|18;16|14|19;17|12 13|22;18|15|22;19|16|22;20|23 24|25;21|23 24|25;22|17 18 19|23 24;23|22|26;24|22|25;
25|20 21 24|30;26|23|27;27|26|28;28|27|29;29|28|30;30|4 25 29|
"""


def shubayqa() -> tuple[dict[str, list[str]], dict[str, list[str]]]:
    above, below = {}, {}
    for entry in SHUBAYQA.replace("\n", "").split(";"):
        context, over, under = entry.split("|")
        above[context], below[context] = over.split(), under.split()
    return above, below


def reduced_by_networkx(relations: list[tuple[str, str]]) -> set[tuple[str, str]]:
    return set(nx.transitive_reduction(nx.DiGraph(relations)).edges)


def test_the_published_matrix_comes_out() -> None:
    """Harris's example has no redundant relation and seven rows, 7 and 8 beside each other."""
    found = matrix([], HARRIS)
    assert found.rows == (("1",), ("2", "3", "4"), ("5",), ("6",), ("7", "8"), ("9",), ("natural",))
    assert set(found.relations) == set(HARRIS)
    assert found.redundant == ()


def test_redundant_relations_fall_away() -> None:
    """Four relations that follow from others are taken out again, and named."""
    more = [("1", "5"), ("1", "6"), ("2", "natural"), ("5", "9")]
    found = matrix([], [*HARRIS, *more])
    assert set(found.relations) == set(HARRIS)
    assert found.redundant == tuple(sorted(more))


def test_the_small_example_is_pruned() -> None:
    """The documented example leaves a>b, a>c, b>d, c>d, d>e."""
    assert matrix([], SMALL).relations == (("a", "b"), ("a", "c"), ("b", "d"), ("c", "d"), ("d", "e"))


def test_equal_units_become_one() -> None:
    """Merging 7 and 8, which the example calls equal, leaves nine units and ten relations."""
    found = matrix([], merged(HARRIS, [{"7", "8"}]))
    assert len(found.relations) == 10
    assert sum(len(row) for row in found.rows) == 9


def test_a_loop_is_no_sequence() -> None:
    """Natural over the top unit makes a loop, which is named whole and gives no order."""
    found = matrix([], [*HARRIS, ("natural", "1")])
    assert found.rows == ()
    loop = found.loop
    assert {loop[0], loop[-1]} <= set(loop)
    assert {"1", "natural", "5", "6", "9"} <= set(loop)
    for upper, lower in [*pairwise(loop), (loop[-1], loop[0])]:
        assert (upper, lower) in {*HARRIS, ("natural", "1")}


def test_a_real_site_with_its_faults() -> None:
    """36 relations of which one is redundant (12 over 17), and six that stand in one column only."""
    above, below = shubayqa()
    relations = [(upper, lower) for upper, lowers in below.items() for lower in lowers]
    assert len(relations) == 36
    found = matrix([], relations)
    assert found.redundant == (("12", "17"),)
    assert set(found.relations) == reduced_by_networkx(relations)
    assert one_sided(above, below) == (("23", "20"), ("23", "21"), ("24", "20"), ("24", "21"), ("3", "11"), ("5", "12"))


PAIRS = st.lists(st.tuples(st.integers(0, 11), st.integers(0, 11)), max_size=30)


@given(PAIRS)
def test_orders_agree_with_networkx(pairs: list[tuple[int, int]]) -> None:
    """For relations without a loop the reduction is networkx's, and every unit stands below all that lie over it."""
    relations = [(f"{a:02}", f"{b:02}") for a, b in pairs if a < b]
    found = matrix([], relations)
    assert not found.loop
    assert set(found.relations) == (reduced_by_networkx(relations) if relations else set())
    row_of = {unit: row for row, units in enumerate(found.rows) for unit in units}
    assert all(row_of[upper] < row_of[lower] for upper, lower in relations)


@given(PAIRS)
def test_a_loop_is_found_where_there_is_one(pairs: list[tuple[int, int]]) -> None:
    """A contradiction is found exactly where networkx finds one, and each of its units lies over the next."""
    relations = {(f"{a:02}", f"{b:02}") for a, b in pairs}
    under = defaultdict(set)
    for upper, lower in relations:
        under[upper].add(lower)
    loop = find_loop({unit for relation in relations for unit in relation}, under)
    graph = nx.DiGraph(list(relations))
    assert bool(loop) == (not nx.is_directed_acyclic_graph(graph))
    assert all((a, b) in relations for a, b in zip(loop, [*loop[1:], *loop[:1]], strict=True))


def test_order_of_records_does_not_matter() -> None:
    """The matrix is a property of the relations, not of the order in which they were written down."""
    assert matrix([], HARRIS) == matrix([], list(reversed(HARRIS)))
    assert matrix([], []).rows == ()

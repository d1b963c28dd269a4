"""What a policy's hash holds, and its section on hours of work."""

from __future__ import annotations

import hashlib

import pytest

from collection.language.errors import InputRefused
from collection.records.policy import UNREAD_MARK, default_policy, read_policy
from collection.values.resources import schema_file

SHIPPED = schema_file("policy.toml").read_bytes()


def test_what_no_assessment_reads_is_not_in_the_hash() -> None:
    """So other hours a week reopen no approval, and another threshold does."""
    other_hours = read_policy(SHIPPED.replace(b"hours_per_week = 38", b"hours_per_week = 10"), "own.toml")
    assert other_hours.effort.hours_per_week == 10
    assert other_hours.sha256 == default_policy().sha256 == hashlib.sha256(SHIPPED.split(UNREAD_MARK)[0]).hexdigest()
    assert read_policy(SHIPPED.replace(b"contact = 0.02", b"contact = 0.03"), "own.toml").sha256 != other_hours.sha256


def test_a_file_from_before_takes_the_shipped_hours_and_keeps_its_hash() -> None:
    before = SHIPPED.split(UNREAD_MARK)[0]
    found = read_policy(before, "own.toml")
    assert found.effort == default_policy().effort
    assert found.sha256 == hashlib.sha256(before).hexdigest()


def test_a_file_from_before_asks_for_as_many_sections_of_a_cover_as_of_a_finish_not_found() -> None:
    line = next(line for line in SHIPPED.splitlines(keepends=True) if line.startswith(b"whole_sections"))
    found = read_policy(SHIPPED.replace(line, b"").replace(b"sections = 4 ", b"sections = 7 "), "own.toml")
    assert (found.clearing_sections, found.whole_sections) == (7, 7)
    assert (default_policy().clearing_sections, default_policy().whole_sections) == (4, 3)


def test_nothing_that_an_assessment_reads_may_stand_where_it_is_not_hashed() -> None:
    head, mark, tail = SHIPPED.partition(UNREAD_MARK)
    cut = head.index(b"[removal]")
    end = head.index(b"[cut]")
    with pytest.raises(InputRefused) as refused:
        read_policy(head[:cut] + head[end:] + mark + tail + b"\n" + head[cut:end], "own.toml")
    assert "Move [removal] above the line" in str(refused.value.faults[0].message)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        (b"hours_per_week = 38", b"hours_per_week = 0"),
        (b"hours_per_week = 38", b"hours_per_week = 169"),
        (b"worker = [0.4, 0.5]", b"worker = [0.0, 0.5]"),
        (b"worker = [0.4, 0.5]", b"worker = [0.4]"),
    ],
)
def test_hours_and_spreads_that_cannot_be_are_refused(old: bytes, new: bytes) -> None:
    assert old in SHIPPED
    with pytest.raises(InputRefused):
        read_policy(SHIPPED.replace(old, new), "own.toml")

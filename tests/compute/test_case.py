"""A case keeps what was computed of one object, and goes with all of it."""

from __future__ import annotations

from examined import door, section  # noqa: F401

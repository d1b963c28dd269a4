"""Pure computations over facts: no SQL, no clock, no web."""

ENGINE = "6"
"""Raised when a computation gives another result for the same facts, or stored rows make other facts: the derived
tables are then computed again.

It is stored with each decision, but no approval depends on it: approvals are compared with what the rules say now
(`collection/store/decide/staleness.py`).
"""

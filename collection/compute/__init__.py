"""Pure computations over facts: no SQL, no clock, no web."""

ENGINE = "4"
"""Changed when a computation gives something else for the same facts, or stored rows come to be other facts: what is
derived is then made again.

It is stored with each decision, and no approval hangs on it: those are compared with what the rules say now
(`collection/store/decide/staleness.py`).
"""

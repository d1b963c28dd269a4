"""Pure computations over facts: no SQL, no clock, no web."""

ENGINE = "2"
"""Changes whenever a computation changes what it gives for the same facts."""

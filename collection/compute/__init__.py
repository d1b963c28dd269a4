"""Pure computations over facts: no SQL, no clock, no web."""

ENGINE = "4"
"""Changes whenever a computation changes what it gives for the same facts."""

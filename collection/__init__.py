"""firstcoat: a collection's record of original finishes, and the brake on losing them."""

__version__ = "0.1.0"

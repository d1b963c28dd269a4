"""`python -m collection` runs the firstcoat command."""

from collection.cli import main

if __name__ == "__main__":
    main()

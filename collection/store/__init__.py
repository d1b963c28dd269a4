"""The database: one SQLite file that keeps every record, every change to it, and who made it."""

"""The published view: one Datasette plugin package."""

"""What leaves the database: the published site."""

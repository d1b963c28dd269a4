"""The intake: a survey package is read, checked as a whole, and stored as a whole or not at all."""

"""Room: clean."""

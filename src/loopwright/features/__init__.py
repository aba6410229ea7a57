"""Room: features."""

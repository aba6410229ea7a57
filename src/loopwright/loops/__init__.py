"""Room: loops."""

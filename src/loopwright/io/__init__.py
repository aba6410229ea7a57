"""Room: io."""

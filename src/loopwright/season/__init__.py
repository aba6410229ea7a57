"""Room: season."""

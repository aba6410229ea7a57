"""Room: invented."""

"""Room: app."""

"""Room: laps."""

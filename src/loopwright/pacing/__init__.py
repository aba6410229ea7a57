"""Room: pacing."""

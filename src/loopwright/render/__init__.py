"""Room: render."""

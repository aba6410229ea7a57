"""Room: card."""

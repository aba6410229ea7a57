"""Room: network."""

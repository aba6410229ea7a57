"""Room: cli."""

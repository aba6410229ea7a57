"""The toolbox: arrays to arrays in the local frame. Knows nothing of rides or loops."""

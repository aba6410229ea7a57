"""Loopwright: practice loops for cross-country racing, built from recorded rides."""

__version__ = "0.1.0"

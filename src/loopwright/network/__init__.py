"""From clean rides to a trail network: stretches between junctions."""

from loopwright.network.build import build_network

__all__ = ["build_network"]

"""From clean rides to a trail network: stretches between junctions."""

from loopwright.network.aside import with_asides
from loopwright.network.build import build_network, recall, remember
from loopwright.network.memory import Memory

__all__ = ["Memory", "build_network", "recall", "remember", "with_asides"]

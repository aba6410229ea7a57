"""Room: features. From a network and tags to features, amounts, and a loop unrolled."""

from loopwright.features.as_one import named_as_one
from loopwright.features.assessing import Assessed, assess, assess_again
from loopwright.features.unrolling import unroll

__all__ = ["Assessed", "assess", "assess_again", "named_as_one", "unroll"]

"""Unbroken riding on lines, one after the other.

Gets a web and aligned samples; gives the runs of every ride over the web's lines, in the order they
were ridden.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from loopwright.geo.planar import dots
from loopwright.model.arrays import Floats
from loopwright.network.attract import Aligned
from loopwright.network.passes import runs_on
from loopwright.network.samples import Samples
from loopwright.network.stations import abreast_of, stations_of
from loopwright.network.web import End, Web

REACH_M = 6.0
"""A sample of a ride so near to a line rides it."""
GAP_ROWS = 8
"""Samples that may lie on neither line where a ride goes on by another: it cuts the corner."""
SURE_ROWS = 4
"""Riding that shows which line a ride is on, in samples: less is a slip of the matching."""


@dataclass(frozen=True, slots=True)
class Run:
    """Unbroken riding on a line, rows ``first`` at ``from_m`` along it to ``last`` at ``to_m``."""

    number: int
    onward: bool
    piece: int
    first: int
    last: int
    from_m: float
    to_m: float

    @property
    def came(self) -> End:
        """The end of the line it came by."""
        return self.number, not self.onward

    @property
    def left(self) -> End:
        """The end of the line it left by."""
        return self.number, self.onward

    @property
    def sure(self) -> bool:
        """Tell whether it is long enough to be no slip."""
        return self.last - self.first + 1 >= SURE_ROWS

    def goes_on(self, other: Run, *, within: int = GAP_ROWS) -> bool:
        """Tell whether the ride goes on with ``other``, ``within`` so many samples."""
        return self.piece == other.piece and other.first - self.last <= within


def runs_of(web: Web, samples: Samples, aligned: Aligned, ele: Floats) -> Iterator[Run]:
    """Yield the runs of aligned ``samples``, heights ``ele`` ``(n,)`` metres."""
    numbers = sorted(web.lines)
    table = stations_of([web.lines[k].xyz for k in numbers])
    near = abreast_of(table, aligned.xy, aligned.head, ele, reach_m=REACH_M)
    first, last = runs_on(table, near, samples, aligned.head)
    station = near.station[first]
    onward = dots(table.tangent[station], aligned.head[first]) >= 0
    place = table.dist[near.station] + near.forth
    columns = (
        table.line[station], onward, samples.piece[first], first, last, place[first], place[last]
    )  # fmt: skip
    for line, *rest in zip(*(column.tolist() for column in columns), strict=True):
        yield Run(numbers[line], *rest)

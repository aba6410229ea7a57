"""Ground covered on the loop by kind, and whether it counts in the season.

Gets a desk and a sheet; shows metres of this ride beside all rides of the area. Promises: the
season counts rides, not laps, so nothing is counted twice; what does not count says why.
"""

from __future__ import annotations

from collections.abc import Callable

from loopwright import edits, units
from loopwright.app.desk import Desk
from loopwright.app.kinds import surface_words
from loopwright.app.laps_reading import LapsRead
from loopwright.app.look import Look
from loopwright.app.parts import Fold, button, label
from loopwright.app.tables import Table
from loopwright.app.words import say
from loopwright.model.ground import Terrain
from loopwright.model.track import Ride, RideRole


class CoveredFold(Fold):
    """What the laps went over, and the way to say more of it."""

    def __init__(self, desk: Desk, look: Look, do: Callable[[str], None]) -> None:
        super().__init__(say("Ground covered"))
        self.desk, self.look = desk, look
        self.ride: Ride | None = None
        self.table = Table(
            say("Ground covered"), [say("Ground"), say("These laps"), say("All rides")]
        )
        self.counts = label("", "faint")
        self.take_in = button(say("Count this ride in the season"), self._take_in)
        self.tag = button(say("Tag after this ride…"), lambda: do("tag_this_ride"))
        self.add(self.table, self.counts, self.take_in, self.tag)

    def show_read(self, read: LapsRead | None) -> None:
        """Show the ground of a ride's laps."""
        sheet = read.sheet if read else None
        here = sheet.ground_m if sheet else {}
        rides = self.desk.document.rides
        self.ride = next((r for r in rides if sheet and r.id == sheet.ride), None)
        season = met_ground(self.desk.terrain) if here else {}
        ranked = sorted(here, key=lambda surface: -here[surface])
        self.setVisible(bool(ranked) and self.ride is not None)
        self.table.show_rows(
            [
                [surface_words(one), self._length(here[one]), self._length(season.get(one, 0.0))]
                for one in ranked
            ]
        )
        self.counts.setText(counted_words(self.ride) if self.ride else "")
        self.take_in.setVisible(
            self.ride is not None and self.ride.hidden and self.ride.role is RideRole.RIDE
        )

    def _length(self, metres: float) -> str:
        return units.distance(metres, self.look.units, decimals=1)

    def _take_in(self) -> None:
        ride = self.ride
        if ride is not None:
            self.desk.apply(
                say("Count a ride in the season"),
                lambda d: edits.hide_ride(d, ride.id, hidden=False),
            )


def counted_words(ride: Ride) -> str:
    """Say whether a ride counts in the ground met this season, and why not."""
    if ride.role is RideRole.RACE:
        return say("A race lap to copy: its ground does not count as ridden this season.")
    if ride.hidden:
        return say("This ride is left out: its ground does not count in the season.")
    return say("The whole ride counts in the season's ground, these laps with it.")


def met_ground(terrain: Terrain | None) -> dict[str, float]:
    """Add up metres ridden by surface: every stretch as often as it was passed."""
    met: dict[str, float] = {}
    for stretch in terrain.network.stretches if terrain else ():
        for span in terrain.spans.get(stretch.id, ()) if terrain else ():
            metres = (span.to_m - span.from_m) * len(stretch.passes)
            met[span.surface] = met.get(span.surface, 0.0) + metres
    return met

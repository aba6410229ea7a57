"""Every edit: a pure function from one document to the next.

Promises: the document given in is never changed; an edit that changes nothing gives it back itself.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from loopwright.model.document import AreaSettings, Document
from loopwright.model.frame import Origin
from loopwright.model.ground import Tag
from loopwright.model.ids import RideId
from loopwright.model.loops import SavedLoop
from loopwright.model.network import Correction
from loopwright.model.rider import Rider
from loopwright.model.season import SeasonPlan
from loopwright.model.track import Ride, RideRole
from loopwright.model.wishes import Mix, Wishes


def add_rides(document: Document, rides: Sequence[Ride], origin: Origin | None) -> Document:
    """Add rides not yet there, kept in order of start time then id.

    The first ``origin`` given is kept for good; None leaves a new area without one.
    """
    have = {ride.id for ride in document.rides}
    fresh: dict[RideId, Ride] = {ride.id: ride for ride in rides if ride.id not in have}
    if not fresh:
        return document
    everything = sorted((*document.rides, *fresh.values()), key=_ride_order)
    return replace(document, rides=tuple(everything), origin=document.origin or origin)


def _ride_order(ride: Ride) -> tuple[float, str]:
    times = ride.track.time_s
    known = times[times == times]  # noqa: PLR0124 - NaN is not equal to itself
    return (float(known[0]) if len(known) else float("inf"), ride.id)


def remove_ride(document: Document, ride: RideId) -> Document:
    """Take a ride out of the area."""
    rest = tuple(r for r in document.rides if r.id != ride)
    return document if len(rest) == len(document.rides) else replace(document, rides=rest)


def hide_ride(document: Document, ride: RideId, *, hidden: bool) -> Document:
    """Leave a ride in the area but out of the network, or take it back in."""
    return _with_ride(document, ride, lambda r: replace(r, hidden=hidden))


def set_role(document: Document, ride: RideId, role: RideRole) -> Document:
    """Say what a recording is used for."""
    return _with_ride(document, ride, lambda r: replace(r, role=role))


def _with_ride(document: Document, ride: RideId, change: Callable[[Ride], Ride]) -> Document:
    rides = tuple(change(r) if r.id == ride else r for r in document.rides)
    same = all(_same_use(a, b) for a, b in zip(rides, document.rides, strict=True))
    return document if same else replace(document, rides=rides)


def _same_use(first: Ride, second: Ride) -> bool:
    return (first.hidden, first.role) == (second.hidden, second.role)


def add_tags(document: Document, tags: Sequence[Tag]) -> Document:
    """Add what was said of the ground; newer words win where they overlap."""
    return replace(document, tags=(*document.tags, *tags)) if tags else document


def remove_tags(document: Document, tags: Sequence[Tag]) -> Document:
    """Take tags back."""
    gone = {id(tag) for tag in tags}
    rest = tuple(tag for tag in document.tags if id(tag) not in gone)
    return document if len(rest) == len(document.tags) else replace(document, tags=rest)


def add_correction(document: Document, correction: Correction) -> Document:
    """Add one correction of the network."""
    return replace(document, corrections=(*document.corrections, correction))


def remove_correction(document: Document, correction: Correction) -> Document:
    """Take one correction back."""
    rest = tuple(c for c in document.corrections if c is not correction)
    same = len(rest) == len(document.corrections)
    return document if same else replace(document, corrections=rest)


def set_wishes(document: Document, wishes: Wishes) -> Document:
    """Say what the next search is for."""
    return document if document.wishes == wishes else replace(document, wishes=wishes)


def set_found(document: Document, loops: Sequence[SavedLoop]) -> Document:
    """Keep the loops of the last search, by rank."""
    same = _equal(document.found, loops)
    return document if same else replace(document, found=tuple(loops))


def keep_loop(document: Document, loop: SavedLoop, name: str) -> Document:
    """Keep a loop under a name of its own; the same name is replaced."""
    rest = tuple(k for k in document.kept if k.name != name)
    kept = (*rest, replace(loop, name=name, rank=None))
    return document if _equal(document.kept, kept) else replace(document, kept=kept)


def _equal(before: Sequence[SavedLoop], after: Sequence[SavedLoop]) -> bool:
    return len(before) == len(after) and all(
        a.equals(b) for a, b in zip(before, after, strict=True)
    )


def remove_loop(document: Document, name: str) -> Document:
    """Forget a kept loop."""
    rest = tuple(k for k in document.kept if k.name != name)
    return document if len(rest) == len(document.kept) else replace(document, kept=rest)


def keep_mix(document: Document, mix: Mix) -> Document:
    """Keep a target mix; the same name is replaced."""
    mixes = (*(m for m in document.mixes if m.name != mix.name), mix)
    return document if mixes == document.mixes else replace(document, mixes=mixes)


def set_rider(document: Document, rider: Rider) -> Document:
    """Say who rides."""
    return document if document.rider == rider else replace(document, rider=rider)


def set_season(document: Document, season: SeasonPlan | None) -> Document:
    """Keep a season plan."""
    return document if document.season == season else replace(document, season=season)


def set_settings(document: Document, settings: AreaSettings) -> Document:
    """Change the area's settings."""
    return document if document.settings == settings else replace(document, settings=settings)


def set_name(document: Document, name: str) -> Document:
    """Rename the area."""
    return document if document.name == name else replace(document, name=name)

"""From clean rides to a trail network.

Gets clean tracks, the origin of their frame and a person's corrections; gives a Network.
Promises: the order of the tracks does not matter; the same tracks give the same bytes.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from loopwright.jobs import Report, Silent
from loopwright.model.frame import Origin
from loopwright.model.ids import RideId
from loopwright.model.network import Aside, Correction, Network
from loopwright.model.track import CleanTrack
from loopwright.network.aside import asides_of
from loopwright.network.core import Census, part
from loopwright.network.correct import corrected
from loopwright.network.crowd import Crowd
from loopwright.network.finish import frozen
from loopwright.network.fitted import Fitted, fit
from loopwright.network.memory import Memory
from loopwright.network.passes import Over, passes_of
from loopwright.network.rows import Bools
from loopwright.network.samples import Samples, gather, joined
from loopwright.network.seam import starts_in
from loopwright.network.settle import settled

BATCH_POINTS = 200_000
"""Points sampled at a time: some 20 MB of samples, however many rides there are."""


def build_network(
    tracks: Sequence[CleanTrack],
    origin: Origin,
    *,
    corrections: Sequence[Correction] = (),
    previous: Memory | None = None,
    report: Report | None = None,
) -> Network:
    """Build the network of all used ``tracks``, then apply ``corrections`` in order."""
    report = report or Silent()
    memory = remember(tracks, previous=previous, report=report)
    return recall(memory, origin, corrections=corrections)


def recall(memory: Memory, origin: Origin, *, corrections: Sequence[Correction] = ()) -> Network:
    """Give the network of what is remembered, with ``corrections`` applied in order."""
    web = memory.fitted.web()
    for over in memory.overs:
        web.lines[over.line].overs += (over,)
    unfit = corrected(web, origin, corrections)
    return frozen(web, origin, unfit=unfit, asides=memory.asides)


def remember(
    tracks: Sequence[CleanTrack],
    *,
    previous: Memory | None = None,
    report: Report | None = None,
) -> Memory:
    """Do the costly part of a build; ``previous`` saves most of it when rides were only added."""
    report = report or Silent()
    used = in_order(tracks)
    known = set(previous.rides) if previous else set()
    if previous and known <= {track.ride for track in used}:
        fresh = [track for track in used if track.ride not in known]
        if not fresh:
            return previous
        added = _added(previous, fresh)
        if added is not None:
            return added
    return _whole(used, report)


def in_order(tracks: Sequence[CleanTrack]) -> list[CleanTrack]:
    """Give used tracks, each ride once, earliest first, those without times last, then by id."""
    once = {track.ride: track for track in tracks if track.used and track.pieces}
    return sorted(once.values(), key=lambda track: (_start(track), track.ride))


def _start(track: CleanTrack) -> float:
    first = float(track.pieces[0].time_s[0])
    return first if np.isfinite(first) else float("inf")


def _whole(used: Sequence[CleanTrack], report: Report) -> Memory:
    census, crowd, cores, starts = Census(), Crowd(), [], [np.zeros((0, 2))]
    close: list[Bools] = []
    for batch, _ in _batches(used):
        report.check()
        close.append(census.choose(gather(batch), wide=False))
    for (batch, start), kept in zip(_batches(used), close, strict=True):
        report.check()
        samples = gather(batch, number_from=start)
        chosen = kept | census.choose(samples, wide=True)
        crowd.tell(samples, chosen)
        cores.append(part(samples, chosen))
        starts.append(starts_in(samples, chosen))
    core = joined(cores)
    cores.clear()
    begins = np.concatenate(starts)
    fitted = fit(core, rides=len(used), crowd=crowd, starts=begins, report=report)
    overs: list[Over] = []
    asides: list[Aside] = []
    for batch, start in _batches(used):
        report.check()
        report.step(0.8 + 0.2 * start / len(used), "finding passes")
        more = _matched(fitted, batch)
        overs += more[0]
        asides += more[1]
    return Memory(
        rides=tuple(track.ride for track in used),
        fitted=fitted,
        overs=tuple(overs),
        asides=tuple(asides),
        counts=census.counts,
    )


def _added(previous: Memory, fresh: Sequence[CleanTrack]) -> Memory | None:
    """Add rides that only repeat well-known ground; None when the lines need fitting again."""
    census = Census(previous.counts)
    samples = gather(fresh)
    if any(census.choose(samples, wide=wide).any() for wide in (False, True)):
        return None
    overs, asides = _matched(previous.fitted, fresh, samples)
    return Memory(
        rides=(*previous.rides, *(track.ride for track in fresh)),
        fitted=previous.fitted,
        overs=(*previous.overs, *overs),
        asides=(*previous.asides, *asides),
        counts=census.counts,
    )


def _matched(
    fitted: Fitted, batch: Sequence[CleanTrack], samples: Samples | None = None
) -> tuple[list[Over], list[Aside]]:
    """Find the passes of rides over the lines, and what of the rides no line shows."""
    if len(fitted.table) == 0:
        return [], []
    samples = gather(batch) if samples is None else samples
    rides: list[RideId] = [track.ride for track in batch]
    aligned, near, slow = settled(samples, fitted.table)
    return (
        passes_of(fitted.table, near, samples, aligned.head, rides=rides),
        asides_of(fitted.table, near, samples, slow, rides=rides),
    )


def _batches(used: Sequence[CleanTrack]) -> Iterator[tuple[Sequence[CleanTrack], int]]:
    """Cut the rides into batches; gives each with the number of its first ride."""
    start, points = 0, 0
    for number, track in enumerate(used):
        points += sum(len(piece.xy) for piece in track.pieces)
        if points >= BATCH_POINTS:
            yield used[start : number + 1], start
            start, points = number + 1, 0
    if start < len(used):
        yield used[start:], start

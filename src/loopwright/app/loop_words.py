"""What a loop brings and what it lacks beside another, in words.

Gets amounts and differences in points; gives short phrases with the names the window uses.
Promises: the greatest first, and nothing below what can be read off a screen.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from loopwright import units
from loopwright.app.kinds import kind
from loopwright.app.words import say
from loopwright.model.ground import Amounts, Terrain
from loopwright.model.ids import StretchId
from loopwright.model.loops import SearchResult
from loopwright.model.wishes import Mix
from loopwright.units import Units

if TYPE_CHECKING:
    from loopwright.loops.explain import Comparison

LEAST_POINTS = 0.05
MOST_NAMED = 3


def brings(amounts: Amounts, mix: Mix, look: Units) -> str:
    """Name wanted amounts: "Corners 4, Climbing 12 m"; empty if there are none."""
    named = [(key, amounts.get(key, 0.0)) for key in mix.targets]
    parts = [f"{kind(key).name} {kind(key).amount(v, look)}" for key, v in named if v >= 0.5]
    return ", ".join(parts)


def gathered(terrain: Terrain, names: Sequence[StretchId], mix: Mix, look: Units) -> str:
    """Add up stretches ridden in the order given: length, and what they hold of the mix."""
    from loopwright.loops.by_hand import in_a_row, live_amounts

    arcs = in_a_row(terrain, names)
    length = units.distance(sum(terrain.lengths_m[stretch] for stretch, _ in arcs), look)
    held = brings(live_amounts(terrain, arcs), mix, look) or say("nothing of the mix")
    return say("{length}: {held}", length=length, held=held)


def difference(told: Comparison) -> str:
    """Say what a loop loses and gains: "3.2 points lower: loses 2.1 on corners"."""
    sides = {kind(key).name.lower(): value for key, value in told.by_kind.items()}
    sides[say("length")] = told.by_length
    if abs(told.in_all) < LEAST_POINTS:
        head = say("just as good")
    elif told.in_all < 0:
        head = say("{n} points lower", n=f"{-told.in_all:.1f}")
    else:
        head = say("{n} points higher", n=f"{told.in_all:.1f}")
    loses, gains = _listed(sides, -1), _listed(sides, 1)
    parts = [say("loses {what}", what=loses)] if loses else []
    parts += [say("gains {what}", what=gains)] if gains else []
    return f"{head}: {'; '.join(parts)}" if parts else head


def _listed(sides: Mapping[str, float], sign: int) -> str:
    here = {name: sign * value for name, value in sides.items() if sign * value >= LEAST_POINTS}
    ranked = sorted(here, key=lambda name: (-here[name], name))[:MOST_NAMED]
    return ", ".join(say("{n} on {kind}", n=f"{here[n]:.1f}", kind=n) for n in ranked)


def out_of_reach(result: SearchResult | None, mix: Mix, look: Units) -> str:
    """Say the most the ground can give where it is less than wanted; empty where all can be met."""
    from loopwright.loops import shortfalls

    short = shortfalls(mix, result.most) if result else ()
    parts = []
    for gap in short:
        what = kind(gap.kind)
        most, want = what.amount(gap.most, look), what.amount(gap.target, look)
        name = what.name.lower()
        if gap.most < 0.5:
            parts.append(say("no {kind} at all (you want {want})", kind=name, want=want))
        else:
            parts.append(say("{kind} {most} of {want}", kind=name, most=most, want=want))
    if not parts:
        return ""
    return say("The most a lap this long can give here: {what}.", what=", ".join(parts))

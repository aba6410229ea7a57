"""What the report of a recording says, in English, for the table of sentences.

Gets nothing; gives sentences with gaps. Promises: every finding about a recording is here (held by
the tests of cleaning).
"""

from __future__ import annotations

POINTS = (
    "without a usable height", "inside the private circle left out", "far off the line dropped",
    "repeating the position before dropped", "without a position dropped",
    "repeating the position before dropped (recorded slower than written)",
    "with a time out of order or twice dropped", "without a time dropped",
)  # fmt: skip
COPIES = (
    "the same line as another ride, without times to tell them apart; counted once",
    "a second device (or a rider alongside) on the same ride; counted once",
    "the same ride as another file; counted once",
    "the same ride as another file with its clock {h} hour; counted once",
    "the same ride as another file with its clock {h} hours; counted once",
)
FOUND = (
    "{n} gap in the recording; nothing drawn across",
    "{n} gaps in the recording; nothing drawn across",
    "a point only every {s} s: counts less for the shape",
    "a point only every {metres} m: counts less for the shape",
    "heights read {metres} m high; levelled", "heights read {metres} m low; levelled",
    "receiver froze {n} time; the jump after is cut",
    "receiver froze {n} times; the jump after is cut",
    "stood still once, {s} s in all; scatter folded",
    "stood still {n} times, {s} s in all; scatter folded",
    "stood still once, {minutes} min in all; scatter folded",
    "stood still {n} times, {minutes} min in all; scatter folded",
    "no usable times: shape counts, speed is unknown", "no usable heights",
    "segments recorded later came first in the file; put in order",
)  # fmt: skip
USELESS = (
    "only {n} usable points: nothing to learn from", "stays within {metres} m: shows no trail",
    "lies {km} km from this area: make it an area of its own",
    "median speed {kmh} km/h: recorded in a vehicle",
    "falls apart into single points: nothing to learn from",
)  # fmt: skip
BESIDE = "{metres} m beside a better ridden line were not drawn as a trail of their own, at "
ASIDE = (
    f"{BESIDE}{{places}} km and {{n}} more", f"{BESIDE}{{places}} and {{last}} km",
    f"{BESIDE}{{place}} km",
)  # fmt: skip
RECORDINGS = (
    *(f"1 point {what}" for what in POINTS), *(f"{{count}} points {what}" for what in POINTS),
    *COPIES, *FOUND, *USELESS, *ASIDE,
)  # fmt: skip

"""Remake the sample files: ``python sample_tracks/make.py [FOLDER]``.

Gets nothing but a folder to write to (this one if left out); writes the rides, the laps, the race
lap, the ground and the README of the invented island. Promises: the same bytes every time.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from xml.sax.saxutils import escape

import numpy as np
import shapely

from loopwright.geo.frame import to_degrees
from loopwright.geo.polyline import length_m
from loopwright.invented.island import (
    ISLAND,
    PARK_NAME,
    RACE_NAME,
    race_course,
    sample_park,
    training_lap,
)  # fmt: skip
from loopwright.invented.lines import part
from loopwright.invented.park import Park
from loopwright.invented.receiver import CLEAN, USUAL, Faults, Receiver
from loopwright.invented.riders import FIRST_RIDE_S, RiddenWalk, ride_arcs
from loopwright.invented.speed import Legs
from loopwright.invented.walks import cover
from loopwright.model.ground import GroundSpan
from loopwright.model.ids import Arc, Way
from loopwright.model.network import Stretch
from loopwright.model.track import RecordedTrack

RIDES = 14
SEED = 4711
DAY_S = 86_400
NEW_PIECE_S = 45.0
UNTAGGED_EVERY = 9
PAINTED_ON = "2030-05-12"
LINE_STEP_M = 0.4
RIDERS = ("Ilvo", "Tamsel", "Orrin", "Wenka")
OUTINGS = ("early round", "after the rain", "long way", "skills evening", "club round")
INVENTED = f"Invented: {ISLAND}, its trails and its riders do not exist."
VERSIONS = {"1.0": "http://www.topografix.com/GPX/1/0", "1.1": "http://www.topografix.com/GPX/1/1"}


def files() -> Iterator[tuple[str, str]]:
    """Yield every file as name and text."""
    park = sample_park()
    walks = sample_walks(park)
    for number in range(len(walks)):
        yield f"ride_{number + 1:02d}.gpx", ride_file(park, walks, number)
    laps = six_laps(park)
    yield "six_laps.gpx", gpx_text(laps.track, version="1.1")
    yield "training_lap.geojson", lap_text(park)
    race = race_lap()
    yield "race_lap.gpx", gpx_text(race.track, version="1.1")
    yield "ground.geojson", ground_text(park)
    yield "README.md", readme_text(park, laps, race)


def sample_walks(park: Park) -> list[tuple[Arc, ...]]:
    """Choose where the sample rides go."""
    rng = np.random.default_rng(SEED)
    return cover(park.network, rng, rides=RIDES, length_m=(7500.0, 11_500.0))


def ride_file(park: Park, walks: list[tuple[Arc, ...]], number: int) -> str:
    """Write one sample ride as GPX; the third is GPX 1.0, the eighth sparse."""
    rng = np.random.default_rng([SEED, number])
    who = number % len(RIDERS)
    outing = OUTINGS[int(rng.integers(len(OUTINGS)))]
    ridden = ride_arcs(
        park,
        walks[number],
        error_m=float(rng.uniform(1.8, 3.8)),
        seed=SEED + number,
        interval_s=4.0 if number == 7 else 1.0,
        legs=_legs(who),
        receiver=Receiver(height_offset_m=20.0),
        faults=Faults(spikes=2.0, freezes=0.5, gaps=0.5, pauses=1.5) if number % 2 else USUAL,
        start_s=FIRST_RIDE_S + number * 3 * DAY_S + int(rng.integers(0, 28_000)),
        name=f"{RIDERS[who]}, {outing}",
        wobble=0.04,
    )
    return gpx_text(ridden.track, version="1.0" if number == 2 else "1.1")


def _legs(who: int) -> Legs:
    power = (235.0, 205.0, 265.0, 190.0)[who]
    return Legs(power_w=power, mass_kg=(84.0, 70.0, 92.0, 66.0)[who], grip=0.34 + 0.03 * who)


def six_laps(park: Park) -> RiddenWalk:
    """Ride six timed laps of the training loop."""
    return ride_arcs(
        park,
        training_lap(park),
        laps=6,
        error_m=2.6,
        seed=SEED + 101,
        legs=Legs(power_w=262.0, mass_kg=84.0, fade_per_km=0.006),
        faults=CLEAN,
        start_s=FIRST_RIDE_S + 60 * DAY_S,
        name="Ilvo, six timed laps",
        wobble=0.05,
    )


def lap_text(park: Park) -> str:
    """Write the training loop as a club member drew it: one closed line, a point every 5 m."""
    by_id = {stretch.id: stretch for stretch in park.network.stretches}
    parts = []
    for stretch_id, way in training_lap(park):
        stretch = by_id[stretch_id]
        rows = np.column_stack((stretch.xy, stretch.ele_m))
        parts.append((rows if way is Way.FORWARD else rows[::-1])[:-1])
    rows = np.vstack(parts)[::5]
    rows = np.vstack((rows, rows[:1]))
    lat, lon = to_degrees(park.network.origin, rows[:, :2])
    line = [
        [round(float(x), 6), round(float(y), 6), round(float(z), 1)]
        for x, y, z in zip(lon, lat, rows[:, 2], strict=True)
    ]
    feature = {
        "type": "Feature",
        "properties": {"name": "Training lap", "note": INVENTED},
        "geometry": {"type": "LineString", "coordinates": line},
    }
    return json.dumps(feature, ensure_ascii=False) + "\n"


def race_lap() -> RiddenWalk:
    """Ride one lap of the race course elsewhere on the island."""
    course = race_course()
    return ride_arcs(
        course.park,
        course.lap,
        error_m=2.2,
        seed=SEED + 202,
        legs=Legs(power_w=275.0, mass_kg=84.0),
        faults=CLEAN,
        start_s=FIRST_RIDE_S + 44 * DAY_S,
        name=f"{RACE_NAME}, race lap",
        wobble=0.03,
    )


def gpx_text(track: RecordedTrack, *, version: str) -> str:
    """Write a track as GPX 1.0 or 1.1: six decimals of a degree, one of a metre."""
    words = f"<desc>{escape(INVENTED)}</desc>"
    name = f"<name>{escape(track.name)}</name>"
    head = f"{name}{words}" if version == "1.0" else f"<metadata>{name}{words}</metadata>"
    body = "\n</trkseg>\n<trkseg>\n".join("\n".join(rows) for rows in _pieces(track))
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        f'<gpx version="{version}" creator="Loopwright, invented rides"'
        f' xmlns="{VERSIONS[version]}">\n{head}\n'
        f"<trk>{name}\n<trkseg>\n{body}\n</trkseg>\n</trk>\n</gpx>\n"
    )


def _pieces(track: RecordedTrack) -> Iterator[list[str]]:
    cuts = np.flatnonzero(np.diff(track.time_s) > NEW_PIECE_S) + 1
    for rows in np.split(np.arange(len(track)), cuts):
        yield [_point(track, int(k)) for k in rows]


def _point(track: RecordedTrack, k: int) -> str:
    when = datetime.fromtimestamp(round(float(track.time_s[k])), tz=UTC)
    return (
        f'<trkpt lat="{track.lat[k]:.6f}" lon="{track.lon[k]:.6f}">'
        f"<ele>{track.ele_m[k]:.1f}</ele><time>{when:%Y-%m-%dT%H:%M:%SZ}</time></trkpt>"
    )


def ground_text(park: Park) -> str:
    """Write the ground a club member painted, as GeoJSON lines; some stretches are left out."""
    painted = [
        _painted(park, stretch, span)
        for k, stretch in enumerate(park.network.stretches)
        if k % UNTAGGED_EVERY != UNTAGGED_EVERY - 1
        for span in park.spans[stretch.id]
    ]
    rows = ",\n".join(json.dumps(feature) for feature in painted)
    return f'{{"type": "FeatureCollection", "features": [\n{rows}\n]}}\n'


def _painted(park: Park, stretch: Stretch, span: GroundSpan) -> dict[str, object]:
    piece = part(stretch.xy, span.from_m, min(span.to_m, length_m(stretch.xy)))
    line = shapely.get_coordinates(shapely.LineString(piece).simplify(LINE_STEP_M))
    lat, lon = to_degrees(park.network.origin, line)
    corners = [[round(float(x), 6), round(float(y), 6)] for x, y in zip(lon, lat, strict=True)]
    words = {
        "name": stretch.name,
        "surface": span.surface,
        "roughness": span.roughness,
        "width": span.width,
        "banked": span.banked,
        "roots": span.roots,
        "on": PAINTED_ON,
    }
    geometry = {"type": "LineString", "coordinates": corners}
    return {"type": "Feature", "properties": words, "geometry": geometry}


def readme_text(park: Park, laps: RiddenWalk, race: RiddenWalk) -> str:
    """Write what the files are."""
    stretches = park.network.stretches
    total_km = sum(length_m(s.xy) for s in stretches) / 1000
    per_lap = len(laps.arcs) // 6
    times = np.diff(laps.gate_s[::per_lap])
    lap_km, race_km = (_walked_m(w) / 1000 for w in (_first_lap(park, laps), _race(race)))
    shown = ", ".join(f"{t:.1f}" for t in times)
    return (
        "# Sample area\n\n"
        f"Everything here is invented: the island of {ISLAND}, {PARK_NAME}, the {RACE_NAME} race"
        " course, the trails, the riders and their rides. The places lie in open ocean, far from"
        " any land. Nothing here is a real trail; do not go looking for it.\n\n"
        f"- `ride_01.gpx` to `ride_{RIDES:02d}.gpx`: rides over {PARK_NAME},"
        f" {len(stretches)} stretches and {total_km:.1f} km of trail, with the errors of real"
        " recordings (drift, spikes, gaps, pauses, height offsets). `ride_03.gpx` is GPX 1.0 and"
        " `ride_08.gpx` has a point every 4 s; the others are GPX 1.1 with a point a second.\n"
        f"- `six_laps.gpx`: six timed laps of a {lap_km:.2f} km loop in the park. The true lap"
        f" times are {shown} s.\n"
        "- `training_lap.geojson`: that loop as a club member drew it.\n"
        f"- `race_lap.gpx`: one lap of {race_km:.2f} km of the {RACE_NAME} race, elsewhere on the"
        " island.\n"
        "- `ground.geojson`: the ground as a club member painted it: lines with `surface`,"
        " `roughness`, `width`, `banked` and `roots`. A few stretches are left unpainted.\n\n"
        "Remake them with `python sample_tracks/make.py`; the bytes come out the same.\n"
    )


def _first_lap(park: Park, laps: RiddenWalk) -> tuple[Park, tuple[Arc, ...]]:
    return park, laps.arcs[: len(laps.arcs) // 6]


def _race(race: RiddenWalk) -> tuple[Park, tuple[Arc, ...]]:
    return race_course().park, race.arcs


def _walked_m(walk: tuple[Park, tuple[Arc, ...]]) -> float:
    lengths = {s.id: length_m(s.xy) for s in walk[0].network.stretches}
    return sum(lengths[name] for name, _ in walk[1])


def main() -> None:
    """Write all files and say how large they are."""
    folder = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).resolve().parent
    for name, text in files():
        (folder / name).write_text(text, encoding="utf-8", newline="\n")
        print(f"{name}: {len(text):,} bytes")


if __name__ == "__main__":
    main()

"""Small values every io test needs: a full document, a terrain, a course, GPX text.

All places are invented: a few hundred metres of trail at 46.5 N, 13.2 E.
"""

from __future__ import annotations

import io
from collections.abc import Mapping
from datetime import date

import numpy as np

from loopwright.io.area_zip import pack
from loopwright.io.tracks import ride_id
from loopwright.model.course import Course, CourseFeature
from loopwright.model.document import AreaSettings, Document, PrivateCircle
from loopwright.model.frame import Origin
from loopwright.model.ground import (
    Feature,
    FeatureKind,
    FeatureWay,
    GroundSpan,
    Passage,
    Tag,
    Terrain,
)
from loopwright.model.ids import JunctionId, RideId, StretchId, Way
from loopwright.model.loops import SavedLoop
from loopwright.model.network import (
    Correction,
    CorrectionKind,
    Junction,
    Network,
    Pass,
    Stretch,
)
from loopwright.model.rider import Rider
from loopwright.model.season import (
    DayLabel,
    Race,
    RiddenLaps,
    SeasonPlan,
    SeasonWishes,
    Session,
)
from loopwright.model.track import RecordedTrack, Ride, RideRole
from loopwright.model.wishes import Mix, Place, Wishes

ORIGIN = Origin(lat=46.5, lon=13.2)
NAN = float("nan")


def track(count: int = 5, *, name: str = "Larch loop", extras: bool = True) -> RecordedTrack:
    step = np.arange(count, dtype=np.float64)
    return RecordedTrack(
        name=name,
        source="larch.gpx",
        lat=46.5 + step * 1e-4,
        lon=13.2 + step * 2e-4,
        ele_m=np.where(step == 1, np.nan, 500.0 + step / 3),
        time_s=np.where(step == 2, np.nan, 1.7e9 + step * 1.25),
        piece=(step // 3).astype(np.int32),
        extras={"power_w": 100.0 + step} if extras else {},
    )


def ride(count: int = 5, *, name: str = "Larch loop") -> Ride:
    recorded = track(count, name=name)
    return Ride(id=ride_id(recorded), track=recorded)


def wishes() -> Wishes:
    line = np.array([[13.2, 46.5], [13.201, 46.5]])
    return Wishes(
        mix=Mix(name="Up and down", targets={"climb_gain_m": 60.0}, weights={"climb_gain_m": 2.0}),
        min_length_m=2500.0,
        max_length_m=4500.5,
        start=(46.5, 13.2),
        must=(Place(line=line),),
        avoid=(Place(line=line + 0.001),),
        repeats=1,
        count=3,
        seconds=2.5,
        use_unridden=True,
        lap_s=(600.0, 900.5),
        head_on_m=2.5,
    )


def season() -> SeasonPlan:
    race = Race(name="Valley cup", on=date(2027, 5, 9), ground_m={"rock": 900.0, "mud": 120.5})
    hard = Session(
        on=date(2027, 5, 4),
        label=DayLabel.TRAINING,
        kind="cornering",
        purpose="carry speed out of tight corners",
        minutes=75.0,
        effort_minutes=32.0,
        laps=4,
        rest_minutes=6.0,
        hard=True,
        loop="Larch loop",
        rating_cr10=6.5,
        note="easy if tired",
        ridden=RiddenLaps(
            ride=RideId("0123456789abcdef"), loop="Larch loop", laps=4, best_s=601.5,
            median_s=610.25, fade_per_lap_s=3.5, spread_s=4.75,
        ),
    )  # fmt: skip
    easy = Session(
        on=date(2027, 5, 5),
        label=DayLabel.RECOVERY,
        kind="easy spin",
        purpose="loosen the legs",
        minutes=40.0,
        effort_minutes=0.0,
        laps=0,
        rest_minutes=0.0,
        by_hand=True,
        hard=False,
    )
    plan = SeasonWishes(
        races=(race,),
        weeks=9,
        training_days=(1, 5),
        hours_a_week=5.5,
        weeks_style="blocked",
        hard_days_in_a_row=2,
        wanted_counts={"cornering": 3},
        counts_from=date(2027, 3, 1),
    )
    return SeasonPlan(wishes=plan, sessions=(hard, easy))


def document() -> Document:
    """Return a document in which no field has its default."""
    line3 = np.array([[13.2, 46.5, 500.0], [13.201, 46.5, NAN], [13.2, 46.5, 500.0]])
    loop = SavedLoop(name="Larch <b>loop</b>", line=line3, wishes=wishes(), score=71.25, match=0.8)
    found = SavedLoop(name="Loop 1", line=line3, wishes=wishes(), score=71.25, match=0.8, rank=1)
    race_lap = track(7, name="Race lap", extras=False)
    return Document(
        name="Invented hill",
        origin=ORIGIN,
        rides=(ride(), Ride(id=ride_id(race_lap), track=race_lap, role=RideRole.RACE, hidden=True)),
        tags=(
            Tag(
                line=line3[:2, :2],
                surface="rock",
                roughness="bad",
                width="narrow",
                banked=True,
                roots=False,
                obstacles=True,
                on=date(2027, 3, 1),
                source="osm",
            ),
            Tag(line=line3[:2, :2]),
        ),
        corrections=(
            Correction(kind=CorrectionKind.ONE_WAY, line=line3, value="down only", source="osm"),
        ),
        rider=Rider(
            name="Zoë",
            mass_kg=68.5,
            bike_kg=10.9,
            critical_power_w=251.0,
            w_prime_j=19500.0,
            all_out_w={180.0: 350.0, 720.0: 280.5},
            wheel_m=2.29,
            chainrings=(34,),
            sprockets=(11, 51),
            max_heart_rate_bpm=188.0,
        ),
        mixes=(Mix(name="Mine", targets={"corners": 12.0}),),
        wishes=wishes(),
        found=(found,),
        kept=(loop,),
        season=season(),
        settings=AreaSettings(
            invented=True,
            private=PrivateCircle(lat=46.51, lon=13.21, radius_m=200.0),
            plan_for=date(2027, 5, 9),
            attributions=("© OpenStreetMap contributors (ODbL)",),
            height_file="hill.tif",
            background_file="picture.tif",
        ),
    )


def stretch(name: str, start: str, end: str, xy: list[list[float]]) -> Stretch:
    rows = len(xy)
    one = Pass(ride=RideId("r1"), way=Way.FORWARD, time_s=1.7e9, first=0, last=9)
    return Stretch(
        id=StretchId(name),
        start=JunctionId(start),
        end=JunctionId(end),
        xy=np.array(xy),
        ele_m=np.linspace(500.0, 510.0, rows),
        std_error_m=np.full(rows, 1.25),
        passes=(one,),
    )


def terrain() -> Terrain:
    """Return two stretches between two junctions, a climb, a corner and a forbidden passage."""
    first = stretch("s1", "a", "b", [[0, 0], [100, 0], [200, 0]])
    second = stretch("s2", "b", "a", [[200, 0], [100, 80], [0, 0]])
    ends = [
        Junction(id=JunctionId("a"), xy=np.zeros(2), ele_m=500.0, degree=2),
        Junction(id=JunctionId("b"), xy=np.array([200.0, 0.0]), ele_m=NAN, degree=2),
    ]
    climb = Feature(
        kind=FeatureKind.CLIMB,
        stretch=first.id,
        from_m=50.0,
        to_m=150.0,
        way=FeatureWay.FORWARD,
        gain_m=5.0,
        grade_mean=0.05,
        grade_max=0.08,
    )
    corner = Feature(
        kind=FeatureKind.CORNER,
        stretch=second.id,
        from_m=120.0,
        to_m=136.0,
        at_m=128.0625,
        way=FeatureWay.BOTH,
        turn_deg=77.0,
        radius_m=9.0,
        banked=True,
    )
    back = Passage(before=(first.id, Way.FORWARD), after=(second.id, Way.BACKWARD), allowed=False)
    turn = Passage(
        before=(first.id, Way.FORWARD),
        after=(second.id, Way.FORWARD),
        amounts={"corners": 1.0},
        corner=corner,
    )
    spans = (
        GroundSpan(from_m=0.0, to_m=120.0, surface="rock", roughness="bad", width="narrow"),
        GroundSpan(from_m=120.0, to_m=200.0),
    )
    return Terrain(
        network=Network(origin=ORIGIN, stretches=(first, second), junctions=tuple(ends)),
        spans={first.id: spans},
        features=(climb, corner),
        passages=(back, turn),
        lengths_m={first.id: 200.0, second.id: 256.125},
        ascents_m={(first.id, Way.FORWARD): 10.0, (first.id, Way.BACKWARD): 0.5},
        amounts={(first.id, Way.FORWARD): {"climb_gain_m": 5.0}},
    )


def course(count: int = 41, *, name: str = "Larch loop") -> Course:
    """Return a round lap of 100 m radius with a climb and two corners."""
    turn = np.linspace(0.0, 2 * np.pi, count)
    xy = 100.0 * np.column_stack((np.cos(turn), np.sin(turn)))
    xy[-1] = xy[0]
    dist = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(xy, axis=0).T))))
    zeros = np.zeros(count)
    features = (
        CourseFeature(
            number=1, kind=FeatureKind.CLIMB, from_m=40.0, at_m=60.0, to_m=120.0,
            gain_m=6.0, grade_mean=0.075, grade_max=0.1,
        ),
        CourseFeature(
            number=2, kind=FeatureKind.CORNER, from_m=200.0, at_m=210.0, to_m=220.0,
            turn_deg=95.0, radius_m=7.5, banked=True,
        ),
        CourseFeature(
            number=3, kind=FeatureKind.CORNER, from_m=300.0, at_m=310.0, to_m=320.0,
            turn_deg=-130.0, radius_m=5.0, tight=True,
        ),
    )  # fmt: skip
    return Course(
        origin=ORIGIN,
        name=name,
        arcs=((StretchId("s1"), Way.FORWARD), (StretchId("s2"), Way.BACKWARD)),
        arc_ends_m=np.array([300.0, float(dist[-1])]),
        dist_m=dist,
        xy=xy,
        ele_m=500.0 + 10.0 * np.sin(turn),
        grade=zeros,
        curvature_per_m=np.full(count, 0.01),
        std_error_m=np.ones(count),
        surface=np.zeros(count, dtype=np.int32),
        roughness=np.zeros(count, dtype=np.int32),
        width=np.zeros(count, dtype=np.int32),
        rough=np.zeros(count, dtype=np.int32),
        banked=np.zeros(count, dtype=np.int32),
        obstacles=np.zeros(count, dtype=np.int32),
        features=features,
        ascent_m=20.0,
    )


def gpx_text(points: list[str], *, head: str = "", name: str = "Ride") -> str:
    """Return a GPX 1.1 file of one track with one segment."""
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        '<gpx xmlns="http://www.topografix.com/GPX/1/1" version="1.1" creator="test">'
        f"{head}<trk><name>{name}</name><trkseg>{''.join(points)}</trkseg></trk></gpx>"
    )


def point(lat: object, lon: object, inner: str = "") -> str:
    return f'<trkpt lat="{lat}" lon="{lon}">{inner}</trkpt>'


def packed(parts: Mapping[str, bytes], *, schema: int = 1) -> bytes:
    """Return an area file of the given members, checksums and all."""
    sink = io.BytesIO()
    pack(sink, parts.items(), schema=schema)
    return sink.getvalue()

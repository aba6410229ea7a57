"""What a heavier bicycle or wheels cost: seconds a lap.

Gets a course, a rider and kilograms. Gives the change of the flying lap's time at the same effort.
"""

from __future__ import annotations

from dataclasses import replace

from loopwright.model.course import Course
from loopwright.model.rider import Rider, RiderFit
from loopwright.pacing.along_course import along_course
from loopwright.pacing.belief import belief_of, middle
from loopwright.pacing.effort import best_level, capacity_of
from loopwright.pacing.kinds import ground_pace
from loopwright.pacing.lane import lane_of
from loopwright.pacing.limits import Limits, limits_of
from loopwright.pacing.ride import Run, effort_shape, ride


def what_if(
    course: Course, rider: Rider, *, bike_kg: float = 0.0, wheel_kg: float = 0.0,
    fit: RiderFit | None = None, laps: int = 1,
) -> float:  # fmt: skip
    """Seconds a lap that ``bike_kg`` more on the frame and ``wheel_kg`` more at the rims cost.

    Negative kilograms save time. The effort is that of the plan for ``laps`` laps as things are.
    Wheel mass counts fully on climbs and twice when speeding up.
    """
    lane, belief = lane_of(course), belief_of(rider, fit)
    setting = middle(belief)
    pace = ground_pace(lane, setting) * along_course(course, lane.dist_m, belief, fit).pace
    shape = effort_shape(lane.grade, setting.uphill_gain)

    def laps_at(level: float, limits: Limits) -> tuple[Run, Run]:
        watts = level * shape
        return ride(lane, limits, power_w=watts, efficiency=setting.efficiency, pace=pace)

    heavier = replace(rider, bike_kg=rider.bike_kg + bike_kg + wheel_kg)
    as_is = limits_of(lane, rider, setting)
    with_more = limits_of(lane, heavier, setting, rim_kg=wheel_kg)
    capacity, level = capacity_of(rider), setting.power_w
    if capacity is not None:
        level, _ = best_level(lambda watts: laps_at(watts, as_is), capacity, laps)
    now, then = laps_at(level, as_is)[1], laps_at(level, with_more)[1]
    return then.total_s - now.total_s

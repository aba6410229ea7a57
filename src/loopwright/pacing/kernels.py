"""Compiled passes along a lap: braking backwards, power forwards, the balance of W'.

Gets flat float64 arrays on one even grid. Gives arrays of the same length. Promises: no
allocation beyond the answer, finite answers for finite input; the first call compiles (cached).
"""

from __future__ import annotations

import numpy as np

from loopwright.geo.compiled import compiled
from loopwright.model.arrays import Floats, Ints


@compiled
def brake_pass(cap: Floats, corner: Floats, hold: Floats, step_m: float, closed: bool) -> Floats:  # noqa: FBT001 - positional for numba
    """Highest speed from which every cap ahead can still be met, (n,) m/s.

    ``corner`` is the grip limit of speed, ``hold`` the largest slowing in m/s^2; what cornering
    uses of the friction circle is not left for braking. A closed lap wraps round.
    """
    n = len(cap)
    speed = cap.copy()
    rounds = 2 if closed else 1
    ahead = cap[0] if closed else cap[n - 1]
    at = 0 if closed else n - 1
    for _ in range(rounds):
        for i in range(n - 1, -1, -1):
            used = min(1.0, (ahead / corner[at]) ** 2)
            room = hold[at] * np.sqrt(1.0 - used * used)
            speed[i] = min(cap[i], np.sqrt(ahead * ahead + 2.0 * room * step_m))
            ahead = speed[i]
            at = i
    return speed


@compiled
def _next_speed(  # noqa: PLR0917 - positional for numba
    speed: float, thrust_w: float, pull: float, drag: float, most: float, per: float
) -> float:
    """Speed one step on: backward Euler on the energy balance, which never overshoots.

    per is step over effective mass; pull the slope and rolling force in N; most the force the
    driven wheel can pass to the ground.
    """
    v = max(speed, 1.0)
    for _ in range(30):
        gap = 0.5 * (v * v - speed * speed) - per * (thrust_w / v - pull - 0.5 * drag * v * v)
        slope = v + per * (thrust_w / (v * v) + drag * v)
        move = gap / slope
        v = max(v - move, 0.2 * v)
        if abs(move) < 1e-5:
            break
    if thrust_w / v > most:
        square = speed * speed + 2.0 * per * (most - pull - 0.5 * drag * speed * speed)
        v = min(v, np.sqrt(max(square, 0.0))) if square > 0.0 else 0.0
    return v


@compiled
def power_pass(  # noqa: PLR0917 - positional for numba
    start: float, envelope: Floats, corner: Floats, power: Floats, pull: Floats, most: Floats,
    drag: float, per: float, step_m: float, floor: float,
) -> tuple[Floats, Floats, Floats]:  # fmt: skip
    """Ride the lap from ``start`` m/s below ``envelope``: speed (n,), time (n,), power used (n,).

    ``power`` is the most the rider gives at the wheel; used is what it took, 0 when coasting or
    braking. ``per`` is step over effective mass, ``drag`` density times drag area.
    """
    n = len(envelope)
    speed, time, used = np.zeros(n), np.zeros(n), np.zeros(n)
    speed[0] = min(start, envelope[0])
    for i in range(n - 1):
        lean = min(1.0, (speed[i] / corner[i]) ** 2)
        grip = most[i] * np.sqrt(1.0 - lean * lean)
        v = _next_speed(speed[i], power[i], pull[i], drag, grip, per)
        v = min(max(v, floor), envelope[i + 1])
        gain = 0.5 * (v * v - speed[i] * speed[i]) / per
        need = (gain + pull[i] + 0.5 * drag * v * v) * v
        used[i] = min(max(need, 0.0), power[i])
        speed[i + 1] = v
        time[i + 1] = time[i] + 2.0 * step_m / (speed[i] + v)
    used[n - 1] = used[max(n - 2, 0)]
    return speed, time, used


@compiled
def balance_low(
    power: Floats, time: Floats, cp: float, w_prime: float, start: float
) -> tuple[float, float]:
    """Lowest and last W' balance in J from ``start`` J, differential form (Skiba 2015; M).

    Above CP the balance falls by P - CP; below it the missing part decays with rate
    (CP - P) / W'.
    """
    w = start
    low = start
    for i in range(len(time) - 1):
        dt = time[i + 1] - time[i]
        spare = cp - power[i]
        if spare < 0.0:
            w += spare * dt
        else:
            w = w_prime - (w_prime - w) * np.exp(-spare * dt / w_prime)
        low = min(low, w)
    return low, w


@compiled
def spent_high(
    power: Floats, time: Floats, cp: float, tau_s: float, start: float
) -> tuple[float, float]:
    """Highest and last W' spent in J from ``start`` J, integral form (Skiba 2012)."""
    spent = start
    high = start
    for i in range(len(time) - 1):
        dt = time[i + 1] - time[i]
        spent = spent * np.exp(-dt / tau_s) + max(power[i] - cp, 0.0) * dt
        high = max(high, spent)
    return high, spent


@compiled
def ride_pieces(  # noqa: PLR0917 - positional for numba
    firsts: Ints, entry: Floats, cap: Floats, corner: Floats, hold: Floats, power: Floats,
    pull: Floats, most: Floats, drag: float, per: float, step_m: float, floor: float,
) -> Floats:  # fmt: skip
    """Seconds ``(n,)`` from the start of each piece; pieces lie one after another.

    ``firsts`` ``(m + 1,)`` are the places where pieces begin, and the end; ``entry`` ``(m,)``
    their speeds at the start.
    """
    out = np.zeros(len(cap))
    for k in range(len(entry)):
        a, b = firsts[k], firsts[k + 1]
        envelope = brake_pass(cap[a:b], corner[a:b], hold[a:b], step_m, False)  # noqa: FBT003
        _, time, _ = power_pass(
            entry[k], envelope, corner[a:b], power[a:b], pull[a:b], most[a:b], drag, per, step_m,
            floor,
        )  # fmt: skip
        out[a:b] = time
    return out


@compiled
def rising_places(points: Floats, line: Floats) -> Ints:
    """Places ``(k,)`` on ``line`` ``(n, 2)`` that follow ``points`` ``(k, 2)`` and never fall.

    The least sum of squared distances over all rising ways: where a trail passes close to itself,
    no fix can lie on a leg that the ones after it deny.
    """
    k, n = len(points), len(line)
    best = np.zeros(n)
    back = np.zeros((k, n), dtype=np.int32)
    for i in range(k):
        low, at = best[0], 0
        for j in range(n):
            if best[j] < low:
                low, at = best[j], j
            off = points[i] - line[j]
            back[i, j] = at
            best[j] = low + off[0] * off[0] + off[1] * off[1]
    out = np.zeros(k, dtype=np.int32)
    here = int(np.argmin(best))
    for i in range(k - 1, -1, -1):
        out[i] = here
        here = back[i, here]
    return out

"""The rider as JSON."""

from __future__ import annotations

from loopwright.io.codec import fields
from loopwright.io.codec.fields import Json
from loopwright.model.rider import Rider


def put_rider(rider: Rider) -> Json:
    """Write a rider; all-out efforts as pairs of seconds and watts."""
    return {
        "name": rider.name, "mass_kg": rider.mass_kg, "bike_kg": rider.bike_kg,
        "critical_power_w": rider.critical_power_w, "w_prime_j": rider.w_prime_j,
        "all_out_w": [[float(s), float(w)] for s, w in rider.all_out_w.items()],
        "wheel_m": rider.wheel_m, "chainrings": list(rider.chainrings),
        "sprockets": list(rider.sprockets), "max_heart_rate_bpm": rider.max_heart_rate_bpm,
    }  # fmt: skip


def get_rider(source: Json) -> Rider:
    """Read a rider; raises ValueError for what is none."""
    efforts = fields.line(source, "all_out_w", columns=2)
    return Rider(
        name=fields.text(source, "name"),
        mass_kg=fields.number(source, "mass_kg"),
        bike_kg=fields.number(source, "bike_kg"),
        critical_power_w=fields.maybe(fields.number, source, "critical_power_w"),
        w_prime_j=fields.maybe(fields.number, source, "w_prime_j"),
        all_out_w={float(seconds): float(watts) for seconds, watts in efforts},
        wheel_m=fields.number(source, "wheel_m"),
        chainrings=fields.wholes(source, "chainrings"),
        sprockets=fields.wholes(source, "sprockets"),
        max_heart_rate_bpm=fields.maybe(fields.number, source, "max_heart_rate_bpm"),
    )

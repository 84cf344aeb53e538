"""What a quick start knows of a scene: answers and assumptions as numbers, in SI."""

from __future__ import annotations

from typing import Literal

import msgspec

from falloff.kit import Outfit

Situation = Literal["window", "table", "interview", "kitchen"]
Dressing = Literal["bare", "sheer", "blind", "gel", "blackout"]
Fill = Literal["none", "white board", "black"]
WindowHour = Literal[3, 9, 12]
System = Literal["metric", "imperial"]


class WindowPlan(msgspec.Struct, frozen=True, kw_only=True):
    """A window: width and height (m), how far from the person (m), and its clock hour.

    The hour is seen from above with the camera at 6: 9 is camera left, 3 camera right, 12 behind.
    """

    width_m: float
    height_m: float
    distance_m: float
    clock_hour: WindowHour


class Plan(msgspec.Struct, frozen=True, kw_only=True):
    """One scene of the quick start. Lengths in metres, light in lux, shares 0..1.

    key: None where no fixture is brought. key_clock: hour with the camera at 6; key_height above
    the floor. key_trim, outside_trim: factors on the light, 1 as answered, for what is uncertain.
    fill_size: width and height of the board or black.
    """

    situation: Situation
    units: System
    width_m: float
    depth_m: float
    ceiling_m: float
    wall_reflectance: float
    ceiling_reflectance: float = 0.8
    floor_reflectance: float = 0.25
    window: WindowPlan | None
    dressing: Dressing
    glass: float = 0.8
    gel_stops: float = 2.0
    outside_lux: float
    outside_word: str = ""
    outside_kelvin: float = 6500.0
    ground_reflectance: float = 0.2
    key: Outfit | None
    key_distance_m: float
    key_clock: float
    key_height_m: float
    key_trim: float = 1.0
    t_number: float
    stop_text: str
    iso: float
    shutter_text: str
    fps: float = 24.0
    exposure_time_s: float
    nd_stops: float
    fill: Fill
    fill_size_m: tuple[float, float] = (0.9, 0.9)
    skin: str = "beige"
    supply_volts: float = 230.0
    furnished: bool = True

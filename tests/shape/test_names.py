"""Public numbers end in their unit, or are on a short list that says what they are.

Public: what a package names in `__all__`, its functions' arguments, its records' fields. A number
typed with a NewType of `units` (Lux, Metre ...) says its unit by its type and is not looked at.
"""

from __future__ import annotations

import ast
import importlib
import re
from collections.abc import Iterator
from pathlib import Path

import falloff

PACKAGE = Path(falloff.__file__).parent
NUMBER = re.compile(r"\bfloat\b|\bFloat\d+Array\b|NDArray\[np\.float|\bArrayLike\b|\bFloats\b")

UNITS = {
    "m", "m2", "s", "rad", "hour", "kelvin", "mired", "w", "lm", "volts", "lux", "lux_s", "nit",
    "au", "cd", "candela_per_lumen", "stops", "share", "px", "per_second", "minutes",
    "footcandles", "footlamberts",
    "stops_over_key", "stops_over_grey", "deg", "amps", "candela",
    # places and sizes on a drawn sheet
    "mm",
    # weights, and what circuits bear
    "kg", "va",
    # spectra and colour: nanometres, distance in CIE 1960 u, v, colour-correcting density × 100
    "nm", "duv", "cc", "lm_per_w",
}  # fmt: skip

# Pure numbers: ratios, shares of one, numbers on a scale of their own.
PURE = {
    # money for a day, in the currency that the kit file names; a share that a modifier passes
    "day_rate", "passes",
    # a day's hire in that currency; a stand's heights and load; stops in hand by setup; a package's
    # weighed misses; the lowest share of its light that a candidate may have
    "hire", "holds", "in_hand", "lowest", "missed",
    "albedo", "bounce_from", "density", "shares", "dims", "encoded", "exposure_value_100",
    "factor", "gains", "ground", "ground_reflectance", "grey_encoded", "hot_times_mean", "iso",
    "key_and_fill_to_fill", "key_to_fill", "marks", "reflectance", "relative", "shoulder_power",
    "skin", "t_number", "tan_half_height", "tan_half_width", "toe_power", "tolerance",
    # shares of light let through, weights of targets and of vertices, a T- or f-number
    "glass", "head_weight", "power_factor", "rise_x", "rise_y", "scattered",
    "stop", "stop_at_face", "straight",
    # balance: shares of full light, a dim as set, tolerances that a choice costs; s_uv of CIE 15;
    # weighed squares of what is short; shares of a still's width and height
    "now", "highest", "knob", "costs", "saturation", "missed_before", "places",
    # what is passed, driven or mixed, by colour or by emitter; indices of colour rendering
    "drive_shares", "factors", "light_shares", "parts", "ra", "shades", "special", "transmittance",
    # factors on all the light of a photometric file
    "ballast_factor", "future_use", "multiplier",
    # a coat's share at right angles and its roughness; how two lights differ
    "coats", "roughness", "softer_ratio",
    # shares of light by what a sheet does to it; depth over width of an egg crate's cells; the
    # coefficients of ISO 15469
    "across", "landing", "reflected", "SKY_COEFFICIENTS", "through", "upward",
    # dims as set; what dimming does to a colour; gels in full green ones; how hazy the air is
    "green", "knobs", "tints", "turbidity",
    # levels of a day over and under others, in stops by their docstrings; factors of a spread
    "after", "before", "distance_over_mean", "gel_as_sold", "key_gain", "key_loss", "over",
    "over_face", "over_grey", "room_loss", "sky_high", "sky_low", "stops_a_minute", "sun_high",
    "sun_low", "target_levels", "under", "wanted",
    # an assumption as a number: stops over what was assumed, or of a reflectance's odds
    "moved", "prior", "x",
    # what a unit of light is worth to a reading; sines of a skyline's altitude
    "by", "lit", "skyline", "worth",
    # a hit's place along its ray and in its triangle; how far along its way a ray goes
    "distance", "lengths", "u", "v",
}  # fmt: skip
# Colours: relative or chromatic, no unit.
COLOUR = {"sky_rgb", "sun_rgb",
          "colour", "colours", "primaries_xy", "skin_tint", "tint", "white_xy", "xy", "from_xy",
          "to_xy", "balance_xy", "light", "uv", "wanted_xy"}  # fmt: skip
# Unit vectors.
WAY = {"inward", "ways",
       "axis", "corner_normals", "element_normals", "facing", "forward", "normal", "normals",
       "right", "up", "axes", "direction", "directions", "azimuth_zero",
       "toward", "toward_sun"}  # fmt: skip
# Places in the room and edges between them: metres, by docs/conventions.md.
PLACE = {"outlines",
         "centre", "corner", "corners", "edge_u", "edge_v", "element_points", "eye", "face_frame",
         "high", "low", "point", "points", "holes", "middle", "start", "radius_high", "radius_low",
         "size", "soft"}  # fmt: skip
# Light in the working space, lux or cd/m² as the docstring says, by docs/conventions.md.
LIGHT = {
    "luminances",
    "whole",
    "luminance",
    "sun",
    "sheen",
    "bounced",
    "direct",
    "layers",
    "picture",
    "radiosity",
    "rgb",
    "xyz",
}
# The unit stands in the field beside it, or the record is of many units by nature.
TOLD_BESIDE = {
    "NAMED_PROFILES",
    "number",
    "shape",
    "si",
    "standard_error",
    "value",
    "value_si",
    "values",
    "written_sizes",
    "given",
    "fitted",
    # of corrections: in the unit beside them
    "assumed",
    "corrected",
    "expected",
    "found",
    "measured",
    "planned",
    # of targets: in the unit that is told beside them, or the reading's own
    "kept",
    "margin",
    "off",
    "short",
    "green_tolerance",
    "AS_A_STOP",
    "sky_value",
    "table",
    "building",
    "buildings",
    "sheets",
}
# ISO 2720's own letters; lx·s and cd·s/m².
LETTERS = {"meter_constant", "meter_constant_c", "meter_constant_k"}

EXCUSED = PURE | COLOUR | WAY | PLACE | LIGHT | TOLD_BESIDE | LETTERS


def public_numbers() -> Iterator[tuple[str, str]]:
    """Name and home of every public number and array of numbers."""
    for package in sorted(PACKAGE.iterdir()):
        if package.is_dir() and (package / "__init__.py").exists():
            files = sorted(package.rglob("*.py"))
        elif package.suffix == ".py" and package.name != "__init__.py":
            files = [package]
        else:
            continue
        module = importlib.import_module(f"falloff.{package.stem}")
        names = getattr(module, "__all__", [name for name in dir(module) if name[0] != "_"])
        for file in files:
            for node in ast.parse(file.read_text(encoding="utf-8")).body:
                for name, annotation in annotated(node, names):
                    if NUMBER.search(ast.unparse(annotation)):
                        yield name, f"{file.relative_to(PACKAGE)}:{node.lineno}"


def annotated(node: ast.stmt, names: list[str]) -> Iterator[tuple[str, ast.expr]]:
    """Annotated names of one public definition: a constant, a function's arguments, fields."""
    if isinstance(node, ast.AnnAssign) and isinstance(node.target, ast.Name):
        if node.target.id in names:
            yield node.target.id, node.annotation
    elif isinstance(node, ast.ClassDef) and node.name in names:
        fields = [
            part.target.id
            for part in node.body
            if isinstance(part, ast.AnnAssign) and isinstance(part.target, ast.Name)
        ]
        methods = [part.name for part in node.body if isinstance(part, ast.FunctionDef)]
        for part in node.body:
            yield from annotated(part, [name for name in fields + methods if name[0] != "_"])
    elif isinstance(node, ast.FunctionDef) and node.name in names:
        for argument in node.args.args + node.args.kwonlyargs:
            if argument.annotation is not None:
                yield argument.arg, argument.annotation


FOUND = tuple(public_numbers())


def ends_in_unit(name: str) -> bool:
    """Whether a name is a unit or ends in one."""
    return any(name == unit or name.lower().endswith(f"_{unit}") for unit in UNITS)


def test_numbers_end_in_their_unit_or_are_excused() -> None:
    assert len(FOUND) > 100  # the search itself works: there are several hundred
    offenders = [
        f"{home} {name}" for name, home in FOUND if not ends_in_unit(name) and name not in EXCUSED
    ]
    assert offenders == []


def test_no_excuse_outlives_its_name() -> None:
    used = {name for name, _ in FOUND}
    assert sorted(EXCUSED - used) == []
    assert sorted(name for name in EXCUSED if ends_in_unit(name)) == []


def test_nobody_says_brightness() -> None:
    """Luminance, illuminance and intensity have names; brightness is what an eye makes of them."""
    said = [
        f"{file.relative_to(PACKAGE)}: {name}"
        for file in PACKAGE.rglob("*.py")
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8")))
        for name in (getattr(node, "id", ""), getattr(node, "arg", ""), getattr(node, "name", ""))
        if "brightness" in str(name)
    ]
    assert said == []

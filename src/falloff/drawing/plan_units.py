"""Fixtures and practicals on the plan: their faces and housings to scale, and their beams."""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import numpy as np

from falloff.document import (
    BookLight,
    Candle,
    Fixture,
    FresnelLight,
    GelFigures,
    Globe,
    KitLight,
    Lantern,
    LightPanel,
    OpenFace,
    Practical,
    ProfileSpotLight,
    Screen,
    ShadedBulb,
    SoftBox,
    TubeLight,
    WebFile,
)
from falloff.drawing.plan_beams import Cone, reach_of
from falloff.drawing.plan_forms import (
    ROUND,
    Front,
    body_points,
    face_points,
    half_angle_rad,
    size_of,
    width_on_plan,
)
from falloff.drawing.plan_kept import kept
from falloff.drawing.plan_outlines import hull, number, rounded
from falloff.drawing.plan_places import Aimed, aimed, carrier, distance_of, spot, written_sizes
from falloff.drawing.plan_rays import Blocker
from falloff.drawing.plan_records import PlanUnit, Side, Sides
from falloff.drawing.plan_shell import Shell
from falloff.stage.fronts import frame_of
from falloff.stage.kit_lights import WebMouth, kit_items
from falloff.stage.lights import AnyForm, light_of
from falloff.stage.places import DOWN, Placer
from falloff.types import Float64Array
from falloff.units import System, format_length

_ONE_SIZE: Final = (
    *(Globe, Lantern, ShadedBulb, Candle),
    *(OpenFace, FresnelLight, ProfileSpotLight),
)
_POLE_M: Final = 0.02
_WORDS: Final = {
    SoftBox: "soft box",
    LightPanel: "panel",
    BookLight: "book light",
    OpenFace: "open face",
    FresnelLight: "Fresnel",
    ProfileSpotLight: "profile spot",
    TubeLight: "tube",
    Lantern: "lantern",
    Globe: "globe",
    ShadedBulb: "bulb in a shade",
    Screen: "screen",
    Candle: "candle",
    WebMouth: "light",
}
_FRONTS: Final = {"rectangle": "", "round": "round ", "octagon": "octagonal "}


@dataclass(frozen=True, slots=True, eq=False)
class _Known:
    """What the plan needs to know of a light: its form and its own colour (K), if it has one."""

    form: AnyForm
    kelvin: float | None
    half_rad: float | None


def plan_unit(
    placer: Placer, name: str, *, number_: int, shell: Shell, blockers: tuple[Blocker, ...] | None
) -> PlanUnit:
    """A fixture or practical; blockers None: its beam is left out.

    Raises GeometryError for a light that the kit or its file does not have.
    """
    document = placer.document
    section = "fixtures" if name in document.fixtures else "practicals"
    thing: Fixture | Practical = getattr(document, section)[name]
    known = _known(placer, section, name, thing)
    front = _front(placer, section, name, thing, known.form)
    seen = None if thing.aim is None else placer.aim_point(thing.aim)
    key = (
        "unit",
        (name, number_, thing, known, document.units),
        (tuple(front.middle.tolist()), tuple(front.axis.tolist())),
        None if seen is None else tuple(seen.tolist()),
        distance_of(placer, front.middle, place=thing.at, aim=thing.aim),
        shell,
        blockers,
    )
    return kept(key, lambda: _new_unit(placer, name, number_, (shell, blockers), (known, front)))


def _new_unit(
    placer: Placer,
    name: str,
    number_: int,
    around: tuple[Shell, tuple[Blocker, ...] | None],
    held: tuple[_Known, Front],
) -> PlanUnit:
    document = placer.document
    (shell, blockers), (known, front) = around, held
    section = "fixtures" if name in document.fixtures else "practicals"
    thing: Fixture | Practical = getattr(document, section)[name]
    found = aimed(placer, thing.aim, front.axis)
    all_round = isinstance(known.form, ROUND)
    if all_round and thing.aim is None:
        found = Aimed()
    face, body = face_points(front, known.form), body_points(front, known.form)
    size = size_of(known.form)
    cone = Cone(
        tuple(front.middle.round(4).tolist()),
        tuple(front.axis.round(6).tolist()),
        known.half_rad,
        0.5 * max(size) if all_round else 0.5 * width_on_plan(front, size),
    )
    reach = None if blockers is None else reach_of(cone, shell, blockers)
    fixture = thing if isinstance(thing, Fixture) else None
    return PlanUnit(
        name=name,
        number=number_,
        section="fixtures" if fixture is not None else "practicals",
        form=_word(known.form),
        at=spot(front.middle),
        z_m=number(front.middle[2]),
        size_m=(number(size[0]), number(size[1])),
        sizes=written_sizes(document, section, name),
        face=rounded(hull(face[:, :2])),
        body=None if body is None else rounded(hull(body[:, :2])),
        aim=found.at,
        aim_z_m=found.z_m,
        aims_at=found.name,
        pan_deg=found.pan_deg,
        tilt_deg=found.tilt_deg,
        roll_deg=number(math.degrees(thing.roll.si), 1),
        stand=fixture is not None and fixture.stand,
        on=carrier(thing.at),
        outside=fixture is not None and fixture.outside,
        round=all_round,
        angle_deg=None if known.half_rad is None else number(math.degrees(2 * known.half_rad), 1),
        beam=None if reach is None else reach.plan,
        says=_says(thing, known, size, document.units),
        distance=distance_of(placer, front.middle, place=thing.at, aim=thing.aim),
        sides=Sides(
            front=_side(face, body, thing, 0, None if reach is None else reach.front),
            right=_side(face, body, thing, 1, None if reach is None else reach.right),
        ),
    )


def _side(
    face: Float64Array,
    body: Float64Array | None,
    thing: Fixture | Practical,
    side: int,
    beam: tuple[tuple[float, float], ...] | None,
) -> Side:
    """The face first, then the housing, then the pole of its stand."""
    outlines = [hull(face[:, [side, 2]])]
    if body is not None:
        outlines.append(hull(body[:, [side, 2]]))
    if isinstance(thing, Fixture) and thing.stand:
        every = face if body is None else np.concatenate([face, body])
        at, low = float(every[:, side].mean()), float(every[:, 2].min())
        edge = 0.5 * _POLE_M
        outlines.append(
            np.array([[at - edge, 0], [at + edge, 0], [at + edge, low], [at - edge, low]])
        )
    return Side(outlines=tuple(rounded(one) for one in outlines), beam=beam)


# Forms -----------------------------------------------------------------------------------

_forms: dict[tuple[Any, ...], _Known] = {}
_FORMS_KEPT: Final = 400


def _known(placer: Placer, section: str, name: str, thing: Fixture | Practical) -> _Known:
    """A light's form; kept, as long as what it is read from stays alike."""
    document = placer.document
    key = (
        document.path,
        tuple(document.profiles.items()) if isinstance(thing.light, OpenFace) else (),
        _stamps(document.path, document.own_kit, thing.light),
        thing.light,
        thing.output,
    )
    if key not in _forms:
        if len(_forms) >= _FORMS_KEPT:
            _forms.clear()
        form: Any = thing.light
        kelvin = None
        if isinstance(thing.light, KitLight | WebFile):
            form = light_of(placer, name).form
        if isinstance(thing.light, KitLight):
            kelvin = float(kit_items(placer, (section, name), thing.light)[0].kelvin)
        _forms[key] = _Known(form, kelvin, half_angle_rad(placer, form))
    return _forms[key]


def _stamps(path: str, own_kit: str | None, light: object) -> tuple[int, ...]:
    files = [own_kit] if own_kit is not None and isinstance(light, KitLight) else []
    files += [light.file] if isinstance(light, WebFile) else []
    found = []
    for file in files:
        try:
            found.append((Path(path).parent / file).stat().st_mtime_ns)
        except OSError:
            found.append(0)
    return tuple(found)


def _front(
    placer: Placer, section: str, name: str, thing: Fixture | Practical, form: AnyForm
) -> Front:
    """Where a light's front is and the way it looks; what shines all round looks down."""
    middle = placer.origin(name)
    if thing.aim is not None:
        axis = placer.aim_direction(middle, thing.aim, (section, name, "aim"))
    elif isinstance(form, ROUND):
        axis = DOWN
    else:
        raise placer.fault(
            (section, name),
            what=f"{name} needs an aim: it does not shine all round",
            fix=f"add `aim: ...` to {name}",
        )
    level, rise = frame_of(axis, thing.roll.si)
    return Front(middle, axis, level, rise)


# Words -----------------------------------------------------------------------------------


def _word(form: AnyForm) -> str:
    front = _FRONTS.get(getattr(form, "shape", "rectangle"), "")
    return front + _WORDS[type(form)]


def _says(
    thing: Fixture | Practical, known: _Known, size: tuple[float, float], units: System
) -> str:
    """What a light is in a few words: "book light 1.2 × 1.2 m, 5600 K"."""
    what = _word(known.form)
    if isinstance(thing.light, KitLight):
        what = " with ".join((thing.light.kit, *thing.light.modifier))
    elif isinstance(thing.light, WebFile):
        what = thing.light.file
    ball = isinstance(known.form, _ONE_SIZE) or getattr(known.form, "shape", "") == "round"
    told = [f"{what} {size_words(size[:1] if ball else size, units)}"]
    if isinstance(known.form, OpenFace | FresnelLight | ProfileSpotLight) and known.half_rad:
        told.append(f"{math.degrees(2.0 * known.half_rad):.0f}° beam")
    kelvin = thing.colour.si if thing.colour is not None else known.kelvin
    told += [f"{kelvin:.0f} K"] if kelvin is not None and thing.xy is None else []
    told += [one if isinstance(one, str) else _gel_words(one) for one in thing.gels]
    return ", ".join(told)


def _gel_words(gel: GelFigures) -> str:
    return f"gel of {gel.mired:+g} mired" if gel.mired else "gel"


def size_words(size_m: tuple[float, ...], units: System) -> str:
    """A size as people say it: "1.2 × 1.2 m", "30 × 6 cm", "4 ft × 4 ft"."""
    if units == "imperial":
        return " × ".join(format_length(side, units=units) for side in size_m)
    if max(size_m) >= 1.0:
        return f"{' × '.join(f'{side:.3g}' for side in size_m)} m"
    return f"{' × '.join(f'{100.0 * side:.3g}' for side in size_m)} cm"

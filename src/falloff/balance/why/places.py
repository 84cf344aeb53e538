"""Places of a traced setup as a person says them: a reading, a wall, the window, the face."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from falloff.balance.why.complaints import same_name, unknown
from falloff.balance.why.light import Lit
from falloff.balance.why.scene import TracedSetup
from falloff.balance.why.sight import in_sight, sees, sees_face
from falloff.balance.why.words import Telling, spot_text, surface_text, the_name
from falloff.constants import LUMINANCE_WEIGHTS
from falloff.document import SUBJECT_PLACES, Door
from falloff.stage import OFFSET_M, Probe
from falloff.stage.places import Placer
from falloff.types import Float64Array

WINDOW_WORDS: Final = ("window", "view", "view outside", "outside", "sky")
_SQUARE: Final = 0.7  # a wall that turns this much to the camera is called by that side
_HOT_SHARE: Final = 0.02  # of what is seen of a surface, the part whose light is told of
_FACE_WORDS: Final = ("face", "key cheek", "key side", "face's key side", "skin")
_SHADOW_WORDS: Final = ("shadow cheek", "shadow side", "fill side", "shadows", "shadow")
_SPOT_WORDS: Final = {
    said: spot for spot in SUBJECT_PLACES for said in (spot_text(spot), spot.replace("_", " "))
}
_ALL_WORDS: Final = (*_FACE_WORDS, *_SHADOW_WORDS, *_SPOT_WORDS)
# To the camera's right of a face, and above it.
_ROUND_HEAD_M: Final = (
    (0.25, 0.0), (-0.25, 0.0), (0.35, 0.15), (-0.35, 0.15), (0.0, 0.35), (0.45, 0.0), (-0.45, 0.0),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class PlaceRead:
    """A place that was read: its light, against what is told, and what it is to be called.

    pictured: whether it is told as it lands in the picture, against middle grey; seen: whether
    the setup's camera sees it.
    """

    lit: Lit
    telling: Telling
    pictured: bool = False
    seen: bool = True


def wall_words(traced: TracedSetup) -> dict[str, str]:
    """What walls are called as the camera sees them, by surface: "the left wall"."""
    surfaces, view = traced.stage.surfaces, traced.view
    found: dict[str, str] = {}
    for number, name in enumerate(surfaces.names):
        if not re.fullmatch(r"room: wall \d+", name):
            continue
        mine = np.flatnonzero((surfaces.face_name == number) & (surfaces.face_grid[:, 3] == 1))
        if not mine.size:
            continue
        normal = surfaces.face_frame[mine[0], 9:12].astype(np.float64)
        ahead, aside = float(normal @ view.forward), float(normal @ view.right)
        if ahead < -_SQUARE:
            found[name] = "the back wall"
        elif ahead > _SQUARE:
            found[name] = "the wall behind the camera"
        elif aside > _SQUARE:
            found[name] = "the left wall"
        elif aside < -_SQUARE:
            found[name] = "the right wall"
    words = list(found.values())
    return {
        name: said if words.count(said) == 1 else f"{said} ({surface_text(name, {})})"
        for name, said in found.items()
    }


def find_place(traced: TracedSetup, about: str, *, high: bool) -> PlaceRead:
    """The place that is meant; raises DocumentError with the nearest that there is."""
    walls = wall_words(traced)
    for name in traced.readings:
        if same_name(name, about):
            return _reading(traced, name, walls)
    low = about.casefold()
    spot = spot_meant(traced, about)
    if spot is not None:
        return _of_face(traced, *spot, walls)
    if low in WINDOW_WORDS:
        views = window_views(traced)
        if not views:
            raise unknown(
                "window", about, window_names(traced), where=traced.setup.name,
                what=f"{traced.setup.camera} sees no window",
            )  # fmt: skip
        hottest = max(views, key=lambda one: one.light)
        return PlaceRead(hottest, _view(hottest.name), pictured=True)
    for lit in window_views(traced):
        if same_name(lit.name, about):
            return PlaceRead(lit, _view(lit.name), pictured=True)
    found = _surface(traced, low, walls, high=high)
    if found is not None:
        return found
    inside = [name for name in traced.readings if low and low in name.casefold()]
    if len(inside) == 1:
        return _reading(traced, inside[0], walls)
    known = [*traced.readings, "face", "window", "wall", *walls.values(), "ceiling", "floor"]
    things = [name for name in traced.stage.bodies if name not in ("", "room")]
    raise unknown("reading or place", about, [*known, *things], where=traced.setup.name)


def _view(name: str) -> Telling:
    return Telling(f"the view in {name}", "middle grey")


def _reading(traced: TracedSetup, name: str, walls: dict[str, str]) -> PlaceRead:
    lit, said = traced.readings[name], the_name(name)
    reference = "key" if lit.unit == "lx" else "middle grey"
    telling = Telling(said, reference, walls=walls, place=said)
    seen = sees(traced, traced.probes[name])
    return PlaceRead(lit, telling, pictured=lit.unit != "lx", seen=seen)


def spot_meant(traced: TracedSetup, about: str) -> tuple[str, str] | None:
    """Whose place is meant and which, the key side unless another is said; None: no face's.

    Raises DocumentError for a place that a face has not.
    """
    low = about.casefold()
    things = (one for one in traced.stage.bodies if one and one not in traced.subjects)
    if any(same_name(one, about) for one in things):
        return None
    people = (n for n in traced.subjects if re.match(rf"{re.escape(n.casefold())}\b", low))
    person = next(people, None)
    bare = re.sub(r"^(?:'s|’s|\.)?\s*", "", about[len(person) :]) if person else about
    if not traced.subjects or not (person or low in _ALL_WORDS):
        return None
    person = person or traced.subjects[0]
    spot = bare.casefold()
    place = _SPOT_WORDS.get(spot, spot.replace(" ", "_"))
    if spot in ("", *_FACE_WORDS):
        place = "cheek_key"
    elif spot in _SHADOW_WORDS:
        place = "cheek_shadow"
    places = traced.stage.subjects[person].points
    if place not in places:
        raise unknown("place of a face", bare, places, where=person)
    return person, place


def _of_face(traced: TracedSetup, person: str, place: str, walls: dict[str, str]) -> PlaceRead:
    """A place of somebody's face."""
    places = traced.stage.subjects[person]
    name = f"{person}.{place}"
    if name not in traced.own:
        probe = Probe(
            name, "flat", places.points[place], places.normals[place], place=name, faces="square",
            material=f"skin of {person}", subject=person,
        )  # fmt: skip
        traced.read([probe])
    about = f"{person}'s {spot_text(place)}"
    telling = Telling(about, "key", walls=walls, place=about)
    return PlaceRead(traced.place(name), telling, seen=sees_face(traced, person))


# Windows ---------------------------------------------------------------------------------


def window_names(traced: TracedSetup) -> list[str]:
    """Openings that are sources of light."""
    sources = set(traced.layers.names)
    return [
        name
        for name, one in traced.document.openings.items()
        if name in sources and not isinstance(one, Door)
    ]


def window_views(traced: TracedSetup) -> list[Lit]:
    """What a spot meter reads from the camera in every window that it sees; cd/m²."""
    placer = Placer(traced.document)
    probes = []
    for name in window_names(traced):
        low, along, up = placer.opening_frame(name)
        shares = [(0.35, 0.6), (0.65, 0.6), (0.35, 0.35), (0.65, 0.35), (0.27, 0.7), (0.73, 0.7)]
        spots = np.array([low + a * along + b * up for a, b in shares])
        seen = in_sight(traced, spots)
        if seen.any():
            point = spots[int(np.argmax(seen))]
            toward = traced.view.eye - point
            probes.append(
                Probe(
                    name=name, instrument="spot", point=point,
                    normal=toward / np.linalg.norm(toward), place=name, faces="",
                    eye=traced.view.eye, view=traced.setup.camera,
                )
            )  # fmt: skip
    lits = traced.read(probes)
    return [one for one in lits.values() if one.light > 0.0]


# Surfaces --------------------------------------------------------------------------------


def _surface(
    traced: TracedSetup, low: str, walls: dict[str, str], *, high: bool
) -> PlaceRead | None:
    """A wall, the ceiling, the floor, the background or a thing, where it is brightest or mean."""
    names = list(_surfaces_called(traced, low, walls))
    if not names:
        return None
    probe, seen = surface_probe(traced, names, high=high)
    if probe is None:
        return None
    name = surface_text(probe.place, walls)
    lit = traced.in_picture(traced.read([probe])[probe.name])
    about = f"{name}, where it is brightest," if high else name
    return PlaceRead(
        lit, Telling(about, "middle grey", walls=walls, place=name), pictured=True, seen=seen
    )


def _surfaces_called(traced: TracedSetup, low: str, walls: dict[str, str]) -> Iterator[str]:
    """Surfaces that a word may mean."""
    used = {traced.stage.surfaces.names[n] for n in set(traced.stage.surfaces.face_name.tolist())}
    for name in sorted(used):
        thing, _, part = name.partition(": ")
        if thing == "room":
            called = {part.casefold(), walls.get(name, "").removeprefix("the ").casefold()}
            a_wall = bool(re.search(r"\bwall \d+$", part))
            if low in called or (low in ("wall", "walls", "background") and a_wall):
                yield name
        elif thing.casefold() == low:
            yield name


def surface_probe(
    traced: TracedSetup, names: list[str], *, high: bool
) -> tuple[Probe | None, bool]:
    """A flat receptor on surfaces where the camera sees most light, or the middle of it.

    Returns it and whether the camera sees it; None where there is no such surface.
    """
    stage = traced.stage
    surfaces = stage.surfaces
    numbers = [k for k, name in enumerate(surfaces.names) if name in names]
    mine = np.flatnonzero(np.isin(surfaces.face_name[surfaces.element_face], numbers))
    if not mine.size:
        return None, False
    points = surfaces.element_points[mine].astype(np.float64).mean(1)
    seen = in_sight(traced, points)
    if seen.any():
        mine, points = mine[seen], points[seen]
    level = sent_light(traced)[mine]
    area = surfaces.element_area_m2[mine].astype(np.float64)
    order = np.argsort(level)
    running = np.cumsum(area[order]) / area.sum()
    share = 1.0 - _HOT_SHARE if high else 0.5
    k = order[min(int(np.searchsorted(running, share)), len(order) - 1)]
    element = int(mine[k])
    normal = surfaces.element_normals[element].astype(np.float64).mean(0)
    normal /= np.linalg.norm(normal)
    face = surfaces.element_face[element]
    name = surfaces.names[surfaces.face_name[face]]
    point = surfaces.element_points[element, 0].astype(np.float64)
    probe = Probe(
        name=f"{name} at {point[0]:.2f}, {point[1]:.2f}, {point[2]:.2f}", instrument="flat",
        point=point + OFFSET_M * normal, normal=normal, place=name, faces="square",
        material=stage.material_names[surfaces.face_material[face]],
    )  # fmt: skip
    return probe, bool(seen.any())


def sent_light(traced: TracedSetup) -> Float64Array:
    """What leaves every element (e,) as the setup is dimmed, lm/m²."""
    count = traced.stage.surfaces.element_count
    weights = np.array(LUMINANCE_WEIGHTS)
    total = np.zeros(count)
    for s, name in enumerate(traced.layers.names):
        gain = traced.gains[name] * weights
        if gain.sum() > 0.0:
            total += gain @ traced.layers.solution.radiosity[s, :, :count].astype(np.float64)
    return total


def background(traced: TracedSetup, person: str) -> tuple[Lit, ...]:
    """What stands round a face behind it as the camera sees it, as it is pictured."""
    probes = [
        replace(probe, name=f"behind {person} {k}")
        for k, probe in enumerate(_behind(traced, person))
    ]
    return tuple(traced.in_picture(lit) for lit in traced.read(probes).values())


def behind_text(traced: TracedSetup, person: str) -> str:
    """What most of that is: "the back wall"."""
    names = [probe.place for probe in _behind(traced, person)]
    if not names:
        return "nothing"
    return surface_text(max(names, key=names.count), wall_words(traced))


def _behind(traced: TracedSetup, person: str) -> Iterator[Probe]:
    """Flat receptors on what is first met round a head, away from the camera."""
    stage, view, surfaces = traced.stage, traced.view, traced.stage.surfaces
    body = stage.bodies[person]
    face = stage.subjects[person].points["face"]
    for aside, rise in _ROUND_HEAD_M:
        way = face + aside * view.right + rise * view.up - view.eye
        way /= np.linalg.norm(way)
        hits = traced.layers.solution.scene.first_hit(
            view.eye.astype(np.float32)[None], way.astype(np.float32)[None]
        )
        if hits.triangle[0] < 0:
            continue
        face_met = int(surfaces.triangle_face[hits.triangle[0]])
        if body.faces[0] <= face_met < body.faces[1]:
            continue
        normal = hits.normal[0].astype(np.float64)
        normal /= np.linalg.norm(normal)
        normal *= 1.0 if float(normal @ way) < 0.0 else -1.0
        yield Probe(
            name="behind",
            instrument="flat",
            point=view.eye + float(hits.distance[0]) * way + OFFSET_M * normal,
            normal=normal,
            place=surfaces.names[surfaces.face_name[face_met]],
            faces="square",
            material=stage.material_names[surfaces.face_material[face_met]],
        )

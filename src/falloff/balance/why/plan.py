"""Complaints answered from a traced setup: each a measure, with what is usual for it."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from typing import Final

from falloff.balance.why.answers import Limit, Question, aim_of, answer
from falloff.balance.why.beam import beam_fixtures, why_beam
from falloff.balance.why.causes import leader_of
from falloff.balance.why.complaints import Complaint, same_name, unknown
from falloff.balance.why.cures import Cure, exposed_down, fill
from falloff.balance.why.eyes import eye_question
from falloff.balance.why.light import Lit, Measure
from falloff.balance.why.places import (
    WINDOW_WORDS,
    find_place,
    wall_words,
    window_names,
    window_views,
)
from falloff.balance.why.records import Why
from falloff.balance.why.scene import TracedSetup
from falloff.balance.why.sight import sees_face
from falloff.balance.why.targets import (
    edge_of,
    face_of,
    measured_targets,
    same_spot,
    target_of,
    target_over,
    target_question,
    wanted_here,
)
from falloff.balance.why.window import glass_text, later
from falloff.balance.why.words import Telling

# Where things begin to look wrong, in stops: common practice, no source.
FLAT_STOPS: Final = -1.0  # the shadow side over the key side: 2:1
HARSH_STOPS: Final = -2.0  # 4:1
WALL_OVER_FACE_STOPS: Final = 1.0  # as both are pictured
WALL_OVER_GREY_STOPS: Final = 1.0  # where there is no face
VIEW_OVER_FACE_STOPS: Final = 3.0
SHADOW_STOPS: Final = -2.0  # under key, where no target says else
_MOSTLY: Final = 0.5
_NATURAL: Final = "the 3 over a face that still look natural"
_TWO_TO_ONE: Final = "2:1, where a face begins to look flat"
_FOUR_TO_ONE: Final = "the 4:1 of a shaped face"


def why_plan(traced: TracedSetup, complaint: Complaint) -> tuple[Why, ...]:
    """What is wrong, of everybody and everything that a complaint may mean."""
    match complaint.kind:
        case "flat" | "harsh":
            people = people_meant(traced, complaint.about)
            high = complaint.kind == "flat"
            return tuple(answer(flat_question(traced, who, high=high)) for who in people)
        case "eyes":
            people = people_meant(traced, complaint.about)
            return tuple(answer(_eyes(traced, who)) for who in people)
        case "beam":
            names = beam_fixtures(traced, complaint.about)
            return tuple(why_beam(traced, name, complaint.toward) for name in names)
        case _:
            return tuple(answer(one) for one in _level_questions(traced, complaint))


def people_meant(traced: TracedSetup, about: str) -> tuple[str, ...]:
    """Whose face is meant: everybody's where nobody is named."""
    people = traced.subjects
    if not people:
        raise unknown(
            "person", about or "face", (), where=traced.setup.name,
            what="nobody is in this scene, so there is no face to judge",
        )  # fmt: skip
    if not about:
        return people
    found = tuple(name for name in people if same_name(name, about))
    if not found:
        raise unknown("person", about, people, where=traced.setup.name)
    return found


def _eyes(traced: TracedSetup, person: str) -> Question:
    """Somebody's eyes, and whether the camera sees them."""
    seen = sees_face(traced, person)
    return replace(
        eye_question(traced, person), notes=unseen_notes(traced, seen=seen), unseen=not seen
    )


def flat_question(traced: TracedSetup, person: str, *, high: bool = True) -> Question:
    """The shadow side of a face over its key side."""
    key, shadow = (traced.place(f"{person}.cheek_{side}") for side in ("key", "shadow"))
    telling = Telling(
        f"{person}'s shadow side", "the key side", walls=wall_words(traced), place="the shadow side"
    )
    usual = Limit(FLAT_STOPS, _TWO_TO_ONE) if high else Limit(HARSH_STOPS, _FOUR_TO_ONE)
    found = target_over(traced, f"{person}.cheek_shadow", f"{person}.cheek_key")
    limit, measure = edge_of(found, usual, high=high), Measure((shadow,), (key,))
    cures: tuple[Cure, ...] = ()
    if not high and not measure.dark:
        aim = aim_of(measure.stops(), limit.stops, high=False)
        cures = fill(measure, telling, min(0.0, aim), units=traced.document.units)
    return Question(
        complaint=f"{person}'s face {'flat' if high else 'contrasty'}",
        setup=traced.setup.name,
        measure=measure,
        telling=telling,
        high=high,
        limit=limit,
        cures=cures,
        known=traced.known(leader_of(key)),
        handles=traced.handles,
        black=traced.with_black,
        face=key,
        notes=unseen_notes(traced, seen=sees_face(traced, person)),
        unseen=not sees_face(traced, person),
    )


def _level_questions(traced: TracedSetup, complaint: Complaint) -> list[Question]:
    """A place as it is complained of; of a window, its view over the face besides."""
    found = [level_question(traced, complaint)]
    by_reading = any(same_name(name, complaint.about) for name in traced.readings)
    if complaint.kind == "bright" and by_reading and _is_window(traced, complaint.about):
        views = window_views(traced)
        hottest = max(views, key=lambda one: one.light, default=None)
        view = None if hottest is None else view_question(traced, hottest)
        found += [view] if view is not None else []
    return found


def level_question(traced: TracedSetup, complaint: Complaint) -> Question:
    """A place that is too bright or too dark."""
    high = complaint.kind == "bright"
    view = _view_meant(traced, complaint.about) if high else None
    if view is not None:
        return view
    place = find_place(traced, complaint.about, high=high)
    face = face_of(traced)
    on_face = face is not None and same_spot(traced, place.lit, face)
    found = target_of(traced, place.lit)
    question_face = None if on_face else face
    measure, telling = Measure((place.lit,)), place.telling
    notes = unseen_notes(traced, seen=place.seen)
    limit = Limit(0.0, "key") if not place.pictured else Limit(WALL_OVER_GREY_STOPS, "grey")
    if found is not None:
        limit = edge_of(found, limit, high=high)
    elif high and place.pictured and face is not None:
        person = face.name.split(".")[0]
        measure = Measure((place.lit,), (traced.in_picture(face),))
        telling = Telling(
            telling.about, f"{person}'s face", walls=telling.walls, place=telling.place
        )
        limit = Limit(WALL_OVER_FACE_STOPS, "the stop over a face where a wall takes the eye")
        if _looked_into(place.lit):
            limit = Limit(VIEW_OVER_FACE_STOPS, _NATURAL)
    elif place.pictured:
        stops = WALL_OVER_GREY_STOPS if high else SHADOW_STOPS
        side = "over" if high else "under"
        limit = Limit(stops, f"{abs(stops):g} {side} middle grey")
    elif not high and not on_face:
        limit = Limit(SHADOW_STOPS, "2 under key")
    return Question(
        complaint=f"{place.telling.place if place.pictured else place.telling.about} "
        f"{'too bright' if high else 'too dark'}".replace("it too", f"{complaint.about} too"),
        setup=traced.setup.name,
        measure=measure,
        telling=telling,
        high=high,
        limit=limit,
        known=traced.known(None, *(() if high else measure.over)),
        handles=traced.handles,
        black=traced.with_black,
        face=question_face,
        cures=exposed_down(measure, telling, limit.stops) if on_face and high else (),
        notes=notes,
        unseen=not place.seen,
        face_room_stops=_room_stops(face) if measure.under else math.inf,
    )


def _room_stops(face: Lit | None) -> float:
    """How far a face is under key: as far as it may be raised for something else's sake."""
    return math.inf if face is None else max(0.0, -Measure((face,)).stops())


def unseen_notes(traced: TracedSetup, *, seen: bool) -> tuple[str, ...]:
    """That a setup's camera does not see what is complained of, as a clause; none where it does."""
    return () if seen else (f"{traced.setup.camera} does not see it",)


def _looked_into(lit: Lit) -> bool:
    """Whether a spot meter looks into a light or a window there, not at what they light."""
    return lit.unit != "lx" and any(lit.share(one.direct) > _MOSTLY for one in lit.given)


# Windows ---------------------------------------------------------------------------------


def _view_meant(traced: TracedSetup, about: str) -> Question | None:
    """A window that is too bright; None where something else is meant, or no face is there."""
    if not _is_window(traced, about):
        return None
    if any(same_name(name, about) for name in traced.readings):
        return None
    place = find_place(traced, about, high=True)
    return view_question(traced, place.lit)


def _is_window(traced: TracedSetup, about: str) -> bool:
    names = window_names(traced)
    return about.casefold() in WINDOW_WORDS or any(same_name(name, about) for name in names)


def view_question(traced: TracedSetup, view: Lit) -> Question | None:
    """A view over the face, as both are pictured; None where there is no face."""
    face = face_of(traced)
    if face is None:
        return None
    person = face.name.split(".")[0]
    grey = Measure((view,)).stops()
    room = traced.setup.settings.highlight_stops
    clips = (
        (f"at {grey:.1f} over middle grey it is past what the camera holds, {room:g}",)
        if grey > room
        else ()
    )
    measure = Measure((view,), (traced.in_picture(face),))
    telling = Telling(
        f"the view in {view.name}", f"{person}'s face", walls=wall_words(traced), place="the view"
    )
    glass = glass_text(traced, view.name)
    hours = None
    if measure.stops() > VIEW_OVER_FACE_STOPS:
        hours = later(traced, view.name, measure, telling, VIEW_OVER_FACE_STOPS)
    return Question(
        complaint=f"{view.name} too bright",
        setup=traced.setup.name,
        measure=measure,
        telling=telling,
        high=True,
        limit=Limit(VIEW_OVER_FACE_STOPS, _NATURAL),
        known=traced.known(leader_of(face)),
        handles=traced.handles,
        black=traced.with_black,
        face=face,
        cures=() if hours is None else (hours,),
        notes=(*clips, *((glass,) if glass else ())),
        face_room_stops=_room_stops(face),
    )


# Everything ------------------------------------------------------------------------------


def all_questions(traced: TracedSetup) -> Iterator[Question]:
    """Every complaint that can be made of a setup without being asked: targets first."""
    for name, target in traced.document.level_targets.items():
        if not wanted_here(traced, target):
            continue
        question = target_question(traced, name, target)
        if question is not None:
            yield question
    yield from measured_targets(traced)
    for person in traced.subjects:
        yield from _of_person(traced, person)
    for view in window_views(traced):
        found = view_question(traced, view)
        if found is not None:
            yield found
    if wall_words(traced) and face_of(traced) is not None:
        wall = level_question(traced, Complaint("bright", "wall"))
        if not wall.unseen and not wall.limit.target:  # that is told already
            yield wall


def _of_person(traced: TracedSetup, person: str) -> Iterator[Question]:
    """What can be complained of somebody's face, where the camera sees it."""
    if not sees_face(traced, person):
        return
    flat = flat_question(traced, person)
    if not flat.limit.target:
        yield flat
    yield eye_question(traced, person)

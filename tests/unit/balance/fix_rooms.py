"""Small rooms with something that no dim brings in, and their fixes weighed and traced."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from falloff.balance.fixes.candidates import Candidate
from falloff.balance.fixes.confirming import TakenFix, confirm
from falloff.balance.fixes.find import candidates_of
from falloff.balance.fixes.start import FixCase, Start, start_of
from falloff.balance.fixes.weighing import Weighed, fix_of, weigh
from falloff.balance.posing import Posed
from falloff.document import Edit, arranged, parse_document
from falloff.layers import trace_layers
from falloff.session.fixes import case_of
from falloff.session.scene import known_names, setup_light
from falloff.stage import build_stage

# 10 x 12 x 8 ft.
PALE = """falloff: 2
title: Pale room
units: metric
room:
  floor: [[0 m, 0 m], [3.05 m, 0 m], [3.05 m, 3.66 m], [0 m, 3.66 m]]
  height: 2.44 m
  floor_surface: {floor}
  ceiling_surface: white paint
  wall_surface: white paint
openings:
  WINDOW: {{wall: 2, along: 2.2 m, width: 0.9 m, sill: 1.0 m, height: 0.9 m, glass: 0.85}}
location: {{latitude: 52.2 N, longitude: 1.4 W, zone: Europe/London}}
sky: {{type: overcast, at: 2026-03-24 13:30, colour: 6500 K, ground: 0.2, north: 65 deg}}
subjects:
  ANNA: {{figure: woman seated, at: [1.5 m, 2.2 m], facing: 270 deg, skin: 0.33, hair: brown hair,
         top: grey cotton, trousers: dark denim, seat: oak}}
fixtures:
{fixtures}
cameras:
  CAM: {{at: [1.9 m, 0.3 m, 1.3 m], aim: ANNA.face, lens: 50 mm, gate: super 35}}
setups:
  WIDE: {{camera: CAM, stop: T2.8, iso: 800, shutter: 180 deg, key: key cheek}}
readings:
  key cheek: {{at: ANNA.cheek_key}}
  shadow cheek: {{at: ANNA.cheek_shadow}}
  wall: {{at: {{wall: 3, along: 1.5 m, height: 1.7 m}}}}
  table: {{at: [2.4 m, 1.8 m, 0.7 m], normal: [0, 0, 1]}}
  view: {{at: [3.05 m, 2.65 m, 1.45 m], instrument: spot}}
targets:
{targets}
"""
SOFT = (
    "  KEY: {light: soft box, size: [60 cm, 60 cm], depth: 30 cm, output: 2000 lm, colour: 5600 K, "
    "at: [0.6 m, 1.1 m, 1.7 m], aim: ANNA.face, stand: true}"
)
SPOT = (
    "  BACK: {light: open face, profile: open-face spot, aperture: 12 cm, output: 900 lm, "
    "colour: 5600 K, at: [2.6 m, 1.4 m, 2.0 m], aim: [1.5 m, 3.66 m, 1.6 m], stand: true}"
)
TOO_BRIGHT = """  face: {reading: key cheek, level: 1 stop}
  contrast: {reading: shadow cheek, level: -3.5 stops, over: key cheek}
  wall low: {reading: wall, level: -3 stops, limit: at most}
  view low: {reading: view, level: 1 stop, limit: at most}"""


def pale_room(
    *, fixtures: Sequence[str] = (SOFT, SPOT), targets: str = TOO_BRIGHT, floor: str = "oak"
) -> str:
    """The pale room's text."""
    return PALE.format(fixtures="\n".join(fixtures), targets=targets, floor=floor)


@dataclass
class Fixed:
    """A scene's text, traced where it is asked for, from nothing and without a cache."""

    text: str
    path: str = "room.scene.yaml"

    @cached_property
    def start(self) -> Start:
        """With its best dims."""
        return start_of(self.case)

    @cached_property
    def case(self) -> FixCase:
        """Its first arrangement of setups."""
        document = parse_document(self.text, self.path, known=known_names())
        return case_of(self.traced(()), document, self.text)

    @cached_property
    def candidates(self) -> list[Candidate]:
        """What is weighed."""
        return candidates_of(self.start)

    def candidate(self, says: str) -> Candidate:
        """The candidate whose words begin so."""
        found = [one for one in self.candidates if one.says.startswith(says)]
        assert found, f"no candidate {says!r}: {[one.says for one in self.candidates]}"
        return found[0]

    def weighed(self, says: str) -> Weighed:
        """The first candidate that begins so and can stand, weighed."""
        for one in self.candidates:
            if one.says.startswith(says):
                found = weigh(self.start, one)
                if found is not None:
                    return found
        raise AssertionError(f"no {says!r} can stand: {[one.says for one in self.candidates]}")

    def confirmed(self, says: str) -> TakenFix:
        """The same traced from nothing."""
        return self.confirm(self.weighed(says))

    def confirm(self, one: Weighed) -> TakenFix:
        """A weighed fix traced from nothing."""
        taken = TakenFix(fix_of(self.start, one), one.candidate.edits, one)
        return confirm(self.start, taken, self.traced)

    def traced(self, edits: Sequence[Edit]) -> tuple[Posed, ...]:
        """The setups traced after edits."""
        if edits:
            document = self.case.edited(edits)
        else:
            document = parse_document(self.text, self.path, known=known_names())
        after = arranged(document, next(iter(document.setups)))
        layers = trace_layers(build_stage(after), sizes={})
        return tuple(Posed(after, name, setup_light(after, name), layers) for name in after.setups)


def written(folder: Path, text: str) -> Path:
    """A scene file."""
    path = folder / "room.scene.yaml"
    path.write_text(text, encoding="utf-8")
    return path

"""Sheets, panes, a blind and a mirror against two renderers that share nothing with ours.

Source: tests/reference/witness, sheets*.py and data_sheets: the rooms below written by hand three
times over, here, in Mitsuba's language and in Radiance's. Bar: every reading within 0.05 stop,
judged by √(d² − σ²), σ being the standard errors of both sides together and d the difference.
The tables (pytest -rP) show the plain differences.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pytest
from numpy.testing import assert_allclose
from tests.reference.scenes.stages import WHITE, stage_of
from tests.reference.witness import sheets_load

from falloff.document import parse_document
from falloff.photometry import round_beam
from falloff.sources import Source, beam, panel
from falloff.stage import Cloth, Grain, Probe, Stage, View
from falloff.stage.build import build_stage
from falloff.stage.dice import PieceBuilder
from falloff.stage.records import Piece
from falloff.stage.solids import add_box
from falloff.transport import (
    Budget,
    Solution,
    picture_bounced,
    picture_direct,
    trace,
    trace_probes,
    trace_view,
)
from falloff.types import Float64Array

X, Y, Z = np.eye(3)
BAR_STOP = 0.05
# Elements of 5 cm: beside a pane the light on a sheet falls off within its distance from it.
SHEET_GRAIN = Grain(patch_m=0.25, element_m=0.05)
# An opaque cloth leaves only what escapes from the gap between it and the wall, 9 cm wide.
GAP_GRAIN = Grain(patch_m=0.05, element_m=0.025)
STOPS = 1.0 / math.log(2.0)
REFLECTANCES = {"floor": 0.20, "ceiling": 0.85, "wall": 0.70, "chest": 0.35, "black": 0.0}

SHEETS = {
    "bare": (),
    "sheet": ((0.094, 0.25, 0.35, 0.30),),
    "straight": ((0.094, 0.25, 0.0, 0.0),),
    "scatter": ((0.094, 0.0, 0.35, 0.0),),
    "opaque": ((0.094, 0.0, 0.0, 0.30),),
    "two": ((0.094, 0.25, 0.35, 0.30), (0.30, 0.40, 0.30, 0.20)),
}
PANES = {"reveal": 0, "pane": 1, "panes": 2}

# name, point on the surface, outward normal
BY_WINDOW = (
    ("floor by window", (3.0, 4.5, 0.0), Z),
    ("floor, middle", (2.5, 2.5, 0.0), Z),
    ("chest, top", (4.5, 3.0, 0.9), Z),
    ("chest to window", (4.5, 3.3, 0.5), Y),
    ("chest from window", (4.5, 2.7, 0.45), -Y),
    ("ceiling, middle", (3.0, 2.5, 2.7), -Z),
    ("ceiling by window", (3.0, 4.6, 2.7), -Z),
    ("wall left", (0.0, 3.5, 1.5), X),
    ("wall left, glancing", (0.0, 4.6, 1.6), X),
    ("wall near", (3.0, 0.0, 1.5), Y),
    ("wall right", (6.0, 1.5, 1.2), -X),
    ("wall beside window", (1.2, 5.0, 1.5), -Y),
)
BY_FRAME = (
    ("spot, middle", (3.0, 5.0, 1.16), -Y),
    ("spot, inside", (3.4, 5.0, 1.16), -Y),
    ("spot, edge", (3.0, 5.0, 2.00), -Y),
    ("wall beside spot", (1.2, 5.0, 1.5), -Y),
    ("floor behind", (3.0, 3.2, 0.0), Z),
    ("floor before", (3.0, 1.4, 0.0), Z),
    ("ceiling behind", (3.0, 3.2, 2.7), -Z),
    ("ceiling before", (3.0, 1.4, 2.7), -Z),
    ("chest, top", (4.5, 3.0, 0.9), Z),
    ("wall left behind", (0.0, 3.5, 1.5), X),
    ("wall left before", (0.0, 1.0, 1.5), X),
    ("wall near", (4.5, 0.0, 1.5), Y),
)


# The rooms, by hand ----------------------------------------------------------------------


def _walls(*, hole: bool, ring: Grain | None = None) -> PieceBuilder:
    """6 × 5 × 2.7 m and a chest; the wall y = 5 whole, or in pieces round the window.

    ring: how the 30 cm of wall round the window are cut.
    """
    room = PieceBuilder("room", Grain())

    def add(material: str, corner: tuple[float, ...], u: Float64Array, v: Float64Array) -> None:
        room.add_rectangle(np.array(corner), edge_u=u, edge_v=v, material=material)

    add("floor", (0.0, 0.0, 0.0), 6.0 * X, 5.0 * Y)
    add("ceiling", (0.0, 0.0, 2.7), 5.0 * Y, 6.0 * X)
    add("wall", (0.0, 0.0, 0.0), 5.0 * Y, 2.7 * Z)
    add("wall", (6.0, 0.0, 0.0), 2.7 * Z, 5.0 * Y)
    add("wall", (0.0, 0.0, 0.0), 2.7 * Z, 6.0 * X)
    if hole:
        add("wall", (0.0, 5.0, 0.0), 2.1 * X, 2.7 * Z)
        add("wall", (3.9, 5.0, 0.0), 2.1 * X, 2.7 * Z)
        add("wall", (2.1, 5.0, 0.0), 1.8 * X, 0.6 * Z)
        with room.cut_by(ring or room.grain):
            add("wall", (2.1, 5.0, 0.6), 0.3 * X, 2.1 * Z)
            add("wall", (3.6, 5.0, 0.6), 0.3 * X, 2.1 * Z)
            add("wall", (2.4, 5.0, 0.6), 1.2 * X, 0.3 * Z)
            add("wall", (2.4, 5.0, 2.4), 1.2 * X, 0.3 * Z)
    else:
        add("wall", (0.0, 5.0, 0.0), 6.0 * X, 2.7 * Z)
    add_box(room, np.array([4.5, 3.0, 0.45]), (X, Y, Z), (0.8, 0.6, 0.9), "chest", "chest")
    return room


def _window(room: PieceBuilder, y: float) -> Source:
    """1.2 × 1.5 m of 1000 cd/m², and its reveals where it stands deeper than the wall."""
    corner = np.array([2.4, y, 0.9])
    room.add_rectangle(corner, edge_u=1.2 * X, edge_v=1.5 * Z, material="black", source="window")
    deep = y - 5.0
    if deep > 0.0:
        for at, u, v in (
            ((2.4, 5.0, 0.9), deep * Y, 1.5 * Z),
            ((3.6, 5.0, 0.9), 1.5 * Z, deep * Y),
            ((2.4, 5.0, 0.9), 1.2 * X, deep * Y),
            ((2.4, 5.0, 2.4), deep * Y, 1.2 * X),
        ):
            room.add_rectangle(np.array(at), edge_u=u, edge_v=v, material="wall")
    flux = math.pi * 1000.0 * 1.2 * 1.5
    return panel("window", corner, edge_u=1.2 * X, edge_v=1.5 * Z, flux_lm=flux, colour=WHITE)


def _cloth(name: str, corner: tuple[float, float, float], size: tuple[float, float],
           nature: tuple[float, float, float]) -> Piece:  # fmt: skip
    straight, scattered, reflected = nature
    fabric = Cloth(straight, np.full(3, scattered), np.full(3, reflected))
    builder = PieceBuilder(name, SHEET_GRAIN)
    builder.add_fabric(
        np.array(corner), edge_u=size[0] * X, edge_v=size[1] * Z, fabric=fabric, name=name
    )
    return builder.build()


def _probes(
    places: tuple[tuple[str, tuple[float, float, float], Float64Array], ...],
) -> list[Probe]:
    return [
        Probe(name, "flat", np.array(point) + 1e-3 * normal, normal)
        for name, point, normal in places
    ]


def sheet_stage(case: str) -> Stage:
    """The window with sheets before it."""
    room = _walls(hole=True, ring=GAP_GRAIN if case == "opaque" else None)
    source = _window(room, 5.0)
    hung = [
        _cloth(f"cloth {k}", (2.2, 5.0 - gap, 0.775), (1.6, 1.75), (straight, scattered, back))
        for k, (gap, straight, scattered, back) in enumerate(SHEETS[case])
    ]
    return stage_of([room.build(), *hung], sources=[source], reflectances=REFLECTANCES,
                    probes=_probes(BY_WINDOW))  # fmt: skip


def pane_stage(case: str) -> Stage:
    """The window in a reveal of 5 cm, with panes of clear glass in the middle of it."""
    room = _walls(hole=True)
    source = _window(room, 5.05)
    if PANES[case]:
        # passes: a share of what panes without loss pass at right angles, whatever their number
        room.add_pane(np.array([2.4, 5.025, 0.9]), edge_u=1.2 * X, edge_v=1.5 * Z, passes=1.0,
                      panes=PANES[case])  # fmt: skip
    return stage_of([room.build()], sources=[source], reflectances=REFLECTANCES,
                    probes=_probes(BY_WINDOW))  # fmt: skip


def frame_stage(case: str) -> Stage:
    """A frame of 1.2 × 1.2 m in the middle of the room, a hard beam through it."""
    straight = 0.0 if case == "frame_scatter" else 0.25
    cloth = _cloth("frame", (2.4, 2.2, 1.1), (1.2, 1.2), (straight, 0.35, 0.30))
    even, end = math.radians(9.0), math.radians(12.0)
    # pencil: flux of I0 out to the even angle b, then linear in angle to nothing at c
    flux = 20000.0 * 2.0 * math.pi * (1.0 - (math.sin(end) - math.sin(even)) / (end - even))
    axis = np.array([0.0, 3.4, -0.65]) / math.hypot(3.4, 0.65)
    spot = beam(
        "spot",
        np.array([3.0, 0.6, 2.0]),
        axis=axis,
        aperture_m=0.01,
        profile=round_beam(np.array([0.0, even, end]), np.array([1.0, 1.0, 0.0])),
        flux_lm=flux,
        colour=WHITE,
    )
    return stage_of([_walls(hole=False).build(), cloth], sources=[spot],
                    reflectances=REFLECTANCES, probes=_probes(BY_FRAME))  # fmt: skip


def mirror_stage(case: str) -> Stage:
    """An even lamp of 4000 cd/m², black behind, and a mirror 2 m wide on the wall x = 0.

    It looks at the mirror, or up from a height of 2 m with the mirror wholly below.
    """
    room = _walls(hole=False)
    if case == "mirror_bounce":
        corner, u, v = np.array([4.3, 0.55, 2.0]), 0.6 * X, 0.9 * Y
    else:
        corner, u, v = np.array([4.6, 0.55, 1.4]), 0.6 * Z, 0.9 * Y
    facing = np.cross(u, v) / (0.6 * 0.9)
    room.add_rectangle(corner, edge_u=u, edge_v=v, material="black", source="lamp")
    room.add_rectangle(corner - 1e-4 * facing, edge_u=v, edge_v=u, material="black")
    flux = math.pi * 4000.0 * 0.9 * 0.6
    lamp = panel("lamp", corner, edge_u=u, edge_v=v, flux_lm=flux, colour=WHITE)
    if case != "no_mirror":
        low, high = (0.3, 1.7) if case == "mirror_bounce" else (0.6, 2.2)
        room.add_mirror(np.array([0.005, 1.5, low]), edge_u=2.0 * Y, edge_v=(high - low) * Z,
                        reflectance=0.85)  # fmt: skip
    return stage_of([room.build()], sources=[lamp], reflectances=REFLECTANCES,
                    probes=_probes(BY_WINDOW))  # fmt: skip


BLIND_SCENE = """
falloff: 1
title: Blind
units: metric
room:
  floor: [[0 m, 0 m], [6 m, 0 m], [6 m, 5 m], [0 m, 5 m]]
  height: 2.7 m
  wall_thickness: 0.2 m
  floor_surface: floor 20
  ceiling_surface: ceiling 85
  wall_surface: wall 70
openings:
  WINDOW:
    wall: 3
    along: 2.4 m
    width: 1.2 m
    sill: 0.9 m
    height: 1.5 m
    dressing: [{kind: blind, slat: 5 cm, pitch: 4.5 cm, tilt: 30 deg, surface: slat 60}]
materials:
  floor 20: {reflectance: 0.20}
  ceiling 85: {reflectance: 0.85}
  wall 70: {reflectance: 0.70}
  chest 35: {reflectance: 0.35}
  slat 60: {reflectance: 0.60}
sky: {type: overcast, outside: 12000 lx, colour: 6500 K, ground: 0.2}
props:
  CHEST: {shape: box, size: [0.8 m, 0.6 m, 0.9 m], at: [4.5 m, 3 m], surface: chest 35}
cameras:
  A: {at: [2 m, 0.4 m, 1.3 m], aim: [2 m, 3 m, 1.3 m], lens: 35 mm}
"""


def blind_stage(_case: str) -> Stage:
    """The document's own blind, in the window of a wall 20 cm thick under an overcast sky."""
    return build_stage(parse_document(BLIND_SCENE, "blind.scene.yaml"))


STAGES: dict[str, Callable[[str], Stage]] = (
    dict.fromkeys(SHEETS, sheet_stage)
    | dict.fromkeys(PANES, pane_stage)
    | dict.fromkeys(("frame", "frame_scatter"), frame_stage)
    | dict.fromkeys(("mirror", "no_mirror", "mirror_bounce"), mirror_stage)
    | {"blind": blind_stage}
)


# Readings --------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Against:
    """Our readings (12,) of a case beside another renderer's, in stops."""

    stops: Float64Array
    error_stop: Float64Array

    def judged(self) -> Float64Array:
        """What is left of the differences without the noise of both sides."""
        return np.asarray(np.sqrt(np.maximum(0.0, self.stops**2 - self.error_stop**2)))


def our_readings(case: str, budget: Budget) -> tuple[Float64Array, Float64Array]:
    """Mean and standard error (12,) in lx."""
    stage = STAGES[case](case)
    probes = stage.probes or tuple(_probes(BY_WINDOW))
    light = trace_probes(trace(stage, budget), probes)
    whole = (light.direct + light.bounced)[0, :, 1]
    return whole.mean(-1), whole.std(-1, ddof=1) / math.sqrt(whole.shape[-1])


def against(case: str, renderer: str, ours: tuple[Float64Array, Float64Array]) -> Against:
    """Differences to a renderer's readings, and a table of them."""
    theirs = sheets_load.load_readings(case, renderer=renderer)
    stops = np.log2(ours[0] / theirs.mean)
    error = STOPS * np.hypot(ours[1] / ours[0], theirs.standard_error / theirs.mean)
    names = [name for name, _, _ in (BY_FRAME if case.startswith("frame") else BY_WINDOW)]
    print(f"\n{case} against {renderer:<8}  ours       ±   theirs       ±    stops    σ")
    for k, name in enumerate(names):
        print(
            f"{name:>22} {ours[0][k]:9.2f} {ours[1][k]:7.2f} {theirs.mean[k]:9.2f} "
            f"{theirs.standard_error[k]:7.2f} {stops[k]:8.4f} {error[k]:6.4f}"
        )
    print(f"{'mean':>22} {stops.mean():.4f} ± {math.sqrt((error**2).sum()) / len(stops):.4f}")
    return Against(stops, error)


@pytest.mark.parametrize(
    "case", [*SHEETS, "reveal", "frame_scatter", "blind", "mirror", "mirror_bounce"]
)
def test_readings_against_a_path_tracer(case: str) -> None:
    """Every reading within the bar, and no common factor missing: the mean within 0.015 stop."""
    found = against(case, "readings", our_readings(case, Budget()))
    seen = _worth_reading(case)
    assert found.judged()[seen].max() <= BAR_STOP
    noise = math.sqrt(float((found.error_stop[seen] ** 2).sum())) / int(seen.sum())
    assert abs(float(found.stops[seen].mean())) <= 0.015 + 2.0 * noise


@pytest.mark.parametrize("case", ["pane", "panes"])
def test_readings_through_panes(case: str) -> None:
    """The same bar, once the renderer's own law of a pane is allowed for.

    Its thin pane takes the mean of both polarisations before it sums the inner bounces. What that
    takes off the direct light, and off all that comes in and so off the bounce, is worked out here
    and taken off ours.
    """
    mean, error = our_readings(case, Budget())
    found = against(case, "readings", (mean - _lost_by_thin_law(PANES[case], mean), error))
    assert found.judged().max() <= BAR_STOP
    assert abs(float(found.stops.mean())) <= 0.02


def _lost_by_thin_law(panes: int, light: Float64Array) -> Float64Array:
    """Of light (12,) lx by Fresnel's formulas what the mean reflectance r of a face has not.

    pencil: m panes pass (1 − r)/(1 + (2m − 1)r) of each polarisation, of which ours is the mean;
    the renderer's one pane passes τ = (1 − r)/(1 + r) of the mean r, m panes τ/(τ + m(1 − τ)).
    A midpoint sum over the window, seen through the reveal's mouth.
    """
    x, z = np.meshgrid(2.4 + 1.2 * _middles(300), 0.9 + 1.5 * _middles(375))
    lost, direct = np.zeros(len(BY_WINDOW)), np.zeros(len(BY_WINDOW))
    for k, (_, point, normal) in enumerate(BY_WINDOW):
        start = np.array(point) + 1e-3 * normal
        if start[1] > 4.99:
            continue
        way = np.stack([x - start[0], np.full_like(x, 5.05 - start[1]), z - start[2]], -1)
        distance = np.linalg.norm(way, axis=-1)
        mouth = start + (5.0 - start[1]) / way[..., 1:2] * way
        seen = (np.abs(mouth[..., 0] - 3.0) < 0.6) & (np.abs(mouth[..., 2] - 1.65) < 0.75)
        facing, across = np.maximum(0.0, way @ normal) / distance, way[..., 1] / distance
        exact, thin = _two_laws(across, panes)
        falls = 1000.0 * 1.8 * seen * facing * across / distance**2
        lost[k], direct[k] = (falls * (exact - thin)).mean(), (falls * exact).mean()
    cosine = _middles(2000)
    exact, thin = _two_laws(cosine, panes)
    of_all = 1.0 - float((thin * cosine).sum() / (exact * cosine).sum())
    return lost + of_all * (light - direct)


def _two_laws(cosine: Float64Array, panes: int) -> tuple[Float64Array, Float64Array]:
    """What panes pass at angles: each polarisation by itself, and by the mean of both first."""
    inside = np.sqrt(1.0 - (1.0 - cosine**2) / 1.52**2)
    s = ((cosine - 1.52 * inside) / (cosine + 1.52 * inside)) ** 2
    p = ((1.52 * cosine - inside) / (1.52 * cosine + inside)) ** 2
    faces = 2.0 * panes - 1.0
    exact = 0.5 * ((1.0 - s) / (1.0 + faces * s) + (1.0 - p) / (1.0 + faces * p))
    thin = (1.0 - 0.5 * (s + p)) / (1.0 + 0.5 * (s + p))
    return exact, thin / (thin + panes * (1.0 - thin))


def _middles(count: int) -> Float64Array:
    return (np.arange(count) + 0.5) / count


@pytest.mark.parametrize("case", ["sheet", "straight", "two", "frame", "pane"])
def test_readings_against_a_third_renderer(case: str) -> None:
    """The same bar; a point source's light goes straight through a sheet in Radiance only.

    Two panes are left out: it loses light that passes to and fro between them.
    """
    found = against(case, "radiance", our_readings(case, Budget()))
    assert found.judged().max() <= BAR_STOP


def test_what_leaks_past_an_opaque_sheet() -> None:
    """Under 4 % of the window's light is left: its noise in Radiance is near the bar itself.

    So the mean of all twelve is held, within 0.04 stop (three standard errors), and no reading may
    lie three of its own errors off.
    """
    found = against("opaque", "radiance", our_readings("opaque", Budget()))
    assert abs(float(found.stops.mean())) <= 0.04
    assert np.abs(found.stops / found.error_stop).max() <= 3.0


def _worth_reading(case: str) -> np.ndarray:
    """Without the receptor behind the mirror's very edge."""
    seen = np.ones(12, np.bool_)
    if case.startswith("mirror"):
        seen[7] = False
    return seen


def test_a_hard_beam_punches_straight_through_a_frame() -> None:
    """Pencil: T · I cosθ/d² in the middle of the spot, whatever the sheet scatters besides."""
    stage = frame_stage("frame")
    light = trace_probes(trace(stage, Budget()), stage.probes)
    for k, name in enumerate(("spot, middle", "spot, inside")):
        way = stage.probes[k].point - np.array([3.0, 0.6, 2.0])
        distance = float(np.linalg.norm(way))
        expected = 0.25 * 20000.0 * way[1] / distance**3
        assert_allclose(light.direct[0, k, 1].mean(), expected, rtol=2e-3, err_msg=name)
    outside = light.direct[0, 3:, 1].mean(-1)
    assert outside.max() <= 1e-6 * light.direct[0, 0, 1].mean()


# Blocks of pictures ----------------------------------------------------------------------

CAMERAS = {
    "sheet": ((3.6, 0.35, 1.5), (2.8, 5.0, 1.4)),
    "mirror_bounce": ((5.5, 4.6, 1.5), (0.0, 2.0, 1.2)),
}
# What a camera sees by way of: the plane's axis and place, and the rectangle in it.
FLATS = {
    "sheet": (1, 4.906, ((2.2, 3.8), (0.775, 2.525))),
    "mirror_bounce": (0, 0.005, ((1.5, 3.5), (0.3, 1.7))),
}


@pytest.mark.parametrize("case", ["sheet", "mirror_bounce"])
def test_blocks(case: str) -> None:
    """6 × 6 pixels of 240 × 138: median ≤ 0.03 and 99th percentile ≤ 0.15 stop, seen or by way."""
    witness = sheets_load.load_blocks(case)
    stage, view = STAGES[case](case), _view(case)
    solution = trace(stage, Budget())
    ours = _blocks(solution, view)
    stops = np.log2(ours / witness.mean)
    error = STOPS * witness.standard_error / witness.mean
    judged = np.sqrt(np.maximum(0.0, stops**2 - error**2))
    by_way = _by_way(case, view)
    for label, picked in (("by way", by_way == 1.0), ("else", by_way == 0.0)):
        size, own = np.abs(stops[picked]), judged[picked]
        print(
            f"{case}, {label}: {int(picked.sum())} blocks; plain median {np.median(size):.4f}, "
            f"99 % {np.quantile(size, 0.99):.4f}; judged {np.median(own):.4f}, "
            f"{np.quantile(own, 0.99):.4f}; mean {stops[picked].mean():.4f}; "
            f"witness's error {np.median(error[picked]):.4f}"
        )
        assert picked.sum() > 50
        assert np.median(own) <= 0.03
        assert np.quantile(own, 0.99) <= 0.15
        assert abs(float(stops[picked].mean())) <= 0.03


def _view(case: str) -> View:
    eye, target = (np.array(end) for end in CAMERAS[case])
    forward = (target - eye) / np.linalg.norm(target - eye)
    right = np.cross(forward, Z)
    right /= np.linalg.norm(right)
    half = math.tan(math.radians(31.0))
    return View("A", eye, forward, right, np.cross(right, forward), half, half * 138.0 / 240.0)


def _blocks(solution: Solution, view: View) -> Float64Array:
    seen = trace_view(solution, view, width=240, height=138)
    picture = picture_direct(seen, solution.stage, 0).astype(np.float64)
    picture += picture_bounced(seen, solution, solution.radiosity[0], solution.hot[0])
    size = sheets_load.BLOCK
    shape = (138 // size, size, 240 // size, size)
    return np.asarray(picture[:, :, 1].reshape(shape).mean((1, 3)))


def _by_way(case: str, view: View) -> Float64Array:
    """The share of each block that the sheet or the mirror fills, by nine rays a pixel."""
    axis, place, sides = FLATS[case]
    across = (np.arange(720) + 0.5) / 360.0 - 1.0
    down = 1.0 - (np.arange(414) + 0.5) / 207.0
    way = (
        view.forward
        + view.tan_half_width * across[None, :, None] * view.right
        + view.tan_half_height * down[:, None, None] * view.up
    )
    at = view.eye + (place - view.eye[axis]) / way[..., axis : axis + 1] * way
    others = [k for k in range(3) if k != axis]
    inside = np.ones(at.shape[:2], np.bool_)
    for k, (low, high) in zip(others, sides, strict=True):
        inside &= (at[..., k] >= low) & (at[..., k] <= high)
    return np.asarray(inside.reshape(23, 18, 40, 18).mean((1, 3)))


# The witness itself ----------------------------------------------------------------------


def test_the_renderer_knows_such_a_sheet() -> None:
    """Closed forms: an even sky of 10 000 lx, a sheet of 0.9 × 0.9 m, alone or over a black well.

    pencil: without loss it changes nothing; over the well, 1.2 m deep, it is a matte rectangle:
    (T + S) E F, F by its four parts.
    """
    found = sheets_load.load_checks()
    middle = 4.0 * _corner_factor(0.45, 0.45, 1.2)
    aside = sum(_corner_factor(a, b, 1.2) for a in (0.85, 0.05) for b in (0.85, 0.05))
    for name, expected in (
        ("furnace", 10_000.0),
        ("straight", 0.25 * 10_000.0 * middle),
        ("scattered", 0.5 * 10_000.0 * middle),
        ("scattered, corner", 0.5 * 10_000.0 * aside),
        ("both, corner", 0.6 * 10_000.0 * aside),
    ):
        mean, error = found[name]
        assert_allclose(mean, expected, rtol=1e-3, atol=3.0 * error, err_msg=name)


def _corner_factor(a: float, b: float, h: float) -> float:
    """Of a small flat piece under the corner of a level rectangle a × b at height h."""
    x, y = a / h, b / h
    u, v = math.sqrt(1.0 + x * x), math.sqrt(1.0 + y * y)
    return (x / u * math.atan(y / u) + y / v * math.atan(x / v)) / (2.0 * math.pi)


def test_every_file_belongs_to_the_rooms_described_now() -> None:
    mitsuba = pytest.importorskip("mitsuba", reason="the rooms are described in its language")
    mitsuba.set_variant("scalar_rgb")
    from tests.reference.witness import sheets

    names = {path.stem for path in sheets_load.DATA.glob("*.toml")}
    assert {"checks", "readings", "radiance", "blocks_sheet", "blocks_mirror_bounce"} <= names
    for name in names:
        assert sheets_load.load_record(name)["geometry_sha256"] == sheets.checksum(), name

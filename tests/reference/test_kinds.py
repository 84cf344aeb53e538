"""Every kind of source in a furnished room against the other renderer's readings of it.

Source: tests/reference/kinds, scenes written by hand for a path tracer that shares no code, format
or exporter with ours. Bars: every reading within 0.05 stop, noise of either side included, and no
common factor: the mean over a kind's receptors within 0.015 stop. The crate is real black cells
there and a law of their mean here, which shows in the picture of single cells (1 %) and in bounce
that its black walls swallow (2 %); the disc is round there and has 32 corners here; the web and the
spot are pictures thrown through a pinhole there.
"""

from __future__ import annotations

import math
import tomllib
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from tests.reference.scenes.stages import WHITE, box_room, disc, rectangle, stage_of

from falloff.daylight import general_sky
from falloff.photometry.web import IntensityWeb, intensity_web, web_flux_lm
from falloff.sources import (
    EggCrate,
    Shutter,
    Shutters,
    Source,
    ellipse_outline,
    panel,
    polygon,
    profile_spot,
    sky_opening,
    sun,
    tube,
    web_beam,
)
from falloff.stage import Grain, Probe, Stage
from falloff.stage.dice import PieceBuilder
from falloff.stage.fronts import frame_of
from falloff.stage.records import Piece
from falloff.stage.solids import add_box, add_cylinder
from falloff.transport import Budget, trace, trace_probes
from falloff.types import Float64Array

DATA = Path(__file__).parent / "kinds" / "data"
X, Y, Z = np.eye(3)
GRAIN = Grain(0.2, 0.1)
SEEDS = (20, 77)


@pytest.fixture(scope="module")
def witness() -> dict[str, Any]:
    """The stored readings."""
    with np.load(DATA / "readings.npz", allow_pickle=False) as arrays:
        return {key: arrays[key] for key in arrays.files}


def _room(extra: tuple[Piece, ...], source: Source) -> Stage:
    """The room of kinds/scenes.py, said anew."""
    paint = {"z0": "floor", "z1": "ceiling", "x0": "wall", "x1": "wall", "y1": "wall"}
    pieces = [box_room((4.0, 3.0, 2.5), grain=GRAIN, leave_out=("y0",), materials=paint)]
    for name, low, wide, high in (
        ("left", (0.0, 0.0, 0.0), 1.5, 2.5),
        ("right", (2.5, 0.0, 0.0), 1.5, 2.5),
        ("under", (1.5, 0.0, 0.0), 1.0, 0.8),
        ("over", (1.5, 0.0, 2.0), 1.0, 0.5),
    ):
        pieces.append(
            rectangle(
                name,
                low,
                edge_u=(0.0, 0.0, high),
                edge_v=(wide, 0.0, 0.0),
                grain=GRAIN,
                material="wall",
            )
        )
    block = PieceBuilder("block", GRAIN)
    add_box(block, np.array([3.2, 2.0, 0.45]), (X, Y, Z), (0.6, 0.6, 0.9), "block", "")
    paints = {"floor": 0.3, "ceiling": 0.8, "wall": 0.6, "block": 0.5}
    return stage_of([*pieces, block.build(), *extra], sources=[source], reflectances=paints)


def _disc() -> Stage:
    lamp = polygon(
        "DISC",
        np.array([1.4, 1.7, 2.3]),
        across=Y,
        upward=X,
        outline_m=ellipse_outline(0.9, 0.9),
        flux_lm=3000.0,
        colour=WHITE,
    )
    body = (
        disc("front", (1.4, 1.7, 2.3005), radius_m=0.45, up=False),
        disc("back", (1.4, 1.7, 2.302), radius_m=0.45, up=True),
    )
    return _room(body, lamp)


def _tube() -> Stage:
    lamp = tube(
        "TUBE",
        np.array([1.8, 1.4, 1.9]),
        axis=X,
        length_m=1.2,
        radius_m=0.02,
        flux_lm=2500.0,
        colour=WHITE,
    )
    body = PieceBuilder("body", GRAIN)
    add_cylinder(body, np.array([1.2, 1.4, 1.9]), np.array([2.4, 1.4, 1.9]), 0.0195, "black")
    return _room((body.build(),), lamp)


def _crate() -> Stage:
    lamp = panel(
        "CRATE",
        np.array([1.2, 1.0, 2.4]),
        edge_u=0.6 * Y,
        edge_v=0.6 * X,
        flux_lm=6000.0,
        colour=WHITE,
        crate=EggCrate(1.0, 1.0),
    )
    body = PieceBuilder("body", GRAIN)
    add_box(body, np.array([1.5, 1.3, 2.403]), (X, Y, Z), (0.6, 0.6, 0.004), "black", "")
    return _room((body.build(),), lamp)


def _beam(
    web: IntensityWeb, origin: tuple[float, float, float], target: tuple[float, float, float]
) -> Stage:
    centre = np.array(origin)
    axis = np.array(target) - centre
    axis /= np.linalg.norm(axis)
    level, _ = frame_of(axis)  # left as seen from behind
    lamp = web_beam(
        "BEAM",
        centre,
        axis=axis,
        azimuth_zero=level,
        web=web,
        mouth_m=(0.002, 0.002),
        square_mouth=False,
        colour=WHITE,
    )
    return _room((), lamp)


def _web() -> Stage:
    """I = 2500 cos²γ (1 + 0.6 cos(C − 0.5) sin 2γ + 0.3 cos 2C sin²γ) cd to 50°."""
    turn = np.linspace(0.0, 2.0 * math.pi, 73)
    angle = np.append(np.radians(np.arange(0.0, 50.5, 1.0)), math.radians(50.001))
    c, g = turn[:, None], angle[None, :]
    lean = 0.6 * np.cos(c - 0.5) * np.sin(2.0 * g)
    candela = 2500.0 * np.cos(g) ** 2 * (1.0 + lean + 0.3 * np.cos(2.0 * c) * np.sin(g) ** 2)
    candela[:, -1], candela[-1] = 0.0, candela[0]
    return _beam(intensity_web(turn, angle, candela=candela), (1.0, 1.5, 2.4), (2.2, 1.4, 0.0))


def _spot() -> Stage:
    cut = Shutters(top=Shutter(0.3, math.radians(10.0)), left=Shutter(0.2))
    web = profile_spot(math.radians(36.0), flux_lm=3000.0, shutters=cut)
    return _beam(web, (0.5, 0.4, 2.2), (1.9, 1.8, 0.0))


HOLE = np.array([2.5, 0.0, 0.8, -1.0, 0.0, 0.0, 0.0, 0.0, 1.2])


def _toward_sun() -> Float64Array:
    up, aside = math.radians(40.0), math.radians(-10.0)
    return np.array([math.cos(up) * math.sin(aside), -math.cos(up) * math.cos(aside), math.sin(up)])


def _sun() -> Stage:
    source = sun(
        "SUN", toward_sun=_toward_sun(), normal_lux=90_000.0, colour=WHITE, holes=HOLE[None]
    )
    return _room((), source)


def _sky() -> Stage:
    daylight = general_sky(
        12,
        sun_altitude_rad=math.radians(40.0),
        sun_azimuth_rad=math.radians(270.0 - 10.0),
        horizontal_lux=14_000.0,
        ground_reflectance=0.2,
    )
    source = sky_opening(
        "SKY", HOLE[:3], edge_u=HOLE[3:6], edge_v=HOLE[6:9], daylight=daylight, colour=WHITE
    )
    return _room((), source)


STAGES = {
    "DISC": _disc,
    "TUBE": _tube,
    "CRATE": _crate,
    "WEB": _web,
    "SPOT": _spot,
    "SUN": _sun,
    "SKY": _sky,
}


@pytest.mark.parametrize("kind", STAGES)
def test_readings_of_a_kind(witness: dict[str, Any], kind: str) -> None:
    row = witness["kinds"].tolist().index(kind)
    mean, error = witness["mean_lx"][row], witness["standard_error_lx"][row]
    assert np.all(error < 0.012 * mean)  # the witness itself is sharp enough to judge
    stage = STAGES[kind]()
    probes = tuple(
        Probe(str(name), "flat", point, normal)
        for name, point, normal in zip(
            witness["names"], witness["points_m"], witness["normals"], strict=True
        )
    )
    stops = []
    for seed in SEEDS:
        solution = trace(stage, Budget(seed=seed))
        light = trace_probes(solution, probes)
        whole = light.direct[0, :, 0] + light.bounced[0, :, 0]
        found, own = whole.mean(-1), whole.std(-1, ddof=1) / math.sqrt(whole.shape[-1])
        stops.append(np.log2(found / mean))
        for k, name in enumerate(witness["names"]):
            z = (found[k] - mean[k]) / math.hypot(own[k], error[k])
            print(
                f"{kind:6s} {name:12s} {found[k]:9.2f} ± {own[k]:7.2f} {mean[k]:9.2f} ± "
                f"{error[k]:6.2f} {stops[-1][k]:8.4f} stop {z:6.2f}"
            )
    assert np.abs(stops).max() <= 0.05
    assert abs(float(np.mean(stops))) <= 0.015


def test_flux_that_the_shutters_leave() -> None:
    """pencil: the drawn beam's open share of its disc, by counting pixels of it."""
    cut = Shutters(top=Shutter(0.3, math.radians(10.0)), left=Shutter(0.2))
    web = profile_spot(math.radians(36.0), flux_lm=3000.0, shutters=cut)
    rim = math.tan(math.radians(18.0))
    at = (np.arange(2000) + 0.5) / 1000.0 - 1.0
    right, up = np.meshgrid(at, at)
    within = right**2 + up**2 <= 1.0
    weight = (1.0 + rim**2 * (right**2 + up**2)) ** -1.5  # dΩ of a pixel of slopes
    left_open = within & (right <= 0.6) & (up >= -0.4 + right * math.tan(math.radians(10.0)))
    share = float(weight[left_open].sum() / weight[within].sum())
    assert abs(float(web_flux_lm(web)) / 3000.0 - share) < 2e-3


def test_stored_readings_belong_to_the_scenes_described_now() -> None:
    mitsuba = pytest.importorskip("mitsuba", reason="the scenes are described in its language")
    mitsuba.set_variant("scalar_rgb")
    from tests.reference.kinds import scenes

    record = tomllib.loads((DATA / "readings.toml").read_text(encoding="utf-8"))
    assert record["scenes_sha256"] == scenes.checksum()

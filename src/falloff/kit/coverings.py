"""What is worn on the head, cut to a figure's own: closed surfaces in the head's frame."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from falloff.kit.hair_locks import Limit, no_limit, smooth_step
from falloff.kit.head_shape import HeadShape, Points, Values, angles_deg, direction
from falloff.kit.headscarf import headscarf
from falloff.kit.shells import Closed, domed_patch, flat_patch, ring, shell

_HAIR_ROOM_M = 0.005  # what hair is pressed down to below a covering
_AZIMUTH_KNOTS_DEG = (0.0, 30.0, 60.0, 95.0, 130.0, 180.0)


@dataclass(frozen=True, slots=True)
class Cover:
    """A covering: its closed surfaces, how far hair may reach below it, whether it hides hair."""

    parts: tuple[Closed, ...]
    limit: Limit
    hides_hair: bool = False


@dataclass(frozen=True, slots=True)
class Dome:
    """A covering of the head's top.

    edge_deg: elevation of its edge at the azimuth knots; lift_m: how far it stands off the head at
    its edge, half way up and at the top; thick_m; columns and rows: how fine.
    """

    edge_deg: tuple[float, ...]
    lift_m: tuple[float, float, float]
    thick_m: float
    columns: int = 96
    rows: int = 18


_CAP = Dome((27, 26, 21, 13, 8, 4), (0.0, 0.007, 0.009), 0.0018)
_CAP_HAIR_DEG = (18.0, 18.0, 14.0, 12.0, 8.0, 4.0)  # the peak droops beside the brow
_KNIT = Dome((24, 23, 18, 5, -12, -20), (0.0, 0.006, 0.020), 0.0035, columns=152, rows=12)
_SUN = Dome((26, 25, 20, 13, 8, 5), (0.0, 0.012, 0.021), 0.0022, columns=80, rows=14)
_HARD = Dome((26, 25, 21, 15, 9, 5), (0.018, 0.024, 0.028), 0.003, columns=80, rows=18)
_BAND_DEG = (46.0, 44.0, 36.0, 18.0, -2.0, -14.0)


def find_cover(shape: HeadShape, kind: str) -> Cover:
    """The covering of a kind, made for a head."""
    return _MAKERS[kind](shape)


def _edge_deg(knots: tuple[float, ...], azimuth_deg: Values) -> Values:
    """Elevation of an edge over azimuth, smooth through its knots."""
    found = np.interp(azimuth_deg, _AZIMUTH_KNOTS_DEG, knots)
    for off in (6.0, 12.0):
        found = found + np.interp(np.abs(azimuth_deg - off), _AZIMUTH_KNOTS_DEG, knots)
        beyond = 180.0 - np.abs(180.0 - azimuth_deg - off)
        found = found + np.interp(beyond, _AZIMUTH_KNOTS_DEG, knots)
    smooth: Values = found / 5.0
    return smooth


def _inside_m(shape: HeadShape, ways: Points) -> Values:
    return shape.outside(ways) + _HAIR_ROOM_M


def _dome_limit(shape: HeadShape, edge_knots: tuple[float, ...]) -> Limit:
    """Hair pressed flat above the edge, swelling out again below it."""

    def limit(ways: Points) -> Values:
        azimuth, up = angles_deg(ways)
        below = np.radians(_edge_deg(edge_knots, azimuth) - up)
        return _inside_m(shape, ways) + _swell_m(below)

    return limit


def _swell_m(below: Values) -> Values:
    """Room for hair at an angle (rad) below an edge: slowly at first, soon all it wants."""
    free = np.maximum(0.0, below)
    room: Values = 0.05 * free + 0.25 * free**2
    return room


def _columns(count: int) -> Values:
    return np.arange(count) * 2 * np.pi / count


def _ways(dome: Dome, share: Values) -> Points:
    """Directions of the dome's rows (from near the top to the edge) and columns."""
    azimuth = _columns(dome.columns)
    turned = np.degrees(np.abs((azimuth + np.pi) % (2 * np.pi) - np.pi))
    edge = np.radians(_edge_deg(dome.edge_deg, turned))
    up = np.pi / 2 - share[:, None] * (np.pi / 2 - edge[None, :])
    return direction(azimuth[None, :], up)


def _lift(dome: Dome, share: Values) -> Values:
    top = np.interp(share, [0.0, 0.5, 1.0], dome.lift_m[::-1])
    low = smooth_step((share - 0.8) / 0.2)
    lift: Values = top * (1 - low) + dome.lift_m[0] * low
    return lift


def _domed(
    shape: HeadShape, dome: Dome, bumps: Callable[[Values, Points], Values], brim: Points | None
) -> Closed:
    """A dome with bumps on its outside, and rows of a brim (r, c, 3) going on from its edge."""
    share = np.linspace(0, 1, dome.rows + 1)[1:]
    ways = _ways(dome, share)
    inside = _smooth_round(_inside_m(shape, ways)) + _lift(dome, share)[:, None]
    outside = inside + dome.thick_m
    top = np.array([0.0, 0.0, 1.0])
    peak = float(inside[0].mean())
    outer = (outside + bumps(share[:, None], ways))[..., None] * ways
    inner = inside[..., None] * ways
    if brim is not None:
        outer = np.concatenate([outer, outer[-1] + brim])
        below = np.array([0.0, 0.0, dome.thick_m])
        inner = np.concatenate([inner, outer[-len(brim) :] - below])
    return shell(domed_patch(outer, top * (peak + dome.thick_m)), domed_patch(inner, top * peak))


def _smooth_round(radius: Values) -> Values:
    """Evened out a little round the head; never smaller than asked for by more than a hair."""
    even = radius
    for _ in range(3):
        even = (np.roll(even, 1, axis=1) + even + np.roll(even, -1, axis=1)) / 3
    return np.maximum(even, radius)


def _flat_out(count: int) -> Points:
    azimuth = _columns(count)
    return np.stack([np.sin(azimuth), np.cos(azimuth), 0 * azimuth], axis=-1)


def _cap(shape: HeadShape) -> Cover:
    def seams(share: Values, ways: Points) -> Values:
        column = np.arange(_CAP.columns) % (_CAP.columns // 6)
        seam = np.where(column == 0, -0.0012, 0.0)
        stitched = 0.0008 * smooth_step((share - 0.93) / 0.03)
        return seam[None, :] * smooth_step(share / 0.1) + stitched + 0.0 * ways[..., 0]

    top = np.array([0.0, 0.0, 1.0])
    height = float(_inside_m(shape, top)) + _CAP.lift_m[2] + _CAP.thick_m
    return Cover(
        (_domed(shape, _CAP, seams, None), _button(top * height), _peak(shape)),
        _dome_limit(shape, _CAP_HAIR_DEG),
    )


def _button(place: Points) -> Closed:
    polar = np.linspace(0, np.pi, 8)[1:]
    turn = _columns(16)
    rows = np.stack(
        [
            np.sin(polar)[:, None] * np.cos(turn) * 0.0065,
            np.sin(polar)[:, None] * np.sin(turn) * 0.0065,
            np.cos(polar)[:, None] * 0.0032 + 0 * turn,
        ],
        axis=-1,
    )
    rows[-1] = [0.0, 0.0, -0.0032]
    patch = domed_patch(rows[:-1], np.array([0.0, 0.0, 0.0032]))
    under = domed_patch(0.5 * rows[-2:-1] + 0.5 * rows[-1], rows[-1, 0])
    made = shell(patch, under)
    return Closed(made.corners + place, made.normals)


def _peak(shape: HeadShape) -> Closed:
    """The peak of a cap: from its edge over the brow outward, bent over the face."""
    half = np.radians(58.0)
    azimuth = np.linspace(-half, half, 49)
    edge = np.radians(_edge_deg(_CAP.edge_deg, np.degrees(np.abs(azimuth))) + 1.5)
    ways = direction(azimuth, edge)
    root = (_inside_m(shape, ways) + 0.001)[:, None] * ways
    reach = 0.004 + 0.068 * np.sqrt(np.maximum(0.0, 1 - (azimuth / half) ** 2))
    share = np.linspace(0, 1, 13)[:, None]
    splay = 0.30 * np.sin(azimuth)
    points = root + share[..., None] * reach[None, :, None] * np.stack(
        [splay, np.ones_like(splay), np.full_like(splay, -0.18)], axis=-1
    )
    bent = 1.5 * (points[..., 0] ** 2) * smooth_step(share) + 1.2 * (share * reach) ** 2
    points[..., 2] -= bent
    half_thick = np.array([0.0, 0.0, 0.0013])
    return shell(flat_patch(points + half_thick), flat_patch(points - half_thick))


def _knit_hat(shape: HeadShape) -> Cover:
    count = _KNIT.columns
    ribs = 0.0022 * np.sin(np.pi * (np.arange(count) % 4) / 4) ** 0.8

    def knitted(share: Values, ways: Points) -> Values:
        gathered = smooth_step(share / 0.25)
        slack = 0.004 * np.sin(2.0 * np.arctan2(ways[..., 0], ways[..., 1]) + 5 * share)
        return ribs[None, :] * gathered + slack * gathered * (1 - smooth_step(share / 0.8))

    return Cover(
        (_domed(shape, _KNIT, knitted, None), _cuff(shape, ribs)),
        _dome_limit(shape, _KNIT.edge_deg),
    )


def _cuff(shape: HeadShape, ribs: Values) -> Closed:
    """The turned-up edge: a band with round folds above and below."""
    around = np.linspace(0, 2 * np.pi, 14, endpoint=False)
    azimuth = _columns(_KNIT.columns)
    turned = np.degrees(np.abs((azimuth + np.pi) % (2 * np.pi) - np.pi))
    edge = _edge_deg(_KNIT.edge_deg, turned)
    tall = np.sign(np.cos(around)) * np.abs(np.cos(around)) ** 0.35
    thick = np.sin(around)
    up = np.radians(edge[:, None] + 12.0 - 13.0 * tall[None, :])
    ways = direction(azimuth[:, None], up)
    middle = _smooth_round(_inside_m(shape, ways).T).T + 0.0075
    outer = 0.0042 * thick + np.where(thick > 0.3, ribs[:, None], 0.0)
    return ring((middle + outer)[..., None] * ways)


def _sun_hat(shape: HeadShape) -> Cover:
    azimuth = _columns(_SUN.columns)
    share = np.linspace(0, 1, 9)[1:, None]
    brim = (0.004 + 0.088 * share)[..., None] * _flat_out(_SUN.columns)
    wave = 0.007 * np.sin(3 * azimuth + 0.6) + 0.004 * np.sin(5 * azimuth + 2.0)
    brim[..., 2] = -0.030 * share**1.3 + wave * share**2 - 0.006 * np.cos(2 * azimuth) * share**2

    def woven(share: Values, ways: Points) -> Values:
        rows = np.arange(ways.shape[0])[:, None] % 2
        return 0.0007 * rows * (1 - smooth_step((share - 0.85) / 0.1)) + 0.0 * ways[..., 0]

    return Cover(
        (_domed(shape, _SUN, woven, brim), _hat_ribbon(shape)), _dome_limit(shape, _SUN.edge_deg)
    )


def _hat_ribbon(shape: HeadShape) -> Closed:
    """The band round the crown of a sun hat."""
    share = np.array([0.985, 0.93, 0.86, 0.80])
    ways = _ways(_SUN, share)
    base = _smooth_round(_inside_m(shape, ways)) + _lift(_SUN, share)[:, None] + _SUN.thick_m
    outer = (base + 0.0022)[..., None] * ways
    inner = (base - 0.0010)[..., None] * ways
    return ring(np.concatenate([outer, inner[::-1]]).transpose(1, 0, 2))


def _hard_hat(shape: HeadShape) -> Cover:
    azimuth = _columns(_HARD.columns)
    ahead = np.clip(np.cos(azimuth), 0.0, 1.0) ** 1.5
    reach = 0.009 + 0.034 * ahead
    share = np.array([0.35, 0.8, 1.0])[:, None]
    brim = (share * reach)[..., None] * _flat_out(_HARD.columns)
    brim[..., 2] = -0.3 * share * reach + 0.002 * np.array([-1.0, -0.5, 0.6])[:, None]

    def ridges(share: Values, ways: Points) -> Values:
        aside = np.abs(ways[..., 0])
        middle = 0.0055 * np.exp(-((aside / 0.11) ** 4))
        beside = 0.0035 * np.exp(-(((aside - 0.42) / 0.07) ** 4))
        return (middle + beside) * (1 - smooth_step((share - 0.62) / 0.25))

    return Cover(
        (_domed(shape, _HARD, ridges, brim), _harness(shape)),
        _dome_limit(shape, tuple(edge - 1.0 for edge in _HARD.edge_deg)),
    )


def _harness(shape: HeadShape) -> Closed:
    """The band inside a hard hat that carries it."""
    up = tuple(edge + 3.0 for edge in _HARD.edge_deg)
    return _strip(shape, up, half_deg=7.0, thick_m=0.0025, columns=72)


def _strip(
    shape: HeadShape, up_knots: tuple[float, ...], *, half_deg: float, thick_m: float, columns: int
) -> Closed:
    """A band round the head about a line of elevations, its edges rounded."""
    around = np.linspace(0, 2 * np.pi, 12, endpoint=False)
    tall = np.sign(np.cos(around)) * np.abs(np.cos(around)) ** 0.5
    azimuth = _columns(columns)
    turned = np.degrees(np.abs((azimuth + np.pi) % (2 * np.pi) - np.pi))
    middle = _edge_deg(up_knots, turned)
    ways = direction(azimuth[:, None], np.radians(middle[:, None] - half_deg * tall[None, :]))
    radius = _smooth_round(_inside_m(shape, ways).T).T + 0.5 * thick_m * (1 + np.sin(around))
    return ring(radius[..., None] * ways)


def _headband(shape: HeadShape) -> Cover:
    half = 8.0

    def limit(ways: Points) -> Values:
        azimuth, up = angles_deg(ways)
        off = np.radians(np.maximum(0.0, np.abs(up - _edge_deg(_BAND_DEG, azimuth)) - half))
        return _inside_m(shape, ways) + _swell_m(off)

    return Cover((_strip(shape, _BAND_DEG, half_deg=half, thick_m=0.003, columns=96),), limit)


def _headscarf(shape: HeadShape) -> Cover:
    return Cover((headscarf(shape),), no_limit, hides_hair=True)


_MAKERS: dict[str, Callable[[HeadShape], Cover]] = {
    "cap": _cap,
    "hard hat": _hard_hat,
    "headband": _headband,
    "headscarf": _headscarf,
    "knit hat": _knit_hat,
    "sun hat": _sun_hat,
}
KINDS = tuple(sorted(_MAKERS))

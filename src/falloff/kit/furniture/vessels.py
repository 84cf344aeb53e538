"""Bottles, jars, bowls, cups, kettle, pan, and a mop in its bucket."""

from __future__ import annotations

import math
from collections.abc import Mapping
from types import MappingProxyType

import numpy as np

from falloff.kit.furniture import meshes
from falloff.kit.furniture.cold import bottle_profile
from falloff.kit.furniture.piece import GAP_M, Joiner, Kind, Order
from falloff.types import Float64Array


def bottle(order: Order) -> Joiner:
    """A bottle with a cap: a shouldered body, a neck."""
    made = Joiner()
    r, h = 0.5 * order.width, order.height
    rows = bottle_profile(r, h)
    body = [*rows[:9], (0.0, rows[8][1])]
    low = rows[8][1] + GAP_M
    cap = [(0.0, low), (rows[9][0], low), *rows[9:]]
    stretch = (1.0, order.depth / order.width)
    made.mesh("glass", meshes.lathe(body, sides=36, stretch=stretch))
    made.mesh("cap", meshes.lathe(cap, sides=28, stretch=stretch))
    return made


def jar(order: Order) -> Joiner:
    """A storage jar with a lid."""
    made = Joiner()
    r, h = 0.5 * order.width, order.height
    lid = min(0.022, 0.2 * h)
    stretch = (1.0, order.depth / order.width)
    z = h - lid
    body = [
        (0.0, 0.0), (0.90 * r, 0.0), (0.97 * r, 0.015 * h), (r, 0.05 * h), (r, 0.80 * z),
        (0.97 * r, 0.88 * z), (0.86 * r, 0.94 * z), (0.84 * r, z - GAP_M), (0.0, z - GAP_M),
    ]  # fmt: skip
    top = [(0.0, z), (0.88 * r, z), (0.90 * r, z + 0.002), (0.90 * r, h - 0.003),
           (0.87 * r, h), (0.0, h)]  # fmt: skip
    made.mesh("glass", meshes.lathe(body, sides=36, stretch=stretch))
    made.mesh("lid", meshes.lathe(top, sides=36, stretch=stretch))
    made.rest(h)
    return made


def bowl(order: Order) -> Joiner:
    """A thrown bowl on a foot ring."""
    made = Joiner()
    r, h, t = 0.5 * order.width, order.height, 0.004
    foot = 0.42 * r
    a = np.linspace(math.radians(8.0), math.radians(90.0), 9)
    z0 = 0.06 * h
    outer = np.stack([foot + (r - foot) * np.sin(a), z0 + (h - z0) * (1.0 - np.cos(a))], 1)
    inner = np.stack([foot + (r - t - foot) * np.sin(a[::-1]),
                      z0 + t + (h - z0 - t) * (1.0 - np.cos(a[::-1]))], 1)  # fmt: skip
    profile = [
        (0.0, 0.5 * z0), (0.86 * foot, 0.5 * z0), (0.90 * foot, 0.0), (foot, 0.0),
        *[tuple(row) for row in outer], (r - 0.5 * t, h), *[tuple(row) for row in inner[1:]],
        (0.6 * foot, z0 + t), (0.0, z0 + 0.9 * t),
    ]  # fmt: skip
    stretch = (1.0, order.depth / order.width)
    made.mesh("bowl", meshes.lathe(profile, sides=48, stretch=stretch))
    made.rest(z0 + t)
    return made


def cup(order: Order) -> Joiner:
    """A mug, its handle to the right."""
    made = Joiner()
    handle = 0.27 * order.width
    rx, ry, h, t = 0.5 * (order.width - handle), 0.5 * order.depth, order.height, 0.0035
    x = -0.5 * handle
    profile = [
        (0.0, 0.002), (0.82 * rx, 0.002), (0.84 * rx, 0.0), (0.92 * rx, 0.0), (0.98 * rx, 0.05 * h),
        (rx, 0.12 * h), (rx, h - 0.5 * t), (rx - 0.3 * t, h - 0.1 * t), (rx - 0.6 * t, h),
        (rx - t, h - 0.4 * t), (rx - t, 0.14 * h), (0.94 * rx - t, 0.07 * h + t),
        (0.8 * rx, t + 0.002), (0.0, t + 0.002),
    ]  # fmt: skip
    made.mesh("cup", meshes.lathe(profile, sides=40, stretch=(1.0, ry / rx)), at=(x, 0.0, 0.0))
    made.mesh(
        "cup", _ear(x + rx - 0.5 * t, 0.5 * order.width, low=0.20 * h, high=0.80 * h, thick=0.0045)
    )
    made.rest(h)
    return made


def _ear(near: float, far: float, *, low: float, high: float, thick: float) -> meshes.Mesh:
    """A D-shaped handle in the plane y = 0, its outermost point at `far`."""
    a = np.linspace(0.5 * math.pi, -0.5 * math.pi, 15)
    path = np.zeros((17, 3))
    path[1:-1, 0] = near + 0.35 * (far - near) + (0.65 * (far - near) - thick) * np.cos(a)
    path[1:-1, 2] = 0.5 * (low + high) + 0.5 * (high - low) * np.sin(a)
    path[0], path[-1] = (near, 0.0, high), (near, 0.0, low)
    return meshes.tube(path, thick)


def kettle(order: Order) -> Joiner:
    """A hob kettle: round body, lid with a knob, spout to the left, handle over the top."""
    made = Joiner()
    h = order.height
    ry = 0.5 * order.depth
    rx = min(ry, 0.36 * order.width)
    x = 0.5 * order.width - rx
    tall = 0.62 * h
    s = (1.0, ry / rx)
    body = [
        (0.0, 0.0), (0.92 * rx, 0.0), (0.97 * rx, 0.02 * tall), (rx, 0.10 * tall),
        (0.99 * rx, 0.35 * tall),
        (0.93 * rx, 0.58 * tall), (0.80 * rx, 0.77 * tall), (0.62 * rx, 0.90 * tall),
        (0.46 * rx, 0.955 * tall), (0.44 * rx, 0.965 * tall), (0.0, 0.965 * tall),
    ]  # fmt: skip
    made.mesh("kettle", meshes.lathe(body, sides=44, stretch=s), at=(x, 0.0, 0.0))
    z = 0.965 * tall + 0.0006
    lid = [
        (0.0, z), (0.45 * rx, z), (0.46 * rx, z + 0.003), (0.40 * rx, z + 0.010),
        (0.20 * rx, z + 0.017), (0.0, z + 0.019),
    ]  # fmt: skip
    made.mesh("kettle", meshes.lathe(lid, sides=36, stretch=s), at=(x, 0.0, 0.0))
    button = [(0.0, 0.0), (0.006, 0.0), (0.006, 0.008), (0.009, 0.009), (0.0125, 0.012),
              (0.014, 0.0155), (0.0135, 0.019),
              (0.010, 0.023), (0.0, 0.024)]  # fmt: skip
    made.mesh("handle", meshes.lathe(button, sides=20), at=(x, 0.0, z + 0.018))
    left = -0.5 * order.width
    spout = np.array([
        (x - 0.86 * rx, 0.0, 0.40 * tall), (x - 1.10 * rx, 0.0, 0.50 * tall),
        (0.55 * left + 0.45 * (x - 1.1 * rx), 0.0, 0.66 * tall), (left + 0.012, 0.0, 0.84 * tall),
        (left + 0.0085, 0.0, 0.88 * tall),
    ])  # fmt: skip
    made.mesh("kettle", _spout(spout, left))
    a = np.linspace(math.radians(208.0), math.radians(-28.0), 22)
    arch = np.zeros((22, 3))
    lift = 0.5 * (h - 0.008 - 0.80 * tall) * 1.35
    arch[:, 0] = x + 0.72 * rx * np.cos(a)
    arch[:, 2] = h - 0.008 - lift * (1.0 - np.sin(a))
    made.mesh("handle", meshes.tube(arch, 0.0045))
    made.mesh("handle", meshes.tube(arch[6:16], np.r_[0.006, np.full(8, 0.008), 0.006]))
    return made


def _spout(path: Float64Array, left: float) -> meshes.Mesh:
    """A tapering tube whose mouth touches the left edge."""
    corners, _ = meshes.tube(path, [0.022, 0.019, 0.015, 0.012, 0.0115], sides=18)
    shift = left - corners[..., 0].min()
    share = np.clip((path[0, 0] - corners[..., 0]) / (path[0, 0] - path[-1, 0]), 0.0, 1.0)
    corners[..., 0] += shift * share / share.max()
    return meshes.shaded(corners, math.radians(40.0))


def pan(order: Order) -> Joiner:
    """A saucepan, its handle to the right."""
    made = Joiner()
    h, t = order.height, 0.003
    ry = 0.5 * order.depth
    rx = min(ry, 0.36 * order.width)
    x = -0.5 * order.width + rx
    profile = [
        (0.0, 0.0), (0.93 * rx, 0.0), (0.97 * rx, 0.004), (0.985 * rx, 0.012),
        (0.985 * rx, h - 0.004), (rx, h - 0.001), (rx, h), (0.985 * rx - t, h - 0.002),
        (0.985 * rx - t, 0.014),
        (0.93 * rx - t, t + 0.002), (0.0, t + 0.002),
    ]  # fmt: skip
    made.mesh("pan", meshes.lathe(profile, sides=48, stretch=(1.0, ry / rx)), at=(x, 0.0, 0.0))
    end, near = 0.5 * order.width, x + 0.985 * rx
    z = h - 0.042  # where the handle is riveted on; its grip ends level with the rim
    run = end - near
    made.mesh("pan", meshes.bar(
        [(near - 0.0015, 0.0, z), (near + 0.12 * run, 0.0, z + 0.004),
         (near + 0.3 * run, 0.0, z + 0.014)],
        size=(0.016, 0.005), up=(0.0, 0.0, 1.0)))  # fmt: skip
    path = [(near + 0.22 * run, 0.0, z + 0.0095), (near + 0.5 * run, 0.0, z + 0.022),
            (near + 0.8 * run, 0.0, z + 0.030), (end, 0.0, z + 0.030)]  # fmt: skip
    made.mesh("handle", _grip(np.array(path), end))
    made.rest(t + 0.002, h, usual=0)
    return made


def _grip(path: Float64Array, end: float) -> meshes.Mesh:
    """A flattened handle that ends plumb."""
    corners, _ = meshes.tube(path, [0.008, 0.0105, 0.0115, 0.0095], sides=16)
    corners[..., 0] = np.minimum(corners[..., 0], end)
    corners[..., 0] += (end - corners[..., 0].max()) * (corners[..., 0] > path[-2, 0])
    return meshes.shaded(corners, math.radians(40.0))


def mop_and_bucket(order: Order) -> Joiner:
    """A mop standing in a bucket, its stick leaning on the rim."""
    made = Joiner()
    rx, ry = 0.5 * order.width, 0.5 * order.depth
    h = min(0.30, 0.30 * order.height, 2.0 * min(rx, ry))
    t = 0.003
    foot = 0.72 * rx
    profile = [
        (0.0, 0.004), (0.92 * foot, 0.004), (0.94 * foot, 0.0), (foot, 0.0),
        (0.965 * rx, h - 0.012), (rx, h - 0.011), (rx, h - 0.003), (0.985 * rx, h),
        (0.965 * rx - t, h - 0.002),
        (foot - t, 0.004 + t), (0.0, 0.004 + t),
    ]  # fmt: skip
    made.mesh("bucket", meshes.lathe(profile, sides=44, stretch=(1.0, ry / rx)))
    a = np.linspace(0.0, math.pi, 21)
    hang = np.stack([0.958 * rx * np.cos(a), -1.0 * (ry + 0.004 - 0.0025) * np.sin(a) ** 0.7,
                     h - 0.020 - 0.32 * h * np.sin(a)], 1)  # fmt: skip
    hang[:, 1] = np.maximum(hang[:, 1], -ry + 0.0025)
    made.mesh("wire", meshes.tube(hang, 0.0025, sides=8))
    low = np.array([-0.14 * rx, -0.12 * ry, 0.05])
    rim = np.array([0.55 * (rx - t), 0.62 * (ry - t), h])
    top = low + (rim - low) * (order.height - low[2]) / (h - low[2])
    reach = np.array([0.80 * rx, 0.80 * ry])
    share = min(1.0, *(reach / np.abs(top[:2])))
    top[:2] *= share
    made.mesh("stick", meshes.upright([low, 0.5 * (low + top), top], 0.0115))
    _strands(made, at=low, spread=0.40 * min(rx, ry), floor=0.0075)
    made.rest(h)
    return made


def _strands(made: Joiner, *, at: Float64Array, spread: float, floor: float) -> None:
    """The mop's head: a clamp, and cotton strands that fall from it to the bucket's floor."""
    clamp = [(0.0, -0.02), (0.024, -0.02), (0.030, 0.01), (0.022, 0.05), (0.014, 0.07), (0.0, 0.07)]
    made.mesh("wire", meshes.lathe(clamp, sides=20), at=at + np.array([0.0, 0.0, 0.03]))
    strands = []
    for k in range(14):
        a = 2.0 * math.pi * k / 14
        out = np.array([math.cos(a), math.sin(a), 0.0])
        far = spread * (0.75 + 0.25 * math.sin(5.0 * k))
        path = at + np.array([0.018 * out, 0.50 * far * out, 0.80 * far * out, far * out])
        path[:, 2] = (at[2] + 0.02, at[2] + 0.006, floor + 0.0075, floor + 0.007)
        strands.append(meshes.tube(path, [0.008, 0.009, 0.007, 0.007], sides=8))
    made.mesh("strands", meshes.joined(*strands))


KINDS: Mapping[str, Kind] = MappingProxyType(
    {
        "bottle": Kind(
            bottle,
            usual_m=(0.075, 0.075, 0.30),
            least_m=(0.02, 0.02, 0.05),
            parts=("glass", "cap"),
            surfaces={"cap": "black metal"},
        ),
        "jar": Kind(
            jar,
            usual_m=(0.10, 0.10, 0.14),
            least_m=(0.03, 0.03, 0.04),
            parts=("glass", "lid"),
            surfaces={"lid": "steel"},
        ),
        "bowl": Kind(
            bowl, usual_m=(0.22, 0.22, 0.09), least_m=(0.06, 0.06, 0.025), parts=("bowl",)
        ),
        "cup": Kind(cup, usual_m=(0.115, 0.084, 0.095), least_m=(0.05, 0.04, 0.04), parts=("cup",)),
        "kettle": Kind(
            kettle,
            usual_m=(0.27, 0.19, 0.24),
            least_m=(0.12, 0.09, 0.11),
            parts=("kettle", "handle"),
            surfaces={"handle": "black metal"},
        ),
        "pan": Kind(
            pan,
            usual_m=(0.40, 0.20, 0.11),
            least_m=(0.16, 0.08, 0.04),
            parts=("pan", "handle"),
            surfaces={"handle": "black metal"},
        ),
        "mop and bucket": Kind(
            mop_and_bucket,
            usual_m=(0.32, 0.32, 1.30),
            least_m=(0.20, 0.20, 0.60),
            parts=("bucket", "wire", "stick", "strands"),
            surfaces={"wire": "steel", "stick": "pine", "strands": "white cotton"},
        ),
    }
)

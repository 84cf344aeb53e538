"""Places in a still: luminance, stops and colour of a small disc, and how far they may be wrong.

An error is what nineteen of twenty places keep within, of four causes: the disc's own grain and
texture, steps of the encoded values, steps of a JPEG, and the look that was put on the picture. A
difference of two places has the first three of both; of the look only what it has not in common.
docs/physics/view-curve.md has the figures.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final, Literal

import msgspec
import numpy as np

from falloff.camera.still import Still
from falloff.errors import FalloffError, Fault
from falloff.spectrum import uv_1976_from_xy, xy_from_xyz
from falloff.types import BoolArray, Float64Array

StillLimit = Literal["equal", "at most", "at least"]

USUAL_ACROSS_SHARE: Final = 1.0 / 64.0  # of the width: a finger's breadth on a usual screen
_LARGEST_ACROSS_SHARE: Final = 0.5
_TOLD_SHARE: Final = 0.02  # of a disc clipped or crushed, above which its mean is a bound
_EDGE_STOPS: Final = 0.5  # of spread, above which the disc lies on more than one thing
_PLATEAU_SHARE: Final = 1e-3  # of a picture that is as light as its lightest: likely clipped
_LEAST_QUADRANT_PX: Final = 4
_LARGEST_ERROR_STOPS: Final = 9.9  # beyond, nothing is known
_BLOCK_PX: Final = 8  # ISO/IEC 10918-1: a JPEG's block
# ISO/IEC 10918-5 (JFIF): red, green and blue of a step in luma, blue and red difference.
_LUMA: Final = np.array([1.0, 1.0, 1.0])
_COLOUR: Final = (np.array([0.0, -0.344136, 1.772]), np.array([1.402, -0.714136, 0.0]))

# The error of a look, in stops off grey: our own figures, that take in the project's own view curve
# read as if it were plain sRGB, and the camera curve of BT.709 read as if it were a display's.
_LOOK_SLOPE: Final = 0.3
_SHOULDER_FROM, _SHOULDER_STOPS = 0.7, 3.0
_TOE_FROM, _TOE_STOPS = 0.25, 1.5
_LOOK_GREY_STOPS: Final = 1.0 / 3.0  # where a look has put middle grey


class StillError(msgspec.Struct, frozen=True, kw_only=True):
    """A place's error by cause, in stops, each what nineteen of twenty keep within.

    look_stops is signed: how far the scene may lie further from grey than the picture shows.
    """

    spread_stops: float
    quantisation_stops: float
    jpeg_stops: float
    look_stops: float


class StillPoint(msgspec.Struct, frozen=True, kw_only=True):
    """A place of a still, averaged over a disc in linear light.

    x_px, y_px: its middle, from the top left. luminance: in the curve's unit. stops_over_grey:
    against middle grey, with its error. limit: "at least" where it is clipped, "at most" where it
    is crushed. spread_stops: one standard deviation between pixels. uv: CIE 1976 u'v' as shown,
    None where it is black. notes: what a person must know of this place.
    """

    name: str
    x_px: float
    y_px: float
    pixels: int
    luminance: float
    stops_over_grey: float
    error_stops: float
    errors: StillError
    limit: StillLimit
    spread_stops: float
    clipped_share: float
    crushed_share: float
    uv: tuple[float, float] | None
    notes: tuple[str, ...] = ()


class StillDifference(msgspec.Struct, frozen=True, kw_only=True):
    """Stops of one place over another, with the error; limit None: not even a bound is known."""

    stops: float
    error_stops: float
    limit: StillLimit | None


def sample_still(
    still: Still,
    points: Mapping[str, tuple[float, float]],
    *,
    across_share: float = USUAL_ACROSS_SHARE,
    in_pixels: bool = False,
) -> tuple[StillPoint, ...]:
    """Sample places of a still, by name, in their order.

    points: x from the left and y from the top, as shares of width and height, 0 to 1, or the
    index of a pixel. across_share: the disc's diameter as a share of the width, 0 to 0.5; a pixel
    at least is read. Raises FalloffError with every place that lies outside.
    """
    faults = []
    if not 0.0 <= across_share <= _LARGEST_ACROSS_SHARE:  # also catches what is no number
        found = f"{across_share:g}"
        faults.append(Fault("a disc must lie within the picture", "across", "0 to 0.5", found))
    middles = {}
    for name, (x, y) in points.items():
        most = (still.width_px - 1, still.height_px - 1) if in_pixels else (1.0, 1.0)
        if 0.0 <= x <= most[0] and 0.0 <= y <= most[1]:
            scale = (1.0, 1.0) if in_pixels else (still.width_px, still.height_px)
            shift = 0.5 if in_pixels else 0.0
            middles[name] = (x * scale[0] + shift, y * scale[1] + shift)
            continue
        unit = "pixels" if in_pixels else "shares of width and height"
        expected = f"0 to {most[0]:g} across and 0 to {most[1]:g} down, in {unit}"
        fix = "click within the picture"
        faults.append(
            Fault("the place lies outside the picture", name, expected, f"{x:g}, {y:g}", fix)
        )
    if faults:
        raise FalloffError(*faults)
    radius = 0.5 * across_share * still.width_px
    top = _top_plateau(still)
    return tuple(
        _sampled(still, name, _disc(still, at, radius), top) for name, at in middles.items()
    )


def still_difference(one: StillPoint, over: StillPoint) -> StillDifference:
    """Stops of one place of a still over another place of the same."""
    look = one.errors.look_stops - over.errors.look_stops
    parts = (
        look, one.errors.spread_stops, over.errors.spread_stops, one.errors.quantisation_stops,
        over.errors.quantisation_stops, one.errors.jpeg_stops, over.errors.jpeg_stops,
    )  # fmt: skip
    turned: dict[StillLimit, StillLimit] = {
        "equal": "equal", "at most": "at least", "at least": "at most"
    }  # fmt: skip
    limits = {one.limit, turned[over.limit]} - {"equal"}
    limit: StillLimit | None = "equal"
    if limits:
        limit = limits.pop() if len(limits) == 1 else None
    return StillDifference(
        stops=one.stops_over_grey - over.stops_over_grey,
        error_stops=min(_LARGEST_ERROR_STOPS, math.hypot(*parts)),
        limit=limit,
    )


# One disc --------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Disc:
    """Pixels of a disc: its middle (x, y), encoded values (n, 3), offsets (n, 2), see-through."""

    middle: tuple[float, float]
    signals: Float64Array
    offsets: Float64Array
    see_through: bool


def _disc(still: Still, middle: tuple[float, float], radius: float) -> _Disc:
    x, y = middle
    column = min(still.width_px - 1, int(x))
    row = min(still.height_px - 1, int(y))
    columns = slice(
        max(0, min(column, math.floor(x - radius))), max(column + 1, math.ceil(x + radius))
    )
    rows = slice(max(0, min(row, math.floor(y - radius))), max(row + 1, math.ceil(y + radius)))
    window = still.signals(rows, columns)
    down, along = np.mgrid[: window.shape[0], : window.shape[1]]
    offsets = np.stack([along + 0.5 + columns.start - x, down + 0.5 + rows.start - y], axis=-1)
    inside = np.hypot(offsets[..., 0], offsets[..., 1]) <= radius
    inside[row - rows.start, column - columns.start] = True
    clear = still.see_through
    through = clear is not None and bool(clear[rows, columns][inside].any())
    return _Disc(middle, window[inside], offsets[inside], through)


def _sampled(still: Still, name: str, disc: _Disc, top: float | None) -> StillPoint:
    signals, weights = disc.signals, still.xyz[1]
    light = still.curve.decode(signals)
    luminance = np.maximum(light @ weights, 0.0)
    clipped, crushed = float(still.clipped(signals).mean()), float(still.crushed(signals).mean())
    # What is black is told as the most that it may have been: half a step.
    grey = still.middle_grey_share
    floor = grey * 2.0**-16
    if still.step_share:
        half = np.full((1, 3), 0.5 * still.step_share)
        floor = float((still.curve.decode(half) @ weights)[0])
    mean = max(float(luminance.mean()), floor)
    stops = math.log2(mean / grey)
    errors = _errors(still, disc, luminance, mean, clipped=clipped > _TOLD_SHARE)
    limit: StillLimit = "equal"
    if clipped > _TOLD_SHARE:
        limit = "at least"
    elif crushed > _TOLD_SHARE or float(luminance.mean()) < floor:
        limit = "at most"
    spread = math.log2(1.0 + _deviation(luminance) / mean)
    look_grey = _LOOK_GREY_STOPS if still.graded else 0.0
    parts = (*msgspec.structs.astuple(errors), look_grey)
    return StillPoint(
        name=name,
        x_px=disc.middle[0],
        y_px=disc.middle[1],
        pixels=len(signals),
        luminance=mean,
        stops_over_grey=stops,
        error_stops=min(_LARGEST_ERROR_STOPS, math.hypot(*parts)),
        errors=errors,
        limit=limit,
        spread_stops=spread,
        clipped_share=clipped,
        crushed_share=crushed,
        uv=_uv(still.xyz @ light.mean(axis=0)),
        notes=_notes(still, disc, (clipped, crushed, spread), top),
    )


def _deviation(values: Float64Array) -> float:
    return float(values.std(ddof=1)) if len(values) > 1 else 0.0


def _uv(xyz: Float64Array) -> tuple[float, float] | None:
    if not (np.isfinite(xyz).all() and xyz[1] > 0.0 and xyz.sum() > 0.0):
        return None
    u, v = uv_1976_from_xy(xy_from_xyz(xyz))
    return float(u), float(v)


# Errors ----------------------------------------------------------------------------------


def _errors(
    still: Still, disc: _Disc, luminance: Float64Array, mean: float, *, clipped: bool
) -> StillError:
    middle = disc.signals.mean(axis=0)
    encoded = np.clip(still.curve.encode(np.array([mean])), 0.0, 1.0)
    stops = math.log2(mean / still.middle_grey_share)
    return StillError(
        spread_stops=_in_stops(_spread(luminance, disc.offsets) / mean),
        quantisation_stops=_in_stops(_quantisation(still, disc.signals, middle) / mean),
        jpeg_stops=_in_stops(_jpeg(still, middle, len(luminance)) / mean),
        look_stops=_look(stops, float(encoded[0]), bound=clipped) if still.graded else 0.0,
    )


def _in_stops(relative: float) -> float:
    """The larger side of an error that is a share of the light itself."""
    if relative >= 1.0 - 2.0**-_LARGEST_ERROR_STOPS:
        return _LARGEST_ERROR_STOPS
    return -math.log2(1.0 - relative)


def _spread(luminance: Float64Array, offsets: Float64Array) -> float:
    """What grain and texture leave open of the mean, as luminance.

    Grain by the spread over the root of the count; texture by how far the quarters' means lie
    apart beyond what grain alone would do. Twice, and more where few pixels tell the spread.
    """
    count = len(luminance)
    grain = _deviation(luminance) / math.sqrt(count)
    quarters = (offsets[:, 0] >= 0.0) * 2 + (offsets[:, 1] >= 0.0)
    parts = [luminance[quarters == n] for n in range(4)]
    texture = 0.0
    if min(len(part) for part in parts) >= _LEAST_QUADRANT_PX:
        apart = float(np.var([part.mean() for part in parts], ddof=1))
        texture = max(0.0, apart - 4.0 * grain * grain)
    return (2.0 + 6.0 / count) * math.sqrt(grain * grain + texture)


def _quantisation(still: Still, signals: Float64Array, middle: Float64Array) -> float:
    """What steps of the encoded values leave open, as luminance.

    Half a step in each channel; where grain is wider than half a step it evens them out, and what
    is left is a step's own deviation, q/√12, over the root of the count, twice.
    """
    step = still.step_share
    if still.tones is not None:
        step = max(step, 1.0 / still.tones)
    if step == 0.0:
        # IEEE 754-2008, binary16: eleven bits, so half a step is 2⁻¹¹ of the value.
        return float((np.abs(middle) * 2.0**-11) @ np.abs(still.xyz[1]))
    total = 0.0
    for channel in range(3):
        one = signals[:, channel]
        evened = _deviation(one) > 0.5 * step
        half = step / math.sqrt(3.0 * len(one)) if evened else 0.5 * step
        total += _moved(still, middle, half * np.eye(3)[channel]) ** 2
    return math.sqrt(total)


def _jpeg(still: Still, middle: Float64Array, count: int) -> float:
    """What a JPEG's steps leave open, as luminance: half a step of a block's mean.

    Luma and colour difference are rounded to whole numbers once more, smooth as the grain is by
    then. A disc smaller than a block also has the steps of the lowest waves across it.
    """
    if still.jpeg is None:
        return 0.0
    total = 0.0
    tables = [(still.jpeg.luma, (_LUMA,)), (still.jpeg.colour, _COLOUR)]
    for table, directions in tables:
        if table is None:
            continue
        # A coefficient's half step over the eight that a block's basis is scaled by, of 255.
        halves = table / (2.0 * _BLOCK_PX * 255.0)
        whole = float(halves[0, 0])
        if count < _BLOCK_PX**2:
            whole = float(np.sqrt((halves**2).sum())) * 2.0 / math.sqrt(3.0)
        whole = math.hypot(whole, 0.5 / 255.0)
        total += sum(_moved(still, middle, whole * way) ** 2 for way in directions)
    return math.sqrt(total)


def _moved(still: Still, middle: Float64Array, by: Float64Array) -> float:
    """Half of how far luminance moves as the encoded values go from middle − by to middle + by."""
    ends = still.curve.decode(np.clip([middle - by, middle + by], 0.0, 1.0)) @ still.xyz[1]
    return abs(float(ends[1] - ends[0])) / 2.0


def _look(stops: float, encoded: float, *, bound: bool) -> float:
    """How far a look may have drawn a place towards or from grey, in stops, with its sign.

    bound: the place is told as at least so light; a shoulder hides more light, never less.
    """
    shoulder = max(0.0, (encoded - _SHOULDER_FROM) / (1.0 - _SHOULDER_FROM))
    toe = max(0.0, (_TOE_FROM - encoded) / _TOE_FROM)
    hidden = 0.0 if bound else _SHOULDER_STOPS * shoulder**2
    return _LOOK_SLOPE * stops + hidden - _TOE_STOPS * toe**2


# Words -----------------------------------------------------------------------------------


def _top_plateau(still: Still) -> float | None:
    """The lightest encoded value, where enough of the picture has it to look like a limit."""
    if still.bits is None:
        return None
    codes = still.codes
    highest = int(codes.max())
    held: BoolArray = np.asarray(codes == highest)
    if np.count_nonzero(held.any(axis=-1)) < max(2.0, _PLATEAU_SHARE * held[..., 0].size):
        return None
    black = 16 << (still.bits - 8) if still.narrow else 0
    return (highest - black) * still.step_share


def _notes(
    still: Still, disc: _Disc, shares: tuple[float, float, float], top: float | None
) -> tuple[str, ...]:
    clipped, crushed, spread = shares
    notes = []
    if clipped > _TOLD_SHARE:
        notes.append(f"clipped in {_per_cent(clipped)} of the disc: it was at least so light")
    elif top is not None and bool((disc.signals.max(axis=-1) >= top - 1e-9).all()):
        notes.append("as light as anything in the picture: it may have been clipped before white")
    if crushed > _TOLD_SHARE:
        notes.append(f"black in {_per_cent(crushed)} of the disc: it was at most so light")
    if spread > _EDGE_STOPS and clipped <= _TOLD_SHARE:
        notes.append(
            f"the disc is uneven, {spread:.1f} stops between its pixels: it may lie across an edge"
        )
    if len(disc.signals) == 1:
        notes.append("one pixel alone: it does not tell its own grain")
    elif still.jpeg is not None and len(disc.signals) < _BLOCK_PX**2:
        notes.append("the disc is smaller than a block of the JPEG, 8 × 8 pixels")
    if disc.see_through:
        notes.append("the picture is see-through here: its colour was taken as if it were whole")
    return tuple(notes)


def _per_cent(share: float) -> str:
    return f"{100.0 * share:.0f} %"

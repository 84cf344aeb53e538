"""What readings hold; illuminance in lux, luminance in cd/m², levels in stops."""

from __future__ import annotations

import math
from collections.abc import Mapping

import msgspec

from falloff.findings import Finding


class SourcePart(msgspec.Struct, frozen=True, kw_only=True):
    """What one source gives at a reading, at its dim: direct and bounced, in the reading's unit."""

    source: str
    direct: float
    bounced: float
    share: float  # of the whole reading, 0 to 1
    stops_over_key: float | None  # of this source alone; None where it gives nothing


class Reading(msgspec.Struct, frozen=True, kw_only=True):
    """One reading: instrument and aim named, its value, its error, and where its light is from.

    value and standard_error: lux for a flat or dome receptor, cd/m² for a spot. stops_over_key:
    of the value against key for receptors. stops_over_grey: of the spot, or of the surface that a
    square receptor lies on, against middle grey; None where neither is known. error_stops: one
    standard error of sampling. bounce_from: share of the whole light that last left each surface;
    bounced light is in it, and what cloth scatters on. fabrics: which of these are cloth. uv:
    CIE 1976 u'v' of the light at the receptor, of what a spot sees; None without light.
    """

    name: str
    instrument: str
    place: str
    faces: str
    unit: str
    value: float
    standard_error: float
    error_stops: float
    stops_over_key: float | None
    stops_over_grey: float | None
    direct: float
    bounced: float
    parts: tuple[SourcePart, ...]
    bounce_from: dict[str, float]
    fabrics: tuple[str, ...]
    position_m: tuple[float, float, float]
    normal: tuple[float, float, float]
    uv: tuple[float, float] | None = None


class Contrast(msgspec.Struct, frozen=True, kw_only=True):
    """Key side against shadow side of a face, by both conventions; always named.

    key_and_fill_to_fill: key side over shadow side; key_to_fill: the same less one, that is what
    the key side has over the fill, over the fill, and None where the shadow side is the brighter;
    stops: log2 of the first.
    """

    subject: str
    key_and_fill_to_fill: float
    key_to_fill: float | None
    stops: float


class Softness(msgspec.Struct, frozen=True, kw_only=True):
    """How large a source looks from a face: angles across and upward (rad), distance (m)."""

    source: str
    subject: str
    across_rad: float
    upward_rad: float
    distance_m: float


class Readings(msgspec.Struct, frozen=True, kw_only=True):
    """All readings of one setup, with the exposure that they are judged by."""

    scene: str
    setup: str
    camera: str
    key_reading: str | None = None  # the reading that the setup calls its key
    exposure: str
    meter_constant_lux_s: float
    key_lux: float
    mid_grey_nit: float
    sources: tuple[str, ...]
    dims: dict[str, float]
    readings: tuple[Reading, ...]
    contrasts: tuple[Contrast, ...]
    softness: tuple[Softness, ...]
    findings: tuple[Finding, ...]


def contrasts_of(
    readings: tuple[Reading, ...], subjects: Mapping[str, str]
) -> tuple[Contrast, ...]:
    """Both conventions for each subject whose two cheeks were read by the same instrument.

    subjects: by the name of a reading whose face it is taken on.
    """
    sides: dict[str, dict[str, Reading]] = {}
    for reading in readings:
        subject = subjects.get(reading.name)
        if subject is None or reading.faces != "square" or reading.instrument != "flat":
            continue
        for side in ("cheek_key", "cheek_shadow"):
            if reading.place == f"{subject}.{side}":
                sides.setdefault(subject, {})[side] = reading
    found = []
    for subject, both in sides.items():
        if len(both) == 2 and both["cheek_shadow"].value > 0.0:
            ratio = both["cheek_key"].value / both["cheek_shadow"].value
            found.append(
                Contrast(
                    subject=subject,
                    key_and_fill_to_fill=ratio,
                    key_to_fill=ratio - 1.0 if ratio >= 1.0 else None,
                    stops=math.log2(ratio) if ratio > 0.0 else -math.inf,
                )
            )
    return tuple(found)

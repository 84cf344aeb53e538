"""The camera of readings taken on the day, as somebody writes it: "T2.8, ISO 800, 180 deg"."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final

from falloff.camera import CameraSettings
from falloff.errors import DocumentError, FalloffError, Fault
from falloff.session.quick.readers import camera as read_camera

_LIKE: Final = "'T2.8, ISO 800, 180 deg', and with them, where they are set, 'ND 0.6' and '25 fps'"
_NUMBER: Final = r"[0-9]+(?:\.[0-9]+)?"
_STOP: Final = r"[tf]\s*/?\s*[0-9]"
_OTHER: Final = r"iso|nd\b|.*\b(?:fps|stops?)$"
_USUAL_SHUTTER: Final = "the shutter is taken as 180 deg, for the camera's line has none"


@dataclass(frozen=True, slots=True)
class MeteredCamera:
    """A camera's settings, and what was taken for granted in reading them, as a clause."""

    settings: CameraSettings
    assumed: str = ""


def metered_camera(said: str) -> MeteredCamera | None:
    """Settings from words, None from none; raises DocumentError with all that is wrong in them."""
    parts = [part.strip() for part in said.split(",") if part.strip()]
    if not parts:
        return None
    faults = _faults(parts, said)
    if faults:
        raise DocumentError(*faults)
    try:
        found = read_camera(said)
    except FalloffError as error:
        raise DocumentError(
            *(
                Fault(
                    what=one.what, where="camera", expected=one.expected or _LIKE,
                    found=one.found or said, fix=one.fix or f"write it like {_LIKE}",
                )
                for one in error.faults
            )
        ) from None  # fmt: skip
    settings = CameraSettings(
        t_number=found["t_number"], iso=found["iso"], exposure_time_s=found["exposure_time_s"],
        nd_stops=found["nd_stops"],
    )  # fmt: skip
    shutter = [one for one in parts if not re.match(rf"{_STOP}|{_OTHER}", one, re.IGNORECASE)]
    return MeteredCamera(settings, "" if shutter else _USUAL_SHUTTER)


def _faults(parts: list[str], said: str) -> list[Fault]:
    """Bare numbers, and a stop or an ISO that is not there."""
    bare = [one for one in parts if re.fullmatch(_NUMBER, one)]
    if bare:
        several = len(bare) > 1
        what = f"{_quoted(bare)} {'do' if several else 'does'} not say what "
        what += "they are" if several else "it is"
        return [
            Fault(what=what, where="camera", expected=_LIKE, found=said,
                  fix="put T before the stop, ISO before the speed, deg or s after the shutter")
        ]  # fmt: skip
    missing = []
    if not any(re.match(_STOP, one, re.IGNORECASE) for one in parts):
        missing.append(("stop", "T2.8"))
    if not any(one.casefold().startswith("iso") for one in parts):
        missing.append(("ISO", "ISO 800"))
    return [
        Fault(what=f"the camera's {what} is not there", where="camera", expected=_LIKE,
              found=said, fix=f"add the {what}, such as {like!r}")
        for what, like in missing
    ]  # fmt: skip


def _quoted(parts: list[str]) -> str:
    return " and ".join(repr(one) for one in parts)

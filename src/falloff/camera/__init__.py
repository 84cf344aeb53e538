"""The camera: exposure, the picture as a display shows it, the stops map and files of both."""

from falloff.camera.difference import (
    EXPOSURE_TOLD_STOPS,
    Change,
    before_after,
    change_between,
)
from falloff.camera.exposure import (
    describe_key,
    describe_settings,
    exposure_value,
    exposure_value_100,
    exposure_value_of_illuminance,
    illuminance_of_exposure_value_lux,
    key_illuminance_lux,
    luminance_of_exposure_value_nit,
    mid_grey_luminance_nit,
    sensor_exposure_lxs,
    sensor_illuminance_lux,
    spot_luminance_nit,
    stops_over_grey,
    stops_over_key,
)
from falloff.camera.exr import write_exr
from falloff.camera.frame import ExposedFrame, expose, sum_layers
from falloff.camera.histogram import draw_histogram
from falloff.camera.levels import Levels, levels_of
from falloff.camera.marked import ND_SOLD
from falloff.camera.png import write_png
from falloff.camera.settings import CameraSettings
from falloff.camera.sheets import SheetFrame, contact_sheet
from falloff.camera.still import Still, read_still
from falloff.camera.still_curves import STILL_CURVES, StillCurve, still_curve
from falloff.camera.still_points import (
    StillDifference,
    StillError,
    StillPoint,
    sample_still,
    still_difference,
)
from falloff.camera.stops_map import draw_stops_map
from falloff.camera.stops_scale import per_cent
from falloff.camera.view import (
    Srgb8,
    ViewCurve,
    develop,
    display_matrix,
    encoded_of_stops,
    stops_of_encoded,
    view_curve,
)
from falloff.camera.waveform import draw_waveform

__all__ = [
    "EXPOSURE_TOLD_STOPS",
    "ND_SOLD",
    "STILL_CURVES",
    "CameraSettings",
    "Change",
    "ExposedFrame",
    "Levels",
    "SheetFrame",
    "Srgb8",
    "Still",
    "StillCurve",
    "StillDifference",
    "StillError",
    "StillPoint",
    "ViewCurve",
    "before_after",
    "change_between",
    "contact_sheet",
    "describe_key",
    "describe_settings",
    "develop",
    "display_matrix",
    "draw_histogram",
    "draw_stops_map",
    "draw_waveform",
    "encoded_of_stops",
    "expose",
    "exposure_value",
    "exposure_value_100",
    "exposure_value_of_illuminance",
    "illuminance_of_exposure_value_lux",
    "key_illuminance_lux",
    "levels_of",
    "luminance_of_exposure_value_nit",
    "mid_grey_luminance_nit",
    "per_cent",
    "read_still",
    "sample_still",
    "sensor_exposure_lxs",
    "sensor_illuminance_lux",
    "spot_luminance_nit",
    "still_curve",
    "still_difference",
    "stops_of_encoded",
    "stops_over_grey",
    "stops_over_key",
    "sum_layers",
    "view_curve",
    "write_exr",
    "write_png",
]

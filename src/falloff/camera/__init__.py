"""The camera: exposure, the picture as a display shows it, the stops map and files of both."""

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
from falloff.camera.png import write_png
from falloff.camera.settings import CameraSettings
from falloff.camera.stops_map import draw_stops_map
from falloff.camera.view import (
    ViewCurve,
    develop,
    display_matrix,
    encoded_of_stops,
    stops_of_encoded,
    view_curve,
)

__all__ = [
    "CameraSettings",
    "ExposedFrame",
    "ViewCurve",
    "describe_key",
    "describe_settings",
    "develop",
    "display_matrix",
    "draw_stops_map",
    "encoded_of_stops",
    "expose",
    "exposure_value",
    "exposure_value_100",
    "exposure_value_of_illuminance",
    "illuminance_of_exposure_value_lux",
    "key_illuminance_lux",
    "luminance_of_exposure_value_nit",
    "mid_grey_luminance_nit",
    "sensor_exposure_lxs",
    "sensor_illuminance_lux",
    "spot_luminance_nit",
    "stops_of_encoded",
    "stops_over_grey",
    "stops_over_key",
    "sum_layers",
    "view_curve",
    "write_exr",
    "write_png",
]

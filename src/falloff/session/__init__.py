"""The use cases, one file each: the packages' verbs chained, nothing else."""

from falloff.session.demo import Demo, run_demo
from falloff.session.meter import Metered, run_meter
from falloff.session.picture import PictureFiles, run_picture
from falloff.session.scene import Scene, open_scene, setup_light

__all__ = [
    "Demo",
    "Metered",
    "PictureFiles",
    "Scene",
    "open_scene",
    "run_demo",
    "run_meter",
    "run_picture",
    "setup_light",
]

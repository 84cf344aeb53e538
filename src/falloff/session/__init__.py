"""The use cases, one file each: the packages' verbs chained, nothing else."""

from falloff.layers import warm_up
from falloff.session.check import Checked, run_check
from falloff.session.demo import LOCATIONS, Demo, Location, run_demo
from falloff.session.meter import Metered, run_meter
from falloff.session.new import Started, run_new
from falloff.session.picture import ChangeFile, PictureFiles, Pictures, run_picture
from falloff.session.quick import SITUATIONS, QuickAnswer, questions, read_answer
from falloff.session.scene import Scene, open_scene, setup_light

__all__ = [
    "LOCATIONS",
    "SITUATIONS",
    "ChangeFile",
    "Checked",
    "Demo",
    "Location",
    "Metered",
    "PictureFiles",
    "Pictures",
    "QuickAnswer",
    "Scene",
    "Started",
    "open_scene",
    "questions",
    "read_answer",
    "run_check",
    "run_demo",
    "run_meter",
    "run_new",
    "run_picture",
    "setup_light",
    "warm_up",
]

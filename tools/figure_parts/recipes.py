"""What a recipe of a figure says: dials of the body, the pose, hair and cloth."""

from __future__ import annotations

from dataclasses import dataclass, field

from figure_parts.head import Hair
from figure_parts.pose import Turn
from figure_parts.reach import Goal


@dataclass(frozen=True, slots=True)
class Recipe:
    """One figure: dials as the body model names them, turns for the right side mirrored.

    pose: standing, seated, leaning or lying; free: bones and axes that may be turned further to
    reach the goals; seat_at_m: a seat higher than the feet reach; sink_m: how far the figure
    sinks into what carries it, where it is pressed flat; rest: words on what carries it, with
    {edge_m}, {ahead_m}, {counter_m}, {pillow_m} and {pillow_at_m} filled in by measurement.
    """

    name: str
    phenotype: dict[str, float]
    turns: tuple[Turn, ...]
    pose: str = "standing"
    changes: dict[str, float] = field(default_factory=dict)
    actions: dict[str, float] = field(default_factory=dict)
    uneven: tuple[Turn, ...] = ()  # added after mirroring, so that the pose is no mirror image
    free: tuple[tuple[str, str], ...] = ()
    goals: tuple[Goal, ...] = ()
    hair: Hair = field(default_factory=Hair)
    collar: bool = True
    seat_at_m: float = 0.0
    sink_m: float = 0.018
    rest: str = ""
    iris_m: float = 0.0062
    gaze_down_deg: float = 4.0

    @property
    def file_name(self) -> str:
        """The shipped file."""
        return self.name.replace(" ", "_") + ".npz"


def curled(side: str, fingers: dict[str, tuple[float, float, float]]) -> tuple[Turn, ...]:
    """Turns of the three joints of each finger towards the palm, in degrees."""
    return tuple(
        (f"finger{finger}-{joint}.{side}", "curl", degrees)
        for finger, joints in fingers.items()
        for joint, degrees in enumerate(joints, start=1)
    )

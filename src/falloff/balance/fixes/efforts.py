"""What a change takes: minutes and hands, one table; and how a rank is made of them.

Common practice of crews of one to three, no source: a crew's own figures are better.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

FIRST_MINUTES: Final = 5.0  # to decide, tell and look again, whatever is done
MINUTES_PER_RATE: Final = 1.0  # of one hand, that one unit of the kit's currency is worth


@dataclass(frozen=True, slots=True)
class Effort:
    """Minutes that it takes, and how many people for all of them."""

    minutes: float
    hands: int = 1


DIAL: Final = Effort(1.0)  # stop, ISO
MATTE_BOX: Final = Effort(2.0)  # a filter before the lens
GEL_PANE: Final = Effort(10.0)  # for each square metre of glass, cut and taped
GEL_UP: Final = Effort(10.0)  # ladder and tools out and back, whatever the window
PANEL_OUTSIDE: Final = Effort(25.0, 2)  # a rigid sheet or a net on stands before a big window
SHEER: Final = Effort(12.0)
BLACKOUT: Final = Effort(10.0, 2)
WAIT: Final = Effort(20.0)  # turning everybody's day round; the wait itself is not work
MOVE: Final = Effort(5.0)  # one unit on one stand
MOVE_BIG: Final = Effort(12.0, 2)  # a front or a body of more than a metre
SWAP_MODIFIER: Final = Effort(6.0)
SWAP_HEAD: Final = Effort(10.0)
SWAP_BIG: Final = Effort(20.0, 2)
WIRE: Final = Effort(2.0)  # into the head
NET: Final = Effort(5.0)  # stand, arm, net
FLAG: Final = Effort(6.0)
BOARD: Final = Effort(6.0)
HANG_WALL: Final = Effort(25.0, 2)
SECOND_UNIT: Final = Effort(15.0)
AWAY: Final = Effort(5.0)
NOTHING: Final = Effort(0.0)
A_TARGET_STOPS: Final = 0.5  # that a target counts besides its stops, if it comes in or is lost
GRADE_WINDOW: Final = Effort(15.0)  # a window drawn, tracked and looked at, in each setup

RULE: Final = (
    "what brings everything in comes first; else ranked by stops nearer for the effort, "
    f"a target that comes in {A_TARGET_STOPS:g} stop more and one that is lost as much less: "
    f"{FIRST_MINUTES:g} minutes + minutes x hands + the day's rate, one unit of the kit's currency "
    f"counted as {MINUTES_PER_RATE:g} minute of one hand; what is left for the grade comes after "
    "what does nearly as much on set"
)


def effort_minutes(effort: Effort, hire: float | None) -> float:
    """The effort that a rank is by, minutes of one hand."""
    return FIRST_MINUTES + effort.minutes * effort.hands + MINUTES_PER_RATE * (hire or 0.0)

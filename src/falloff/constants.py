"""Constants with their sources; every other module imports them from here."""

from __future__ import annotations

import math
from typing import Final

# ISO 2720:1974, incident-light calibration constant C for a flat receptor: 240 to 400 lx·s,
# 250 the usual value. Always printed beside a result that rests on it.
METER_CONSTANT_C_LUX: Final = 250.0

# ISO 2720:1974, reflected-light calibration constant K: 10.6 to 13.4, 12.5 the usual value.
METER_CONSTANT_K_NIT: Final = 12.5

# The reflectance of a photographic grey card: common practice, no source.
GREY_CARD_REFLECTANCE: Final = 0.18

# Stops over and under middle grey that a present-day cinema camera holds: common practice, no
# source. A camera's own measured figures should be given where they are known.
USUAL_HIGHLIGHT_STOPS: Final = 6.0
USUAL_SHADOW_STOPS: Final = 6.0

# The international foot (1959 agreement) is exact; the foot-candle is one lumen a square foot.
METRES_PER_FOOT: Final = 0.3048
METRES_PER_INCH: Final = 0.0254
LUX_PER_FOOTCANDLE: Final = 1.0 / METRES_PER_FOOT**2
NITS_PER_FOOTLAMBERT: Final = LUX_PER_FOOTCANDLE / math.pi

# CIE traditional overcast sky, L = Lz (1 + 2 sin γ) / 3 (ISO 15469:2004, type 16):
# horizontal illuminance over zenith luminance is 7π/9 by integration.
OVERCAST_HORIZONTAL_OVER_ZENITH: Final = 7.0 * math.pi / 9.0

# ITU-R BT.2020-2, table 3: luminance weights of the working space's three channels.
LUMINANCE_WEIGHTS: Final = (0.2627, 0.6780, 0.0593)

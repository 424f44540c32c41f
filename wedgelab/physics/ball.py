"""The ball that the rules allow, and gravity."""

import math
from typing import Final

from wedgelab.units import INCH_M

OUNCE_KG: Final = 0.028349523125  # international avoirdupois ounce, exact

GRAVITY_MPS2: Final = 9.80665  # standard gravity, exact by convention

# R&A/USGA Equipment Rules, part 4: at most 1.620 oz avoirdupois, at least 1.680 in across. Wedge shots are flown with
# the ball at both limits.
MASS_KG: Final = 1.620 * OUNCE_KG
DIAMETER_M: Final = 1.680 * INCH_M
RADIUS_M: Final = DIAMETER_M / 2
AREA_M2: Final = math.pi * RADIUS_M**2

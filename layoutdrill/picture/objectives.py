"""
The objectives of a light microscope as numbers: what each resolves, how deep it sees, how dark it makes a slope.

All follow from the numerical aperture and a wavelength of 0.55 µm: resolution 0.61 λ/NA, depth of field λ/NA², the
blur of a point as a Gaussian of 0.22 λ/NA. Resolutions and depths agree with table 4-1 of D. B. Murphy, Fundamentals
of Light Microscopy and Electronic Imaging. A slope of angle α sends light aside by 2α, so of the round pupil that lit
it only the overlap with its own image displaced by sin 2α comes back (the same overlap as in the transfer function of
a round pupil: J. W. Goodman, Introduction to Fourier Optics, chapter 6).
"""

import math

from layoutdrill.errors import LayoutdrillError, did_you_mean
from layoutdrill.process import Process
from layoutdrill.value import value

WAVELENGTH = 0.55
"""µm; the middle of the visible range."""


@value
class Objective:
    """An objective: its name, how much it magnifies, and its numerical aperture."""

    name: str
    times: int
    aperture: float

    @property
    def resolution(self) -> float:
        """Return the least distance in µm of two points seen as two."""
        return 0.61 * WAVELENGTH / self.aperture

    @property
    def blur(self) -> float:
        """Return the standard deviation in µm of the Gaussian that a point is blurred to."""
        return 0.22 * WAVELENGTH / self.aperture

    @property
    def depth_of_field(self) -> float:
        """Return the range of heights in µm that is sharp at once."""
        return WAVELENGTH / self.aperture**2

    def defocus(self, away: float) -> float:
        """Return the further blur (standard deviation, µm) of what lies `away` µm from the plane of focus."""
        return 0.5 * abs(away) * math.tan(math.asin(self.aperture))

    def kept(self, slope: float) -> float:
        """Return the share of its light that a mirror sloping by an angle (radians) still sends into the lens."""
        if slope >= math.pi / 4:
            return 0.0
        apart = math.sin(2 * slope) / (2 * self.aperture)
        if apart >= 1:
            return 0.0
        return 2 / math.pi * (math.acos(apart) - apart * math.sqrt(1 - apart * apart))

    def steepest(self, share: float) -> float:
        """Return the slope (radians) that still sends a share (0 to 1) of its light back, by bisection."""
        low, high = 0.0, math.pi / 4
        for _ in range(40):
            middle = (low + high) / 2
            low, high = (middle, high) if self.kept(middle) > share else (low, middle)
        return low


OBJECTIVES = (
    Objective("5x", 5, 0.13),
    Objective("10x", 10, 0.25),
    Objective("20x", 20, 0.45),
    Objective("50x", 50, 0.55),
    Objective("50x-high", 50, 0.80),
)
"""From the weakest. `50x` is one of long working distance, which sees a die in its open package."""

SMALLEST = 0.5
"""µm. A process of a smaller λ is finer than any lens resolves: it is drawn as if one did, and that is said."""


def load_objective(name: str) -> Objective:
    for objective in OBJECTIVES:
        if objective.name == name:
            return objective
    known = [objective.name for objective in OBJECTIVES]
    raise LayoutdrillError(f'no objective "{name}"', todo=did_you_mean(name, known))


def um_per_lambda(process: Process) -> float:
    return process.grid_nm * process.grid_per_lambda / 1000


def beyond_light(process: Process) -> bool:
    """Tell whether a process is finer than light can show."""
    return um_per_lambda(process) < SMALLEST


def objective_for(process: Process, pixels_per_lambda: float) -> Objective:
    """Return the weakest objective that resolves a pixel, nearly: zooming in is turning the turret."""
    pixel = um_per_lambda(process) / pixels_per_lambda
    return next((o for o in OBJECTIVES if o.resolution <= 1.25 * pixel), OBJECTIVES[-1])

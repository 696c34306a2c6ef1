"""
Join two pictures of one place by points seen in both: the affine map with the least sum of squares, and what is left.

Method: linear least squares by the normal equations (any textbook of surveying or statistics), places taken from their
mean so that the equations stay well conditioned.
"""

from collections.abc import Sequence
from math import hypot, sqrt

from layoutdrill.errors import LayoutdrillError, Where
from layoutdrill.photo.model import At, JoinPoint, Marks, Picture
from layoutdrill.value import value

LEAST = 3
"""Points that an affine map needs."""
POOR = 3.0
"""Pixels of residual above which a join is told to be poor."""


@value
class Affine:
    """The map u = a·x + b·y + c, v = d·x + e·y + f, as (a, b, c, d, e, f)."""

    terms: tuple[float, float, float, float, float, float]

    def of(self, at: At) -> At:
        a, b, c, d, e, f = self.terms
        x, y = at
        return a * x + b * y + c, d * x + e * y + f

    def inverse(self) -> "Affine":
        a, b, c, d, e, f = self.terms
        det = a * e - b * d
        return Affine((e / det, -b / det, (b * f - c * e) / det, -d / det, a / det, (c * d - a * f) / det))

    @property
    def scale(self) -> float:
        """How many pixels of the target one pixel becomes, the mean of both ways."""
        a, b, _, d, e, _ = self.terms
        return sqrt(abs(a * e - b * d))


IDENTITY = Affine((1.0, 0.0, 0.0, 0.0, 1.0, 0.0))


@value
class Joined:
    """A picture's map from its own pixels to those of the first, and how far off its common points lie (pixels)."""

    map: Affine
    residuals: tuple[float, ...]

    @property
    def residual(self) -> float:
        return sqrt(sum(r * r for r in self.residuals) / len(self.residuals)) if self.residuals else 0.0


def join(points: Sequence[JoinPoint], where: Where) -> Joined:
    """Return the map that takes points' `at` nearest to their `on`. Raises LayoutdrillError: too few, or in a line."""
    if len(points) < LEAST:
        what = f"{len(points)} common points, and {LEAST} or more are needed"
        raise LayoutdrillError(what, where=where, todo="mark points that both pictures show, far apart")
    n = len(points)
    mx, my = sum(p.at[0] for p in points) / n, sum(p.at[1] for p in points) / n
    mu, mv = sum(p.on[0] for p in points) / n, sum(p.on[1] for p in points) / n
    sxx = sxy = syy = sxu = syu = sxv = syv = 0.0
    for p in points:
        x, y, u, v = p.at[0] - mx, p.at[1] - my, p.on[0] - mu, p.on[1] - mv
        sxx, sxy, syy = sxx + x * x, sxy + x * y, syy + y * y
        sxu, syu, sxv, syv = sxu + x * u, syu + y * u, sxv + x * v, syv + y * v
    det = sxx * syy - sxy * sxy
    if det <= 1e-6 * (sxx + syy) ** 2:
        raise LayoutdrillError(
            "the common points lie in a line", where=where, todo="add one that lies well away from the others"
        )
    a, b = (sxu * syy - syu * sxy) / det, (syu * sxx - sxu * sxy) / det
    d, e = (sxv * syy - syv * sxy) / det, (syv * sxx - sxv * sxy) / det
    if abs(a * e - b * d) < 1e-6:
        raise LayoutdrillError("the common points fold the picture flat", where=where, todo="mark them anew")
    affine = Affine((a, b, mu - a * mx - b * my, d, e, mv - d * mx - e * my))
    left = []
    for p in points:
        u, v = affine.of(p.at)
        left.append(hypot(u - p.on[0], v - p.on[1]))
    return Joined(affine, tuple(left))


def joined(marks: Marks, picture: Picture) -> Joined:
    """Return how a picture lies on the first; raises LayoutdrillError where its common points do not say."""
    if picture is marks.pictures[0] or picture.file == marks.pictures[0].file:
        return Joined(IDENTITY, ())
    return join([p for p in marks.joins if p.picture == picture.file], picture.where)

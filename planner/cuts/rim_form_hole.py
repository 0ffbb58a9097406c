"""Rim holes in rims of any form, beside the radius, or tilted along the shaft.

Frame: x along the cut's own ray, y to its left (counter-clockwise seen from the front), s along the shaft from the
counterweight's middle plane toward the rear.  The drill meets the surface at ``(x0, beside, from_middle)`` with ``x0 =
sqrt(R(s)^2 - beside^2)`` and goes in along ``(-cos tilt, 0, sin tilt)``: a positive tilt sends its tip to the rear.

A hole is a bundle of columns along the drill's axis, from the rim to the drill's bottom.  While the whole bottom lies
in the metal the two ends come apart: the integral to the bottom is a polynomial over cylinder and cone, the integral
to the rim does not know the depth.  That one is elementary in y for a drill that is not tilted, so that one smooth
integral along s is left, piece by piece of the rim (Gauss-Legendre; good to 1e-13); for a plain or evenly tapered rim it
comes to the closed form ``pi a^2 [x h - h^2/2 - a^2/8 (1 - tan^2 taper) + (c/3)(x - h - c/4)]``.  All else (shallow
holes, tilted drills) is integrated column by column in polar coordinates about the drill's axis, split where columns
begin or change their piece, to 1e-10.

Own derivation; checked against reference solids and a solid kernel.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from functools import lru_cache, partial

import numpy as np
from numpy.typing import NDArray

from geometry_profiles.outline import OutlineError
from geometry_profiles.rims import RimForm, RimPiece
from planner.cuts.solid import FloatArray, checked_point_angle, checked_positive, root_of_increasing
from planner.errors import InputError
from planner.records import dataclass
from planner.rotor.crankshaft import cone_height_mm

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(48)
_FEW_NODES, _FEW_WEIGHTS = np.polynomial.legendre.leggauss(20)
# points between 0 and 1 as sin^2, dense toward both ends, and their weights
_GRADED = 0.25 * np.pi * (_FEW_NODES + 1.0)
_GRADED_WEIGHTS = 0.25 * np.pi * _FEW_WEIGHTS * 2.0 * np.sin(_GRADED) * np.cos(_GRADED)
_MOST_PARTS = 32
MOST_TILT_DEG = 30.0
_RELATIVE = 1e-11


@dataclass(frozen=True)
class HoleMoments:
    """What a hole takes away, amounts positive.

    Attributes
    ----------
    volume_mm3 : float
        Volume [mm3].
    radial_mm4, tangential_mm4 : float
        First moment along the cut's ray and across it, counter-clockwise [mm4].
    radial_s_mm5, tangential_s_mm5 : float
        The same times the place along the shaft from the middle plane [mm5].
    along_mm4 : float
        First moment along the shaft about the middle plane, of the volume [mm4].
    """

    volume_mm3: float
    radial_mm4: float
    tangential_mm4: float
    radial_s_mm5: float
    tangential_s_mm5: float
    along_mm4: float

    @property
    def first_moment_mm4(self) -> float:
        """The resultant first moment about the shaft axis [mm4]."""
        return math.hypot(self.radial_mm4, self.tangential_mm4)

    @property
    def turned_deg(self) -> float:
        """Direction of the resultant from the cut's ray, counter-clockwise [deg]."""
        return math.degrees(math.atan2(self.tangential_mm4, self.radial_mm4))

    @property
    def centroid_radius_mm(self) -> float:
        """Resultant moment through volume [mm]; 0 for nothing."""
        return self.first_moment_mm4 / self.volume_mm3 if self.volume_mm3 else 0.0

    @property
    def from_middle_mm(self) -> float:
        """Where the resultant acts along the shaft, from the middle plane [mm]; 0 for nothing.

        Radial and tangential part act at places that differ by hundredths of a mm at most; this is the one of the
        resultant.
        """
        square = self.radial_mm4**2 + self.tangential_mm4**2
        if square == 0.0:
            return 0.0
        return (self.radial_mm4 * self.radial_s_mm5 + self.tangential_mm4 * self.tangential_s_mm5) / square


def rim_form_hole(
    *,
    form: RimForm,
    diameter_mm: float,
    depth_shoulder_mm: float,
    point_angle_deg: float = 118.0,
    from_middle_mm: float = 0.0,
    beside_mm: float = 0.0,
    tilt_deg: float = 0.0,
) -> HoleMoments:
    """Return what one rim hole removes from a rim of any form.

    Parameters
    ----------
    form : RimForm
        The rim.
    diameter_mm : float
        Diameter of the hole [mm].
    depth_shoulder_mm : float
        Depth of the full diameter, along the drill's axis from where that meets the rim [mm]; down to ``-cone height``.
    point_angle_deg : float
        The drill's point angle [deg].
    from_middle_mm : float
        Where the axis meets the rim, along the shaft from the middle plane, + toward the rear [mm].
    beside_mm : float
        How far the axis passes beside the shaft axis, + counter-clockwise [mm].
    tilt_deg : float
        Angle of the drill along the shaft [deg]; + sends the tip toward the rear.

    Raises
    ------
    InputError
        If a size is out of range, the hole leaves the rim at a face, or its tip would pass the shaft axis.
    """
    drill = _Drill.made(form, diameter_mm, point_angle_deg, from_middle_mm, beside_mm, tilt_deg)
    return drill.hole(float(depth_shoulder_mm))


def rim_form_holes(
    *,
    form: RimForm,
    diameter_mm: float,
    depths_shoulder_mm: Sequence[float],
    point_angle_deg: float = 118.0,
    from_middle_mm: float = 0.0,
    tilt_deg: float = 0.0,
) -> tuple[HoleMoments, ...]:
    """Return what rim holes of one drill and several depths remove, none beside the radius (see `rim_form_hole`)."""
    drill = _Drill.made(form, diameter_mm, point_angle_deg, from_middle_mm, 0.0, tilt_deg)
    return tuple(drill.hole(float(depth)) for depth in depths_shoulder_mm)


def rim_hole_breaking_out(
    *,
    form: RimForm,
    diameter_mm: float,
    depth_shoulder_mm: float,
    point_angle_deg: float = 118.0,
    from_middle_mm: float = 0.0,
    flanks_deg: Sequence[float] = (),
) -> HoleMoments:
    """Return what a rim hole removes that comes out at a face or at radial flanks, where that is wanted.

    Only metal counts: between the faces, and between the flanks.

    Parameters
    ----------
    form, diameter_mm, depth_shoulder_mm, point_angle_deg, from_middle_mm
        As for `rim_form_hole` [mm, deg]; the hole's axis meets the rim between the faces.
    flanks_deg : sequence of float
        Directions of straight flanks through the shaft axis, from the hole's own ray [deg], between -90 and 90; the
        metal of a positive one lies clockwise of it, that of a negative one counter-clockwise.

    Raises
    ------
    InputError
        If a size is out of range, or the hole's axis does not meet metal.
    """
    for flank in flanks_deg:
        if not 0.0 < abs(flank) < 90.0:
            raise InputError(
                f"a flank stands {flank:g} degrees from the hole, between 0 and 90 either way is allowed",
                hint="the angle is counted from the hole's own ray",
            )
    drill = _Drill.made(form, diameter_mm, point_angle_deg, from_middle_mm, 0.0, 0.0, stays_inside=False)
    drill.check_depth(depth_shoulder_mm)
    values = _around(drill, depth_shoulder_mm, tuple(flanks_deg))
    return HoleMoments(*(float(value) for value in values))


def rim_form_hole_depth_mm(
    *,
    first_moment_mm4: float,
    form: RimForm,
    diameter_mm: float,
    point_angle_deg: float = 118.0,
    from_middle_mm: float = 0.0,
    beside_mm: float = 0.0,
    tilt_deg: float = 0.0,
) -> float:
    """Return the shoulder depth that removes a wanted resultant moment [mm].

    Raises
    ------
    InputError
        As `rim_form_hole`, or if the wanted moment is more than the hole can remove.
    """
    wanted = float(checked_positive(first_moment_mm4, "wanted first moment", "mm4"))
    drill = _Drill.made(form, diameter_mm, point_angle_deg, from_middle_mm, beside_mm, tilt_deg)
    deepest = drill.deepest_mm
    greatest = drill.hole(deepest).first_moment_mm4
    if wanted > greatest * (1.0 + 1e-12):
        raise InputError(
            f"first moment {wanted:g} mm4 can't be reached with a {diameter_mm:g} mm rim hole: the greatest is "
            f"{greatest:g} mm4 at {deepest:.2f} mm to the shoulder, where the tip reaches the shaft axis",
            hint="take a larger drill or more than one hole",
        )
    return root_of_increasing(
        lambda depth: drill.hole(depth).first_moment_mm4 - wanted, -drill.c + 1e-9, deepest
    )


@dataclass(frozen=True)
class _Drill:
    """A drill at its place: a half diameter, c cone height, (x0, e, s0) where its axis meets the rim, tilt."""

    form: RimForm
    a: float
    c: float
    x0: float
    e: float
    s0: float
    sin: float
    cos: float

    @staticmethod
    def made(
        form: RimForm,
        diameter: float,
        point: float,
        s0: float,
        beside: float,
        tilt: float,
        *,
        stays_inside: bool = True,
    ) -> _Drill:
        d = float(checked_positive(diameter, "diameter", "mm"))
        checked_point_angle(point)
        for what, value in (
            ("place from the middle", s0),
            ("place beside the radius", beside),
            ("tilt", tilt),
        ):
            if not math.isfinite(value):
                raise InputError(f"the hole's {what} is not a number", hint="leave it out for 0")
        if abs(tilt) > MOST_TILT_DEG:
            raise InputError(
                f"the drill is tilted by {tilt:g} degrees, up to {MOST_TILT_DEG:g} either way is allowed",
                hint="the tilt is the angle between the drill and the plane across the shaft",
            )
        if tilt != 0.0 and form.name == "stepped":
            raise InputError(
                "a tilted hole in a stepped rim is not worked out", hint="drill it square to the shaft"
            )
        try:
            R = form.radius_mm(s0)
            least = form.least_radius_mm(s0 - d / 2.0, s0 + d / 2.0)
        except OutlineError as error:
            raise InputError(str(error), hint="the place is counted from the middle plane") from error
        if abs(beside) + d / 2.0 >= least:
            raise InputError(
                f"a {d:g} mm hole {abs(beside):g} mm beside the radius misses a rim of radius {least:g} mm",
                hint="check the diameter, the place beside the radius and their units",
            )
        half = d / 2.0
        leaves = s0 - half < form.breaks_mm[0] - 1e-9 or s0 + half > form.breaks_mm[-1] + 1e-9
        if stays_inside and leaves:
            raise InputError(
                f"a {d:g} mm rim hole {s0:g} mm from the middle leaves a counterweight "
                f"{form.thickness_mm:g} mm thick at its face",
                hint="take a smaller drill or a place nearer to the middle",
            )
        angle = math.radians(tilt)
        x0 = math.sqrt(R * R - beside * beside)
        c = cone_height_mm(diameter_mm=d, point_angle_deg=point)
        return _Drill(form, half, c, x0, beside, s0, math.sin(angle), math.cos(angle))

    @property
    def deepest_mm(self) -> float:
        """Shoulder depth at which the tip reaches the shaft axis (beside it: its height), or a face when tilted."""
        deepest = self.x0 / self.cos - self.c
        if self.sin != 0.0:
            face = self.form.breaks_mm[-1 if self.sin > 0.0 else 0]
            room = abs(face - self.s0) / abs(self.sin)
            shoulder = (abs(face - self.s0) - self.a * self.cos) / abs(self.sin)
            deepest = min(deepest, room - self.c, shoulder)
        return deepest

    def check_depth(self, h: float) -> None:
        if not math.isfinite(h):
            raise InputError("depth is not a number", hint="give the depth as a number above 0")
        if h + self.c <= 0.0:
            raise InputError(
                f"depth is {h:g} mm to the shoulder: the drill does not touch the rim",
                hint="depths are counted inward from the rim, on the hole's axis, and are above 0",
            )
        if h > self.deepest_mm * (1.0 + 1e-12) + 1e-12:
            where = "comes out at a face" if self.sin != 0.0 else "passes the shaft axis"
            raise InputError(
                f"depth {h:g} mm to the shoulder is too deep: the drill {where}",
                hint=f"the greatest depth to the shoulder is {self.deepest_mm:.2f} mm; check the depth's unit",
            )

    def hole(self, h: float) -> HoleMoments:
        """Return what it takes away at a depth; where its full diameter is in the metal all around, the ends come apart."""
        self.check_depth(h)
        deep = h >= _least_shoulder(self)
        values = _to_bottom(self, h) - _to_rim(self) if deep else _around(self, h)
        return HoleMoments(*(float(value) for value in values))


@lru_cache(maxsize=512)
def _least_shoulder(drill: _Drill) -> float:
    """Return the shoulder depth from which the full diameter is in the metal all around, rather too much [mm]."""
    turn = np.linspace(0.0, 2.0 * np.pi, 721)
    u, v = drill.a * np.sin(turn), drill.e + drill.a * np.cos(turn)
    entry = _entry(drill, u, v)
    # the greatest between two samples lies at most a quarter of their spacing's bulge above them
    return float(entry.max()) + 1e-4 * drill.a


# --- the two ends of the columns -----------------------------------------------------------------------------


def _entry(drill: _Drill, u: FloatArray, v: FloatArray) -> FloatArray:
    """Return how far along the drill's way, counted from where its axis enters, columns meet the rim [mm].

    ``u`` is the column's place across the drill in the plane of shaft and ray, ``v`` its y.
    """
    if drill.sin == 0.0:
        s = drill.s0 + u
        R = _radius(drill.form, s)
        return np.asarray(drill.x0 - np.sqrt(np.maximum(R * R - v * v, 0.0)))
    # A rim that is not stepped bounds a convex body, the one inside all its pieces carried on: the last one entered
    # decides.
    X0, S0 = drill.x0 + u * drill.sin, drill.s0 + u * drill.cos
    k, q = drill.cos, drill.sin
    entered = np.full(np.broadcast_shapes(u.shape, v.shape), -np.inf)
    for piece in drill.form.pieces:
        if piece.rounding_mm == 0.0:
            B, m = piece.from_radius_mm + piece.slope * (S0 - piece.from_mm), piece.slope
            t = _smaller_root(k * k - (m * q) ** 2, X0 * k + B * m * q, X0 * X0 + v * v - B * B)
        else:
            t = _enters_rounding(piece, X0, S0, v, k, q)
        entered = np.maximum(entered, t)
    return entered


def _smaller_root(a: float, b: FloatArray, c: FloatArray) -> FloatArray:
    """Return the smaller root of a t^2 - 2 b t + c."""
    return np.asarray(c / (b + np.sqrt(np.maximum(b * b - a * c, 0.0))))


def _enters_rounding(
    piece: RimPiece, X0: FloatArray, S0: FloatArray, v: FloatArray, k: float, q: float
) -> FloatArray:
    """Return where columns enter the body of a rounding carried on as a land, by Newton's steps from outside.

    The distance from the body falls along the column and is convex, so every step stays outside and they close in.
    """
    rising = piece.to_radius_mm > piece.from_radius_mm
    middle = piece.to_mm if rising else piece.from_mm
    side = -1.0 if rising else 1.0
    top, rho = max(piece.from_radius_mm, piece.to_radius_mm), piece.rounding_mm
    t = _smaller_root(k * k, X0 * k, X0 * X0 + v * v - top * top)
    for _ in range(14):
        x, off = X0 - k * t, np.maximum(side * (S0 + q * t - middle), 0.0)
        radius = np.sqrt(x * x + v * v)
        height = np.sqrt(np.maximum(rho * rho - off * off, 1e-12 * rho * rho))
        fall = -k * x / radius + q * side * off / height
        t = t - np.where(fall < 0.0, (radius - (top - rho + height)) / np.where(fall < 0.0, fall, -1.0), 0.0)
    return np.asarray(t)


def _radius(form: RimForm, s: FloatArray) -> FloatArray:
    """Return the radius at places along the shaft; beyond a face the piece there goes on."""
    R = np.array(form.pieces[0].radius_mm(s))
    for piece in form.pieces[1:]:
        R = np.where(s >= piece.from_mm, piece.radius_mm(s), R)
    return R


def _primitives(drill: _Drill, u: FloatArray, v: FloatArray, t: FloatArray) -> FloatArray:
    """Return the integrals along a column from where the axis enters to t of 1, x, y, x*s, y*s, s."""
    A, S, k, q = drill.x0 + u * drill.sin, drill.s0 + u * drill.cos, drill.cos, drill.sin
    one, two, three = t, t * t / 2.0, t**3 / 3.0
    x = A * one - k * two
    xs = A * S * one + (A * q - k * S) * two - k * q * three
    ys = v * (S * one + q * two)
    return np.stack(np.broadcast_arrays(one, x, v * one, xs, ys, S * one + q * two))


def _to_bottom(drill: _Drill, h: float) -> FloatArray:
    """Return the integrals to the drill's bottom over the whole disc; polynomials, so few points are exact."""
    share = 0.5 * (_FEW_NODES[:, None] + 1.0)
    turn = 2.0 * np.pi * np.arange(16)[None, :] / 16
    rho = drill.a * share
    weight = 0.5 * _FEW_WEIGHTS[:, None] * drill.a * rho * (2.0 * np.pi / 16)
    u, v = rho * np.sin(turn), drill.e + rho * np.cos(turn)
    t = np.broadcast_to(h + drill.c * (1.0 - share), u.shape)
    return np.asarray((weight * _primitives(drill, u, v, t)).sum(axis=(1, 2)))


@lru_cache(maxsize=512)
def _to_rim(drill: _Drill) -> FloatArray:
    """Return the integrals to the rim over the whole disc."""
    if drill.sin != 0.0:
        return _around(drill, None)
    total = np.zeros(6)
    e, x0, s0, a = drill.e, drill.x0, drill.s0, drill.a
    for piece in drill.form.pieces:
        first, last = max(piece.from_mm - s0, -a), min(piece.to_mm - s0, a)
        if first >= last:
            continue
        from_turn, to_turn = math.asin(max(-1.0, first / a)), math.asin(min(1.0, last / a))
        turn, weight = _panel(piece, from_turn, to_turn, s0, a)
        s = s0 + a * np.sin(turn)
        w = a * np.cos(turn)
        weight = weight * a * np.cos(turn)
        R = piece.radius_mm(s)
        low, high = e - w, e + w
        root_low, root_high = np.sqrt(R * R - low * low), np.sqrt(R * R - high * high)
        # integrals over y of sqrt(R^2 - y^2), of R^2 - y^2, of y*sqrt(R^2 - y^2)
        length = 0.5 * (
            high * root_high - low * root_low + R * R * (np.arcsin(high / R) - np.arcsin(low / R))
        )
        square = R * R * 2.0 * w - (high**3 - low**3) / 3.0
        with_y = (root_low**3 - root_high**3) / 3.0
        # along the column: t = x0 - sqrt(R^2 - y^2); x from x0 down to there is (x0^2 - (R^2 - y^2))/2
        volume = x0 * 2.0 * w - length
        radial = 0.5 * (x0 * x0 * 2.0 * w - square)
        tangential = x0 * 2.0 * w * e - with_y
        total += np.array(
            [
                float(np.sum(weight * part))
                for part in (volume, radial, tangential, s * radial, s * tangential, s * volume)
            ]
        )
    return total


def _panel(
    piece: RimPiece, from_turn: float, to_turn: float, s0: float, a: float
) -> tuple[FloatArray, FloatArray]:
    """Return points and weights; graded toward the end of a rounding that is upright there."""
    middle, half = 0.5 * (from_turn + to_turn), 0.5 * (to_turn - from_turn)
    if piece.rounding_mm == 0.0:
        return middle + half * _NODES, half * _WEIGHTS
    # sin^2 grading: the square root at an upright end becomes smooth
    p = 0.25 * np.pi * (_NODES + 1.0)
    at = from_turn + (to_turn - from_turn) * np.sin(p) ** 2
    weight = 0.25 * np.pi * _WEIGHTS * (to_turn - from_turn) * 2.0 * np.sin(p) * np.cos(p)
    return at, weight


# --- column by column ----------------------------------------------------------------------------------------


def _around(drill: _Drill, h: float | None, flanks_deg: tuple[float, ...] = ()) -> FloatArray:
    """Return the integrals over the disc in polar coordinates; to the rim (h None) or from the rim to the bottom.

    Panels around the drill end where a piece's end, or the bottom's, passes the drill's edge; they are halved until the
    sum stands still.
    """
    reach = 2.0 * drill.a + 10.0
    breaks = [b for b in drill.form.breaks_mm if abs(b - drill.s0) < reach]
    edges = np.unique([-0.5 * np.pi, *_kinks(drill, h, breaks), 0.5 * np.pi, 1.5 * np.pi])
    before, parts = None, 1
    while True:
        low = np.concatenate(
            [edges[:-1] + (edges[1:] - edges[:-1]) * number / parts for number in range(parts)]
        )
        width = np.tile((edges[1:] - edges[:-1]) / parts, parts)
        # a kink may begin like a square root: graded toward both ends
        turn = low[:, None] + width[:, None] * np.sin(_GRADED) ** 2
        weight = width[:, None] * _GRADED_WEIGHTS
        values = _along(drill, h, turn.ravel(), breaks, flanks_deg)
        total = np.asarray((weight.ravel()[:, None] * values).sum(axis=0))
        if before is not None and np.all(np.abs(total - before) <= _RELATIVE * np.abs(total).max()):
            return total
        if parts >= _MOST_PARTS:
            return total
        before, parts = total, 2 * parts


def _along(
    drill: _Drill,
    h: float | None,
    turn: FloatArray,
    breaks: Sequence[float],
    flanks_deg: tuple[float, ...] = (),
) -> FloatArray:
    """Return the integrals along rays from the drill's axis, shape (rays, 6)."""
    a = drill.a
    sine, cosine = np.sin(turn)[:, None], np.cos(turn)[:, None]
    ends = [np.zeros(turn.size), np.full(turn.size, a)]
    ends += [_first_root(drill, sine, cosine, b=b) for b in breaks]
    if h is not None:
        ends.append(_first_root(drill, sine, cosine, h=h))
    for flank in flanks_deg:
        ends.append(_first_root(drill, sine, cosine, flank=flank))
        ends.append(_first_root(drill, sine, cosine, flank=flank, h=h))
    edges = np.sort(np.stack(ends, axis=1), axis=1)
    low, high = edges[:, :-1, None], edges[:, 1:, None]
    # rays, panels, points; graded, because a rounding may begin upright
    rho = low + (high - low) * np.sin(_GRADED) ** 2
    weight = (high - low) * _GRADED_WEIGHTS * rho
    u, v = rho * sine[:, :, None], drill.e + rho * cosine[:, :, None]
    top = _entry(drill, u, v)
    if h is None:
        return np.asarray((weight * _primitives(drill, u, v, top)).sum(axis=(2, 3)).T)
    bottom = h + drill.c * (1.0 - rho / a)
    for flank in flanks_deg:
        bottom = np.minimum(bottom, _to_flank(drill, v, flank))
    inside = bottom > top
    if drill.sin == 0.0:
        s = drill.s0 + u
        inside = inside & (s >= drill.form.breaks_mm[0]) & (s <= drill.form.breaks_mm[-1])
    values = _primitives(drill, u, v, bottom) - _primitives(drill, u, v, top)
    return np.asarray((weight * inside * values).sum(axis=(2, 3)).T)


def _to_flank(drill: _Drill, v: FloatArray, flank_deg: float) -> FloatArray:
    """Return where columns of a drill that is not tilted come out at a flank; far away where they never do."""
    return np.asarray(drill.x0 - v / math.tan(math.radians(flank_deg)))


def _first_root(
    drill: _Drill,
    sine: FloatArray,
    cosine: FloatArray,
    *,
    b: float | None = None,
    h: float | None = None,
    flank: float | None = None,
) -> FloatArray:
    """Return at which distance from the drill's axis rays meet something; the drill's edge where they never do.

    Something is: the end of a piece (b); where the bottom leaves the metal (h); where a flank meets the rim (flank) or
    the bottom (both).  Along a ray each happens once at most: the metal is convex (or, in plates, lower beyond the step).
    """
    a = drill.a
    if b is not None and drill.sin == 0.0:
        with np.errstate(divide="ignore", invalid="ignore"):
            at = (b - drill.s0) / sine[:, 0]
        return np.where((at > 0.0) & (at < a), at, a)

    def value(rho: FloatArray) -> FloatArray:
        v = drill.e + rho * cosine
        if flank is not None and h is not None:
            return np.asarray(h + drill.c * (1.0 - rho / a) - _to_flank(drill, v, flank))
        top = _entry(drill, rho * sine, v)
        if flank is not None:
            return np.asarray(_to_flank(drill, v, flank) - top)
        if b is not None:
            return np.asarray(drill.s0 + rho * sine * drill.cos + top * drill.sin - b)
        assert h is not None
        return np.asarray(h + drill.c * (1.0 - rho / a) - top)

    count = sine.shape[0]
    sampled = np.broadcast_to(np.linspace(0.0, a, 33)[None, :], (count, 33))
    sign = value(sampled) < 0.0
    change = sign[:, 1:] != sign[:, :-1]
    first = np.argmax(change, axis=1)
    rays = np.arange(count)
    low, high = sampled[rays, first][:, None], sampled[rays, first + 1][:, None]
    found = _halved(value, low, high, negative=sign[rays, first][:, None], times=48)
    return np.where(change.any(axis=1), found[:, 0], a)


def _halved(
    value: Callable[[FloatArray], FloatArray],
    low: FloatArray,
    high: FloatArray,
    *,
    negative: NDArray[np.bool_],
    times: int,
) -> FloatArray:
    """Return where a function changes its sign between two places, at the first of which it is negative or not."""
    for _ in range(times):
        middle = 0.5 * (low + high)
        same = (value(middle) < 0.0) == negative
        low, high = np.where(same, middle, low), np.where(same, high, middle)
    return 0.5 * (low + high)


def _kinks(drill: _Drill, h: float | None, breaks: Sequence[float]) -> list[float]:
    """Return the angles around the drill at which ends of pieces, or the bottom's edge, pass the drill's edge."""
    turn = np.linspace(-0.5 * np.pi, 1.5 * np.pi, 361)

    def value(at: FloatArray, b: float | None) -> FloatArray:
        top = _entry(drill, drill.a * np.sin(at), drill.e + drill.a * np.cos(at))
        if b is not None:
            return np.asarray(drill.s0 + drill.a * np.sin(at) * drill.cos + top * drill.sin - b)
        assert h is not None
        return np.asarray(h - top)

    found: list[float] = []
    for b in [*breaks, *([None] if h is not None else [])]:
        sign = value(turn, b) < 0.0
        here = np.flatnonzero(sign[1:] != sign[:-1])
        ends = turn[here], turn[here + 1]
        found += _halved(partial(value, b=b), *ends, negative=sign[here], times=50).tolist()
    return found

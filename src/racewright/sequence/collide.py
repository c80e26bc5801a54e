"""Do the bent parts clear the floor, the shoe, the handle and the conduit itself, through a whole bend?

Notation (mm, radians): as in `machine`. alpha runs from 0 to A; parts of the grip side stand still, everything of
the hook side rolls with the shoe. A point p of one body moves, seen from the other, at |p - contact| per radian,
where the contact is (R alpha, 0): the bodies roll on each other there. So over an interval of half-width h the gap
falls by at most (|p - contact| + R h) h: an interval is let go when its middle gap less that is enough, or else
halved (Lipschitz margin). The least gap found is true to `RESOLUTION_MM`.

The floor: with the conduit on it, every height is a sine of alpha, and its least value exact. Upside down the ground
lies square to the handle at its end; heights are sampled and the second-order remainder is taken off.

Conduit against conduit: a curve of total turning theta < pi has chord >= length cos(theta/2), and by Schur's theorem
(Chern, Curves and Surfaces in Euclidean Space, 1967, section 5; from memory) chord >= 2 R sin(length / 2R). With
theta <= 2.6 and R >= 1.2 D both ends of it stay more than D apart, so only pairs with more turning are looked at
(a radius under 1.2 D is no bend of the trade).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import pairwise
from math import atan2, ceil, cos, hypot, inf, pi, sin, sqrt

import msgspec

from racewright.sequence.machine import Capsule, Machine, rolled
from racewright.sequence.state import CHORD_RAD, LimitName, Site

RESOLUTION_MM = 0.5
FAR_MM = 150.0
_NARROWEST_RAD = 0.001
_NO_SELF_RAD = 2.6
_AIR_STEP_RAD = pi / 60.0
_NEVER_MM = 1e9
#: Parts of one side that are looked at together, and at how many places of the bend.
_CLUSTER, _CLUSTER_LOOKS = 10, 2

# gap at the middle of an interval of alpha and how far it can fall within the half-width
GapAt = Callable[[float, float], tuple[float, float]]


class Hit(msgspec.Struct, frozen=True):
    """What comes nearest in a bend, and its least gap (mm, negative: overlap)."""

    limit: LimitName
    gap_mm: float


def segment_distance(a: Capsule, b: Capsule) -> float:
    """Distance between two segments (mm): at the inner minimum of the quadratic, or else on the sides."""
    ux, uy, uz = a[3] - a[0], a[4] - a[1], a[5] - a[2]
    vx, vy, vz = b[3] - b[0], b[4] - b[1], b[5] - b[2]
    wx, wy, wz = a[0] - b[0], a[1] - b[1], a[2] - b[2]
    uu = ux * ux + uy * uy + uz * uz
    vv = vx * vx + vy * vy + vz * vz
    uv = ux * vx + uy * vy + uz * vz
    uw = ux * wx + uy * wy + uz * wz
    vw = vx * wx + vy * wy + vz * wz
    det = uu * vv - uv * uv
    s = 0.0
    if det > 1e-12 * uu * vv:
        s = (uv * vw - uw * vv) / det
        s = 0.0 if s < 0.0 else 1.0 if s > 1.0 else s
    t = (uv * s + vw) / vv if vv > 0.0 else 0.0
    if t < 0.0 or t > 1.0:
        t = 0.0 if t < 0.0 else 1.0
    # the best s for this t (also where the segments are parallel)
    if uu > 0.0:
        s = (uv * t - uw) / uu
        s = 0.0 if s < 0.0 else 1.0 if s > 1.0 else s
    dx, dy, dz = wx + ux * s - vx * t, wy + uy * s - vy * t, wz + uz * s - vz * t
    return sqrt(dx * dx + dy * dy + dz * dz)


def capsule_gap(a: Capsule, b: Capsule) -> float:
    """Gap between two capsules (mm); negative when they overlap."""
    return segment_distance(a, b) - a.radius - b.radius


def least_over_bend(gap_at: GapAt, angle_rad: float, enough_mm: float, quit_below_mm: float) -> float:
    """The least gap for alpha in [0, angle], to `RESOLUTION_MM`, or `enough_mm` where it stays above that.

    Returns at once with a gap below `quit_below_mm`. At the narrowest intervals the doubt counts against the gap.
    """
    least = enough_mm
    stack = [(0.0, angle_rad)]
    while stack:
        low, high = stack.pop()
        half = 0.5 * (high - low)
        middle = low + half
        gap, fall = gap_at(middle, half)
        if gap < least:
            least = gap
            if gap < quit_below_mm:
                return gap
        if gap - fall >= least - RESOLUTION_MM:
            continue
        if half <= _NARROWEST_RAD:
            least = min(least, gap - fall)
            if least < quit_below_mm:
                return least
            continue
        stack.append((low, middle))
        stack.append((middle, high))
    return least


def least_body_gap(site: Site) -> Hit | None:
    """The nearest of shoe, handle and conduit over the whole bend, or None where nothing comes within `FAR_MM`."""
    best: Hit | None = None
    for look in (hook_side_hit, grip_side_hit, self_hit):
        best = look(site, FAR_MM if best is None else best.gap_mm, None) or best
    return best


class _Nearest:
    """Keeps the least gap below `enough`; `done` once a gap is below `needed`. Without `needed` it looks at all."""

    def __init__(self, enough: float, needed: float | None) -> None:
        self.enough = enough
        self.needed = needed
        self.quit_below = -inf if needed is None else needed
        self.best: Hit | None = None
        self.done = False

    def take(self, limit: LimitName, gap: float) -> None:
        if gap < self.enough:
            self.enough = gap
            self.best = Hit(limit, gap)
            self.done = gap < self.quit_below

    def sweep(self, limit: LimitName, gap_at: GapAt, angle: float) -> None:
        self.take(limit, least_over_bend(gap_at, angle, self.enough, self.quit_below))

    def hit(self) -> Hit | None:
        """With `needed`: what is nearer than that. Without: what is nearer than enough."""
        return self.best if self.needed is None or self.done else None


def hook_side_hit(site: Site, enough_mm: float, needed_mm: float | None) -> Hit | None:
    """Conduit of the hook side against shoe and handle: they never move against each other."""
    nearest, machine = _Nearest(enough_mm, needed_mm), site.machine
    if machine is None:
        return None
    for part in site.hook_parts[1:]:
        nearest.take("handle", capsule_gap(part, machine.handle))
        if not nearest.done and _shoe_floor(part, machine, 0.0) < nearest.enough:
            nearest.take("shoe", _shoe_gap(part, machine.shoe))
        if nearest.done:
            break
    return nearest.hit()


def grip_side_hit(site: Site, enough_mm: float, needed_mm: float | None) -> Hit | None:
    """Conduit of the grip side against shoe and handle, which turn toward it."""
    nearest, machine = _Nearest(enough_mm, needed_mm), site.machine
    if machine is None:
        return None
    wide = max(machine.handle.radius, machine.shoe[0].radius)
    for part in site.grip_parts[1:]:
        # beside the plane of the bend nothing can be hit
        if _beside(part) - wide - part.radius >= nearest.enough:
            continue
        near, _ = _range_from_centre(part, machine.radius_mm, site.angle_rad)
        if near - machine.handle_length_mm - machine.handle.radius - part.radius < nearest.enough:
            nearest.sweep("handle", _handle_gap_at(part, machine), site.angle_rad)
        if not nearest.done and near - machine.shoe_reach_mm - part.radius < nearest.enough:
            nearest.sweep("shoe", _shoe_gap_at(part, machine, nearest.enough), site.angle_rad)
        if nearest.done:
            break
    return nearest.hit()


def self_hit(site: Site, enough_mm: float, needed_mm: float | None) -> Hit | None:
    """Conduit of the hook side against conduit of the grip side, and both against the bend's own arc."""
    r, angle = site.radius_mm, site.angle_rad
    turning = _NO_SELF_RAD - angle
    if site.hook_parts[-1].turned + site.grip_parts[-1].turned <= turning:
        return None
    nearest = _Nearest(enough_mm, needed_mm)
    hooks = [(h, *_range_from_centre(h, r, 0.0)) for h in site.hook_parts]
    clusters = [(part, hooks[part.start : part.stop]) for part in _clusters(site.hook_parts)]
    for around in _clusters(site.grip_parts):
        near = [hook for part, some in clusters if not _apart(part, around, r, angle, nearest.enough) for hook in some]
        for g_index in range(around.start, around.stop) if near else ():
            g = site.grip_parts[g_index]
            g_near, g_far = _range_from_centre(g, r, angle) if g_index else (r, inf)
            for h, h_near, h_far in near:
                both = h.turned + g.turned
                if both <= turning or (g_index == 0 and h is site.hook_parts[0]):
                    continue
                # seen from the shoe's centre each side keeps its distances, and both keep their height over the plane
                apart = max(g_near - h_far, h_near - g_far, _height_between(h, g)) - h.radius - g.radius
                if apart >= nearest.enough:
                    continue
                nearest.sweep("conduit itself", _self_gap_at(h, g, r, g_index == 0, both, 0.0), angle)
                if nearest.done:
                    return nearest.hit()
    for a in _own_arc(site):
        for h in site.hook_parts[1:]:
            if h.turned + a.turned > _NO_SELF_RAD:
                nearest.take("conduit itself", capsule_gap(h, a))
        for g in site.grip_parts[1:]:
            if g.turned - a.turned > turning:
                at = _self_gap_at(a, g, r, False, g.turned - a.turned, a.turned)
                nearest.sweep("conduit itself", at, angle)
        if nearest.done:
            break
    return nearest.hit()


class _Cluster(msgspec.Struct, frozen=True):
    """Parts `start` to `stop` of a side, and a ball around them. The straight beside the bend is one by itself, without
    a ball: it changes with the bend."""

    start: int
    stop: int
    ball: Capsule | None


def _clusters(parts: Sequence[Capsule]) -> list[_Cluster]:
    out = [_Cluster(0, 1, None)]
    for start in range(1, len(parts), _CLUSTER):
        some = parts[start : start + _CLUSTER]
        x, y, z = (sum(p[k] + p[k + 3] for p in some) / (2.0 * len(some)) for k in (0, 1, 2))
        reach = max(
            max(hypot(p[0] - x, p[1] - y, p[2] - z), hypot(p[3] - x, p[4] - y, p[5] - z)) + p.radius for p in some
        )
        out.append(_Cluster(start, start + len(some), Capsule(x, y, z, x, y, z, reach)))
    return out


def _apart(hook: _Cluster, grip: _Cluster, r: float, angle: float, enough: float) -> bool:
    """Whether all parts of one cluster surely stay so far from all of the other through the whole bend."""
    if hook.ball is None or grip.ball is None:
        return False
    far = hypot(hook.ball.ax, hook.ball.ay - r) + r
    half = 0.5 * angle / _CLUSTER_LOOKS
    for k in range(_CLUSTER_LOOKS):
        alpha = half * (2 * k + 1)
        gap = capsule_gap(rolled(hook.ball, r, alpha), grip.ball)
        if gap - (min(_farthest(grip.ball, r * alpha), far) + r * half) * half < enough:
            return False
    return True


def _range_from_centre(part: Capsule, r: float, angle: float) -> tuple[float, float]:
    """Least and greatest distance of the part's axis from the shoe's centre on its way (0, R) .. (R angle, R)."""
    way = Capsule(0.0, r, 0.0, r * angle, r, 0.0, 0.0)
    far = max(hypot(part[0], part[1] - r, part[2]), hypot(part[3], part[4] - r, part[5])) + r * angle
    return segment_distance(part, way), far


def _beside(part: Capsule) -> float:
    """How far the part stays beside the plane of the bend."""
    return min(abs(part[2]), abs(part[5])) if part[2] * part[5] > 0.0 else 0.0


def _height_between(one: Capsule, other: Capsule) -> float:
    """Distance between the ranges of z."""
    return max(min(one[2], one[5]) - max(other[2], other[5]), min(other[2], other[5]) - max(one[2], one[5]))


def _own_arc(site: Site) -> list[Capsule]:
    """The arc of the bend at hand, on the shoe at alpha = 0; `turned` counts from the hook side."""
    chords = max(1, ceil(site.angle_rad / CHORD_RAD - 1e-9))
    step = site.angle_rad / chords
    tube = site.tube_mm + site.radius_mm * (1.0 - cos(0.5 * step))
    r = site.radius_mm
    xy = [(r * sin(k * step), r * (1.0 - cos(k * step))) for k in range(chords + 1)]
    return [
        Capsule(xy[k][0], xy[k][1], 0.0, xy[k + 1][0], xy[k + 1][1], 0.0, tube, (k + 1) * step) for k in range(chords)
    ]


def _farthest(part: Capsule, contact: float) -> float:
    """In the plane of the bend, the part's farthest axis point from the contact."""
    return max(hypot(part[0] - contact, part[1]), hypot(part[3] - contact, part[4]))


def _shoe_floor(part: Capsule, machine: Machine, alpha: float) -> float:
    """A gap that the shoe surely has to the part: the shoe lies within its reach of the circle's centre."""
    r = machine.radius_mm
    centre = Capsule(r * alpha, r, 0.0, r * alpha, r, 0.0, 0.0)
    return segment_distance(part, centre) - machine.shoe_reach_mm - part.radius


def _shoe_gap(part: Capsule, ribs: tuple[Capsule, ...]) -> float:
    return min(capsule_gap(part, rib) for rib in ribs)


def _shoe_gap_at(part: Capsule, machine: Machine, enough: float) -> GapAt:
    r = machine.radius_mm
    most = r + machine.shoe_reach_mm

    def gap_at(alpha: float, half: float) -> tuple[float, float]:
        fall = (min(_farthest(part, r * alpha), most) + r * half) * half
        sure = _shoe_floor(part, machine, alpha)
        if sure - fall >= enough:
            return sure, fall
        return _shoe_gap(part, tuple(rolled(rib, r, alpha) for rib in machine.shoe)), fall

    return gap_at


def _handle_gap_at(part: Capsule, machine: Machine) -> GapAt:
    r, length, beta = machine.radius_mm, machine.handle_length_mm, machine.upright_at_rad
    radius = machine.handle.radius
    most = r + length

    def gap_at(alpha: float, half: float) -> tuple[float, float]:
        x = r * alpha
        lean = beta - alpha
        handle = Capsule(x, r, 0.0, x - length * sin(lean), r + length * cos(lean), 0.0, radius)
        gap = segment_distance(part, handle) - radius - part.radius
        return gap, (min(_farthest(part, x), most) + r * half) * half

    return gap_at


def _self_gap_at(
    hook_part: Capsule, grip_part: Capsule, r: float, is_straight: bool, turned: float, there_from: float
) -> GapAt:
    """`is_straight`: the grip part is the straight beside the bend, which begins at the contact. `turned`: what the
    conduit turns between the parts besides alpha. Before alpha = `there_from` the hook part is not bent yet."""
    hook_far = max(hypot(hook_part[0], hook_part[1] - r), hypot(hook_part[3], hook_part[4] - r)) + r

    def gap_at(alpha: float, half: float) -> tuple[float, float]:
        if turned + alpha + half <= _NO_SELF_RAD or alpha + half < there_from:
            return _NEVER_MM, 0.0
        g = grip_part._replace(ax=r * alpha) if is_straight else grip_part
        gap = capsule_gap(rolled(hook_part, r, alpha), g)
        fall = (min(_farthest(g, r * alpha), hook_far) + r * half) * half
        return gap, fall + (r * half if is_straight else 0.0)

    return gap_at


def grip_side_over_floor(site: Site) -> float:
    """The grip side lies still: its lowest point."""
    tube = site.tube_mm
    return min(0.0, *(min(p.ay, p.by) - (p.radius - tube) for p in site.grip_parts))


def hook_side_over_floor(site: Site) -> float:
    """The hook side and the handle turn: their lowest point over the whole bend."""
    r, angle = site.radius_mm, site.angle_rad
    least = 0.0
    for x, y, radius in _ends(site.hook_parts[1:]):
        # height of p: R + (py - R) cos alpha - px sin alpha
        least = min(least, r + _least_of_sine(y - r, -x, angle) - (radius - site.tube_mm))
    if site.machine is not None:
        m = site.machine
        end = r + m.handle_length_mm * cos(angle - m.upright_at_rad) - m.handle.radius + site.tube_mm
        least = min(least, end)
    return least


def _least_of_sine(c: float, s: float, angle: float) -> float:
    """Least of c cos(x) + s sin(x) for x in [0, angle], angle <= 2 pi."""
    least = min(c, c * cos(angle) + s * sin(angle))
    bottom = (atan2(s, c) + pi) % (2.0 * pi)
    return -hypot(c, s) if bottom < angle else least


def hook_side_over_ground(site: Site) -> float:
    """Upside down the hook side stands still with the shoe: its lowest point."""
    m = site.machine
    if m is None:
        return 0.0
    r, length = m.radius_mm, m.handle_length_mm
    hx, hy = -sin(m.upright_at_rad), cos(m.upright_at_rad)
    least = 0.0
    for x, y, radius in _ends(site.hook_parts):
        least = min(least, length - (x * hx + (y - r) * hy) - radius)
    return least


def grip_side_over_ground(site: Site) -> float:
    """Upside down the grip side is pulled down: its lowest point over the whole bend."""
    m = site.machine
    if m is None:
        return 0.0
    r, length, angle = m.radius_mm, m.handle_length_mm, site.angle_rad
    least = 0.0
    for px, py, radius in _ends(site.grip_parts):
        room = length - radius
        if room - hypot(px, py - r) - r * angle < least:
            least = _least_height(px, py, r, m.upright_at_rad, angle, room, least)
    return least


def _ends(parts: Sequence[Capsule]) -> list[tuple[float, float, float]]:
    """The ends of parts that follow one another, each once: x, y, and the greater radius of the two that meet there."""
    if not parts:
        return []
    first, last = parts[0], parts[-1]
    met = [(one.bx, one.by, max(one.radius, other.radius)) for one, other in pairwise(parts)]
    return [(first.ax, first.ay, first.radius), *met, (last.bx, last.by, last.radius)]


def _least_height(px: float, py: float, r: float, upright: float, angle: float, room: float, least: float) -> float:
    """Least of `room` less the depth under the shoe's centre, for a point of the grip side; `least` if not below it.

    Between two angles the height is within M step^2 / 8 of its chord, M its greatest second derivative.
    """
    most = (hypot(px, py) + r * (1.0 + angle)) / 8.0

    def height(alpha: float) -> float:
        lean = upright - alpha
        return room + (px - r * alpha) * sin(lean) - (py - r) * cos(lean)

    ends = (height(0.0), height(angle))
    least = min(least, *ends)
    stack = [(0.0, angle, *ends)]
    while stack:
        low, high, at_low, at_high = stack.pop()
        step = high - low
        floor = min(at_low, at_high) - most * step * step
        if floor >= least:
            continue
        if step <= _AIR_STEP_RAD:
            least = floor
            continue
        middle = 0.5 * (low + high)
        at_middle = height(middle)
        least = min(least, at_middle)
        stack.append((low, middle, at_low, at_middle))
        stack.append((middle, high, at_middle, at_high))
    return least

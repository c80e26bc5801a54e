"""The solids that obstacles are made of, and the signed distance from a point to each.

Notation (lengths mm)
    p, g, n  a point, its signed distance to the solid (negative inside), and the gradient of g there
    q        how far p lies beyond each pair of faces; all q <= 0 means inside
Every solid is convex, so g is convex and 1-Lipschitz, and for all points x:  g(x) >= g(p) + n . (x - p).
Outside, g is the distance to the nearest point; inside, minus the distance to the nearest face.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from itertools import combinations, product
from math import hypot, sqrt

import msgspec

from racewright.errors import InputError
from racewright.geometry.chain import any_normal
from racewright.geometry.vector import Vec, add, dot, norm, scale, sub, unit

# Signed distance and its unit gradient, from coordinates.
Probe = Callable[[float, float, float], tuple[float, float, float, float]]

_SQUARE = 1e-6
#: A point this near to a plane (mm) lies on it.
_ON_MM = 1e-9


class Box(msgspec.Struct, frozen=True, kw_only=True, tag_field="solid", tag="box"):
    """A rectangular block: one corner and the three edges that leave it, square to each other. mm."""

    corner: Vec
    edge_x: Vec
    edge_y: Vec
    edge_z: Vec

    def __post_init__(self) -> None:
        edges = {"edge_x": self.edge_x, "edge_y": self.edge_y, "edge_z": self.edge_z}
        for field, edge in edges.items():
            if not norm(edge) > 0.0:
                raise InputError(
                    f"A box's {field} has no length.",
                    hint="give three edges with a length above zero; a plate may be very thin.",
                    field=field,
                    expected="a vector in mm, not zero",
                    example="[100, 0, 0]",
                )
        for (field, a), b in zip(edges.items(), (self.edge_y, self.edge_z, self.edge_x), strict=True):
            if abs(dot(unit(a), unit(b))) > _SQUARE:
                raise InputError(
                    f"A box's {field} is not square to the edge after it.",
                    hint="give three edges at right angles to each other.",
                    field=field,
                    expected="edges at right angles",
                    example="[100, 0, 0], [0, 50, 0], [0, 0, 20]",
                )

    def corners(self) -> tuple[Vec, ...]:
        """The eight corners, in steps along the three edges, the last edge fastest: (0,0,0), (0,0,1), (0,1,0) ..."""
        out = []
        for i, j, k in product((0.0, 1.0), repeat=3):
            edges = add(add(scale(self.edge_x, i), scale(self.edge_y, j)), scale(self.edge_z, k))
            out.append(add(self.corner, edges))
        return tuple(out)


class Cylinder(msgspec.Struct, frozen=True, kw_only=True, tag_field="solid", tag="cylinder"):
    """A round bar with flat ends: the two ends of its axis and its radius. mm."""

    start: Vec
    end: Vec
    radius_mm: float

    def __post_init__(self) -> None:
        if not (norm(sub(self.end, self.start)) > 0.0 and self.radius_mm > 0.0):
            raise InputError(
                "A cylinder needs two ends that differ and a radius above zero.",
                hint="give the two ends of its axis and half its diameter.",
                field="radius_mm" if not self.radius_mm > 0.0 else "end",
                expected="lengths in mm above zero",
            )


class HalfSpace(msgspec.Struct, frozen=True, kw_only=True, tag_field="solid", tag="half_space"):
    """All that lies behind a plane (a wall, a floor): solid where (p - point) . normal <= 0. Unit normal."""

    point: Vec
    normal: Vec

    def __post_init__(self) -> None:
        if not abs(norm(self.normal) - 1.0) <= _SQUARE:
            raise InputError(
                f"A half-space's normal is {norm(self.normal):.6f} long.",
                hint="give a direction of length 1 that points out of the solid.",
                field="normal",
                expected="a vector of length 1",
                example="[0, 0, 1]",
            )


class OutsideCorner(msgspec.Struct, frozen=True, kw_only=True, tag_field="solid", tag="outside_corner"):
    """What lies behind all of these planes at once: walls that meet at outside corners, each of which ends there."""

    faces: tuple[HalfSpace, ...]

    def __post_init__(self) -> None:
        if len(self.faces) < 2:
            raise InputError(
                f"An outside corner has {len(self.faces)} faces.",
                hint="give the two walls that meet there, or more; one alone is a half-space.",
                field="faces",
            )


Obstacle = Box | Cylinder | HalfSpace
Wall = HalfSpace | OutsideCorner


@lru_cache(maxsize=512)
def probe_of(solid: Obstacle | Wall) -> Probe:
    """The solid's signed distance and gradient as a function of x, y, z (mm)."""
    if isinstance(solid, Box):
        return _box_probe(solid)
    if isinstance(solid, Cylinder):
        return _cylinder_probe(solid)
    if isinstance(solid, OutsideCorner):
        return _outside_corner_probe(solid)
    return _half_space_probe(solid)


def moved(solid: Obstacle | Wall, by: Vec) -> Obstacle | Wall:
    """The same solid, so far away (mm)."""
    if isinstance(solid, Cylinder):
        return msgspec.structs.replace(solid, start=add(solid.start, by), end=add(solid.end, by))
    if isinstance(solid, Box):
        return msgspec.structs.replace(solid, corner=add(solid.corner, by))
    if isinstance(solid, OutsideCorner):
        faces = tuple(msgspec.structs.replace(face, point=add(face.point, by)) for face in solid.faces)
        return OutsideCorner(faces=faces)
    return msgspec.structs.replace(solid, point=add(solid.point, by))


def _half_space_probe(solid: HalfSpace) -> Probe:
    nx, ny, nz = unit(solid.normal)
    offset = dot((nx, ny, nz), solid.point)

    def probe(x: float, y: float, z: float) -> tuple[float, float, float, float]:
        return nx * x + ny * y + nz * z - offset, nx, ny, nz

    return probe


def _outside_corner_probe(solid: OutsideCorner) -> Probe:
    """Inside, the nearest face counts. Outside, the nearest point lies on a face, on an edge of two faces, or where
    three meet: from the face that is farthest, the one that cuts the point off by most is taken in, until none does.
    Each step goes farther off, so none comes twice."""
    planes: list[tuple[Vec, float]] = []
    for offset, n in sorted((dot(unit(face.normal), face.point), unit(face.normal)) for face in solid.faces):
        if all(dot(n, other) < 1.0 - _SQUARE for other, _ in planes):  # of two faces one way the deeper one counts
            planes.append((n, offset))

    def probe(x: float, y: float, z: float) -> tuple[float, float, float, float]:
        p = (x, y, z)
        gaps = {n: dot(n, p) - offset for n, offset in planes}
        worst = max(gaps, key=lambda n: gaps[n])
        met: tuple[Vec, ...] = ()
        off = (0.0, 0.0, 0.0)
        cut = worst
        while gaps[cut] - dot(cut, off) > _ON_MM:
            step = _onto(cut, met, gaps)
            if step is None:
                break
            met, off = step
            cut = max(gaps, key=lambda n: gaps[n] - dot(n, off))
        else:
            if met:
                g = norm(off)
                return g, off[0] / g, off[1] / g, off[2] / g
        return gaps[worst], *worst

    return probe


def _onto(cut: Vec, met: tuple[Vec, ...], gaps: dict[Vec, float]) -> tuple[tuple[Vec, ...], Vec] | None:
    """The planes, `cut` among them, that the nearest point behind it and behind those `met` lies on, and the way back
    from it."""
    for count in range(min(3, len(met) + 1)):
        for others in combinations(met, count):
            base = _base((cut, *others))
            if base is None:
                continue
            normals, inverse = base
            shares = [sum(a * gaps[n] for a, n in zip(row, normals, strict=True)) for row in inverse]
            if min(shares) < 0.0:
                continue
            off = (0.0, 0.0, 0.0)
            for share, n in zip(shares, normals, strict=True):
                off = add(off, scale(n, share))
            if all(gaps[n] - dot(n, off) <= _ON_MM for n in met):
                return normals, off
    return None


@lru_cache(maxsize=4096)
def _base(normals: tuple[Vec, ...]) -> tuple[tuple[Vec, ...], list[list[float]]] | None:
    """The normals with the inverse of their Gram matrix, which gives each its share of a step onto all their planes;
    None where they do not meet in one edge or point."""
    rows = [[dot(a, b) for b in normals] + [float(a is c) for c in normals] for a in normals]
    for k in range(len(rows)):
        if abs(rows[k][k]) < _SQUARE:
            return None
        rows[k] = [value / rows[k][k] for value in rows[k]]
        for j in range(len(rows)):
            if j != k:
                rows[j] = [b - rows[j][k] * a for a, b in zip(rows[k], rows[j], strict=True)]
    return normals, [row[len(rows) :] for row in rows]


def _box_probe(solid: Box) -> Probe:
    (ax, ay, az), (bx, by, bz), (cx, cy, cz) = unit(solid.edge_x), unit(solid.edge_y), unit(solid.edge_z)
    ha, hb, hc = 0.5 * norm(solid.edge_x), 0.5 * norm(solid.edge_y), 0.5 * norm(solid.edge_z)
    ox, oy, oz = (solid.corner[i] + 0.5 * (solid.edge_x[i] + solid.edge_y[i] + solid.edge_z[i]) for i in range(3))

    def probe(x: float, y: float, z: float) -> tuple[float, float, float, float]:
        x -= ox
        y -= oy
        z -= oz
        a, b, c = ax * x + ay * y + az * z, bx * x + by * y + bz * z, cx * x + cy * y + cz * z
        qa, qb, qc = abs(a) - ha, abs(b) - hb, abs(c) - hc
        ga = qa if qa > 0.0 else 0.0
        gb = qb if qb > 0.0 else 0.0
        gc = qc if qc > 0.0 else 0.0
        g = sqrt(ga * ga + gb * gb + gc * gc)
        if g > 0.0:
            ga, gb, gc = ga / g, gb / g, gc / g
        elif qa >= qb and qa >= qc:
            g, ga = qa, 1.0
        elif qb >= qc:
            g, gb = qb, 1.0
        else:
            g, gc = qc, 1.0
        if a < 0.0:
            ga = -ga
        if b < 0.0:
            gb = -gb
        if c < 0.0:
            gc = -gc
        return (g, ga * ax + gb * bx + gc * cx, ga * ay + gb * by + gc * cy, ga * az + gb * bz + gc * cz)

    return probe


def _cylinder_probe(solid: Cylinder) -> Probe:
    edge = sub(solid.end, solid.start)
    half, radius = 0.5 * norm(edge), solid.radius_mm
    ax, ay, az = unit(edge)
    ox, oy, oz = (0.5 * (solid.start[i] + solid.end[i]) for i in range(3))
    side = any_normal((ax, ay, az))

    def probe(x: float, y: float, z: float) -> tuple[float, float, float, float]:
        x -= ox
        y -= oy
        z -= oz
        a = ax * x + ay * y + az * z
        x -= a * ax
        y -= a * ay
        z -= a * az
        r = hypot(x, y, z)
        if r > 0.0:
            x, y, z = x / r, y / r, z / r
        else:
            x, y, z = side
        qa, qr = abs(a) - half, r - radius
        if qa > 0.0 and qr > 0.0:
            g = hypot(qa, qr)
            ga, gr = qa / g, qr / g
        elif qa > qr:
            g, ga, gr = qa, 1.0, 0.0
        else:
            g, ga, gr = qr, 0.0, 1.0
        if a < 0.0:
            ga = -ga
        return g, ga * ax + gr * x, ga * ay + gr * y, ga * az + gr * z

    return probe

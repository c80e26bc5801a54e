"""Follows a plan's assembly move by move, as a fitter would have to, and says each move that cannot be made.

Knows what joints are (its own table) and the meaning of the JSON's fields; nothing of how the program finds an order.
Lengths mm.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from math import cos, hypot, radians, sin
from typing import Any

from held import Held
from rebuilt import Part, Vec, add, cross, dot, less, mix, rebuild
from tape_words import length

#: What each fitting is: pushed to a stop, a hole with locknuts, a thread, a cemented socket; and what can be closed
#: last.
PUSHED = ("set-screw", "compression", "set-screw coupling", "compression coupling")
THREADS = ("hub", "threaded coupling")
CEMENTED = ("socket", "socket coupling")
EXPANDS = "expansion fitting"
CLOSES = ("union", "slip coupling", EXPANDS)
HOLE = "threaded"
ACT = dict.fromkeys((*PUSHED, HOLE), "push") | dict.fromkeys(THREADS, "turn")
ACT |= dict.fromkeys((*CEMENTED, EXPANDS), "cement")
SAME_MM = 0.01
#: What a reading to the nearest sixteenth may be off.
READ_MM = 0.8
#: What a hand presses a conduit aside.
PRESSED_MM = 0.5


@dataclass
class Site:
    """What stands on the wall while the moves are followed."""

    plan: dict[str, Any]
    fixed: tuple[bool | None, bool | None]
    held: Held
    up: list[int] = field(default_factory=list)
    made: list[int] = field(default_factory=list)
    back: dict[int, float] = field(default_factory=dict)
    deep: dict[int, float] = field(default_factory=dict)
    trapped: list[int] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.joints: list[dict[str, Any]] = self.plan["joints"]
        self.parts = rebuild(self.plan)

    def piece(self, p: int) -> dict[str, Any]:
        return dict(self.plan["pieces"][p - 1])

    def own(self, p: int) -> list[Part]:
        return [part for part in self.parts if part.piece == p - 1]

    def joints_of(self, p: int) -> list[int]:
        return [j for j, joint in enumerate(self.joints, 1) if p in (joint["before"], joint["after"])]

    def depth(self, p: int, j: int) -> float:
        end = "end_b" if self.joints[j - 1]["before"] == p else "end_a"
        return float(self.piece(p)[end]["insertion_mm"])

    def at_end(self, j: int) -> bool:
        return self.joints[j - 1]["before"] is None or self.joints[j - 1]["after"] is None

    def kind(self, j: int) -> str:
        return str(self.joints[j - 1]["kind"])

    def across(self, p: int, j: int) -> bool:
        """Whether what piece p meets at joint j stands."""
        joint = self.joints[j - 1]
        other = joint["after"] if joint["before"] == p else joint["before"]
        return other is None or other in self.up

    def way(self, p: int, j: int) -> Vec:
        """Which way the piece goes into the joint."""
        parts = self.own(p)
        if self.joints[j - 1]["before"] == p:
            return parts[-1].along(parts[-1].length)
        return mix(parts[0].axis, -1.0, parts[0].axis, 0.0)

    def stays(self, j: int) -> bool:
        """Whether the survey says that the fitting of this end stays where it is."""
        return self.at_end(j) and self.fixed[0 if self.joints[j - 1]["before"] is None else 1] is True

    def true(self, what: str, yes: bool, say: str) -> None:
        self.held.true(f"assembly: {what}", yes, say)


def hold_assembly(held: Held, plan: dict[str, Any], fixed: tuple[bool | None, bool | None]) -> None:
    """Every move of a plan, and what has to be so when the run stands."""
    site = Site(plan, fixed, held)
    moves = plan["assembly"]["moves"]
    if not plan["assembly"]["possible"]:
        hold_stop(site)
        hold_threads(site)
        return
    last: int | None = None
    told = [s["title"] + ". " + s["detail"] for s in plan["steps"] if s["kind"] in ("insert", "loosen")]
    # while a piece waits for a bending order nothing goes up: the moves are known, and no step tells them
    waits = any(s["kind"] == "stop" for s in plan["steps"])
    if waits:
        on_wall = [s["title"] for s in plan["steps"] if s["kind"] in ("insert", "loosen", "strap")]
        site.true("waits", not on_wall, f"a piece waits, and it is said: {on_wall}")
    else:
        site.true("steps", len(told) == len(moves), f"{len(moves)} moves in {len(told)} steps")
    for number, (move, text) in enumerate(zip(moves, told or [""] * len(moves), strict=False), 1):
        what = f"move {number}, {move['act']} of piece {move['piece']}"
        if text and move["act"] in ("push", "turn", "cement"):
            hold_depths(site, move, text, what)
        follow(site, move, what)
        if move["act"] in ("push", "turn", "cement", "close"):
            last = move["joints"][-1]
    count = len(plan["pieces"])
    site.true("all up", sorted(site.up) == list(range(1, count + 1)), f"up are {site.up} of {count}")
    site.true("all made", sorted(site.made) == list(range(1, len(site.joints) + 1)), f"made are {site.made}")
    site.true("order", plan["assembly"]["order"] == site.up, "the order told is not that of the moves")
    for joint in site.joints:
        if joint["kind"] == EXPANDS:
            site.held.words.add(EXPANDS)
    said_last = [j for j, joint in enumerate(site.joints, 1) if joint["last"]]
    site.true("last", said_last == ([last] if last else []), f"last is {last}, and {said_last} is told")
    site.true("trapped", plan["assembly"]["trapped"] == site.trapped, f"trapped are {site.trapped}")
    if not waits:
        hold_words(site)
    hold_threads(site)


def follow(site: Site, move: dict[str, Any], what: str) -> None:
    p, act, joints, by = move["piece"], move["act"], move["joints"], move["by_mm"]
    site.held.words.add(act)
    mine = site.joints_of(p)
    site.true(what, all(j in mine for j in joints), "is at a joint of another piece")
    if act == "close":
        (j,) = joints
        kind = site.kind(j)
        site.true(what, j not in site.made, "is made twice")
        site.true(what, p in site.up and site.across(p, j), "closes on nothing")
        gives = kind in CLOSES or j in site.back
        if kind == EXPANDS:
            piston = site.joints[j - 1]["piston"]
            room = piston is None or site.back.get(j, 0.0) <= piston["open_mm"] + 0.5
            site.true(what, room, "pushes the piston in farther than it stands out")
        site.true(what, gives, f"a {kind} does not close between two parts that stand")
        if kind == "slip coupling":
            site.true(what, j in site.back, "was never slid back")
        site.made.append(j)
        return
    site.true(what, p not in site.up, "is of a piece that stands")
    if act == "slide back":
        (j,) = joints
        site.true(what, j not in site.made, "is of a joint that is made")
        site.true(what, site.at_end(j) or site.kind(j) in CLOSES, f"a {site.kind(j)} does not slide")
        if site.stays(j):
            site.true(what, False, "is of an end that is fixed")
        site.back[j] = by
        return
    if act == "through":
        (j,) = joints
        site.true(what, site.kind(j) == HOLE and site.at_end(j), f"no hole at a {site.kind(j)}")
        site.true(what, not site.piece(p)["bends"], "is of a bent piece")
        site.deep[j] = by
        return
    bring(site, move, what, mine)
    site.up.append(p)
    site.made += joints


def hold_depths(site: Site, move: dict[str, Any], text: str, what: str) -> None:
    """Each end that is joined is told as deep as its own fitting takes it, in the way in which that is made: a line
    for a stop or a socket, thread for a hole or a hub."""
    p = move["piece"]
    lines = {
        letter: found
        for found, ends in re.findall(r"(?:a line|one) ([0-9][0-9'/\" ]*) from (ends? [AB](?: and [AB])?)", text)
        for letter in ends.replace("ends", "").replace("end", "").replace("and", "").split()
    }
    holes = dict(re.findall(r"end ([AB]) goes ([0-9][0-9'/\" ]*) through its hole", text))
    thread = re.search(r"([0-9][0-9'/\" ]*) of thread goes (in|through the hole)", text)
    # what went through its hole first was told then
    into = [j for j in move["joints"] if j not in site.deep]
    for j in into:
        letter = "B" if site.joints[j - 1]["before"] == p else "A"
        kind = site.kind(j)
        if kind in (*PUSHED, *CEMENTED, EXPANDS):
            found = lines.get(letter)
        elif len(into) > 1 and kind == HOLE:
            found = holes.get(letter)
        else:
            found = thread[1] if thread and (thread[2] == "in") == (kind in THREADS) else None
        deep = None if found is None else length(found, "in")
        need = site.depth(p, j)
        site.true(f"{what}, end {letter}", deep is not None and abs(deep - need) < READ_MM, f"{need}: told {found}")
    if len({round(site.depth(p, j)) for j in into}) > 1:
        site.held.words.add("one push to two depths")


def bring(site: Site, move: dict[str, Any], what: str, mine: list[int]) -> None:
    """A piece goes up: what it is joined to stands, and what it faces besides leaves it room."""
    p, act, joints = move["piece"], move["act"], move["joints"]
    site.true(what, (act == "place") == (not joints), "joins what it should not, or nothing")
    # as far as the deeper of two, unless the second one comes back out of its hole
    depth = max((site.depth(p, j) for j in joints if j not in site.deep), default=0.0)
    for n, j in enumerate(joints):
        site.true(what, j not in site.made, "is made twice")
        site.true(what, site.across(p, j), "joins what does not stand")
        if n == 0:
            site.true(what, ACT.get(site.kind(j)) == act, f"is no way to make a {site.kind(j)}")
            site.true(what, abs(move["by_mm"] - depth) < SAME_MM, f"goes in by {move['by_mm']}, not {depth}")
        elif j in site.deep:
            need = site.depth(p, joints[0]) + site.depth(p, j)
            site.true(what, site.deep[j] >= need - SAME_MM, f"went {site.deep[j]} through, {need} is needed")
        else:
            one_way = dot(site.way(p, joints[0]), site.way(p, j)) > 0.99
            no_thread = all(site.kind(k) not in THREADS for k in joints)
            site.true(what, one_way and no_thread, "makes two joints at once")
            site.held.words.add("one push for both ends")
    others = [j for j in mine if j not in joints and site.across(p, j)]
    if others and joints:
        site.trapped.append(p)
    for j in others:
        along = 0.0
        if joints:
            along = max(0.0, -dot(site.way(p, joints[0]), site.way(p, j))) * site.depth(p, joints[0])
        if site.kind(j) not in ("union", "slip coupling") and (site.at_end(j) or site.kind(j) == EXPANDS):
            need = site.depth(p, j) + along
            site.true(
                what, site.back.get(j, -1.0) >= need - SAME_MM, f"{need} of room at joint {j}, {site.back.get(j)}"
            )
        else:
            site.true(what, site.kind(j) in CLOSES, f"faces a {site.kind(j)} that gives no room")
            told = move["past_mm"]
            past = along - (0.0 if site.kind(j) == "union" or site.at_end(j) else gap(site, j))
            # what a coupling leaves between the ends in it is no field of a plan where it stands at the run's own end
            near = 4.0 if site.at_end(j) else 0.6
            site.true(what, abs(told - past) < near if past > near else told < 1.2, f"past {past}, told {told}")
            site.held.words.add("past the end that it faces")
    if joints and site.piece(p)["bends"]:
        hit = pushed(site, p, joints[0], depth)
        site.true(what, hit == "", f"hits {hit} on its straight way in")
    if (
        act == "place"
        and site.piece(p)["bends"]
        and all(site.kind(j) not in (*THREADS, "union") for j in mine)
        and mine
    ):
        ways = [pushed(site, p, j, site.depth(p, j)) for j in mine]
        site.held.words |= {"held in place, for it hits what it would be pushed past"} if all(ways) else set()
    if others and len(joints) < 2 and len([j for j in mine if site.across(p, j)]) == 2:
        told = any(f["rule"] == "assembly.sideways" and f["where"] == f"piece {p}" for f in site.plan["findings"])
        site.held.words.add("sideways between what stands")
        site.true(what, told or comes_out(site, p, joints, depth), "has no way in sideways, and nothing says so")
    if act == "turn" and site.piece(p)["bends"]:
        site.held.words.add("a bent piece turned in")
        hit = swept(site, p, joints[0])
        site.true(what, hit == "", f"hits {hit} on its way around")


def gap(site: Site, j: int) -> float:
    """What is free between the two ends in a coupling."""
    joint = site.joints[j - 1]
    a, b = site.piece(joint["before"]), site.piece(joint["after"])
    return float(b["run_start_mm"] - a["run_start_mm"] - a["cut_length_mm"])


def pushed(site: Site, p: int, j: int, depth: float) -> str:
    """What a piece meets while it is pushed straight in, and leaves free in its place: points of it at every
    twentieth of the way."""
    parts = site.own(p)
    way = site.way(p, j)
    half = site.piece(p)["outside_diameter_mm"] / 2
    points = [part.at(part.length * k / 40) for part in parts for k in range(41)]
    things = [(str(w["name"]), height, w["solid"]) for w in site.plan["surfaces"]]
    things += [(str(o["name"]), outside, o["solid"]) for o in site.plan["obstacles"]]
    for name, far, solid in things:
        if min(far(q, solid) for q in points) < half - PRESSED_MM:
            continue
        for step in range(1, 21):
            back = mix(way, -depth * step / 20, way, 0.0)
            if min(far(add(q, back, 1.0), solid) for q in points) < half - PRESSED_MM - 0.5:
                return name
    return ""


def comes_out(site: Site, p: int, joints: list[int], depth: float) -> bool:
    """Whether a piece can leave its place straight: off a wall, along it square to an end, or askew of both; looked at
    by points of it at every centimeter of the way, a hand's breadth and a half in all."""
    parts = site.own(p)
    half = site.piece(p)["outside_diameter_mm"] / 2
    ways = [site.way(p, j) for j in site.joints_of(p)]
    back = mix(site.way(p, joints[0]), -depth, ways[0], 0.0) if joints else (0.0, 0.0, 0.0)
    points = [add(part.at(part.length * k / 40), back, 1.0) for part in parts for k in range(41)]
    off = [tuple(f["normal"]) for w in site.plan["surfaces"] for f in (w["solid"].get("faces") or [w["solid"]])]
    off += [mix(cross(way, n), sign, way, 0.0) for way in ways for n in off[:] for sign in (1.0, -1.0)]
    off += [mix(a, 1.0, b, 1.0) for a in off[:] for b in off[:] if hypot(*mix(a, 1.0, b, 1.0)) > 0.5]
    things = [(height, w["solid"]) for w in site.plan["surfaces"]]
    things += [(outside, o["solid"]) for o in site.plan["obstacles"]]
    others = [part for part in site.parts if part.piece + 1 in site.up]
    ends = (parts[0].point, parts[-1].at(parts[-1].length))
    for d in off:
        if any(dot(d, way) > 1e-6 for way in ways):
            continue
        if all(clear(points, d, step * 10.0, half, things) for step in range(1, 16)) and not any(
            meets(points, d, step * 10.0, half, others, ends) for step in range(1, 16)
        ):
            return True
    return False


def clear(points: list[Vec], d: Vec, by: float, half: float, things: list[tuple[Any, Any]]) -> bool:
    """Whether no point is deeper in a thing than where it begins, moved by so much."""
    unit = mix(d, by / hypot(*d), d, 0.0)
    return all(
        min(far(add(q, unit, 1.0), solid) for q in points) > min(half, min(far(q, solid) for q in points)) - PRESSED_MM
        for far, solid in things
    )


def meets(points: list[Vec], d: Vec, by: float, half: float, others: list[Part], ends: tuple[Vec, Vec]) -> bool:
    """Whether a moved point is in another piece; beside its own ends it passes what they face."""
    unit = mix(d, by / hypot(*d), d, 0.0)
    for q in points:
        if min(hypot(*less(q, end)) for end in ends) < 6 * half:
            continue
        now = add(q, unit, 1.0)
        if any(hypot(*less(now, closest(part, now))) < 2 * half - SAME_MM for part in others):
            return True
    return False


def swept(site: Site, p: int, j: int) -> str:
    """What a piece meets while it goes once around the axis of its end: points of it every 3 degrees."""
    parts = site.own(p)
    at_b = site.joints[j - 1]["before"] == p
    axis = site.way(p, j)
    origin = parts[-1].at(parts[-1].length) if at_b else parts[0].point
    half = site.piece(p)["outside_diameter_mm"] / 2
    points = [part.at(part.length * k / 24) for part in parts for k in range(25)]
    points = [q for q in points if hypot(*cross(less(q, origin), axis)) > 1.0]
    faces = parts[0].point if at_b else parts[-1].at(parts[-1].length)
    facing = p - 2 if at_b else p
    # what lies on the axis comes no nearer to what turns about it
    others = [
        part
        for part in site.parts
        if part.piece + 1 in site.up
        and any(hypot(*cross(less(part.at(k * part.length), origin), axis)) > 1.0 for k in (0.0, 1.0))
    ]
    for step in range(120):
        c, s = cos(radians(3 * step)), sin(radians(3 * step))
        for q in points:
            d = less(q, origin)
            along = dot(d, axis)
            off = add(d, axis, -along)
            now = add(add(origin, axis, along), mix(off, c, cross(axis, off), s))
            for wall in site.plan["surfaces"]:
                if height(now, wall["solid"]) < half - SAME_MM:
                    return str(wall["name"])
            for thing in site.plan["obstacles"]:
                if outside(now, thing["solid"]) < half - SAME_MM:
                    return str(thing["name"])
            for part in others:
                if part.piece == facing and hypot(*less(now, faces)) < 4 * half:
                    continue  # end to end, with the joint's gap between them
                if hypot(*less(now, closest(part, now))) < 2 * half - SAME_MM:
                    return f"piece {part.piece + 1}"
    return ""


def height(p: Vec, solid: dict[str, Any]) -> float:
    """Over a wall, or over the nearer face of an outside corner."""
    faces = solid.get("faces") or [solid]
    return max(dot(less(p, tuple(f["point"])), tuple(f["normal"])) for f in faces)


def outside(p: Vec, solid: dict[str, Any]) -> float:
    """From a point to a block or a round bar, below 0 inside."""
    if solid["solid"] == "cylinder":
        a, b = tuple(solid["start"]), tuple(solid["end"])
        long = hypot(*less(b, a))
        axis = mix(less(b, a), 1 / long, a, 0.0)
        t = dot(less(p, a), axis)
        ring = hypot(*less(less(p, a), mix(axis, t, axis, 0.0))) - solid["radius_mm"]
        beyond = max(-t, t - long)
        return hypot(max(ring, 0.0), max(beyond, 0.0)) or max(ring, beyond)
    over = []
    for name in ("edge_x", "edge_y", "edge_z"):
        edge = tuple(solid[name])
        long = hypot(*edge)
        t = dot(less(p, tuple(solid["corner"])), edge) / long
        over.append(max(-t, t - long))
    return hypot(*(max(o, 0.0) for o in over)) or max(over)


def closest(part: Part, p: Vec) -> Vec:
    if not part.radius:
        return part.at(min(max(dot(less(p, part.point), part.axis), 0.0), part.length))
    return min((part.at(part.length * k / 24) for k in range(25)), key=lambda q: hypot(*less(q, p)))


def hold_words(site: Site) -> None:
    """Only what is trapped is called so; cement is said where it is used."""
    plan = site.plan
    told = {f["where"] for f in plan["findings"] if "trapped" in f["message"]}
    site.true("words", told <= {f"piece {p}" for p in site.trapped}, f"trapped is said of {told}")
    ends = [site.back[j] for j in site.back if site.at_end(j)]
    texts = [s["title"] + " " + s["detail"] for s in plan["steps"] if s["kind"] in ("insert", "loosen")]
    cemented = sum(m["act"] == "cement" for m in plan["assembly"]["moves"])
    site.true("words", sum("quarter turn" in t for t in texts) == cemented, "cement is not said where it is used")
    site.true("words", sum("slide back" in t or " back" in t for t in texts) >= len(ends), "what goes back is not said")
    straps = {s["piece"] for s in plan["steps"] if s["kind"] == "strap"}
    site.true("words", straps == set(range(1, len(plan["pieces"]) + 1)), f"straps are said of {straps}")


def hold_stop(site: Site) -> None:
    """A run that cannot be put up has a problem that says so, first of all its steps one that says why, and no step
    and no move on the wall."""
    plan = site.plan
    problems = [f for f in plan["findings"] if f["severity"] == "problem" and f["rule"].startswith("assembly.")]
    site.true("stop", bool(problems), "cannot be put up, and nothing says so")
    first = plan["steps"][0]["detail"].lower()
    site.true("stop", all(f["message"].lower() in first for f in problems), f"the first step says: {first}")
    site.true("stop", not plan["assembly"]["moves"] and not plan["assembly"]["order"], "has moves all the same")
    told = [s["title"] for s in plan["steps"] if s["kind"] in ("insert", "loosen", "strap")]
    site.true("stop", not told, f"has steps on the wall: {told}")
    site.true("stop", not any(joint["last"] for joint in site.joints), "has a last joint")
    site.held.words.add("cannot be put up, and said")


def hold_threads(site: Site) -> None:
    """An end that is turned in, or held by locknuts, has a thread: at most one of a cut stick's own."""
    for p in range(1, len(site.plan["pieces"]) + 1):
        piece = site.piece(p)
        threads = {}
        for j in site.joints_of(p):
            end = "end_b" if site.joints[j - 1]["before"] == p else "end_a"
            need = site.kind(j) in (*THREADS, HOLE, "union")
            threads[end] = piece[end]["thread"]
            site.true("threads", bool(threads[end]) == need, f"piece {p}, {end} in a {site.kind(j)}: {threads[end]!r}")
        own = sum(t == "own" for t in threads.values())
        whole = abs(piece["cut_length_mm"] - piece["stock_mm"]) < 0.5
        site.true("threads", own <= (2 if whole else 1), f"piece {p} has {own} threads of its stick")
        steps = [s for s in site.plan["steps"] if s["kind"] == "thread" and s["piece"] == p]
        waits = any(s["kind"] == "stop" and s["piece"] == p for s in site.plan["steps"])
        cut = sorted(end[-1].upper() for end, t in threads.items() if t == "cut" and not waits)
        named = sorted(word for s in steps for word in s["title"].split() if word in ("A", "B"))
        site.true("threads", cut == named, f"piece {p} has threads cut at {cut}, and the steps say {named}")
        site.held.words |= {f"thread {t}" for t in threads.values() if t}

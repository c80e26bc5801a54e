"""From the search's options to ways with steps, references and reasons; two or three that really differ.

The best way is the search's. Others come from the same search with one thing asked for more: hook toward one end
throughout, fewer bends upside down, more straight conduit under the hand. A way counts as different when its order or
its hook directions differ.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import ceil, inf, pi

import msgspec

from racewright.bends import roles
from racewright.bends.model import Bend
from racewright.geometry.vector import even
from racewright.marks import mark
from racewright.sequence.checks import Checks, Rules
from racewright.sequence.collide import least_body_gap
from racewright.sequence.machine import STANCES, Effort, wrapped
from racewright.sequence.state import ROUNDING_MM, HandlingStep, Piece, Way
from racewright.sequence.words import hold_words, mark_names
from racewright.tools.benders import HOOKS, REFERENCES, BenderProfile, HookEnd, Reference
from racewright.units.tape import TapeStyle, coarseness, format_length

# A roomier way must offer this much more straight conduit at its tightest bend.
ROOMIER_MM = 25.4


class Found(msgspec.Struct, frozen=True):
    """What a search found: options in bending order (None: no way), cost, states looked at, whether it is proved;
    `stuck` are the sets of made bends where an unproved search ended."""

    options: tuple[int, ...] | None
    cost: float
    nodes: int
    complete: bool
    stuck: tuple[int, ...] = ()


def mark_mm(bend: Bend, hook: HookEnd, reference: Reference, bender: BenderProfile) -> float:
    """Where the pencil mark of a bend goes, mm from end A."""
    return mark.mark_mm(bend.arc_start_mm, bend.arc_end_mm, hook, reference, bender)


def choose_reference(
    bend: Bend,
    hook: HookEnd,
    bender: BenderProfile,
    tape_style: TapeStyle,
    *,
    among: Sequence[Bend] = (),
    cut_length_mm: float = inf,
) -> Reference:
    """Which mark of the shoe to use: the trade's habit first, then the coarser reading on the tape.

    Habit (common practice, no source): arrow for a stub, kick, offset and four-bend saddle; star for a back-to-back
    with the hook facing away from the other 90; in a three-bend saddle the center mark for the center, the star for
    the outer bend on the hook's side of it, the arrow for the other. A mark that falls off the piece, or on another
    bend of `among`, is hidden and is not used while another is free.
    """
    if bender.radius_only:
        return "arrow"  # where the bend begins
    free: list[Reference] = []
    for reference in REFERENCES:
        at = mark_mm(bend, hook, reference, bender)
        hidden = any(other != bend and other.arc_start_mm < at < other.arc_end_mm for other in among)
        if 0.0 <= at <= cut_length_mm and not hidden:
            free.append(reference)
    habit = _habit(bend, hook, among)
    if habit is not None and (habit in free or not free):
        return habit
    if not free:
        return "arrow"
    return min(free, key=lambda r: even(coarseness(mark_mm(bend, hook, r, bender), tape_style)))


def _habit(bend: Bend, hook: HookEnd, among: Sequence[Bend]) -> Reference | None:
    if bend.role == roles.BACK_TO_BACK:
        others = [b for b in among if b.shape == bend.shape and b != bend]
        if not others:
            return "star"
        nearest = min(others, key=lambda b: even(abs(b.arc_start_mm - bend.arc_start_mm)))
        return "star" if (nearest.arc_start_mm < bend.arc_start_mm) == (hook == "B") else "arrow"
    if bend.role == roles.SADDLE_CENTER:
        return "center"
    if bend.role == roles.SADDLE_OUTER:
        centres = [b for b in among if b.role == roles.SADDLE_CENTER and b.shape == bend.shape]
        if centres:
            toward_a = bend.arc_start_mm < centres[0].arc_start_mm
            return "star" if toward_a == (hook == "A") else "arrow"
        return "arrow"
    return "arrow" if bend.role else None


def several(checks: Checks, best: Found, rules: Rules, solve: Callable[[Effort, Rules], Found]) -> tuple[Way, ...]:
    """The best way and up to `settings.other_ways` others that differ in order or hook direction."""
    assert best.options is not None
    piece = checks.piece
    first = plain_way(piece, best)
    out = [msgspec.structs.replace(first, reasons=_best_reasons(piece, first, best))]
    for reason, effort, narrower in _wishes(piece, first, rules):
        if len(out) > piece.settings.other_ways:
            break
        found = solve(effort, narrower)
        if found.options is None or any(_differs(found.options, way) is False for way in out):
            continue
        way = plain_way(piece, found)
        reasons = (reason(way), *_short_words(piece, way), _stance_words(way), _more_effort(way, first))
        out.append(msgspec.structs.replace(way, reasons=tuple(dict.fromkeys(r for r in reasons if r))))
    return (out[0], *sorted(out[1:], key=lambda way: even(way.cost)))


Wish = tuple[Callable[[Way], str], Effort, Rules]


def _wishes(piece: Piece, best: Way, rules: Rules) -> list[Wish]:
    """What else a person may want, the likeliest first."""
    effort = piece.settings.effort
    wishes: list[Wish] = []
    over = sum(step.stance == "upside down" for step in best.steps)
    if over:
        on_floor = msgspec.structs.replace(effort, upside_down_bend=effort.upside_down_bend + 100.0)
        wishes.append((lambda way: _fewer_upside_down(way, over), on_floor, rules))
    ends = (1, 0) if best.hooks[:1] == "A" else (0, 1)
    for end in ends:
        only = tuple((end,) if end in allowed else () for allowed in rules.hooks)
        if all(only) and set(best.hooks) != {HOOKS[end]}:
            text = "no swapping ends"
            wishes.append((_say(text), effort, rules._replace(hooks=only)))
    spare = best.least_slack_mm + ROOMIER_MM
    wishes.append((lambda way: _roomier(piece, way, best), effort, rules._replace(spare_mm=spare)))
    if rules.fixed_order is None and len(best.order) > 1:
        back = rules._replace(fixed_order=best.order[::-1])
        wishes.append((_say("the same bends in the reverse order"), effort, back))
    return wishes


def _say(text: str) -> Callable[[Way], str]:
    return lambda way: text


def _differs(options: tuple[int, ...], way: Way) -> bool:
    return tuple(o >> 2 for o in options) != way.order or "".join(HOOKS[o >> 1 & 1] for o in options) != way.hooks


def _best_reasons(piece: Piece, way: Way, found: Found) -> tuple[str, ...]:
    proof = "proved: no other order costs less" if found.complete else "best of those tried, not proved"
    out = [f"least effort ({proof})"]
    turns = sum(step.swap_ends for step in way.steps)
    if len(way.steps) > 1:
        if turns == 0:
            out.append("no swapping ends")
        else:
            out.append("ends swapped once" if turns == 1 else f"ends swapped {turns} times")
    return (*out, *_short_words(piece, way), _stance_words(way), *_tight_words(piece, way))


def _short_words(piece: Piece, way: Way) -> tuple[str, ...]:
    """The bend whose hook has the least conduit, where that is too short to hold, and what a person does there."""
    short = min(way.steps, key=lambda step: even(step.hook_room_mm), default=None)
    if short is None or not short.hook_is_short:
        return ()
    tape, name = piece.settings.tape, mark_names([short.bend_index + 1])
    room, grip = format_length(short.hook_room_mm, tape), format_length(short.grip_need_mm, tape)
    does = held_words(piece, way, short)
    return (f"at {name} the hook is on the short {short.hook_on}: {room}, too short to hold ({grip} needed): {does}",)


def held_words(piece: Piece, way: Way, short: HandlingStep) -> str:
    """What a person does at a step of a way whose hook is on conduit too short to hold: all that is possible."""
    return ", or ".join(words for words in (hold_words(short.hook), _left_on_words(piece, way, short)) if words)


def _left_on_words(piece: Piece, way: Way, short: HandlingStep) -> str:
    """How much more conduit beyond a short end gives enough to hold, where the stick has it and the way goes as well
    with it; ''."""
    if short.hook_on != "end":
        return ""
    tape = piece.settings.tape
    whole = 6.35 if tape.unit == "in" else 5.0  # rounded up to what is easily read
    more = ceil((short.grip_need_mm - short.hook_room_mm) / whole - 1e-9) * whole
    if piece.length_mm + more > piece.settings.stick_mm + ROUNDING_MM:
        return ""
    moved = more if short.hook == "A" else 0.0
    bends = [msgspec.structs.replace(bend, arc_start_mm=bend.arc_start_mm + moved) for bend in piece.bends]
    checks = Checks(Piece(bends, piece.length_mm + more, 2.0 * piece.tube_mm, piece.bender, piece.settings))
    made = 0
    for step in way.steps:
        option = step.bend_index << 2 | HOOKS.index(step.hook) << 1 | STANCES.index(step.stance)
        if option not in checks.options(made, Rules(((0, 1),) * piece.count)):
            return ""
        made |= 1 << step.bend_index
    counts = ", marks counted from cut line A" if short.hook == "A" else ""
    return f"leave {format_length(more, tape)} more on beyond end {short.hook} and cut it off after bending{counts}"


def _stance_words(way: Way) -> str:
    over = sum(step.stance == "upside down" for step in way.steps)
    return "all on the floor" if over == 0 else f"{over} of {len(way.steps)} with the bender upside down"


def _tight_words(piece: Piece, way: Way) -> tuple[str, ...]:
    """The first bend at which what is bent already passes near shoe, handle or conduit, if there is one."""
    near_mm = 2.0 * piece.settings.clearance_mm + ROOMIER_MM
    made = 0
    for step in way.steps:
        hit = least_body_gap(piece.site(step.bend_index, HOOKS.index(step.hook), made)) if made else None
        if hit is not None and hit.gap_mm < near_mm:
            name, gap = mark_names([step.bend_index + 1]), format_length(hit.gap_mm, piece.settings.tape)
            return (f"while {name} is bent, what is bent already passes {gap} from the bender or the conduit",)
        made |= 1 << step.bend_index
    return ()


def _more_effort(way: Way, best: Way) -> str:
    more = way.cost - best.cost
    return "same effort" if more < 0.05 else f"{more:.1f} points more effort than the best"


def _fewer_upside_down(way: Way, before: int) -> str:
    now = sum(step.stance == "upside down" for step in way.steps)
    if now == 0:
        return "all on the floor"
    return f"{now} with the bender upside down" + (f" instead of {before}" if now < before else "")


def _roomier(piece: Piece, way: Way, best: Way) -> str:
    more = way.least_slack_mm - best.least_slack_mm
    return f"{format_length(more, piece.settings.tape)} more straight conduit at the tightest bend"


def plain_way(piece: Piece, found: Found) -> Way:
    """The steps of what a search found, its cost counted with the settings' own weights, without reasons."""
    steps: list[HandlingStep] = []
    made = 0
    before: int | None = None
    for option in found.options or ():
        steps.append(_step(piece, option, made, before))
        made |= 1 << (option >> 2)
        before = option
    return Way(steps=tuple(steps), cost=way_cost(steps, piece.settings.effort))


def way_cost(steps: Sequence[HandlingStep], effort: Effort) -> float:
    """What these steps cost (points of effort)."""
    cost = 0.0
    for step in steps:
        cost += effort.push_per_m * abs(step.push_mm) / 1000.0
        cost += effort.rotate_half_turn * abs(step.rotated_rad) / pi
        cost += effort.swap_ends * step.swap_ends + effort.stance_change * step.stance_change
        cost += effort.upside_down_bend * (step.stance == "upside down")
        cost += effort.lift_per_m * step.hook_side_mm / 1000.0
    return cost


def _step(piece: Piece, option: int, made: int, before: int | None) -> HandlingStep:
    i, hook, stance = option >> 2, option >> 1 & 1, option & 1
    bend = piece.bends[i]
    room = piece.room(i, hook, made)
    spin = push = 0.0
    if before is not None:
        spin = wrapped(piece.bends[before >> 2].roll_rad - bend.roll_rad)
        push = piece.hook_at_mm(i, hook) - piece.hook_at_mm(before >> 2, before >> 1 & 1)
    reference = choose_reference(
        bend, HOOKS[hook], piece.bender, piece.settings.tape, among=piece.bends, cut_length_mm=piece.length_mm
    )
    return HandlingStep(
        bend_index=i,
        hook=HOOKS[hook],
        stance=STANCES[stance],
        reference=reference,
        spin_rad=spin,
        swap_ends=before is not None and (before >> 1 & 1) != hook,
        stance_change=before is not None and (before & 1) != stance,
        push_mm=push,
        hook_room_mm=room.hook_mm,
        hook_need_mm=piece.hook_need_mm,
        grip_room_mm=room.grip_mm,
        grip_need_mm=piece.grip_need_mm,
        hook_side_mm=piece.hook_side_mm(i, hook),
    )

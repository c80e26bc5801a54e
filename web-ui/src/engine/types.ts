// Written by web-ui/scripts/make_types.py from the message types of racewright.operations. Do not edit.
// Lengths ending in _mm are millimetres, angles ending in _deg degrees; other lengths in requests are text with a unit.

/** Stands under every answer. */
export const DECIDES =
  "Local codes, the authority having jurisdiction and a licensed person decide; this is no approval.";

/** What a finding rests on is from no book at hand. */
export const FROM_MEMORY = "from memory";

/** What the page called a status before it had those of a job. */
export const STATUS_BEFORE: Readonly<Record<string, Status>> = {"bending": "planned", "in-place": "in"};

/** How far a run has come, in this order; with those of NOT_BENT its conduit is not cut and bent yet. */
export const STATUSES = ["measured", "planned", "bent", "in", "wired"] as const;
export type Status = (typeof STATUSES)[number];
export const NOT_BENT: readonly Status[] = ["measured", "planned"];

/** The steps that are no bends, as a record keeps that they are done (records/steps.py). */
export interface StepRow {
  done: string;
  of: "marks" | "plan";
  planned: Plan["steps"][number]["kind"] | null;
  counted: "" | "bend" | "step";
  cut: "" | "is" | "was";
  again: boolean;
  in_place: boolean;
}
export const STEPS: Readonly<Record<StepMade['kind'], StepRow>> = {
  "cut": {
    "done": "end A cut",
    "of": "marks",
    "planned": null,
    "counted": "",
    "cut": "was",
    "again": false,
    "in_place": false
  },
  "twist": {
    "done": "twisted",
    "of": "marks",
    "planned": null,
    "counted": "bend",
    "cut": "was",
    "again": false,
    "in_place": false
  },
  "stock": {
    "done": "stick taken",
    "of": "plan",
    "planned": "stock",
    "counted": "step",
    "cut": "is",
    "again": false,
    "in_place": false
  },
  "length": {
    "done": "cut to length",
    "of": "plan",
    "planned": "cut",
    "counted": "step",
    "cut": "is",
    "again": false,
    "in_place": false
  },
  "lay-out": {
    "done": "lines drawn",
    "of": "plan",
    "planned": "lay-out",
    "counted": "step",
    "cut": "",
    "again": false,
    "in_place": false
  },
  "check": {
    "done": "checked",
    "of": "plan",
    "planned": "check",
    "counted": "step",
    "cut": "was",
    "again": true,
    "in_place": false
  },
  "trim": {
    "done": "ends cut",
    "of": "plan",
    "planned": "trim",
    "counted": "step",
    "cut": "was",
    "again": true,
    "in_place": false
  },
  "thread": {
    "done": "threaded",
    "of": "plan",
    "planned": "thread",
    "counted": "step",
    "cut": "was",
    "again": true,
    "in_place": false
  },
  "ream": {
    "done": "reamed",
    "of": "plan",
    "planned": "ream",
    "counted": "step",
    "cut": "was",
    "again": true,
    "in_place": false
  },
  "loosen": {
    "done": "what gives way pushed back",
    "of": "plan",
    "planned": "loosen",
    "counted": "step",
    "cut": "",
    "again": true,
    "in_place": true
  },
  "insert": {
    "done": "put in",
    "of": "plan",
    "planned": "insert",
    "counted": "step",
    "cut": "was",
    "again": true,
    "in_place": true
  },
  "strap": {
    "done": "strapped",
    "of": "plan",
    "planned": "strap",
    "counted": "step",
    "cut": "",
    "again": true,
    "in_place": true
  }
};

/** The rules of what a record says against its card, in the order in which it is told. */
export const AGAINST_CARD = ["run.superseded", "job.other_marks", "job.new_marks", "job.far_off", "job.read_otherwise"] as const;
export type AgainstCard = (typeof AGAINST_CARD)[number];

/** So often one run is made alike at most; so many runs a server takes in one question, and the browser's
 *  own engine. */
export const MOST_COPIES = 1000;
export const MOST_RUNS = 60;
export const MOST_OWN_RUNS = 1000;

/** The engine that this page goes with, and the formats of records and job files that both know. */
export const ENGINE = "0.1.0";
export const RECORDS_FORMAT = 5;
export const JOB_FORMAT = 4;

/** The kinds of record, in the order in which those of one change go in. `member`: where they stand in a
 *  job file; `called`: one in words, with the field that tells it apart; `ofShop`: of the whole shop, and
 *  of no job; `pinned`: runs stay on it as it was at a revision. */
export interface Kind {
  member: keyof Job;
  called: string;
  ofShop: boolean;
  pinned: boolean;
}
export const KINDS: Readonly<Record<string, Kind | undefined>> = {
  "job": {
    "member": "head",
    "called": "the head of {name}",
    "ofShop": false,
    "pinned": false
  },
  "run": {
    "member": "runs",
    "called": "run {key}",
    "ofShop": false,
    "pinned": false
  },
  "entry": {
    "member": "entries",
    "called": "the entry",
    "ofShop": false,
    "pinned": false
  },
  "tool": {
    "member": "tools",
    "called": "tool {name}",
    "ofShop": true,
    "pinned": true
  },
  "person": {
    "member": "people",
    "called": "person {name}",
    "ofShop": true,
    "pinned": false
  },
  "prices": {
    "member": "prices",
    "called": "the prices",
    "ofShop": true,
    "pinned": false
  }
};

/** Where a survey's plain numbers are in its units, by path without places in lists. */
export const BY_UNITS: Readonly<Record<string, 'length' | 'temperature'>> = {
  "run.walk.leg": "length",
  "run.walk.features.saddle.centre": "length",
  "run.walk.features.saddle.height": "length",
  "run.walk.features.saddle.width": "length",
  "run.walk.features.saddle.lift": "length",
  "run.walk.features.saddle.reach": "length",
  "run.walk.features.saddle.rise": "length",
  "run.walk.features.saddle.clearance": "length",
  "run.walk.features.offset.rise": "length",
  "run.walk.features.offset.shift": "length",
  "run.walk.features.offset.starts_at": "length",
  "run.walk.features.offset.middle_at": "length",
  "run.walk.features.offset.done_by": "length",
  "run.walk.features.box_offset.rise": "length",
  "run.walk.features.box_offset.starts_at": "length",
  "run.walk.features.box_offset.done_by": "length",
  "run.walk.features.kick.rise": "length",
  "run.walk.features.kick.starts_at": "length",
  "run.walk.features.keep_clear.centre": "length",
  "run.walk.features.keep_clear.height": "length",
  "run.walk.features.keep_clear.width": "length",
  "run.walk.features.keep_clear.lift": "length",
  "run.walk.features.keep_clear.side": "length",
  "run.walk.features.keep_clear.depth": "length",
  "run.walk.features.keep_clear.clearance": "length",
  "run.walk.gap": "length",
  "run.start.insertion": "length",
  "run.start.height": "length",
  "run.end.insertion": "length",
  "run.end.height": "length",
  "run.stand_off": "length",
  "run.clearance": "length",
  "run.bend_radius": "length",
  "run.stock": "length",
  "run.offcuts": "length",
  "run.accuracy.mark": "length",
  "run.accuracy.cut": "length",
  "run.climate.lowest": "temperature",
  "run.climate.highest": "temperature",
  "run.climate.install": "temperature",
  "run.climate.travel": "length",
};

/** What a field of a record says where nothing is written, by kind and path without places in lists. */
export const USUAL: Readonly<Record<string, string>> = {
  "job.units": "in",
  "job.stock.offcut": "false",
  "job.cutting.kerf": "1/16 in",
  "job.cutting.keep": "24 in",
  "job.wire_slack": "12 in",
  "job.wire_waste": "5",
  "job.items.count": "1",
  "run.survey.run.walk.features.saddle.over": "round",
  "run.survey.run.walk.features.saddle.toward": "away",
  "run.survey.run.walk.features.saddle.bends": "auto",
  "run.survey.run.walk.features.saddle.angle": "auto",
  "run.survey.run.walk.features.offset.side": "left",
  "run.survey.run.walk.features.offset.toward": "away",
  "run.survey.run.walk.features.offset.angle": "auto",
  "run.survey.run.walk.features.box_offset.toward": "away",
  "run.survey.run.walk.features.box_offset.angle": "auto",
  "run.survey.run.walk.features.kick.toward": "away",
  "run.survey.run.walk.features.keep_clear.over": "square",
  "run.survey.run.walk.features.keep_clear.side": "0",
  "run.survey.run.walk.features.keep_clear.depth": "12 in",
  "run.survey.run.walk.angle": "90",
  "run.survey.run.start.fitting": "set-screw",
  "run.survey.run.end.fitting": "set-screw",
  "run.survey.run.stand_off": "0",
  "run.survey.run.clearance": "0",
  "run.survey.run.cut": "before",
  "run.survey.run.saddle_method": "push-through",
  "run.survey.run.coupled": "false",
  "run.survey.run.climate.sun": "false",
  "run.survey.run.surface": "wall",
  "run.survey.run.going": "right",
  "run.survey.racewright": "1",
  "run.survey.units": "in",
  "run.times": "1",
  "run.wires.count": "1",
  "run.wires.insulation": "THWN-2",
  "run.wires.material": "copper",
  "run.items.count": "1",
  "entry.what.moves.kind": "angle",
  "entry.what.anew.trim_mm": "0",
  "entry.what.anew.cut_first": "false",
  "entry.what.anew.turned_rad": "0",
  "entry.what.anew.off_b_mm": "0",
  "entry.what.anew.line_b_mm": "0",
  "entry.what.steps.trim_mm": "0",
  "entry.what.steps.by_rad": "0",
  "entry.pins.run": "0",
  "person.units": "in",
  "person.mark": "1/16 in",
  "person.angle_deg": "1",
  "person.roll_deg": "1.5",
  "person.cut": "1/16 in",
  "prices.items.per": "each"
};

/** What every field of a record is called ('': it goes without saying), and the places of lists, in turn; and
 *  the fields that name a record, and say nothing of what it is. */
export const FIELD_WORDS: Readonly<Record<string, string>> = {
  "accuracy": "accuracy",
  "anew": "anew",
  "angle": "angle",
  "angle_deg": "angle",
  "angle_rad": "angle rad",
  "area": "area",
  "areas": "areas",
  "at": "at",
  "bend_radius": "bend radius",
  "bender": "bender",
  "bends": "bends",
  "box_offset": "box offset",
  "by": "by",
  "by_marks": "by marks",
  "by_rad": "by rad",
  "centre": "center",
  "clearance": "clearance",
  "climate": "climate",
  "colour": "color",
  "copy": "copy",
  "count": "count",
  "coupled": "coupled",
  "currency": "currency",
  "cut": "cut",
  "cut_first": "cut first",
  "cut_look_at": "cut look at",
  "cutting": "cutting",
  "depth": "depth",
  "done_by": "done by",
  "end": "end B",
  "end_b": "end b",
  "engine": "engine",
  "features": "features",
  "fitting": "fitting",
  "fixed": "fixed",
  "fraction": "fraction",
  "from": "from",
  "gain": "gain per 90",
  "gap": "gap",
  "going": "going",
  "grip": "grip",
  "height": "height",
  "highest": "highest",
  "hook": "hook",
  "hook_reach": "hook reach",
  "how": "how",
  "id": "id",
  "in_hand_mm": "in hand mm",
  "insertion": "insertion",
  "install": "install",
  "insulation": "insulation",
  "item": "item",
  "items": "items",
  "keep": "keep",
  "keep_clear": "keep clear",
  "kerf": "kerf",
  "key": "label",
  "kick": "kick",
  "kind": "kind",
  "labour_h": "hours",
  "labour_rate": "labor rate",
  "lead": "arrow lead",
  "lean_rad": "lean rad",
  "leg": "length",
  "length": "length",
  "lift": "lift",
  "line_b_mm": "line b mm",
  "look_at": "look at",
  "lowest": "lowest",
  "mark": "mark",
  "mark_mm": "mark mm",
  "marks": "marks",
  "material": "material",
  "measured": "measured",
  "middle_at": "middle at",
  "moves": "moves",
  "name": "called",
  "note": "note",
  "number": "number",
  "of": "of",
  "off_b_mm": "off b mm",
  "off_mm": "off mm",
  "offcut": "offcut",
  "offcuts": "offcuts",
  "offset": "offset",
  "over": "over",
  "per": "per",
  "piece": "piece",
  "pins": "pins",
  "price": "price",
  "profile": "",
  "raceway": "raceway",
  "racewright": "racewright",
  "radius": "bend radius",
  "reach": "reach",
  "reference": "reference",
  "revision": "revision",
  "rise": "rise",
  "rise_mm": "rise mm",
  "roll": "roll",
  "roll_deg": "roll",
  "roll_off_rad": "roll off rad",
  "roll_rad": "roll rad",
  "run": "",
  "saddle": "saddle",
  "saddle_method": "saddle method",
  "shift": "shift",
  "side": "side",
  "size": "size",
  "springback_b0_deg": "springback b0",
  "springback_b1": "springback b1",
  "stand_off": "stand off",
  "standing": "standing",
  "star": "star",
  "start": "end A",
  "starts_at": "starts at",
  "station_mm": "station mm",
  "status": "status",
  "steps": "steps",
  "stock": "stock",
  "strap": "strap",
  "sun": "sun",
  "surface": "surface",
  "survey": "",
  "take_up": "take-up",
  "times": "how many alike",
  "to": "to",
  "tool": "tool",
  "toward": "toward",
  "travel": "travel",
  "trim_mm": "trim mm",
  "turn": "way",
  "turned_rad": "turned rad",
  "twisted": "twisted",
  "units": "units",
  "walk": "walk",
  "way": "way",
  "what": "what",
  "width": "width",
  "wire_slack": "wire slack",
  "wire_waste": "wire waste",
  "wires": "wires",
  "thing 1": ""
};
export const LIST_WORDS: Readonly<Record<string, readonly string[]>> = {"walk": ["leg", "turn"], "features": ["thing"], "areas": ["area"], "items": ["item"]};
export const UNSAID: readonly string[] = ["id", "of"];

/** The figures of a bending tool in the order in which they are written down, with what each is. */
export const BENDER_FIGURES = [
  {
    "field": "take_up",
    "type": "text",
    "title": "take-up",
    "help": "stub to the back of a 90, minus the arrow's mark"
  },
  {
    "field": "gain",
    "type": "text",
    "title": "gain per 90",
    "help": "stub + leg to the backs of a 90, minus the cut length"
  },
  {
    "field": "radius",
    "type": "text",
    "title": "bend radius",
    "help": "centerline radius, instead of the gain"
  },
  {
    "field": "lead",
    "type": "text",
    "title": "arrow lead",
    "help": "from the arrow to where the bend begins"
  },
  {
    "field": "centre",
    "type": "text",
    "title": "center mark",
    "help": "past where the bend begins: middle of a 45"
  },
  {
    "field": "star",
    "type": "text",
    "title": "star",
    "help": "past where the bend begins: back of a 90"
  },
  {
    "field": "hook_reach",
    "type": "text",
    "title": "hook reach",
    "help": "straight needed past the arrow, in the hook"
  },
  {
    "field": "grip",
    "type": "text",
    "title": "grip",
    "help": "straight needed on the other side, to hold"
  },
  {
    "field": "springback_b0_deg",
    "type": "number",
    "title": "springback b0",
    "help": "degrees that the pointer shows past every angle"
  },
  {
    "field": "springback_b1",
    "type": "number",
    "title": "springback b1",
    "help": "and so much more for each degree of the angle"
  },
  {
    "field": "standing",
    "type": "text",
    "title": "standing",
    "help": "how its figures were found"
  }
] as const;

/** Standard deviations of what the hand does (common practice, no source).
 *  
 *  `mark_mm`: one mark, measured from end A on its own. `angle_rad`: one bend's angle after letting go.
 *  `roll_rad`: one bend's plane against the bend it is sighted on. `cut_mm`: the cut at end B. */
export interface Accuracy {
  mark_mm: number;
  angle_rad: number;
  roll_rad: number;
  cut_mm: number;
}

/** Ampacities in A, factors without unit, temperatures in degrees C. `usable_a` is the answer, `protection` the
 *  largest overcurrent device for it. */
export interface Ampacity {
  wire: string;
  metal: string;
  insulation_c: number;
  table_a: number;
  ambient_factor: number;
  count_factor: number;
  corrected_a: number;
  terminal_c: number;
  terminal_a: number;
  usable_a: number;
  protection: Protection;
  steps: RuleStep[];
  findings: Finding[];
}

/** The new marks of the bends that were left, which hold in place of the plan's; `in_hand_mm`: how long the conduit
 *  was said to be for them, from end A before it is cut for them; `trim_mm`: so much more than planned comes off at end
 *  A, and the marks count from there (negative: less), `cut_first`: before anything is bent, as a step of its own,
 *  `cut_look_at`: how to see whether that is done ('': not known); `twisted` comes before the marks; `turned_rad`: so
 *  much the whole piece is turned in its fitting at end A when it goes in (positive clockwise, seen from A);
 *  `off_b_mm`: so much comes off at end B after bending (0: nothing, or it is not known), `line_b_mm`: end B is cut so
 *  far from end A then, since nobody said how long the conduit is, and `in_hand_mm` is how long it was taken to be at
 *  least (0: it is known what comes off); `end_b`: what is done where end B does not come to its place by them, in
 *  words ('': nothing, or it is not known). */
export interface Anew {
  marks: MarkAnew[];
  in_hand_mm?: number | null;
  trim_mm?: number;
  cut_first?: boolean;
  cut_look_at?: string;
  twisted?: TwistAnew[];
  turned_rad?: number;
  off_b_mm?: number;
  line_b_mm?: number;
  end_b?: string;
}

/** The angle that bend `number` really has, read with a level after letting go. */
export interface AngleReading {
  what: "angle";
  number: number;
  angle_deg: number;
}

/** An angle may be off by `within_deg`; each further `step_deg`, begun ones too, takes `points`, `most` at most. */
export interface AngleRule {
  within_deg?: number;
  step_deg?: number;
  points?: number;
  most?: number;
}

/** What became of an offered record. 'saved' as `revision` with that `digest` (0: it was taken out before it ever
 *  came here); 'stale': another revision stands, and what was offered is kept as refused (where the device has no room
 *  for it, it is 'later' or 'refused'); 'refused': it cannot be taken, and `message` says why; 'later': not now, as the
 *  device wrote so much today, but when it is offered again some hours later; 'newer': this Racewright does not know
 *  its kind or its form. `stands`:
 *  what is in the file now, where that is not what was offered; `yours`: what was. */
export interface Answered {
  kind: string;
  id: string;
  outcome: "later" | "newer" | "refused" | "saved" | "stale";
  revision: number;
  digest: string;
  stands: Changed | null;
  yours: unknown;
  message: string;
  hint: string;
}

/** The rise measured at bend `number` (from 1), from the leg before its shape, the way that the first bend of that
 *  shape turns: under the middle of the bend; of an offset's second bend and of the two beside a flat top where the
 *  bend runs out into the leg that lies level there. */
export interface ApexRise {
  type: "apex";
  rise_mm: number;
  number: number;
}

/** A part of the site: a building, a floor. Runs name it; the order of the list is the order of the bill. */
export interface Area {
  name: string;
  note?: string;
}

/** How the run is put up. `order`: the pieces (from 1) as they go up. `trapped`: those that go in between two
 *  parts that stand, so that a joint has to give way for them. `possible`: nothing that cannot give way has to.
 *  `moves` in order. Where it is not possible there is no order and no move: `why` says what is in the way and what
 *  would do, `ways_out` what of that was tried and does. */
export interface Assembly {
  order: number[];
  trapped: number[];
  possible: boolean;
  moves: Move[];
  why: string;
  ways_out: WayOut[];
}

/** two 90s a distance apart */
export interface BackToBack {
  name: "back-to-back";
  distance: string;
  stub?: string;
  second_stub?: string;
  to?: "back" | "centre" | "inside";
}

/** One bend: its `order` in its piece, its mark's `number` and `reading` from end A, what stands `at` the mark and
 *  where the `hook` points ('' without a shoe), how the line along the conduit lies, what to bend to and when that is
 *  read, how the shoe is `held` or the bend is made, where no shoe is by which stretch (`making`), what to check then. */
export interface BatchBend {
  order: number;
  number: number;
  reading: string;
  at: string;
  hook: string;
  line: string;
  bend_to: string;
  read: string;
  held: string;
  making: string;
  look_at: string;
}

/** So many pieces that are made alike. `length`: the conduit that each is cut to; `ends_later`: the ends that are
 *  cut off after bending; `zero`: how far from the stock's end the line lies that readings count from, '' for its end. */
export interface BatchKind {
  number: number;
  tool: string;
  raceway: string;
  count: number;
  pieces: BatchPieces[];
  length: string;
  ends_later: string;
  zero: string;
  bends: BatchBend[];
}

/** One piece of a run, and of runs alike of which copies; the plan that its marks are of; `there`: cut already. */
export interface BatchPieces {
  label: string;
  copies: number[];
  plan: string;
  there: boolean;
}

/** One setting: what to bend to, when that is read, how it is held or made. */
export interface BatchSetting {
  bend_to: string;
  read: string;
  how: string;
  work: BatchWork[];
}

/** At one setting: of which kind (by its number), which of its bends (by its order). */
export interface BatchWork {
  kind: number;
  order: number;
}

/** A record that a change wrote, as it stands since (`revision`, `digest`; `gone`: taken out), and what it said
 *  before (`data` None: it was not there). */
export interface Before {
  kind: string;
  id: string;
  job: string;
  revision: number;
  digest: string;
  gone: boolean;
  data: unknown;
}

/** The kinds by tool (with its revision, where it is one of the shop) and raceway, and the settings of each tool.
 *  `begun`: pieces that are left out because bends are made on them, by their own cards, `anew`: by new marks,
 *  `other`: by a plan that is not their run's present one, which they name, `cut_for_other`: those that are only
 *  cut, for such a plan, and `stopped`: by other marks than those
 *  that hold, or far from what they should be; `bent`: those of which no bend is left; `waiting`: those that no bending
 *  order is known for. `care`: the kinds of work in these bends. */
export interface BenchList {
  kinds: BatchKind[];
  tools: ToolBatch[];
  begun: string[];
  anew: string[];
  other: string[];
  cut_for_other: string[];
  stopped: string[];
  bent: string[];
  waiting: string[];
  care: ("bend" | "cement" | "correct" | "cut" | "drill" | "enclosure" | "floor" | "hand shoe" | "heat" | "height" | "machine" | "order" | "plan" | "pull" | "thread" | "upside down" | "wire")[];
}

/** The angle that bend `number` (from 1) really has, read with a level after letting go. */
export interface BendAngle {
  type: "angle";
  number: number;
  angle_rad: number;
}

/** A bend in words. `name`: '1st bend, mark 9', or 'mark 9' where no bending order is known; `part`: 'kick 1',
 *  'suction pipe, saddle center'; `placed`: 'arrow on mark 9', 'bend ends at mark 9'; `hook`: 'hook toward A', ''
 *  without a shoe; `bend_to`: what the pointer must show, `read`: when it is read; `leaves`: the angle that is left. */
export interface BendAtBench {
  name: string;
  part: string;
  placed: string;
  hook: string;
  bend_to: string;
  read: string;
  leaves: string;
}

/** A bend as it was made at the bench: its angle, where its mark stands from end A, and how far its plane is off the
 *  plan (positive clockwise, seen from A), where these were measured; `by_marks`: by which marks it was made ('plan',
 *  or the id of the entry that kept them; '': not known). Where new marks were kept with it, it is by the plan's own
 *  mark, and `by_marks` are those that bent it on or opened it, else those that what was not measured was taken from
 *  ('': all was measured). */
export interface BendMade {
  number: number;
  angle_rad?: number | null;
  mark_mm?: number | null;
  roll_off_rad?: number | null;
  by_marks?: string;
}

/** A bender as it is used. `written`: every figure of the record in words, by its name. `record` is what to keep of
 *  it: as it was written, each length with its unit (null: it came by name). `calibration` is there where it was found
 *  from test bends, its numbers in words as `found`, with `verdicts` on how sure it is. `file`: where it is kept, as
 *  far as the door says. */
export interface BenderAnswer {
  findings: Finding[];
  not_included: string[];
  cautions: string[];
  unit: "in" | "mm";
  profile: BenderProfile;
  figures: BenderFigure[];
  springback: string;
  written: WrittenFigure[];
  record: BenderRecord | null;
  calibration: Calibration | null;
  found: FoundFigure[];
  verdicts: string[];
  file: string;
}

/** One number of a shoe, finer than a tape shows it (`said`), and what it is measured from. */
export interface BenderFigure {
  label: string;
  mm: number;
  said: string;
  meaning: string;
}

/** One shoe on one raceway (physical constants of the bend). All lengths mm.
 *  
 *  Positions along the conduit count from the hook-side tangent point, positive away from the hook:
 *  arrow at -arrow_lead_mm, centre mark at centre_mm, star (back of a 90) at star_mm.
 *  Pointer: to be left with angle A (rad) after relaxing, pull to A + springback_b0_rad + springback_b1 * A;
 *  None where the user has not calibrated it. */
export interface BenderProfile {
  name: string;
  raceway_type: string;
  trade_size: string;
  outside_diameter_mm: number;
  radius_mm: number;
  arrow_lead_mm: number;
  centre_mm: number;
  star_mm: number;
  hook_reach_mm: number;
  grip_mm: number;
  take_up_mm: number;
  gain_mm: number;
  springback_b0_rad?: number | null;
  springback_b1?: number | null;
  handle_length_mm?: number;
  shoe_width_mm?: number;
  source?: string;
  standing?: string;
}

/** One profile as the user wrote it. Lengths are text with their unit; springback is pointer = A + b0 + b1 A with
 *  b0 in degrees. Take-up and gain, or radius with take-up or lead, or radius alone. How long a text may be is
 *  looked at when it is saved (`refuse_long`): what was kept before there was a bound is still read. */
export interface BenderRecord {
  raceway: string;
  size: string;
  take_up?: string;
  gain?: string;
  radius?: string;
  lead?: string;
  centre?: string;
  star?: string;
  hook_reach?: string;
  grip?: string;
  springback_b0_deg?: number | null;
  springback_b1?: number | null;
  standing?: string;
}

/** What the numbers of a bender mean and what a check says: `bender` as its owner wrote it, under the name
 *  `bender_name`, or with the name alone one that is known. Lengths without a unit are in `unit`. */
export interface BenderRequest {
  bender?: BenderRecord | null;
  bender_name?: string;
  unit?: "in" | "mm";
}

/** A made bend that is bent further before the rest, in the form of a planned one: `bend` is where its mark stands
 *  now and how it is held, its `look_at` how the shoe is set on it; of its `words` `bend_to` is how much further it is
 *  bent, and `read` what it has then. */
export interface BentOn {
  bend: MarkedBend;
  words: BendAtBench;
}

/** The bill of the whole job, of an area or of a run; 'own': of what the job itself names. Totals are None where
 *  nothing is priced; `unpriced` names what the totals leave out. */
export interface Bill {
  scope: "area" | "job" | "own" | "run";
  name: string;
  lines: BillLine[];
  material: string | null;
  labour_h: string | null;
  labour: string | null;
  unpriced: string[];
}

/** One line. `quantity` in `unit`. `price` for one `per`, `amount` the money for the line, `labour_h` hours and
 *  `labour` their money; None where the user gave no figure. */
export interface BillLine {
  group: "box" | "bushing" | "conduit" | "connector" | "coupling" | "other" | "strap" | "wire";
  item: string;
  quantity: string;
  unit: "each" | "fl oz" | "ft" | "m" | "mL";
  price: string | null;
  per: string;
  amount: string | null;
  labour_h: string | null;
  labour: string | null;
}

/** A rectangular block: one corner and the three edges that leave it, square to each other. mm. */
export interface Box {
  solid: "box";
  corner: [number, number, number];
  edge_x: [number, number, number];
  edge_y: [number, number, number];
  edge_z: [number, number, number];
}

/** Volume that the contents need, in in3 (the table's unit) and cm3; `allowances` counts conductor allowances. */
export interface BoxNeed {
  needed_in3: number;
  needed_cm3: number;
  allowances: number;
  steps: RuleStep[];
}

/** A beam, duct or step: height over the surface, width along the conduit. */
export interface BoxObstacle {
  crossed: "box";
  height_mm: number;
  width_mm: number;
}

/** the small offset into a box: finds its angle */
export interface BoxOffset {
  name: "box-offset";
  rise: string;
  spacing?: string;
  room?: string;
  at?: string;
}

/** Radius, lead and springback of the shoe `bender_name` from these test bends; `fit` finds the places of these
 *  marks too. The conduit is `raceway` and `size`, else that of `bender`, the profile that the asker has by this name
 *  (its hook reach and grip stay, and its springback where no pointer was read), else of the trade's shoe of the
 *  name. */
export interface CalibrateRequest {
  bender_name: string;
  bends: TestBendReadings[];
  fit?: ("center" | "star")[];
  raceway?: string;
  size?: string;
  bender?: BenderRecord | null;
  unit?: "in" | "mm";
}

/** Fitted constants. `names` orders `standard_errors_mm` and `covariance_mm2`. `misfit` is the root of chi squared
 *  over the degrees of freedom: near 1 the bends agree as well as the readings allow, and beyond `most_misfit` they do
 *  not; None with nothing left over. */
export interface Calibration {
  radius_mm: number;
  arrow_lead_mm: number;
  centre_mm: number;
  star_mm: number;
  names: string[];
  standard_errors_mm: number[];
  covariance_mm2: number[][];
  residuals: Residual[];
  degrees_of_freedom: number;
  misfit: number | null;
  condition: number;
  springback: Springback | null;
}

/** How far off the far end may be and still enter its fitting: `across_mm` sideways in any direction,
 *  `along_mm` in or out, `angle_rad` out of line. Common practice, no source; 3/4 in sideways is about what a hand
 *  springs half-inch EMT over a free length of 30 in (cantilever, F L^3 / 3 E I, 10 lb). */
export interface Capture {
  across_mm: number;
  along_mm: number;
  angle_rad: number;
}

/** One SVG document a page, its size in mm. */
export interface CardAnswer {
  findings: Finding[];
  not_included: string[];
  cautions: string[];
  title: string;
  pages: string[];
  width_mm: number;
  height_mm: number;
}

/** Pages to print: the whole card, its bench page alone (what is needed to cut, mark, bend and put up the run), or
 *  the 1:1 strip. `paper` left out: letter for inches, a4 for mm. */
export interface CardRequest {
  survey: WrittenSurvey;
  head?: JobHead | null;
  bender?: BenderRecord | null;
  bender_name?: string;
  fraction?: 1 | 2 | 4 | 8 | 16 | 32 | null;
  job?: Job | null;
  what?: "bench" | "card" | "strip";
  paper?: "a4" | "letter" | null;
}

/** The thinnest size whose terminals' column carries a current: size, column in degrees C, its ampacity in A. */
export interface Carrying {
  size: string;
  column_c: number;
  ampacity_a: number;
}

/** Everything a form offers. `end_fittings` are the values of a survey's `fitting`; `lessons` are the kinds
 *  of problem of the practice sheets, in the order in which they are learned. */
export interface Catalogue {
  findings: Finding[];
  not_included: string[];
  cautions: string[];
  version: string;
  raceways: RacewayData[];
  benders: ShoeData[];
  units: UnitChoice[];
  end_fittings: string[];
  lessons: Lesson[];
}

/** What there is to choose from. */
export interface CatalogueRequest {
}

/** One cause: `value` and its standard error in `unit` ('mm', 'rad', '1'), both as a person reads them, in words. */
export interface CauseFound {
  cause: "mark bias" | "overbend" | "overbend per angle" | "radius" | "take-up";
  value: number;
  standard_error: number;
  unit: "1" | "mm" | "rad";
  found: string;
  give_or_take: string;
  words: string;
}

/** A record as it stands: its newest revision, made from `base` in change number `change`. `job`: the id of its job,
 *  or of the shop. `came`: the place of its first revision among all, which is the order of the shop file's records
 *  whatever was written on them since. `data` (the JSON as it is kept, msgspec.Raw) None: removed. `digest` stands for
 *  kind and data. `past`: of a tool all that it was before, oldest first, as runs stay on the revision that they were
 *  put on; of a run that was removed what it said last, so that it can be brought back. */
export interface Changed {
  kind: string;
  id: string;
  job: string;
  revision: number;
  base: number;
  change: number;
  came: number;
  by: string;
  at: string;
  digest: string;
  data: unknown;
  past: Was[];
}

/** What changed, oldest change first. `last`: the number to ask from next, and `mark` to give with it. `more`: ask
 *  again at once. `anew`: the file is not the one that the number came from (it was brought back from a backup), so
 *  these are all records from the beginning. `shop`: the id of the shop, which what is of all of it (its tools) has as
 *  its job; '' before anything was saved. `withheld`: kinds that the asking device is not told, nor may write. */
export interface Changes {
  records: Changed[];
  last: number;
  mark: string;
  more: boolean;
  anew: boolean;
  shop: string;
  withheld: string[];
}

/** One check: `unit` 'in', 'mm', 'deg' or 'yes' (a side: yes or no); what was `wanted` and `measured` ('' = not
 *  measured), how far it is `off` ('' = within what is allowed), the points taken off, and what likely made it so.
 *  `counted_at`: the checks, in words, at which the same slip is taken off; here only what it does not make is. */
export interface CheckGraded {
  key: string;
  kind: "angle" | "dog-leg" | "lean" | "length" | "rise" | "side";
  words: string;
  unit: string;
  wanted: string;
  measured: string;
  off: string;
  deduction: number;
  cause: string;
  counted_at: string;
}

/** One angle; `angle` is how a card tells it. Where `possible` is false `reason` says why, `limit` what binds and
 *  `limit_at` how much of it there should be (of room: there is); lengths are null where the arcs would meet.
 *  `spacing` is from mark to mark, `shrink` how much shorter the run gets, `room` what it takes along the run,
 *  `straight` what is left straight between the bends. */
export interface ChoiceRow {
  angle_deg: number;
  angle: string;
  possible: boolean;
  reason: string;
  limit: "" | "rise" | "room" | "straight";
  limit_at: Length | null;
  total_deg: number;
  straight: Length | null;
  spacing: Length | null;
  shrink: Length | null;
  room: Length | null;
  developed: Length | null;
}

/** The sheet: `problems` are its columns, in the order in which they came; `rows` in that of the list, then of who
 *  is not on it. `pass_rule`: when a piece is passed. `csv` is the same sheet as a file, no cell of which a spreadsheet
 *  runs. */
export interface ClassAnswer {
  findings: Finding[];
  not_included: string[];
  cautions: string[];
  problems: string[];
  rows: ClassRow[];
  pass_rule: string;
  csv: string;
}

/** The class list and its graded pieces. Of several of one person at one problem the last one with
 *  a grade counts. `scheme`, `units`: the rules as they are now, told on a tape of that unit. */
export interface ClassRequest {
  people?: string[];
  results?: ClassResult[];
  scheme?: Scheme;
  units?: "in" | "mm";
}

/** One graded piece: whose, of which problem, its points of `full`, whether it passed, and when (as told). Not
 *  `whole`: not all of it was measured, or not timed where the time counts, so it has no grade. `without_leans`: it was
 *  read before leans were asked for. `scheme`: the rules that it was graded by (None: it was kept without them). */
export interface ClassResult {
  person: string;
  problem: string;
  points: number;
  full: number;
  passed?: boolean;
  whole?: boolean;
  without_leans?: boolean;
  scheme?: Scheme | null;
  at?: string;
}

/** A person's row: a cell for each problem ('' = none; what was graded without leans, or by other rules than they
 *  are now, says so), the sum with what could be reached, how many passed, and how many tries there were. What was
 *  graded by other rules is summed apart, in `total` alone, with how many of it passed. `ungraded`: the problems of
 *  which a piece is kept that has no grade; they are in no sum. */
export interface ClassRow {
  person: string;
  cells: string[];
  total: string;
  passed: number;
  tries: number;
  ungraded: string[];
}

/** How much room the conduit leaves to a thing, and how much was wanted; `low`: less than that. */
export interface Clearance {
  left: Length;
  wanted: Length;
  low: boolean;
}

/** 90s about one center through a rack */
export interface Concentric {
  name: "concentric";
  count?: number;
  sizes?: string;
  spacing?: string;
  gap?: string;
  radius?: string;
  fit?: "circumscribed" | "inscribed";
  shot?: string;
}

/** The drawing, an SVG document; a caption, and what found no room on it. The findings: the open ones. */
export interface CornerAnswer {
  findings: Finding[];
  not_included: string[];
  cautions: string[];
  svg: string;
  caption: string;
  left_over: string[];
}

/** A run from a `corner` of the room, each a quarter turn to the right of the one before; the drawing's size in mm
 *  of paper. */
export interface CornerRequest {
  survey: WrittenSurvey;
  head?: JobHead | null;
  bender?: BenderRecord | null;
  bender_name?: string;
  fraction?: 1 | 2 | 4 | 8 | 16 | 32 | null;
  corner?: 0 | 1 | 2 | 3;
  width_mm?: number;
  height_mm?: number;
}

/** A correction that was made on a finished piece. */
export interface Corrected {
  kind: "corrected";
  moves: MoveMade[];
  note?: string;
}

/** One correction. 'angle': bend `number` gets `by_deg` more (negative: open it); 'roll': it and all that follows
 *  is rolled about the axis from A to B; 'spin': the whole piece is turned in the fitting at end A. `words` say it. */
export interface Correction {
  number: number;
  what: "angle" | "roll" | "spin";
  by_deg: number;
  words: string;
}

/** A correction that was made: bend `number` closed by so many degrees (negative: opened). */
export interface CorrectionMade {
  number: number;
  by_deg: number;
}

/** What a saddle goes over, as the clearance module takes it, so that other angles can be weighed too. */
export interface Crossing {
  obstacle: RoundObstacle | BoxObstacle;
  clearance_mm: number;
  standoff_mm: number;
  outside_diameter_mm: number;
}

/** The cut list. `least_sticks`, `least_length_mm`: no plan can buy fewer sticks, less length; only the one that
 *  was asked for by `rules.least` is a tight bound, the other is 0. `proved`: this plan is at that bound.
 *  `kept_mm`: offcuts worth keeping, unused offcuts not counted; `unused_offcuts`: which on hand were left alone. */
export interface CutPlan {
  sticks: CutStick[];
  rules: CutRules;
  new_sticks: number;
  new_length_mm: number;
  least_sticks: number;
  least_length_mm: number;
  proved: boolean;
  kept_mm: number[];
  scrap_mm: number;
  kerf_total_mm: number;
  unused_offcuts: number[];
  looked_at: number;
}

/** What the cut list may use. `stock_mm`: lengths that are sold, as many as needed; `offcuts_mm`: lengths on hand,
 *  each once, of which `sticks_on_hand` (from 1) are sticks as they are sold; `run_offcuts`: those that the runs'
 *  surveys name, counted on after them. `kerf_mm`: what one cut eats.
 *  `keep_mm`: an offcut of this length or more is kept, a shorter one is scrap. `least`: fewest new sticks, or least
 *  length bought (where long sticks are dear). `effort`: 0 for a quick answer, 1 the usual search, more for a longer
 *  one. Hand figures are common practice, no source. */
export interface CutRules {
  stock_mm: number[];
  offcuts_mm: number[];
  sticks_on_hand: number[];
  run_offcuts: RunOffcut[];
  kerf_mm: number;
  keep_mm: number;
  least: "length" | "sticks";
  effort: number;
}

/** One stick or offcut and the pieces that come out of it, longest first. `offcut`: which of the offcuts on hand
 *  (from 1), 0 for a new stick; `on_hand`: that one is a stick as it is sold; `named_by`: the run whose survey names it
 *  ('' the job's own). `new_offcut_mm`: what is left after the last cut; `kept` where it is long enough to keep. */
export interface CutStick {
  number: number;
  source_mm: number;
  offcut: number;
  pieces: WantedPiece[];
  new_offcut_mm: number;
  kept: boolean;
  named_by: string;
  on_hand: boolean;
}

/** `kerf`: what the saw eats. `keep`: an offcut at least so long is kept, a shorter one is scrap. */
export interface Cutting {
  kerf?: string | number;
  keep?: string | number;
}

/** A round bar with flat ends: the two ends of its axis and its radius. mm. */
export interface Cylinder {
  solid: "cylinder";
  start: [number, number, number];
  end: [number, number, number];
  radius_mm: number;
}

/** `pieces` by name; `rank` of `unknowns` from the `readings`, `condition` of the scaled system; `left` what the
 *  causes do not explain, in doubts of a reading (about 1 or less: explained). `words` say what that means. Of more
 *  than can be looked at, `pieces` are the first, and a finding says so. */
export interface DiagnoseAnswer {
  findings: Finding[];
  not_included: string[];
  cautions: string[];
  pieces: string[];
  causes: CauseFound[];
  rank: number;
  unknowns: number;
  readings: number;
  condition: number;
  left: number;
  words: string[];
}

/** Finished pieces bent on one shoe. `unit` of lengths without one. `causes`: what to look for (none: all that can
 *  be). `doubt_length`, `doubt_deg`: how far one reading may be off (standard deviation). */
export interface DiagnoseRequest {
  pieces: MeasuredPiece[];
  unit?: "in" | "mm";
  causes?: ("mark bias" | "overbend" | "overbend per angle" | "radius" | "take-up")[];
  doubt_length?: string;
  doubt_deg?: number;
}

/** A dimension to draw between two points of the room, with its text ('31 5/16 to center'), drawn off to `side`.
 *  `field`: the reading that it shows, or ''. */
export interface Dimension {
  start: [number, number, number];
  end: [number, number, number];
  text: string;
  side: [number, number, number];
  field: string;
}

/** None of the item any more. */
export interface DropItem {
  set: "no item";
  item: string;
}

/** They are not in the list any more. */
export interface DropPerson {
  set: "no person";
  name: string;
}

/** The item has no price any more. */
export interface DropPrice {
  set: "no price";
  item: string;
}

/** The thinnest size that keeps the limit (`size`, and `k_size` by K), the thinnest that carries the current
 *  (`carrying`, None where no size of the table does in so many sets), and the thicker of the two (`take`). */
export interface DropSize {
  size: string;
  k_size: string;
  limit_percent: number;
  needed_circular_mils: number;
  drop: VoltageDrop;
  carrying: Carrying | null;
  take: VoltageDrop;
}

/** No sticks of this length any more, or (`stands`) none of those. */
export interface DropStock {
  set: "no stock";
  raceway: string;
  length: string;
  stands?: "as needed" | "offcuts" | "on hand" | null;
}

/** One thing seen or done on the run whose id is `run`, and on which of its pieces (from 1; None: the whole run).
 *  `copy`: on which of the runs alike (from 1; None: see `copy_of`). `by`: who says so; `at`: when, in UTC. */
export interface Entry {
  id?: string;
  run: string;
  piece?: number | null;
  copy?: number | null;
  what: StatusSet | Readings | Corrected | Made | Noted;
  pins?: Pins;
  by?: string;
  at?: string;
}

/** The files in the order asked for, and the plan that they show. The findings: the open ones; the plan has all. */
export interface ExportAnswer {
  findings: Finding[];
  not_included: string[];
  cautions: string[];
  files: RunFile[];
  plan: Plan;
}

/** A run as files of these `kinds`. `paper` left out: letter for inches, a4 for mm. `written_at`: date and time for
 *  the head of an IFC file, 'YYYY-MM-DDThh:mm:ss'. */
export interface ExportRequest {
  survey: WrittenSurvey;
  head?: JobHead | null;
  bender?: BenderRecord | null;
  bender_name?: string;
  fraction?: 1 | 2 | 4 | 8 | 16 | 32 | null;
  job?: Job | null;
  kinds: ("bench.pdf" | "bench.svg" | "card.pdf" | "card.svg" | "dxf" | "gltf" | "ifc" | "strip.pdf" | "strip.svg")[];
  paper?: "a4" | "letter" | null;
  written_at?: string;
}

/** How far the far end moves, seen along the first leg from end A. */
export interface FarEnd {
  up: number;
  left: number;
  forward: number;
}

/** Wires in one raceway: areas in mm2 (and in2, the table's own unit), `percent` filled of the tabled inside area.
 *  
 *  `same_size_most` is how many of the same wire Chapter 9 Note 7 gives (None for mixed wires), `by_diameter_most` the
 *  same from the diameters without rounding (Annex C prints now one, now the other); `jam_ratio` the raceway's inside
 *  diameter over the wire's diameter (None where jamming is no question). */
export interface Fill {
  raceway: string;
  wires: string[];
  count: number;
  wires_area_in2: number;
  allowed_area_in2: number;
  wires_area_mm2: number;
  allowed_area_mm2: number;
  limit_percent: number;
  percent: number;
  fits: boolean;
  same_size_most: number | null;
  by_diameter_most: number | null;
  jam_ratio: number | null;
  steps: RuleStep[];
  findings: Finding[];
}

/** The smallest raceway of a type for a set of wires: `trade_size`, its fill, and the sizes that were too small. */
export interface FillSize {
  trade_size: string;
  fill: Fill;
  too_small: string[];
  note: string;
}

/** One thing a check found. `measured` and `allowed` share `unit`; `citation` is article and edition or
 *  'common practice, no source'; `where` says which mark, leg or piece; `standing` 'from memory' where what it rests on
 *  is, '' else. `values`: what a program may ask of it beyond that, by name; no rule reads the message. */
export interface Finding {
  rule: string;
  severity: "caution" | "info" | "problem";
  message: string;
  citation?: string;
  where?: string;
  measured?: number | null;
  allowed?: number | null;
  unit?: string;
  standing?: string;
  values?: Record<string, string>;
}

/** What is done to the piece before its bends, a step of its own: `to_do` in words ('cut 5/16" more off at end A'),
 *  `look_at` how to see whether it is done ('': nothing shows it); bend `number` is twisted. `done`: the record says
 *  so. */
export interface FirstStep {
  kind: "cut" | "twist";
  number: number | null;
  to_do: string;
  look_at: string;
  done: boolean;
}

/** One expansion fitting: between which pieces, and its round parts from the barrel on. */
export interface FittingBody {
  label: string;
  parts: Cylinder[];
}

/** Where end B will land, with end A held in its fitting. Spreads are standard deviations, first order.
 *  
 *  `along_mm` in the direction of the last leg; `across_most_mm` and `across_least_mm` sideways in the two
 *  principal directions, `across_turn_rad` the roll of the first of them; `angle_most_rad`, `angle_least_rad` the
 *  lean of the last leg. `chance` that it enters the fitting as `capture` allows, `chance_across`,
 *  `chance_along`, `chance_angle` each condition alone. `by_step` falls in order of its share, `by_kind` sums it. */
export interface Forecast {
  along_mm: number;
  across_most_mm: number;
  across_least_mm: number;
  across_turn_rad: number;
  angle_most_rad: number;
  angle_least_rad: number;
  chance: number;
  chance_across: number;
  chance_along: number;
  chance_angle: number;
  by_kind: Record<string, number>;
  by_step: StepShare[];
  capture: Capture;
  words: string;
}

/** One number that test bends gave, and its standard error, both in words. */
export interface FoundFigure {
  label: string;
  said: string;
  error: string;
}

/** over an obstacle with a flat top */
export interface FourBendSaddle {
  name: "four-bend-saddle";
  rise?: string;
  centre?: string;
  length?: string;
  room?: string;
  obstacle?: "round" | "square" | null;
  height?: string;
  width?: string;
  lift?: string;
  clearance?: string;
  standoff?: string;
  flat?: string;
  angle?: string;
}

/** How far end B still is from its fitting: across twice and along, and how far out of line, twice. */
export interface Gap {
  across_mm: [number, number];
  along_mm: number;
  lean_deg: [number, number];
}

/** The piece's marks: `points` of `full`, of which a slip is taken once, however many checks show it; `graded`:
 *  something was measured; `whole`: all was, and the time is told where it counts, so that it is a grade. Passing is
 *  decided by every check that is out, a shape on the wrong side and a gross error: `pass_rule`. `how`: what is to be
 *  known to measure it. `without_leans`: graded so. `causes`: what likely happened, the one that explains most first,
 *  what to do about it, and the points that it takes. `time_words`, `time_deduction`: of the time. */
export interface GradeAnswer {
  findings: Finding[];
  not_included: string[];
  cautions: string[];
  checks: CheckGraded[];
  graded: boolean;
  whole: boolean;
  without_leans: boolean;
  points: number;
  full: number;
  passed: boolean;
  time_words: string;
  time_deduction: number;
  causes: string[];
  words: string;
  pass_rule: string;
  how: string;
}

/** What tape or level says at one check, by its `key`: a length, degrees, or 'yes' or 'no' for a side. */
export interface GradeReading {
  key: string;
  reads: string;
}

/** A practice problem's run as a finished piece. Without `readings` the answer says what to measure. `minutes`: how
 *  long it took (None: not timed). `before_leans`: it was read when leans were not asked for yet, so that with no lean
 *  among its readings it is graded without, and that is told. */
export interface GradeRequest {
  survey: WrittenSurvey;
  head?: JobHead | null;
  bender?: BenderRecord | null;
  bender_name?: string;
  fraction?: 1 | 2 | 4 | 8 | 16 | 32 | null;
  readings?: GradeReading[];
  minutes?: number | null;
  before_leans?: boolean;
  scheme?: Scheme;
}

/** The answer: `size`, the tabled size before any increase, circular mils needed (None without an increase). */
export interface GroundSize {
  size: string;
  tabled_size: string;
  metal: string;
  device_a: number;
  needed_circular_mils: number | null;
  steps: RuleStep[];
  findings: Finding[];
}

/** All that lies behind a plane (a wall, a floor): solid where (p - point) . normal <= 0. Unit normal. */
export interface HalfSpace {
  solid: "half_space";
  point: [number, number, number];
  normal: [number, number, number];
}

/** Something for the bill that no plan shows: a box, a bushing, a cover. `item` is its name in the price list. */
export interface Item {
  item: string;
  count?: number;
}

/** A whole job: one plain JSON file holds exactly this. The entries stand in the order in which they came in.
 *  `tools`: those that its runs name, as they stood at the revisions that are named, and as they stand now. `prices`:
 *  its own, else those of its shop; `people`: those of its shop. */
export interface Job {
  id?: string;
  head: JobHead;
  runs?: JobRun[];
  entries?: Entry[];
  tools?: ToolAt[];
  prices?: Prices;
  people?: Person[];
  racewright_job?: number;
}

/** The list of the job called `name`. `through`: the kinds are bent in their order, each piece through, and no
 *  settings are told. */
export interface JobBatchAnswer {
  findings: Finding[];
  not_included: string[];
  cautions: string[];
  tables: PlainTable[];
  files: TableFile[];
  name: string;
  through: boolean;
  bench: BenchList;
}

/** What is to be bent of the job, or of one `area` alone: the runs, and of runs alike the copies, that have one of
 *  these statuses (`status`; none named: those that are not bent). `through`: each piece is bent through before the
 *  next is begun. */
export interface JobBatchRequest {
  job: Job;
  as_tables?: boolean;
  as_files?: ("csv" | "xlsx")[];
  area?: string;
  status?: ("bent" | "in" | "measured" | "planned" | "wired")[];
  through?: boolean;
}

/** The whole job, its areas and its runs; `cuts`: the cut lists that its sticks come from. The money of all areas,
 *  and of all runs, adds up to the job's. */
export interface JobBill {
  job: Bill;
  areas: Bill[];
  runs: Bill[];
  currency: string;
  wire_waste_percent: number;
  cuts: RacewayCuts[];
}

/** The bill of the job called `name`. */
export interface JobBillAnswer {
  findings: Finding[];
  not_included: string[];
  cautions: string[];
  tables: PlainTable[];
  files: TableFile[];
  name: string;
  bill: JobBill;
}

/** What the job needs, with its own prices and hours. `item`: one of its price list, to be told of where nothing of
 *  the job is called so; of the others, those that may be meant for what has no price. */
export interface JobBillRequest {
  job: Job;
  as_tables?: boolean;
  as_files?: ("csv" | "xlsx")[];
  item?: string;
}

/** A cut list for each raceway, to be read on a tape in `units`. `not_included`: a proof that was not had too. */
export interface JobCutAnswer {
  findings: Finding[];
  not_included: string[];
  cautions: string[];
  tables: PlainTable[];
  files: TableFile[];
  units: "in" | "mm";
  cuts: RacewayCuts[];
}

/** The cut list of the runs that are not bent yet, or of all. `raceway`: only this one. `least`: buy the fewest
 *  sticks, or the least length. `effort`: 0 quick, 1 usual, up to 5: longer. `prove`: by an outside solver. */
export interface JobCutRequest {
  job: Job;
  as_tables?: boolean;
  as_files?: ("csv" | "xlsx")[];
  all?: boolean;
  raceway?: string;
  least?: "length" | "sticks";
  effort?: number;
  prove?: boolean;
}

/** Everything of a job but its runs. `wire_waste` is percent. */
export interface JobHead {
  name: string;
  units?: "in" | "mm";
  areas?: Area[];
  stock?: Stock[];
  cutting?: Cutting;
  wire_slack?: string | number;
  wire_waste?: number;
  items?: Item[];
  note?: string;
}

/** The kits of the job called `name`, their lengths to be read on a tape in `units`; wire holds `wire_waste_percent`
 *  for waste. */
export interface JobKitsAnswer {
  findings: Finding[];
  not_included: string[];
  cautions: string[];
  tables: PlainTable[];
  files: TableFile[];
  name: string;
  units: "in" | "mm";
  wire_waste_percent: number;
  kits: Kit[];
}

/** What goes to each room of the job, or of one `area` alone. */
export interface JobKitsRequest {
  job: Job;
  as_tables?: boolean;
  as_files?: ("csv" | "xlsx")[];
  area?: string;
}

/** The labels in the order of the sheets; how many `sheets`; the sheets as one PDF, or as one SVG document each;
 *  neither where a table was asked for. */
export interface JobLabelsAnswer {
  findings: Finding[];
  not_included: string[];
  cautions: string[];
  tables: PlainTable[];
  files: TableFile[];
  labels: PieceLabel[];
  sheets: number;
  pdf: string;
  svg: string[];
}

/** A label for each piece of the job, or of one `area`: of the runs, and of runs alike the copies, that have one of
 *  these statuses (`status`; none named: those that are not bent). The sheet: `rows` by `columns` on this `paper`
 *  (left out: letter for inches, a4 for mm), the first `margin_top`, `margin_left` from its edges, `gap_across` and
 *  `gap_down` between two, each `label_width` by `label_height`, or left out as the paper has room with the same
 *  margins at the other side. `skip`: so many of the first sheet are used up. `lines`: drawn round each, to cut
 *  along. */
export interface JobLabelsRequest {
  job: Job;
  as_tables?: boolean;
  as_files?: ("csv" | "xlsx")[];
  area?: string;
  status?: ("bent" | "in" | "measured" | "planned" | "wired")[];
  paper?: "a4" | "letter" | null;
  rows?: number;
  columns?: number;
  margin_top?: string;
  margin_left?: string;
  gap_across?: string;
  gap_down?: string;
  label_width?: string;
  label_height?: string;
  skip?: number;
  lines?: boolean;
  form?: "pdf" | "svg" | "table";
}

/** The last changes of a job, newest first, those of its prices and of the shop's people among them. `older`: there
 *  are more, which `racewright job log` lists. */
export interface JobLog {
  changes: Logged[];
  older: boolean;
}

/** The files, those of the runs in the order of the job's areas. */
export interface JobModelsAnswer {
  findings: Finding[];
  not_included: string[];
  cautions: string[];
  files: ModelFile[];
}

/** The job, or one `area` of it, as files of these `kinds`. `written_at`: date and time for the head of an IFC file,
 *  'YYYY-MM-DDThh:mm:ss'. */
export interface JobModelsRequest {
  job: Job;
  kinds: ("dxf" | "gltf" | "ifc")[];
  area?: string;
  written_at?: string;
}

/** `pages`: how many; the document as one PDF with outline and links, or as one SVG document a page. The findings
 *  are the open ones, each once with the runs that have it; the document holds all. */
export interface JobPackAnswer {
  findings: Finding[];
  not_included: string[];
  cautions: string[];
  title: string;
  pages: number;
  pdf: string;
  svg: string[];
}

/** The pack of a job, or of one `area`. `paper` left out: letter for inches, a4 for mm. `cards`: of each
 *  run its bench page, its whole card, or none. `made_by`, `made_on` are printed on the cover, which leaves room to
 *  write what is not told. */
export interface JobPackRequest {
  job: Job;
  area?: string;
  paper?: "a4" | "letter" | null;
  cards?: "bench" | "none" | "whole";
  made_by?: string;
  made_on?: string;
  form?: "pdf" | "svg";
}

/** How the planning of every run went; `planned_now`: so many were not known before. */
export interface JobPlanAnswer {
  findings: Finding[];
  not_included: string[];
  cautions: string[];
  name: string;
  areas: string[];
  runs: RunRow[];
  status: Record<string, number>;
  open: number;
  planned_now: number;
}

/** Plan every run. `again`: also those whose plan is known. */
export interface JobPlanRequest {
  job: Job;
  revisions?: Record<string, number>;
  again?: boolean;
}

/** What is to be added to the record of the run, in this order, each an entry of its own with these `pins`; those
 *  that set a status are of the whole run, the others of `piece`; each again for every one of `copies` (none: of all;
 *  what was done on a piece of a run of which one is wanted is of copy 1).
 *  `status`: how far these copies are from then on. `remark`: the new marks for the rest, where they were asked for;
 *  they hold from then on where it has something to `keep`. `words`: the entries of the piece as they are understood,
 *  with lengths as the run's tape shows them. */
export interface JobRecordAnswer {
  findings: Finding[];
  not_included: string[];
  cautions: string[];
  run: string;
  piece: number;
  copies: number[];
  what: (StatusSet | Readings | Corrected | Made | Noted)[];
  words: string[];
  pins: Pins;
  status: "bent" | "in" | "measured" | "planned" | "wired";
  remark: RemarkAnswer | null;
}

/** Add to the record of `run`, which stands at `revision` where it is kept: how far it came (`status`), and what was
 *  measured, corrected and made on one of its pieces. `copies`: of these of the runs alike (none: the status or note of
 *  all of them; what was made and measured on a piece is of one, `steps` that are done may be of several). Lengths
 *  without a unit are as the run's tape shows them. `plan`:
 *  the digest on the card that the piece was bent from; '' for the present plan's. `anew`: the bends made, now or on
 *  record, are not as planned, and new marks for the rest are worked out and kept with them; `in_hand`: how long the
 *  conduit is ('' and from where: as for `remark`). `steps`: what new marks want done before the bends, and
 *  steps of the plan, that are done. `by_card`: the bends were made by the marks of the plan, whatever new marks were
 *  kept; else they were made by the marks that hold. */
export interface JobRecordRequest {
  job: Job;
  run: string;
  revision?: number;
  piece?: number;
  copies?: number[];
  status?: "bent" | "in" | "measured" | "planned" | "wired" | null;
  measured?: (OffReading | RiseReading | LeanReading | AngleReading)[];
  corrected?: CorrectionMade[];
  made?: MadeReading[];
  steps?: StepSaid[];
  anew?: boolean;
  in_hand?: string;
  by_card?: boolean;
  note?: string;
  plan?: string;
}

/** One run of the job. `key` is its label for people ('PH-07'); where two runs of a job bear the same, that is a
 *  finding, and their ids tell them apart. `area` is the name of an Area or ''. `times`: so many alike are made, each
 *  a copy with a number of its own (from 1). `tool`: what it is bent on; None: what its survey says, else the trade's
 *  shoe. `wire_slack` is added to the wires' length at each end. */
export interface JobRun {
  id?: string;
  key: string;
  survey: WrittenSurvey;
  area?: string;
  times?: number;
  tool?: ToolPin | null;
  wires?: Wire[];
  wire_slack?: string | number | null;
  items?: Item[];
  note?: string;
}

/** The entries in the order of the job. */
export interface JobSaidAnswer {
  findings: Finding[];
  not_included: string[];
  cautions: string[];
  said: SaidEntry[];
}

/** The entries of the job, in words. `pieces`: of how many pieces a run is, by its id, where that is known. */
export interface JobSaidRequest {
  job: Job;
  pieces?: Record<string, number>;
}

/** The same three as they stand with it. `was`, `now`: what stood and stands under the name that was set, in words;
 *  '' for nothing. Its findings: sticks that have two prices then. */
export interface JobSettingsAnswer {
  findings: Finding[];
  not_included: string[];
  cautions: string[];
  head: JobHead;
  prices: Prices;
  people: Person[];
  was: string;
  now: string;
}

/** What stands: the job's head, the prices that count for it, the people of its shop; and one change of it. */
export interface JobSettingsRequest {
  head: JobHead;
  prices?: Prices;
  people?: Person[];
  change?: SetPrice | DropPrice | SetMoney | SetStock | DropStock | SetCutting | SetWire | SetItem | DropItem | SetPerson | DropPerson | null;
}

/** One joint of the run. `at_mm`: a coupling's middle along the run, or the end of the conduit. `before`, `after`:
 *  the pieces (from 1) that it joins, seen from end A; null where a box or other equipment stands. `kind`: the
 *  fitting ('set-screw coupling'). `how` it is made: 'slides' (pushed in to its stop, or through a hole where locknuts
 *  hold it), 'threads' (a taper thread: turned in until wrench tight, there is no stop), 'cemented' (primed, cemented,
 *  pushed to the stop with a quarter turn; then it never moves again), 'union' (three parts, closes between ends that
 *  cannot move), 'expands' (cemented on both sides, its piston slides: closes as a union does). `last`: it is made last
 *  of all; one joint of a run that can be put up is. `piston`: how an expansion fitting is set, null for all others. */
export interface Joint {
  at_mm: number;
  before: number | null;
  after: number | null;
  kind: string;
  how: "cemented" | "expands" | "slides" | "threads" | "union";
  last: boolean;
  piston: PistonSetting | null;
}

/** one bend that lifts the end of the conduit */
export interface KickAsked {
  name: "kick";
  rise: string;
  travel?: string;
  angle?: string;
  beside_90?: boolean;
}

/** What goes to one room. `alike`: so many are made of it, one a room; `runs`: those it is for, none for what
 *  belongs to the job itself. */
export interface Kit {
  area: string;
  alike: number;
  runs: string[];
  pieces: KitPiece[];
  lines: KitLine[];
}

/** So much of one item of the bill. */
export interface KitLine {
  group: "box" | "bushing" | "conduit" | "connector" | "coupling" | "other" | "strap" | "wire";
  item: string;
  quantity: string;
  unit: "each" | "fl oz" | "ft" | "m" | "mL";
}

/** One piece of conduit, as it is cut; `card`: its length as its card has it, where that reads otherwise. `waits`:
 *  it is not to be cut yet; `there`: of which copies of its run it is cut already, as it is here; `other`: of which by
 *  another plan than the run's present one, so that their length is not this one. */
export interface KitPiece {
  raceway: string;
  label: string;
  length_mm: number;
  card: string;
  waits: boolean;
  there: number[];
  other: OtherPlan[];
}

/** The last leg leans that way by so many degrees more than it should. */
export interface LeanReading {
  what: "lean";
  way: "down" | "left" | "right" | "up";
  lean_deg: number;
}

/** The same of how a bend's plane leans: what may be off is no less than a hand holds by eye. */
export interface LeanRule {
  within_deg?: number;
  step_deg?: number;
  points?: number;
  most?: number;
}

/** The last leg leans that way by so much more than it should. */
export interface LegLean {
  type: "lean";
  way: "forward" | "left" | "up";
  lean_rad: number;
}

/** A length: exact mm, and as the tape shows it ('31 5/16'). */
export interface Length {
  mm: number;
  tape: string;
}

/** A length may be off by `within`; each further `step`, begun ones too, takes `points`, `most` at most. */
export interface LengthRule {
  within?: string;
  step?: string;
  points?: number;
  most?: number;
}

/** A kind of practice problem (a name for `kinds`), its title, and what to know before it. */
export interface Lesson {
  kind: string;
  title: string;
  before: string;
}

/** A line to draw on the straight conduit: what stands in its badge (a mark's number, a cut end's letter), the tape
 *  reading from end A (from cut line A where end A is cut later), and what it is for: 'arrow', 'bend begins', 'cut
 *  line'. `hook` is where the hook points there: 'hook toward A', '' without a shoe. */
export interface LineAtBench {
  name: string;
  at: Length;
  is_cut: boolean;
  what: string;
  hook: string;
}

/** A change: what, by whom and when. `differs`: where records differ from what they said before, a field each
 *  ("wire slack: '18 in', was '12 in'"). `mine`: by who asks. `before`: what taking it back brings back; empty where
 *  something was changed since, where it is the job's beginning, or where it is too much to be told. */
export interface Logged {
  number: number;
  at: string;
  by: string;
  what: string;
  differs: string[];
  undone: boolean;
  mine: boolean;
  before: Before[];
}

/** Bends of a piece that were made at the bench, in the order in which they were made, and `steps` of it that are no
 *  bends, on the wall too. `anew`: they were not as planned, and the rest is bent by these marks: `bends` are all that
 *  are made, as they were measured, `steps` those that were done for new marks before. */
export interface Made {
  kind: "made";
  bends: BendMade[];
  anew?: Anew | null;
  steps?: StepMade[];
  note?: string;
}

/** What an entry says was made of a piece, with its id. */
export interface MadeEntry {
  id: string;
  what: Made;
}

/** A bend that is made already, as measured; what is left out is as planned. `mark` is where the plan's reference
 *  mark really stood, from end A; `start` where the bend begins, instead of the mark; `roll_off_deg` how far its plane
 *  is off the plan, clockwise seen from end A (a dog-leg). */
export interface MadeReading {
  number: number;
  mark?: string;
  start?: string;
  angle_deg?: number | null;
  roll_off_deg?: number | null;
}

/** Where the mark of bend `number` stands from then on, from end A, and the angle that the bend gets. `hook` and
 *  `reference`: which end the hook faces, and which mark of the shoe stands there (None: as planned); `roll_rad`: the
 *  plane that it is bent in (None: not known); `how`: the bend in the words of its step ('': not known), with what the
 *  pointer shows. */
export interface MarkAnew {
  number: number;
  mark_mm: number;
  angle_rad: number;
  hook?: "A" | "B" | null;
  reference?: "arrow" | "center" | "star" | null;
  roll_rad?: number | null;
  how?: string;
}

/** One bend as the person makes it.
 *  
 *  `number` counts along the conduit from end A, `order` is the bending order, both from 1. `mark_mm` and `mark_tape`
 *  are where the `reference` mark of the shoe stands, hook toward end `hook`; `mark_rounding_mm` is tape less exact.
 *  `spin_deg` is how far the conduit turns in the bender since the bend made before (0 for the first); `line_deg` where
 *  the line drawn on it at the first bend faces (clockwise from up, seen from A); `spin_words` how to rotate it for
 *  that, `end_for_end` whether its ends are swapped first; `stance_words` says how the bender is held, `look_at` what
 *  to check once this bend is made. `pointer_deg` is what the pointer must show: `pointer_basis` says whether while
 *  bending ('under load', springback calibrated) or after letting go ('relaxed', not calibrated).
 *  `all_marks_mm`: 'A arrow', 'A center', 'A star', 'B arrow', ... -> exact mark for that hook and reference.
 *  `on_shoe`: a mark of a shoe stands on the pencil mark; else the bend begins there, seen from end `hook`. */
export interface MarkedBend {
  number: number;
  order: number;
  shape: string;
  role: string;
  arc_start_mm: number;
  arc_end_mm: number;
  angle_deg: number;
  roll_deg: number;
  hook: "A" | "B";
  reference: "arrow" | "center" | "star";
  mark_mm: number;
  mark_tape: string;
  mark_rounding_mm: number;
  pointer_deg: number;
  pointer_basis: "relaxed" | "under load";
  spin_deg: number;
  spin_words: string;
  stance: "floor" | "upside down";
  stance_words: string;
  end_for_end: boolean;
  look_at: string;
  all_marks_mm: Record<string, number>;
  on_shoe: boolean;
  line_deg: number;
}

/** One finished piece and what was measured on it, as written, or (`kept`) as a job keeps it. `name` is the run's
 *  and the piece's unless told. `marks`: the digest of the plan that it was bent by; where that is not its plan now,
 *  the piece is left out, and told. So is one of which the rest was bent by new marks in place of the plan's
 *  (`anew`), and a reading that is kept and that the piece cannot show (`diagnose.left_out`). */
export interface MeasuredPiece {
  survey?: WrittenSurvey | null;
  head?: JobHead | null;
  plan?: Record<string, unknown> | null;
  bender?: BenderRecord | null;
  bender_name?: string;
  fraction?: 1 | 2 | 4 | 8 | 16 | 32 | null;
  piece?: number;
  measured?: (OffReading | RiseReading | LeanReading | AngleReading)[];
  kept?: (OffAt | ApexRise | LegLean | BendAngle)[];
  marks?: string;
  anew?: boolean;
  name?: string;
}

/** One file whole. `run`: the run that a DXF file holds, '' for one of the whole job; `name` without an ending. */
export interface ModelFile {
  kind: "dxf" | "gltf" | "ifc";
  run: string;
  name: string;
  data: string;
}

/** How many further wires go in beside what is there, and what binds. */
export interface MoreFit {
  more: number;
  wire: string;
  fill_with_more: Fill | null;
  note: string;
}

/** One move of putting the run up, with one piece (from 1). `act`: 'place': hold it where it goes, nothing is joined
 *  yet. 'push', 'turn', 'cement': bring it into `joints`, moving it by `by_mm`. 'through': the end at the joint goes
 *  through its hole `by_mm` deep first, farther than it stays. 'slide back': the fitting of the joint goes back by
 *  `by_mm` so that the piece has room. 'close': the joint is made, both its sides stand. `joints`: their places in the
 *  plan's `joints`, from 1; two where one push serves both ends (`by_mm` is then the deeper of the two), or where the
 *  second end comes back out of the hole that it went through first. `past_mm`: how far the piece's other end then
 *  stands past the end that it will face, so that it has to go in beside it. */
export interface Move {
  piece: number;
  act: "cement" | "close" | "place" | "push" | "slide back" | "through" | "turn";
  joints: number[];
  by_mm: number;
  past_mm: number;
}

/** One correction as made: bend `number` (from 1) by so many radians (negative: opened, or rolled left-handed). */
export interface MoveMade {
  number: number;
  kind?: "angle" | "roll" | "spin";
  by_rad: number;
}

/** One bend still to be made, with the plan's hook and reference mark unless another order asks for others. `mark`
 *  is where that mark goes now (its tape reading less the exact place is `mark_rounding_mm`), `was` where its line was
 *  drawn before: by the new marks that held, or else the plan's; `on_conduit` False: it falls off what there is.
 *  `order` counts all bends of the piece. `pointer_deg` follows the plan's own springback as far as two of its bends
 *  show it. `spin_deg` is how far it turns in the bender since the bend made before (positive clockwise, seen from A),
 *  `line_deg` where the line drawn at the first bend faces then (from up), `spin_words` how to rotate it for that, and
 *  where its ends are swapped; `further_deg`: the bend is made, and bent so much further (0: it is not made yet).
 *  `on_shoe` False: no shoe makes it, and hook and reference mark say nothing. In words: `name` ('2nd bend, mark 3',
 *  'again, mark 3'), `placed` ('arrow, hook toward A'; 'bend begins'), `bend_to` ('bend to 22 1/2°, read after letting
 *  go'). `stance`, in words `stance_words`, is how the bender is held (null, '': not known). `look_at`: what to do
 *  where the hook is on conduit too short to hold, and what to look at first; what a plan checks after a bend is of the
 *  shape that was planned. */
export interface NewMark {
  number: number;
  name: string;
  order: number;
  mark: Length;
  mark_rounding_mm: number;
  was: Length;
  on_conduit: boolean;
  hook: "A" | "B";
  reference: "arrow" | "center" | "star";
  on_shoe: boolean;
  placed: string;
  angle_deg: number;
  further_deg: number;
  roll_deg: number;
  pointer_deg: number;
  pointer_basis: "relaxed" | "under load";
  bend_to: string;
  spin_deg: number;
  spin_words: string;
  line_deg: number;
  stance: "floor" | "upside down" | null;
  stance_words: string;
  look_at: string;
}

/** A titled block of the card. */
export interface NoteBlock {
  title: string;
  lines: string[];
}

/** Words about the run or the piece. */
export interface Noted {
  kind: "note";
  note: string;
}

/** An obstacle in room coordinates with the least clearance that the plan leaves to the conduit's surface. */
export interface ObstacleView {
  name: string;
  solid: Box | Cylinder | HalfSpace;
  wanted_mm: number;
  clearance_mm: number;
  at: [number, number, number];
  nearest: [number, number, number];
}

/** The conduit at a material station from end A is off by so much that way (negative: down, right, back).
 *  Daylight under a leg is an OffAt 'up'. `station_mm` None is end B. */
export interface OffAt {
  type: "off";
  way: "forward" | "left" | "up";
  off_mm: number;
  station_mm: number | null;
}

/** The piece is off by so much that way at `station` along it from end A ('' = at end B): long and short are along
 *  the first leg, beyond end B and back from it. Daylight under the conduit is off 'up' at its station. */
export interface OffReading {
  what: "off";
  way: "down" | "left" | "long" | "right" | "short" | "up";
  off: string;
  station?: string;
}

/** A record as it was written elsewhere, from revision `base` (0: new) whose digest was `base_digest`: a file that
 *  was brought back from a backup may hold another revision of that number. `data` None: removed. */
export interface Offered {
  kind: string;
  id: string;
  base: number;
  base_digest: string;
  data: unknown;
  format: number;
}

/** over to a parallel line */
export interface OffsetAsked {
  name: "offset";
  rise: string;
  at?: string;
  room?: string;
  angle?: string;
}

/** A bend made too large that is opened before the rest is bent: by how much, and what it then has. Its tangent
 *  point on the side of its hook stays. In words: `to_do` ('open mark 3 by 4°'), `leaves` ('leaves 90°'). */
export interface Opened {
  number: number;
  by_deg: number;
  angle_deg: number;
  to_do: string;
  leaves: string;
}

/** One angle, with as many bends as the run takes there; `becomes`: what that is, where it is not what is planned
 *  ('four bends, not three'; '' = as many). */
export interface OtherAngle {
  angle_deg: number;
  angle: string;
  possible: boolean;
  reason: string;
  limit: "" | "rise" | "room" | "straight";
  limit_at: Length | null;
  total_deg: number;
  straight: Length | null;
  spacing: Length | null;
  shrink: Length | null;
  room: Length | null;
  developed: Length | null;
  bends: number;
  becomes: string;
}

/** A planned offset or saddle at the usual angles. `label` is its name, `field` where the survey has it; `planned`
 *  is the row that the plan takes (null: another angle). */
export interface OtherAngles {
  label: string;
  field: string;
  rows: OtherAngle[];
  planned: number | null;
}

/** A plan that is not its run's present one, and the copies that a piece was made by it of. */
export interface OtherPlan {
  plan: string;
  copies: number[];
}

/** What lies behind all of these planes at once: walls that meet at outside corners, each of which ends there. */
export interface OutsideCorner {
  solid: "outside_corner";
  faces: HalfSpace[];
}

/** A run as the page keeps it: its readings as text, and how far its conduit is. */
export interface PageRun {
  survey: WrittenSurvey;
  status: "bent" | "in" | "measured" | "planned" | "wired";
}

/** the same kick through a rack */
export interface ParallelKick {
  name: "parallel-kick";
  count?: number;
  sizes?: string;
  spacing?: string;
  gap?: string;
  rise: string;
  angle?: string;
}

/** the same offset through a rack */
export interface ParallelOffset {
  name: "parallel-offset";
  count?: number;
  sizes?: string;
  spacing?: string;
  gap?: string;
  rise: string;
  angle?: string;
}

/** A piece's axis in room coordinates (mm; x along the first leg, z away from its surface) as points close enough
 *  for drawing; `bend_middles` are the middles of the bends in the order of the numbers. */
export interface Path3D {
  label: string;
  radius_mm: number;
  points: [number, number, number][];
  bend_middles: [number, number, number][];
}

/** How well one person's hands work: standard deviations. Lengths as written, plain numbers in `units`; angles in
 *  degrees. */
export interface Person {
  id?: string;
  name: string;
  units?: "in" | "mm";
  mark?: string | number;
  angle_deg?: number;
  roll_deg?: number;
  cut?: string | number;
}

/** A piece in words. `take`: 'CUT', 'TAKE' (a whole stick), 'STOCK, at least' (it is cut after bending), with the
 *  `length` that goes with it and `more` about it. `stop`, `stop_why`: where it is not to be cut or bent as it is, what
 *  is not to be done and why ('' twice: go on). `tape_from`: where the tape is hooked; end A lies `zero_mm` from the
 *  end of the conduit taken. `lines` in the order from end A, `bends` as the plan has them, `straps` from end A. */
export interface PieceAtBench {
  take: string;
  length: Length;
  more: string;
  stop: string;
  stop_why: string;
  tape_from: string;
  zero_mm: number;
  lines: LineAtBench[];
  bends: BendAtBench[];
  straps: Length[];
}

/** What is asked of a piece at the tool; `fit` None: nothing is bent, or nobody knows how. `ways`: the planned one
 *  first. No `limits`: no order is known, or of the tool nothing but its radius. */
export interface PieceAtTool {
  fit: WillFit | null;
  ways: WayToBend[];
  limits: ToolLimit[];
}

/** What stands at an end ('' = it stays open, at the place `open_at` where that has a name) and how far the conduit
 *  goes in past its face. `thread`: what its thread is, contained in the cut length: 'own' the stick's, 'cut' by hand,
 *  '' it has none to be joined by. */
export interface PieceEnd {
  fitting: string;
  open_at: string;
  insertion_mm: number;
  thread: "" | "cut" | "own";
  told: string;
}

/** One piece, of runs alike of one `copy`: `label` is what is written on it ('RM-1-2#14'), `goes` where its run
 *  goes. `length`: what it is cut to; `ends_later`: the ends that are cut off after bending. `plan`: the plan's digest,
 *  by which a label is told from a newer plan. */
export interface PieceLabel {
  label: string;
  run: string;
  goes: string;
  area: string;
  piece: number;
  pieces: number;
  copy: number;
  copies: number;
  raceway: string;
  length: string;
  ends_later: string;
  plan: string;
}

/** Where end A lies in the room (x along the first leg, z away from its surface), which way the conduit leaves it,
 *  and which way a bend at roll 0 turns. */
export interface PieceStart {
  point_mm: [number, number, number];
  axis: [number, number, number];
  normal: [number, number, number];
}

/** One piece in figures: its finished length, the stick it needs at least, and of its bends, from end A, the
 *  angles, where their marks stand, their planes, and how far end B moves for each radian by which the angle of each
 *  alone is off (`reaches_mm`), and its plane alone (`swings_mm`). */
export interface PieceSummary {
  cut_length_mm: number;
  least_stock_mm: number;
  angles_deg: number[];
  marks_mm: number[];
  rolls_deg: number[];
  reaches_mm: number[];
  swings_mm: number[];
}

/** What an entry was made with: the run's revision (0: not known), the tool's name, the program's version, and the
 *  digest of the plan whose marks were used (see `plan/digest.py`); '' where there was no plan, or it is not known. */
export interface Pins {
  run?: number;
  tool?: string;
  engine?: string;
  marks?: string;
}

/** How far to leave the piston out of its seat (mm) with the conduit at `day_c` (degrees Celsius; said in the scale
 *  `day_in`), of its whole travel; any setting from `least_mm` to `most_mm` still has room for the hottest and the
 *  coldest day. All three are less by `per_kelvin_mm` for each kelvin that the conduit is warmer. `takes_mm`: what it
 *  takes up over the year, of the conduit between the places that hold it fast on both its sides. `barrel`: toward
 *  which end of the run the barrel lies; on a riser the upper one, so that rain does not run in. */
export interface PistonSetting {
  travel_mm: number;
  takes_mm: number;
  open_mm: number;
  least_mm: number;
  most_mm: number;
  day_c: number;
  day_in: "C" | "F";
  per_kelvin_mm: number;
  barrel: "A" | "B";
}

/** A table as text: its name, the head of each column, the rows. */
export interface PlainTable {
  name: string;
  header: string[];
  rows: string[][];
}

/** A planned run. `corners_mm` are the corner points of the wanted centerline in room coordinates. `bender` None:
 *  nothing is bent, and no shoe is known. `joints`: in order from end A; `assembly`: how the run is put up (None: a
 *  plan of marks alone, or one written before it stood in it). `surfaces`: what carries the legs; none in a plan that
 *  was written before they stood in it. `along`: where couplings and straps go, and the pulls, in lines. `hand`: how
 *  well whoever bends it marks, bends and cuts. `digest`: six signs of what is cut, bent and put up, whatever the
 *  run, its ends and its tool are called, and whatever stick it is cut from: a sheet that bears others is of another
 *  plan, but for one that bears `digest_before`: the signs that this plan had while these still were in them. */
export interface Plan {
  format: "racewright plan 2";
  digest: string;
  digest_before: string;
  name: string;
  raceway: string;
  tape: TapeStyle;
  pieces: PlannedPiece[];
  bender: Shoe | null;
  corners_mm: [number, number, number][];
  developed_length_mm: number;
  total_bend_deg: number;
  obstacles: ObstacleView[];
  dimensions: Dimension[];
  shapes: PlannedShape[];
  rules_of_thumb: ThumbComparison[];
  notes: NoteBlock[];
  along: string[];
  joints: Joint[];
  assembly: Assembly | null;
  checks: PlanChecks | null;
  steps: Step[];
  cautions: string[];
  measured: string[];
  findings: Finding[];
  not_included: string[];
  surfaces: SurfaceView[];
  hand: Accuracy;
}

/** The plan; the side view of each piece, pages of the card and of the 1:1 strip (SVG) and the card as text, where
 *  asked for; the axes and the expansion fittings for a 3D view; and the worst of the findings ('' = none).
 *  `step_cautions`: what each of the plan's steps asks to take care of, and who decides; `bench`: its pieces in the
 *  words of the card; `at_tool`: of each piece, how likely it fits, the ways to bend it and the tool's limits;
 *  `bender_words`: which shoe's figures the marks are for, `tool` the same in a line; `clearances`: of the plan's
 *  obstacles; `angles`: its offsets and saddles at the usual angles; `take_up` and `gain` of the shoe (null: nothing
 *  is bent). */
export interface PlanAnswer {
  findings: Finding[];
  not_included: string[];
  cautions: string[];
  plan: Plan;
  step_cautions: string[][];
  bench: PieceAtBench[];
  at_tool: PieceAtTool[];
  bender_words: string;
  tool: string;
  clearances: Clearance[];
  angles: OtherAngles[];
  take_up: Length | null;
  gain: Length | null;
  side: SidePicture[];
  card: string[];
  strip: string[];
  text: string;
  paths: Path3D[];
  fittings: FittingBody[];
  worst: "" | "caution" | "info" | "problem";
}

/** Where straps go along the run, and the pulls. Of the straps `guides_mm` only guide: the conduit of a straight
 *  with expansion fittings slides in them. `fast_mm` are the tight ones of such a straight, each of which alone holds
 *  its part of the run fast. All others are tight. `path`: the run in the words of a pull, `length`: in
 *  those of a circuit ('' twice in a plan that was written before they stood in it). */
export interface PlanChecks {
  straps_mm: number[];
  pulls: PlannedPull[];
  guides_mm: number[];
  fast_mm: number[];
  path: string;
  length: string;
}

/** Plan a run. `pictures` are drawn along, 'text' is the card for a terminal; the side view takes the size given
 *  (mm of paper). */
export interface PlanRequest {
  survey: WrittenSurvey;
  head?: JobHead | null;
  bender?: BenderRecord | null;
  bender_name?: string;
  fraction?: 1 | 2 | 4 | 8 | 16 | 32 | null;
  pictures?: ("card" | "side" | "strip" | "text")[];
  paper?: "a4" | "letter" | null;
  side_width_mm?: number;
  side_height_mm?: number;
}

/** One piece of conduit with its bends in material order. `label` is 'piece 1'. With `trim_after` the piece is cut
 *  after bending: `trim_marks` are where to cut, counted from the stock's end, and `least_stock_mm` the stock that will
 *  do (`extra_*_mm` more than the cut length at that end). `ways`: the best way first, then others with their reasons;
 *  `order_proved`: the first is proved to cost least. `run_start_mm` says where the piece begins in the whole run,
 *  `stock_mm` which stick or offcut it is cut from (0: none is long enough), `offcut` which of its survey's offcuts
 *  that is (from 1; 0: a new stick). `forecast` says how likely it fits. */
export interface PlannedPiece {
  label: string;
  cut_length_mm: number;
  cut_length_tape: string;
  outside_diameter_mm: number;
  bend_radius_mm: number;
  least_stock_mm: number;
  extra_a_mm: number;
  extra_b_mm: number;
  run_start_mm: number;
  stock_mm: number;
  forecast: Forecast | null;
  ways: WayView[];
  order_proved: boolean;
  trim_after: boolean;
  trim_marks: TapeReading[];
  end_a: PieceEnd;
  end_b: PieceEnd;
  start: PieceStart;
  bends: MarkedBend[];
  offcut: number;
}

/** One wire pull: between which stations of the run, from which end to feed, and the tension (N). */
export interface PlannedPull {
  from_mm: number;
  to_mm: number;
  feed_from: "" | "A" | "B";
  tension_n: number;
}

/** A shape of the run. `label` is what its bends call it, `field` where the survey has it; `rise_mm` how far it
 *  leads aside, `flat_mm` the flat top of a saddle of four bends, `angle_deg` the angle of its first bend; `first` and
 *  `count`: which bends of the run it made, from 0; `crossing`: what a saddle goes over, where it was measured. */
export interface PlannedShape {
  kind: "box offset" | "kick" | "offset" | "rolling offset" | "saddle 3" | "saddle 4" | "turn";
  label: string;
  field: string;
  rise_mm: number;
  flat_mm: number;
  angle_deg: number;
  first: number;
  count: number;
  crossing: Crossing | null;
}

/** A sheet of problems. The same seed, count, kinds, raceway and units give the same sheet. */
export interface PracticeRequest {
  seed?: number;
  count?: number;
  kinds?: string[];
  raceway?: string;
  units?: "in" | "mm";
  fraction?: 1 | 2 | 4 | 8 | 16 | 32 | null;
}

/** One thing asked: its name, the answer as text, and the exact figure in `unit` (mm or deg). `within` is how far
 *  an answer may be off and still count as right, in the same unit. */
export interface PracticeResult {
  name: string;
  text: string;
  value: number;
  unit: "deg" | "mm";
  within: number;
}

/** A sheet with its key. `note` says which shoe and radius the answers are for. */
export interface PracticeSheet {
  findings: Finding[];
  not_included: string[];
  cautions: string[];
  seed: number;
  raceway: string;
  note: string;
  problems: Problem[];
}

/** The user's own figures for one item of the bill: `price` for one `per`, `labour_h` hours for one `per`. */
export interface Price {
  item: string;
  per?: "100" | "100 ft" | "100 m" | "1000 ft" | "each" | "ft" | "m";
  price?: string | number | null;
  labour_h?: string | number | null;
}

/** What things cost. `labour_rate` is money for one hour. */
export interface Prices {
  currency?: string;
  items?: Price[];
  labour_rate?: string | number | null;
}

/** One problem: what was measured, what is asked, the answers, and the way to them line by line. `picture` shows
 *  what was measured, `answer_picture` the bent conduit (SVG documents). `survey` is the run as a survey file where
 *  the problem is a whole run, else null. */
export interface Problem {
  number: number;
  kind: string;
  title: string;
  given: string[];
  asked: string[];
  results: PracticeResult[];
  worked: string[];
  picture: string;
  answer_picture: string;
  survey: WrittenSurvey | null;
}

/** Ratings in A. `largest_a` where the next standard rating up may be taken, `receptacles_a` where it may not
 *  (several receptacles for portable loads, taps, transformer secondaries); None where no standard device fits.
 *  `above_receptacles`: that device is larger than any branch circuit with several receptacles has. */
export interface Protection {
  largest_a: number;
  receptacles_a: number | null;
  above_receptacles: boolean;
  steps: RuleStep[];
}

/** One way round: wires fed in at end `feed`, pulled out at the other. */
export interface Pull {
  feed: "A" | "B";
  steps: PullStep[];
  tension_n: number;
  greatest_tension_n: number;
  sidewall_n_per_mm: number;
  use: number;
}

/** Every section between pull points, fed at either end (N, mm, N/mm). `unit`: which the words speak in, as the path
 *  is written. `greatest_friction`: up to which it stays within its limits, fed at the better end; `bears`: that in
 *  words. `from_memory`: which figures were not read in print. `facts`: what is pulled and its limits in words; `told`:
 *  `pulls` as they are shown. */
export interface PullAnswer {
  findings: Finding[];
  not_included: string[];
  cautions: string[];
  raceway: string;
  wires: string[];
  metal: "aluminum" | "copper";
  unit: "in" | "mm";
  settings: PullSettings;
  pulls: PullComparison[];
  greatest_friction: number;
  bears: string;
  facts: string[];
  told: PullTold[];
  edition: string;
  from_memory: string[];
}

/** Least inside width (left to right) and height (top to bottom) in mm, 0 where no rule sets one; spacings.
 *  
 *  `binding` says whether the conductors are thick enough for the rule to hold at all. */
export interface PullBox {
  width_mm: number;
  height_mm: number;
  spacings: Spacing[];
  binding: boolean;
  steps: RuleStep[];
  findings: Finding[];
}

/** One section between pull points, pulled both ways. `better` is the end to feed from, or '' where the two
 *  differ by less than 1 %. */
export interface PullComparison {
  start_mm: number;
  end_mm: number;
  wires: Pulled;
  fed_at_a: Pull;
  fed_at_b: Pull;
  better: "" | "A" | "B";
}

/** `wires` as '3 x 4/0 XHHW', pulled through `raceway` of trade size `size` along `path`, told from end A: 'straight
 *  200, bend 90 r 24, straight 30 up' (feet; radii in inches). `sidewall_limit_lb_per_ft`: the wire maker's (300 where
 *  not given); `feed_tension_lb`: drag of the reel; `grip`: one basket grip instead of a pulling eye; `capstan`: leave
 *  the weight out of the bends. */
export interface PullRequest {
  edition?: string;
  raceway: string;
  size: string;
  wires: string[];
  path: string;
  friction?: number;
  metal?: string;
  sidewall_limit_lb_per_ft?: number | null;
  feed_tension_lb?: number;
  grip?: boolean;
  capstan?: boolean;
}

/** How the pull is reckoned. `friction` 0.5: dry, the usual figure of ICEA-based guides; a lubricant's maker gives
 *  less. `sidewall_limit_n_per_mm` None: 300 lb/ft (ICEA-based guides; many wires are allowed more by their maker).
 *  `feed_tension_n`: drag of the reel. `weight_in_bends` False: the plain capstan rule in bends. */
export interface PullSettings {
  friction: number;
  sidewall_limit_n_per_mm: number | null;
  feed_tension_n: number;
  basket_grip: boolean;
  weight_in_bends: boolean;
}

/** One straight or bend in the direction of the pull. `slope_deg` at its entry, positive uphill. `slack`: the
 *  tension would fall below zero here and the reel must be held back. */
export interface PullStep {
  kind: "bend" | "straight";
  start_mm: number;
  end_mm: number;
  length_mm: number;
  angle_deg: number;
  radius_mm: number;
  slope_deg: number;
  tension_in_n: number;
  tension_out_n: number;
  sidewall_n_per_mm: number;
  slack: boolean;
}

/** One pull in words: `title` ('' where there is only one), and part by part, fed at A and fed at B. */
export interface PullTold {
  title: string;
  ways: [Table, Table];
}

/** All wires of one pull: total weight, the bundle they form in this bore, its weight correction factor, the
 *  greatest tension in N and why, D/d for three equal wires (None otherwise), and which figures are from memory. */
export interface Pulled {
  count: number;
  weight_n_per_mm: number;
  bundle: "complex" | "cradled" | "diamond" | "pair" | "single" | "triangular";
  correction: number;
  limit_n: number;
  limit_reason: string;
  jam_ratio: number | null;
  from_memory: string[];
}

/** The cut list of one raceway. `waiting`: the sticks that are kept whole for pieces that are not cut yet. */
export interface RacewayCuts {
  raceway: string;
  plan: CutPlan;
  waiting: CutPlan | null;
}

/** A raceway in a trade size; `name` ('EMT 1/2') is what a survey's `raceway` takes. `bender` is the name of the
 *  trade's shoe for it or ''. */
export interface RacewayData {
  name: string;
  type: string;
  trade_size: string;
  outside_diameter_mm: number;
  inside_diameter_mm: number;
  least_radius_mm: number | null;
  stock_length_mm: number;
  bender: string;
  source: string;
  standing: string;
}

/** A job file's job, as it is kept now; of all else the runs, checked. */
export interface ReadJobAnswer {
  findings: Finding[];
  not_included: string[];
  cautions: string[];
  runs: PageRun[];
  job: Job | null;
}

/** A job file as decoded JSON, one that the page gave out before (`{"format": "racewright job 1", "runs": [...]}`),
 *  or one survey. */
export interface ReadJobRequest {
  job: Record<string, unknown>;
}

/** What was measured on a finished piece: see `fit/measured.py`. */
export interface Readings {
  kind: "readings";
  measured: (OffAt | ApexRise | LegLean | BendAngle)[];
  note?: string;
}

/** The shape of every refusal: {"error": {...}}. */
export interface Refused {
  error: Trouble;
}

/** `run` and `piece` name what is bent; `made` are the bends that are; `unit` is the tape's. `scrap`: the piece does
 *  not serve, however it is finished: its finding `replan.scrap` says why and what can be saved, `notes` what to do
 *  instead, `gap` is the least that was found, `cut` a new piece's length, and the rest is empty. `met`: the end meets
 *  its fitting (or, where it stays open, comes to its place) within the tolerance; a piece that serves may be off by so
 *  much that it is corrected when finished, or sprung in. `opened` and `twisted` are done first, `marks` are in the
 *  order of bending, `left_out` those at which no bend is made. `words` say what changes, `notes` what to do with it.
 *  Findings: what of the end is not met, what the conduit then hits or passes too close, what cannot be made by hand,
 *  and what stands against the run as planned. `other_order`: the bends left are made in another order than the plan's.
 *  `trim_a_mm`: so much more comes off at end A, and all counts from there (negative: so much less than planned),
 *  `turned_deg`: so much the whole piece is turned in its fitting at end A against what was measured (positive
 *  clockwise, seen from A). `room`: what the piece leaves, with the marks as the tape shows them, to each obstacle and
 *  each surface of the plan, by name. `keep`: what is kept with the run for these marks to hold from then on (None:
 *  nothing is left to mark, or the mark of a made bend would stand before end A). `anew`: the piece as it is bent with
 *  these marks, in the form of a planned one (null: scrap), `bench` its bends in words; `bent_on` the made bends
 *  that are bent further before the rest: like those of `opened` each is a step of its own, and comes first. `first`:
 *  the steps that come before any of them; `before`: what is drawn once these are done, in words; nothing once a bend
 *  is made; `ends`: what is done to its ends after the last bend, `turn`: how the piece is turned when it goes in, in
 *  words. `done`: of the marks that were kept last and are asked for again, those that are bent, bent further or opened
 *  since. */
export interface RemarkAnswer {
  findings: Finding[];
  not_included: string[];
  cautions: string[];
  run: string;
  piece: string;
  made: number[];
  unit: "in" | "mm";
  scrap: boolean;
  met: boolean;
  opened: Opened[];
  twisted: Twisted[];
  marks: NewMark[];
  left_out: number[];
  cut: Length;
  was_cut: Length;
  gap: Gap;
  trim_a_mm: number;
  turned_deg: number;
  words: string[];
  notes: string[];
  other_order: boolean;
  room: RoomLeft[];
  keep: Made | null;
  anew: PlannedPiece | null;
  bench: BendAtBench[];
  bent_on: BentOn[];
  first: FirstStep[];
  before: string[];
  ends: string[];
  turn: string[];
  done: number[];
}

/** Some bends are made and not as planned: new marks for the rest. `cut_free`: the length can still be cut;
 *  `stock`: how long the conduit in hand is, from end A as it is now, or from cut line A where that is cut last ('' =
 *  the plan's cut length, or the least stick that the plan asks for where it cuts after bending). `record`: what is
 *  recorded as made of the piece by its plan, oldest first: that is made too, and what is left out of `made` is as
 *  recorded. Without `made` the new marks that were kept last are asked for again; they are refused where they come out
 *  otherwise than they were kept, and where bends were made by other marks, which they do not reckon with. */
export interface RemarkRequest {
  survey?: WrittenSurvey | null;
  head?: JobHead | null;
  plan?: Record<string, unknown> | null;
  bender?: BenderRecord | null;
  bender_name?: string;
  fraction?: 1 | 2 | 4 | 8 | 16 | 32 | null;
  piece?: number;
  made?: MadeReading[];
  record?: MadeEntry[];
  cut_free?: boolean;
  stock?: string;
}

/** Measured minus fitted: `bend` counts from 1, `what` is 'stub' or 'leg'. */
export interface Residual {
  bend: number;
  what: string;
  off_mm: number;
}

/** The rise measured under the middle of bend `number` (None: the piece's one saddle center, or its only bend),
 *  from the surface the first leg lies on to the conduit's underside. */
export interface RiseReading {
  what: "rise";
  rise: string;
  number?: number | null;
}

/** up and aside at once */
export interface RollingOffset {
  name: "rolling-offset";
  rise: string;
  shift: string;
  at?: string;
  room?: string;
  angle?: string;
}

/** What the finished piece leaves to a thing or a wall: `left_mm`, and as the tape shows it. */
export interface RoomLeft {
  name: string;
  left: Length;
}

/** A pipe that crosses under the conduit, `lift_mm` between the surface and its underside. */
export interface RoundObstacle {
  crossed: "round";
  diameter_mm: number;
  lift_mm: number;
}

/** A rule of thumb beside the exact marks, and where each of the two lands. */
export interface RuleBeside {
  name: string;
  how: string;
  source: string;
  marks: RuleMarkBeside[];
  rule_lands: string;
  exact_lands: string;
}

/** A mark by the rule and the exact one made the same way; `out_by` is the difference of the two readings. */
export interface RuleMarkBeside {
  label: string;
  reference: "arrow" | "center" | "star";
  hook: "A" | "B";
  rule: Length;
  exact: Length;
  out_by: Length;
}

/** One step of a calculation in words and figures, with the article and edition that it follows. `standing`: of the
 *  figures in it, where they may be from memory ('' else). */
export interface RuleStep {
  text: string;
  citation: string;
  standing: string;
}

/** One file whole. */
export interface RunFile {
  kind: "bench.pdf" | "bench.svg" | "card.pdf" | "card.svg" | "dxf" | "gltf" | "ifc" | "strip.pdf" | "strip.svg";
  data: string;
}

/** An offcut that a run's survey names: which of that run's (from 1). Of runs alike each `copy` has its own. */
export interface RunOffcut {
  run: string;
  copy: number;
  number: number;
  length_mm: number;
}

/** One run: its key (with the beginning of its id behind it where two runs share it) and its id. `status`: how far
 *  all its copies are, `statuses` each of them; `becomes`: what that of the copies that are not bent is by what is
 *  known of its plan. `readings`: how often a bent piece was measured. `length`: the finished run
 *  along its axis, as its tape shows it. `plan` None: not planned, or not known here. */
export interface RunRow {
  run: string;
  id: string;
  name: string;
  area: string;
  raceway: string;
  status: "bent" | "in" | "measured" | "planned" | "wired";
  becomes: "bent" | "in" | "measured" | "planned" | "wired";
  statuses: ("bent" | "in" | "measured" | "planned" | "wired")[];
  revision: number;
  readings: number;
  length: string;
  plan: RunSummary | null;
}

/** How the planning of one run went. `digest` stands for everything that the plan depends on. `outcome`: 'planned';
 *  'problem', planned with a finding that is a problem; else no plan, and `message` says why ('to measure': its
 *  readings are not all there, and `open` are those still to be taken, or one cannot be read; 'fault': the program's
 *  own). `marks`: the plan's own digest, as it is printed, `marks_before` the one that it had before; `tool`: what it
 *  is bent on. */
export interface RunSummary {
  key: string;
  digest: string;
  outcome: "cannot be made" | "fault" | "planned" | "problem" | "refused" | "to measure";
  message: string;
  hint: string;
  open: string[];
  marks: string;
  marks_before: string;
  tool: string;
  pieces: PieceSummary[];
  problems: number;
  cautions: number;
  developed_length_mm: number;
  total_bend_deg: number;
}

/** One entry, by its id: what it says, on its run's tape; what it was made with ('revision 2, plan 4K7WQX, ...'). */
export interface SaidEntry {
  entry: string;
  words: string;
  made_with: string;
}

/** How a teacher grades: from `full` points each error is taken off; from `passes_at` on it is passed, unless
 *  something is off by more than `gross_times` what it may be. `time` None: the time is not graded. */
export interface Scheme {
  full?: number;
  passes_at?: number;
  gross_times?: number;
  length?: LengthRule;
  rise?: LengthRule;
  angle?: AngleRule;
  lean?: LeanRule;
  dog_leg?: LengthRule;
  time?: TimeRule | null;
}

/** a 90 of a larger radius than the shoe's, in shots */
export interface Segmented {
  name: "segmented";
  radius: string;
  stub?: string;
  fit?: "circumscribed" | "inscribed";
  shots?: number;
}

/** What the saw takes, and which offcuts are kept. */
export interface SetCutting {
  set: "cutting";
  kerf?: string | null;
  keep?: string | null;
}

/** What the job needs that no plan shows; 0: none any more. */
export interface SetItem {
  set: "item";
  item: string;
  count: number;
}

/** In what money, and what an hour of work costs. */
export interface SetMoney {
  set: "money";
  currency?: string | null;
  labour_rate?: string | null;
}

/** How far one person is off, two times in three. */
export interface SetPerson {
  set: "person";
  name: string;
  units?: "in" | "mm" | null;
  mark?: string | null;
  angle_deg?: number | null;
  roll_deg?: number | null;
  cut?: string | null;
}

/** What one item of the bill costs, and how long it takes. */
export interface SetPrice {
  set: "price";
  item: string;
  price?: string | null;
  labour_h?: string | null;
  per?: "100" | "100 ft" | "100 m" | "1000 ft" | "each" | "ft" | "m" | null;
}

/** Sticks that the job's runs are cut from. */
export interface SetStock {
  set: "stock";
  raceway: string;
  length: string;
  stands?: "as needed" | "offcuts" | "on hand";
  count?: number | null;
  price?: string | null;
  note?: string | null;
}

/** What each wire of the job takes more than its run. */
export interface SetWire {
  set: "wire";
  wire_slack?: string | null;
  wire_waste?: number | null;
}

/** Everything that is said about one shape. `counted_from` says what 0 is on the marks, `measured` what the figures
 *  are measured to; `benders` has one for each size of a rack; `taught`: what that means where the figures of one are
 *  only taught ('' where none is); `pull`: what "bend to" means where a tool's springback is known ('' elsewhere). */
export interface ShapeAnswer {
  findings: Finding[];
  not_included: string[];
  cautions: string[];
  shape: string;
  title: string;
  tape: TapeStyle;
  benders: ShoeUsed[];
  taught: string;
  pull: string;
  facts: ShapeFact[];
  measured: string;
  counted_from: string;
  bends: ShapeBend[];
  cut_length: Length | null;
  rules: RuleBeside[];
  tables: Table[];
  choices: ShapeChoices | null;
  notes: string[];
}

/** One bend: where its arc lies along the conduit; any one of its marks makes it. Roll: clockwise from A to B.
 *  `called`: its role as a card says it; `angle` and `roll` as they are shown; `bend_to`: what the pointer shows while
 *  it is bent, '' where the tool's springback is not known: the angle is read after letting go then. */
export interface ShapeBend {
  role: string;
  called: string;
  angle: string;
  bend_to: string;
  roll: string;
  angle_deg: number;
  roll_deg: number;
  arc_start_mm: number;
  arc_end_mm: number;
  marks: ShapeMark[];
}

/** The same shape at other angles. */
export interface ShapeChoices {
  title: string;
  rows: ChoiceRow[];
}

/** One figure: `mm` for a length, `deg` for an angle, neither for words; `text` as it is shown, with its unit. */
export interface ShapeFact {
  label: string;
  text: string;
  mm: number | null;
  deg: number | null;
}

/** Where the pencil goes if the bend is made on this reference with the hook toward this end. */
export interface ShapeMark {
  hook: "A" | "B";
  reference: "arrow" | "center" | "star";
  at: Length;
}

/** One shape of these readings, on a bender. */
export interface ShapeRequest {
  bender?: BenderRecord | null;
  bender_name?: string;
  raceway?: string;
  size?: string;
  bend_radius?: string;
  unit?: "in" | "mm";
  shape: Stub | BackToBack | KickAsked | OffsetAsked | BoxOffset | RollingOffset | ThreeBendSaddle | FourBendSaddle | ParallelOffset | ParallelKick | Concentric | Segmented;
  fraction?: 1 | 2 | 4 | 8 | 16 | 32 | null;
  least_straight?: string;
}

/** The shoe that the marks are for: see BenderProfile. `centre_mm` is `center_mm` under its former name. */
export interface Shoe {
  name: string;
  radius_mm: number;
  arrow_lead_mm: number;
  center_mm: number;
  centre_mm: number;
  star_mm: number;
  take_up_mm: number;
  gain_mm: number;
  hook_reach_mm: number;
  grip_mm: number;
  springback_b0_rad: number | null;
  springback_b1: number | null;
  handle_length_mm: number;
  shoe_width_mm: number;
  source: string;
  standing: string;
}

/** A bender that can be named; `own` says that it is the user's or the shop's, `problem` that a check of
 *  its figures finds one; `hook_reach_in` and `grip_in` as a tape in inches shows them. */
export interface ShoeData {
  name: string;
  raceway_type: string;
  trade_size: string;
  outside_diameter_mm: number;
  radius_mm: number;
  arrow_lead_mm: number;
  centre_mm: number;
  star_mm: number;
  hook_reach_mm: number;
  grip_mm: number;
  take_up_mm: number;
  gain_mm: number;
  springback_b0_rad: number | null;
  springback_b1: number | null;
  handle_length_mm: number;
  shoe_width_mm: number;
  source: string;
  standing: string;
  raceway: string;
  own: boolean;
  hook_reach_in: string;
  grip_in: string;
  springback_known: boolean;
  problem: boolean;
}

/** A bender that the marks are for. `taught`: its figures are the trade's, not measured on it. */
export interface ShoeUsed {
  name: string;
  radius: Length;
  standing: string;
  taught: boolean;
}

/** The side view of one piece: an SVG document, a caption, and what found no room on the drawing. */
export interface SidePicture {
  svg: string;
  caption: string;
  left_over: string[];
}

/** The conduit's axis as points in the room (mm), readings not taken yet guessed; what stands beside it; the feet of
 *  its ends and turns on the surfaces that carry it; where the readings were taken; `wrong`: what was written
 *  and cannot be taken; and `open`: the fields that are still to be measured before there can be a plan. */
export interface SketchAnswer {
  findings: Finding[];
  not_included: string[];
  cautions: string[];
  points: [number, number, number][];
  outside_diameter_mm: number;
  things: SketchedThing[];
  surface: [number, number, number][];
  readings: SketchedReading[];
  wrong: Trouble[];
  open: string[];
}

/** The run as measured so far. A reading not taken yet is ''. */
export interface SketchRequest {
  survey: WrittenSurvey;
  head?: JobHead | null;
  bender?: BenderRecord | null;
  bender_name?: string;
  fraction?: 1 | 2 | 4 | 8 | 16 | 32 | null;
}

/** Between which points of the room the reading of `field` was taken. */
export interface SketchedReading {
  field: string;
  start: [number, number, number];
  end: [number, number, number];
}

/** Something beside the run; `field` is where the survey has it, `at` its middle. */
export interface SketchedThing {
  name: string;
  field: string;
  solid: Box | Cylinder | HalfSpace;
  at: [number, number, number];
}

/** Least distance (mm) between two entries that hold the same conductors. */
export interface Spacing {
  between: string;
  least_mm: number;
}

/** Pointer = A + b0 + b1 A, where neither b0 nor b1 is below 0: conduit opens, and the more the further it is bent.
 *  `alone_b0_rad`, `alone_b1`: the line by the pointers alone, whatever it is; its standard errors and covariance, its
 *  `misfit` as of a calibration, and `worst`: the bend, from 1, whose pointer is the furthest off it. `held`: by how
 *  many times what readings can be off the line that is taken is further from the pointers than that one. `terms` 1:
 *  one angle tells no b0, and it is taken as 0 (the errors and covariance are then of b1). */
export interface Springback {
  b0_rad: number;
  b1: number;
  alone_b0_rad: number;
  alone_b1: number;
  held: number;
  terms: number;
  b0_se_rad: number;
  b1_se: number;
  covariance: number[][];
  degrees_of_freedom: number;
  misfit: number | null;
  worst: number;
}

/** The run has come so far; where the entry pins marks, at least. */
export interface StatusSet {
  kind: "status";
  status: "bent" | "in" | "measured" | "planned" | "wired";
}

/** One step of the whole job at the bench and on the wall: with which piece (from 1), and which of its bends (None:
 *  with no one bend; piece None: a plan written before said nothing of it). 'stop': what must be settled before all
 *  else, and why. `move`: which move of the assembly (from 1) it is. `care`: the kinds of work in it, each of which has
 *  its own caution ('cut', 'floor', 'enclosure'). */
export interface Step {
  kind: "bend" | "check" | "cut" | "insert" | "lay-out" | "loosen" | "ream" | "stock" | "stop" | "strap" | "thread" | "trim";
  title: string;
  detail: string;
  piece: number | null;
  bend: number | null;
  move: number | null;
  care: ("bend" | "cement" | "correct" | "cut" | "drill" | "enclosure" | "floor" | "hand shoe" | "heat" | "height" | "machine" | "order" | "plan" | "pull" | "thread" | "upside down" | "wire")[];
}

/** A step of a piece that is no bend, and is done: for new marks end A was cut by so much more than planned
 *  (`trim_mm`), or bend `number` was twisted, with all that follows it (`by_rad`, positive clockwise, seen from A); or
 *  one of the plan, `number` says which of its kind among those of the piece, from 1. `by_marks`: the marks that it was
 *  done for. */
export interface StepMade {
  kind: "check" | "cut" | "insert" | "lay-out" | "length" | "loosen" | "ream" | "stock" | "strap" | "thread" | "trim" | "twist";
  number?: number | null;
  trim_mm?: number;
  by_rad?: number;
  by_marks?: string;
}

/** A step that is done: what new marks want before the bends (end A is cut, or bend `number` is twisted), or one of
 *  the plan, `number` says which of its kind among those of the piece (None: the first). */
export interface StepSaid {
  kind: "check" | "cut" | "insert" | "lay-out" | "length" | "loosen" | "ream" | "stock" | "strap" | "thread" | "trim" | "twist";
  number?: number | null;
}

/** One step's part of the far end's scatter: `sd_mm` is what it alone would make, `share` its part of the
 *  whole (0..1, of the variance of the end's position). */
export interface StepShare {
  step: string;
  kind: string;
  number: number;
  sd_mm: number;
  share: number;
}

/** Sticks of one raceway ('EMT 1/2') and length. `count` None: bought, as many as are needed; else so many are on
 *  hand. `offcut`: left of another job, cut from where that saves a new stick. `price` for one stick,
 *  where it is bought. */
export interface Stock {
  raceway: string;
  length: string | number;
  count?: number | null;
  offcut?: boolean;
  price?: string | number | null;
  note?: string;
}

/** a 90 whose short leg stands a wanted height */
export interface Stub {
  name: "stub";
  height: string;
  leg?: string;
  to?: "back" | "centre" | "inside";
}

/** The wall, ceiling or floor behind some legs, in room coordinates, with the least clearance that the plan leaves
 *  to the conduit's surface: negative where the run goes behind it. */
export interface SurfaceView {
  name: string;
  solid: HalfSpace | OutsideCorner;
  clearance_mm: number;
}

/** A table of plain cells with a title. */
export interface Table {
  title: string;
  head: string[];
  rows: string[][];
}

/** One file whole. */
export interface TableFile {
  form: "csv" | "xlsx";
  data: string;
}

/** A box of the table: trade size, shape, volume. Source and standing of its row. */
export interface TabledBox {
  trade_size: string;
  shape: string;
  volume_in3: number;
  source: string;
  standing: string;
}

/** `text` as printed ('31 5/16'), `shown_mm` what the text says exactly, `off_mm` = shown - exact. */
export interface TapeReading {
  text: string;
  shown_mm: number;
  off_mm: number;
}

/** How lengths are shown: `unit` 'in' with a fraction of 1/`denominator`, or 'mm' to 1/`denominator` of 1 mm. */
export interface TapeStyle {
  unit: "in" | "mm";
  denominator: number;
}

/** One test bend as it was read: the angle after letting go, stub and leg to the corner of the backs, the mark from
 *  the stub's end, set `at` this mark of the shoe with the hook toward the stub; leg and cut length both or neither;
 *  `pointer` what it showed while pulling. '' is not read. */
export interface TestBendReadings {
  angle: string;
  stub: string;
  mark: string;
  leg?: string;
  cut?: string;
  at?: "arrow" | "center" | "star";
  pointer?: string;
}

/** over an obstacle with three bends */
export interface ThreeBendSaddle {
  name: "saddle";
  rise?: string;
  centre?: string;
  length?: string;
  room?: string;
  obstacle?: "round" | "square" | null;
  height?: string;
  width?: string;
  lift?: string;
  clearance?: string;
  standoff?: string;
  angle?: string;
}

/** A rule of thumb beside the exact marks: `rule` names it, `landing_rule` and `landing_exact` say in words
 *  where each would land ('apex rises 3 9/16, far leg 1/8 off the line'). */
export interface ThumbComparison {
  shape: string;
  rule: string;
  marks: ThumbMark[];
  landing_rule: string;
  landing_exact: string;
}

/** One mark of a rule of thumb beside the exact one, mm from end A and as tape readings; both for the card's own
 *  hook and shoe mark, which `label` names, so that the exact one is the card's. */
export interface ThumbMark {
  label: string;
  rule_mm: number;
  rule_tape: string;
  exact_mm: number;
  exact_tape: string;
}

/** The piece may take so many `minutes`; each further one, begun ones too, takes `points`, `most` at most. */
export interface TimeRule {
  minutes?: number;
  points?: number;
  most?: number;
}

/** A tool as it stood at a revision. */
export interface ToolAt {
  id: string;
  revision: number;
  name: string;
  profile: BenderRecord;
}

/** All work of one tool on one raceway. `least`: no order of settings can do with fewer. */
export interface ToolBatch {
  tool: string;
  raceway: string;
  settings: BatchSetting[];
  least: number;
}

/** A limit of the tool: `what` it is of, what it `allows`, and what of the piece `comes` nearest to it, `at` which
 *  mark; `near`: so near that it is to be looked at, or beyond it. */
export interface ToolLimit {
  what: string;
  allows: string;
  comes: string;
  at: string;
  near: boolean;
}

/** Which tool, and as which of its revisions: what a run is planned on does not move when the tool is measured
 *  anew. */
export interface ToolPin {
  id: string;
  revision: number;
}

/** Why there is no answer. `message` says what was asked and the limit, `hint` what would work; `field` is the
 *  path of the field in the request ('survey.run.walk[0].leg') or ''. `asked` and `limit` share `unit`.
 *  `kind`: 'input' cannot be read, 'limit' cannot be made, 'marks' (those of a half-bent piece do not hold), 'unknown
 *  name', 'missing' (a library or a run that is not there), 'engine' (a fault of the program: never the asker's). */
export interface Trouble {
  kind: "engine" | "input" | "limit" | "marks" | "missing" | "unknown name";
  message: string;
  hint: string;
  field: string;
  expected: string;
  example: string;
  quantity: string;
  asked: number | null;
  limit: number | null;
  unit: string;
}

/** `run` and `piece` name what is corrected. `first` is to be known before all else: that the far end was not
 *  measured, and what that leaves open ('': it was, or a finding says so). `moves` in the order in which they are made;
 *  none where the piece is within the tolerance as it is. `words` say what the moves do to the far end and what stays
 *  off, or that it is left as it is; `left_mm`, `left_deg` what stays off; `planned`, `now` and `corrected` are the
 *  axis as planned, as it likely is by what was measured (none: no piece near the plan shows it) and as it will be
 *  (room, mm). `room`: what is then left to each obstacle and each surface of the plan, by name; findings: what is hit
 *  or passed too close, and what stands against the run as planned. */
export interface TweakAnswer {
  findings: Finding[];
  not_included: string[];
  cautions: string[];
  run: string;
  piece: string;
  first: string;
  moves: Correction[];
  words: string[];
  left_mm: number;
  left_deg: number;
  far_end_moves_mm: FarEnd;
  last_leg_turns_deg: number;
  planned: [number, number, number][];
  now: [number, number, number][];
  corrected: [number, number, number][];
  room: RoomLeft[];
}

/** The finished piece is off: what to correct. `may_spin`: it can be turned in the fitting at end A. */
export interface TweakRequest {
  survey?: WrittenSurvey | null;
  head?: JobHead | null;
  plan?: Record<string, unknown> | null;
  bender?: BenderRecord | null;
  bender_name?: string;
  fraction?: 1 | 2 | 4 | 8 | 16 | 32 | null;
  piece?: number;
  measured: (OffReading | RiseReading | LeanReading | AngleReading)[];
  may_spin?: boolean;
}

/** A made bend that is twisted, with all that follows it, by so much before the rest is bent (positive clockwise,
 *  seen from A); `how`: in words; `look_at`: how to see whether it is done ('': not known). */
export interface TwistAnew {
  number: number;
  by_rad: number;
  how: string;
  look_at?: string;
}

/** A made bend whose plane is off: it and all that follows is twisted by so much before the rest is bent (positive
 *  clockwise, seen from A). */
export interface Twisted {
  number: number;
  by_deg: number;
}

/** A unit of length with the denominators its tape can have. */
export interface UnitChoice {
  unit: "in" | "mm";
  denominators: number[];
  usual: number;
}

/** Drops in V. `drop_v`, `percent` (of the source) by the tables' or the given impedance, `basis` says which;
 *  `k_drop_v` by K. */
export interface VoltageDrop {
  size: string;
  metal: string;
  system: string;
  drop_v: number;
  percent: number;
  load_v: number;
  k_drop_v: number;
  k_percent: number;
  resistance_ohm_per_km: number;
  reactance_ohm_per_km: number;
  power_factor: number | null;
  raceway: string;
  basis: string;
  steps: RuleStep[];
  findings: Finding[];
}

/** One straight piece to be cut: `label` is what is written on it, `run` the run that it belongs to, and which
 *  `copy` of it where several are alike. `threads`: how
 *  many of its ends need one; `own_threads`: how many of those its plan leaves to the stick's own. `offcut`: which of
 *  its run's own offcuts its plan takes it from (from 1; 0: none), so that nothing else will do; `whole`: its plan
 *  takes a stick of its length as it is; `waits`: no bending order is known for it, so that it is not cut yet;
 *  `there`: it is cut already, and is listed all the same; `made_by`: by this plan, which is not its run's present one,
 *  so that it is as long as that says, and on no list. `card`: its length as its card has it, where that is
 *  another tape's ('': as here). */
export interface WantedPiece {
  label: string;
  length_mm: number;
  run: string;
  copy: number;
  threads: number;
  own_threads: number;
  offcut: number;
  whole: boolean;
  waits: boolean;
  there: boolean;
  made_by: string;
  card: string;
}

/** What a record said at an earlier revision (`data` as in `Changed`), by whom and when. */
export interface Was {
  revision: number;
  by: string;
  at: string;
  data: unknown;
}

/** What would do, by itself, where a run cannot be put up as it is. `what`: 'slide back': the fittings of `joints`
 *  (places in the plan's `joints`, from 1), which are fixed, go back instead. 'cut in two': `piece` (from 1) is, and
 *  joined by a `kind` with its middle `at_mm` along the run. 'colder day': the run goes up on one, with the pistons of
 *  its expansion fittings all the way out. */
export interface WayOut {
  what: "colder day" | "cut in two" | "slide back";
  joints: number[];
  piece: number | null;
  kind: string;
  at_mm: number;
}

/** One way to bend the piece: which marks in which order, where the hook points, the effort, and why. */
export interface WayToBend {
  order: string;
  hooks: string;
  effort: string;
  reasons: string[];
}

/** One way to bend a piece: bend numbers in bending order, the end that the hook faces each time ('AAB'), the
 *  effort in points, and why in plain words. */
export interface WayView {
  order: number[];
  hooks: string;
  effort: number;
  reasons: string[];
}

/** How likely the piece fits as it is bent: `chance` '37 %' ('' where end B goes into no fitting), what that
 *  `means`, where the far end `lands`, and what to `watch`, the first most. */
export interface WillFit {
  chance: string;
  means: string;
  lands: string;
  watch: string[];
}

/** `count` wires of one size ('12' AWG, '250' kcmil), insulation, metal and colour in one run. */
export interface Wire {
  size: string;
  count?: number;
  colour?: string;
  insulation?: string;
  material?: "aluminum" | "copper";
}

/** What the wire may carry, and the largest overcurrent device for it. */
export interface WiresAmpacityAnswer {
  findings: Finding[];
  not_included: string[];
  cautions: string[];
  headline: string;
  edition: string;
  steps: RuleStep[];
  from_memory: string[];
  result: Ampacity;
}

/** `wire` is size and insulation ('12 THHN'). Around it `ambient_c` or `ambient_f` (30 C where neither is given).
 *  Current-carrying conductors in the raceway: `carrying`, or `circuits` ('2 x 2-wire') to count them (3 where neither
 *  is given). `terminals_c`: marked on the terminals; `load_a` and `device_a` (the overcurrent device) are checked, and
 *  over 100 A they take the 75 C column. `nipple`: the length of a nipple between boxes, '' for a run. */
export interface WiresAmpacityRequest {
  edition?: string;
  wire: string;
  metal?: string;
  ambient_c?: number | null;
  ambient_f?: number | null;
  carrying?: number | null;
  circuits?: string[];
  terminals_c?: number | null;
  wet?: boolean;
  nipple?: string;
  load_a?: number | null;
  device_a?: number | null;
}

/** The room needed, and the boxes of the table that have it, smallest first. */
export interface WiresBoxAnswer {
  findings: Finding[];
  not_included: string[];
  cautions: string[];
  headline: string;
  edition: string;
  steps: RuleStep[];
  from_memory: string[];
  need: BoxNeed;
  boxes: TabledBox[];
}

/** What is in the box, each as count and size ('4 x 12'): `wires` in, long unbroken `loops`, `grounds`, `devices`
 *  (gangs and the wire on them), `terminal_blocks`; `clamps` inside it, and how many types of luminaire stud or hickey
 *  (`supports`). `box` of the table ('4 x 1 1/2 square') or its marked `volume_in3` is checked; `shape` narrows the
 *  boxes that are named: square, octagonal, device, masonry, cast. */
export interface WiresBoxRequest {
  edition?: string;
  wires?: string[];
  loops?: string[];
  grounds?: string[];
  devices?: string[];
  terminal_blocks?: string[];
  clamps?: boolean;
  supports?: number;
  box?: string;
  volume_in3?: number | null;
  shape?: string;
}

/** `drop` of the size that was named, else `sized`: the least for the drop and for the current, and what to take. */
export interface WiresDropAnswer {
  findings: Finding[];
  not_included: string[];
  cautions: string[];
  headline: string;
  edition: string;
  steps: RuleStep[];
  from_memory: string[];
  drop: VoltageDrop | null;
  sized: DropSize | null;
}

/** `length` one way, with its unit. Without `wire_size` the thinnest that keeps `limit_percent` is found (3, and 5
 *  for the `whole` way, feeder and branch). `system`: single (also dc) or three. Without `power_factor` the dc table is
 *  used; with one the ac table, in the column of `raceway` (steel where none is named). Resistance and reactance of
 *  your own replace the table's. */
export interface WiresDropRequest {
  edition?: string;
  current_a: number;
  length: string;
  volts: number;
  wire_size?: string;
  system?: string;
  metal?: string;
  sets?: number;
  limit_percent?: number | null;
  whole?: boolean;
  resistance_ohm_per_kft?: number | null;
  reactance_ohm_per_kft?: number | null;
  power_factor?: number | null;
  raceway?: string;
}

/** `fill` null where no wires were named, `more` null where it was not asked how many further ones go in. */
export interface WiresFitAnswer {
  findings: Finding[];
  not_included: string[];
  cautions: string[];
  headline: string;
  edition: string;
  steps: RuleStep[];
  from_memory: string[];
  fill: Fill | null;
  more: MoreFit | null;
}

/** Do `wires` go into `raceway` of trade size `size`, and how many of the wire `more` ('12 THHN') beside them. */
export interface WiresFitRequest {
  edition?: string;
  raceway: string;
  size: string;
  wires?: string[];
  more?: string;
  nipple?: string;
}

/** The equipment grounding conductor. */
export interface WiresGroundAnswer {
  findings: Finding[];
  not_included: string[];
  cautions: string[];
  headline: string;
  edition: string;
  steps: RuleStep[];
  from_memory: string[];
  result: GroundSize;
}

/** `device_a`: the overcurrent device. Where the circuit is pulled thicker than its ampacity needs, both sizes. */
export interface WiresGroundRequest {
  edition?: string;
  device_a: number;
  metal?: string;
  needed_size?: string;
  used_size?: string;
}

/** The least inside dimensions. */
export interface WiresPullboxAnswer {
  findings: Finding[];
  not_included: string[];
  cautions: string[];
  headline: string;
  edition: string;
  steps: RuleStep[];
  from_memory: string[];
  result: PullBox;
}

/** `pulls` as 'straight left 2 -> right 2', 'angle left 3 -> bottom 3', 'u top 2 -> top 2'; `conductor` the thickest
 *  in it, `bare` where that one is. A box of inside `width` (left to right) and `height` is checked. */
export interface WiresPullboxRequest {
  edition?: string;
  pulls: string[];
  conductor?: string;
  bare?: boolean;
  width?: string;
  height?: string;
}

/** The smallest trade size that takes them, and how far it is filled. */
export interface WiresSizeAnswer {
  findings: Finding[];
  not_included: string[];
  cautions: string[];
  headline: string;
  edition: string;
  steps: RuleStep[];
  from_memory: string[];
  result: FillSize;
}

/** `wires` as '3 x 8 THHN', '1 x 10 bare', 'cable 0.46 in'; `raceway` a type ('EMT'); `nipple` the length of
 *  a nipple from one box to the next, '' for a run. */
export interface WiresSizeRequest {
  edition?: string;
  wires: string[];
  raceway: string;
  nipple?: string;
}

/** How well this person's hands repeat each step (standard deviations): a mark, an angle and a roll in degrees, a
 *  cut. */
export interface WrittenAccuracy {
  mark?: string | number | null;
  angle?: string | number | null;
  roll?: string | number | null;
  cut?: string | number | null;
}

/** The small offset between a knockout's height and the strap's height. `rise` is worked out when left out. */
export interface WrittenBoxOffset {
  rise?: string | number | null;
  toward?: "away" | "toward";
  starts_at?: string | number | null;
  done_by?: string | number | null;
  angle?: string | number;
  name?: string;
}

/** Temperatures for the run's growth over the year: `lowest` and `highest` air, and the conduit's own when it is put
 *  up (`install`): '-10 C', '95 F', plain numbers in F with inches and in C with mm. `sun`: it lies in direct sun.
 *  `travel`: that of the expansion fittings in hand, 4 in unless told. */
export interface WrittenClimate {
  lowest: string | number;
  highest: string | number;
  install: string | number;
  sun?: boolean;
  travel?: string | number | null;
}

/** One thing met along a leg: exactly one of these. */
export interface WrittenFeature {
  saddle?: WrittenSaddle | null;
  offset?: WrittenOffset | null;
  box_offset?: WrittenBoxOffset | null;
  kick?: WrittenKick | null;
  keep_clear?: WrittenObstacle | null;
}

/** One figure as its owner wrote it, or as test bends gave it, in words. */
export interface WrittenFigure {
  label: string;
  text: string;
}

/** What stands at an end of the run. `fitting`: set-screw, compression, threaded (a knockout and
 *  locknuts), hub, socket or none (a free end).
 *  `insertion`: how far the conduit goes in past the face; `height`: the knockout's center above the surface;
 *  `fixed`: false where the fitting can be loosened, slid or swung, true where it cannot. */
export interface WrittenFitting {
  name?: string;
  fitting?: string;
  insertion?: string | number | null;
  height?: string | number | null;
  fixed?: boolean | null;
}

/** One bend that sends the run aside until the next turn: aside by `rise` there. Give `starts_at` or `angle`. */
export interface WrittenKick {
  rise: string | number;
  toward?: "away" | "left" | "right" | "toward";
  starts_at?: string | number | null;
  angle?: string | number | null;
  name?: string;
}

/** Something that the run must keep clear of without bending for it. `side` moves its middle to the left (+). */
export interface WrittenObstacle {
  centre: string | number;
  over?: "round" | "square";
  height: string | number;
  width: string | number;
  lift?: string | number | null;
  side?: string | number;
  depth?: string | number;
  clearance?: string | number | null;
  name?: string;
}

/** Two equal bends that move the run over: by `rise` (away from the surface), `shift` (to a side), or both
 *  (a rolling offset). Place it by exactly one of `starts_at`, `middle_at`, `done_by` (tape readings). */
export interface WrittenOffset {
  rise?: string | number | null;
  shift?: string | number | null;
  side?: "left" | "right";
  toward?: "away" | "toward";
  starts_at?: string | number | null;
  middle_at?: string | number | null;
  done_by?: string | number | null;
  angle?: string | number;
  name?: string;
}

/** A leg (`leg`, its length) or a turn (`turn`, its way). `from` and `to` say what the leg was measured from and
 *  to; `gap` is the room between conduit and wall at a turn measured to the wall. */
export interface WrittenPart {
  leg?: string | number | null;
  from?: "back" | "centre" | "edge" | "face" | "inside" | "stop" | "wall" | null;
  to?: "back" | "centre" | "edge" | "face" | "inside" | "stop" | "wall" | null;
  features?: WrittenFeature[];
  turn?: "away" | "left" | "right" | "toward" | null;
  angle?: string | number;
  gap?: string | number | null;
  note?: string;
}

/** One run: raceway, ends, and the walk from the one to the other. `stock` are the stick lengths sold, `offcuts`
 *  those on hand; `coupled`: a bent run is joined from pieces by couplings, even where one stick is long enough;
 *  `wires` like '3 x 12 THHN'; `surface` and `going` (on a wall, as one faces it) say which way is down. */
export interface WrittenRun {
  name: string;
  raceway: string;
  walk: WrittenPart[];
  bender?: string;
  start?: WrittenFitting;
  end?: WrittenFitting;
  stand_off?: string | number;
  clearance?: string | number;
  strap?: string;
  cut?: "after" | "before";
  saddle_method?: "centre-outward" | "push-through";
  bend_radius?: string | number | null;
  stock?: (string | number)[];
  offcuts?: (string | number)[];
  coupled?: boolean;
  accuracy?: WrittenAccuracy;
  wires?: string[];
  climate?: WrittenClimate | null;
  surface?: "ceiling" | "floor" | "wall";
  going?: "down" | "left" | "right" | "up";
}

/** Up and over something whose middle lies at tape reading `centre`. Give the thing (`over`, `height`, `width`,
 *  `lift`) or the bare `rise`. `height` is its top above the surface, `lift` its underside above the surface (left
 *  out: 0, or for a round thing what height and width leave); for a saddle to the left or right `reach` is how far it
 *  comes past the conduit's centerline. */
export interface WrittenSaddle {
  centre: string | number;
  over?: "round" | "square";
  height?: string | number | null;
  width?: string | number | null;
  lift?: string | number | null;
  reach?: string | number | null;
  rise?: string | number | null;
  clearance?: string | number | null;
  toward?: "away" | "left" | "right" | "toward";
  bends?: "3" | "4" | "auto";
  angle?: string | number;
  name?: string;
}

/** A survey file. One run for now; `racewright` is the format's version, and a job will list `runs`. */
export interface WrittenSurvey {
  run: WrittenRun;
  racewright?: number;
  units?: "in" | "mm";
  fraction?: 1 | 2 | 4 | 8 | 16 | 32 | null;
}

/** Every operation that the page asks: what goes in and what comes out. */
export interface Operations {
  /** raceways, benders, units to choose from */
  catalogue: { request: CatalogueRequest; answer: Catalogue };
  /** plan a surveyed run, with pictures */
  plan: { request: PlanRequest; answer: PlanAnswer };
  /** a surveyed run drawn in the room, from one of its four corners */
  corner: { request: CornerRequest; answer: CornerAnswer };
  /** the run as measured so far, for a picture */
  sketch: { request: SketchRequest; answer: SketchAnswer };
  /** a surveyed run as files to print, or as a model */
  export: { request: ExportRequest; answer: ExportAnswer };
  /** pages of the bend card or the 1:1 strip */
  card: { request: CardRequest; answer: CardAnswer };
  /** what a bender's numbers mean, and what a check says */
  bender: { request: BenderRequest; answer: BenderAnswer };
  /** a bender's constants from test bends */
  calibrate: { request: CalibrateRequest; answer: BenderAnswer };
  /** one bend shape: exact marks, the rule of thumb beside them */
  shape: { request: ShapeRequest; answer: ShapeAnswer };
  /** the bent piece is off: what to correct */
  tweak: { request: TweakRequest; answer: TweakAnswer };
  /** some bends are made: new marks for the rest */
  remark: { request: RemarkRequest; answer: RemarkAnswer };
  /** several finished pieces: what the shoe or the tape does wrong */
  diagnose: { request: DiagnoseRequest; answer: DiagnoseAnswer };
  /** problems with worked answers */
  practice: { request: PracticeRequest; answer: PracticeSheet };
  /** a finished practice piece, graded, with likely causes */
  practice_grade: { request: GradeRequest; answer: GradeAnswer };
  /** the results of a class, as a sheet and as CSV */
  practice_class: { request: ClassRequest; answer: ClassAnswer };
  /** a job file of the page, checked */
  read_job: { request: ReadJobRequest; answer: ReadJobAnswer };
  /** smallest trade size for a set of wires */
  wires_size: { request: WiresSizeRequest; answer: WiresSizeAnswer };
  /** do wires fit a raceway, and how many more */
  wires_fit: { request: WiresFitRequest; answer: WiresFitAnswer };
  /** how much current a wire may carry in a raceway */
  wires_ampacity: { request: WiresAmpacityRequest; answer: WiresAmpacityAnswer };
  /** voltage lost along a circuit, or the size that keeps a limit */
  wires_drop: { request: WiresDropRequest; answer: WiresDropAnswer };
  /** equipment grounding conductor for an overcurrent device */
  wires_ground: { request: WiresGroundRequest; answer: WiresGroundAnswer };
  /** room that wires and devices need in a box */
  wires_box: { request: WiresBoxRequest; answer: WiresBoxAnswer };
  /** least size of a pull box */
  wires_pullbox: { request: WiresPullboxRequest; answer: WiresPullboxAnswer };
  /** how hard one wire pull is, and which end to feed from */
  pull: { request: PullRequest; answer: PullAnswer };
  /** every run of a job planned */
  job_plan: { request: JobPlanRequest; answer: JobPlanAnswer };
  /** what was seen and done on the runs of a job, in words */
  job_said: { request: JobSaidRequest; answer: JobSaidAnswer };
  /** what was measured on a bent piece, added to its run */
  job_record: { request: JobRecordRequest; answer: JobRecordAnswer };
  /** one change of a job's prices, people, sticks, wire, items */
  job_settings: { request: JobSettingsRequest; answer: JobSettingsAnswer };
  /** what a job needs */
  job_bill: { request: JobBillRequest; answer: JobBillAnswer };
  /** the cut list of a job */
  job_cut: { request: JobCutRequest; answer: JobCutAnswer };
  /** what of a job is to be bent, by tool and angle */
  job_batch: { request: JobBatchRequest; answer: JobBatchAnswer };
  /** labels for the pieces of a job */
  job_labels: { request: JobLabelsRequest; answer: JobLabelsAnswer };
  /** what of a job goes to each room */
  job_kits: { request: JobKitsRequest; answer: JobKitsAnswer };
  /** a job as one document to hand over */
  job_pack: { request: JobPackRequest; answer: JobPackAnswer };
  /** a job as model files */
  job_models: { request: JobModelsRequest; answer: JobModelsAnswer };
}

export type OperationName = keyof Operations;

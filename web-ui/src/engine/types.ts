// Written by web-ui/scripts/make_types.py from the message types of racewright.operations. Do not edit.
// Lengths ending in _mm are millimetres, angles ending in _deg degrees; other lengths in requests are text with a unit.

/** Stands under every answer. */
export const DECIDES =
  "Local codes, the authority having jurisdiction and a licensed person decide; this is no approval.";

/** What a finding rests on is from no book at hand. */
export const FROM_MEMORY = "from memory";

/** How well one person's hands work: standard deviations. Lengths as written; angles in degrees. */
export interface Accuracies {
  name: string;
  mark?: string | number;
  angle_deg?: number;
  roll_deg?: number;
  cut?: string | number;
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

/** The angle that bend `number` really has, read with a level after letting go. */
export interface AngleReading {
  what: "angle";
  number: number;
  angle_deg: number;
}

/** The rise measured under the middle of bend `number` (from 1), from the surface the first leg lies on. */
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

/** What was measured on one finished piece (pieces count from 1). mm and radians: see `fit/measured.py`. */
export interface AsBent {
  piece?: number;
  measured: (OffAt | ApexRise | LegLean | BendAngle)[];
  by?: string;
  at?: string;
  note?: string;
}

/** two 90s a distance apart */
export interface BackToBack {
  name: "back-to-back";
  distance: string;
  stub?: string;
  second_stub?: string;
  to?: "back" | "centre" | "inside";
}

/** The angle that bend `number` (from 1) really has, read with a level after letting go. */
export interface BendAngle {
  type: "angle";
  number: number;
  angle_rad: number;
}

/** A bender as it is used. `record` is what to keep of it: as it was written, each length with its unit (null: it
 *  came by name). `calibration` is there where it was found from test bends, with `verdicts` on how sure it is. `file`:
 *  where it is kept, as far as the door says. */
export interface BenderAnswer {
  findings: Finding[];
  not_included: string[];
  cautions: string[];
  unit: "in" | "mm";
  profile: BenderProfile;
  figures: BenderFigure[];
  springback: string;
  record: BenderRecord | null;
  calibration: Calibration | null;
  verdicts: string[];
  file: string;
}

/** One number of a shoe, and what it is measured from. */
export interface BenderFigure {
  label: string;
  mm: number;
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
 *  b0 in degrees. Take-up and gain, or radius with take-up or lead, or radius alone. */
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

/** Own benders first; a hand shoe whose name an own one has is left out. `file`: where the own ones are kept, as
 *  far as the door says. */
export interface BendersAnswer {
  findings: Finding[];
  not_included: string[];
  cautions: string[];
  unit: "in" | "mm";
  benders: ShoeData[];
  file: string;
}

/** The asker's own benders and the trade's hand shoes; `unit` to show them in. */
export interface BendersRequest {
  unit?: "in" | "mm";
}

/** The bill of the whole job, of an area or of a run. Totals are None where nothing is priced; `unpriced` names what
 *  the totals leave out. */
export interface Bill {
  scope: "area" | "job" | "run";
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
  unit: "each" | "ft" | "m";
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
 *  (its hook reach and grip stay), else of the trade's shoe of the name. */
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
 *  over the degrees of freedom: near 1 the bends agree as well as the readings allow; None with nothing left over. */
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

/** Pages to print: the card or the 1:1 strip. `paper` left away: letter for inches, a4 for mm. */
export interface CardRequest {
  survey: WrittenSurvey;
  bender?: BenderRecord | null;
  bender_name?: string;
  fraction?: 1 | 2 | 4 | 8 | 16 | 32 | null;
  what?: "card" | "strip";
  paper?: "a4" | "letter" | null;
}

/** The thinnest size whose terminals' column carries a current: size, column in degrees C, its ampacity in A. */
export interface Carrying {
  size: string;
  column_c: number;
  ampacity_a: number;
}

/** Everything a form offers. `end_fittings` are the values of a survey's `fitting`; `kinds_of_problem` those of
 *  the practice sheets. */
export interface Catalogue {
  findings: Finding[];
  not_included: string[];
  cautions: string[];
  version: string;
  raceways: RacewayData[];
  benders: ShoeData[];
  units: UnitChoice[];
  end_fittings: string[];
  kinds_of_problem: string[];
}

/** What there is to choose from. */
export interface CatalogueRequest {
}

/** One cause: `value` and its standard error in `unit` ('mm', 'rad', '1'), both as a person reads them, in words. */
export interface CauseTold {
  cause: "mark bias" | "overbend" | "overbend per angle" | "radius" | "take-up";
  value: number;
  standard_error: number;
  unit: "1" | "mm" | "rad";
  found: string;
  give_or_take: string;
  words: string;
}

/** The findings, worst first; `checks` where straps go and the pulls, `along` the same in words. */
export interface CheckAnswer {
  findings: Finding[];
  not_included: string[];
  cautions: string[];
  name: string;
  raceway: string;
  checks: PlanChecks | null;
  along: string[];
}

/** Check a run as it is planned. `worst`: problems and cautions only, without the reminders. */
export interface CheckRequest {
  survey: WrittenSurvey;
  bender?: BenderRecord | null;
  bender_name?: string;
  fraction?: 1 | 2 | 4 | 8 | 16 | 32 | null;
  worst?: boolean;
}

/** One angle. Where `possible` is false `reason` says why, `limit` what binds and `limit_at` how much of it there
 *  should be (of room: there is); lengths are null where the arcs would meet.
 *  `spacing` is from mark to mark, `shrink` how much shorter the run gets, `room` what it takes along the run,
 *  `straight` what is left straight between the bends. */
export interface ChoiceRow {
  angle_deg: number;
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

/** The rows, for this radius, wanting at least this straight between bends. */
export interface ChoicesAnswer {
  findings: Finding[];
  not_included: string[];
  cautions: string[];
  rows: ChoiceRow[];
  radius: Length;
  least_straight: Length;
  bender: string;
}

/** An offset or saddle of a rise at the usual angles. `flat` for a saddle of four bends; `room` is the length of
 *  run there is. `raceway` as in a survey ('EMT 1/2'). */
export interface ChoicesRequest {
  shape: "offset" | "saddle 3" | "saddle 4";
  rise: string;
  raceway: string;
  flat?: string;
  room?: string;
  units?: "in" | "mm";
  fraction?: 1 | 2 | 4 | 8 | 16 | 32 | null;
  bender?: BenderRecord | null;
  bender_name?: string;
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

/** The cut list. `least_sticks`, `least_length_mm`: no plan can buy fewer sticks, less length; only the one that
 *  was asked for by `rules.least` is a tight bound, the other is 0. `proved`: this plan is at that bound.
 *  `kept_mm`: leftovers worth keeping, unused offcuts not counted; `unused_offcuts`: which on hand were left alone. */
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
 *  each once. `kerf_mm`: what one cut eats. `keep_mm`: a leftover of this length or more is kept, a shorter one is
 *  scrap. `least`: fewest new sticks, or least length bought (where long sticks are dear). `effort`: 0 for a quick
 *  answer, 1 the usual search, more for a longer one. Hand figures are common practice, no source. */
export interface CutRules {
  stock_mm: number[];
  offcuts_mm: number[];
  kerf_mm: number;
  keep_mm: number;
  least: "length" | "sticks";
  effort: number;
}

/** One stick or offcut and the pieces that come out of it, longest first. `offcut`: which of the offcuts on hand
 *  (from 1), 0 for a new stick. `leftover_mm` after the last cut; `kept` where it is long enough to keep. */
export interface CutStick {
  number: number;
  source_mm: number;
  offcut: number;
  pieces: WantedPiece[];
  leftover_mm: number;
  kept: boolean;
}

/** `kerf`: what the saw eats. `keep`: a leftover at least so long is kept, a shorter one is scrap. */
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
 *  causes do not explain, in doubts of a reading (about 1 or less: explained). `words` say what that means. */
export interface DiagnoseAnswer {
  findings: Finding[];
  not_included: string[];
  cautions: string[];
  pieces: string[];
  causes: CauseTold[];
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

/** A dimension to draw between two points of the room, with its text ('31 5/16 to centre'), drawn off to `side`.
 *  `field`: the reading that it shows, or ''. */
export interface Dimension {
  start: [number, number, number];
  end: [number, number, number];
  text: string;
  side: [number, number, number];
  field: string;
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

/** The files in the order asked for, and the plan that they show. The findings: the open ones; the plan has all. */
export interface ExportAnswer {
  findings: Finding[];
  not_included: string[];
  cautions: string[];
  files: RunFile[];
  plan: Plan;
}

/** A run as files of these `kinds`. `paper` left away: letter for inches, a4 for mm. `written_at`: date and time for
 *  the head of an IFC file, 'YYYY-MM-DDThh:mm:ss'. */
export interface ExportRequest {
  survey: WrittenSurvey;
  bender?: BenderRecord | null;
  bender_name?: string;
  fraction?: 1 | 2 | 4 | 8 | 16 | 32 | null;
  kinds: ("card.pdf" | "card.svg" | "dxf" | "gltf" | "ifc" | "strip.pdf" | "strip.svg")[];
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
 *  'common practice, no source'; `where` says which bend, leg or piece; `standing` 'from memory' where what it rests on
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

/** A whole job: one plain JSON file holds exactly this. */
export interface Job {
  head: JobHead;
  runs?: JobRun[];
  racewright_job?: number;
}

/** The bill of the job called `name`, of its areas and of its runs; `cuts`: the cut lists that its sticks come from.
 *  The money of all areas, and of all runs, adds up to the job's. */
export interface JobBillAnswer {
  findings: Finding[];
  not_included: string[];
  cautions: string[];
  name: string;
  job: Bill;
  areas: Bill[];
  runs: Bill[];
  currency: string;
  wire_waste_percent: number;
  cuts: RacewayCuts[];
}

/** What the job needs, with its own prices and hours. */
export interface JobBillRequest {
  job: Job;
}

/** A cut list for each raceway, to be read on a tape in `units`. `not_included`: a proof that could not be had. */
export interface JobCutAnswer {
  findings: Finding[];
  not_included: string[];
  cautions: string[];
  units: "in" | "mm";
  cuts: RacewayCuts[];
}

/** The cut list of the runs that are not bent yet, or of all. `raceway`: only this one. `least`: buy the fewest
 *  sticks, or the least length. `effort`: 0 quick, 1 usual, up to 5: longer. `prove`: by an outside solver. */
export interface JobCutRequest {
  job: Job;
  all?: boolean;
  raceway?: string;
  least?: "length" | "sticks";
  effort?: number;
  prove?: boolean;
}

/** Everything of a job but its runs. `benders` are the profiles as they stood when they were put in, so that a
 *  plan of this job does not move when a shoe is calibrated anew. `wire_waste` and `stock_waste` are percent. */
export interface JobHead {
  name: string;
  units?: "in" | "mm";
  areas?: Area[];
  benders?: BenderProfile[];
  stock?: Stock[];
  cutting?: Cutting;
  prices?: Prices;
  wire_slack?: string | number;
  wire_waste?: number;
  people?: Accuracies[];
  items?: Item[];
  note?: string;
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

/** The pack of a job, or of one `area`. `paper` left away: letter for inches, a4 for mm. `cards`: with the runs'
 *  bend cards. `made_by`, `made_on` are printed on the cover, which leaves room to write what is not told. */
export interface JobPackRequest {
  job: Job;
  area?: string;
  paper?: "a4" | "letter" | null;
  cards?: boolean;
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
  planned_now: number;
}

/** Plan every run. `again`: also those whose plan is known. */
export interface JobPlanRequest {
  job: Job;
  revisions?: Record<string, number>;
  again?: boolean;
}

/** The run as it is to be kept: with what was recorded, and bent where it was only planned. */
export interface JobRecordAnswer {
  findings: Finding[];
  not_included: string[];
  cautions: string[];
  run: JobRun;
}

/** Add to the record of `run` what was measured and what was corrected on one of its pieces, who says so and when.
 *  Lengths without a unit are in the job's. */
export interface JobRecordRequest {
  job: Job;
  run: string;
  piece?: number;
  measured?: (OffReading | RiseReading | LeanReading | AngleReading)[];
  corrected?: CorrectionMade[];
  note?: string;
  by?: string;
  at?: string;
}

/** One job: how many runs, and how many have each status (those that none has are left away). */
export interface JobRow {
  job: string;
  name: string;
  runs: number;
  status: Record<string, number>;
}

/** One run of the job. `key` is its short, lasting name ('PH-07'): no two runs of a job share one, whatever the
 *  case. `area` is the name of an Area or ''. `wire_slack` is added to the wires' length at each end. */
export interface JobRun {
  key: string;
  survey: WrittenSurvey;
  area?: string;
  status?: "bent" | "in" | "measured" | "planned" | "wired";
  wires?: Wire[];
  wire_slack?: string | number | null;
  items?: Item[];
  as_bent?: AsBent[];
  tweaks?: TweakMade[];
  note?: string;
}

/** `wires` and `as_built` (what was measured and corrected on bent pieces) in lines of words; `card`: the bend card
 *  as text, which holds the findings and the cautions of the plan as well. */
export interface JobRunAnswer {
  findings: Finding[];
  not_included: string[];
  cautions: string[];
  run: string;
  status: "bent" | "in" | "measured" | "planned" | "wired";
  area: string;
  wires: string[];
  as_built: string[];
  note: string;
  card: string;
}

/** The run of the job that is called `run`. */
export interface JobRunRequest {
  job: Job;
  run: string;
}

/** The runs in the job's order; `areas` in the order of the bill; how many runs have each status. */
export interface JobStatusAnswer {
  findings: Finding[];
  not_included: string[];
  cautions: string[];
  name: string;
  areas: string[];
  runs: RunRow[];
  status: Record<string, number>;
}

/** How far every run is. `revisions`: at which revision each run stands where it is kept; the answer tells it. */
export interface JobStatusRequest {
  job: Job;
  revisions?: Record<string, number>;
}

/** The jobs in the order in which they were given. */
export interface JobsAnswer {
  findings: Finding[];
  not_included: string[];
  cautions: string[];
  jobs: JobRow[];
}

/** A question about several jobs. `jobs`: job files as data, by the jobs' short names. */
export interface JobsRequest {
  jobs: Record<string, Job>;
}

/** one bend that lifts the end of the conduit */
export interface KickAsked {
  name: "kick";
  rise: string;
  travel?: string;
  angle?: string;
  beside_90?: boolean;
}

/** The last leg leans that way by so many degrees more than it should. */
export interface LeanReading {
  what: "lean";
  way: "down" | "left" | "right" | "up";
  lean_deg: number;
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

/** `mm` exact; `tape` as shown on the tape, `off_mm` = shown - exact; `inches` and `millimetres` in words. */
export interface LengthAnswer {
  findings: Finding[];
  not_included: string[];
  cautions: string[];
  mm: number;
  tape: string;
  off_mm: number;
  inches: string;
  millimetres: string;
}

/** Read a length as a person writes it: '31 5/16', '2 ft 3', '795 mm'. A number without a unit is in `unit`. */
export interface LengthRequest {
  text: string;
  unit?: "in" | "mm";
  fraction?: 1 | 2 | 4 | 8 | 16 | 32;
  field?: string;
  allow_negative?: boolean;
  allow_zero?: boolean;
}

/** A bend that is made already, as measured; what is left away is as planned. `mark` is where the plan's reference
 *  mark really stood, from end A; `start` where the bend begins, instead of the mark; `roll_off_deg` how far its plane
 *  is off the plan, clockwise seen from end A (a dog-leg). */
export interface MadeReading {
  number: number;
  mark?: string;
  start?: string;
  angle_deg?: number | null;
  roll_off_deg?: number | null;
}

/** One bend as the person makes it.
 *  
 *  `number` counts along the conduit from end A, `order` is the bending order, both from 1. `mark_mm` and `mark_tape`
 *  are where the `reference` mark of the shoe stands, hook toward end `hook`; `mark_rounding_mm` is tape less exact.
 *  `spin_deg` is how far to turn the conduit about its axis since the bend made before (0 for the first), `spin_words`
 *  says it in words. `pointer_deg` is what the pointer must show: `pointer_basis` says whether while pulling ('under
 *  load', springback calibrated) or after letting go ('relaxed', not calibrated).
 *  `all_marks_mm`: 'A arrow', 'A center', 'A star', 'B arrow', ... -> exact mark for that hook and reference. */
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
  stance: string;
  end_for_end: boolean;
  look_at: string;
  all_marks_mm: Record<string, number>;
}

/** One finished piece and what was measured on it. `name` is the run's and the piece's unless told. */
export interface MeasuredPiece {
  survey?: WrittenSurvey | null;
  plan?: Record<string, unknown> | null;
  bender?: BenderRecord | null;
  bender_name?: string;
  fraction?: 1 | 2 | 4 | 8 | 16 | 32 | null;
  piece?: number;
  measured: (OffReading | RiseReading | LeanReading | AngleReading)[];
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

/** One correction as made: bend `number` (from 1) by so many radians (negative: opened, or rolled left-handed). */
export interface MoveMade {
  number: number;
  kind?: "angle" | "roll" | "spin";
  by_rad: number;
}

/** One bend still to be made, with the plan's hook and reference mark. `mark` is where that mark goes now, `was`
 *  where the plan had it; `on_conduit` False: it falls off what there is. `pointer_deg` follows the plan's own
 *  springback as far as two of its bends show it. `spin_deg` is the turn since the bend made before (positive
 *  clockwise looking from A toward B), `spin_words` say it, and where the conduit is turned end for end; `stance` says
 *  how the bender is held ('' not known). */
export interface NewMark {
  number: number;
  order: number;
  mark: Length;
  was: Length;
  on_conduit: boolean;
  hook: "A" | "B";
  reference: "arrow" | "center" | "star";
  angle_deg: number;
  roll_deg: number;
  pointer_deg: number;
  pointer_basis: "relaxed" | "under load";
  spin_deg: number;
  spin_words: string;
  stance: string;
}

/** A titled block of the card: lines, or a table with `header` and `rows`. */
export interface NoteBlock {
  title: string;
  lines: string[];
  header: string[];
  rows: string[][];
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

/** over to a parallel line */
export interface OffsetAsked {
  name: "offset";
  rise: string;
  at?: string;
  room?: string;
  angle?: string;
}

/** What to buy and how to cut it, as tables. A run that has no plan is left out, and a finding by its name. */
export interface OrderAnswer {
  findings: Finding[];
  not_included: string[];
  cautions: string[];
  bill: PlainTable;
  cuts: PlainTable;
  stops: PlainTable;
  sums: PlainTable;
}

/** The bill and the cut list of several runs. The first run's unit is the tape's. */
export interface OrderRequest {
  runs: RunToOrder[];
}

/** A planned offset or saddle at the usual angles. `label` is its name, `field` where the survey has it; `planned`
 *  is the row that the plan takes (null: another angle). */
export interface OtherAngles {
  label: string;
  field: string;
  rows: ChoiceRow[];
  planned: number | null;
}

/** A run as the page keeps it: its readings as text, and how far its conduit is. */
export interface PageRun {
  survey: WrittenSurvey;
  status: "bending" | "bent" | "in-place" | "measured";
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

/** What stands at an end ('' = free end) and how far the conduit goes in past its face. */
export interface PieceEnd {
  fitting: string;
  insertion_mm: number;
}

/** Where end A lies in the room (x along the first leg, z away from its surface), which way the conduit leaves it,
 *  and which way a bend at roll 0 turns. */
export interface PieceStart {
  point_mm: [number, number, number];
  axis: [number, number, number];
  normal: [number, number, number];
}

/** One piece in figures: its finished length, the stick it needs at least, and its bends. */
export interface PieceSummary {
  cut_length_mm: number;
  least_stock_mm: number;
  bends: number;
}

/** A table as text: its name, the head of each column, the rows. */
export interface PlainTable {
  name: string;
  header: string[];
  rows: string[][];
}

/** A planned run. `corners_mm` are the corner points of the wanted centerline in room coordinates. `bender` None:
 *  nothing is bent, and no shoe is known. */
export interface Plan {
  format: "racewright plan 2";
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
  couplings_mm: number[];
  checks: PlanChecks | null;
  steps: Step[];
  cautions: string[];
  measured: string[];
  findings: Finding[];
  not_included: string[];
}

/** The plan; the side view of each piece; pages of the card and of the 1:1 strip (SVG, where asked for); the card
 *  as text; the axes for a 3D view; and the worst of the findings ('' = none). `step_cautions`: what each of the
 *  plan's steps asks to take care of, and who decides; `bender_words`: which shoe's figures the marks are for;
 *  `clearances`: of the plan's obstacles; `angles`: its offsets and saddles at the usual angles; `take_up` and
 *  `gain` of the shoe (null: nothing is bent). */
export interface PlanAnswer {
  findings: Finding[];
  not_included: string[];
  cautions: string[];
  plan: Plan;
  step_cautions: string[][];
  bender_words: string;
  clearances: Clearance[];
  angles: OtherAngles[];
  take_up: Length | null;
  gain: Length | null;
  side: SidePicture[];
  card: string[];
  strip: string[];
  text: string;
  paths: Path3D[];
  worst: "" | "caution" | "info" | "problem";
}

/** Where straps go along the run, and the pulls. */
export interface PlanChecks {
  straps_mm: number[];
  pulls: PlannedPull[];
}

/** Plan a run. `pictures` are drawn along; the side view takes the size given (mm of paper). */
export interface PlanRequest {
  survey: WrittenSurvey;
  bender?: BenderRecord | null;
  bender_name?: string;
  fraction?: 1 | 2 | 4 | 8 | 16 | 32 | null;
  pictures?: ("card" | "side" | "strip")[];
  paper?: "a4" | "letter" | null;
  side_width_mm?: number;
  side_height_mm?: number;
}

/** One piece of conduit with its bends in material order. `label` is 'piece 1'. With `trim_after` the piece is cut
 *  after bending: `trim_marks` are where to cut, counted from the stock's end, and `least_stock_mm` the stock that will
 *  do (`extra_*_mm` more than the cut length at that end). `ways`: the best way first, then others with their reasons;
 *  `order_proved`: the first is proved to cost least. `run_start_mm` says where the piece begins in the whole run,
 *  `stock_mm` which stick or offcut it is cut from (0: none is long enough). `forecast` says how likely it fits,
 *  `insertion` how it goes in. */
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
  insertion: WayIn | null;
  ways: WayView[];
  order_proved: boolean;
  trim_after: boolean;
  trim_marks: TapeReading[];
  end_a: PieceEnd;
  end_b: PieceEnd;
  start: PieceStart;
  bends: MarkedBend[];
}

/** One wire pull: between which stations of the run, from which end to feed, and the tension (N). */
export interface PlannedPull {
  from_mm: number;
  to_mm: number;
  feed_from: "" | "A" | "B";
  tension_n: number;
}

/** A shape of the run. `label` is what its bends call it, `field` where the survey has it; `rise_mm` how far it
 *  leads aside, `flat_mm` the flat top of a saddle of four bends, `angle_deg` the angle of its first bend. */
export interface PlannedShape {
  kind: "box offset" | "kick" | "offset" | "rolling offset" | "saddle 3" | "saddle 4" | "turn";
  label: string;
  field: string;
  rise_mm: number;
  flat_mm: number;
  angle_deg: number;
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

/** The user's price list. Nothing is built in. `labour_rate` is money for one hour. */
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
 *  is written. `greatest_friction`: up to which it stays within its limits, fed at the better end. `from_memory`: which
 *  figures were not read in print. */
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

/** All wires of one pull: total weight, the bundle they form in this bore, its weight correction factor, the
 *  greatest tension in N and why, D/d for three equal wires (None otherwise), and which figures are from memory. */
export interface Pulled {
  count: number;
  weight_n_per_mm: number;
  widest_mm: number;
  bundle: "complex" | "cradled" | "diamond" | "pair" | "single" | "triangular";
  correction: number;
  limit_n: number;
  limit_reason: string;
  jam_ratio: number | null;
  from_memory: string[];
}

/** The cut list of one raceway. */
export interface RacewayCuts {
  raceway: string;
  plan: CutPlan;
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

/** The runs, checked. */
export interface ReadJobAnswer {
  findings: Finding[];
  not_included: string[];
  cautions: string[];
  runs: PageRun[];
}

/** A job file as decoded JSON, `{"format": "racewright job 1", "runs": [...]}`, or one survey. */
export interface ReadJobRequest {
  job: Record<string, unknown>;
}

/** The shape of every refusal: {"error": {...}}. */
export interface Refused {
  error: Trouble;
}

/** `run` and `piece` name what is bent; `made` are the bends that are; `unit` is the tape's. `met`: the end meets
 *  its fitting within the tolerance. `marks` in the order of bending. `words` say what changes, `notes` what to do with
 *  it. Findings: what of the end is not met, and what cannot be made by hand. */
export interface RemarkAnswer {
  findings: Finding[];
  not_included: string[];
  cautions: string[];
  run: string;
  piece: string;
  made: number[];
  unit: "in" | "mm";
  met: boolean;
  marks: NewMark[];
  cut: Length;
  was_cut: Length;
  gap: Gap;
  words: string[];
  notes: string[];
}

/** Some bends are made and not as planned: new marks for the rest. `cut_free`: the length can still be cut;
 *  `stock`: how long the conduit in hand is, from where end A will be ('' = the plan's cut length, or the stick where
 *  the plan cuts after bending). */
export interface RemarkRequest {
  survey?: WrittenSurvey | null;
  plan?: Record<string, unknown> | null;
  bender?: BenderRecord | null;
  bender_name?: string;
  fraction?: 1 | 2 | 4 | 8 | 16 | 32 | null;
  piece?: number;
  made: MadeReading[];
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
  roll: string;
  at?: string;
  room?: string;
  angle?: string;
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
  kind: "card.pdf" | "card.svg" | "dxf" | "gltf" | "ifc" | "strip.pdf" | "strip.svg";
  data: string;
}

/** One run. `becomes`: its status by what is known of its plan. `as_bent`: how often a bent piece was measured.
 *  `length`: the finished run along its axis, as its tape shows it. `plan` None: not planned, or not known here. */
export interface RunRow {
  run: string;
  name: string;
  area: string;
  raceway: string;
  status: "bent" | "in" | "measured" | "planned" | "wired";
  becomes: "bent" | "in" | "measured" | "planned" | "wired";
  revision: number;
  as_bent: number;
  length: string;
  plan: RunSummary | null;
}

/** How the planning of one run went. `digest` stands for everything that the plan depends on. `outcome`: 'planned';
 *  'problem', planned with a finding that is a problem; else no plan, and `message` says why ('fault': the program's
 *  own). */
export interface RunSummary {
  key: string;
  digest: string;
  outcome: "cannot be made" | "fault" | "planned" | "problem" | "refused";
  message: string;
  hint: string;
  pieces: PieceSummary[];
  problems: number;
  cautions: number;
  developed_length_mm: number;
  total_bend_deg: number;
}

/** One run of those that are ordered together. `bender` is the asker's own, else the trade's. `cut`: its conduit is
 *  cut already, so the cut list leaves it out. */
export interface RunToOrder {
  key: string;
  survey: WrittenSurvey;
  bender?: BenderRecord | null;
  cut?: boolean;
}

/** JSON Schema, draft 2020-12. */
export interface SchemaAnswer {
  findings: Finding[];
  not_included: string[];
  cautions: string[];
  survey: Record<string, unknown>;
}

/** The JSON Schema of a survey file. */
export interface SchemaRequest {
}

/** a 90 of a larger radius than the shoe's, in shots */
export interface Segmented {
  name: "segmented";
  radius: string;
  stub?: string;
  fit?: "circumscribed" | "inscribed";
  shots?: number;
}

/** Everything that is said about one shape. `counted_from` says what 0 is on the marks, `measured` what the figures
 *  are measured to; `benders` has one for each size of a rack. */
export interface ShapeAnswer {
  findings: Finding[];
  not_included: string[];
  cautions: string[];
  shape: string;
  title: string;
  tape: TapeStyle;
  benders: ShoeUsed[];
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

/** One bend: where its arc lies along the conduit; any one of its marks makes it. Roll: clockwise from A to B. */
export interface ShapeBend {
  role: string;
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

/** One shape of these readings, on a bender. `bender` is a profile of the asker's own; with neither it nor a name,
 *  the trade's shoe for the raceway. `raceway` and `size` count where no bender is given. */
export interface ShapeRequest {
  shape: Stub | BackToBack | KickAsked | OffsetAsked | BoxOffset | RollingOffset | ThreeBendSaddle | FourBendSaddle | ParallelOffset | ParallelKick | Concentric | Segmented;
  bender?: BenderRecord | null;
  bender_name?: string;
  raceway?: string;
  size?: string;
  bend_radius?: string;
  unit?: "in" | "mm";
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

/** A bender that can be named; `own` says that it is the user's, from the server's file, `problem` that a check of
 *  its figures finds one; `hook_reach_in` as a tape in inches shows it. */
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
 *  its ends and turns on the surfaces that carry it; where the readings were taken; and `wrong`: what was written
 *  and cannot be taken. */
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
}

/** The run as measured so far. A reading not taken yet is ''. */
export interface SketchRequest {
  survey: WrittenSurvey;
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

/** Pointer = A + b0 + b1 A. `terms` 1: b1 was not fitted and is 0. Standard errors; covariance of (b0, b1). */
export interface Springback {
  b0_rad: number;
  b1: number;
  terms: number;
  b0_se_rad: number;
  b1_se: number;
  covariance: number[][];
  degrees_of_freedom: number;
}

/** One step of the whole job at the bench and on the wall: with which piece (from 1), and which of its bends (None:
 *  with no one bend; piece None: a plan written before said nothing of it). */
export interface Step {
  kind: "bend" | "check" | "cut" | "insert" | "lay-out" | "loosen" | "ream" | "stock" | "strap" | "trim";
  title: string;
  detail: string;
  piece: number | null;
  bend: number | null;
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
 *  hand. `offcut`: a leftover of another job, to be used up first. `price` for one stick, where it is bought. */
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

/** A table of plain cells with a title. */
export interface Table {
  title: string;
  head: string[];
  rows: string[][];
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

/** Why there is no answer. `message` says what was asked and the limit, `hint` what would work; `field` is the
 *  path of the field in the request ('survey.run.walk[0].leg') or ''. `asked` and `limit` share `unit`.
 *  `kind`: 'input' cannot be read, 'limit' cannot be made, 'unknown name', 'missing' (a library or a run that is
 *  not there), 'engine' (a fault of the program: never the asker's). */
export interface Trouble {
  kind: "engine" | "input" | "limit" | "missing" | "unknown name";
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

/** `run` and `piece` name what is corrected. `moves` in the order in which they are made; none where the piece is
 *  within the tolerance as it is. `words` say what the moves do to the far end and what stays off, or that it is left
 *  as it is; `left_mm`, `left_deg` what stays off; `planned` and `corrected` are the axis as planned and as it will be
 *  (room, mm). */
export interface TweakAnswer {
  findings: Finding[];
  not_included: string[];
  cautions: string[];
  run: string;
  piece: string;
  moves: Correction[];
  words: string[];
  left_mm: number;
  left_deg: number;
  far_end_moves_mm: FarEnd;
  last_leg_turns_deg: number;
  planned: [number, number, number][];
  corrected: [number, number, number][];
}

/** A correction that was made on one finished piece. */
export interface TweakMade {
  piece?: number;
  moves: MoveMade[];
  by?: string;
  at?: string;
  note?: string;
}

/** The finished piece is off: what to correct. `may_spin`: it can be turned in the fitting at end A. */
export interface TweakRequest {
  survey?: WrittenSurvey | null;
  plan?: Record<string, unknown> | null;
  bender?: BenderRecord | null;
  bender_name?: string;
  fraction?: 1 | 2 | 4 | 8 | 16 | 32 | null;
  piece?: number;
  measured: (OffReading | RiseReading | LeanReading | AngleReading)[];
  may_spin?: boolean;
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

/** One straight piece to be cut: `label` is what is written on it, `run` the run that it belongs to. */
export interface WantedPiece {
  label: string;
  length_mm: number;
  run: string;
}

/** How the piece goes in between its fittings. `captured`: not as long as both stay where they are; `loosen`: the
 *  end whose fitting must give way, `slide_mm` by how much, `coupling` what kind of fitting lets it; `path_clear`: the
 *  way in clears everything; `steps` in words. */
export interface WayIn {
  captured: boolean;
  possible: boolean;
  loosen: "" | "A" | "B";
  slide_mm: number;
  coupling: string;
  path_clear: boolean;
  steps: string[];
}

/** One way to bend a piece: bend numbers in bending order, the end that the hook faces each time ('AAB'), the
 *  effort in the search's handfuls, and why in plain words. */
export interface WayView {
  order: number[];
  hooks: string;
  effort: number;
  reasons: string[];
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

/** Do `wires` go into `raceway` of `trade_size`, and how many of the wire `more` ('12 THHN') beside them. */
export interface WiresFitRequest {
  edition?: string;
  raceway: string;
  trade_size: string;
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

/** The small offset between a knockout's height and the strap's height. `rise` is worked out when left away. */
export interface WrittenBoxOffset {
  rise?: string | number | null;
  toward?: "away" | "toward";
  starts_at?: string | number | null;
  done_by?: string | number | null;
  angle?: string | number;
  name?: string;
}

/** Temperatures for the run's growth over the year: `lowest` and `highest` air, and the conduit's own when it is put
 *  up (`install`): '-10 C', '95 F', plain numbers in F with inches and in C with mm. `sun`: it lies in direct sun. */
export interface WrittenClimate {
  lowest: string | number;
  highest: string | number;
  install: string | number;
  sun?: boolean;
}

/** One thing met along a leg: exactly one of these. */
export interface WrittenFeature {
  saddle?: WrittenSaddle | null;
  offset?: WrittenOffset | null;
  box_offset?: WrittenBoxOffset | null;
  kick?: WrittenKick | null;
  keep_clear?: WrittenObstacle | null;
}

/** What stands at an end of the run. `fitting`: set-screw, compression, threaded, socket or none (a free end).
 *  `insertion`: how far the conduit goes in past the face; `height`: the knockout's centre above the surface;
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
 *  those on hand; `wires` like '3 x 12 THHN'; `surface` and `going` (on a wall, as one faces it) say which way is
 *  down. */
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
  accuracy?: WrittenAccuracy;
  wires?: string[];
  climate?: WrittenClimate | null;
  surface?: "ceiling" | "floor" | "wall";
  going?: "down" | "left" | "right" | "up";
}

/** Up and over something whose middle lies at tape reading `centre`. Give the thing (`over`, `height`, `width`,
 *  `lift`) or the bare `rise`. `height` is its top above the surface, `lift` its underside above the surface (left
 *  away: 0, or for a round thing what height and width leave); for a saddle to the left or right `reach` is how far it
 *  comes past the conduit's centreline. */
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

/** Every operation: what goes in and what comes out. */
export interface Operations {
  /** raceways, benders, units to choose from */
  catalogue: { request: CatalogueRequest; answer: Catalogue };
  /** plan a surveyed run, with pictures */
  plan: { request: PlanRequest; answer: PlanAnswer };
  /** the run as measured so far, for a picture */
  sketch: { request: SketchRequest; answer: SketchAnswer };
  /** a surveyed run against the code's articles */
  check: { request: CheckRequest; answer: CheckAnswer };
  /** a surveyed run as files to print, or as a model */
  export: { request: ExportRequest; answer: ExportAnswer };
  /** pages of the bend card or the 1:1 strip */
  card: { request: CardRequest; answer: CardAnswer };
  /** read a length as a person writes it */
  parse_length: { request: LengthRequest; answer: LengthAnswer };
  /** the benders that can be named */
  benders: { request: BendersRequest; answer: BendersAnswer };
  /** what a bender's numbers mean, and what a check says */
  bender: { request: BenderRequest; answer: BenderAnswer };
  /** a bender's constants from test bends */
  calibrate: { request: CalibrateRequest; answer: BenderAnswer };
  /** one bend shape: exact marks, the rule of thumb beside them */
  shape: { request: ShapeRequest; answer: ShapeAnswer };
  /** an offset or saddle at several angles */
  choices: { request: ChoicesRequest; answer: ChoicesAnswer };
  /** the bent piece is off: what to correct */
  tweak: { request: TweakRequest; answer: TweakAnswer };
  /** some bends are made: new marks for the rest */
  remark: { request: RemarkRequest; answer: RemarkAnswer };
  /** several finished pieces: what the shoe or the tape does wrong */
  diagnose: { request: DiagnoseRequest; answer: DiagnoseAnswer };
  /** problems with worked answers */
  practice: { request: PracticeRequest; answer: PracticeSheet };
  /** what to buy for several runs, how to cut it */
  order: { request: OrderRequest; answer: OrderAnswer };
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
  /** how far each of several jobs is */
  jobs: { request: JobsRequest; answer: JobsAnswer };
  /** how far every run of a job is */
  job_status: { request: JobStatusRequest; answer: JobStatusAnswer };
  /** every run of a job planned */
  job_plan: { request: JobPlanRequest; answer: JobPlanAnswer };
  /** one run of a job, with its card */
  job_run: { request: JobRunRequest; answer: JobRunAnswer };
  /** what was measured on a bent piece, added to its run */
  job_record: { request: JobRecordRequest; answer: JobRecordAnswer };
  /** what a job needs */
  job_bill: { request: JobBillRequest; answer: JobBillAnswer };
  /** the cut list of a job */
  job_cut: { request: JobCutRequest; answer: JobCutAnswer };
  /** a job as one document to hand over */
  job_pack: { request: JobPackRequest; answer: JobPackAnswer };
  /** a job as model files */
  job_models: { request: JobModelsRequest; answer: JobModelsAnswer };
  /** the JSON Schema of a survey file */
  schema: { request: SchemaRequest; answer: SchemaAnswer };
}

export type OperationName = keyof Operations;

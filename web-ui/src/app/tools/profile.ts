/** A tool as a form has it, and as the engine takes it; what another tool changes of a plan. No screen in here. */
import { BENDER_FIGURES, type BenderRecord, type Finding, type PlanAnswer, type Trouble } from '../../engine/types';
import { fromKeyed, numberOf, type Unit } from '../../text/lengths';
import { t } from '../../text/words';

export type Figure = (typeof BENDER_FIGURES)[number]['field'];
type Texts = Readonly<Record<Figure, string>>;

export interface Draft {
  /** '' for a new one. */
  id: string;
  name: string;
  raceway: string;
  unit: Unit;
  /** As they stand in the form, and as they were kept: what nobody changed stays exactly that, in whatever unit it is shown. */
  texts: Texts;
  given: Texts;
}

const FIGURES = BENDER_FIGURES.map(({ field }) => field);
/** Lengths, which the keypad takes. */
export const LENGTHS = FIGURES.filter((field) => field !== 'standing' && !isNumber(field));
/** What a hand shoe seldom needs. */
export const SELDOM: readonly Figure[] = ['lead', 'centre', 'star', 'springback_b0_deg', 'springback_b1', 'standing'];

export function isNumber(field: Figure): boolean {
  return BENDER_FIGURES.some((one) => one.field === field && one.type === 'number');
}

const UNIT = { in: /\s*(?:in|")$/, mm: /\s*mm$/ };

const MM_PER_INCH = 25.4;
const SIXTY_FOURTHS = 64;

/** A length with its unit, as this tape says it: a fraction where it falls on one. What is neither in inches nor in mm stays as it is. */
export function onTape(text: string, unit: Unit): string {
  if (UNIT[unit].test(text)) return text.replace(UNIT[unit], '');
  const [other, times] = unit === 'in' ? [UNIT.mm, 1 / MM_PER_INCH] : [UNIT.in, MM_PER_INCH];
  const value = other.test(text) ? numberOf(text.replace(other, '')) : null;
  if (value === null) return text;
  const parts = value * times * SIXTY_FOURTHS;
  const onLine = unit === 'in' && value > 0 && Math.abs(parts - Math.round(parts)) < 0.003;
  if (!onLine) return String(Math.round(value * times * 1e4) / 1e4);
  const whole = Math.floor(Math.round(parts) / SIXTY_FOURTHS);
  return fromKeyed({ whole: whole ? String(whole) : '', sixteenths: (Math.round(parts) - whole * SIXTY_FOURTHS) / 4 });
}

/** A tool's figures in a form, on this tape (without one on that which they were kept on), without its unit. */
export function draftOf(id: string, name: string, profile: Partial<BenderRecord>, tape?: Unit): Draft {
  const kept = (field: Figure): string => {
    const text = String(profile[field] ?? '');
    return LENGTHS.includes(field) && /\d$/.test(text) ? `${text} in` : text; // as the engine reads one without a unit
  };
  const given = Object.fromEntries(FIGURES.map((field) => [field, kept(field)])) as unknown as Texts;
  const unit: Unit = tape ?? (LENGTHS.some((field) => UNIT.mm.test(given[field])) ? 'mm' : 'in');
  const texts = Object.fromEntries(FIGURES.map((field) => [field, shown(given, field, unit)])) as unknown as Texts;
  return { id, name, raceway: [profile.raceway, profile.size].filter(Boolean).join(' '), unit, texts, given };
}

const shown = (given: Texts, field: Figure, unit: Unit): string => (LENGTHS.includes(field) ? onTape(given[field], unit) : given[field]);
const isAsGiven = ({ given, texts, unit }: Draft, field: Figure): boolean => texts[field] === shown(given, field, unit);

/** The same on another tape: what was typed stays as it was typed. */
export function onOtherTape(draft: Draft, unit: Unit): Draft {
  const texts = Object.fromEntries(FIGURES.map((field) => [field, isAsGiven(draft, field) ? shown(draft.given, field, unit) : draft.texts[field]])) as unknown as Texts;
  return { ...draft, unit, texts };
}

/** The numbers of a form that are none. */
export const noNumbers = ({ texts }: Draft): Figure[] => FIGURES.filter((field) => isNumber(field) && texts[field].trim() !== '' && numberOf(texts[field]) === null);

/** What the engine is asked about, and what is kept where it comes back. */
export function recordOf(draft: Draft): BenderRecord {
  const [kind = '', ...size] = draft.raceway.trim().split(/\s+/);
  const texts = Object.fromEntries(FIGURES.map((field) => [field, isAsGiven(draft, field) ? draft.given[field] : draft.texts[field]])) as unknown as Texts;
  const given = FIGURES.filter((field) => texts[field].trim() !== '').map((field) => [field, isNumber(field) ? numberOf(texts[field]) : texts[field].trim()]);
  return { raceway: kind, size: size.join(' '), ...Object.fromEntries(given) };
}

/** At which field of the form a refusal stands: 'bender.take_up' at `take_up`; '' for none of them. */
export function fieldOf({ field }: Pick<Trouble, 'field'>): Figure | 'name' | 'raceway' | '' {
  const last = (field ?? '').split('.').pop() ?? '';
  if (last === 'name' || last === 'bender_name') return 'name';
  if (last === 'raceway' || last === 'size') return 'raceway';
  return FIGURES.find((one) => one === last) ?? '';
}

/** Refusals and findings that a tool's figures decide, each with the figure to look at first. */
const BY_QUANTITY: Readonly<Record<string, Figure | 'new'>> = { 'hand shoe': 'new', 'stretch without a coupling': 'grip', rise: 'hook_reach' };
const BY_RULE: Readonly<Record<string, Figure>> = {
  'bend.order': 'grip',
  'run.radius': 'radius',
  'bender.radius': 'radius',
  'bender.pair': 'gain',
  'bender.numbers': 'take_up',
  'bender.lead': 'take_up',
  'bender.raceway': 'take_up',
  'bender.absurd': 'hook_reach',
  'bender.springback': 'springback_b0_deg',
};

/** The figure of the tool that a refusal or a finding hangs on; 'new': a tool is wanted that is not there; '' for none. */
export function figureOf(told: Partial<Pick<Trouble, 'field' | 'quantity'> & Pick<Finding, 'rule' | 'severity'>>): Figure | 'new' | '' {
  if (told.rule !== undefined) return told.severity === 'info' ? '' : (BY_RULE[told.rule] ?? '');
  if (/^bender(_name|\.|$)/.test(told.field ?? '')) return fieldOf({ field: told.field ?? '' }) as Figure | '' || 'take_up';
  return BY_QUANTITY[told.quantity ?? ''] ?? '';
}

/** The address of a figure of a tool; of a form for a new one. */
export const toolHash = (tool: string, figure = ''): string => `#/tools/${[tool, figure].filter(Boolean).join('/')}`;

export interface Change {
  what: string;
  was: string;
  becomes: string;
}

/** Every line, length and pointer angle that another tool moves. */
export function changesOf(before: PlanAnswer | null, after: PlanAnswer): Change[] {
  const [one, two] = [before ? linesOf(before) : new Map<string, string>(), linesOf(after)];
  return [...new Set([...one.keys(), ...two.keys()])].map((what) => ({ what, was: one.get(what) ?? t.tools.nothing, becomes: two.get(what) ?? t.tools.nothing })).filter(({ was, becomes }) => was !== becomes);
}

function linesOf({ plan, bench }: PlanAnswer): Map<string, string> {
  const out = new Map<string, string>();
  plan.pieces.forEach((piece, i) => {
    const words = bench[i]!;
    const of = (what: string): string => (plan.pieces.length > 1 ? t.tools.ofPiece(piece.label, what) : what);
    out.set(of(t.tools.cut), words.length.tape);
    for (const { name, at, is_cut } of words.lines) out.set(of(is_cut ? t.tools.line(name) : t.tools.mark(name)), at.tape);
    piece.bends.forEach((bend, k) => out.set(of(t.tools.pointer(String(bend.number))), words.bends[k]!.bend_to));
  });
  return out;
}

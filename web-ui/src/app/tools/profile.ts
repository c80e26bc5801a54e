/** A tool as a form has it, and as the engine takes it; what another tool changes of a plan. No screen in here. */
import { BENDER_FIGURES, type BenderRecord, type Finding, type PlanAnswer, type Trouble } from '../../engine/types';
import { numberOf, type Unit } from '../../text/lengths';
import { t } from '../../text/words';

export type Figure = (typeof BENDER_FIGURES)[number]['field'];
type Texts = Readonly<Record<Figure, string>>;

export interface Draft {
  /** '' for a new one. */
  id: string;
  name: string;
  raceway: string;
  unit: Unit;
  texts: Texts;
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

/** A tool's figures in a form, without the unit that most of them have. */
export function draftOf(id: string, name: string, profile: Partial<BenderRecord>): Draft {
  const text = (field: Figure): string => String(profile[field] ?? '');
  const unit: Unit = LENGTHS.some((field) => UNIT.mm.test(text(field))) ? 'mm' : 'in';
  const bare = (field: Figure): string => (LENGTHS.includes(field) ? text(field).replace(UNIT[unit], '') : text(field));
  const texts = Object.fromEntries(FIGURES.map((field) => [field, bare(field)])) as unknown as Texts;
  return { id, name, raceway: [profile.raceway, profile.size].filter(Boolean).join(' '), unit, texts };
}

/** The numbers of a form that are none. */
export const noNumbers = ({ texts }: Draft): Figure[] => FIGURES.filter((field) => isNumber(field) && texts[field].trim() !== '' && numberOf(texts[field]) === null);

/** What the engine is asked about, and what is kept where it comes back. */
export function recordOf({ raceway, texts }: Draft): BenderRecord {
  const [kind = '', ...size] = raceway.trim().split(/\s+/);
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

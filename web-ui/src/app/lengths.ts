/** Lengths as written and as read on a tape. Marks come from the engine; this serves the sketch and the fields. */
export type Unit = 'in' | 'mm';
export const IN = 25.4;

const UNITS: Record<string, number> = {
  in: IN, inch: IN, inches: IN, '"': IN, ft: 304.8, foot: 304.8, feet: 304.8, "'": 304.8, mm: 1, cm: 10, m: 1000,
};
const NUMBER =
  /^(?:([0-9]{1,9})\s*\/\s*([0-9]{1,9})|([0-9]{1,12}\.[0-9]{0,12}|\.[0-9]{1,12})|([0-9]{1,12})(?:(?:\s*-\s*|\s+)([0-9]{1,9})\s*\/\s*([0-9]{1,9}))?)/;
const VULGAR: Record<string, string> = {
  '½': '1/2', '¼': '1/4', '¾': '3/4', '⅛': '1/8', '⅜': '3/8', '⅝': '5/8', '⅞': '7/8',
};
/** A run longer than this is a slip of the pen; a finer fraction than this is on no tape. As in the engine. */
const ABSURD_MM = 1e6;
const MOST_DENOMINATOR = 1e6;

/** mm of a written length, or null where it is none: '441/2' is none, a space is missing. Reads as the engine does:
 * both are tested on tests/unit/length_cases.json. */
export function parseLength(text: string, unit: Unit): number | null {
  let rest = text
    .replace(/[″”“]/g, '"').replace(/[′’‘]/g, "'").replace(/⁄/g, '/').replace(/–/g, '-')
    .replace(/[½¼¾⅛⅜⅝⅞]/g, (glyph) => ` ${VULGAR[glyph]!}`)
    .trim()
    .replace(/^\+\s*/, '');
  if (!rest) return null;
  let total = 0;
  let last = 0;
  while (rest) {
    const m = NUMBER.exec(rest);
    if (!m) return null;
    const [num, den] = [m[1] ?? m[5], m[2] ?? m[6]];
    let value = Number(m[3] ?? m[4] ?? 0);
    if (num !== undefined && den !== undefined) {
      if (Number(num) >= Number(den) || Number(den) > MOST_DENOMINATOR) return null;
      value += Number(num) / Number(den);
    }
    rest = rest.slice(m[0].length);
    const u = /^\s*(inches|inch|in\b|feet|foot|ft\b|mm\b|cm\b|m\b|"|')\.?/i.exec(rest);
    let factor = last ? IN : unit === 'in' ? IN : 1;
    if (u) {
      factor = UNITS[u[1]!.toLowerCase()]!;
      rest = rest.slice(u[0].length);
    } else if (rest.trim()) return null;
    if (last && !(last === 304.8 && factor === IN)) return null;
    last = factor;
    total += value * factor;
    rest = rest.replace(/^\s*(-\s*(?=[0-9]))?/, '');
  }
  return total <= ABSURD_MM ? total : null;
}

export interface Reading {
  sign: string;
  whole: string;
  num: string;
  den: string;
}

/** '19 3/4' taken apart; a reading in mm has no fraction. */
export function takeApart(text: string): Reading {
  const m = /^(-?)(?:(\d+(?:\.\d+)?))?(?:\s*(\d+)\/(\d+))?$/.exec(text.trim());
  if (!m) return { sign: '', whole: text, num: '', den: '' };
  const lone = m[2] !== undefined && m[3] !== undefined && !/\s/.test(text.trim());
  if (lone) {
    const p = /^(-?)(\d+)\/(\d+)$/.exec(text.trim());
    if (p) return { sign: p[1]!, whole: '', num: p[2]!, den: p[3]! };
  }
  return { sign: m[1] ?? '', whole: m[2] ?? '', num: m[3] ?? '', den: m[4] ?? '' };
}

function divisor(a: number, b: number): number {
  return b ? divisor(b, a % b) : a;
}

/** A length as the tape shows it: '19 3/4' or '502'. */
export function readTape(mm: number, unit: Unit, parts = 16): string {
  const sign = mm < 0 ? '-' : '';
  const size = Math.abs(mm);
  if (unit === 'mm') return sign + String(Math.round(size));
  const steps = Math.round((size / IN) * parts);
  const whole = Math.floor(steps / parts);
  const rest = steps % parts;
  if (steps === 0) return '0';
  if (!rest) return sign + String(whole);
  const g = divisor(rest, parts);
  const fraction = `${rest / g}/${parts / g}`;
  return sign + (whole ? `${whole} ${fraction}` : fraction);
}

/** With its unit: '19 3/4 in', '502 mm'. */
export const withUnit = (text: string, unit: Unit): string => `${text} ${unit}`;

/** For a screen reader: '19 and 3/4 inches'. */
export function spoken(text: string, unit: Unit): string {
  const r = takeApart(text);
  const word = unit === 'in' ? 'inches' : 'millimetres';
  if (!r.num) return `${text} ${word}`;
  return `${r.sign ? 'minus ' : ''}${r.whole ? `${r.whole} and ` : ''}${r.num}/${r.den} ${word}`;
}

/** The keypad's state: what is typed before the fraction, and sixteenths switched on. */
export interface Keyed {
  whole: string;
  sixteenths: number;
}

export function toKeyed(text: string, unit: Unit): Keyed | null {
  const trimmed = text.trim();
  if (!trimmed) return { whole: '', sixteenths: 0 };
  if (unit === 'mm') return /^\d*\.?\d*$/.test(trimmed) ? { whole: trimmed, sixteenths: 0 } : null;
  const r = takeApart(trimmed);
  if (r.sign || !/^\d*$/.test(r.whole)) return null;
  const part = r.num ? (Number(r.num) / Number(r.den)) * 16 : 0;
  return Number.isInteger(part) && part < 16 ? { whole: r.whole, sixteenths: part } : null;
}

export function fromKeyed(keyed: Keyed): string {
  if (!keyed.sixteenths) return keyed.whole;
  const g = divisor(keyed.sixteenths, 16);
  const fraction = `${keyed.sixteenths / g}/${16 / g}`;
  const whole = keyed.whole.replace(/^0+/, '');
  return whole ? `${whole} ${fraction}` : fraction;
}

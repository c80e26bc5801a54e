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
export const parseLength = (text: string, unit: Unit): number | null => read(text, unit).mm;

/** What was most likely meant by a fraction of 1 or more: '441/2' -> '44 1/2'; empty for anything else. */
export const meantBy = (text: string, unit: Unit): string[] => read(text, unit).meant;

interface Read {
  mm: number | null;
  meant: string[];
}
const NONE: Read = { mm: null, meant: [] };

function read(text: string, unit: Unit): Read {
  let rest = text
    .replace(/[″”“]/g, '"').replace(/[′’‘]/g, "'").replace(/⁄/g, '/').replace(/–/g, '-')
    .replace(/[½¼¾⅛⅜⅝⅞]/g, (glyph) => ` ${VULGAR[glyph]!}`)
    .trim()
    .replace(/^\+\s*/, '');
  if (!rest) return NONE;
  let total = 0;
  let last = 0;
  while (rest) {
    const m = NUMBER.exec(rest);
    if (!m) return NONE;
    const [num, den] = [m[1] ?? m[5], m[2] ?? m[6]];
    let value = Number(m[3] ?? m[4] ?? 0);
    if (num !== undefined && den !== undefined) {
      if (Number(den) === 0 || Number(den) > MOST_DENOMINATOR) return NONE;
      if (Number(num) >= Number(den)) return m[4] === undefined ? { mm: null, meant: meantByFraction(num, den) } : NONE;
      value += Number(num) / Number(den);
    }
    rest = rest.slice(m[0].length);
    const u = /^\s*(inches|inch|in\b|feet|foot|ft\b|mm\b|cm\b|m\b|"|')\.?/i.exec(rest);
    let factor = last ? IN : unit === 'in' ? IN : 1;
    if (u) {
      factor = UNITS[u[1]!.toLowerCase()]!;
      rest = rest.slice(u[0].length);
    } else if (rest.trim()) return NONE;
    if (last && !(last === 304.8 && factor === IN)) return NONE;
    last = factor;
    total += value * factor;
    rest = rest.replace(/^\s*(-\s*(?=[0-9]))?/, '');
  }
  return { mm: total <= ABSURD_MM ? total : null, meant: [] };
}

/** A whole number split off the front where that leaves a fraction below 1, and what it comes to where that is close by. */
function meantByFraction(num: string, den: string): string[] {
  const out: string[] = [];
  for (let cut = 1; cut < num.length; cut += 1) {
    if (num[0] !== '0' && num[cut] !== '0' && Number(num.slice(cut)) < Number(den)) out.push(`${num.slice(0, cut)} ${num.slice(cut)}/${den}`);
  }
  const [n, d] = [Number(num), Number(den)];
  const whole = Math.floor(n / d);
  const g = divisor(n % d, d);
  const comesTo = n % d ? `${whole} ${(n % d) / g}/${d / g}` : String(whole);
  if ((whole < 2 || !out.length) && !out.includes(comesTo)) out.push(comesTo);
  return out;
}

export interface Reading {
  sign: string;
  whole: string;
  num: string;
  den: string;
}

/** '19 3/4' taken apart; a reading in mm has no fraction, and '441/2' is none that a tape shows. */
export function takeApart(text: string): Reading {
  const m = /^(-?)(?:(\d+(?:\.\d+)?))?(?:\s*(\d+)\/(\d+))?$/.exec(text.trim());
  if (!m || (m[3] !== undefined && parseLength(text.replace('-', ''), 'in') === null)) return { sign: '', whole: text, num: '', den: '' };
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
  const word = unit === 'in' ? 'inches' : 'millimeters';
  if (!r.num) return `${text} ${word}`;
  return `${r.sign ? 'minus ' : ''}${r.whole ? `${r.whole} and ` : ''}${r.num}/${r.den} ${word}`;
}

/** The keypad's state: what is typed before the fraction, and sixteenths switched on (2.5 for 5/32). */
export interface Keyed {
  whole: string;
  sixteenths: number;
}

/** Whatever reads as a length can be added to by the fraction's keys; null for what does not. */
export function toKeyed(text: string, unit: Unit): Keyed | null {
  const trimmed = text.trim();
  if (!trimmed) return { whole: '', sixteenths: 0 };
  if (unit === 'mm') return /^\d*\.?\d*$/.test(trimmed) ? { whole: trimmed, sixteenths: 0 } : null;
  const mm = parseLength(trimmed, unit);
  if (mm === null) return null;
  const inches = Math.round((mm / IN) * 1e6) / 1e6;
  const whole = Math.floor(inches);
  return { whole: whole || trimmed.startsWith('0') ? String(whole) : '', sixteenths: Math.round((inches - whole) * 16e6) / 1e6 };
}

export function fromKeyed(keyed: Keyed): string {
  if (!keyed.sixteenths) return keyed.whole;
  const whole = keyed.whole.replace(/^0+/, '');
  const per = [1, 2, 4, 8].find((n) => Number.isInteger(keyed.sixteenths * n));
  if (per === undefined) return String(Math.round((Number(whole) + keyed.sixteenths / 16) * 1e5) / 1e5); // on no tape
  const [num, den] = [keyed.sixteenths * per, 16 * per];
  const g = divisor(num, den);
  const fraction = `${num / g}/${den / g}`;
  return whole ? `${whole} ${fraction}` : fraction;
}

/** The text after a tap on the key of `bit` sixteenths: on, or off where it is on. What is no length stays as it is. */
export function withBit(text: string, bit: number): string {
  const keyed = toKeyed(text, 'in');
  if (!keyed) return text;
  const on = (keyed.sixteenths & bit) !== 0;
  return fromKeyed({ whole: keyed.whole, sixteenths: keyed.sixteenths + (on ? -bit : bit) });
}

/** The text after a tap on a digit or the point: into the whole inches, or on to whatever else stands there. */
export function withDigit(text: string, digit: string, unit: Unit): string {
  const keyed = /^[\d\s/-]*$|^\d*\.?\d*$/.test(text.trim()) ? toKeyed(text, unit) : null;
  if (!keyed || (unit === 'in' && text.includes('.'))) return text + digit;
  const { whole, sixteenths } = keyed;
  if (digit === '.' && (unit === 'in' || whole.includes('.'))) return text;
  if (whole.replace('.', '').length > 5) return text;
  return fromKeyed({ whole: whole === '0' && digit !== '.' ? digit : whole + digit, sixteenths });
}

/** Lengths as a tape shows them: taken apart to be drawn, spoken, and added to by the keypad. The engine reads them. */
import type { WrittenSurvey } from '../engine/types';

export type Unit = NonNullable<WrittenSurvey['units']>;

export interface Reading {
  sign: string;
  whole: string;
  num: string;
  den: string;
}

/** '19 3/4', '19-3/4' or '-3/8' taken apart; a reading in mm has no fraction. Anything else, as '441/2', stays whole. */
export function takeApart(text: string): Reading {
  const m = /^(-?)(?:(\d+(?:\.\d+)?))?(?:(?:^|\s+|(?<=^-)|(?<=\d)\s*-\s*)(\d+)\/(\d+))?$/.exec(text.trim());
  if (!m || (m[3] !== undefined && Number(m[3]) >= Number(m[4]))) return { sign: '', whole: text, num: '', den: '' };
  return { sign: m[1] ?? '', whole: m[2] ?? '', num: m[3] ?? '', den: m[4] ?? '' };
}

/** Whether a text is drawn as a tape reading: a number, a fraction below 1, or both; else it is shown as typed. */
export const isPlain = (text: string): boolean => {
  const { sign, whole, num } = takeApart(text);
  return sign === '' && (num !== '' || /^\d+(\.\d+)?$/.test(whole.trim()));
};

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

const INCHES = /^(?:(\d{1,4})\s*(?:'|ft)[\s-]*)?(?:(\d{0,6}\.\d{0,6}|\d{1,6}(?!\d*\/))(?:\s*-\s*(?=\d)|\s+|$|(?=")))?(?:(\d{1,3})\/(\d{1,3}))?\s*(?:"|in)?$/;

const GLYPHS: Readonly<Record<string, string>> = { '½': ' 1/2', '¼': ' 1/4', '¾': ' 3/4', '⅛': ' 1/8', '⅜': ' 3/8', '⅝': ' 5/8', '⅞': ' 7/8', '⁄': '/', '′': "'", '″': '"' };

/** What a phone's own keyboard writes, in plain signs: '26½' as '26 1/2', '26,5' as '26.5'; a comma that may part thousands stays. */
const plainly = (text: string): string =>
  text.replace(/[½¼¾⅛⅜⅝⅞⁄′″]/g, (sign) => GLYPHS[sign] ?? sign).replace(/^\s*(?![1-9]\d{0,2},\d{3}\s*$)(\d*),(\d+)\s*$/, '$1.$2').trim();

/** A number or degrees as a person writes them: '22 1/2', '22½', '22,5'; null for what is no number. */
export function numberOf(text: string): number | null {
  const { sign, whole, num, den } = takeApart(plainly(text));
  const value = (whole ? Number(whole) : num ? 0 : NaN) + (num ? Number(num) / Number(den) : 0);
  return Number.isFinite(value) ? (sign ? -value : value) : null;
}

/** Inches, or feet and inches, that the fraction's keys can add to; null for anything else: the engine reads that. */
export function toKeyed(text: string, unit: Unit): Keyed | null {
  const trimmed = plainly(text);
  if (!trimmed) return { whole: '', sixteenths: 0 };
  if (unit === 'mm') return /^\d{0,6}(\.\d*)?$/.test(trimmed) ? { whole: trimmed, sixteenths: 0 } : null;
  const m = INCHES.exec(trimmed);
  if (!m || (m[3] !== undefined && Number(m[3]) >= Number(m[4])) || !/\d/.test(trimmed)) return null;
  if (m[2]?.includes('.') && m[3] !== undefined) return null;
  const inches = Math.round((Number(m[1] ?? 0) * 12 + Number(m[2] ?? 0) + Number(m[3] ?? 0) / Number(m[4] ?? 1)) * 1e6) / 1e6;
  const whole = Math.floor(inches);
  return { whole: whole || trimmed.startsWith('0') ? String(whole) : '', sixteenths: Math.round((inches - whole) * 16e6) / 1e6 };
}

export function fromKeyed(keyed: Keyed): string {
  if (!keyed.sixteenths) return keyed.whole;
  const whole = keyed.whole.replace(/^0+/, '');
  let [num, den] = [keyed.sixteenths, 16];
  for (; !Number.isInteger(num) && den < 128; den *= 2) num *= 2;
  if (!Number.isInteger(num)) return String(Math.round((Number(whole) + keyed.sixteenths / 16) * 1e5) / 1e5); // on no tape
  for (; num % 2 === 0; den /= 2) num /= 2;
  return whole ? `${whole} ${num}/${den}` : `${num}/${den}`;
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

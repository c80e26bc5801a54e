/** A question of `engine/forms` and what stands in it: from the person, else from the run at hand. No screen, no engine. */
import type { Form, FormField } from '../../engine/forms';
import type { BenderRecord, PlanAnswer } from '../../engine/types';
import { isPlain, numberOf, type Unit } from '../../text/lengths';
import type { Survey } from '../kept/survey';

/** Text; the lines of a list; 'yes' and 'no' of a switch. */
export type Value = string | readonly string[];
export type Written = Readonly<Record<string, Value>>;

/** What a run at hand is known to have, by what a field is of. */
export type Facts = Readonly<Record<string, Value>>;

/** A bender that the run is put on, or one that the engine knows by name. */
export interface Tool {
  bender?: BenderRecord;
  bender_name?: string;
}

/** The person's choice of a bender, where it is that of the run. */
export const RUNS_OWN = 'of this run';

export function factsOf(survey: Survey, plan: PlanAnswer['plan'] | null): Facts {
  const at = survey.run.raceway.indexOf(' ');
  const [type, size] = [survey.run.raceway.slice(0, at), survey.run.raceway.slice(at + 1)];
  const path = plan?.checks?.path ?? '';
  const wires = survey.run.wires ?? [];
  const known: Record<string, Value> = { 'raceway types': type, 'trade sizes': size };
  if (wires.length) known['wires'] = wires;
  if (path) known['parts'] = path.split(', ');
  const [wire, ...others] = new Set(wires.flatMap((line) => line.split(',')).map((one) => one.replace(/^\s*\d+\s*x\s*/i, '').trim()).filter(Boolean));
  if (wire && !others.length && /^[\d/]+ (?!bare)/i.test(wire)) known['wire'] = wire;
  const radius = survey.run.bend_radius ?? '';
  if (radius) known['bend radius'] = isPlain(radius) ? `${radius} ${survey.units}` : radius;
  return known;
}

/** The length of the run at hand where a circuit's is asked for: a part of it, never the whole. */
export const partOfIt = (field: FormField, plan: PlanAnswer['plan'] | null): string => (field.of === 'distance' && plan?.checks?.length) || '';

/** What a field says: as the person wrote it, else as the run has it. */
export const fact = (field: FormField, facts: Facts): Value => facts[field.of ?? ''] ?? '';
export const valueOf = (field: FormField, written: Written, facts: Facts): Value => written[field.name] ?? fact(field, facts);
export const linesOf = (value: Value): string[] => (typeof value === 'string' ? [value] : [...value]).flatMap((line) => line.split(',')).map((line) => line.trim()).filter(Boolean);
const textOf = (value: Value): string => (typeof value === 'string' ? value.trim() : linesOf(value).join(', '));

/** How many fields stand in the open: all up to the last that has to be said or is a list, and at least four. */
export function openFields(form: Form, written: Written, facts: Facts): { open: FormField[]; more: FormField[] } {
  const last = form.fields.reduce((found, field, i) => (field.required || field.kind === 'list' ? Math.max(found, i) : found), 3);
  const open = form.fields.filter((field, i) => i <= last || textOf(valueOf(field, written, facts)) !== '');
  return { open, more: form.fields.filter((field) => !open.includes(field)) };
}

const NUMERIC = /^[\d.,/½¼¾⅛⅜⅝⅞\s-]+$/;

/** A bare length or distance with its unit. */
function united(field: FormField, text: string, unit: Unit): string {
  if (field.kind === 'distance') return NUMERIC.test(text) ? `${text} ${unit === 'in' ? 'ft' : 'm'}` : text;
  return isPlain(text) ? `${text} ${unit}` : text;
}

/** Another tape from now on: what was written bare keeps the unit that it was written in. */
export function inUnit(form: Form, written: Written, was: Unit, unit: Unit): Written {
  const kept: Record<string, Value> = { ...written, unit };
  for (const field of [...form.fields, ...form.beside]) {
    const text = textOf(written[field.name] ?? '');
    if (text && ['length', 'distance'].includes(field.kind)) kept[field.name] = united(field, text, was);
  }
  return kept;
}

const asks = (form: Form, name: string): boolean => form.beside.some((field) => field.name === name);

export type Wrong = Readonly<Record<string, 'needed' | 'number'>>;
export type Asked = { request: Record<string, unknown> } | { wrong: Wrong };

/** What goes to the engine; or which fields are lacking, or no number. */
export function requestOf(form: Form, written: Written, facts: Facts, unit: Unit, tool: Tool): Asked {
  const wrong: Record<string, 'needed' | 'number'> = {};
  const take = (fields: readonly FormField[], from: Facts): Record<string, unknown> => {
    const taken: Record<string, unknown> = {};
    for (const field of fields) {
      if (field.kind === 'bender' || field.name === 'unit') continue;
      const text = textOf(valueOf(field, written, from));
      if (field.required && !text) wrong[field.name] = 'needed';
      if (!text) continue;
      if (field.kind === 'switch') taken[field.name] = text === 'yes';
      else if (field.kind === 'list') taken[field.name] = linesOf(valueOf(field, written, from));
      else if (field.kind === 'number' || field.numbers) {
        const number = numberOf(text);
        if (number === null) wrong[field.name] = 'number';
        else taken[field.name] = number;
      } else taken[field.name] = ['length', 'distance'].includes(field.kind) && !asks(form, 'unit') ? united(field, text, unit) : text;
    }
    return taken;
  };
  const own = take(form.fields, facts);
  // a bender has its raceway and size: only what the person wrote goes along with it
  const named = Object.keys(tool).length > 0;
  const beside = take(form.beside, named ? {} : facts);
  if (Object.keys(wrong).length) return { wrong };
  if (!form.under) return { request: own };
  const name = form.key.slice(form.operation.length + 1);
  return { request: { ...beside, ...tool, unit, [form.under]: { name, ...own } } };
}

/** The readings of a question in a line, as a note keeps them. */
export function askedWords(form: Form, written: Written, facts: Facts): string {
  const said = form.fields.flatMap((field) => {
    const text = textOf(valueOf(field, written, facts));
    if (!text || text === 'no') return [];
    return field.kind === 'switch' ? [field.label] : [`${field.label} ${text}${field.unit && NUMERIC.test(text) ? ` ${field.unit}` : ''}`];
  });
  return said.join('; ');
}

/** An error's words with the field as the form calls it, and which field it is. */
export function atField(form: Form, words: string, path: string): { name: string; words: string } {
  const inside = form.under && path.startsWith(`${form.under}.`) ? path.slice(form.under.length + 1) : path;
  const name = /^\w+/.exec(inside)?.[0] ?? '';
  const field = [...form.fields, ...form.beside].find((one) => one.name === name);
  const told = field && words.startsWith(path) ? words.slice(path.length).replace(/^:\s*/, '').replace(/^\s+is /, `${field.label} is `).trim() : words;
  return { name: field ? name : '', words: told };
}

/** 'give 'stub' to count from end A' with the label of that reading. */
export const withLabels = (form: Form, words: string): string =>
  words.replace(/'(\w+)'/g, (whole, name: string) => {
    const field = form.fields.find((one) => one.name === name);
    return field ? `“${field.label}”` : whole;
  });

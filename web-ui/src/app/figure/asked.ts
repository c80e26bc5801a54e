/** What was last asked: kept while the page is open in this window, over a reload too. */
import type { Reply } from '../../engine/engine';
import type { Form } from '../../engine/forms';
import type { PullAnswer, ShapeAnswer, WiresSizeAnswer } from '../../engine/types';
import type { Unit } from '../../text/lengths';
import { ask } from '../kept/ask';
import type { Written } from './form';

/** What all answers by the code share. */
export type CodeAnswer = Omit<WiresSizeAnswer, 'result'>;
export type AnyAnswer = CodeAnswer | ShapeAnswer | PullAnswer;

const AT = 'racewright-figure';

interface Last {
  unit?: Unit;
  written: Record<string, Written>;
}

function read(): Last {
  try {
    return JSON.parse(sessionStorage.getItem(AT) ?? '') as Last;
  } catch {
    return { written: {} };
  }
}

const last = read();

function write(): void {
  try {
    sessionStorage.setItem(AT, JSON.stringify(last));
  } catch {
    // a browser that keeps nothing: it lasts as long as the page
  }
}

export const lastUnit = (): Unit | undefined => last.unit;
export function keepUnit(unit: Unit): void {
  last.unit = unit;
  write();
}

export const lastWritten = (key: string): Written => last.written[key] ?? {};
export function keepWritten(key: string, written: Written): void {
  last.written[key] = written;
  write();
}

/** The answer to the request that was last asked of each question. */
const answers = new Map<string, { request: string; reply: Reply<AnyAnswer> }>();

/** The answer where this was asked already. */
export function answerTo(key: string, request: unknown): Reply<AnyAnswer> | null {
  const known = answers.get(key);
  return known && known.request === JSON.stringify(request) ? known.reply : null;
}

export async function askNow(form: Form, request: Record<string, unknown>): Promise<void> {
  const reply = (await ask(form.operation, request as never)) as Reply<AnyAnswer>;
  answers.set(form.key, { request: JSON.stringify(request), reply });
}

/** What practice keeps on this device alone. */
import { local, putLocal } from '../kept/kept';
import { NOBODY, readBeforeLeans, type Class, type Reads, type Rules, type Unit } from './class-list';

export const classNow = (): Class => (local.get('class') as Class | undefined) ?? NOBODY;
export const rulesNow = (): Rules => (local.get('grading') as Rules | undefined) ?? {};
export const keepRules = (rules: Rules): void => void putLocal('grading', rules);
export const keepClass = (now: Class): void => void putLocal('class', now);

/** The sheet that lies on the bench: how it was asked for, and what was read on its pieces, by problem and check. */
interface OnBench {
  readonly seed: number;
  readonly count: '3' | '5' | '10';
  readonly kind: string;
  readonly units: Unit;
  readonly reads: Reads;
  /** the problems that were read before leans were asked for; none: kept from then, and not looked through yet */
  readonly before_leans?: readonly string[];
}

export const benchNow = (): OnBench | null => (local.get('practice') as OnBench | null | undefined) ?? null;
/** A sheet kept from before leans were asked for is marked so once, by what is read on it. */
export const markBench = (now: OnBench): void => void (now.before_leans ?? keepBench({ ...now, before_leans: readBeforeLeans(now.reads) }));
export const keepBench = (now: OnBench | null): void => void putLocal('practice', now);

/** The page's state in one place, and the hook that screens read it by. */
import { useEffect, useState } from 'preact/hooks';
import type { EngineState } from '../../engine/engine';
import { STATUS_BEFORE, type PageRun, type PlanAnswer, type SketchAnswer, type Trouble } from '../../engine/types';
import { askToStay, keep, kept, lasting } from './keep';
import type { Survey } from './survey';

export type Status = PageRun['status'];

export interface KeptRun {
  id: string;
  survey: Survey;
  status: Status;
  /** Steps done at the bench, good for one plan only: `of` is that plan's print. */
  done: { of: string; steps: number[]; at: number };
  changed: string;
  /** What the server has of it, where there is one. */
  shared?: Shared;
}

/** `revision` and `print` as last agreed with the server; `clash` while two versions wait for a decision.
 * `sent`: the print of a version that went out and whose answer has not come; the server may have it all the same. */
export interface Shared {
  revision: number;
  print: string;
  sent?: string;
  clash?: Clash;
}
export interface Version {
  survey: Survey;
  status: Status;
  by: string;
  saved: string;
}
/** The server's newest version beside one that came too late: nothing is thrown away until someone decides. */
export interface Clash {
  revision: number;
  newest: Version;
  rival: string;
  late: Version;
}

export type Planned =
  | { state: 'gaps' }
  | { state: 'asking'; before: PlanAnswer | null }
  | { state: 'ok'; answer: PlanAnswer }
  | { state: 'refused'; error: Trouble };

export interface State {
  runs: KeptRun[];
  current: string;
  planned: Planned;
  /** The newest sketch, and the run that it is of. */
  sketch: { of: string; answer: SketchAnswer } | null;
  engine: EngineState;
  light: 'auto' | 'light' | 'dark';
  loaded: boolean;
  stays: boolean;
  lasting: boolean;
  said: string;
  /** Runs removed on this phone: the server's copies do not come back by themselves. */
  dropped: string[];
}

export const state: State = {
  runs: [],
  current: '',
  planned: { state: 'gaps' },
  sketch: null,
  engine: { kind: 'browser', phase: 'starting', progress: 0, words: '' },
  light: 'auto',
  loaded: false,
  stays: false,
  lasting: true,
  said: '',
  dropped: [],
};

const listeners = new Set<() => void>();

export function change(part: Partial<State>): void {
  Object.assign(state, part);
  for (const listener of Array.from(listeners)) listener();
}

export function useApp(): State {
  const [, turn] = useState(0);
  useEffect(() => {
    const listener = () => turn((n) => n + 1);
    listeners.add(listener);
    return () => {
      listeners.delete(listener);
    };
  }, []);
  return state;
}

/** Say something to a screen reader, and in the line under the header. */
export function say(words: string): void {
  change({ said: words });
}

/** The sketch of the run at hand; null until the engine has drawn it. */
export const currentSketch = (): SketchAnswer | null => (state.sketch?.of === state.current ? state.sketch.answer : null);

export const currentRun = (): KeptRun | undefined => state.runs.find((r) => r.id === state.current);

let saving: ReturnType<typeof setTimeout> | undefined;
let afterChange: () => void = () => undefined;
export const onRunChange = (work: () => void): void => {
  afterChange = work;
};

function saveSoon(): void {
  clearTimeout(saving);
  saving = setTimeout(() => void saveNow(), 120);
  afterSave();
}

let afterSave: () => void = () => undefined;
export const onSave = (work: () => void): void => {
  afterSave = work;
};

/** What the server said about a run: kept, without counting as a change made here. */
export function noteShared(id: string, part: Partial<KeptRun>): void {
  change({ runs: state.runs.map((r) => (r.id === id ? { ...r, ...part } : r)) });
  clearTimeout(saving);
  saving = setTimeout(() => void saveNow(), 120);
  if (part.survey && id === state.current) afterChange();
}

/** A run that another phone has put on the server. */
export function takeShared(run: KeptRun): void {
  change({ runs: [...state.runs, run], current: state.current || run.id });
  clearTimeout(saving);
  saving = setTimeout(() => void saveNow(), 120);
  if (state.current === run.id) afterChange();
}

export function saveNow(): Promise<void> {
  clearTimeout(saving);
  void keep('current', state.current);
  void keep('dropped', state.dropped);
  return keep('runs', state.runs).then(() => {
    if (lasting !== state.lasting) change({ lasting });
  });
}

export function freshId(): string {
  const bytes = crypto.getRandomValues(new Uint8Array(8));
  return [...bytes].map((b) => b.toString(16).padStart(2, '0')).join('');
}

export function addRun(survey: Survey, more: Partial<KeptRun> = {}): KeptRun {
  const run: KeptRun = {
    id: freshId(),
    survey,
    status: 'measured',
    done: { of: '', steps: [], at: 0 },
    changed: new Date().toISOString(),
    ...more,
  };
  change({ runs: [...state.runs, run], current: run.id });
  saveSoon();
  afterChange();
  return run;
}

export function updateRun(id: string, part: Partial<KeptRun>): void {
  change({
    runs: state.runs.map((r) => (r.id === id ? { ...r, ...part, changed: new Date().toISOString() } : r)),
  });
  saveSoon();
  if (part.survey) afterChange();
}

/** Change the current survey in a copy. */
export function edit(work: (survey: Survey) => void): void {
  const run = currentRun();
  if (!run) return;
  const survey = structuredClone(run.survey);
  work(survey);
  updateRun(run.id, { survey });
}

export function removeRun(id: string): void {
  const runs = state.runs.filter((r) => r.id !== id);
  const dropped = [...state.dropped.slice(-199), id];
  change({ runs, dropped, current: state.current === id ? (runs[0]?.id ?? '') : state.current });
  saveSoon();
  afterChange();
}

export function choose(id: string): void {
  change({ current: id });
  saveSoon();
  afterChange();
}

export function setLight(light: State['light']): void {
  change({ light });
  showLight();
  void keep('light', light);
}

function showLight(): void {
  const root = document.documentElement;
  if (state.light === 'auto') root.removeAttribute('data-light');
  else root.setAttribute('data-light', state.light);
}

export async function load(): Promise<void> {
  const [runs, current, light, dropped] = await Promise.all([
    kept<KeptRun[]>('runs'),
    kept<string>('current'),
    kept<State['light']>('light'),
    kept<string[]>('dropped'),
  ]);
  change({ runs: (runs ?? []).map((run) => ({ ...run, status: STATUS_BEFORE[run.status] ?? run.status })), current: current ?? runs?.[0]?.id ?? '', light: light ?? 'auto', dropped: dropped ?? [], loaded: true, lasting });
  showLight();
  afterChange();
  change({ stays: await askToStay() });
}

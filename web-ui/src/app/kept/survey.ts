/** A run as written down: the engine's written survey, with every reading as the text that a person wrote. */
import { BY_UNITS, type WrittenSurvey } from '../../engine/types';
import type { Unit } from '../../text/lengths';

/** Numbers that a survey file may have become text; choices and switches stay, null is left away. */
type AsText<T> = T extends null
  ? never
  : T extends readonly (infer U)[]
    ? AsText<U>[]
    : T extends object
      ? { [K in keyof T]: AsText<T[K]> }
      : number extends T
        ? never
        : T;

export type Survey = AsText<Omit<WrittenSurvey, 'racewright'>> & { racewright: 1; units: Unit };
export type Part = Survey['run']['walk'][number];
export type Leg = Part & { leg: string };
export type Turn = Part & { turn: NonNullable<Part['turn']> };
export type MeasuredTo = NonNullable<Part['from']>;
export type Feature = NonNullable<Part['features']>[number];
export type FeatureKind = keyof Feature;

export const isLeg = (part: Part): part is Leg => part.leg !== undefined;

/** A new thing met on a leg, in the least that must be said of it. */
export const newFeature: Readonly<Record<FeatureKind, () => Feature>> = {
  saddle: () => ({ saddle: { centre: '', over: 'round', height: '' } }),
  offset: () => ({ offset: { rise: '', starts_at: '' } }),
  box_offset: () => ({ box_offset: { starts_at: '' } }),
  kick: () => ({ kick: { rise: '', toward: 'left', starts_at: '' } }),
  keep_clear: () => ({ keep_clear: { centre: '', over: 'square', height: '', width: '' } }),
};
export const FEATURE_KINDS = Object.keys(newFeature) as FeatureKind[];
export const kindOf = (feature: Feature): FeatureKind => FEATURE_KINDS.find((k) => feature[k] !== undefined) ?? 'saddle';

export function newSurvey(name: string, units: Unit = 'in'): Survey {
  return {
    racewright: 1,
    units,
    run: {
      name,
      raceway: 'EMT 1/2',
      clearance: units === 'in' ? '1/4' : '6',
      start: { fitting: 'set-screw' },
      end: { fitting: 'set-screw' },
      walk: [{ leg: '', from: 'face', to: 'face', features: [] }],
    },
  };
}

/** What goes to the engine to be planned: without fields that are still empty and may be left away. */
export function forEngine(survey: Survey): Survey {
  return JSON.parse(JSON.stringify(survey, (_, value: unknown) => (value === '' ? undefined : value))) as Survey;
}

const SCALE: Readonly<Record<Unit, string>> = { in: 'F', mm: 'C' };

/** Change the tape's unit. What is written keeps the unit it was taken in, so that none of it changes. */
export function changeUnits(survey: Survey, units: Unit): void {
  const old = survey.units;
  if (old === units) return;
  const kept = (value: unknown, path: string): unknown => {
    if (Array.isArray(value)) return value.map((inner) => kept(inner, path));
    if (value !== null && typeof value === 'object') {
      return Object.fromEntries(Object.entries(value).map(([key, inner]) => [key, kept(inner, `${path}.${key}`)]));
    }
    const [text, kind] = [typeof value === 'string' ? value.trim() : '', BY_UNITS[path]];
    if (!text || !kind) return value;
    const [was, is] = kind === 'length' ? [old, units] : [SCALE[old], SCALE[units]];
    const own = /[a-z'"′’″”“]/i.test(text); // what follows feet is inches, said or not
    return own ? text.replace(new RegExp(`(?<=[\\d.])\\s*${is}$`), '') : `${text} ${was}`;
  };
  survey.run = kept(survey.run, 'run') as Survey['run'];
  survey.units = units;
  delete survey.fraction; // of the other tape
}

export const demoSurvey = (): Survey => ({
  racewright: 1,
  units: 'in',
  run: {
    name: 'Pump house, disconnect to pump 2 starter',
    raceway: 'EMT 1/2',
    clearance: '1/4',
    start: { name: 'disconnect', fitting: 'set-screw' },
    end: { name: 'starter', fitting: 'set-screw' },
    walk: [
      {
        leg: '56 1/4',
        from: 'face',
        to: 'face',
        features: [{ saddle: { name: 'suction pipe', centre: '26 1/8', over: 'round', height: '2 7/8' } }],
      },
    ],
  },
});

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

/** The fields that the forms still wait for. What is written there is read by the engine alone. */
export function openFields(survey: Survey): string[] {
  const out = survey.run.name.trim() ? [] : ['run.name'];
  survey.run.walk.forEach((part, i) => {
    if (!isLeg(part)) return;
    if (!part.leg.trim()) out.push(`run.walk[${i}].leg`);
    (part.features ?? []).forEach((feature, j) => {
      const kind = kindOf(feature);
      const given = feature[kind] as Record<string, string | undefined>;
      const empty = needed(kind, given).filter((name) => !given[name]?.trim());
      out.push(...empty.map((name) => `run.walk[${i}].features[${j}].${kind}.${name}`));
    });
  });
  return out;
}

/** As survey/draft.py has it; both are held to test/open-fields.json. */
function needed(kind: FeatureKind, given: Record<string, string | undefined>): string[] {
  const asked = (name: string): boolean => given[name] !== undefined;
  if (kind === 'saddle' || kind === 'keep_clear') {
    if (kind === 'saddle' && asked('rise')) return ['centre', 'rise'];
    const side = given['toward'] === 'left' || given['toward'] === 'right';
    const wide = kind === 'keep_clear' || side || given['over'] === 'square';
    return ['centre', side ? 'reach' : 'height', ...(wide ? ['width'] : [])];
  }
  const place = ['starts_at', 'middle_at', 'done_by'].find(asked) ?? 'starts_at';
  return [
    ...(kind === 'kick' && asked('angle') ? [] : [place]),
    ...(kind !== 'box_offset' && (asked('rise') || !asked('shift')) ? ['rise'] : []),
    ...(asked('shift') ? ['shift'] : []),
  ];
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

/** A run as written down: the same shape as the survey file, lengths still text. */
import { meantBy, parseLength, type Unit } from '../../text/lengths';

export type Shift = 'away' | 'toward' | 'left' | 'right';
export type TurnWay = 'left' | 'right' | 'away' | 'toward';
export type MeasuredTo = 'face' | 'stop' | 'wall' | 'back' | 'centre' | 'inside' | 'edge';

export interface Fitting {
  name?: string;
  fitting?: string;
  insertion?: string;
  height?: string;
  fixed?: boolean;
}
export interface Saddle {
  name?: string;
  centre: string;
  over?: 'round' | 'square';
  height?: string;
  width?: string;
  lift?: string;
  reach?: string;
  rise?: string;
  clearance?: string;
  toward?: Shift;
  bends?: 'auto' | '3' | '4';
  angle?: string;
}
export interface Offset {
  name?: string;
  rise?: string;
  shift?: string;
  side?: 'left' | 'right';
  toward?: 'away' | 'toward';
  starts_at?: string;
  middle_at?: string;
  done_by?: string;
  angle?: string;
}
export interface BoxOffset {
  name?: string;
  rise?: string;
  toward?: 'away' | 'toward';
  starts_at?: string;
  done_by?: string;
  angle?: string;
}
export interface Kick {
  name?: string;
  rise: string;
  toward?: Shift;
  starts_at?: string;
  angle?: string;
}
export interface KeepClear {
  name?: string;
  centre: string;
  over?: 'round' | 'square';
  height: string;
  width: string;
  lift?: string;
  side?: string;
  depth?: string;
}
export interface Feature {
  saddle?: Saddle;
  offset?: Offset;
  box_offset?: BoxOffset;
  kick?: Kick;
  keep_clear?: KeepClear;
}
export type FeatureKind = keyof Feature;
export const FEATURE_KINDS: readonly FeatureKind[] = ['saddle', 'offset', 'box_offset', 'kick', 'keep_clear'];

export interface Leg {
  leg: string;
  from?: MeasuredTo;
  to?: MeasuredTo;
  features?: Feature[];
  note?: string;
}
export interface Turn {
  turn: TurnWay;
  angle?: string;
  gap?: string;
}
export type Part = Leg | Turn;

export interface Run {
  name: string;
  raceway: string;
  clearance?: string;
  stand_off?: string;
  cut?: 'before' | 'after';
  start?: Fitting;
  end?: Fitting;
  walk: Part[];
  bender?: string;
  strap?: string;
  saddle_method?: 'push-through' | 'centre-outward';
  bend_radius?: string;
}
export interface Survey {
  racewright: 1;
  units: Unit;
  fraction?: 1 | 2 | 4 | 8 | 16 | 32;
  run: Run;
}

export const isLeg = (part: Part): part is Leg => 'leg' in part;
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

/** A new thing met on a leg, in the least that must be said of it. */
export const newFeature: Readonly<Record<FeatureKind, () => Feature>> = {
  saddle: () => ({ saddle: { centre: '', over: 'round', height: '' } }),
  offset: () => ({ offset: { rise: '', starts_at: '' } }),
  box_offset: () => ({ box_offset: { starts_at: '' } }),
  kick: () => ({ kick: { rise: '', toward: 'left', starts_at: '' } }),
  keep_clear: () => ({ keep_clear: { centre: '', over: 'square', height: '', width: '' } }),
};

/** What goes to the engine: without fields that are still empty and may be left away. */
export function forEngine(survey: Survey): Survey {
  const lean = (value: unknown): unknown => {
    if (Array.isArray(value)) return value.map(lean);
    if (value && typeof value === 'object') {
      return Object.fromEntries(
        Object.entries(value)
          .filter(([, v]) => v !== '' && v !== undefined)
          .map(([k, v]) => [k, lean(v)]),
      );
    }
    return value;
  };
  return lean(survey) as Survey;
}

export interface Gap {
  field: string;
  says: 'missing' | 'unreadable' | 'zero' | 'beyond' | 'lift';
  limit?: string;
  /** What was most likely meant by what cannot be read. */
  meant?: string[];
}

/** Fields that are empty, unreadable or impossible: seen here at once, before the engine is asked. */
export function gapsOf(survey: Survey): Gap[] {
  const out: Gap[] = [];
  const unit = survey.units;
  const check = (field: string, text: string | undefined, needed: boolean, limit?: { mm: number; text: string }) => {
    if (text === undefined || text.trim() === '') {
      if (needed) out.push({ field, says: 'missing' });
      return;
    }
    const mm = parseLength(text, unit);
    if (mm === null) out.push({ field, says: 'unreadable', meant: meantBy(text, unit) });
    else if (mm === 0 && needed) out.push({ field, says: 'zero' });
    else if (limit && mm > limit.mm) out.push({ field, says: 'beyond', limit: limit.text });
  };
  if (!survey.run.name.trim()) out.push({ field: 'run.name', says: 'missing' });
  survey.run.walk.forEach((part, i) => {
    const base = `run.walk[${i}]`;
    if (!isLeg(part)) {
      check(`${base}.gap`, part.gap, false);
      return;
    }
    check(`${base}.leg`, part.leg, true);
    const mm = parseLength(part.leg, unit);
    const limit = mm ? { mm, text: part.leg } : undefined;
    (part.features ?? []).forEach((feature, j) => {
      const kind = kindOf(feature);
      const field = `${base}.features[${j}].${kind}`;
      const f = feature[kind] as Record<string, string | undefined>;
      for (const place of ['centre', 'starts_at', 'middle_at', 'done_by']) {
        if (f[place] !== undefined) check(`${field}.${place}`, f[place], true, limit);
      }
      if (kind === 'saddle') {
        const size = f.toward === 'left' || f.toward === 'right' ? 'reach' : 'height';
        check(`${field}.${f.rise === undefined ? size : 'rise'}`, f.rise ?? f[size], true);
        if (f.over === 'square' && f.rise === undefined) check(`${field}.width`, f.width, true);
        const [lift, top] = [parseLength(f.lift ?? '', unit), parseLength(f.height ?? '', unit)];
        if (lift !== null && top !== null && lift >= top) out.push({ field: `${field}.lift`, says: 'lift', limit: f.height! });
      }
      if (kind === 'offset') {
        if (f.rise !== undefined || f.shift === undefined) check(`${field}.rise`, f.rise, true);
        if (f.shift !== undefined) check(`${field}.shift`, f.shift, true);
      }
      if (kind === 'kick') check(`${field}.rise`, f.rise, true);
      if (kind === 'keep_clear') {
        check(`${field}.height`, f.height, true);
        check(`${field}.width`, f.width, true);
      }
    });
  });
  return out;
}

const LENGTHS = new Set(
  'leg gap centre height width lift reach rise clearance shift starts_at middle_at done_by side depth stand_off insertion bend_radius'.split(' '),
);

/** Change the tape's unit. Readings taken keep the unit they were taken in, so that none of them changes. */
export function changeUnits(survey: Survey, units: Unit): void {
  const old = survey.units;
  if (old === units) return;
  const walk = (value: unknown): void => {
    if (value === null || typeof value !== 'object') return;
    for (const [key, inner] of Object.entries(value)) {
      if (typeof inner !== 'string') walk(inner);
      else if (LENGTHS.has(key) && inner.trim() && parseLength(inner, old) !== null) {
        const bare = inner.trim().replace(new RegExp(`\\s*${units}$`), '');
        const own = /[a-z'"]$/i.test(inner.trim());
        (value as Record<string, string>)[key] = own ? bare : `${bare} ${old}`;
      }
    }
  };
  walk(survey.run);
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

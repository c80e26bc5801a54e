/** One thing met on a leg: what must be said of it first, the rest under "more". */
import { t } from '../../text/words';
import { Icon } from '../parts/icons';
import { getAt, setAt } from '../kept/paths';
import { took } from '../parts/undo';
import { LengthField, Segments, TextField, type FieldKit } from '../parts/parts';
import { edit } from '../kept/act';
import { isLeg, kindOf, type Feature, type Survey } from '../kept/survey';

interface Props {
  survey: Survey;
  feature: Feature;
  base: string;
  leg: number;
  index: number;
  kit: FieldKit;
}

export function FeatureForm({ survey, feature, base, leg, index, kit }: Props) {
  const kind = kindOf(feature);
  const at = `${base}.${kind}`;
  const get = (name: string): string => getAt(survey, `${at}.${name}`);
  const set = (name: string, value: string | undefined): void => edit((s) => setAt(s, `${at}.${name}`, value));
  const whole = kit.beside(at);
  const length = (name: string, label: string, optional = false) => (
    <LengthField kit={kit} path={`${at}.${name}`} label={label} value={get(name)} optional={optional} />
  );
  const drop = (): void => {
    edit((s) => {
      const part = s.run.walk[leg];
      if (part && isLeg(part)) part.features?.splice(index, 1);
    });
    took(get('name') || t.kinds[kind], () =>
      edit((s) => {
        const part = s.run.walk[leg];
        if (part && isLeg(part)) part.features = [...(part.features ?? []).slice(0, index), feature, ...(part.features ?? []).slice(index)];
      }),
    );
  };
  return (
    <section class="feature" aria-label={get('name') || t.kinds[kind]}>
      <header class="feature-head">
        <h3>{t.kinds[kind]}</h3>
        <button type="button" class="plain-key" onClick={drop} aria-label={t.measure.removeThing(get('name') || t.kinds[kind])}>
          <Icon name="bin" />
        </button>
      </header>
      {whole?.kind === 'wrong' && (
        <p class="wrong">
          <Icon name="warn" />
          <span>
            {whole.words} {whole.works && <b>{whole.works}</b>}
          </span>
        </p>
      )}
      <TextField label={t.measure.called} value={get('name')} onText={(v) => set('name', v || undefined)} />
      {kind === 'saddle' && <SaddleFields get={get} set={set} length={length} />}
      {(kind === 'offset' || kind === 'box_offset') && <OffsetFields box={kind === 'box_offset'} get={get} set={set} length={length} />}
      {kind === 'kick' && <KickFields get={get} set={set} length={length} />}
      {kind === 'keep_clear' && <ClearFields get={get} set={set} length={length} />}
    </section>
  );
}

interface Kit {
  get: (name: string) => string;
  set: (name: string, value: string | undefined) => void;
  length: (name: string, label: string, optional?: boolean) => preact.JSX.Element;
}

function SaddleFields({ get, set, length }: Kit) {
  const w = t.measure.saddle;
  const toward = get('toward') || 'away';
  const bare = get('rise') !== '' || get('bare') === 'yes';
  const side = toward !== 'away';
  const square = get('over') === 'square';
  return (
    <>
      <Segments
        label={w.over}
        value={square ? 'square' : 'round'}
        options={[
          { value: 'round', label: w.round },
          { value: 'square', label: w.square },
        ]}
        onPick={(v) => set('over', v)}
      />
      {length('centre', w.centre)}
      {!bare && length(side ? 'reach' : 'height', side ? w.reach : w.height)}
      {(square || side) && length('width', square ? w.width : w.diameter)}
      <details class="more">
        <summary>{t.measure.more}</summary>
        <Segments
          label={w.toward}
          value={toward}
          options={[
            { value: 'away', label: t.ways.away },
            { value: 'left', label: t.ways.left },
            { value: 'right', label: t.ways.right },
          ]}
          onPick={(v) => {
            const [gone, label] = v === 'away' ? ['reach', w.reach] : ['height', w.height];
            const [reading, was] = [get(gone), get('toward')];
            set('toward', v === 'away' ? undefined : v);
            set(gone, undefined);
            const back = (): void => {
              set('toward', was || undefined);
              set(gone, reading);
            };
            if (reading) took(t.undo.reading(label, reading), back);
          }}
        />
        {!side && length('lift', w.lift, true)}
        {!square && !side && length('width', w.diameter, true)}
        <Segments
          label={w.bends}
          value={get('bends') || 'auto'}
          options={[
            { value: 'auto', label: t.measure.auto },
            { value: '3', label: '3' },
            { value: '4', label: '4' },
          ]}
          onPick={(v) => set('bends', v === 'auto' ? undefined : v)}
        />
        <Angle get={get} set={set} />
        {length('clearance', w.clearance, true)}
      </details>
    </>
  );
}

function Angle({ get, set }: Pick<Kit, 'get' | 'set'>) {
  const value = get('angle') || 'auto';
  const usual = ['auto', '10', '15', '22.5', '30', '45', '60'];
  return (
    <Segments
      label={t.measure.angle}
      value={value}
      options={[...usual, ...(usual.includes(value) ? [] : [value])].map((a) => ({ value: a, label: a === 'auto' ? t.measure.auto : `${a}°` }))}
      onPick={(v) => set('angle', v === 'auto' ? undefined : v)}
    />
  );
}

const PLACES = ['starts_at', 'middle_at', 'done_by'] as const;

function OffsetFields({ get, set, length, box }: Kit & { box: boolean }) {
  const w = t.measure.offset;
  const place = PLACES.find((p) => has(get, p)) ?? 'starts_at';
  const rolling = has(get, 'shift') || get('side') !== '';
  return (
    <>
      {length('rise', box ? w.boxRise : w.rise, box)}
      <Segments
        label={w.toward}
        value={get('toward') || 'away'}
        options={[
          { value: 'away', label: w.away },
          { value: 'toward', label: w.back },
        ]}
        onPick={(v) => set('toward', v === 'away' ? undefined : v)}
      />
      <Segments
        label={w.place}
        value={place}
        options={PLACES.filter((p) => !box || p !== 'middle_at').map((p) => ({ value: p, label: w.places[p] }))}
        onPick={(v) => {
          const reading = get(place);
          set(place, undefined);
          set(v, reading || '');
        }}
      />
      {length(place, w.readings[place])}
      <details class="more">
        <summary>{t.measure.more}</summary>
        <Angle get={get} set={set} />
        {!box && (
          <>
            {length('shift', w.shift, true)}
            {rolling && (
              <Segments
                label={w.side}
                value={get('side') || 'left'}
                options={[
                  { value: 'left', label: t.ways.left },
                  { value: 'right', label: t.ways.right },
                ]}
                onPick={(v) => set('side', v)}
              />
            )}
          </>
        )}
      </details>
    </>
  );
}

const has = (get: Kit['get'], name: string): boolean => get(name) !== '';

function KickFields({ get, set, length }: Kit) {
  const w = t.measure.kick;
  return (
    <>
      {length('rise', w.rise)}
      <Segments
        label={w.toward}
        value={get('toward') || 'away'}
        options={(['away', 'left', 'right'] as const).map((v) => ({ value: v, label: t.ways[v] }))}
        onPick={(v) => set('toward', v)}
      />
      {length('starts_at', w.startsAt)}
    </>
  );
}

function ClearFields({ get, set, length }: Kit) {
  const w = t.measure.keepClear;
  return (
    <>
      <Segments
        label={t.measure.saddle.over}
        value={get('over') === 'round' ? 'round' : 'square'}
        options={[
          { value: 'square', label: t.measure.saddle.square },
          { value: 'round', label: t.measure.saddle.round },
        ]}
        onPick={(v) => set('over', v)}
      />
      {length('centre', w.centre)}
      {length('height', w.height)}
      {length('width', w.width)}
      <details class="more">
        <summary>{t.measure.more}</summary>
        {length('lift', t.measure.saddle.lift, true)}
      </details>
    </>
  );
}

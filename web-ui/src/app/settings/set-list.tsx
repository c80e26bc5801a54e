/** A list of what is set: each can be changed and removed, and one more added. */
import type { ComponentChildren } from 'preact';
import { useEffect, useRef, useState } from 'preact/hooks';
import { t } from '../../text/words';
import { isWithheld, makeChange, pricedBy, toldOfPrices, type Change } from '../kept/settings';
import { say, useApp } from '../kept/state';
import { Icon } from '../parts/icons';
import { Notice, TroubleNotice } from '../parts/parts';
import { took } from '../parts/undo';
import { KINDS, type Finding, type Trouble } from '../../engine/types';
import { ChangeForm } from './change-form';
import type { Setting } from './change-of';

export interface Row {
  called: string;
  words: string;
  /** What stands, by field of its form; of what is nowhere set yet, with what it begins. */
  stands: Readonly<Record<string, string>>;
  /** Takes it out; without it, it is always there, or stands nowhere yet. */
  remove?: Change;
  /** It is nowhere set yet. */
  open?: boolean;
  /** What is to be known of it. */
  told?: Finding;
}

interface Props {
  set: Setting;
  title: string;
  rows: readonly Row[];
  /** The fields by which a row is known, which are not asked again. */
  names: readonly string[];
  none?: string;
  /** What to add, and with what it begins. */
  add?: { label: string; begins: Readonly<Record<string, string>> };
  /** The one to begin with. */
  first?: string;
  onKept?: (change: Change) => void;
  children?: ComponentChildren;
}

const ADDED = '\n';
const NOTHING = {};

export function SetList({ set, title, rows, names, none, add, first, onKept, children }: Props) {
  const [open, setOpen] = useState<string | null>(first || null);
  const [error, setError] = useState<Trouble | null>(null);
  const head = useRef<HTMLHeadingElement>(null);
  const keyOf = ({ stands }: Row): string => names.map((name) => stands[name]).join('\n');
  const held = useRef<Row | null>(null); // the one that is being changed, as it stood last
  held.current = rows.find((row) => keyOf(row) === open) ?? (open === null ? null : held.current);
  const gone = held.current && !rows.some((row) => keyOf(row) === open) ? held.current : null;
  const done = (kept: { change: Change; now: string } | null): void => {
    setOpen(null);
    head.current?.focus({ preventScroll: true });
    if (!kept) return;
    say(kept.now ? t.settings.kept(kept.now) : t.settings.goneNow);
    onKept?.(kept.change);
  };
  const remove = async ({ called, remove: change }: Row): Promise<void> => {
    const made = await makeChange(change!);
    setError('error' in made ? made.error : null);
    if (!('back' in made)) return;
    took(called, made.back);
    head.current?.focus({ preventScroll: true });
  };
  return (
    <section class="card set-list">
      <h2 ref={head} tabIndex={-1}>
        {title}
      </h2>
      {children}
      {!rows.length && none && <p>{none}</p>}
      <ul>
        {[...rows, ...(gone ? [gone] : [])].map((row) => (
          <li key={keyOf(row)}>
            <p>
              <b>{row.called}</b>
              {row.words && <span class="set-words">{row.words}</span>}
            </p>
            {open === keyOf(row) ? (
              <>
                {row === gone && <p class="wrong" role="alert">{t.settings.gone}</p>}
                <ChangeForm set={set} stands={row.open || row === gone ? pick(names, row.stands) : row.stands} fixed={names} {...(row.open || row === gone ? { begins: row.open ? row.stands : NOTHING } : {})} called={row.called} onDone={done} />
              </>
            ) : (
              <div class="set-deeds">
                <button type="button" class="quiet-button" aria-label={t.settings.of(row.open ? t.settings.set : t.settings.change, row.called)} onClick={() => setOpen(keyOf(row))}>
                  {row.open ? t.settings.set : t.settings.change}
                </button>
                {row.remove && (
                  <button type="button" class="quiet-button" aria-label={t.settings.of(t.settings.remove, row.called)} onClick={() => void remove(row)}>
                    {t.settings.remove}
                  </button>
                )}
              </div>
            )}
            {row.told && <Told finding={row.told} />}
          </li>
        ))}
      </ul>
      {error && <TroubleNotice error={error} />}
      {add && open === ADDED && <ChangeForm set={set} stands={NOTHING} begins={add.begins} called={add.label} onDone={done} />}
      {add && open !== ADDED && (
        <button type="button" class="wide-button" onClick={() => setOpen(ADDED)}>
          <Icon name="plus" />
          {add.label}
        </button>
      )}
    </section>
  );
}

const Told = ({ finding }: { finding: Finding }) => (
  <Notice kind={finding.severity}>
    <p role="status">{finding.message}</p>
  </Notice>
);

/** What the engine tells of prices as they stand, those of sticks too. */
export function ToldOfPrices() {
  const [told, setTold] = useState<readonly Finding[]>([]);
  useApp();
  useEffect(() => {
    let mine = true;
    void toldOfPrices().then((findings) => mine && setTold(findings));
    return () => void (mine = false);
  }, pricedBy());
  return told.map((finding) => <Told key={finding.where} finding={finding} />);
}

const pick = (names: readonly string[], of: Row['stands']): Row['stands'] => Object.fromEntries(names.map((name) => [name, of[name] ?? '']));

/** The shop tells this device no such records: they count here alone. */
export function HereAlone({ kind }: { kind: string }) {
  const { device } = useApp();
  if (!isWithheld(kind)) return null;
  return (
    <Notice kind="caution">
      <p>{t.lists.words(device, Object.keys(KINDS).join(','))}</p>
    </Notice>
  );
}

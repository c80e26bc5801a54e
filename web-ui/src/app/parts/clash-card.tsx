/** Two versions of one thing, side by side where they differ, and the ways on: on whatever screen the person is. */
import { t } from '../../text/words';
import { settle } from '../kept/act';
import { differences, nameOf } from '../kept/differ';
import { getRec } from '../kept/kept';
import { textIn, type Rec } from '../kept/record';
import { choose, chooseJob, say, state, useApp } from '../kept/state';
import { Icon } from './icons';
import { Notice } from './parts';
import { when } from './when';

function ClashCard({ rec }: { rec: Rec }) {
  const there = rec.there!;
  const [gone, dropped] = [there.data === null, rec.data === null];
  const elsewhere = there.revision ? t.share.inShop : there.by ? t.meets.inFile : t.share.otherTab;
  const rows = rec.data && there.data ? differences(rec.kind, rec.data, there.data) : [];
  const take = (choice: 'theirs' | 'mine' | 'both'): void => {
    settle(rec, choice);
    say(t.share.settled);
  };
  return (
    <section class="clash" aria-label={`${t.share.choose} ${nameOf(rec)}`}>
      <h2 tabIndex={-1}>{t.share.choose}</h2>
      <p>
        <b>{nameOf(rec)}</b>
      </p>
      <p>{gone ? t.share.goneThere(there.by) : dropped ? t.share.goneHere(there.by) : t.share.words}</p>
      {rows.length > 0 && (
        <table class="plain">
          <caption class="unseen">{t.share.differs}</caption>
          <thead>
            <tr>
              <th scope="col">{t.share.differs}</th>
              <th scope="col">{t.share.onPhone}</th>
              <th scope="col">
                {elsewhere}
                {there.revision > 0 && <small>{[there.by, when(there.at)].filter(Boolean).join(', ')}</small>}
              </th>
            </tr>
          </thead>
          <tbody>
            {rows.map((d) => (
              <tr key={d.field}>
                <th scope="row">{d.field}</th>
                <td data-of={t.share.onPhone}>{d.here || t.share.nothing}</td>
                <td data-of={elsewhere}>{d.there || t.share.nothing}</td>
              </tr>
            ))}
          </tbody>
        </table>
      )}
      <button type="button" class="wide-button" onClick={() => take('mine')}>
        {dropped ? t.share.removeBoth : gone ? t.share.bringBack : t.share.keepMine}
      </button>
      <button type="button" class="wide-button" onClick={() => take('theirs')}>
        {dropped ? t.share.bringBack : gone ? t.share.removeBoth : there.revision ? t.share.keepTheirs : there.by ? t.meets.keepFile : t.share.keepOther}
      </button>
      {rec.kind === 'run' && !gone && !dropped && (
        <button type="button" class="wide-button" onClick={() => take('both')}>
          {t.share.keepBoth}
        </button>
      )}
    </section>
  );
}

/** The run that a record is of: itself, or that of an entry; '' for none. */
const runIdOf = ({ kind, id, data }: Rec): string => (kind === 'run' ? id : textIn(data, 'run'));

/** Whether two versions of this run, or of what was done on it, wait for a choice. */
export const waitsForChoice = (run: string): boolean => state.clashes.some((rec) => runIdOf(rec) === run);

/** Scrolls what waits for the person into sight. */
export function leadTo(card: '.clash h2' | '.refused' | '.revoked' | '.two-benches' | '.said-bent' | '.turned' | '.ticked-twice'): void {
  const found = document.querySelector<HTMLElement>(card);
  found?.scrollIntoView({ block: 'start' });
  found?.focus({ preventScroll: true });
}

/** On top of every screen, as long as something waits for a choice: it leads there. `bending`: also to what the shop
 * does not take, and to that it has put this device out, which stand below the step then. */
export function WaitBar({ bending }: { bending: boolean }) {
  const { clashes, refusals, shop } = useApp();
  const waits = [
    ['.clash h2', t.share.choose, clashes.length],
    ['.revoked', t.together.revoked, bending && shop === 'revoked' ? 1 : 0],
    ['.refused', t.share.refusedBar, bending ? refusals.length : 0],
  ] as const;
  const first = waits.find(([, , many]) => many > 0);
  if (!first) return null;
  const [card, words, many] = first;
  return (
    <button type="button" class="clash-bar" onClick={() => leadTo(card)}>
      <Icon name="warn" />
      {words}
      {many > 1 && ` (${many})`}
    </button>
  );
}

/** The one that is at hand, or else the first; and how many more there are. While `bending`, that of the run at hand
 * alone stands above the step, and another `below` it. */
export function Clashes({ bending = false, below = false }: { bending?: boolean; below?: boolean }) {
  const { clashes, current } = useApp();
  const own = clashes.find((one) => runIdOf(one) === current);
  const rec = own ?? clashes[0];
  if (!rec || (bending && below === !!own)) return null;
  const elsewhere = rec.kind === 'run' && rec.data !== null && rec.id !== current;
  return (
    <div class="clashes stacks">
      <ClashCard key={rec.id} rec={rec} />
      {elsewhere && (
        <button type="button" class="quiet-button" onClick={() => open(rec)}>
          {t.share.open(nameOf(rec))}
        </button>
      )}
      {clashes.length > 1 && <p class="quiet pad">{t.share.more(clashes.length - 1)}</p>}
    </div>
  );
}

/** What the shop does not take, and why: that of the run at hand, or else the first; and how many more there are. */
export function Refusals() {
  const { refusals, current } = useApp();
  const rec = refusals.find((one) => runIdOf(one) === current) ?? refusals[0];
  if (!rec) return null;
  const run = getRec(runIdOf(rec));
  return (
    <div class="refused" tabIndex={-1}>
      <Notice kind="caution" title={nameOf(run ?? rec)}>
        <p>{t.share.refused(rec.refusal?.words ?? '')}</p>
        {run && run.data !== null && run.id !== current && (
          <button type="button" class="quiet-button" onClick={() => open(run)}>
            {t.share.open(nameOf(run))}
          </button>
        )}
        {refusals.length > 1 && <p>{t.share.moreRefused(refusals.length - 1)}</p>}
      </Notice>
    </div>
  );
}

function open(rec: Rec): void {
  if (rec.job !== state.job) chooseJob(rec.job);
  choose(rec.id);
}

/** What stands under every answer, the same on each screen: findings, what is not included, what to take care of. */
import { DECIDES, FROM_MEMORY, type Finding } from '../../engine/types';
import { beginsWith, t } from '../../text/words';
import { Icon } from './icons';
import { Notice, ToFigure } from './parts';

interface Answer {
  findings: readonly Finding[];
  not_included: readonly string[];
  cautions: readonly string[];
}

const problemsOf = (answer: Answer) => answer.findings.filter((f) => f.severity === 'problem');

/** The problems alone, for an answer that is followed step by step: they stand above its figures. */
export function Problems({ answer }: { answer: Answer }) {
  const list = problemsOf(answer);
  return list.length > 0 ? <FindingList list={list} /> : null;
}

/** What a bill and a cut list leave out, above their first table; `Tail` then has it `leftOutAbove`. */
export function LeftOut({ answer }: { answer: Answer }) {
  return (
    <section class="left-out">
      <h3>{t.leftOut}</h3>
      <Lines list={answer.not_included.length > 0 ? answer.not_included : [t.nothingLeftOut]} />
    </section>
  );
}

/**
 * `problemsAbove`: they are said by `Problems` already. `leftOutAbove`: what is left out is said by `LeftOut` already, and findings that it tells whole.
 * `checked`: the answer's checks look at the whole run, so it is said as well when they find nothing.
 */
export function Tail({ answer, checked, problemsAbove, leftOutAbove }: { answer: Answer; checked?: boolean; problemsAbove?: boolean; leftOutAbove?: boolean }) {
  const told = (f: Finding) => leftOutAbove && answer.not_included.some((line) => line.includes(f.message));
  const of = (severity: Finding['severity']) => answer.findings.filter((f) => f.severity === severity && !told(f));
  const [loud, notes] = [[...(problemsAbove ? [] : of('problem')), ...of('caution')], of('info')];
  const nothing = answer.findings.length === notes.length;
  return (
    <>
      {loud.length > 0 && <FindingList list={loud} ofRun={checked} />}
      {checked && nothing && <NothingFound />}
      {notes.length > 0 && (
        <details class="more notes">
          <summary>{t.notes(notes.length)}</summary>
          <FindingList list={notes} />
        </details>
      )}
      {!leftOutAbove && <NotIncluded list={answer.not_included} />}
      <Care list={answer.cautions} />
    </>
  );
}

/** What the checks of a run found and somebody must look at, the worst first, each with its article. `Noted` has the rest. */
export function Found({ answer }: { answer: Answer }) {
  const list = (['problem', 'caution'] as const).flatMap((severity) => answer.findings.filter((f) => f.severity === severity));
  if (list.length === 0) return null;
  return (
    <section class="found">
      <h2>{t.found}</h2>
      <FindingList list={list} ofRun />
      <p class="quiet">{t.noApproval}</p>
    </section>
  );
}

/** The notes of the checks, in the open; where nothing worse was found, that too, and that it is no approval. `look`:
 * something else on the screen is to be looked at, so that this is no good news. */
export function Noted({ answer, look }: { answer: Answer; look: boolean }) {
  const notes = answer.findings.filter((f) => f.severity === 'info');
  return (
    <section class="found">
      {notes.length === answer.findings.length && <NothingFound kind={look ? 'info' : 'good'} />}
      {notes.length > 0 && (
        <>
          <h2>{t.notes(notes.length)}</h2>
          <ul class="noted">
            {notes.map((f, i) => (
              <li key={i}>
                {f.message}
                <small>{articleOf(f)}</small>
              </li>
            ))}
          </ul>
        </>
      )}
    </section>
  );
}

function NothingFound({ kind = 'good' }: { kind?: 'info' | 'good' }) {
  return (
    <Notice kind={kind}>
      <p>
        {t.nothingFound} {t.noApproval}
      </p>
    </Notice>
  );
}

export function NotIncluded({ list }: { list: readonly string[] }) {
  if (list.length === 0) return null;
  return (
    <section class="not-included">
      <h3>{t.notIncluded}</h3>
      <Lines list={list} />
    </section>
  );
}

function Lines({ list }: { list: readonly string[] }) {
  return (
    <ul>
      {list.map((line) => (
        <li key={line}>{line}</li>
      ))}
    </ul>
  );
}

/** Article and edition, and whether the row was read or is from memory. */
const articleOf = (f: Finding): string => [f.citation, f.standing === FROM_MEMORY && !f.citation?.endsWith(`(${FROM_MEMORY})`) && `(${FROM_MEMORY})`].filter(Boolean).join(' ');

/** `ofRun`: they are about the run at hand, so that what hangs on its tool leads there. */
/** It begins with a name as somebody gave it, the key of a run: that has no capital of ours. */
const isNamed = ({ message, where }: Finding): boolean => !!where && message.startsWith(where) && /^[:#-]/.test(message.slice(where.length));

function FindingList({ list, ofRun = false }: { list: readonly Finding[]; ofRun?: boolean | undefined }) {
  return (
    <ul class="findings">
      {list.map((f, i) => (
        <li key={i}>
          <Notice kind={f.severity} title={t.severity[f.severity] + (f.where && !beginsWith(f.message, f.where) ? `, ${f.where}` : '')}>
            <p class={isNamed(f) ? 'named' : undefined}>{f.message}</p>
            {f.citation && <p class="quiet">{articleOf(f)}</p>}
            {ofRun && <ToFigure told={f} />}
          </Notice>
        </li>
      ))}
    </ul>
  );
}

/** What to take care of. Who decides stands at the foot of every screen; on paper, here. */
export function Care({ list }: { list: readonly string[] }) {
  if (list.every((c) => c === DECIDES)) return null;
  return (
    <div class="care" role="group" aria-label={t.care}>
      <Icon name="warn" />
      <ul>
        {list.map((c) => (
          <li key={c} class={c === DECIDES ? 'print-only' : ''}>
            {c}
          </li>
        ))}
      </ul>
    </div>
  );
}

/** What all runs together need: the bill, the cut list and the saw's stop settings, worked out when asked for. */
import { useState } from 'preact/hooks';
import type { OrderAnswer, PlainTable, Trouble } from '../../engine/types';
import { t } from '../../text/words';
import { ask } from '../kept/ask';
import { TroubleNotice } from '../parts/parts';
import { LeftOut, Tail } from '../parts/tail';
import { benderOf, lacksTool } from '../kept/shoe';
import type { KeptRun } from '../kept/state';
import { bentOf } from '../kept/view';

/** So many runs are worked out in one question. */
const MOST = 60;

export function OrderCard({ runs }: { runs: readonly KeptRun[] }) {
  return runs.length > MOST ? (
    <section class="card">
      <h2>{t.order.title}</h2>
      <p>{t.order.tooMany(MOST)}</p>
    </section>
  ) : (
    <Order runs={runs} />
  );
}

function Order({ runs: all }: { runs: readonly KeptRun[] }) {
  const runs = all.filter((run) => !lacksTool(run));
  const [answer, setAnswer] = useState<OrderAnswer | null>(null);
  const [wrong, setWrong] = useState<Trouble | null>(null);
  const [busy, setBusy] = useState(false);
  const work = async (): Promise<void> => {
    setBusy(true);
    const reply = await ask('order', {
      // as they are kept: the engine says what is still to be measured
      runs: runs.map((run) => ({
        key: run.id,
        survey: run.survey,
        bender: benderOf(run).bender ?? null,
        status: run.status,
        times: run.times,
        bent: bentOf(run),
      })),
    });
    setBusy(false);
    setAnswer(reply.ok ? reply.answer : null);
    setWrong(reply.ok ? null : reply.error);
  };
  const names = new Map(runs.map((run) => [run.id, run.survey.run.name || t.job.noName]));
  return (
    <section class="card">
      <h2>{t.order.title}</h2>
      <p>{t.order.words}</p>
      {runs.length < all.length && <p class="wrong">{t.order.noTool(all.length - runs.length)}</p>}
      <button type="button" class="wide-button" disabled={busy || !runs.length} onClick={() => void work()}>
        {busy ? t.order.busy : t.order.ask(runs.length)}
      </button>
      {wrong && <TroubleNotice error={wrong} />}
      {answer && (
        <div aria-live="polite">
          <LeftOut answer={answer} />
          {answer.sums.rows.map((row) => (
            <p key={row[0]}>
              <strong>{row[0]}</strong>: {[row[1], row[3]].filter(Boolean).join('; ')}
            </p>
          ))}
          <Plain title={t.order.bill} table={answer.bill} names={names} />
          <Plain title={t.order.cuts} table={answer.cuts} names={names} />
          <Plain title={t.order.stops} table={answer.stops} names={names} />
          <Tail answer={answer} leftOutAbove />
        </div>
      )}
    </section>
  );
}

function Plain({ title, table, names }: { title: string; table: PlainTable; names: ReadonlyMap<string, string> }) {
  if (!table.rows.length) return null;
  return (
    <>
      <h3>{title}</h3>
      <div class="table-scroll" tabIndex={0} role="region" aria-label={title}>
        <table>
          <thead>
            <tr>
              {table.header.map((head) => (
                <th key={head} scope="col">
                  {head}
                </th>
              ))}
            </tr>
          </thead>
          <tbody>
            {table.rows.map((row, k) => (
              <tr key={k}>
                {row.map((cell, i) => (
                  <td key={i}>{named(cell, names)}</td>
                ))}
              </tr>
            ))}
          </tbody>
        </table>
      </div>
    </>
  );
}

/** Runs are asked about by their keys; a person knows them by name. */
function named(cell: string, names: ReadonlyMap<string, string>): string {
  for (const [key, name] of names) {
    if (cell === key || cell.startsWith(`${key}-`) || cell.startsWith(`${key}#`)) return name + cell.slice(key.length);
    if (cell.endsWith(`(of ${key})`)) return cell.replace(`(of ${key})`, `(of ${name})`);
  }
  return cell;
}

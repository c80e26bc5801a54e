/** What the shoe or the tape does wrong, from readings of this job's finished pieces bent with one tool. */
import { useState } from 'preact/hooks';
import type { DiagnoseAnswer, Trouble } from '../../engine/types';
import { t } from '../../text/words';
import { ask } from '../kept/ask';
import { toolAt } from '../kept/shoe';
import { useApp } from '../kept/state';
import type { KeptTool } from '../kept/tools';
import { TroubleNotice } from '../parts/parts';
import { Tail } from '../parts/tail';
import { finishedOn } from './finished';

export function Diagnosis({ tool }: { tool: KeptTool }) {
  const { runs } = useApp();
  const [answer, setAnswer] = useState<DiagnoseAnswer | null>(null);
  const [error, setError] = useState<Trouble | null>(null);
  const [busy, setBusy] = useState(false);
  const { pieces, readings, others } = finishedOn(tool.id, runs, toolAt);
  const work = async (): Promise<void> => {
    setBusy(true);
    const unit = pieces[0]?.survey?.units ?? 'in';
    const reply = await ask('diagnose', { pieces, unit });
    setBusy(false);
    setAnswer(reply.ok ? reply.answer : null);
    setError(reply.ok ? null : reply.error);
  };
  return (
    <details class="more">
      <summary>{t.tools.diagnose}</summary>
      <p>{pieces.length ? t.tools.diagnoseWords(readings, pieces.length) : t.tools.diagnoseNone}</p>
      {others > 0 && <p class="quiet">{t.tools.diagnoseOthers(others)}</p>}
      {pieces.length > 0 && (
        <button type="button" class="wide-button" disabled={busy} onClick={() => void work()}>
          {t.tools.work}
        </button>
      )}
      <div aria-live="polite">
        {error && <TroubleNotice error={error} />}
        {answer && <Causes answer={answer} />}
      </div>
    </details>
  );
}

function Causes({ answer }: { answer: DiagnoseAnswer }) {
  return (
    <>
      <table class="plain figures">
        <caption>{t.tools.causes}</caption>
        <tbody>
          {answer.causes.map((one) => (
            <tr key={one.cause}>
              <th scope="row">
                {t.bend.sentence(one.cause)}
                <small>{one.words}</small>
              </th>
              <td>
                {one.found} ± {one.give_or_take}
              </td>
            </tr>
          ))}
        </tbody>
      </table>
      {answer.words.map((words) => (
        <p key={words}>{words}</p>
      ))}
      <ul>
        {answer.pieces.map((name) => (
          <li key={name}>{name}</li>
        ))}
      </ul>
      <Tail answer={answer} />
    </>
  );
}

/** Job: every run with its status, what the checks found, printing, and the file to take it all elsewhere. */
import { useState } from 'preact/hooks';
import { t } from '../../text/words';
import { JobChoice } from '../desk/job-choice';
import { ListsView } from '../desk/lists-view';
import { useWide } from '../desk/wide';
import { openOf } from '../kept/ask';
import { isBeingBent } from '../kept/copies';
import { choose, useApp, type KeptRun, type State } from '../kept/state';
import { Icon } from '../parts/icons';
import { TextField, TroubleNotice } from '../parts/parts';
import { Tail } from '../parts/tail';
import { Tape } from '../parts/tape';
import type { PieceAtBench, PlannedPiece } from '../../engine/types';
import type { Unit } from '../../text/lengths';
import { FilesCard, Notices } from '../files/files-card';
import { FigureLink } from '../figure/figure-link';
import { later } from '../later';
import { JobCard } from './job-card';
import { PrintSheets, ReadySheets, type Sheet } from './print';
import { RemovedRuns } from './removed-runs';
import { RunDeeds } from './run-deeds';
import { statusWords } from './status-words';
import { startRun, Welcome } from './welcome';

const DeskScreen = later('DeskScreen');

export function JobScreen() {
  const app = useApp();
  const [sheet, setSheet] = useState<Sheet | null>(null);
  const [pages, setPages] = useState<readonly string[] | null>(null);
  const [labels, setLabels] = useState<readonly string[] | null>(null);
  const wide = useWide();
  const current = app.runs.find((r) => r.id === app.current);
  const empty = !app.runs.length;
  if (sheet && current) return <PrintSheets run={current} what={sheet} onClose={() => setSheet(null)} />;
  if (pages) return <ReadySheets pages={pages} label={t.files.pack} onClose={() => setPages(null)} />;
  if (labels) return <ReadySheets pages={labels} label={t.desk.lists.job_labels} onClose={() => setLabels(null)} />;
  if (wide) return <DeskScreen onPrint={setSheet} onPack={setPages} />;
  return (
    <div class="job">
      {empty && <Welcome />}
      {/* a shop that is heard of late moves no button from under the thumb: what it has stands below */}
      {!app.job && app.jobs.length > 1 && <JobChoice />}
      <JobCard />
      <RunList app={app} onPrint={setSheet} />
      {app.runs.length > 0 && (
        <button type="button" class="wide-button strong" onClick={startRun}>
          <Icon name="plus" />
          {t.job.add}
        </button>
      )}
      {app.runs.length > 0 && (
        <section class="phone-lists" aria-label={t.desk.tabs.lists}>
          <h2>{t.desk.tabs.lists}</h2>
          <ListsView key={app.job} onSheets={setLabels} />
        </section>
      )}
      <RemovedRuns />
      <FigureLink />
      <FilesCard onPages={setPages} />
      <Notices />
    </div>
  );
}

/** So many runs are shown at once; of a longer list the one at hand, and what is looked for. */
const SHOWN = 50;
/** From so many on one is looked for by words. */
const MANY = 10;

function RunList({ app, onPrint }: { app: State; onPrint: (sheet: Sheet) => void }) {
  const [most, setMost] = useState(SHOWN);
  const [words, setWords] = useState('');
  const wanted = words.trim().toLowerCase();
  const found = wanted ? app.runs.filter((run) => `${run.key} ${run.survey.run.name} ${run.survey.run.raceway}`.toLowerCase().includes(wanted)) : app.runs;
  const shown = found.slice(0, most);
  const current = found.find((run) => run.id === app.current);
  if (current && !shown.includes(current)) shown.unshift(current);
  return (
    <>
      {app.runs.length >= MANY && (
        <div class="pad">
          <TextField label={t.job.find} value={words} help={t.job.found(found.length)} onText={(text) => { setWords(text); setMost(SHOWN); }} />
        </div>
      )}
      <ul class="run-list">
        {shown.map((run) => (
          <RunRow key={run.id} run={run} on={run.id === app.current} onPrint={onPrint} />
        ))}
      </ul>
      {found.length > most && (
        <button type="button" class="wide-button" onClick={() => setMost(most + SHOWN)}>
          {t.job.showMore(Math.min(SHOWN, found.length - most))}
        </button>
      )}
    </>
  );
}

function RunRow({ run, on, onPrint }: { run: KeptRun; on: boolean; onPrint: (sheet: Sheet) => void }) {
  const app = useApp();
  const open = openOf(run.survey)?.length ?? 0;
  const planned = on ? app.planned : null;
  const answer = planned?.state === 'ok' ? planned.answer : null;
  return (
    <li class={on ? 'card run on' : 'card run'}>
      <button type="button" class="run-head" aria-pressed={on} onClick={() => choose(run.id)}>
        <span class="run-name">{run.survey.run.name || t.job.noName}</span>
        <span class="run-facts">
          <span>{run.key}</span>
          <span>{run.survey.run.raceway}</span>
          {run.times > 1 && <span class="status">{t.job.alike(run.times)}</span>}
          <span class={`status ${run.status}`}>{statusWords(run)}</span>
          {run.status === 'planned' && isBeingBent(run) && <span class="status begun">{t.job.begun}</span>}
          {app.shopKnown && <span class={run.where === 'shop' ? 'status' : 'status open'}>{t.share.where[run.where]}</span>}
          {open > 0 && <span class="status open">{t.job.open(open)}</span>}
        </span>
      </button>
      {on && (
        <div class="run-body">
          {run.refusal && <p class="wrong">{t.share.refused(run.refusal)}</p>}
          {answer?.plan.pieces.map((piece, i) => (
            <PieceLine key={piece.label} piece={piece} bench={answer.bench[i]!} several={answer.plan.pieces.length > 1} unit={run.survey.units} />
          ))}
          {planned?.state === 'refused' && <TroubleNotice error={planned.error} />}
          {answer && <Tail answer={answer} checked />}
          <RunDeeds run={run} ready={answer !== null} onPrint={onPrint} />
        </div>
      )}
    </li>
  );
}

/** What is cut or taken for a piece, or that it waits. */
function PieceLine({ piece, bench, several, unit }: { piece: PlannedPiece; bench: PieceAtBench; several: boolean; unit: Unit }) {
  if (bench.stop) return <p class="cut-line wrong">{bench.stop}</p>;
  return (
    <p class="cut-line">
      <span>{several ? t.see.ofPiece(piece.label, bench.take) : bench.take}</span>
      <Tape text={bench.length.tape} unit={unit} />
      <span class="quiet">{t.job.bends(piece.bends.length)}</span>
    </p>
  );
}

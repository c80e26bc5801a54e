/** Job: every run with its status, what the checks found, printing, and the file to take it all elsewhere. */
import { useRef, useState } from 'preact/hooks';
import { t } from '../../text/words';
import { JobCard } from './job-card';
import { RunNotes } from './run-notes';
import { jobFile, takeFile } from '../kept/job-file';
import { openOf } from '../kept/ask';
import { Icon } from '../parts/icons';
import { OrderCard } from './order-card';
import { Pick, TextField, TroubleNotice } from '../parts/parts';
import { Tail } from '../parts/tail';
import { PrintSheets, type Sheet } from './print';
import { addRun, removeRun, setStatus } from '../kept/act';
import { choose, say, useApp, type KeptRun, type State, type Status } from '../kept/state';
import { demoSurvey, newSurvey } from '../kept/survey';
import { counted } from '../kept/view';
import type { PieceAtBench, PlannedPiece } from '../../engine/types';
import type { Unit } from '../../text/lengths';
import { Tape } from '../parts/tape';

export function JobScreen() {
  const app = useApp();
  const [sheet, setSheet] = useState<Sheet | null>(null);
  const current = app.runs.find((r) => r.id === app.current);
  if (sheet && current) return <PrintSheets survey={current.survey} what={sheet} onClose={() => setSheet(null)} />;
  return (
    <div class="job">
      <JobCard />
      {!app.runs.length && <Welcome />}
      <RunList app={app} onPrint={setSheet} />
      {app.runs.length > 0 && (
        <button type="button" class="wide-button strong" onClick={startRun}>
          <Icon name="plus" />
          {t.job.add}
        </button>
      )}
      {app.runs.length > 0 && <OrderCard runs={app.runs} />}
      <FileCard />
      <p class="pad pad-top small">
        <a href="./notices.txt" target="_blank" rel="noopener">
          {t.job.notices}
        </a>
      </p>
    </div>
  );
}

/** So many runs are shown at once; of a longer list the one at hand, and what is looked for. */
const SHOWN = 50;

function RunList({ app, onPrint }: { app: State; onPrint: (sheet: Sheet) => void }) {
  const [most, setMost] = useState(SHOWN);
  const [words, setWords] = useState('');
  const wanted = words.trim().toLowerCase();
  const found = wanted ? app.runs.filter((run) => `${run.survey.run.name} ${run.survey.run.raceway}`.toLowerCase().includes(wanted)) : app.runs;
  const shown = found.slice(0, most);
  const current = found.find((run) => run.id === app.current);
  if (current && !shown.includes(current)) shown.unshift(current);
  return (
    <>
      {app.runs.length > SHOWN && <TextField label={t.job.find} value={words} help={t.job.found(found.length)} onText={(text) => { setWords(text); setMost(SHOWN); }} />}
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

function startRun(): void {
  addRun(newSurvey(t.job.newName));
  location.hash = '#/measure';
}

function Welcome() {
  return (
    <section class="card welcome">
      <h2>{t.job.welcome}</h2>
      <p>{t.job.welcomeWords}</p>
      <button type="button" class="wide-button strong" onClick={startRun}>
        <Icon name="plus" />
        {t.job.first}
      </button>
      <button
        type="button"
        class="wide-button"
        onClick={() => {
          addRun(demoSurvey());
          location.hash = '#/see';
        }}
      >
        {t.job.example}
      </button>
    </section>
  );
}

const someWords = ({ status, count }: { status: Status; count: number }): string => `${count} ${t.status[status].toLowerCase()}`;

/** 'Bent', or of runs alike '14 of 20 bent, 6 planned'. */
function statusWords({ statuses, times }: KeptRun): string {
  const [first, ...rest] = counted(statuses);
  if (!first || !rest.length) return t.status[first?.status ?? 'measured'];
  return [t.job.some(first.count, times, t.status[first.status].toLowerCase()), ...rest.map(someWords)].join(', ');
}

function RunRow({ run, on, onPrint }: { run: KeptRun; on: boolean; onPrint: (sheet: Sheet) => void }) {
  const app = useApp();
  const [sure, setSure] = useState(false);
  const open = openOf(run.survey)?.length ?? 0;
  const planned = on ? app.planned : null;
  const answer = planned?.state === 'ok' ? planned.answer : null;
  return (
    <li class={on ? 'card run on' : 'card run'}>
      <button type="button" class="run-head" aria-pressed={on} onClick={() => choose(run.id)}>
        <span class="run-name">{run.survey.run.name || t.job.noName}</span>
        <span class="run-facts">
          <span>{run.survey.run.raceway}</span>
          {run.times > 1 && <span class="status">{t.job.alike(run.times)}</span>}
          <span class={`status ${run.status}`}>{statusWords(run)}</span>
          {run.status === 'planned' && run.done.steps.length > 0 && <span class="status begun">{t.job.begun}</span>}
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
          <Pick
            label={run.times > 1 ? t.job.statusOfAll(run.times) : t.job.status}
            value={run.status}
            options={Object.entries(t.status).map(([value, label]) => ({ value, label }))}
            onPick={(v) => setStatus(run, v as Status)}
          />
          <RunNotes run={run} />
          <div class="two">
            <a class="wide-button" href="#/measure">
              {t.places.measure}
            </a>
            <a class="wide-button" href="#/bend">
              {t.places.bend}
            </a>
            <button type="button" class="wide-button" disabled={!answer} onClick={() => onPrint('card')}>
              <Icon name="print" />
              {t.print.card}
            </button>
            <button type="button" class="wide-button" disabled={!answer} onClick={() => onPrint('bench')}>
              <Icon name="print" />
              {t.print.bench}
            </button>
            <button type="button" class="wide-button" disabled={!answer} onClick={() => onPrint('strip')}>
              <Icon name="print" />
              {t.print.strip}
            </button>
          </div>
          {sure ? (
            <div class="two">
              <button type="button" class="wide-button danger" onClick={() => removeRun(run.id)}>
                {run.revision ? t.job.reallyRemoveThere : t.job.reallyRemove}
              </button>
              <button type="button" class="wide-button" onClick={() => setSure(false)}>
                {t.job.keepIt}
              </button>
            </div>
          ) : (
            <button type="button" class="quiet-button" onClick={() => setSure(true)}>
              <Icon name="bin" />
              {t.job.remove}
            </button>
          )}
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

function FileCard() {
  const app = useApp();
  const [wrong, setWrong] = useState('');
  const picker = useRef<HTMLInputElement>(null);
  const take = async (file: File | undefined): Promise<void> => {
    if (!file) return;
    const got = await takeFile(await file.text());
    setWrong(typeof got === 'string' ? got : '');
    if (typeof got === 'number') say(t.file.taken(got));
  };
  return (
    <section class="card">
      <h2>{t.file.title}</h2>
      <p>{app.lasting ? (app.stays ? t.file.stays : t.file.mayGo) : t.file.notKept}</p>
      <div class="two">
        <button type="button" class="wide-button" disabled={!app.runs.length} onClick={() => give(app)}>
          {t.file.save}
        </button>
        <button type="button" class="wide-button" onClick={() => picker.current?.click()}>
          {t.file.open}
        </button>
      </div>
      <input
        ref={picker}
        class="unseen"
        type="file"
        accept=".json,application/json"
        aria-label={t.file.pick}
        tabIndex={-1}
        onChange={(e) => {
          void take(e.currentTarget.files?.[0]);
          e.currentTarget.value = '';
        }}
      />
      {wrong && (
        <p class="wrong" role="alert">
          {wrong}
        </p>
      )}
    </section>
  );
}

function give({ job, runs }: State): void {
  const address = URL.createObjectURL(new Blob([jobFile(job)], { type: 'application/json' }));
  const link = document.createElement('a');
  link.href = address;
  link.download = `racewright-job-${new Date().toISOString().slice(0, 10)}.json`;
  link.click();
  setTimeout(() => URL.revokeObjectURL(address), 10_000);
  say(t.file.saved(runs.length));
}

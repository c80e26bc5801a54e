/** Files: the job to take elsewhere and one taken in, its pack, lists and models, and those of the run at hand. */
import { useEffect, useMemo, useRef, useState } from 'preact/hooks';
import { KINDS, type Trouble } from '../../engine/types';
import type { Reply } from '../../engine/engine';
import { t } from '../../text/words';
import { areasOf, BY_AREA, fits, jobNow } from '../desk/lists';
import { jobFile as wholeJob, leaveOut, ownLists, takeFile } from '../kept/job-file';
import type { Meeting } from '../kept/file-meets';
import { lacksTool } from '../kept/shoe';
import { currentRun, say, useApp } from '../kept/state';
import { during } from '../kept/working';
import { Notice, Pick, TroubleNotice } from '../parts/parts';
import { Tail } from '../parts/tail';
import { give } from './give';
import { JOB_FILES, jobFile, needsServer, RUN_FILES, runFile, type Form, type Made } from './offers';

export function Notices() {
  return (
    <p class="pad pad-top small">
      <a class="own-line" href="./notices.txt" target="_blank" rel="noopener">
        {t.job.notices}
      </a>
    </p>
  );
}

type Pages = (pages: readonly string[]) => void;

export function FilesCard({ onPages }: { onPages: Pages }) {
  const app = useApp();
  return (
    <section class="card files">
      <h2>{t.file.title}</h2>
      <p>{app.lasting ? (app.stays ? t.file.stays : t.file.mayGo) : t.file.notKept}</p>
      {!isSecureContext && (
        <Notice kind="caution" title={t.lists.plainHttp}>
          <p>{t.lists.plainHttpWords}</p>
        </Notice>
      )}
      <JobFile />
      <OwnLists />
      {app.runs.length > 0 && <Others onPages={onPages} />}
    </section>
  );
}

/** The job as one file, and such a file taken in. */
function JobFile() {
  const { job, runs } = useApp();
  const [wrong, setWrong] = useState('');
  const [meeting, setMeeting] = useState<Meeting | null>(null);
  const picker = useRef<HTMLInputElement>(null);
  const take = async (file: File | undefined): Promise<void> => {
    if (!file) return;
    const got = await during('taking', file.text().then(takeFile));
    setWrong(typeof got === 'string' ? got : '');
    setMeeting(typeof got === 'object' ? got : null);
    if (typeof got === 'number') say(t.file.taken(got));
  };
  const save = (): void => {
    give(`racewright-job-${new Date().toISOString().slice(0, 10)}.json`, wholeJob(job));
    say(t.file.saved(runs.length));
  };
  return (
    <>
      <div class="two">
        <button type="button" class="wide-button" disabled={!runs.length} onClick={save}>
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
      {meeting && <MeetsJob meeting={meeting} onDone={() => setMeeting(null)} />}
    </>
  );
}

/** Prices and people that a file brought, and that the shop neither tells this device nor takes from it. */
function OwnLists() {
  const { device } = useApp();
  const lists = ownLists();
  if (!lists.length) return null;
  const people = lists.filter(({ kind }) => kind === 'person').length;
  return (
    <Notice kind="info" title={t.lists.title(lists.length > people, people)}>
      <p>{t.lists.words(device, Object.keys(KINDS).join(','))}</p>
      <button type="button" class="quiet-button" onClick={() => leaveOut(lists)}>
        {t.lists.leaveOut}
      </button>
    </Notice>
  );
}

/** The file's job is here: what would come of it, and the ways on. */
function MeetsJob({ meeting, onDone }: { meeting: Meeting; onDone: () => void }) {
  const title = useRef<HTMLHeadingElement>(null);
  useEffect(() => title.current?.focus(), [meeting]);
  const { name, added, entries, differ, head, older, removed } = meeting;
  const told = [added && t.meets.added(added), entries && t.meets.entries(entries), differ && t.meets.differ(differ), head && t.meets.head].filter(Boolean);
  const stays = [older && t.meets.older(older), removed && t.meets.removed(removed)].filter(Boolean);
  const end = (work: () => string): void => {
    say(work());
    onDone();
  };
  const bringIn = (): string => {
    meeting.bringIn();
    return t.meets.into(name);
  };
  return (
    <section class="card" aria-label={t.meets.isHere(name)}>
      <h3 ref={title} tabIndex={-1}>
        {t.meets.isHere(name)}
      </h3>
      <ul>
        {[...(told.length ? told : [t.meets.nothing]), ...stays].map((words) => (
          <li key={words}>{words}</li>
        ))}
      </ul>
      {told.length > 0 && (
        <button type="button" class="wide-button" onClick={() => end(bringIn)}>
          {t.meets.bringIn}
        </button>
      )}
      <button type="button" class="wide-button" onClick={() => end(() => t.file.taken(meeting.asOwn()))}>
        {t.meets.asOwn}
      </button>
      <button type="button" class="wide-button" onClick={onDone}>
        {t.meets.leave}
      </button>
    </section>
  );
}

const named = (what: (typeof JOB_FILES)[number]['what']): string => (what === 'pack' ? t.files.pack : what === 'models' ? t.files.models : t.desk.lists[what]);

/** One file at a time is made and given: which, what came of it, and what asks for one. */
function useMaking(onPages: Pages) {
  const [busy, setBusy] = useState('');
  const [made, setMade] = useState<Made | null>(null);
  const [wrong, setWrong] = useState<Trouble | string>('');
  const make = async (name: string, work: () => Promise<Reply<Made>> | string): Promise<void> => {
    setMade(null);
    setWrong('');
    const going = work();
    if (typeof going === 'string') return setWrong(going);
    setBusy(name);
    const reply = await going;
    setBusy('');
    if (!reply.ok) return setWrong(reply.error);
    const { files, pages } = reply.answer;
    setMade(reply.answer);
    for (const file of files) give(file.name, file.data);
    if (pages.length) return onPages(pages);
    say(files.length ? t.files.made(name, files.length) : t.files.nothing(name));
  };
  return { busy, made, wrong, make };
}

/** A file in each of its forms. */
function FileRow({ what, forms, isOff, onGive }: { what: string; forms: readonly Form[]; isOff: (form: Form) => boolean; onGive: (name: string, form: Form) => void }) {
  return (
    <div class="file-row" role="group" aria-label={what}>
      <span>{what}</span>
      {forms.map((form) => {
        const name = t.files.give(what, t.files.forms[form]);
        return (
          <button key={form} type="button" class="chip" disabled={isOff(form)} aria-label={name} onClick={() => onGive(name, form)}>
            {t.files.forms[form]}
          </button>
        );
      })}
    </div>
  );
}

/** What the engine makes of the job and of the run at hand. */
function Others({ onPages }: { onPages: Pages }) {
  const app = useApp();
  const [area, setArea] = useState('');
  const { busy, made, wrong, make } = useMaking(onPages);
  const server = app.engine.kind === 'server' && app.engine.phase === 'ready' && app.shop !== 'alone';
  const run = currentRun();
  const areas = useMemo(() => areasOf(app.job), [app.job, app.runs]);
  const part = areas.includes(area) ? area : '';
  const isOff = (form: Form): boolean => busy !== '' || (needsServer(form) && !server);
  const ofJob = (what: (typeof JOB_FILES)[number]['what'], form: Form) => (): Promise<Reply<Made>> | string => {
    const own = what === 'pack' || what === 'models' || BY_AREA.includes(what) ? part : '';
    const job = jobNow(app.job, own);
    const list = what !== 'pack' && what !== 'models' && form === 'csv'; // an engine of the browser's own works that out
    return list || fits(job) ? jobFile(what, form, job, own, app.person) : t.files.tooLong((job.runs ?? []).length);
  };
  return (
    <>
      {!server && <p class="quiet">{t.files.noServer}</p>}
      <details class="more">
        <summary>{t.files.ofJob}</summary>
        {areas.length > 0 && <Pick label={t.files.area} value={part} options={[{ value: '', label: t.desk.whole }, ...areas.map((value) => ({ value, label: value }))]} onPick={setArea} />}
        {JOB_FILES.map(({ what, forms }) => (
          <FileRow key={what} what={named(what)} forms={forms} isOff={isOff} onGive={(name, form) => void make(name, ofJob(what, form))} />
        ))}
      </details>
      {run && !lacksTool(run) && (
        <details class="more">
          <summary>{t.files.ofRun(run.survey.run.name || t.job.noName)}</summary>
          {RUN_FILES.map(({ what, forms }) => (
            <FileRow key={what} what={what === 'model' ? t.files.model : t.files.sheets[what]} forms={forms} isOff={isOff} onGive={(name, form) => void make(name, () => runFile(what, form, run))} />
          ))}
        </details>
      )}
      <div aria-live="polite">
        {busy && <p>{app.engine.phase === 'ready' ? t.files.making(busy) : t.files.waiting(busy)}</p>}
        {typeof wrong === 'string' ? wrong && <p class="wrong">{wrong}</p> : <TroubleNotice error={wrong} />}
        {made && <Tail answer={made.answer} />}
      </div>
    </>
  );
}

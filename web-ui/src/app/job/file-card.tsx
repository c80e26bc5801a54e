/** The job as a file to take elsewhere, and a file taken in. */
import { useRef, useState } from 'preact/hooks';
import { t } from '../../text/words';
import { jobFile, takeFile } from '../kept/job-file';
import { say, useApp, type State } from '../kept/state';

export function Notices() {
  return (
    <p class="pad pad-top small">
      <a href="./notices.txt" target="_blank" rel="noopener">
        {t.job.notices}
      </a>
    </p>
  );
}

export function FileCard() {
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

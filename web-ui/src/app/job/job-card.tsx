/** Which job it is, where it is kept, and who writes. */
import { useState } from 'preact/hooks';
import { t } from '../../text/words';
import { moveRuns, newJob, sendJob, setLocal } from '../kept/act';
import { chooseJob, useApp, type State } from '../kept/state';
import { Notice, Pick, TextField } from '../parts/parts';

export function JobCard() {
  const app = useApp();
  const job = app.jobs.find((one) => one.id === app.job);
  if (!app.jobs.length && !app.shopKnown) return null;
  const named = app.jobs.map((one) => ({ value: one.id, label: one.there || !app.shopKnown ? one.name : t.share.onlyHere(one.name) }));
  return (
    <section class="card job-card">
      {app.jobs.length > 1 || !job ? (
        <Pick label={t.share.job} value={app.job} options={job ? named : [{ value: '', label: t.share.pickJob }, ...named]} onPick={(id) => id && chooseJob(id)} />
      ) : (
        <h2>{job.name}</h2>
      )}
      <Kept app={app} there={job?.there ?? false} />
      {job && !job.there && <Ask app={app} />}
      {job && <SettingsLink />}
      <More app={app} />
    </section>
  );
}

/** Leads to what is set for the job. */
function SettingsLink() {
  return (
    <a class="quiet-button settings-link" href="#/setup">
      {t.settings.link}
    </a>
  );
}

/** Where this job's runs are, in one line. */
function Kept({ app, there }: { app: State; there: boolean }) {
  if (!app.shopKnown) return null;
  if (app.shop === 'newer') return <Notice kind="caution"><p>{t.share.newer}</p></Notice>;
  if (app.shop === 'refused') return <Notice kind="caution"><p>{t.share.saysNo(app.shopWords)}</p></Notice>;
  const here = app.runs.filter((run) => run.where === 'here').length;
  const asked = app.jobs.some((job) => job.there) && !there;
  if (asked || !app.runs.length) return null;
  const refused = app.runs.filter((run) => run.where === 'refused').length;
  if (refused) return <Notice kind="caution"><p>{t.share.notTaken(refused)}</p></Notice>;
  return <p class="where">{here ? t.share.waiting(here, app.shop === 'done') : app.waiting && app.shop !== 'done' ? t.share.someWaits : t.share.allIn}</p>;
}

/** Runs of this phone at a shop that has jobs: nothing goes anywhere before a person says where. */
function Ask({ app }: { app: State }) {
  const shops = app.jobs.filter((job) => job.there);
  if (!app.shopKnown || !shops.length) return null;
  return (
    <div class="ask">
      <p>
        <b>{t.share.ask(app.runs.length)}</b>
      </p>
      <p>{t.share.askWords}</p>
      {shops.map((job) => (
        <button key={job.id} type="button" class="wide-button" onClick={() => moveRuns(app.job, job.id)}>
          {t.share.into(job.name)}
        </button>
      ))}
      <button type="button" class="wide-button" onClick={() => sendJob(app.job)}>
        {t.share.asOwn}
      </button>
    </div>
  );
}

function More({ app }: { app: State }) {
  const [name, setName] = useState('');
  const begin = (): void => {
    newJob(name.trim());
    setName('');
  };
  return (
    <details>
      <summary>{t.share.who}</summary>
      <TextField label={t.share.person} value={app.person} help={t.share.personHelp} onText={(words) => setLocal('person', words)} />
      <TextField label={t.share.newJob} value={name} help={t.share.newJobHelp} onText={setName} />
      <button type="button" class="wide-button" disabled={!name.trim()} onClick={begin}>
        {t.share.begin}
      </button>
    </details>
  );
}

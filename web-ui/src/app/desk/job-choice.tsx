/** Several jobs, and none is chosen yet: that comes first. */
import { useMemo } from 'preact/hooks';
import { t } from '../../text/words';
import { allRecs, recsOf } from '../kept/kept';
import { ofShop } from '../kept/record';
import { chooseJob, useApp } from '../kept/state';
import { NO_BENCH, runOf, type Status } from '../kept/view';
import { when } from '../parts/when';

interface Seen {
  runs: number;
  toDo: number;
  at: string;
}

const isDone = (status: Status): boolean => status === 'in' || status === 'wired';

/** How many runs each job has, how many of them are not in place yet, and when something of it was last written into the shop. */
function seenOf(): Map<string, Seen> {
  const found = new Map<string, Seen>();
  for (const rec of allRecs()) {
    const { kind, job, data, agreed } = rec;
    if (ofShop(rec) || data === null) continue;
    const seen = found.get(job) ?? { runs: 0, toDo: 0, at: '' };
    if (kind === 'run') {
      const { statuses } = runOf(rec, recsOf(rec.id, 'entry'), NO_BENCH);
      seen.runs += statuses.length;
      seen.toDo += statuses.filter((status) => !isDone(status)).length;
    }
    if ((Date.parse(agreed.at) || 0) > (Date.parse(seen.at) || 0)) seen.at = agreed.at;
    found.set(job, seen);
  }
  return found;
}

export function JobChoice() {
  const { jobs } = useApp();
  const seen = useMemo(seenOf, [jobs]);
  return (
    <section class="card">
      <h2>{t.desk.jobs}</h2>
      <p>{t.desk.jobsWords}</p>
      <div class="table-scroll stacks" tabIndex={0} role="region" aria-label={t.desk.jobs}>
        <table class="plain jobs">
          <thead>
            <tr>
              <th scope="col">{t.desk.jobName}</th>
              <th scope="col">{t.desk.jobRuns}</th>
              <th scope="col">{t.together.toDo}</th>
              <th scope="col">{t.desk.jobTouched}</th>
            </tr>
          </thead>
          <tbody>
            {jobs.map((job) => (
              <tr key={job.id}>
                <th scope="row">
                  <button type="button" class="run-link" aria-label={t.desk.jobOpen(job.name)} onClick={() => chooseJob(job.id)}>
                    {job.there ? job.name : t.share.onlyHere(job.name)}
                  </button>
                </th>
                <td data-of={t.desk.jobRuns}>{seen.get(job.id)?.runs ?? 0}</td>
                <td data-of={t.together.toDo}>{seen.get(job.id)?.toDo ?? 0}</td>
                <td data-of={t.desk.jobTouched}>{seen.get(job.id)?.at ? when(seen.get(job.id)!.at) : t.desk.never}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </div>
    </section>
  );
}

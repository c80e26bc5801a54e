/** What a screen that fails does: it says so, the other places stay, and the job can be saved as a file. */
import { Component, type ComponentChildren } from 'preact';
import { t } from '../../text/words';
import { give } from '../files/give';
import { jobFile } from '../kept/job-file';
import { allRecs } from '../kept/kept';
import { state } from '../kept/state';
import { Notice } from './parts';

/** The job at hand as its file; where that fails too all records as they are kept, to be looked at by hand. */
function save(): void {
  try {
    give('racewright-job.json', jobFile(state.job));
  } catch {
    give('racewright-records.json', JSON.stringify([...allRecs()], null, 1));
  }
}

/** `key` it by the screen and what it shows, so that going elsewhere begins anew; Job, which shows many runs, by itself. */
export class Boundary extends Component<{ children: ComponentChildren }, { failed: string }> {
  override state = { failed: '' };

  static override getDerivedStateFromError(error: unknown): { failed: string } {
    return { failed: String(error) };
  }

  override render() {
    if (!this.state.failed) return this.props.children;
    return (
      <section class="card">
        <Notice kind="problem" title={t.screenFailed}>
          <p>{t.screenFailedWords}</p>
          <p>{this.state.failed}</p>
        </Notice>
        <button type="button" class="wide-button strong" onClick={save}>
          {t.screenFailedSave}
        </button>
      </section>
    );
  }
}

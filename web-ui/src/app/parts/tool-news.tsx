/** Beside marks: which tool they are for, that it was measured anew since, and the way to its figures. */
import { t } from '../../text/words';
import { putOn } from '../kept/act';
import { getRec } from '../kept/kept';
import { textIn } from '../kept/record';
import { newerOf } from '../kept/shoe';
import { currentRun, say, useApp, type KeptRun } from '../kept/state';
import { isBegun } from '../kept/view';
import { planAgain } from '../link';
import { toolHash } from '../tools/profile';
import { Notice } from './parts';

/** That the run's tool was measured anew since, and the way to its figures as they are now. */
export function ToolNews({ run }: { run: KeptRun }) {
  useApp();
  const newer = newerOf(run);
  if (!newer) return null;
  const name = textIn(getRec(newer.id)?.data, 'name');
  if (isBegun(run)) return <p class="quiet pad">{t.shoe.newerBegun(name)}</p>;
  return (
    <Notice kind="caution">
      <p>{t.shoe.newer(name)}</p>
      <button
        type="button"
        class="wide-button"
        onClick={() => {
          putOn([run], newer);
          say(t.shoe.taken(name));
          planAgain();
        }}
      >
        {t.shoe.take}
      </button>
      <a class="wide-button" href={toolHash(newer.id)}>
        {t.tools.fix}
      </a>
    </Notice>
  );
}

/** Which tool's figures the marks are for, and the way to them; to a tool of one's own while they are only taught. */
export function ToolLine({ words }: { words: string }) {
  const tool = currentRun()?.tool;
  return (
    <p class="quiet small shoe-line">
      {words} <a href={toolHash(tool ? tool.id : 'new')}>{tool ? t.tools.fix : t.see.toShoe}</a>
    </p>
  );
}

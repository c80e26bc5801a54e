/** What was changed of the job, by whom and when, and what taking it back would do. */
import { useEffect, useState } from 'preact/hooks';
import { t } from '../../text/words';
import { nameOf } from '../kept/differ';
import { keeper } from '../kept/kept';
import { canTakeBack, heardLog, hearLog, inLines, leaveAsAgreed, saidElsewhere, takeBackChange, waitingHere, whatBack } from '../kept/log';
import { say, useApp } from '../kept/state';
import { Icon } from '../parts/icons';
import { when } from '../parts/when';

const MOST = 12;

export function ChangesPart({ job }: { job: string }) {
  useApp();
  const { number } = keeper.place();
  useEffect(() => void hearLog(job), [job, number]);
  const [most, setMost] = useState(MOST);
  const heard = heardLog(job);
  const waiting = waitingHere(job);
  const changes = heard?.log.changes ?? [];
  return (
    <>
      {waiting.length > 0 && (
        <section class="card set-list">
          <h2>{t.settings.waiting}</h2>
          <ul>
            {waiting.map((rec) => (
              <Change key={rec.id} title={nameOf(rec)} words="" back={[{ kind: rec.kind, now: rec.data, after: rec.agreed.data }]} onBack={() => leaveAsAgreed(rec)} />
            ))}
          </ul>
        </section>
      )}
      <section class="card set-list log">
        <h2>{t.settings.parts.changes}</h2>
        <p class="quiet">{heard ? t.settings.heard(when(heard.at)) : t.settings.unheard}</p>
        <ul>
          {changes.slice(0, most).map((change) => (
            <Change
              key={change.number}
              title={change.what}
              words={[change.by, when(change.at), change.undone && t.settings.undone].filter(Boolean).join(', ')}
              differs={change.differs}
              others={saidElsewhere(change)}
              {...(change.mine ? {} : { by: change.by })}
              back={canTakeBack(change) ? whatBack(change) : []}
              onBack={() => takeBackChange(change)}
            />
          ))}
        </ul>
        {changes.length > most && (
          <button type="button" class="quiet-button" onClick={() => setMost(most + MOST)}>
            {t.desk.more(changes.length - most)}
          </button>
        )}
        {heard?.log.older && changes.length <= most && <p class="quiet">{t.settings.older}</p>}
      </section>
    </>
  );
}

interface Props {
  title: string;
  words: string;
  /** What of it is another than before, a field each. */
  differs?: readonly string[];
  /** Somebody else's; and what of it another device said, whose and when. */
  by?: string;
  others?: ReturnType<typeof saidElsewhere>;
  /** What taking it back does to each record; none: it cannot be. */
  back: ReturnType<typeof whatBack>;
  onBack: () => void;
}

/** `undo` says first what it would do. */
function Change({ title, words, differs = [], by, others = [], back, onBack }: Props) {
  const [open, setOpen] = useState(false);
  const undo = (): void => {
    onBack();
    setOpen(false);
    say(t.settings.backAgain(title));
  };
  return (
    <li>
      <p>
        <b>{title}</b>
        {words && <span class="set-words">{words}</span>}
        {differs.map((line) => (
          <span class="set-words" key={line}>{line}</span>
        ))}
      </p>
      {back.length > 0 && !open && (
        <div class="set-deeds">
          <button type="button" class="quiet-button" aria-label={t.settings.of(t.undo.undo, title)} onClick={() => setOpen(true)}>
            <Icon name="undo" />
            {t.undo.undo}
          </button>
        </div>
      )}
      {back.length > 0 && open && (
        <div class="change-form" role="group" aria-label={t.settings.wouldDo}>
          <p>{t.settings.wouldDo}</p>
          <ul class="would">
            {back.slice(0, MOST).flatMap(inLines).map((line, i) => (
              <li key={i}>{line}</li>
            ))}
          </ul>
          {back.length > MOST && <p>{t.desk.more(back.length - MOST)}</p>}
          {others.slice(0, MOST).map((one) => (
            <p class="wrong" key={`${one.by} ${one.at}`}>{t.settings.saidElsewhere(one.by, when(one.at))}</p>
          ))}
          {by !== undefined && !others.length && <p class="wrong">{t.settings.notYours(by)}</p>}
          <div class="two">
            <button type="button" class="wide-button strong" onClick={undo}>
              {t.settings.undoIt}
            </button>
            <button type="button" class="wide-button" onClick={() => setOpen(false)}>
              {t.settings.cancel}
            </button>
          </div>
        </div>
      )}
    </li>
  );
}

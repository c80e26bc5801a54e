/** What was seen and done on a run, and a note to add: what is typed of it stays here until it is kept or emptied. */
import { useState } from 'preact/hooks';
import type { Entry } from '../../engine/types';
import { t } from '../../text/words';
import { note } from '../kept/act';
import { pieceName } from '../kept/copies';
import { local, putLocal } from '../kept/kept';
import type { KeptRun } from '../kept/state';
import { copyTold } from '../kept/view';
import { piecesOf } from '../parts/facts';
import { once } from '../parts/once';
import { TextField } from '../parts/parts';

const MOST_SHOWN = 12;

type What = Entry['what'];
/** What is said of each kind of entry beside its note, on a piece of this name; the status stands above, and bends made show at the bench. */
const SAID: { [K in What['kind']]: ((what: Extract<What, { kind: K }>, of: string) => string) | null } = {
  status: null,
  made: null,
  readings: ({ measured }, of) => t.runNotes.readings(measured.length, of),
  corrected: ({ moves }, of) => t.runNotes.corrected(moves.length, of),
  note: () => '',
};

/** An entry in one line; '' for what stands elsewhere. */
function line(run: KeptRun, entry: Entry): string {
  const { what, piece } = entry;
  const say = SAID[what.kind] as ((what: What, of: string) => string) | null;
  const words = say && say(what, pieceName(run.key, piece ?? 1, copyTold(entry, run.times), piecesOf(run.id)));
  return say ? [words, 'note' in what ? what.note : ''].filter(Boolean).join(': ') : '';
}

export function RunNotes({ run }: { run: KeptRun }) {
  const draft = `draft:${run.id}`;
  const [words, setWords] = useState(() => (local.get(draft) as string | undefined) ?? '');
  const type = (to: string): void => {
    setWords(to);
    void putLocal(draft, to || undefined);
  };
  const told = run.entries.map(({ entry }) => ({ entry, words: line(run, entry) })).filter((one) => one.words);
  const keep = (): void => {
    note(run, { kind: 'note', note: words.trim() }, { pins: { run: run.revision } });
    type('');
  };
  return (
    <>
      {told.length > 0 && (
        <ul class="run-notes">
          {told.slice(-MOST_SHOWN).map((one) => (
            <li key={one.entry.id}>
              {one.words} <small>{one.entry.by}</small>
            </li>
          ))}
        </ul>
      )}
      <TextField label={t.runNotes.label} value={words} onText={type} />
      {words.trim() !== '' && (
        <button type="button" class="wide-button" onClick={(e) => void once(e, keep)}>
          {t.runNotes.keep}
        </button>
      )}
    </>
  );
}

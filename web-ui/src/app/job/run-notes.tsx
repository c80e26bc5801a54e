/** What was seen and done on a run, and a note to add. */
import { useState } from 'preact/hooks';
import type { Entry } from '../../engine/types';
import { t } from '../../text/words';
import { note } from '../kept/act';
import type { KeptRun } from '../kept/state';
import { TextField } from '../parts/parts';

const MOST_SHOWN = 12;

/** An entry in one line; the status stands above, and bends made show at the bench. */
function line({ what, piece }: Entry): string {
  const words = 'note' in what ? what.note : '';
  if (what.kind === 'readings') return [t.runNotes.readings(what.measured.length, piece), words].filter(Boolean).join(': ');
  if (what.kind === 'corrected') return [t.runNotes.corrected(what.moves.length, piece), words].filter(Boolean).join(': ');
  return what.kind === 'note' ? what.note : '';
}

export function RunNotes({ run }: { run: KeptRun }) {
  const [words, setWords] = useState('');
  const told = run.entries.map(({ entry }) => ({ entry, words: line(entry) })).filter((one) => one.words);
  const keep = (): void => {
    note(run, { kind: 'note', note: words.trim() }, { pins: { run: run.revision } });
    setWords('');
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
      <TextField label={t.runNotes.label} value={words} onText={setWords} />
      {words.trim() !== '' && (
        <button type="button" class="wide-button" onClick={keep}>
          {t.runNotes.keep}
        </button>
      )}
    </>
  );
}

/** The class list: who learns here, what each has reached, as a sheet to print and as CSV. It stays on this device. */
import { useEffect, useState } from 'preact/hooks';
import type { ClassAnswer, Trouble } from '../../engine/types';
import { t } from '../../text/words';
import { ask } from '../kept/ask';
import { useApp } from '../kept/state';
import { Icon } from '../parts/icons';
import { TextField, TroubleNotice } from '../parts/parts';
import { Tail } from '../parts/tail';
import { took } from '../parts/undo';
import { classNow, keepClass, rulesNow } from './class-kept';
import { schemeOf, withoutPerson, withPerson, type Unit } from './class-list';

export function ClassCard({ units }: { units: Unit }) {
  useApp();
  const now = classNow();
  const [name, setName] = useState('');
  const [answer, setAnswer] = useState<ClassAnswer | null>(null);
  const [error, setError] = useState<Trouble | null>(null);
  const rules = JSON.stringify(schemeOf(rulesNow()));
  useEffect(() => {
    let newest = true;
    if (now.people.length)
      void ask('practice_class', { people: [...now.people], results: [...now.results], scheme: schemeOf(rulesNow()), units }).then((reply) => {
        if (!newest) return;
        setError(reply.ok ? null : reply.error);
        if (reply.ok) setAnswer(reply.answer);
      });
    else setAnswer(null);
    return () => {
      newest = false;
    };
  }, [now, rules, units]);
  const add = (): void => {
    keepClass(withPerson(now, name));
    setName('');
  };
  const remove = (person: string): void => {
    keepClass(withoutPerson(now, person));
    took(person, () => keepClass(now));
  };
  return (
    <details class="card more class-card">
      <summary>{t.practice.classTitle(now.people.length)}</summary>
      <h2 class="print-only">{t.practice.classTitle(now.people.length)}</h2>
      <p class="quiet screen-only">{t.practice.classWords}</p>
      <div class="screen-only">
        <TextField label={t.practice.person} value={name} onText={setName} />
        <button type="button" class="quiet-button" disabled={!name.trim()} onClick={add}>
          {t.practice.addPerson}
        </button>
      </div>
      {error && <TroubleNotice error={error} />}
      {answer && (
        <>
          <p class="quiet">{answer.pass_rule}</p>
          <div class="table-scroll" tabIndex={0} role="region" aria-label={t.practice.results}>
            <Sheet answer={answer} onRemove={remove} />
          </div>
          <Tail answer={answer} />
          <div class="screen-only">
            <button type="button" class="wide-button" onClick={printClass}>
              <Icon name="print" />
              {t.practice.printClass}
            </button>
            <button type="button" class="wide-button" onClick={() => giveCsv(answer.csv)}>
              {t.practice.csv}
            </button>
          </div>
        </>
      )}
    </details>
  );
}

function Sheet({ answer, onRemove }: { answer: ClassAnswer; onRemove: (person: string) => void }) {
  return (
    <table class="plain">
      <thead>
        <tr>
          <th scope="col">{t.practice.person}</th>
          {answer.problems.map((problem) => (
            <th key={problem} scope="col">
              {problem}
            </th>
          ))}
          <th scope="col">{t.practice.sum}</th>
          <th scope="col">{t.practice.passed}</th>
          <td class="screen-only" />
        </tr>
      </thead>
      <tbody>
        {answer.rows.map((row) => (
          <tr key={row.person}>
            <th scope="row">
              {row.person}
              {row.ungraded.length > 0 && <small>{t.practice.ungraded(row.ungraded.join('; '))}</small>}
            </th>
            {row.cells.map((cell, i) => (
              <td key={i}>{cell || '–'}</td>
            ))}
            <td>{row.total || '–'}</td>
            <td>{row.passed}</td>
            <td class="screen-only">
              <button type="button" class="plain-key" onClick={() => onRemove(row.person)} aria-label={t.practice.removePerson(row.person)}>
                <Icon name="bin" />
              </button>
            </td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}

/** Only the class on paper, not the sheet of problems beside it. */
function printClass(): void {
  document.documentElement.dataset['print'] = 'class';
  window.print();
  delete document.documentElement.dataset['print'];
}

function giveCsv(text: string): void {
  const address = URL.createObjectURL(new Blob(['\ufeff', text], { type: 'text/csv' }));
  const link = document.createElement('a');
  link.href = address;
  link.download = `racewright-class-${new Date().toISOString().slice(0, 10)}.csv`;
  link.click();
  setTimeout(() => URL.revokeObjectURL(address), 10_000);
}

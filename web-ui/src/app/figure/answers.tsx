/** The answer to a question: one view for the code's, one for a shape, one for a pull; and what of it a note keeps. */
import type { Form } from '../../engine/forms';
import type { PullAnswer, ShapeAnswer } from '../../engine/types';
import { withUnit, type Unit } from '../../text/lengths';
import { t } from '../../text/words';
import { Notice } from '../parts/parts';
import { Tail } from '../parts/tail';
import type { AnyAnswer, CodeAnswer } from './asked';
import { CodeSteps } from './code-answer';
import { ShapeView } from './shape-answer';
import { PlainTable } from './tables';

export function Answer({ form, answer, unit }: { form: Form; answer: AnyAnswer; unit: Unit }) {
  if (form.view === 'code') return <CodeView answer={answer as CodeAnswer} />;
  if (form.view === 'pull') return <PullView answer={answer as PullAnswer} />;
  return <ShapeView form={form} answer={answer as ShapeAnswer} unit={unit} />;
}

function Headline({ words }: { words: string }) {
  const [first, ...others] = words.split('\n');
  return (
    <>
      <h2 class="figure-head">{first}</h2>
      {others.map((line) => (
        <p key={line}>{line}</p>
      ))}
    </>
  );
}

function CodeView({ answer }: { answer: CodeAnswer }) {
  return (
    <>
      <Headline words={answer.headline} />
      <p class="quiet">{t.figure.by(answer.edition)}</p>
      <CodeSteps steps={answer.steps} />
      {answer.from_memory.length > 0 && (
        <Notice kind="caution">
          <p>{t.figure.memory(answer.from_memory.join('; '))}</p>
        </Notice>
      )}
      <Tail answer={answer} />
    </>
  );
}

const DIRECTION = 'pull.direction';
const which = (answer: PullAnswer): string[] => answer.findings.filter((one) => one.rule === DIRECTION).map((one) => one.message);

function PullView({ answer }: { answer: PullAnswer }) {
  const rest = { ...answer, findings: answer.findings.filter((one) => one.rule !== DIRECTION) };
  return (
    <>
      <h2 class="figure-head">
        {answer.raceway}: {answer.wires.join(', ')}, {answer.metal}
      </h2>
      {which(answer).map((words) => (
        <p key={words}>
          <b>{words}</b>
        </p>
      ))}
      <p>{answer.bears}</p>
      {answer.facts.map((line) => (
        <p key={line} class="quiet">
          {line}
        </p>
      ))}
      {answer.told.map((pull) => (
        <section key={pull.title}>
          {pull.title && <h3>{pull.title}</h3>}
          {pull.ways.map((way) => (
            <PlainTable key={way.title} table={way} />
          ))}
        </section>
      ))}
      {answer.from_memory.length > 0 && (
        <Notice kind="caution">
          <p>{t.figure.memoryOfPull(answer.from_memory.join('; '))}</p>
        </Notice>
      )}
      <Tail answer={rest} />
    </>
  );
}

/** A note holds so many signs. */
const MOST = 3900;

/** The answer in a few lines, with what was asked. */
export function noteOf(form: Form, title: string, asked: string, answer: AnyAnswer, unit: Unit): string {
  const about = asked ? `${title} (${asked})` : title;
  return `${about}: ${told(form, answer, unit)}`.slice(0, MOST);
}

function told(form: Form, answer: AnyAnswer, unit: Unit): string {
  if (form.view === 'code') {
    const { headline, edition } = answer as CodeAnswer;
    return `${headline.replaceAll('\n', '; ')} (${edition})`;
  }
  if (form.view === 'pull') {
    const pull = answer as PullAnswer;
    return [...which(pull), pull.bears].join(' ');
  }
  const shape = answer as ShapeAnswer;
  const marks = shape.bends.map((bend, i) => {
    const at = bend.marks.find((mark) => mark.hook === 'A' && mark.reference === 'arrow');
    return `${i + 1} ${bend.called} ${bend.angle} ${at ? withUnit(at.at.tape, unit) : ''}`.trim();
  });
  const facts = shape.facts.map((one) => `${one.label} ${one.text}`).join('; ');
  const rows = shape.bends.length ? '' : shape.tables.map((table) => `${table.title}: ${table.rows.map((row) => row.join(' ')).join('; ')}.`).join(' ');
  return [
    `${shape.title}.`,
    shape.benders.map((one) => `${t.figure.shoe(one.name)}.`).join(' '),
    facts && `${facts}.`,
    marks.length ? t.figure.noteMarks(marks.join('; ')) : '',
    marks.length ? t.figure.counted(shape.counted_from.replace(/ \(.*\)$/, '')) : '',
    rows,
  ]
    .filter(Boolean)
    .join(' ');
}

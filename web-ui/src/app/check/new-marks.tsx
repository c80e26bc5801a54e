/** New marks for the rest of a half-bent piece, in the order in which they are bent. */
import type { RemarkAnswer } from '../../engine/types';
import { t } from '../../text/words';
import { Notice } from '../parts/parts';
import { Problems, Tail } from '../parts/tail';
import { Tape } from '../parts/tape';

export function NewMarks({ answer }: { answer: RemarkAnswer }) {
  if (answer.scrap)
    return (
      <>
        <Problems answer={answer} />
        <Notice kind="info">
          {answer.notes.map((w) => (
            <p key={w}>{w}</p>
          ))}
        </Notice>
        <Tail answer={answer} problemsAbove />
      </>
    );
  return (
    <>
      <Problems answer={answer} />
      <Notice kind={answer.met && !answer.findings.some((f) => f.severity === 'problem') ? 'good' : 'info'}>
        {[...answer.notes, ...answer.words].map((w) => (
          <p key={w}>{w}</p>
        ))}
      </Notice>
      <div class="table-scroll stacks" tabIndex={0} role="region" aria-label={t.check.newMark}>
        <table class="plain choices">
          <thead>
            <tr>
              <th scope="col">{t.check.bend}</th>
              <th scope="col">{t.check.newMark}</th>
              <th scope="col">{t.check.wasMark}</th>
              <th scope="col">{t.see.with}</th>
            </tr>
          </thead>
          <tbody>
            {answer.marks.flatMap((m) => [
              <tr key={m.number}>
                <th scope="row">{t.bend.sentence(m.name)}</th>
                <td class="differs" data-of={t.check.newMark}>{m.on_conduit ? <Tape text={m.mark.tape} unit={answer.unit} /> : t.check.offIt}</td>
                <td data-of={t.check.wasMark}>
                  <Tape text={m.was.tape} unit={answer.unit} />
                </td>
                <td data-of={t.see.with}>{m.placed}</td>
              </tr>,
              <tr key={`turn ${m.number}`}>
                <td colSpan={4}>
                  {answer.done?.includes(m.number) ? (
                    <b>{t.check.isDone}</b>
                  ) : (
                    <>
                      <b>{t.bend.sentence(m.bend_to)}.</b> {m.spin_words}. {m.stance_words && `${t.bend.sentence(m.stance_words)}.`} {m.look_at}
                    </>
                  )}
                </td>
              </tr>,
            ])}
          </tbody>
        </table>
      </div>
      <p>
        {t.check.cut} <Tape text={answer.cut.tape} unit={answer.unit} /> ({t.check.cutWas} <Tape text={answer.was_cut.tape} unit={answer.unit} />)
      </p>
      <Tail answer={answer} problemsAbove />
    </>
  );
}

/** One question: its fields, filled from the run at hand where that knows them, and the answer below. */
import { useState } from 'preact/hooks';
import type { Form, FormField } from '../../engine/forms';
import type { Unit } from '../../text/lengths';
import { t } from '../../text/words';
import { note } from '../kept/act';
import { benderOf } from '../kept/shoe';
import { currentRun, say, useApp } from '../kept/state';
import { shopTools, type KeptTool } from '../kept/tools';
import { bringIntoView, fieldOf, Keypad } from '../parts/keypad';
import { usePlan } from '../parts/plan';
import { Pick, Segments, TroubleNotice, wrongBeside, type Beside, type FieldKit } from '../parts/parts';
import { Answer, noteOf } from './answers';
import { answerTo, askNow, keepUnit, keepWritten, lastUnit, lastWritten } from './asked';
import { Field } from './fields';
import { askedWords, atField, fact, factsOf, inUnit, openFields, partOfIt, requestOf, RUNS_OWN, valueOf, type Tool, type Value, type Written, type Wrong } from './form';

const signTurned = (text: string): string => (text.startsWith('-') ? text.slice(1) : `-${text}`);

/** The fields of lengths that can be seen, from the top. */
const seen = (): HTMLElement[] => [...document.querySelectorAll<HTMLElement>('.figure [data-length]')].filter((el) => !el.closest('details:not([open])'));

export function Question({ form, title }: { form: Form; title: string }) {
  const app = useApp();
  const run = currentRun();
  const [written, setWritten] = useState(() => lastWritten(form.key));
  const [active, setActive] = useState('');
  const [wrong, setWrong] = useState<Wrong>({});
  const [waiting, setWaiting] = useState(false);
  const [kept, setKept] = useState('');
  const [, answered] = useState(0);
  const shop = form.beside.length ? shopTools().filter((one) => !one.gone) : [];
  const plan = usePlan().answer?.plan ?? null; // what it says stays on the form while the run is planned again
  const facts = run ? factsOf(run.survey, plan) : {};
  const unit: Unit = (written['unit'] as Unit | undefined) ?? lastUnit() ?? run?.survey.units ?? 'in';
  const runTool: Tool = run && !run.survey.run.bend_radius ? benderOf(run) : {};
  const usual = runTool.bender ? RUNS_OWN : '';
  const chosen = String(written['bender_name'] ?? usual);
  const picked = ['', usual].includes(chosen) || shop.some((one) => one.id === chosen) ? chosen : usual;
  const named = shop.find((one) => one.id === picked);
  const tool: Tool = named ? { bender: named.profile, bender_name: named.called } : form.beside.length && picked === RUNS_OWN ? runTool : {};
  const asked = requestOf(form, written, facts, unit, tool);
  const reply = 'request' in asked ? answerTo(form.key, asked.request) : null;
  const error = reply && !reply.ok ? reply.error : null;
  const at = error ? atField(form, error.message, error.field) : { name: '', words: '' };
  const wrongAt = (name: string): string => {
    if (wrong[name]) return wrong[name] === 'needed' ? t.figure.needed : t.figure.noNumber;
    return error && at.name === name ? `${at.words} ${error.hint}` : '';
  };
  const write = (now: Written): void => {
    setWritten(now);
    keepWritten(form.key, now);
    setWrong({});
    setKept('');
  };
  const set = (name: string, value: Value): void => write({ ...written, unit, [name]: value });
  const beside = (path: string): Beside | null => {
    if (wrong[path]) return { kind: 'wrong', words: wrongAt(path) };
    return error && at.name === path ? wrongBeside({ ...error, message: at.words }) : null;
  };
  const kit: FieldKit = { unit, active, beside, open: setActive };
  const all = [...form.fields, ...form.beside];
  const work = async (): Promise<void> => {
    setActive('');
    if ('wrong' in asked) return setWrong(asked.wrong);
    setWaiting(true);
    await askNow(form, asked.request);
    setWaiting(false);
    answered((n) => n + 1);
    requestAnimationFrame(() => bringIntoView(document.querySelector('.figure-answer, .figure .notice.problem, .figure .bad, .figure [aria-invalid]')));
  };
  const next = (): void => {
    const found = seen();
    const following = found[found.findIndex((el) => el.dataset.length === active) + 1];
    if (following) setActive(following.dataset.length ?? '');
    else close();
  };
  const close = (): void => {
    const from = active;
    setActive('');
    requestAnimationFrame(() => fieldOf(from)?.focus({ preventScroll: true }));
  };
  const shown = (field: FormField) => (
    <Field
      key={field.name}
      field={field}
      value={valueOf(field, written, facts)}
      fromRun={written[field.name] === undefined && fact(field, facts) !== '' && !(tool.bender && form.beside.includes(field))}
      wrong={wrongAt(field.name)}
      part={partOfIt(field, plan)}
      kit={kit}
      onValue={(value) => set(field.name, value)}
    />
  );
  const parts = openFields(form, written, facts);
  const keyed = all.find((field) => field.name === active);
  const keyedText = keyed ? String(valueOf(keyed, written, facts)) : '';
  const measures = all.some((field) => field.kind === 'length' || field.kind === 'distance');
  return (
    <div class={active ? 'with-keypad' : ''}>
      <section class="card figure-form">
        <h2>{title}</h2>
        <p class="quiet">{form.about}</p>
        {measures && (
          <Segments
            label={t.measure.units}
            value={unit}
            options={[
              { value: 'in', label: t.measure.inches },
              { value: 'mm', label: t.measure.millimetres },
            ]}
            onPick={(now) => {
              keepUnit(now);
              write(inUnit(form, written, unit, now));
            }}
          />
        )}
        {parts.open.map(shown)}
        {parts.more.length > 0 && (
          <details class="more">
            <summary>{t.figure.more}</summary>
            {parts.more.map(shown)}
          </details>
        )}
        {form.beside.length > 0 && (
          <>
            <Pick label={t.figure.bender} value={picked} options={benders(runTool, shop)} onPick={(now) => set('bender_name', now)} {...(wrongAt('bender_name') ? { wrong: wrongAt('bender_name') } : {})} />
            <details class="more" open={all.some((field) => form.beside.includes(field) && wrongAt(field.name) !== '')}>
              <summary>{t.figure.besides}</summary>
              {form.beside.filter((field) => field.kind !== 'bender' && field.name !== 'unit').map(shown)}
            </details>
          </>
        )}
        <button type="button" class="wide-button strong" disabled={waiting} onClick={() => void work()}>
          {!waiting ? t.figure.ask : app.engine.phase === 'ready' ? t.figure.asking : t.measure.engineComing}
        </button>
        {error && !at.name && <TroubleNotice error={error} />}
      </section>
      {reply?.ok && (
        <section class="card figure-answer" aria-label={t.figure.answer}>
          <Answer form={form} answer={reply.answer} unit={unit} />
          {run && (
            <button
              type="button"
              class="wide-button"
              disabled={kept === run.id}
              onClick={() => {
                note(run, { kind: 'note', note: noteOf(form, title, askedWords(form, written, facts), reply.answer, unit) }, { pins: { run: run.revision } });
                setKept(run.id);
                say(t.figure.kept);
              }}
            >
              {kept === run.id ? t.figure.kept : t.figure.keep}
            </button>
          )}
        </section>
      )}
      {keyed && (
        <Keypad path={active} label={keyed.label} value={keyedText} unit={unit} beside={beside(active)} onValue={(text) => set(active, text)} onNext={next} onClose={close}>
          {keyed.signed && (
            <button type="button" class="more-key" onClick={() => set(active, signTurned(keyedText))}>
              {t.figure.otherWay}
            </button>
          )}
        </Keypad>
      )}
    </div>
  );
}

/** What bender: that of the run, the trade's, or one of the shop's tools. */
function benders(runTool: Tool, shop: readonly KeptTool[]): { value: string; label: string }[] {
  return [
    ...(runTool.bender ? [{ value: RUNS_OWN, label: t.figure.runsOwn(runTool.bender_name ?? '') }] : []),
    { value: '', label: t.figure.tradeShoe },
    ...shop.map(({ id, called, raceway }) => ({ value: id, label: t.figure.shopTool(called, raceway) })),
  ];
}

/** One question: its fields, filled from the run at hand where that knows them, and the answer below. */
import type { ComponentChildren } from 'preact';
import { useState } from 'preact/hooks';
import type { Form, FormField } from '../../engine/forms';
import type { Trouble } from '../../engine/types';
import type { Unit } from '../../text/lengths';
import { t } from '../../text/words';
import { note } from '../kept/act';
import { benderOf } from '../kept/shoe';
import { currentRun, say, useApp, type KeptRun } from '../kept/state';
import { shopTools, type KeptTool } from '../kept/tools';
import { bringIntoView, fieldOf, Keypad } from '../parts/keypad';
import { once } from '../parts/once';
import { usePlan } from '../parts/plan';
import { Pick, Segments, TroubleNotice, wrongBeside, type Beside, type FieldKit } from '../parts/parts';
import { Answer, noteOf } from './answers';
import { answerTo, askNow, keepUnit, keepWritten, lastUnit, lastWritten } from './asked';
import { Field } from './fields';
import { askedWords, atField, fact, factsOf, inUnit, openFields, partOfIt, requestOf, RUNS_OWN, valueOf, type Tool, type Value, type Written, type Wrong } from './form';

const signTurned = (text: string): string => (text.startsWith('-') ? text.slice(1) : `-${text}`);

/** The fields of lengths that can be seen, from the top. */
const seen = (): HTMLElement[] => [...document.querySelectorAll<HTMLElement>('.figure [data-length]')].filter((el) => !el.closest('details:not([open])'));

/** What bender is asked about, of those that can be picked. */
function useTool(form: Form, run: KeptRun | undefined, written: Written) {
  const shop = form.beside.length ? shopTools().filter((one) => !one.gone) : [];
  const runs: Tool = run && !run.survey.run.bend_radius ? benderOf(run) : {};
  const usual = runs.bender ? RUNS_OWN : '';
  const chosen = String(written['bender_name'] ?? usual);
  const picked = ['', usual].includes(chosen) || shop.some((one) => one.id === chosen) ? chosen : usual;
  const named = shop.find((one) => one.id === picked);
  const tool: Tool = named ? { bender: named.profile, bender_name: named.called } : form.beside.length && picked === RUNS_OWN ? runs : {};
  return { tool, picked, options: benders(runs, shop) };
}

/** What is wrong with a field, by what was written and by the answer; `unplaced`: what is of no field. */
function faults(form: Form, wrong: Wrong, error: Trouble | null) {
  const at = error ? atField(form, error.message, error.field) : { name: '', words: '' };
  const wrongAt = (name: string): string => {
    if (wrong[name]) return wrong[name] === 'needed' ? t.figure.needed : t.figure.noNumber;
    return error && at.name === name ? `${at.words} ${error.hint}` : '';
  };
  const beside = (path: string): Beside | null => {
    if (wrong[path]) return { kind: 'wrong', words: wrongAt(path) };
    return error && at.name === path ? wrongBeside({ ...error, message: at.words }) : null;
  };
  return { unplaced: error && !at.name ? error : null, wrongAt, beside };
}

export function Question({ form, title }: { form: Form; title: string }) {
  const run = currentRun();
  const [written, setWritten] = useState(() => lastWritten(form.key));
  const [active, setActive] = useState('');
  const [wrong, setWrong] = useState<Wrong>({});
  const [, answered] = useState(0);
  const plan = usePlan().answer?.plan ?? null; // what it says stays on the form while the run is planned again
  const facts = run ? factsOf(run.survey, plan) : {};
  const unit: Unit = (written['unit'] as Unit | undefined) ?? lastUnit() ?? run?.survey.units ?? 'in';
  const bender = useTool(form, run, written);
  const { tool } = bender;
  const asked = requestOf(form, written, facts, unit, tool);
  const reply = 'request' in asked ? answerTo(form.key, asked.request) : null;
  const error = reply && !reply.ok ? reply.error : null;
  const { unplaced, wrongAt, beside } = faults(form, wrong, error);
  const write = (now: Written): void => {
    setWritten(now);
    keepWritten(form.key, now);
    setWrong({});
  };
  const set = (name: string, value: Value): void => write({ ...written, unit, [name]: value });
  const kit: FieldKit = { unit, active, beside, open: setActive };
  const ask = async (): Promise<void> => {
    setActive('');
    if ('wrong' in asked) return setWrong(asked.wrong);
    await askNow(form, asked.request);
    answered((n) => n + 1);
    requestAnimationFrame(() => bringIntoView(document.querySelector('.figure-answer, .figure .notice.problem, .figure .bad, .figure [aria-invalid]')));
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
  const keyed = fieldsOf(form).find((field) => field.name === active);
  return (
    <div class={active ? 'with-keypad' : ''}>
      <section class="card figure-form">
        <h2>{title}</h2>
        <p class="quiet">{form.about}</p>
        <Units form={form} unit={unit} onUnit={(now) => write(inUnit(form, written, unit, now))} />
        {parts.open.map(shown)}
        <More words={t.figure.more} fields={parts.more.map(shown)} />
        {form.beside.length > 0 && (
          <>
            <Pick label={t.figure.bender} value={bender.picked} options={bender.options} onPick={(now) => set('bender_name', now)} {...(wrongAt('bender_name') ? { wrong: wrongAt('bender_name') } : {})} />
            <More
              words={t.figure.besides}
              fields={form.beside.filter((field) => field.kind !== 'bender' && field.name !== 'unit').map(shown)}
              open={form.beside.some((field) => wrongAt(field.name) !== '')}
            />
          </>
        )}
        <Ask onAsk={ask} />
        {unplaced && <TroubleNotice error={unplaced} />}
      </section>
      {reply?.ok && (
        <section class="card figure-answer" aria-label={t.figure.answer}>
          <Answer form={form} answer={reply.answer} unit={unit} />
          {run && <Keep key={JSON.stringify(written)} run={run} words={() => noteOf(form, title, askedWords(form, written, facts), reply.answer, unit)} />}
        </section>
      )}
      {keyed && <Keys field={keyed} text={String(valueOf(keyed, written, facts))} kit={kit} onText={(text) => set(active, text)} />}
    </div>
  );
}

const fieldsOf = (form: Form): FormField[] => [...form.fields, ...form.beside];

/** In which unit lengths are written, where the form has any. */
function Units({ form, unit, onUnit }: { form: Form; unit: Unit; onUnit: (now: Unit) => void }) {
  if (!fieldsOf(form).some((field) => field.kind === 'length' || field.kind === 'distance')) return null;
  return (
    <Segments
      label={t.measure.units}
      value={unit}
      options={[
        { value: 'in', label: t.measure.inches },
        { value: 'mm', label: t.measure.millimetres },
      ]}
      onPick={(now) => {
        keepUnit(now);
        onUnit(now);
      }}
    />
  );
}

function More({ words, fields, open = false }: { words: string; fields: readonly ComponentChildren[]; open?: boolean }) {
  return fields.length ? (
    <details class="more" open={open}>
      <summary>{words}</summary>
      {fields}
    </details>
  ) : null;
}

function Ask({ onAsk }: { onAsk: () => Promise<void> }) {
  const { engine } = useApp();
  const [waiting, setWaiting] = useState(false);
  const ask = (): void => {
    setWaiting(true);
    void onAsk().finally(() => setWaiting(false));
  };
  return (
    <button type="button" class="wide-button strong" disabled={waiting} onClick={ask}>
      {!waiting ? t.figure.ask : engine.phase === 'ready' ? t.figure.asking : t.measure.engineComing}
    </button>
  );
}

/** The answer is kept as a note on the run, once. */
function Keep({ run, words }: { run: KeptRun; words: () => string }) {
  const [kept, setKept] = useState('');
  const keep = (): void => {
    note(run, { kind: 'note', note: words() }, { pins: { run: run.revision } });
    setKept(run.id);
    say(t.figure.kept);
  };
  return (
    <button type="button" class="wide-button" disabled={kept === run.id} onClick={(e) => void once(e, keep)}>
      {kept === run.id ? t.figure.kept : t.figure.keep}
    </button>
  );
}

/** The keypad on the field that is open. */
function Keys({ field, text, kit, onText }: { field: FormField; text: string; kit: FieldKit; onText: (text: string) => void }) {
  const close = (): void => {
    kit.open('', '');
    requestAnimationFrame(() => fieldOf(field.name)?.focus({ preventScroll: true }));
  };
  const next = (): void => {
    const found = seen();
    const following = found[found.findIndex((el) => el.dataset.length === field.name) + 1];
    if (following) kit.open(following.dataset.length ?? '', field.label);
    else close();
  };
  return (
    <Keypad path={field.name} label={field.label} value={text} unit={kit.unit} beside={kit.beside(field.name)} onValue={onText} onNext={next} onClose={close}>
      {field.signed && (
        <button type="button" class="more-key" onClick={() => onText(signTurned(text))}>
          {t.figure.otherWay}
        </button>
      )}
    </Keypad>
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

/** The parts that every screen is made of. */
import type { ComponentChildren } from 'preact';
import { useId, useState } from 'preact/hooks';
import { DECIDES, FIELD_WORDS, type Trouble } from '../../engine/types';
import { t } from '../../text/words';
import { Icon } from './icons';
import { isPlain, type Unit } from '../../text/lengths';
import { currentRun } from '../kept/state';
import { figureOf, toolHash } from '../tools/profile';
import { Tape } from './tape';

interface Option<V extends string> {
  value: V;
  label: string;
}

export function Segments<V extends string>(props: {
  label: string;
  value: V;
  options: readonly Option<V>[];
  onPick: (value: V) => void;
}) {
  const id = useId();
  return (
    <fieldset class="segments">
      <legend>{props.label}</legend>
      <div class="segment-row">
        {props.options.map((o) => (
          <label key={o.value} class={o.value === props.value ? 'segment on' : 'segment'}>
            <input type="radio" name={id} checked={o.value === props.value} onChange={() => props.onPick(o.value)} />
            <span>{o.label}</span>
          </label>
        ))}
      </div>
    </fieldset>
  );
}

export function TextField(props: {
  label: string;
  value: string;
  onText: (text: string) => void;
  help?: string;
  wrong?: string;
  decimal?: boolean;
}) {
  const id = useId();
  return (
    <div class="field">
      <label for={id}>{props.label}</label>
      <input
        id={id}
        type="text"
        value={props.value}
        inputMode={props.decimal ? 'decimal' : 'text'}
        autocomplete="off"
        maxLength={120}
        aria-invalid={props.wrong ? 'true' : undefined}
        aria-describedby={`${id}h`}
        onInput={(e) => props.onText(e.currentTarget.value)}
      />
      <p id={`${id}h`} class={props.wrong ? 'wrong' : 'help'}>
        {props.wrong ?? props.help ?? ''}
      </p>
    </div>
  );
}

const filled = (lines: readonly string[]): string[] => lines.filter((line) => line.trim() !== '');

/** A line for each, and one more. */
export function TextLines(props: { label: string; lines: readonly string[]; onLines: (lines: string[]) => void; help?: string; wrong?: string }) {
  const { label } = props;
  const [typed, setTyped] = useState(props.lines);
  const known = filled(typed).join('\n') === filled(props.lines).join('\n') ? typed : props.lines;
  const lines = known.length ? known : [''];
  const onLines = (now: string[]): void => {
    setTyped(now);
    props.onLines(filled(now));
  };
  return (
    <div class="text-lines">
      {lines.map((line, i) => (
        <TextField
          key={i}
          label={lines.length > 1 ? t.measure.line(label, i + 1) : label}
          value={line}
          onText={(text) => onLines(lines.map((one, at) => (at === i ? text : one)))}
          {...(i === 0 && props.help ? { help: props.help } : {})}
          {...(i === 0 && props.wrong ? { wrong: props.wrong } : {})}
        />
      ))}
      <button type="button" class="quiet-button" disabled={!lines.at(-1)?.trim()} onClick={() => onLines([...lines, ''])} aria-label={t.measure.oneMoreOf(label)}>
        {t.measure.oneMore}
      </button>
    </div>
  );
}

export function Pick(props: {
  label: string;
  value: string;
  options: readonly Option<string>[];
  onPick: (value: string) => void;
  wrong?: string;
}) {
  const id = useId();
  return (
    <div class="field">
      <label for={id}>{props.label}</label>
      <select id={id} value={props.value} aria-invalid={props.wrong ? 'true' : undefined} aria-describedby={props.wrong && `${id}h`} onChange={(e) => props.onPick(e.currentTarget.value)}>
        {props.options.map((o) => (
          <option key={o.value} value={o.value} selected={o.value === props.value}>
            {o.label}
          </option>
        ))}
      </select>
      {props.wrong && (
        <p id={`${id}h`} class="wrong">
          {props.wrong}
        </p>
      )}
    </div>
  );
}

/** What stands beside a field: an error with what would work, or that it is still open. */
export interface Beside {
  kind: 'wrong' | 'open';
  words: string;
  works?: string;
}

/** What stands by itself begins with a capital. */
const sentence = (hint = ''): string => hint.charAt(0).toUpperCase() + hint.slice(1);

/** What would work, with a field of the survey that it writes (`bend_radius: 6 in`) by its word. */
const works = (hint = ''): string => hint.replace(/`(\w+): ([^`]*)`/g, (all, field: string, value: string) => (FIELD_WORDS[field] ? `${FIELD_WORDS[field]} ${value}` : all));

/** Beside its own field, an error needs no path in front. */
export const wrongBeside = (told: Trouble): Beside => ({ kind: 'wrong', words: sentence(told.message.replace(/^[\w.[\]]+: /, '')), works: sentence(works(told.hint)) });

export interface FieldKit {
  unit: Unit;
  active: string;
  open: (path: string, label: string) => void;
  beside: (path: string) => Beside | null;
}

export function LengthField(props: { kit: FieldKit; path: string; label: string; value: string; optional?: boolean; help?: string }) {
  const { kit, path, label, value } = props;
  const beside = kit.beside(path);
  const note = useId();
  const on = kit.active === path;
  return (
    <div class={`length ${on ? 'on' : ''} ${beside?.kind === 'wrong' ? 'bad' : ''}`}>
      <button
        type="button"
        class="length-button"
        data-length={path}
        data-label={label}
        data-optional={props.optional ? 'yes' : undefined}
        aria-expanded={on}
        aria-describedby={note}
        onClick={() => kit.open(path, label)}
      >
        <span class="length-label">
          {label}
          {props.help && <small>{props.help}</small>}
        </span>
        {value ? isPlain(value) ? <Tape text={value} unit={kit.unit} /> : <span class={beside?.kind === 'wrong' ? 'as-typed wrong-typed' : 'as-typed'}>{value}</span> : (
          <span class="empty">{props.optional ? t.measure.optional : t.measure.tapToEnter}</span>
        )}
      </button>
      <div id={note} class={beside?.kind === 'wrong' ? 'wrong' : 'unseen'}>
        {beside && (
          <>
            {beside.kind === 'wrong' && <Icon name="warn" />}
            <span>
              {beside.words} {beside.works && <b>{beside.works}</b>}
            </span>
          </>
        )}
      </div>
    </div>
  );
}

export function Notice(props: { kind: 'problem' | 'caution' | 'info' | 'good'; title?: string; children: ComponentChildren }) {
  return (
    <div class={`notice ${props.kind}`}>
      <Icon name={props.kind === 'good' ? 'tick' : props.kind === 'info' ? 'info' : 'warn'} />
      <div>
        {props.title && <strong>{props.title}</strong>}
        {props.children}
      </div>
    </div>
  );
}

export function TroubleNotice({ error }: { error: Trouble }) {
  const { limit, marks, engine, input } = t.trouble;
  const title = { limit, marks, engine, input, 'unknown name': input, missing: input }[error.kind];
  return (
    <Notice kind="problem" title={title}>
      <p>{sentence(error.message)}</p>
      {error.hint && (
        <p class="works">
          {t.trouble.works} {works(error.hint)}
        </p>
      )}
      <ToFigure told={error} />
    </Notice>
  );
}

/** The way to the figure of the run's tool that a refusal or a finding hangs on; nothing where it hangs on none. */
export function ToFigure({ told }: { told: Parameters<typeof figureOf>[0] }) {
  const figure = figureOf(told);
  if (!figure) return null;
  const tool = figure === 'new' ? '' : currentRun()?.tool?.id;
  return (
    <a class="wide-button screen-only" href={tool ? toolHash(tool, figure) : toolHash('new', figure === 'new' ? '' : figure)}>
      {tool ? t.tools.fix : t.tools.fixNew}
    </a>
  );
}

/** The line that stands on every screen. */
export function Decides() {
  return <p class="decides screen-only">{DECIDES}</p>;
}

/** The frame of the page: the header, the six places along the bottom, and what is said to everyone. */
import type { ComponentChildren } from 'preact';
import { useEffect, useRef, useState } from 'preact/hooks';
import { t } from '../text/words';
import { setLocal } from './kept/act';
import { Clashes, Refusals, WaitBar } from './parts/clash-card';
import { Icon } from './parts/icons';
import { useWide } from './desk/wide';
import { JobScreen } from './job/job-screen';
import { nameBefore, RemovedAtHand } from './job/removed-runs';
import { engineHandle, stopAsking } from './kept/ask';
import { toldWork, type Work } from './kept/working';
import { AgainstCard } from './parts/against-card';
import { later } from './later';
import { MeasureScreen } from './measure/measure-screen';
import { Boundary } from './parts/boundary';
import { Decides, Notice, TextField } from './parts/parts';
import { settle, UndoBar } from './parts/undo';
import { ToolNews } from './parts/tool-news';
import { currentRun, removedAtHand, setLight, useApp, type State } from './kept/state';

const BendScreen = later('BendScreen');
const CheckScreen = later('CheckScreen');
const FigureScreen = later('FigureScreen');
const PracticeScreen = later('PracticeScreen');
const SeeScreen = later('SeeScreen');
const SettingsScreen = later('SettingsScreen');
const ToolsScreen = later('ToolsScreen');

export const PLACES = ['job', 'measure', 'see', 'bend', 'check', 'practice'] as const;
/** Places that others lead to, not along the bottom; `tools` leads back to where the person was. */
const BESIDE = ['figure', 'tools', 'setup'] as const;
export type Place = (typeof PLACES)[number] | (typeof BESIDE)[number];
/** Where marks of the run at hand are shown, or made. */
const OF_THE_RUN: readonly Place[] = ['measure', 'see', 'bend', 'check'];

function placeNow(): Place {
  const name = location.hash.replace(/^#\//, '').split('/')[0] ?? '';
  return [...PLACES, ...BESIDE].find((p) => p === name) ?? 'job';
}

let cameFrom: Exclude<Place, 'tools'> = 'job';

export function Shell() {
  const app = useApp();
  const [place, setPlace] = useState<Place>(() => {
    const now = placeNow();
    if (now !== 'tools') cameFrom = now;
    return now;
  });
  const main = useRef<HTMLElement>(null);
  useEffect(() => {
    const onHash = (): void => {
      settle();
      const now = placeNow();
      if (now !== 'tools') cameFrom = now;
      setPlace(now);
      window.scrollTo(0, 0);
      main.current?.focus({ preventScroll: true });
    };
    window.addEventListener('hashchange', onHash);
    return () => window.removeEventListener('hashchange', onHash);
  }, []);
  const run = currentRun();
  const gone = run ? undefined : removedAtHand();
  useEffect(() => {
    document.title = `${t.places[place]} · ${t.name}`;
  }, [place]);
  const revoked = app.shop === 'revoked' && app.engine.phase !== 'code wanted' && <Revoked />;
  const bending = place === 'bend' && !!run;
  const wide = useWide();
  // at a desk Job has the run beside its list, with what is told of it
  const ofRun = run && place !== 'practice' && !(place === 'job' && wide) && !BESIDE.some((p) => p === place) && (
    <>
      <AgainstCard key={run.id} run={run} />
      {OF_THE_RUN.includes(place) && <ToolNews run={run} />}
    </>
  );
  return (
    <>
      <a class="skip" href="#main" onClick={(e) => { e.preventDefault(); main.current?.focus(); }}>
        {t.skip}
      </a>
      <header class="top">
        <div class="top-words">
          <p class="top-place">{run && OF_THE_RUN.includes(place) ? t.job.placeOfRun(t.places[place], run.key) : t.places[place]}</p>
          <h1 class="top-run">{OF_THE_RUN.includes(place) || (place === 'figure' && run) ? (gone ? nameBefore(gone) : run?.survey.run.name || t.job.noName) : t.name}</h1>
        </div>
        <EngineDot state={app} />
        <LightButton light={app.light} />
        <WaitBar bending={bending} />
      </header>
      <main id="main" ref={main} tabIndex={-1}>
        {app.engine.phase === 'code wanted' ? <PairForm revoked={app.shop === 'revoked'} /> : !bending && revoked}
        <Clashes bending={bending} />
        {!bending && <Refusals />}
        {!bending && ofRun}
        {!app.loaded ? <p class="quiet pad">{t.loading}</p> : <Boundary key={place === 'job' ? place : `${place} ${run?.id ?? ''}`}><Screen place={place} ofRun={ofRun} /></Boundary>}
        {bending && <Clashes bending below />}
        {bending && revoked}
        {bending && <Refusals />}
        <Decides />
      </main>
      <p class="unseen" role="status" aria-live="polite">
        {app.said}
      </p>
      <UndoBar />
      <Bar at={place} />
    </>
  );
}

/** The places, along the bottom. */
function Bar({ at }: { at: Place }) {
  return (
    <nav class="places" aria-label={t.placesLabel}>
      {PLACES.map((p) => (
        <a key={p} href={`#/${p}`} class={p === at ? 'place on' : 'place'} aria-current={p === at ? 'page' : undefined}>
          <Icon name={p} big />
          <span>{t.places[p]}</span>
        </a>
      ))}
    </nav>
  );
}

/** `ofRun`: what is told of the run at hand, which Bend has where it hides no bend. */
function Screen({ place, ofRun }: { place: Place; ofRun: ComponentChildren }) {
  const run = currentRun();
  if (place === 'job') return <JobScreen />;
  if (place === 'practice') return <PracticeScreen />;
  if (place === 'figure') return <FigureScreen />;
  if (place === 'setup') return <SettingsScreen />;
  if (place === 'tools') return <ToolsScreen back={cameFrom} />;
  const gone = run ? undefined : removedAtHand();
  if (gone) return <RemovedAtHand rec={gone} />;
  if (!run) {
    return (
      <section class="card">
        <h2>{t.job.noneTitle}</h2>
        <p>{t.job.noneWords}</p>
        <a class="wide-button strong" href="#/job">
          {t.job.toJob}
        </a>
      </section>
    );
  }
  if (place === 'measure') return <MeasureScreen key={run.id} run={run} />;
  if (place === 'see') return <SeeScreen key={run.id} run={run} />;
  if (place === 'bend') return <BendScreen key={run.id} run={run} told={ofRun} />;
  return <CheckScreen key={run.id} run={run} />;
}

function EngineDot({ state }: { state: State }) {
  const { phase, progress } = state.engine;
  const work = phase === 'ready' ? toldWork() : null;
  if (work) return <Working key={work.since} work={work} />;
  if (phase === 'starting') return <Starting percent={Math.round(progress * 100)} />;
  const words = phase === 'ready' ? t.engine.ready[state.engine.kind] : phase === 'failed' ? t.engine.failed : t.engine.code;
  return (
    <p class={`engine ${phase === 'code wanted' ? 'failed' : phase}`} role="status">
      <span class="dot" aria-hidden="true" />
      <span class={phase === 'ready' ? 'unseen' : ''}>{words}</span>
    </p>
  );
}

/** Seconds from a moment on the clock of `performance.now()`, counted on. */
function useSeconds(since?: number): number {
  const [seconds, setSeconds] = useState(since === undefined ? 0 : 1);
  useEffect(() => {
    const from = since ?? performance.now();
    const clock = setInterval(() => setSeconds(Math.max(1, Math.round((performance.now() - from) / 1000))), 1000);
    return () => clearInterval(clock);
  }, [since]);
  return seconds;
}

/** What is going on, and for how long; a screen reader hears the words alone, not every second. */
function GoingOn({ words, seconds }: { words: string; seconds: number }) {
  return (
    <p class="engine starting" role="status">
      <span class="dot" aria-hidden="true" />
      <span>
        {words}
        {seconds > 0 && <span aria-hidden="true">{t.working.since(seconds)}</span>}
      </span>
    </p>
  );
}

const Starting = ({ percent }: { percent: number }) => <GoingOn words={t.engine.starting(percent)} seconds={useSeconds()} />;

/** A question that takes so long can be stopped (s). */
const STOP_AFTER = 3;

/** What takes over a second, whatever screen it is for. */
function Working({ work }: { work: Work }) {
  const seconds = useSeconds(work.since);
  return (
    <>
      <GoingOn words={t.working.what[work.what]} seconds={seconds} />
      {work.what === 'asking' && seconds >= STOP_AFTER && (
        <button type="button" class="plain-key light-key" onClick={stopAsking}>
          <Icon name="close" />
          <small>{t.working.stop}</small>
        </button>
      )}
    </>
  );
}

function LightButton({ light }: { light: State['light'] }) {
  const next = { auto: 'light', light: 'dark', dark: 'auto' } as const;
  return (
    <button type="button" class="plain-key light-key" onClick={() => setLight(next[light])} aria-label={t.light.is(t.light[light], t.light[next[light]])}>
      <Icon name="sun" />
      <small aria-hidden="true">{t.light[light]}</small>
    </button>
  );
}

/** It went on without the server that has revoked it. */
function Revoked() {
  return (
    <div class="revoked" tabIndex={-1}>
      <Notice kind="caution" title={t.together.revoked}>
        <p>{t.together.revokedWords}</p>
        <button type="button" class="wide-button" onClick={() => engineHandle().wantsCode(true)}>
          {t.together.pairAgain}
        </button>
      </Notice>
    </div>
  );
}

function PairForm({ revoked }: { revoked: boolean }) {
  const [code, setCode] = useState(engineHandle().codeGiven);
  const [name, setName] = useState('');
  const [wrong, setWrong] = useState({ code: '', name: '' });
  const send = async (): Promise<void> => {
    if (!name.trim()) return setWrong({ code: '', name: t.pair.nameWanted });
    const done = await engineHandle().pair(code.trim(), name.trim());
    if ('name' in done) setLocal('device', done.name);
    setWrong({ code: 'name' in done ? '' : done.refused || t.pair.wrong, name: '' });
  };
  return (
    <section class="card">
      {revoked && (
        <Notice kind="caution" title={t.together.revoked}>
          <p>{t.together.revokedWords}</p>
        </Notice>
      )}
      <h2>{t.pair.title}</h2>
      <p>{t.pair.words}</p>
      <TextField label={t.pair.code} value={code} onText={setCode} {...(wrong.code ? { wrong: wrong.code } : {})} />
      <TextField label={t.pair.name} value={name} onText={setName} {...(wrong.name ? { wrong: wrong.name } : {})} />
      <button type="button" class="wide-button strong" onClick={() => void send()}>
        {t.pair.send}
      </button>
      <button type="button" class="quiet-button" onClick={() => engineHandle().goOnAlone()}>
        {t.pair.without}
      </button>
    </section>
  );
}

/** See: the planned run from the side and in the room, what to draw, what was found, how likely it fits and what to watch; then the figures behind it. */
import { useState } from 'preact/hooks';
import { SideView } from '../../draw/side-view';
import type { PieceAtBench, PlanAnswer, PlannedPiece } from '../../engine/types';
import { ToolLine } from '../parts/tool-news';
import { toolHash } from '../tools/profile';
import { t } from '../../text/words';
import { ChoiceTables } from './choice-table';
import type { Unit } from '../../text/lengths';
import { Care, Found, Noted, NotIncluded } from '../parts/tail';
import { AtTool } from './at-tool';
import { NoPlan, usePlan } from '../parts/plan';
import { RoomView } from './room-view';
import { currentSketch, type KeptRun } from '../kept/state';
import { Tape } from '../parts/tape';

export function SeeScreen({ run }: { run: KeptRun }) {
  const { answer, stale } = usePlan();
  const [close, setClose] = useState(-1);
  const [room, setRoom] = useState(false);
  if (!answer) return <NoPlan />;
  const { plan } = answer;
  const unit = run.survey.units;
  return (
    <div class={stale ? 'see stale' : 'see'}>
      <div class="side-stage">
        {room ? <RoomView answer={answer} run={run} /> : <SideView answer={answer} surface={currentSketch()?.surface ?? []} unit={unit} close={close} />}
      </div>
      <div class="chip-row" role="group" aria-label={t.see.views}>
        <button type="button" class={!room && close < 0 ? 'chip on' : 'chip'} aria-pressed={!room && close < 0} onClick={() => { setRoom(false); setClose(-1); }}>
          {t.see.whole}
        </button>
        {plan.obstacles.map((o, i) => (
          <button key={i} type="button" class={!room && close === i ? 'chip on' : 'chip'} aria-pressed={!room && close === i} onClick={() => { setRoom(false); setClose(i); }}>
            {o.name}
          </button>
        ))}
        <button type="button" class={room ? 'chip on' : 'chip'} aria-pressed={room} onClick={() => setRoom(!room)}>
          {t.see.room}
        </button>
      </div>
      <Found answer={answer} />
      {plan.pieces.map((piece, i) => (
        <PieceCard key={piece.label} answer={answer} piece={piece} bench={answer.bench[i]!} unit={unit} />
      ))}
      {answer.at_tool.map((told, i) => (
        <AtTool key={i} told={told} label={plan.pieces.length > 1 ? plan.pieces[i]!.label : ''} />
      ))}
      <Noted answer={answer} look={answer.at_tool.some((piece) => piece.limits.some((limit) => limit.near))} />
      <NotIncluded list={answer.not_included} />
      <Care list={answer.cautions} />
      <Clearances answer={answer} unit={unit} />
      <Thumb answer={answer} unit={unit} />
      <ChoiceTables answer={answer} unit={unit} />
      <Bender answer={answer} run={run} />
    </div>
  );
}

/** What to take, the lines to draw on it and the way to the bench; or why it is not to be cut or bent yet. */
function PieceCard({ answer, piece, bench, unit }: { answer: PlanAnswer; piece: PlannedPiece; bench: PieceAtBench; unit: Unit }) {
  const { plan } = answer;
  if (bench.stop)
    return (
      <section class="card cut-card">
        <h2>{bench.stop}</h2>
        <p>{bench.stop_why}</p>
      </section>
    );
  return (
    <section class="card cut-card">
      <h2>{plan.pieces.length > 1 ? t.see.ofPiece(piece.label, bench.take) : bench.take}</h2>
      <Tape text={bench.length.tape} unit={unit} size="huge" />
      {bench.more && <p class="quiet">{t.bend.sentence(bench.more)}.</p>}
      {bench.lines.length > 0 && (
        <>
          <LineTable piece={piece} bench={bench} unit={unit} />
          <p class="quiet small">{t.bend.sentence(bench.tape_from)}.</p>
        </>
      )}
      {piece.bends.length > 0 && <ToolLine words={answer.bender_words} />}
      <a class="wide-button strong" href="#/bend">
        {piece.bends.length > 0 ? t.see.toBend : t.see.toCut}
      </a>
    </section>
  );
}

function LineTable({ piece, bench, unit }: { piece: PlannedPiece; bench: PieceAtBench; unit: Unit }) {
  const leaves = (name: string) => bench.bends[piece.bends.findIndex((b) => String(b.number) === name)]?.leaves;
  return (
    <table class="marks">
      <caption class="unseen">{t.see.marks}</caption>
      <thead>
        <tr>
          <th scope="col">{t.see.line}</th>
          <th scope="col">{t.see.lineAt}</th>
          <th scope="col">{t.see.with}</th>
          <th scope="col">{t.see.angle}</th>
        </tr>
      </thead>
      <tbody>
        {bench.lines.map((line) => (
          <tr key={line.name}>
            <td>
              <span class={line.is_cut ? 'number end' : 'number'}>{line.name}</span>
            </td>
            <td>
              <Tape text={line.at.tape} unit={unit} />
            </td>
            <td>
              {t.bend.sentence(line.what)}
              {line.hook && <small>{line.hook}</small>}
            </td>
            <td>{!line.is_cut && leaves(line.name)}</td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}

function Clearances({ answer, unit }: { answer: PlanAnswer; unit: Unit }) {
  const list = answer.plan.obstacles;
  if (!list.length) return null;
  return (
    <section class="card stacks">
      <h2>{t.see.clearances}</h2>
      <table class="plain">
        <thead>
          <tr>
            <th scope="col">{t.see.thing}</th>
            <th scope="col">{t.see.leaves}</th>
            <th scope="col">{t.see.wanted}</th>
          </tr>
        </thead>
        <tbody>
          {list.map((o, i) => (
            <tr key={i} class={answer.clearances[i]!.low ? 'low' : ''}>
              <th scope="row">{o.name}</th>
              <td data-of={t.see.leaves}>
                <Tape text={answer.clearances[i]!.left.tape} unit={unit} />
              </td>
              <td data-of={t.see.wanted}>
                <Tape text={answer.clearances[i]!.wanted.tape} unit={unit} />
              </td>
            </tr>
          ))}
        </tbody>
      </table>
    </section>
  );
}

function Thumb({ answer, unit }: { answer: PlanAnswer; unit: Unit }) {
  return (
    <>
      {answer.plan.rules_of_thumb.map((r, i) => (
        <section key={i} class="card stacks">
          <h2>{t.see.thumb}</h2>
          <p class="quiet">
            {r.shape}: {r.rule}
          </p>
          <table class="plain">
            <thead>
              <tr>
                <th scope="col">{t.see.mark}</th>
                <th scope="col">{t.see.byRule}</th>
                <th scope="col">{t.see.exact}</th>
              </tr>
            </thead>
            <tbody>
              {r.marks.map((m) => (
                <tr key={m.label}>
                  <th scope="row">{m.label}</th>
                  <td data-of={t.see.byRule}>
                    <Tape text={m.rule_tape} unit={unit} />
                  </td>
                  <td data-of={t.see.exact} class={m.rule_tape === m.exact_tape ? '' : 'differs'}>
                    <Tape text={m.exact_tape} unit={unit} />
                  </td>
                </tr>
              ))}
            </tbody>
          </table>
          <dl class="lands">
            <dt>{t.see.ruleLands}</dt>
            <dd>{r.landing_rule}</dd>
            <dt>{t.see.exactLands}</dt>
            <dd>{r.landing_exact}</dd>
          </dl>
        </section>
      ))}
    </>
  );
}

function Bender({ answer, run }: { answer: PlanAnswer; run: KeptRun }) {
  const unit = run.survey.units;
  const b = answer.plan.bender;
  if (!b || !answer.take_up || !answer.gain) return null; // nothing is bent
  return (
    <section class="card">
      <h2>{t.see.bender}</h2>
      <p>
        {b.name}: {t.see.takeUp} <Tape text={answer.take_up.tape} unit={unit} />, {t.see.gain}{' '}
        <Tape text={answer.gain.tape} unit={unit} />
      </p>
      <p class="quiet">
        {b.source}. {b.standing}
      </p>
      <a class="wide-button" href={toolHash(run.tool?.id ?? 'new')}>
        {run.tool ? t.tools.fix : t.see.toShoe}
      </a>
      <a class="wide-button" href={toolHash('')}>
        {t.tools.another}
      </a>
    </section>
  );
}

/** How likely a piece fits, what to watch, in which orders it can be bent, and which limits of the tool it comes near. */
import type { PieceAtTool, ToolLimit, WayToBend } from '../../engine/types';
import { t } from '../../text/words';
import { Icon } from '../parts/icons';

export function AtTool({ told, label }: { told: PieceAtTool; label: string }) {
  const { fit, ways, limits } = told;
  if (!fit && !ways.length && !limits.length) return null;
  return (
    <section class="card at-tool">
      <h2>{t.see.fit(label)}</h2>
      {fit && (
        <>
          {fit.chance && (
            <p class="chance">
              <b>{fit.chance}</b> {t.see.uncorrected}
            </p>
          )}
          <p>{fit.means}</p>
          {fit.watch.length > 0 && (
            <>
              <h3>{t.see.watch}</h3>
              <ol>
                {fit.watch.map((line) => (
                  <li key={line}>{t.bend.sentence(line)}.</li>
                ))}
              </ol>
            </>
          )}
          <p class="quiet small">{fit.lands}</p>
        </>
      )}
      {ways.length > 0 && <Ways ways={ways} />}
      {limits.length > 0 && <Limits limits={limits} />}
    </section>
  );
}

function Ways({ ways }: { ways: readonly WayToBend[] }) {
  return (
    <>
      <h3>{t.see.ways}</h3>
      <ul class="ways">
        {ways.map((way, i) => (
          <li key={i}>
            <b>
              {i === 0 ? t.see.asPlanned : t.see.or}: {way.order}
            </b>
            , {way.effort}
            <small>{t.bend.sentence([way.hooks, ...way.reasons].join('; '))}.</small>
          </li>
        ))}
      </ul>
    </>
  );
}

function Limits({ limits }: { limits: readonly ToolLimit[] }) {
  return (
    <>
      <h3>{t.see.limits}</h3>
      <ul class="limits">
        {limits.map((limit) => (
          <li key={limit.what} class={limit.near ? 'near' : ''}>
            <span>{t.bend.sentence(limit.what)}</span>
            <span>
              {limit.allows}; {t.see.comesTo} <b>{limit.comes}</b>, {limit.at}
              {limit.near && (
                <b class="near-words">
                  <Icon name="warn" /> {t.see.near}
                </b>
              )}
            </span>
          </li>
        ))}
      </ul>
    </>
  );
}

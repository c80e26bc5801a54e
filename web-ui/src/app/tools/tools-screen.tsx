/** Tools: the shop's own, by raceway, with what is on them; one added, measured anew, calibrated, removed, brought back. */
import { useEffect, useState } from 'preact/hooks';
import { t } from '../../text/words';
import { currentRun, useApp } from '../kept/state';
import { bringBack, shopTools, unreadTools, type KeptTool } from '../kept/tools';
import { useCatalogue } from '../parts/catalogue';
import { Icon } from '../parts/icons';
import { Notice } from '../parts/parts';
import { ToolCard } from './tool-card';
import { ToolChoice } from './tool-choice';
import { ToolForm } from './tool-form';
import { draftOf, toolHash } from './profile';

const NEW = 'new';

/** What stands behind '#/tools/': which tool, and the figure of it to begin with. */
function asked(): { tool: string; figure: string } {
  const [, tool = '', figure = ''] = location.hash.replace(/^#\//, '').split('/');
  return { tool, figure };
}

/** `back`: the place that the person came from. */
export function ToolsScreen({ back }: { back: Exclude<keyof typeof t.places, 'tools'> }) {
  useApp();
  const [{ tool, figure }, setAsked] = useState(asked());
  useEffect(() => {
    const onHash = (): void => setAsked(asked());
    window.addEventListener('hashchange', onHash);
    return () => window.removeEventListener('hashchange', onHash);
  }, []);
  const run = currentRun();
  const all = shopTools();
  const unread = unreadTools();
  const tools = all.filter((one) => !one.gone);
  const raceways = [...new Set(tools.map((one) => one.raceway))].sort((a, b) => (a < b ? -1 : 1));
  const wanted = run?.survey.run.raceway ?? 'EMT 1/2';
  const [type = '', ...size] = wanted.split(' ');
  return (
    <div class="tools">
      <a class="wide-button" href={`#/${back}`}>
        <Icon name="left" />
        {t.tools.back(t.places[back])}
      </a>
      {unread.length > 0 && <Notice kind="problem">{t.tools.unread(unread)}</Notice>}
      {run && tool !== NEW && <ToolChoice key={run.id} run={run} />}
      {tool === NEW ? (
        <section class="card">
          <h2>{t.tools.add}</h2>
          <p>{t.tools.addWords}</p>
          <ToolForm draft={draftOf('', '', { raceway: type, size: size.join(' ') }, run?.survey.units)} figure={figure} run={run} onDone={(id) => (location.hash = toolHash(id))} />
        </section>
      ) : (
        <>
          <div class="pad">
            <p>{tools.length ? t.tools.words : t.tools.none}</p>
          </div>
          {raceways.map((raceway) => (
            <section key={raceway} aria-label={raceway}>
              <h2 class="pad raceway-head">{raceway}</h2>
              {tools.filter((one) => one.raceway === raceway).map((one) => (
                <ToolCard key={one.id} tool={one} open={one.id === tool} figure={one.id === tool ? figure : ''} run={run} />
              ))}
            </section>
          ))}
          <a class="wide-button strong" href={toolHash(NEW)}>
            <Icon name="plus" />
            {t.tools.add}
          </a>
        </>
      )}
      <TradeShoes />
      <Gone tools={all.filter((one) => one.gone)} />
    </div>
  );
}

/** The taught figures, for runs that are on no tool. */
function TradeShoes() {
  const shoes = useCatalogue()?.benders.filter((shoe) => !shoe.own) ?? [];
  if (!shoes.length) return null;
  return (
    <details class="card">
      <summary>{t.tools.tradeTitle}</summary>
      <p>{t.tools.tradeWords}</p>
      {shoes.map((shoe) => (
        <p key={shoe.name}>
          <strong>{shoe.raceway}</strong>: {shoe.name}. <span class="quiet">{shoe.source}. {shoe.standing}</span>
        </p>
      ))}
    </details>
  );
}

function Gone({ tools }: { tools: readonly KeptTool[] }) {
  if (!tools.length) return null;
  return (
    <details class="card">
      <summary>{t.tools.goneTitle}</summary>
      {tools.map((tool) => (
        <div key={tool.id} class="gone-tool">
          <p>
            {tool.called}, {tool.raceway}
          </p>
          <button type="button" class="quiet-button" onClick={() => bringBack(tool.id, tool.revisions[0]!)}>
            <Icon name="undo" />
            {t.tools.bringBack(tool.revisions[0]!.revision)}
          </button>
        </div>
      ))}
    </details>
  );
}

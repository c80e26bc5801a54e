/** Pages ready to print: shown as they will come out, printed by the browser. */
import { useEffect, useState } from 'preact/hooks';
import { t } from '../../text/words';
import { ask } from '../kept/ask';
import { TroubleNotice } from '../parts/parts';
import { runData, surveyed } from '../kept/job-file';
import type { KeptRun } from '../kept/state';
import { SvgImage } from '../parts/svg-image';
import { Icon } from '../parts/icons';
import { Tail } from '../parts/tail';
import type { CardAnswer, Trouble } from '../../engine/types';

export type Sheet = 'card' | 'bench' | 'strip';

const paper = new CSSStyleSheet();

/** Tell the browser how large these pages are, so that it scales nothing; 0 gives the choice back. */
function paperSize(width_mm: number, height_mm: number): void {
  if (!document.adoptedStyleSheets.includes(paper)) document.adoptedStyleSheets = [...document.adoptedStyleSheets, paper];
  paper.replaceSync(width_mm ? `@page { size: ${width_mm}mm ${height_mm}mm; margin: 0; }` : '');
}

function PrintBar({ ready, onClose }: { ready: boolean; onClose: () => void }) {
  return (
    <div class="print-bar">
      <button type="button" class="wide-button strong" disabled={!ready} onClick={() => window.print()}>
        <Icon name="print" />
        {t.print.now}
      </button>
      <button type="button" class="quiet-button" onClick={onClose}>
        {t.print.close}
      </button>
    </div>
  );
}

/** Pages that are there already, each as large as it says itself. */
export function ReadySheets({ pages, label, onClose }: { pages: readonly string[]; label: string; onClose: () => void }) {
  useEffect(() => {
    const size = /width="([\d.]+)mm" height="([\d.]+)mm"/.exec(pages[0] ?? '');
    paperSize(Number(size?.[1] ?? 0), Number(size?.[2] ?? 0));
    return () => paperSize(0, 0);
  }, [pages]);
  return (
    <section class="print-sheets" aria-label={label}>
      <PrintBar ready onClose={onClose} />
      {pages.map((svg, i) => (
        <SvgImage key={i} svg={svg} label={t.print.page(label, i + 1)} kind="sheet" />
      ))}
    </section>
  );
}

/** Sheets of a run, with what its record says against them. */
export function PrintSheets({ run, what, onClose }: { run: KeptRun; what: Sheet; onClose: () => void }) {
  const [answer, setAnswer] = useState<CardAnswer | null>(null);
  const [error, setError] = useState<Trouble | null>(null);
  const record = run.entries.map(({ entry }) => entry.id).join();
  useEffect(() => {
    setAnswer(null);
    void ask('card', { ...surveyed(run), what, job: runData(run) }).then((reply) => {
      if (reply.ok) {
        paperSize(reply.answer.width_mm, reply.answer.height_mm);
        setAnswer(reply.answer);
      } else setError(reply.error);
    });
    return () => paperSize(0, 0);
  }, [run.survey, what, record]);
  return (
    <section class="print-sheets" aria-label={t.print[what]}>
      <PrintBar ready={answer !== null} onClose={onClose} />
      <p class="quiet pad screen-only" role="status">
        {answer ? t.print.pages(answer.pages.length, what) : error ? '' : t.print.making}
      </p>
      {error && <TroubleNotice error={error} />}
      {answer?.pages.map((svg, i) => (
        <SvgImage key={i} svg={svg} label={t.print.page(t.print[what], i + 1)} kind="sheet" />
      ))}
      {answer && (
        <div class="screen-only">
          <Tail answer={answer} checked />
        </div>
      )}
    </section>
  );
}

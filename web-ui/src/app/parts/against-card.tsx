/** What the record of the run at hand says against its card: told on each of its screens. */
import { useEffect, useRef } from 'preact/hooks';
import { useApp, type KeptRun } from '../kept/state';
import { saysOfMarks } from '../kept/view';
import { factsOf, lastFactsOf, lookAt, useFacts, type Facts } from './facts';
import { Notice } from './parts';

export function AgainstCard({ run }: { run: KeptRun }) {
  useFacts();
  const { planned, engine } = useApp();
  const shown = useRef<Facts | undefined>(undefined);
  const digest = planned.state === 'ok' ? planned.answer.plan.digest : '';
  const asking = planned.state === 'asking';
  const other = !asking && run.entries.some(({ entry }) => entry.pins?.marks && (entry.pins.marks !== digest || saysOfMarks(entry)));
  const lacking = other && !factsOf(run);
  useEffect(() => {
    if (lacking) lookAt(run);
  }, [lacking, run, engine.phase]);
  // what was told stays until the engine says otherwise
  if (!asking) shown.current = other ? lastFactsOf(run.id) : undefined;
  const facts = shown.current;
  if (!facts?.against.length) return null;
  return (
    <Notice kind="caution">
      {facts.against.map(({ words }) => (
        <p key={words}>
          <strong>{run.survey.run.name}</strong> {words}
        </p>
      ))}
    </Notice>
  );
}

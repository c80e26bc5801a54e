/** What the record of the run at hand says against its card: told on each of its screens. */
import { useEffect } from 'preact/hooks';
import { useApp, type KeptRun } from '../kept/state';
import { saysOfMarks } from '../kept/view';
import { factsOf, lookAt, useFacts } from './facts';
import { Notice } from './parts';

export function AgainstCard({ run }: { run: KeptRun }) {
  useFacts();
  const { planned } = useApp();
  const digest = planned.state === 'ok' ? planned.answer.plan.digest : '';
  const other = planned.state !== 'asking' && run.entries.some(({ entry }) => entry.pins?.marks && (entry.pins.marks !== digest || saysOfMarks(entry)));
  useEffect(() => {
    if (other && !factsOf(run)) lookAt(run);
  }, [other, run]);
  const facts = other ? factsOf(run) : undefined;
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

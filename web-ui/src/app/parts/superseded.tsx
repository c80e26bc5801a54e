/** What of the run at hand was made by marks of another plan than its present one, of what new marks hold, and
 * what was made by other marks: told on each of its screens. */
import { useEffect } from 'preact/hooks';
import { useApp, type KeptRun } from '../kept/state';
import { isAnew } from '../kept/view';
import { factsOf, lookAt, useFacts } from './facts';
import { Notice } from './parts';

export function Superseded({ run }: { run: KeptRun }) {
  useFacts();
  const { planned } = useApp();
  const digest = planned.state === 'ok' ? planned.answer.plan.digest : '';
  const other = planned.state !== 'asking' && run.entries.some(({ entry }) => entry.pins?.marks && (entry.pins.marks !== digest || isAnew(entry)));
  useEffect(() => {
    if (other && !factsOf(run)) lookAt(run);
  }, [other, run]);
  const facts = other ? factsOf(run) : undefined;
  const told = facts ? [...facts.superseded, ...facts.other, ...facts.anew] : [];
  if (told.length === 0) return null;
  return (
    <Notice kind="caution">
      {told.map((words) => (
        <p key={words}>
          <strong>{run.survey.run.name}</strong> {words}
        </p>
      ))}
    </Notice>
  );
}

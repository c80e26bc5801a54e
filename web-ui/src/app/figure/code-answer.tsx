/** How an answer by the code was worked, each step with its article. */
import { FROM_MEMORY, type RuleStep } from '../../engine/types';
import { t } from '../../text/words';

export function CodeSteps({ steps }: { steps: readonly RuleStep[] }) {
  if (!steps.length) return null;
  return (
    <section>
      <h3>{t.figure.how}</h3>
      <ol class="worked">
        {steps.map((step, i) => (
          <li key={i}>
            {step.text}
            <small class="figure-cited">
              {step.citation}
              {step.standing === FROM_MEMORY && ` (${FROM_MEMORY})`}
            </small>
          </li>
        ))}
      </ol>
    </section>
  );
}

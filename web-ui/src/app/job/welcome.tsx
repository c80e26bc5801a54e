/** What stands where there is no run yet: begin one, or look at an example. */
import { t } from '../../text/words';
import { addRun } from '../kept/act';
import { useApp } from '../kept/state';
import { demoSurvey, newSurvey } from '../kept/survey';
import { Icon } from '../parts/icons';
import { once } from '../parts/once';

export function startRun(event: Event): void {
  void once(event, () => {
    addRun(newSurvey(t.job.newName));
    location.hash = '#/measure';
  });
}

function showExample(event: Event): void {
  void once(event, () => {
    addRun(demoSurvey());
    location.hash = '#/see';
  });
}

export function Welcome() {
  const { shopKnown } = useApp();
  return (
    <section class="card welcome">
      <h2>{t.job.welcome}</h2>
      <p>
        {t.job.welcomeWords} {isSecureContext ? t.job.welcomeKept[shopKnown ? 'shop' : 'here'] : t.lists.welcomeHttp}
      </p>
      <button type="button" class="wide-button strong" onClick={startRun}>
        <Icon name="plus" />
        {t.job.first}
      </button>
      <button type="button" class="wide-button" onClick={showExample}>
        {t.job.example}
      </button>
    </section>
  );
}

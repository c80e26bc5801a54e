/** What can be worked out without a run: the list of questions, or one of them with its answer. */
import { useEffect, useState } from 'preact/hooks';
import { FORMS, type Form } from '../../engine/forms';
import { t } from '../../text/words';
import { Icon } from '../parts/icons';
import { useApp } from '../kept/state';
import { Question } from './question';

const titleOf = (form: Form): string => t.figure.titles[form.key] ?? form.title;
const keyNow = (): string => location.hash.replace(/^#\/figure\/?/, '');

export function FigureScreen() {
  useApp();
  const [key, setKey] = useState(keyNow());
  useEffect(() => {
    const onHash = (): void => setKey(keyNow());
    window.addEventListener('hashchange', onHash);
    return () => window.removeEventListener('hashchange', onHash);
  }, []);
  const form = FORMS.find((one) => one.key === key);
  if (!form) return <Questions />;
  return (
    <div class="figure">
      <a class="quiet-button figure-back" href="#/figure">
        <Icon name="left" />
        {t.figure.all}
      </a>
      <Question key={form.key} form={form} title={titleOf(form)} />
    </div>
  );
}

function Questions() {
  const app = useApp();
  return (
    <div class="figure">
      <p class="quiet pad">{app.current ? t.figure.words : t.figure.wordsAlone}</p>
      {(['code', 'pull', 'shape'] as const).map((view) => (
        <section key={view} class="card">
          <h2>{t.figure.groups[view]}</h2>
          <div class="kind-list">
            {FORMS.filter((form) => form.view === view).map((form) => (
              <a key={form.key} class="kind-button" href={`#/figure/${form.key}`}>
                <b>{titleOf(form)}</b>
                <span>{form.about}</span>
              </a>
            ))}
          </div>
        </section>
      ))}
    </div>
  );
}

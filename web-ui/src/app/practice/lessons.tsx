/** The lessons in the order in which they are learned, from a stub to a combined piece, and what to know before each. */
import type { Lesson } from '../../engine/types';
import { t } from '../../text/words';

export function Lessons({ lessons, onTake }: { lessons: readonly Lesson[]; onTake: (kind: string) => void }) {
  return (
    <details class="card screen-only more lessons">
      <summary>{t.practice.lessons}</summary>
      <ol>
        {lessons.map((lesson, i) => (
          <li key={lesson.kind}>
            <b>
              {i + 1}. {lesson.title}
            </b>
            <p class="quiet">
              {t.practice.before} {lesson.before}
            </p>
            <button type="button" class="small-button" onClick={() => onTake(lesson.kind)} aria-label={t.practice.takeLesson(lesson.title)}>
              {t.practice.take}
            </button>
          </li>
        ))}
      </ol>
    </details>
  );
}

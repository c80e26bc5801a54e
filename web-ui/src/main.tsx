import { options, render } from 'preact';
import { startLink } from './app/link';
import { Shell } from './app/shell';
import { reopened } from './app/bend/anew';
import { flush } from './app/kept/kept';
import { judgeReopened } from './app/kept/view';
import { keepReadingsWhole } from './text/whole';
import './style/base.css';
import './style/parts.css';
import './style/tables.css';
import './style/fields.css';
import './style/screens.css';
import './style/keypad.css';
import './style/bench.css';
import './style/job.css';
import './style/desk.css';
import './style/tools.css';
import './style/settings.css';
import './style/figure.css';
import './style/drawings.css';
import './style/small.css';
import './style/print.css';

// what is drawn has done what it does at first before the next tap, or an answer, can come
options.requestAnimationFrame = queueMicrotask;
keepReadingsWhole();
judgeReopened(reopened);
render(<Shell />, document.getElementById('app')!);
startLink();
document.addEventListener('visibilitychange', () => {
  if (document.visibilityState === 'hidden') void flush();
});

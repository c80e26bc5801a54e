/** A reading is never broken over two lines: '19 3/4"', '2 ft 7 in' and '795 mm' stay whole wherever they stand in a text; nor is a key
 * ('WS-11-1#2') at its hyphen, where the line holds it. */
import { h, options, type ComponentChild, type VNode } from 'preact';

const READING = /\d+(?:\.\d+)?(?:(?:['′]|ft|\sft)\s?\d+)?(?:\s\d+\/\d+)?(?:["″'′°]|\s(?:in|ft|mm|cm|m|lb)\b)?/g;

/** A run's key as it is written mostly: letters, hyphen, figures; with its copy. */
const KEY = /(\b[A-Za-z]{1,6}(?:-[A-Za-z]{1,6})?(?:-\d+)+(?:#\d+)?\b)/;

/** The text in parts, each second of which is a key that could be broken. */
const atKeys = (text: string): string[] => text.split(KEY);

/** The text in parts, each second of which is a reading that could be broken. */
export function parts(text: string): string[] {
  const out: string[] = [];
  let from = 0;
  for (const { 0: reading, index } of text.matchAll(READING)) {
    if (!/\s/.test(reading)) continue;
    out.push(text.slice(from, index), reading);
    from = index + reading.length;
  }
  return [...out, text.slice(from)];
}

/** What draws no lines of its own to break. */
const NO_LINES = new Set(['text', 'title', 'textarea', 'style']);
/** What lays out its children in a row, an icon beside a text. */
const ROWS = new Set(['button', 'a', 'summary']);

function whole(child: ComponentChild): ComponentChild {
  if (typeof child !== 'string') return child;
  const list = parts(child).flatMap((part, i) => (i % 2 ? h('span', { class: 'whole' }, part) : atKeys(part).map((text, k) => (k % 2 ? h('span', { class: 'whole-key' }, text) : text))));
  return list.length === 1 ? child : list;
}

/** One child of a row of its own, as the text would be. */
function wholeInRow(child: ComponentChild): ComponentChild {
  const list = whole(child);
  return Array.isArray(list) ? h('span', null, list) : list;
}

/** An option holds text alone. */
const wholeText = (child: ComponentChild): ComponentChild => (typeof child === 'string' ? parts(child).map((part, i) => (i % 2 ? part.replace(/\s/g, '\u00a0') : part)).join('') : child);

/** For every element that is made from now on. */
export function keepReadingsWhole(): void {
  options.vnode = (node: VNode) => {
    const props = node.props as { children?: ComponentChild | ComponentChild[]; class?: string };
    if (typeof node.type !== 'string' || NO_LINES.has(node.type) || props.class?.startsWith('whole') || props.children == null) return;
    const kept = node.type === 'option' ? wholeText : ROWS.has(node.type) ? wholeInRow : whole;
    props.children = Array.isArray(props.children) ? props.children.map(kept) : kept(props.children);
  };
}

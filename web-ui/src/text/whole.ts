/** A reading is never broken over two lines: '19 3/4"', '2 ft 7 in' and '795 mm' stay whole wherever they stand in a text. */
import { h, options, type ComponentChild, type VNode } from 'preact';

const READING = /\d+(?:\.\d+)?(?:(?:['′]|ft|\sft)\s?\d+)?(?:\s\d+\/\d+)?(?:["″'′°]|\s(?:in|ft|mm|cm|m|lb)\b)?/g;

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

function whole(child: ComponentChild): ComponentChild {
  if (typeof child !== 'string') return child;
  const list = parts(child);
  return list.length === 1 ? child : list.map((part, i) => (i % 2 ? h('span', { class: 'whole' }, part) : part));
}

/** An option holds text alone. */
const wholeText = (child: ComponentChild): ComponentChild => (typeof child === 'string' ? parts(child).map((part, i) => (i % 2 ? part.replace(/\s/g, '\u00a0') : part)).join('') : child);

/** For every element that is made from now on. */
export function keepReadingsWhole(): void {
  options.vnode = (node: VNode) => {
    const props = node.props as { children?: ComponentChild | ComponentChild[]; class?: string };
    if (typeof node.type !== 'string' || NO_LINES.has(node.type) || props.class === 'whole' || props.children == null) return;
    const kept = node.type === 'option' ? wholeText : whole;
    props.children = Array.isArray(props.children) ? props.children.map(kept) : kept(props.children);
  };
}

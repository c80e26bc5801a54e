/** Where something is set, and for what: '#/setup/prices/EMT%201%2F2'. */
export const PARTS = ['prices', 'stock', 'wire', 'items', 'people', 'changes'] as const;
export type Part = (typeof PARTS)[number];

export const settingsHash = (part: Part, item = ''): string => `#/setup/${part}${item && `/${encodeURIComponent(item)}`}`;

export function asked(): { part: Part; item: string } {
  const [, name = '', item = ''] = location.hash.replace(/^#\//, '').split('/');
  return { part: PARTS.find((one) => one === name) ?? 'prices', item: decoded(item) };
}

function decoded(item: string): string {
  try {
    return decodeURIComponent(item);
  } catch {
    return '';
  }
}

/** Two next versions of one record, made from the same one: what both say together, where no line of it was changed in both. */

type Data = Readonly<Record<string, unknown>>;

/** Every field of what is kept, but for what says nothing: null, '' and what is empty; numbers as text. */
function plain(value: unknown): unknown {
  if (value === null || value === undefined || value === '') return undefined;
  if (typeof value === 'number') return String(value);
  if (typeof value !== 'object') return value;
  if (Array.isArray(value)) return value.length ? value.map((inner: unknown) => plain(inner) ?? null) : undefined;
  const fields = Object.entries(value)
    .map(([key, inner]): [string, unknown] => [key, plain(inner)])
    .filter(([, inner]) => inner !== undefined)
    .sort(([a], [b]) => (a < b ? -1 : 1));
  return fields.length ? Object.fromEntries(fields) : undefined;
}

/** Whether both say the same. */
export const same = (a: unknown, b: unknown): boolean => a === b || JSON.stringify(plain(a)) === JSON.stringify(plain(b));

/** What is a list of lines that stand for themselves; all else is one thing. */
const KINDS = ['job', 'prices'];
/** Where one of these is another, everything beside it means something else. */
const UNITS = ['units', 'currency'];
const named = (value: unknown): string => String(value).trim().replace(/\s+/g, ' ').toLowerCase();
const how = ({ offcut, count }: Data): string => (offcut ? 'offcuts' : typeof count === 'number' ? 'on hand' : 'as needed');
/** By what a line of a list is known, as records/job_head.py and prices.py do. */
const LINES: Readonly<Record<string, (line: Data) => string>> = {
  items: ({ item }) => named(item),
  stock: (line) => JSON.stringify([named(line['raceway']), named(line['length']), how(line)]),
};

/** Null where one line was changed in both, and a person has to choose. */
export function merged(kind: string, base: Data, mine: Data, theirs: Data): Data | null {
  if (!KINDS.includes(kind) || UNITS.some((field) => !same(mine[field], theirs[field]))) return null;
  return fieldsOf(base, mine, theirs, (field) => LINES[field]);
}

const isData = (value: unknown): value is Data => typeof value === 'object' && value !== null && !Array.isArray(value);

function fieldsOf(base: Data, mine: Data, theirs: Data, linesOf: (field: string) => ((line: Data) => string) | undefined): Data | null {
  const out: Record<string, unknown> = { ...theirs };
  for (const field of new Set([...Object.keys(base), ...Object.keys(mine), ...Object.keys(theirs)])) {
    const [was, one, other] = [base[field], mine[field], theirs[field]];
    if (same(one, was) || same(one, other)) continue;
    if (same(other, was)) {
      out[field] = one;
      continue;
    }
    const line = linesOf(field);
    const below = isData(one) && isData(other) ? fieldsOf(isData(was) ? was : {}, one, other, () => undefined) : null;
    const both = line ? linesTogether(line, was, one, other) : below;
    if (!both) return null;
    out[field] = both;
  }
  return out;
}

function linesTogether(line: (one: Data) => string, ...lists: unknown[]): Data[] | null {
  const byName = lists.map((list) => new Map(((list ?? []) as Data[]).map((one) => [line(one), one])));
  if (byName.some((map, i) => map.size < ((lists[i] ?? []) as Data[]).length)) return null; // two of one name: as they stand
  const [base, mine, theirs] = byName as [Map<string, Data>, Map<string, Data>, Map<string, Data>];
  const out: Data[] = [];
  for (const name of new Set([...theirs.keys(), ...mine.keys()])) {
    const [was, one, other] = [base.get(name), mine.get(name), theirs.get(name)];
    if (![same(one, was), same(other, was), same(one, other)].some(Boolean)) return null;
    const stands = same(one, was) ? other : one;
    if (stands) out.push(stands);
  }
  return out;
}

/** Our own small pictures, drawn on a 24 x 24 grid with one line width. */
const PATHS: Record<string, string> = {
  job: 'M4 6h16M4 12h16M4 18h9M18 15v6M15 18h6',
  measure: 'M3 16V8h18v8zM7 8v4M11 8v3M15 8v4M19 8v3',
  see: 'M3 17h4c4 0 3-9 6-9s2 9 6 9h2M13 12a1.6 1.6 0 1 0 .01 0',
  bend: 'M3 19h9a7 7 0 0 0 7-7V4M12 12L5 5M9.5 14.5a5 5 0 0 0 5-5',
  check: 'M4 13l5 5L20 6M4 21h16',
  practice: 'M5 4h14v16H5zM9 9h6M9 13h6M9 17h3',
  left: 'M15 5l-7 7 7 7',
  right: 'M9 5l7 7-7 7',
  plus: 'M12 5v14M5 12h14',
  bin: 'M5 7h14M9 7V4h6v3M7 7l1 13h8l1-13',
  up: 'M6 15l6-6 6 6',
  down: 'M6 9l6 6 6-6',
  back: 'M20 6H9l-6 6 6 6h11zM12 9.5l5 5M17 9.5l-5 5',
  undo: 'M9 5L4 10l5 5M4 10h9a6 6 0 0 1 0 12h-3',
  sun: 'M12 8a4 4 0 1 0 .01 0M12 2v3M12 19v3M2 12h3M19 12h3M5 5l2 2M17 17l2 2M19 5l-2 2M7 17l-2 2',
  print: 'M7 9V4h10v5M6 17H4V9h16v8h-2M7 14h10v6H7z',
  warn: 'M12 4l9 16H3zM12 10v5M12 17.6v.4',
  info: 'M12 3a9 9 0 1 0 .01 0M12 11v6M12 7.4v.2',
  tick: 'M5 12.5l5 5L19 7',
  close: 'M6 6l12 12M18 6L6 18',
};

export function Icon({ name, big = false }: { name: string; big?: boolean }) {
  return (
    <svg class={big ? 'icon big' : 'icon'} viewBox="0 0 24 24" aria-hidden="true" focusable="false">
      <path d={PATHS[name] ?? ''} />
    </svg>
  );
}

/** Tables of plain cells, as an answer has them. */
import type { ComponentChildren } from 'preact';
import type { Table } from '../../engine/types';

export function PlainTable({ table }: { table: Table }) {
  return (
    <FigureTable title={table.title} head={table.head}>
      {table.rows.map((row, i) => (
        <tr key={i}>{row.map((cell, j) => (j ? <td key={j}>{cell}</td> : <th key={j} scope="row">{cell}</th>))}</tr>
      ))}
    </FigureTable>
  );
}

export function FigureTable({ title, head, children }: { title: string; head: readonly string[]; children: ComponentChildren }) {
  return (
    <>
      <h3 class="figure-table-title">{title}</h3>
      <div class="table-scroll figure-table" tabIndex={0} role="region" aria-label={title}>
        <table class="plain">
          <thead>
            <tr>{head.map((cell, i) => (cell ? <th key={i} scope="col">{cell}</th> : <td key={i} />))}</tr>
          </thead>
          <tbody>{children}</tbody>
        </table>
      </div>
    </>
  );
}

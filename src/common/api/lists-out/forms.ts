import { createHash } from 'node:crypto';
import { CSV } from '../../files/csv.js';
import { withCharset } from '../acceptable.js';
import { NDJSON } from '../streamed.js';
import { columnsOf, headOf, lineOf } from './csv-columns.js';
import type { ListOf } from './list-of.js';

/** The formats of a list that are written as text, line by line. */
export const FORMS = [NDJSON, CSV] as const;

export type Form = (typeof FORMS)[number];

export const CONTENT_TYPE: Record<Form, string> = {
  [NDJSON]: withCharset(NDJSON),
  [CSV]: `${withCharset(CSV)}; header=present`,
};

/** Some entries of a list, and the page's fields beside them. */
export interface Entries {
  entries: unknown[];
  head: Record<string, unknown>;
}

/** Lines of a list, written by PostgreSQL. */
export interface Lines {
  bytes: Buffer;
  count: number;
  head: Record<string, unknown>;
}

/** Writes a list as text, part by part: its head, its entries, its end. */
export interface Writer {
  write(entries: Entries): string;
  add(lines: Lines): Buffer;
  /** @param count  the total number of entries */
  end(count: number): string;
}

const headOfPage = ({ head = [] }: ListOf, page: Record<string, unknown>): Record<string, unknown> =>
  Object.fromEntries(head.map((name) => [name, page[name] ?? null]));

/** Splits a page into its entries and the fields beside them. */
export const entriesOf = (list: ListOf, page: Record<string, unknown>): Entries => ({
  entries: (page['items'] ?? []) as unknown[],
  head: headOfPage(list, page),
});

/** One line per entry. The last line has one property, `$end`: its count and digest show whether the answer is complete. */
const ndjson = (): Writer => {
  const digest = createHash('sha256');
  let beside: Record<string, unknown> = {};
  return {
    write: ({ entries, head }) => {
      beside = head;
      let text = '';
      for (const entry of entries) text += `${JSON.stringify(entry)}\n`;
      digest.update(text);
      return text;
    },
    add: ({ bytes, head }) => {
      beside = head;
      digest.update(bytes);
      return bytes;
    },
    end: (count) => {
      const $end = { count, digest: `sha-256=:${digest.digest('base64')}:`, ...beside };
      return `${JSON.stringify({ $end })}\n`;
    },
  };
};

/** A heading line, then one line per entry (RFC 4180). The page's fields beside its entries fill the last columns. */
const csv = ({ entry, head = [] }: ListOf): Writer => {
  const columns = columnsOf(entry);
  const heading = headOf([...columns.map((column) => column.heading), ...head]);
  let begun = false;
  const begin = (): string => {
    const text = begun ? '' : heading;
    begun = true;
    return text;
  };
  return {
    write: ({ entries, head: beside }) => {
      const line = lineOf(
        columns,
        head.map((name) => beside[name]),
      );
      let text = begin();
      for (const one of entries) text += line(one);
      return text;
    },
    add: ({ bytes }) => (begun ? bytes : Buffer.concat([Buffer.from(begin()), bytes])),
    end: begin,
  };
};

export const writerOf = (form: Form, list: ListOf): Writer => (form === CSV ? csv(list) : ndjson());

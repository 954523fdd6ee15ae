import type { SignedFor } from '../features/site/parties/signed-for.model.js';
import { PROJECT } from './site.js';

const localTime = new Intl.DateTimeFormat('sv-SE', {
  timeZone: PROJECT.input.timeZone,
  dateStyle: 'short',
  timeStyle: 'short',
});

/** An instant in the site's local time. */
export const local = (instant?: string): string => (instant ? localTime.format(new Date(instant)) : '');

/** An answer under its title and its address. */
export const section = (title: string, url: string, ...body: string[]): string =>
  [title, `  GET ${url}`, '', ...body].join('\n');

export const wrapped = (text: string, width = 100): string =>
  text.replace(new RegExp(`(.{1,${width}})(\\s+|$)`, 'g'), '  $1\n').trimEnd();

/** Who signed, and for which party. */
export const signed = (by?: string | null, party?: SignedFor | null): string =>
  by == null ? '' : `${by}${party ? ` (${party.code})` : ''}`;

import { readdirSync } from 'node:fs';
import path from 'node:path';

export const root = path.join(import.meta.dirname, '..', '..');

/** The files below a folder of the checkout with this ending, sorted. */
export const filesIn = (folder, end) =>
  readdirSync(path.join(root, folder), { recursive: true })
    .filter((name) => name.endsWith(end))
    .map((name) => path.join(root, folder, name))
    .sort();
